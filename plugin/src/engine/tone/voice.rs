//! One voice of the audition sound: eight damped partials under one gate.
//! Plain arithmetic on the audio thread; imported by `tone` only.

use super::fall_by_60_db;
use std::f32::consts::{FRAC_PI_4, SQRT_2, TAU};

/// Partials in one voice; a whole number of vector registers.
const PARTIALS: usize = 8;

/// Samples between two looks at a voice's own state. They are counted from the
/// strike, so the way a block is split into segments cannot be heard.
const ROUND_SAMPLES: usize = 32;

/// Peak of a full-velocity fundamental at middle C, in each channel.
const FULL_STRIKE: f32 = 0.12;

/// A voice weaker than this (-100 dBFS) has ended.
const SILENCE: f32 = 1.0e-5;

/// A partial weaker than this (-140 dBFS) is set to zero, long before its
/// state could reach the denormal range.
const PARTIAL_FLOOR: f32 = 1.0e-7;

const ATTACK_SECONDS: f32 = 0.003;
const FADE_SECONDS: f32 = 0.008;

/// Time in which a released voice falls by 60 dB.
const RELEASE_SECONDS: f32 = 0.22;

/// Time in which the fundamental of a held middle C falls by 60 dB.
const MIDDLE_C_DECAY_SECONDS: f32 = 9.0;

/// Partials fade out towards this pitch at every sample rate, so that the
/// sound is the same at all of them.
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

/// TABLE: the fundamental, the harmonics that the pickup adds to it, and the
/// tine's own bell. The bell's ratios are the second and third mode of a bar
/// clamped at one end. No row comes near the fundamental's amplitude, so a
/// spectrum shows every note that sounds.
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

/// A note to be struck.
#[derive(Clone, Copy)]
pub(super) struct Strike {
    /// Tells apart equal keys; any value.
    pub channel: u8,
    /// MIDI key, 0 to 127.
    pub key: u8,
    /// Above 0, up to 1.
    pub velocity: f32,
}

impl Strike {
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

    /// Peak of the fundamental. Low keys are given more, as the ear wants.
    fn amplitude(&self) -> f32 {
        let by_velocity = self.velocity * self.velocity.sqrt();
        FULL_STRIKE * by_velocity * (-self.height_semitones() / 72.0).exp2()
    }

    /// Left and right gain: equal power, low keys a little to the left.
    fn pan(&self) -> (f32, f32) {
        let place = (self.height_semitones() / 48.0).clamp(-1.0, 1.0);
        let (right, left) = (FRAC_PI_4 * (1.0 + 0.3 * place)).sin_cos();
        (SQRT_2 * left, SQRT_2 * right)
    }
}

/// What a voice must know of the sample rate.
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

    /// 1 in the audible range, 0 where a partial would be too high.
    fn room_for(&self, partial_hz: f32) -> f32 {
        let top_hz = TOP_HZ.min(TOP_OF_SAMPLE_RATE * self.hz);
        ((top_hz - partial_hz) / (0.2 * top_hz)).clamp(0.0, 1.0)
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Stage {
    Idle,
    Held,
    Released,
    /// On its way to silence within milliseconds, to make room or by request.
    Fading,
}

/// One voice. A voice that is taken over fades first and strikes the note that
/// is waiting when it has ended, so that no takeover clicks.
#[derive(Clone, Copy)]
pub(super) struct Voice {
    stage: Stage,
    strike: Strike,
    waiting: Option<Strike>,
    /// The partials as rotating vectors: the sine part is what sounds.
    cosine: [f32; PARTIALS],
    sine: [f32; PARTIALS],
    /// One sample's turn of each, with its decay.
    turn_cosine: [f32; PARTIALS],
    turn_sine: [f32; PARTIALS],
    /// Position on the smooth slope of attack and fade, 0 to 1.
    gate: f32,
    gate_step: f32,
    /// Falls from 1 once the key is released.
    level: f32,
    level_factor: f32,
    left: f32,
    right: f32,
    round_left_samples: usize,
}

impl Voice {
    pub const IDLE: Self = Self {
        stage: Stage::Idle,
        strike: Strike {
            channel: 0,
            key: 0,
            velocity: 0.0,
        },
        waiting: None,
        cosine: [0.0; PARTIALS],
        sine: [0.0; PARTIALS],
        turn_cosine: [0.0; PARTIALS],
        turn_sine: [0.0; PARTIALS],
        gate: 0.0,
        gate_step: 0.0,
        level: 0.0,
        level_factor: 1.0,
        left: 0.0,
        right: 0.0,
        round_left_samples: ROUND_SAMPLES,
    };

    pub fn is_idle(&self) -> bool {
        self.stage == Stage::Idle
    }

    /// Strikes at once if idle, otherwise as soon as a quick fade has ended.
    pub fn strike(&mut self, strike: Strike, pace: &Pace) {
        if self.is_idle() {
            self.begin(strike, pace);
        } else {
            self.fade(pace);
            self.waiting = Some(strike);
        }
    }

    /// Lets the key go, if it is this one.
    pub fn release(&mut self, channel: u8, key: u8, pace: &Pace) {
        self.waiting = self.waiting.filter(|strike| !strike.is(channel, key));
        if self.stage == Stage::Held && self.strike.is(channel, key) {
            self.stage = Stage::Released;
            self.level_factor = pace.release_factor;
        }
    }

    /// Ends the key quickly, if it is this one.
    pub fn cut(&mut self, channel: u8, key: u8, pace: &Pace) {
        self.waiting = self.waiting.filter(|strike| !strike.is(channel, key));
        if !self.is_idle() && self.strike.is(channel, key) {
            self.fade(pace);
        }
    }

    /// Ends whatever sounds or waits.
    pub fn end(&mut self, pace: &Pace) {
        self.waiting = None;
        if !self.is_idle() {
            self.fade(pace);
        }
    }

    /// How much would be lost by taking this voice: the lowest is taken. Equal
    /// strikes decay with age, so the oldest of them is the quietest.
    pub fn claim(&self) -> f32 {
        match self.stage {
            Stage::Idle => -2.0,
            Stage::Fading if self.waiting.is_some() => f32::MAX,
            Stage::Fading => self.gate - 1.0,
            Stage::Released => 0.1 * self.power(),
            Stage::Held => self.power(),
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
            self.look(pace);
        }
    }

    fn begin(&mut self, strike: Strike, pace: &Pace) {
        let (left, right) = strike.pan();
        *self = Self {
            stage: Stage::Held,
            strike,
            gate_step: pace.attack_step,
            level: 1.0,
            left,
            right,
            ..Self::IDLE
        };
        let amplitude = strike.amplitude();
        let fundamental_hz = strike.fundamental_hz();
        let decay_samples = strike.decay_seconds() * pace.hz;
        let turns = self.turn_cosine.iter_mut().zip(&mut self.turn_sine);
        for ((row, start), (turn_cosine, turn_sine)) in
            SPECTRUM.iter().zip(&mut self.cosine).zip(turns)
        {
            let partial_hz = fundamental_hz * row.ratio;
            let share = row.soft + (row.hard - row.soft) * strike.velocity;
            *start = amplitude * share * pace.room_for(partial_hz);
            let (sine, cosine) = (TAU * partial_hz / pace.hz).sin_cos();
            let decay = fall_by_60_db(decay_samples * row.ring);
            *turn_cosine = decay * cosine;
            *turn_sine = decay * sine;
        }
    }

    fn fade(&mut self, pace: &Pace) {
        self.stage = Stage::Fading;
        self.gate_step = pace.fade_step;
    }

    /// The inner loop. The order of the sum is written out so that it can run
    /// in vector registers.
    fn add_round(&mut self, left: &mut [f32], right: &mut [f32]) {
        for (left, right) in left.iter_mut().zip(right) {
            let turns = self.turn_cosine.iter().zip(&self.turn_sine);
            let state = self.cosine.iter_mut().zip(&mut self.sine);
            for ((cosine, sine), (turn_cosine, turn_sine)) in state.zip(turns) {
                let turned = *cosine * turn_cosine - *sine * turn_sine;
                *sine = *cosine * turn_sine + *sine * turn_cosine;
                *cosine = turned;
            }
            let [a, b, c, d, e, f, g, h] = self.sine;
            let sum = ((a + e) + (c + g)) + ((b + f) + (d + h));
            self.gate = (self.gate + self.gate_step).clamp(0.0, 1.0);
            self.level *= self.level_factor;
            let slope = self.gate * self.gate * (3.0 - 2.0 * self.gate);
            let sample = sum * (slope * self.level);
            *left += sample * self.left;
            *right += sample * self.right;
        }
    }

    /// Between rounds: drops partials that died away, and ends the voice when
    /// nothing is left of it.
    fn look(&mut self, pace: &Pace) {
        for (cosine, sine) in self.cosine.iter_mut().zip(&mut self.sine) {
            if *cosine * *cosine + *sine * *sine < PARTIAL_FLOOR * PARTIAL_FLOOR {
                (*cosine, *sine) = (0.0, 0.0);
            }
        }
        let faded = self.stage == Stage::Fading && self.gate <= 0.0;
        if faded || self.power() < SILENCE * SILENCE {
            match self.waiting {
                Some(strike) => self.begin(strike, pace),
                None => *self = Self::IDLE,
            }
        }
    }

    /// Sum of the partials' squared amplitudes, the gate left aside: a note in
    /// its attack counts in full.
    fn power(&self) -> f32 {
        let state = self.cosine.iter().zip(&self.sine);
        let power: f32 = state.map(|(c, s)| c * c + s * s).sum();
        power * self.level * self.level
    }
}

#[cfg(test)]
#[expect(clippy::indexing_slicing, reason = "a test may panic")]
mod tests {
    use super::*;

    const HZ: f32 = 48_000.0;

    fn struck(key: u8, velocity: f32) -> Voice {
        let mut voice = Voice::IDLE;
        let strike = Strike {
            channel: 0,
            key,
            velocity,
        };
        voice.strike(strike, &Pace::new(HZ));
        voice
    }

    fn run_for_one_second(voice: &mut Voice) {
        let (mut left, mut right) = ([0.0; 1_000], [0.0; 1_000]);
        for _ in 0..48 {
            voice.add_to(&mut left, &mut right, &Pace::new(HZ));
        }
    }

    /// The voice's next samples on the left.
    fn next<const SAMPLES: usize>(voice: &mut Voice) -> [f32; SAMPLES] {
        let (mut left, mut right) = ([0.0; SAMPLES], [0.0; SAMPLES]);
        voice.add_to(&mut left, &mut right, &Pace::new(HZ));
        left
    }

    fn peak(samples: &[f32]) -> f32 {
        samples.iter().fold(0.0, |peak, x| peak.max(x.abs()))
    }

    #[test]
    fn no_state_becomes_subnormal_in_a_whole_decay() {
        let mut voice = struck(60, 1.0);
        let (mut left, mut right) = ([0.0; 100], [0.0; 100]);
        let mut blocks = 0;
        while !voice.is_idle() {
            voice.add_to(&mut left, &mut right, &Pace::new(HZ));
            let state = voice.cosine.iter().chain(&voice.sine);
            assert!(state.clone().all(|value| !value.is_subnormal()));
            assert!(state.clone().all(|value| value.is_finite()));
            blocks += 1;
            assert!(blocks < 20 * 480, "still sounding after 20 s");
        }
        assert!(blocks > 4 * 480, "gone within 4 s");
    }

    #[test]
    fn attack_is_soft_and_short() {
        let samples: [f32; 480] = next(&mut struck(96, 1.0));
        let (first, by_4_ms, all) = (peak(&samples[..14]), peak(&samples[..192]), peak(&samples));
        assert!(first > 0.0 && first < 0.05 * all, "{first} of {all}");
        assert!(by_4_ms > 0.9 * all, "{by_4_ms} of {all}");
    }

    #[test]
    fn takeover_does_not_click() {
        let mut ringing = struck(28, 1.0);
        run_for_one_second(&mut ringing);
        for moment in 0..40 {
            let [.., mut last] = next::<37>(&mut ringing);
            let mut voice = ringing;
            let strike = Strike {
                channel: 0,
                key: 29,
                velocity: 0.5,
            };
            voice.strike(strike, &Pace::new(HZ));
            for sample in next::<960>(&mut voice) {
                assert!((sample - last).abs() < 0.005, "moment {moment}");
                last = sample;
            }
            assert!(voice.strike.is(0, 29) && voice.waiting.is_none());
        }
    }

    #[test]
    fn bell_dies_before_the_fundamental_and_low_keys_ring_longest() {
        let mut last = f32::MAX;
        for key in [28, 48, 72, 96] {
            let mut voice = struck(key, 1.0);
            let start = voice.cosine;
            run_for_one_second(&mut voice);
            let size = |i: usize| voice.cosine[i].hypot(voice.sine[i]) / start[i];
            assert!(size(0) > 0.1 && size(0) < last, "key {key}: {}", size(0));
            assert!(size(5) < 0.1 * size(0), "key {key}: {}", size(5));
            last = size(0);
        }
    }

    #[test]
    fn harder_strikes_are_louder_and_brighter() {
        let mut last = (0.0, 0.0);
        for velocity in [0.1, 0.4, 0.7, 1.0] {
            let [fundamental, overtones @ ..] = struck(60, velocity).cosine;
            let brightness = overtones.iter().sum::<f32>() / fundamental;
            assert!(fundamental > last.0 && brightness > last.1);
            last = (fundamental, brightness);
        }
    }

    #[test]
    fn partials_keep_clear_of_half_the_sample_rate() {
        for hz in [8_000.0, 44_100.0, 192_000.0] {
            let pace = Pace::new(hz);
            assert!(pace.room_for(0.46 * hz).abs() < f32::EPSILON);
            assert!(pace.room_for(19_000.0).abs() < f32::EPSILON);
            assert!(pace.room_for(2_800.0) >= 1.0);
        }
    }
}
