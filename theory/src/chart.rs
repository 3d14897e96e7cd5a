//! Charts: from text to bars of chords, in the order in which they are played. Imports `chord`
//! and `symbol`.
//!
//! `words` cuts the text into words, with `signs` for the signs of the road. `read` makes bars
//! as written and the signs between them. `unfold` puts them into the order of playing, with
//! `roads` for D.C. and D.S. `play` gives each bar its ticks and its changes. `division` says
//! how chords share a bar, and `marks` holds the signs around bars.

mod bars;
mod division;
mod error;
mod limits;
mod marks;
mod meter;
mod parse;
mod passes;
mod play;
mod read;
mod reading;
mod rewrite;
mod roads;
mod signs;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_of_roads;
mod unfold;
mod words;

pub use bars::{Bar, Change, Chart, Recall, Share, Written};
pub use error::{ChartError, ChartProblem};
pub use limits::{
    LONGEST_TEXT, MOST_BARS, MOST_CHANGES, MOST_ENDINGS, MOST_JUMPS, MOST_SHARES, MOST_TIMES,
};
pub use marks::{Jump, Road, Roads, Section, SectionName, Start, Until};
pub use meter::{Meter, TICKS_PER_QUARTER};
pub use parse::{WordKind, chords, cut, is_silence, parse, parse_with, road, title_line, written};
pub use passes::ChordPass;
pub use rewrite::{renamed, rewrite};
