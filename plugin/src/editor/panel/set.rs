//! How the stage is set, and how large everything on it is. The panel's thread; the regions of the
//! stage import it. Imports nothing of the crate.

use egui::{Vec2, vec2};

/// How the stage is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Set {
    /// Beside each other, with reasons, handles and the lines between chords.
    Wide,
    /// Under each other, with nothing else; everything is this much larger than at the smallest
    /// size.
    Tight {
        /// A factor of lengths.
        unit: f32,
        /// In large print.
        large: bool,
    },
}

impl Set {
    /// The set of a small view, or of large print, in so much room.
    #[must_use]
    pub fn tight(room: Vec2, large: bool) -> Set {
        let smallest = Heights::of(large).smallest();
        let unit = (room / smallest).min_elem().clamp(1.0, MOST);
        Set::Tight { unit, large }
    }

    /// A length that grows with the stage, in points.
    #[must_use]
    pub const fn points(self, wide: f32, plain: f32, large: f32) -> f32 {
        match self {
            Set::Wide => wide,
            Set::Tight { unit, large: false } => plain * unit,
            Set::Tight { unit, large: true } => large * unit,
        }
    }

    /// Whether there is room for the chord, its keys, its tensions and its scale alone.
    #[must_use]
    pub const fn is_tight(self) -> bool {
        matches!(self, Set::Tight { .. })
    }

    /// How large controls are, as a factor of their plain size.
    #[must_use]
    pub const fn print(self) -> f32 {
        self.points(1.0, 1.0, LARGE_PRINT)
    }
}

/// How much larger than plain print the large one is.
const LARGE_PRINT: f32 = 1.3;
/// The most that a stage grows.
const MOST: f32 = 4.0;

/// The least heights of the regions of a tight stage, in points, and the gap between them.
#[derive(Clone, Copy, Debug)]
pub struct Heights {
    /// The least width of the stage.
    width: f32,
    /// Of the chord in force.
    pub now: f32,
    /// Of its keys.
    pub keyboard: f32,
    /// Of its tensions.
    pub tensions: f32,
    /// Of its scale.
    pub scale: f32,
    /// Between two of them.
    pub gap: f32,
}

const PLAIN: Heights = Heights {
    width: 456.0,
    now: 68.0,
    keyboard: 70.0,
    tensions: 25.0,
    scale: 65.0,
    gap: 5.0,
};
const LARGE: Heights = Heights {
    width: 536.0,
    now: 80.0,
    keyboard: 80.0,
    tensions: 33.0,
    scale: 84.0,
    gap: 5.0,
};

impl Heights {
    /// The heights in plain print, or in large print.
    #[must_use]
    pub const fn of(large: bool) -> Heights {
        if large { LARGE } else { PLAIN }
    }

    /// The smallest size of a stage.
    #[must_use]
    pub fn smallest(&self) -> Vec2 {
        let rows = self.now + self.keyboard + self.tensions + self.scale;
        vec2(self.width, rows + 3.0 * self.gap)
    }
}
