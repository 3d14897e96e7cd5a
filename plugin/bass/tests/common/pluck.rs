//! The project's own plucked string, and background sounds: noise, hum, drums in the next room.

use super::lines::BassLine;
use fastrand::Rng;
use std::f64::consts::TAU;

/// How a string sounds.
#[derive(Clone, Copy, Debug)]
pub struct Voice {
    /// Where the string is plucked, as a part of its length. The harmonics with a node there are
    /// missing.
    pub plucked_at: f64,
    /// How much faster each higher harmonic decays, for each second.
    pub dulling: f64,
    /// How fast the fundamental decays, for each second.
    pub dying: f64,
    /// The level of a thump near 0.8 of the fundamental in the attack.
    pub thump: f64,
    /// The string's inharmonicity.
    pub stiffness: f64,
    /// The level of harmonics over that of the fundamental, as a power of their number.
    pub slope: f64,
}

/// Fingered: round, with a thump at the beginning.
pub const ACOUSTIC: Voice = Voice {
    plucked_at: 0.21,
    dulling: 1.6,
    dying: 1.1,
    thump: 1.5,
    stiffness: 6e-5,
    slope: -1.0,
};
/// Picked: bright and even.
pub const FINGERED: Voice = Voice {
    plucked_at: 0.13,
    dulling: 0.8,
    dying: 0.6,
    thump: 0.2,
    stiffness: 4e-5,
    slope: -0.8,
};
/// Soft, with a weak fundamental.
pub const FRETLESS: Voice = Voice {
    plucked_at: 0.28,
    dulling: 1.0,
    dying: 0.7,
    thump: 0.0,
    stiffness: 4e-5,
    slope: -0.6,
};

/// Plays a line: a sum of decaying harmonics for each note, released within 60 ms.
pub fn play(line: &BassLine, voice: Voice, rate_hz: f64, a4_hz: f64) -> Vec<f32> {
    let last = line.notes.last().expect("a note");
    let end_seconds = line.seconds(last.end_beats) + 1.0;
    let mut sound = vec![0.0_f64; whole(end_seconds * rate_hz)];
    let mut rng = Rng::with_seed(7);
    for note in &line.notes {
        let start = line.seconds(note.start_beats);
        let held = line.seconds(note.end_beats) - start;
        let loud = 0.25 * f64::from(note.velocity) / 127.0;
        let base_hz = a4_hz * ((f64::from(note.number) - 69.0) / 12.0).exp2();
        let held_samples = held * rate_hz;
        let sound = &mut sound[whole(start * rate_hz)..];
        let sound = &mut sound[..whole((held + 0.3) * rate_hz)];
        for k in 1..=20_u32 {
            let k = f64::from(k);
            let hertz = base_hz * k * (1.0 + voice.stiffness * k * k).sqrt();
            if hertz > 0.4 * rate_hz || hertz > 4000.0 {
                break;
            }
            let pluck = (TAU * 0.5 * k * voice.plucked_at).sin().abs() + 0.03;
            let partial = Partial {
                level: loud * pluck * k.powf(voice.slope),
                turn: TAU * hertz / rate_hz,
                phase: TAU * rng.f64(),
                rising: 0.004 * rate_hz,
                dying: rate_hz / (voice.dying + voice.dulling * (k - 1.0)),
            };
            partial.sound(sound, held_samples, 0.06 * rate_hz);
        }
        let thump = Partial {
            level: loud * voice.thump,
            turn: TAU * 0.8 * base_hz / rate_hz,
            phase: 0.0,
            rising: 0.005 * rate_hz,
            dying: 0.07 * rate_hz,
        };
        thump.sound(sound, f64::INFINITY, 1.0);
    }
    sound.into_iter().map(narrow).collect()
}

/// A sine that rises and decays; times are in samples.
struct Partial {
    level: f64,
    turn: f64,
    phase: f64,
    rising: f64,
    dying: f64,
}

impl Partial {
    /// Adds it to a sound, released after `held`.
    fn sound(&self, sound: &mut [f64], held: f64, letting_go: f64) {
        let (step_sin, step_cos) = self.turn.sin_cos();
        let (mut sin, mut cos) = self.phase.sin_cos();
        let (rise, die) = ((-1.0 / self.rising).exp(), (-1.0 / self.dying).exp());
        let let_go = (-1.0 / letting_go).exp();
        let (mut to_rise, mut level, mut n) = (1.0, self.level, 0.0);
        for s in sound {
            *s += level * (1.0 - to_rise) * sin;
            to_rise *= rise;
            level *= if n < held { die } else { die * let_go };
            (sin, cos) = (
                sin * step_cos + cos * step_sin,
                cos * step_cos - sin * step_sin,
            );
            n += 1.0;
        }
    }
}

/// White noise.
pub fn noise(seed: u64, samples: usize) -> Vec<f32> {
    let mut rng = Rng::with_seed(seed);
    (0..samples).map(|_| 2.0 * rng.f32() - 1.0).collect()
}

/// Mains hum with its harmonics.
pub fn hum(samples: usize, rate_hz: f64) -> Vec<f32> {
    let mut n = 0.0;
    let mut next = || {
        n += TAU * 50.0 / rate_hz;
        narrow(n.sin() + 0.3 * (2.0 * n).sin() + 0.4 * (3.0 * n).sin())
    };
    (0..samples).map(|_| next()).collect()
}

/// A swing beat under a line: a kick of falling pitch, a hiss for the cymbals, a snare.
pub fn drums(line: &BassLine, samples: usize, rate_hz: f64) -> Vec<f32> {
    let mut rng = Rng::with_seed(11);
    let mut sound = vec![0.0_f64; samples];
    for beat in 0..u32::try_from(line.chart.len() * 4).expect("a short chart") {
        let at = f64::from(beat);
        let mut hit = |beats: f64, level: f64, kind: u8| {
            let first = whole(line.seconds(beats) * rate_hz).min(samples);
            let mut n = 0.0;
            let mut phase = 0.0;
            for s in sound[first..].iter_mut().take(whole(0.25 * rate_hz)) {
                let t: f64 = n / rate_hz;
                let hiss = 2.0 * rng.f64() - 1.0;
                phase += TAU * (52.0 + 60.0 * (-t / 0.02).exp()) / rate_hz;
                *s += level
                    * match kind {
                        0 => phase.sin() * (-t / 0.06).exp(),
                        1 => hiss * (-t / 0.08).exp(),
                        _ => (0.6 * hiss + 0.4 * (TAU * 190.0 * t).sin()) * (-t / 0.05).exp(),
                    };
                n += 1.0;
            }
        };
        hit(at, 0.5, 0);
        hit(at, 0.3, 1);
        if beat % 2 == 1 {
            hit(at, 0.5, 2);
            hit(at + 2.0 / 3.0, 0.25, 1);
        }
    }
    sound.into_iter().map(narrow).collect()
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "minutes of samples"
)]
fn whole(x: f64) -> usize {
    x.round().max(0.0) as usize
}

#[allow(clippy::cast_possible_truncation, reason = "sound fits an f32")]
fn narrow(x: f64) -> f32 {
    x as f32
}
