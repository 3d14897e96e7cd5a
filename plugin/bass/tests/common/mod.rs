//! Shared by the tests and the benchmark.
#![allow(dead_code, reason = "each binary uses a part")]

pub mod lines;
pub mod pluck;
pub mod score;

use guidehand_bass::{Event, Tracker};
use score::HeardNote;

/// What a new tracker reports of a sound, in blocks of 256.
pub fn listen(sound: &[f32], rate_hz: f32) -> Vec<HeardNote> {
    let mut tracker = Tracker::new(rate_hz);
    listen_with(&mut tracker, sound, rate_hz)
}

/// What a tracker reports of a sound, in blocks of 256.
pub fn listen_with(tracker: &mut Tracker, sound: &[f32], rate_hz: f32) -> Vec<HeardNote> {
    let mut words = Vec::new();
    for block in sound.chunks(256) {
        tracker.push(block, &mut |event| words.push(heard_note(event, rate_hz)));
    }
    words
}

fn heard_note(event: Event, rate_hz: f32) -> HeardNote {
    let (at_samples, note) = match event {
        Event::On {
            heard, at_samples, ..
        } => (at_samples, Some(heard.note)),
        Event::Off { at_samples } => (at_samples, None),
    };
    let samples = f64::from(u32::try_from(at_samples).expect("minutes of sound"));
    HeardNote {
        at_seconds: samples / f64::from(rate_hz),
        note,
    }
}

/// `sound` with `other` added, so that `other` is `level_db` above it by mean power.
pub fn mix(sound: &[f32], other: &[f32], level_db: f64) -> Vec<f32> {
    let power = |x: &[f32]| x.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>();
    let length = sound.len().min(other.len());
    let ratio = power(&sound[..length]) / power(&other[..length]).max(1e-12);
    let gain = ratio.sqrt() * 10_f64.powf(level_db / 20.0);
    let other = other.iter().copied().chain(std::iter::repeat(0.0));
    sound
        .iter()
        .zip(other)
        .map(|(s, o)| s + scaled(o, gain))
        .collect()
}

#[allow(clippy::cast_possible_truncation, reason = "sound fits an f32")]
fn scaled(sample: f32, gain: f64) -> f32 {
    (f64::from(sample) * gain) as f32
}
