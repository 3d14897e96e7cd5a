//! The prices of block chords, in integers, so that every platform agrees. Imports nothing; the
//! folder of `under` imports it.

/// The price of each rule. A semitone of motion costs four: blocks move with their melody,
/// so that what they are counts for more than how far they move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weights {
    /// For each semitone that a voice below the melody moves.
    pub motion: u32,
    /// For the second choice of tensions. The third adds twice as much, the fourth three times as
    /// much.
    pub rank: u32,
    /// For each step from the degree that a slot takes first.
    pub option: u32,
    /// For each chord tone that finds no place, because it would lie a half step under the melody.
    pub without: u32,
    /// For a voice a half step above the doubled melody.
    pub under_its_neighbour: u32,
    /// For a #9 that lies a half step below the third.
    pub sharp_nine_inside: u32,
    /// For other tensions than before over the same chord, in a single step.
    pub redress: u32,
    /// For a melody note that is another tension than its dressing has.
    pub against_dressing: u32,
    /// For each voice that is left out because it would lie too low.
    pub left_out: u32,
    /// For another style than was asked for.
    pub other_style: u32,
}

impl Weights {
    /// The weights that ship.
    pub const DEFAULT: Weights = Weights {
        motion: 4,
        rank: 60,
        option: 25,
        without: 60,
        under_its_neighbour: 40,
        sharp_nine_inside: 15,
        redress: 100,
        against_dressing: 400,
        left_out: 60,
        other_style: 30,
    };
}

impl Default for Weights {
    fn default() -> Weights {
        Weights::DEFAULT
    }
}
