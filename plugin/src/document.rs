//! The document: what a player writes and decides, as one value. It holds the text of the chart,
//! and what was picked for single chords in it: pinned voicings and chosen scales. Its places in
//! the text are resolved here and nowhere else. Any thread but the audio thread. It imports the
//! theory; `bridge`, `params` and `editor` import it.

mod follow;
mod pick;
mod picks;
mod place;
mod remark;
mod saved;
#[cfg(test)]
mod tests;

pub use pick::{Pass, PinNotes, ScaleName, Unknown};
pub use picks::{MOST_PICKS, Picks};
pub use place::{ChordAt, ChordPlayed};
pub use remark::Dropped;
pub use saved::{SavedPicks, readable};

use std::sync::Arc;

/// What a player has written and decided. A copy is cheap: what is large in it is shared.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Document {
    /// The text of the chart, as typed.
    pub text: Arc<str>,
    /// What was picked for single chords of the text.
    pub picks: Arc<Picks>,
}

impl Document {
    /// Whether both play the same: the same text with the same pins. Scales are only shown.
    #[must_use]
    pub fn plays_as(&self, other: &Document) -> bool {
        self.text == other.text && self.picks.pins() == other.picks.pins()
    }

    /// The same text with other picks.
    #[must_use]
    pub fn with(&self, picks: Picks) -> Document {
        Document {
            text: self.text.clone(),
            picks: Arc::new(picks),
        }
    }

    /// About how much memory it takes, in bytes.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.text.len() + self.picks.bytes()
    }
}

/// A text by itself, for whose chords nothing was picked.
impl From<&str> for Document {
    fn from(text: &str) -> Document {
        Document {
            text: text.into(),
            picks: Arc::default(),
        }
    }
}

impl From<&String> for Document {
    fn from(text: &String) -> Document {
        text.as_str().into()
    }
}

impl From<&Document> for Document {
    fn from(document: &Document) -> Document {
        document.clone()
    }
}
