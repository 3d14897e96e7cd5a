//! The deviation of a note from the tuning reference, by the turn of its harmonics' phases. Imports
//! nothing of the crate.

use std::f32::consts::{PI, TAU};

/// Slow samples from one window to the next.
const APART: usize = 88;
const APART_SAMPLES: f32 = 88.0;
/// Slow samples in a window.
const WINDOW: usize = 352;
/// The number of harmonics that are used, as far as they lie below `HIGHEST_HZ`. Higher harmonics
/// turn so fast that half a semitone would be a whole turn.
const HARMONICS: u8 = 6;
const HIGHEST_HZ: f32 = 600.0;

/// Cents above `expected_hz`, -50 to 50. The samples are the newest ones at the rate `slow_hz`.
pub(crate) fn above(newest: &[f32], expected_hz: f32, slow_hz: f32) -> f32 {
    let part = |from_end: usize| {
        let start = newest.len().checked_sub(WINDOW + from_end)?;
        newest.get(start..)?.get(..WINDOW)
    };
    let (Some(before), Some(after)) = (part(APART), part(0)) else {
        return 0.0;
    };
    let (mut sum, mut weight) = (0.0, 1e-20);
    for k in 1..=HARMONICS {
        let k = f32::from(k);
        let hz = k * expected_hz;
        if hz > HIGHEST_HZ {
            break;
        }
        let turn = TAU * hz / slow_hz;
        let (a, b) = (component(before, turn), component(after, turn));
        // The phase by which `b` is ahead of a tone at `expected_hz`.
        let (real, imaginary) = (a.0 * b.0 + a.1 * b.1, a.0 * b.1 - a.1 * b.0);
        let ahead = wrap(imaginary.atan2(real) - turn * APART_SAMPLES);
        let power = real.hypot(imaginary);
        sum += power * k * ahead / (TAU * APART_SAMPLES) * slow_hz;
        weight += power * k * k;
    }
    let ratio = 1.0 + sum / (weight * expected_hz);
    (1200.0 * ratio.max(0.5).log2()).clamp(-50.0, 50.0)
}

/// The component that turns by `turn` for each sample, under a Hann window.
fn component(samples: &[f32], turn: f32) -> (f32, f32) {
    let (step_sin, step_cos) = turn.sin_cos();
    let (rise_sin, rise_cos) = (TAU / APART_SAMPLES / 4.0).sin_cos();
    let (mut cos, mut sin) = (1.0_f32, 0.0_f32);
    let (mut window_cos, mut window_sin) = (1.0_f32, 0.0_f32);
    let (mut real, mut imaginary) = (0.0, 0.0);
    for sample in samples {
        let x = sample * (1.0 - window_cos);
        real += x * cos;
        imaginary -= x * sin;
        (cos, sin) = (
            cos * step_cos - sin * step_sin,
            sin * step_cos + cos * step_sin,
        );
        (window_cos, window_sin) = (
            window_cos * rise_cos - window_sin * rise_sin,
            window_sin * rise_cos + window_cos * rise_sin,
        );
    }
    (real, imaginary)
}

/// The phase, wrapped into the range from half a turn back to half a turn ahead.
fn wrap(phase: f32) -> f32 {
    phase - TAU * ((phase + PI) / TAU).floor()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_string_is_measured_to_a_cent() {
        for cents in [-45.0_f32, -20.0, 0.0, 7.0, 33.0] {
            for expected_hz in [31.0, 41.2, 98.0, 220.0, 392.0] {
                let hz = expected_hz * (cents / 1200.0).exp2();
                let sound: Vec<f32> = (0..512_u16)
                    .map(|n| {
                        let turn = TAU * hz * f32::from(n) / 4410.0;
                        (1..5_u8).map(|k| (f32::from(k) * (turn + 0.4)).sin()).sum()
                    })
                    .collect();
                let found = above(&sound, expected_hz, 4410.0);
                assert!(
                    (found - cents).abs() < 3.0,
                    "{expected_hz}: {found} for {cents}"
                );
            }
        }
    }
}
