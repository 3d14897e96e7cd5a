//! What a player does to the chart. The panel's thread; all of the editor may import
//! it. It imports `transpose` and the theory.

use crate::editor::model::transpose::Direction;
use guidehand_theory::pitch::NoteNames;
use std::ops::Range;

/// What a player asks for at the chart.
#[derive(Clone, Debug, PartialEq)]
pub enum ChartAction {
    /// The text is edited by hand.
    Type {
        /// The whole text as it stands now.
        text: String,
        /// Where its cursor stands, or what is selected, in bytes.
        cursor: Range<usize>,
        /// When, in seconds of the window.
        now_seconds: f64,
    },
    /// The cursor goes elsewhere, or something else is selected, in bytes.
    Select(Range<usize>),
    /// The cursor is led to a place, in bytes.
    GoTo(usize),
    /// Takes back the last step of editing.
    Undo,
    /// Brings back what was taken back last.
    Redo,
    /// Moves every chord by a half step.
    Transpose(Direction),
    /// The notes of the text have their names in another language.
    Names(NoteNames),
    /// A whole other chart, in the language of the text.
    Put(String),
}
