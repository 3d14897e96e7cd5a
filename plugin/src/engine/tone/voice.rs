//! One voice of the audition sound: eight decaying partials under one envelope. Runs on the audio
//! thread. Imports `decay`; only `tone` imports it.

use super::decay::fall_by_60_db;
use std::f32::consts::{FRAC_PI_4, SQRT_2, TAU};

/// Partials in one voice; a whole number of vector registers.
const PARTIALS: usize = 8;

/// A voice checks its own state once in so many samples. They are counted from its start, so that the
/// sound does not depend on how a block is split into segments.
const ROUND_SAMPLES: usize = 32;

/// Peak of the fundamental of middle C at full velocity, in each channel.
const FULL_STRIKE: f32 = 0.12;

/// A voice weaker than this (-100 dBFS) has ended.
const SILENCE: f32 = 1.0e-5;

/// A partial weaker than this (-140 dBFS) is set to zero, long before its state becomes denormal.
const PARTIAL_FLOOR: f32 = 1.0e-7;

const ATTACK_SECONDS: f32 = 0.003;
const FADE_SECONDS: f32 = 0.008;

/// Time in which a released voice falls by 60 dB.
const RELEASE_SECONDS: f32 = 0.22;

/// Time in which the fundamental of a held middle C falls by 60 dB.
const MIDDLE_C_DECAY_SECONDS: f32 = 9.0;

/// Partials fade out towards this pitch at every sample rate, so that all rates sound the same.
const TOP_HZ: f32 = 18_000.0;

/// Share of the sample rate that no partial reaches.
const TOP_OF_SAMPLE_RATE: f32 = 0.45;

/// One row of the spectrum.
struct Partial {
    /// Frequency over the fundamental's.
    ratio: f32,
    /// Amplitude over the fundamental's, for the softest strike.
    soft: f32,
    /// The same for the hardest strike.
    hard: f32,
    /// Decay time over the fundamental's.
    ring: f32,
}

const fn partial(ratio: f32, soft: f32, hard: f32, ring: f32) -> Partial {
    Partial {
        ratio,
        soft,
        hard,
        ring,
    }
}

/// The spectrum: the fundamental, the harmonics that the pickup adds to it, and the bell of the tine.
/// The ratios of the bell are the second and third mode of a bar that is clamped at one end. Every
/// other row is much weaker than the fundamental, so that a spectrum shows every note that sounds.
const SPECTRUM: [Partial; PARTIALS] = [
    partial(1.0, 1.0, 1.0, 1.0),
    partial(2.0, 0.06, 0.24, 0.6),
    partial(3.0, 0.015, 0.13, 0.4),
    partial(4.0, 0.0, 0.07, 0.3),
    partial(5.0, 0.0, 0.035, 0.22),
    partial(6.267, 0.02, 0.10, 0.1),
    partial(7.0, 0.0, 0.015, 0.15),
    partial(17.55, 0.005, 0.035, 0.035),
];

/// A note to be played.
#[derive(Clone, Copy)]
pub(super) struct Note {
    /// Distinguishes notes of the same key; any value.
    pub channel: u8,
    /// MIDI key, 0 to 127.
    pub key: u8,
    /// Above 0, up to 1.
    pub velocity: f32,
}

impl Note {
    fn is(&self, channel: u8, key: u8) -> bool {
        self.channel == channel && self.key == key
    }

    /// Semitones above middle C.
    fn height_semitones(&self) -> f32 {
        f32::from(self.key) - 60.0
    }

    fn fundamental_hz(&self) -> f32 {
        440.0 * ((f32::from(self.key) - 69.0) / 12.0).exp2()
    }

    /// Time in which the fundamental falls by 60 dB: halved every 30 semitones.
    fn decay_seconds(&self) -> f32 {
        MIDDLE_C_DECAY_SECONDS * (-self.height_semitones() / 30.0).exp2()
    }

    /// Peak of the fundamental. Low keys are louder, because the ear hears them softer.
    fn amplitude(&self) -> f32 {
        let by_velocity = self.velocity * self.velocity.sqrt();
        FULL_STRIKE * by_velocity * (-self.height_semitones() / 72.0).exp2()
    }

    /// Left and right gain at equal power, with low keys a little to the left.
    fn pan(&self) -> (f32, f32) {
        let place = (self.height_semitones() / 48.0).clamp(-1.0, 1.0);
        let (right, left) = (FRAC_PI_4 * (1.0 + 0.3 * place)).sin_cos();
        (SQRT_2 * left, SQRT_2 * right)
    }
}

/// The steps and factors of a voice at one sample rate.
#[derive(Clone, Copy)]
pub(super) struct Pace {
    hz: f32,
    attack_step: f32,
    fade_step: f32,
    release_factor: f32,
}

impl Pace {
    /// `hz` is finite and above 0.
    pub fn new(hz: f32) -> Self {
        Self {
            hz,
            attack_step: 1.0 / (ATTACK_SECONDS * hz),
            fade_step: -1.0 / (FADE_SECONDS * hz),
            release_factor: fall_by_60_db(RELEASE_SECONDS * hz),
        }
    }

    /// The sample rate.
    pub const fn hz(&self) -> f32 {
        self.hz
    }

    /// 1 in the audible range, 0 where a partial would be too high.
    fn room_for(&self, partial_hz: f32) -> f32 {
        let top_hz = TOP_HZ.min(TOP_OF_SAMPLE_RATE * self.hz);
        ((top_hz - partial_hz) / (0.2 * top_hz)).clamp(0.0, 1.0)
    }
}

/// Where a voice is in its envelope.
#[derive(Clone, Copy, PartialEq, Eq)]
enum EnvelopePhase {
    Idle,
    Held,
    Released,
    /// Going silent within milliseconds, to make room or by request.
    Fading,
}

/// The partials of a voice as rotating vectors. The sine part is the sound.
#[derive(Clone, Copy)]
struct Partials {
    cosine: [f32; PARTIALS],
    sine: [f32; PARTIALS],
    /// How each partial turns and decays in one sample.
    turn_cosine: [f32; PARTIALS],
    turn_sine: [f32; PARTIALS],
}

/// How loud a voice is, besides the decay of its partials.
#[derive(Clone, Copy)]
struct Envelope {
    phase: EnvelopePhase,
    /// Position on the smooth slope of the attack or the fade, 0 to 1.
    gate: f32,
    gate_step: f32,
    /// Falls from 1 once the key is released.
    level: f32,
    level_factor: f32,
}

/// One voice. A voice that is taken over fades first, and then plays the note that waits, so that
/// taking it over does not click.
#[derive(Clone, Copy)]
pub(super) struct Voice {
    note: Note,
    waiting: Option<Note>,
    partials: Partials,
    envelope: Envelope,
    left: f32,
    right: f32,
    round_left_samples: usize,
}

impl Voice {
    /// A free voice.
    pub const IDLE: Self = Self {
        note: Note {
            channel: 0,
            key: 0,
            velocity: 0.0,
        },
        waiting: None,
        partials: Partials {
            cosine: [0.0; PARTIALS],
            sine: [0.0; PARTIALS],
            turn_cosine: [0.0; PARTIALS],
            turn_sine: [0.0; PARTIALS],
        },
        envelope: Envelope {
            phase: EnvelopePhase::Idle,
            gate: 0.0,
            gate_step: 0.0,
            level: 0.0,
            level_factor: 1.0,
        },
        left: 0.0,
        right: 0.0,
        round_left_samples: ROUND_SAMPLES,
    };

    /// Whether it is free.
    pub fn is_idle(&self) -> bool {
        self.envelope.phase == EnvelopePhase::Idle
    }

    /// Strikes at once if idle, otherwise as soon as a quick fade has ended.
    pub fn strike(&mut self, note: Note, pace: &Pace) {
        if self.is_idle() {
            self.begin(note, pace);
        } else {
            self.fade(pace);
            self.waiting = Some(note);
        }
    }

    /// Releases its note, if this is its key.
    pub fn release(&mut self, channel: u8, key: u8, pace: &Pace) {
        self.waiting = self.waiting.filter(|note| !note.is(channel, key));
        if self.envelope.phase == EnvelopePhase::Held && self.note.is(channel, key) {
            self.envelope.phase = EnvelopePhase::Released;
            self.envelope.level_factor = pace.release_factor;
        }
    }

    /// Ends its note quickly, if this is its key.
    pub fn cut(&mut self, channel: u8, key: u8, pace: &Pace) {
        self.waiting = self.waiting.filter(|note| !note.is(channel, key));
        if !self.is_idle() && self.note.is(channel, key) {
            self.fade(pace);
        }
    }

    /// Ends its note, and the one that waits, quickly.
    pub fn end(&mut self, pace: &Pace) {
        self.waiting = None;
        if !self.is_idle() {
            self.fade(pace);
        }
    }

    /// How much is lost if this voice is taken; the lowest is taken. Of equal notes the oldest is the
    /// quietest, because they decay.
    pub fn claim(&self) -> f32 {
        match self.envelope.phase {
            EnvelopePhase::Idle => -2.0,
            EnvelopePhase::Fading if self.waiting.is_some() => f32::MAX,
            EnvelopePhase::Fading => self.envelope.gate - 1.0,
            EnvelopePhase::Released => 0.1 * self.power(),
            EnvelopePhase::Held => self.power(),
        }
    }

    /// Adds the voice's next samples to both channels.
    pub fn add_to(&mut self, mut left: &mut [f32], mut right: &mut [f32], pace: &Pace) {
        while !self.is_idle() {
            let count = self.round_left_samples.min(left.len()).min(right.len());
            let (Some((left_now, left_rest)), Some((right_now, right_rest))) = (
                left.split_at_mut_checked(count),
                right.split_at_mut_checked(count),
            ) else {
                return;
            };
            self.add_round(left_now, right_now);
            (left, right) = (left_rest, right_rest);
            self.round_left_samples -= count;
            if self.round_left_samples > 0 {
                return;
            }
            self.round_left_samples = ROUND_SAMPLES;
            self.check(pace);
        }
    }

    fn begin(&mut self, note: Note, pace: &Pace) {
        let (left, right) = note.pan();
        *self = Self {
            note,
            envelope: Envelope {
                phase: EnvelopePhase::Held,
                gate_step: pace.attack_step,
                level: 1.0,
                ..Self::IDLE.envelope
            },
            left,
            right,
            ..Self::IDLE
        };
        let amplitude = note.amplitude();
        let fundamental_hz = note.fundamental_hz();
        let decay_samples = note.decay_seconds() * pace.hz;
        let partials = &mut self.partials;
        let turns = partials.turn_cosine.iter_mut().zip(&mut partials.turn_sine);
        let rows = SPECTRUM.iter().zip(&mut partials.cosine);
        for ((row, start), (turn_cosine, turn_sine)) in rows.zip(turns) {
            let partial_hz = fundamental_hz * row.ratio;
            let share = row.soft + (row.hard - row.soft) * note.velocity;
            *start = amplitude * share * pace.room_for(partial_hz);
            let (sine, cosine) = (TAU * partial_hz / pace.hz).sin_cos();
            let decay = fall_by_60_db(decay_samples * row.ring);
            *turn_cosine = decay * cosine;
            *turn_sine = decay * sine;
        }
    }

    fn fade(&mut self, pace: &Pace) {
        self.envelope.phase = EnvelopePhase::Fading;
        self.envelope.gate_step = pace.fade_step;
    }

    /// The inner loop. The order of the sum is written out, so that it runs in vector registers.
    fn add_round(&mut self, left: &mut [f32], right: &mut [f32]) {
        let (partials, envelope) = (&mut self.partials, &mut self.envelope);
        for (left, right) in left.iter_mut().zip(right) {
            let turns = partials.turn_cosine.iter().zip(&partials.turn_sine);
            let state = partials.cosine.iter_mut().zip(&mut partials.sine);
            for ((cosine, sine), (turn_cosine, turn_sine)) in state.zip(turns) {
                let turned = *cosine * turn_cosine - *sine * turn_sine;
                *sine = *cosine * turn_sine + *sine * turn_cosine;
                *cosine = turned;
            }
            let [a, b, c, d, e, f, g, h] = partials.sine;
            let sum = ((a + e) + (c + g)) + ((b + f) + (d + h));
            envelope.gate = (envelope.gate + envelope.gate_step).clamp(0.0, 1.0);
            envelope.level *= envelope.level_factor;
            let slope = envelope.gate * envelope.gate * (3.0 - 2.0 * envelope.gate);
            let sample = sum * (slope * envelope.level);
            *left += sample * self.left;
            *right += sample * self.right;
        }
    }

    /// Runs between rounds: drops partials that have died away, and ends the voice when nothing is
    /// left of it.
    fn check(&mut self, pace: &Pace) {
        for (cosine, sine) in self.partials.cosine.iter_mut().zip(&mut self.partials.sine) {
            if *cosine * *cosine + *sine * *sine < PARTIAL_FLOOR * PARTIAL_FLOOR {
                (*cosine, *sine) = (0.0, 0.0);
            }
        }
        let faded = self.envelope.phase == EnvelopePhase::Fading && self.envelope.gate <= 0.0;
        if faded || self.power() < SILENCE * SILENCE {
            match self.waiting {
                Some(note) => self.begin(note, pace),
                None => *self = Self::IDLE,
            }
        }
    }

    /// Sum of the squared amplitudes of the partials. It leaves out the gate, so that a note counts in
    /// full during its attack.
    fn power(&self) -> f32 {
        let state = self.partials.cosine.iter().zip(&self.partials.sine);
        let power: f32 = state.map(|(c, s)| c * c + s * s).sum();
        power * self.envelope.level * self.envelope.level
    }
}

#[cfg(test)]
#[expect(clippy::indexing_slicing, reason = "a test may panic")]
mod tests;
