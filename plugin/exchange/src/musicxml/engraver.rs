//! What the bars and notes of a part are written with. `measure` and `note` write them.
//! Imports `part`, `xml`, `score` and `sheet`; `measure`, `note` and `write` import it.

use super::part::Part;
use super::xml::Out;
use crate::score::Score;
use crate::sheet::SheetBar;

/// Writes the bars of a part.
pub struct Engraver<'a> {
    /// Where the elements go.
    pub out: &'a mut Out,
    /// The score.
    pub score: &'a Score,
    /// The page.
    pub bars: &'a [SheetBar],
    /// The part.
    pub part: &'a Part<'a>,
    /// The words on the page, by their ticks.
    pub words: &'a [(u32, &'a str)],
    /// Parts of a quarter note in the part's durations.
    pub divisions: u64,
    /// The bar from which the lines of the page are counted.
    pub lines_from: usize,
    /// The ending whose bracket is open.
    pub ending: Option<u8>,
    /// How the lengths of two eighths are to each other, if they swing.
    pub swing: Option<(u32, u32)>,
}
