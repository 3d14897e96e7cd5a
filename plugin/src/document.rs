//! The document: what a player writes and decides, as one value. It holds the text of the chart,
//! what was picked for single chords in it, pinned voicings and chosen scales, the melody over it, and
//! the player's own voicings. Its places in the text are resolved here and nowhere else. Any thread but the audio
//! thread. It imports the theory and the exchange of files; `bridge`, `params` and `editor` import it.

mod follow;
mod kept;
mod own;
mod pick;
mod picks;
mod place;
mod remark;
mod saved;
#[cfg(test)]
mod tests;
mod value;

pub use follow::Followed;
pub use own::{JoinError, Joined, MOST_OWN_BYTES, MyVoicings, VoicingName};
pub use pick::{Pass, PinNotes, ScaleName, Unknown};
pub use picks::{MOST_PICKS, Picks};
pub use place::{ChordAt, ChordPlayed, symbol};
pub use remark::Dropped;
pub use saved::{SavedPicks, readable};
pub use value::Document;
