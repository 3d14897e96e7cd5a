//! Time signatures, and the grid of ticks that charts are counted on. Imports `limits`.

use super::limits::MOST_BARS;
use std::fmt;

/// Ticks in a quarter note. Every division of a beat that charts can hold is a whole number of
/// ticks, or is rounded down to one.
pub const TICKS_PER_QUARTER: u32 = 960;

// The ticks of the longest possible chart fit into a `u32`.
const _: () = {
    let longest = Meter { beats: 16, unit: 2 };
    assert!(longest.bar_ticks() as u64 * MOST_BARS as u64 <= u32::MAX as u64);
};

/// A time signature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meter {
    /// Beats in a bar, 1 to 16.
    pub beats: u8,
    /// The note value of a beat: 2, 4, 8 or 16.
    pub unit: u8,
}

impl Meter {
    /// 4/4
    pub const COMMON: Meter = Meter { beats: 4, unit: 4 };

    /// A time signature, if the numbers are in range.
    #[must_use]
    pub const fn new(beats: u8, unit: u8) -> Option<Meter> {
        if beats >= 1 && beats <= 16 && matches!(unit, 2 | 4 | 8 | 16) {
            Some(Meter { beats, unit })
        } else {
            None
        }
    }

    /// Ticks in a beat.
    #[must_use]
    pub const fn beat_ticks(self) -> u32 {
        TICKS_PER_QUARTER * 4 / self.unit as u32
    }

    /// Ticks in a bar.
    #[must_use]
    pub const fn bar_ticks(self) -> u32 {
        self.beat_ticks() * self.beats as u32
    }
}

impl fmt::Display for Meter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.beats, self.unit)
    }
}
