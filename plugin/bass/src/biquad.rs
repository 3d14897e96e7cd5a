//! Second-order Butterworth filters. Imports nothing of the crate. The `biquad` crate adds the same
//! terms in another order, which would change the last bits of what the ear hears.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// A filter's memory below this level counts as silence. It would only decay into denormal numbers,
/// which are slow.
const SILENCE: f64 = 1e-20;

/// One second-order section, in transposed direct form II.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Biquad {
    b: [f64; 3],
    a: [f64; 2],
    memory: [f64; 2],
}

impl Biquad {
    /// A low-pass of quality `q` at `cutoff_hz`, which lies below half of `rate_hz`.
    pub(crate) fn lowpass(cutoff_hz: f64, q: f64, rate_hz: f64) -> Biquad {
        let (cosine, alpha) = warp(cutoff_hz, q, rate_hz);
        let side = (1.0 - cosine) / 2.0;
        Biquad::of([side, 1.0 - cosine, side], cosine, alpha)
    }

    /// A second-order Butterworth high-pass at `cutoff_hz`.
    pub(crate) fn highpass(cutoff_hz: f64, rate_hz: f64) -> Biquad {
        let (cosine, alpha) = warp(cutoff_hz, FRAC_1_SQRT_2, rate_hz);
        let side = f64::midpoint(1.0, cosine);
        Biquad::of([side, -1.0 - cosine, side], cosine, alpha)
    }

    fn of(b: [f64; 3], cosine: f64, alpha: f64) -> Biquad {
        let scale = 1.0 / (1.0 + alpha);
        Biquad {
            b: b.map(|x| x * scale),
            a: [-2.0 * cosine * scale, (1.0 - alpha) * scale],
            memory: [0.0; 2],
        }
    }

    /// The next sample.
    #[inline]
    pub(crate) fn next(&mut self, x: f64) -> f64 {
        let [b0, b1, b2] = self.b;
        let [a1, a2] = self.a;
        let [m0, m1] = self.memory;
        let y = b0 * x + m0;
        self.memory = [b1 * x - a1 * y + m1, b2 * x - a2 * y];
        y
    }

    /// Clears a memory that has decayed into silence.
    pub(crate) fn settle(&mut self) {
        self.memory = self.memory.map(|m| if m.abs() < SILENCE { 0.0 } else { m });
    }

    /// Forgets everything.
    pub(crate) fn reset(&mut self) {
        self.memory = [0.0; 2];
    }
}

/// The four sections of an eighth-order Butterworth low-pass.
pub(crate) fn steep_lowpass(cutoff_hz: f64, rate_hz: f64) -> [Biquad; 4] {
    [1.0, 3.0, 5.0, 7.0].map(|odd| {
        let q = 0.5 / (odd * PI / 16.0).cos();
        Biquad::lowpass(cutoff_hz, q, rate_hz)
    })
}

fn warp(cutoff_hz: f64, q: f64, rate_hz: f64) -> (f64, f64) {
    let turn = 2.0 * PI * cutoff_hz / rate_hz;
    (turn.cos(), turn.sin() / (2.0 * q))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The level of a tone after the steep low-pass at 1 kHz, in dB.
    fn level_db(tone_hz: f64) -> f64 {
        let mut sections = steep_lowpass(1000.0, 48_000.0);
        let mut peak: f64 = 0.0;
        for n in 0..48_000_u32 {
            let x = (2.0 * PI * tone_hz * f64::from(n) / 48_000.0).sin();
            let y = sections.iter_mut().fold(x, |x, s| s.next(x));
            if n > 24_000 {
                peak = peak.max(y.abs());
            }
        }
        20.0 * peak.log10()
    }

    #[test]
    fn the_lowpass_is_flat_then_steep() {
        assert!(level_db(500.0).abs() < 0.1);
        assert!((level_db(1000.0) + 3.01).abs() < 0.1);
        // The eighth order falls by 48 dB an octave.
        assert!(level_db(2000.0) < -47.0);
    }
}
