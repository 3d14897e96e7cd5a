//! The document as one value. Any thread but the audio thread. Imports `own`, `picks`, `place` and
//! the theory; the folder of `document` imports it.

use super::own::MyVoicings;
use super::picks::Picks;
use super::place::{ChordAt, symbol};
use guidehand_theory::chart;
use guidehand_theory::pitch::NoteNames;
use std::sync::Arc;

/// What a player has written and decided. A copy is cheap: what is large in it is shared.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Document {
    /// The text of the chart, as typed.
    pub text: Arc<str>,
    /// What was picked for single chords of the text.
    pub picks: Arc<Picks>,
    /// The melody over the chart as it is played, as typed; empty without one.
    pub melody: Arc<str>,
    /// The player's own voicings.
    pub own: Arc<MyVoicings>,
}

impl Document {
    /// Whether both play the same: the same text with the same pins and the same melody, and the same
    /// own shapes. Scales and names are only shown.
    #[must_use]
    pub fn plays_as(&self, other: &Document) -> bool {
        self.text == other.text
            && self.picks.pins() == other.picks.pins()
            && self.melody == other.melody
            && self.own.shapes() == other.own.shapes()
    }

    /// The same text with other picks.
    #[must_use]
    pub fn with(&self, picks: Picks) -> Document {
        Document {
            picks: Arc::new(picks),
            ..self.clone()
        }
    }

    /// The same with another melody.
    #[must_use]
    pub fn with_melody(&self, melody: impl Into<Arc<str>>) -> Document {
        Document {
            melody: melody.into(),
            ..self.clone()
        }
    }

    /// The same with other own voicings.
    #[must_use]
    pub fn with_own(&self, own: Arc<MyVoicings>) -> Document {
        Document {
            own,
            ..self.clone()
        }
    }

    /// Whether this chord stands in its place in the text.
    #[must_use]
    pub fn has(&self, at: &ChordAt, names: NoteNames) -> bool {
        let chord = chart::chords(&self.text, names).into_iter().nth(at.index);
        chord.is_some_and(|(_, chord)| chord.is_some_and(|chord| symbol(&chord) == at.symbol))
    }

    /// About how much memory its texts and its picks take, in bytes.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.text.len() + self.melody.len() + self.picks.bytes()
    }
}

/// A text by itself, for whose chords nothing was picked.
impl From<&str> for Document {
    fn from(text: &str) -> Document {
        Document {
            text: text.into(),
            ..Document::default()
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
