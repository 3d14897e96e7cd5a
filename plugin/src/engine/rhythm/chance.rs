//! Chance: numbers that depend on the seed, the bar and the eighth, and on nothing else. Imports
//! `bar`, `groove`, `clock` and `ticks`.

use super::bar::PlayedBar;
use super::groove::Groove;
use crate::engine::clock;
use crate::engine::ticks::EIGHTH_TICKS;
use fastrand::Rng;

/// Odd numbers with well-spread bits, so that neighbouring places do not get similar numbers.
const SEED: u64 = 0x9E37_79B9_7F4A_7C15;
const BAR: u64 = 0xD1B5_4A32_D192_ED03;
const EIGHTH: u64 = 0x8CB9_2BA7_2F3D_8DD7;
/// What varies draws other numbers than density and touch.
const VARIATION: u64 = 0xA076_1D64_78BD_642F;

/// Three random numbers for a place.
pub(super) struct Chance {
    /// 0 to 1.
    pub(super) density: f64,
    /// -1 to 1.
    pub(super) time: f64,
    /// -1 to 1.
    pub(super) velocity: f64,
}

/// The numbers for density and touch at a position of the performance.
pub(super) fn chance(groove: &Groove, bar: &PlayedBar, at_ticks: f64) -> Chance {
    if groove.density == 0.0 && groove.touch_seconds == 0.0 && groove.touch_velocity == 0.0 {
        return Chance {
            density: 1.0,
            time: 0.0,
            velocity: 0.0,
        };
    }
    let mut rng = Rng::with_seed(at(groove, bar, at_ticks));
    Chance {
        density: rng.f64(),
        time: 2.0 * rng.f64() - 1.0,
        velocity: 2.0 * rng.f64() - 1.0,
    }
}

/// The numbers for what varies from bar to bar.
pub(super) fn of_bar(groove: &Groove, bar: &PlayedBar) -> Rng {
    Rng::with_seed(in_bar(groove, bar) ^ VARIATION)
}

/// The numbers for what varies from strike to strike, at a position of the performance.
pub(super) fn of_strike(groove: &Groove, bar: &PlayedBar, at_ticks: f64) -> Rng {
    Rng::with_seed(at(groove, bar, at_ticks).wrapping_mul(VARIATION))
}

fn in_bar(groove: &Groove, bar: &PlayedBar) -> u64 {
    u64::from(groove.seed).wrapping_mul(SEED) ^ bar.number.cast_unsigned().wrapping_mul(BAR)
}

fn at(groove: &Groove, bar: &PlayedBar, at_ticks: f64) -> u64 {
    let eighth = ((at_ticks - bar.start_ticks) / EIGHTH_TICKS).floor();
    let eighth = clock::whole(eighth).map_or(0, u64::from);
    in_bar(groove, bar) ^ eighth.wrapping_mul(EIGHTH)
}
