//! The meter of the audition tone: a peak that rises at once and falls slowly, in the steps that
//! the panel shows. The panel's thread and its waker, with the time handed in; `state` and
//! `panel` import it.

use std::time::Duration;

/// How fast it falls: 20 dB in 1.7 s, as peak programme meters do (IEC 60268-10, type I).
const FALL_DB_PER_SECOND: f32 = 20.0 / 1.7;
/// The softest peak that it tells from silence.
const FLOOR_DB: f32 = -60.0;
/// The loudest peak of the tone.
const CEILING_DB: f32 = -6.0;
/// The steps between them, of 3 dB: four points of the line each, which is what a glance tells
/// apart. A peak that falls makes no more than four pictures a second.
pub const STEPS: u8 = 18;

/// What a meter shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meter {
    level_db: f32,
    /// When it was so.
    at: Duration,
}

impl Default for Meter {
    fn default() -> Self {
        Meter {
            level_db: FLOOR_DB,
            at: Duration::ZERO,
        }
    }
}

impl Meter {
    /// Takes in the highest peak, linear, since this was called last. `now` counts from any
    /// moment, always the same.
    pub fn follow(&mut self, peak: f32, now: Duration) {
        let fallen = now.saturating_sub(self.at).as_secs_f32() * FALL_DB_PER_SECOND;
        let peak_db = 20.0 * peak.max(f32::MIN_POSITIVE).log10();
        self.level_db = peak_db
            .max(self.level_db - fallen)
            .clamp(FLOOR_DB, CEILING_DB);
        self.at = now;
    }

    /// How many of its steps are lit, to [`STEPS`]; none in silence.
    #[must_use]
    pub fn lit(&self) -> u8 {
        let share = (self.level_db - FLOOR_DB) / (CEILING_DB - FLOOR_DB);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a share of the steps, from 0"
        )]
        let lit = (share * f32::from(STEPS)).ceil() as u8;
        lit.min(STEPS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(meter: &mut Meter, peak: f32, seconds: f64) -> u8 {
        meter.follow(peak, Duration::from_secs_f64(seconds));
        meter.lit()
    }

    #[test]
    fn a_peak_lights_its_share_of_the_steps() {
        for (peak_db, lit) in [
            (f32::NEG_INFINITY, 0),
            (-61.0, 0),
            (-59.5, 1),
            (-33.1, 9),
            (-7.0, STEPS),
            (0.0, STEPS),
        ] {
            let peak = 10.0_f32.powf(peak_db / 20.0);
            assert_eq!(after(&mut Meter::default(), peak, 0.0), lit, "{peak_db} dB");
        }
    }

    #[test]
    fn it_rises_at_once_and_falls_20_db_in_1_7_seconds_however_often_it_is_asked() {
        for looks in [1_u8, 7, 68] {
            let mut meter = Meter::default();
            assert_eq!(after(&mut meter, 0.5, 3.0), STEPS);
            for look in 1..=looks {
                let part = f64::from(look) / f64::from(looks);
                after(&mut meter, 0.0, 3.0 + 1.7 * part);
            }
            assert!((meter.level_db + 26.0).abs() < 0.1, "{meter:?}");
        }
        let mut meter = Meter::default();
        after(&mut meter, 0.5, 3.0);
        assert_eq!(after(&mut meter, 0.0, 7.6), 0, "54 dB take 4.59 s");
    }

    #[test]
    fn a_clock_that_stands_or_goes_back_changes_nothing() {
        let mut meter = Meter::default();
        after(&mut meter, 0.1, 5.0);
        let before = meter.lit();
        assert_eq!(after(&mut meter, 0.0, 5.0), before);
        assert_eq!(after(&mut meter, 0.0, 4.0), before);
    }
}
