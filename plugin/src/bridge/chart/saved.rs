//! The chart as it is saved: plain values that are written as JSON. Any thread but the audio
//! thread; `inner`, `cell` and `params` import it.

use crate::document::{self, Document, MyVoicings, SavedPicks, Unknown};
use guidehand_theory::pitch::NoteNames;
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::Value;
use std::sync::Arc;

/// The longest text that is taken from a saved field or from the panel, in bytes. A chart
/// that can be read is far shorter.
pub const LONGEST_TEXT: usize = 1024 * 1024;

/// The chart as it is saved.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SavedChart {
    /// The text as typed, with its errors.
    pub text: String,
    /// The text in force, if the text as typed cannot be read. It goes on sounding.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sounding: Option<String>,
    /// The text as it was before another harmony was kept, if one was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub original: Option<String>,
    /// The melody over it as typed, with its errors; empty without one.
    #[serde(
        default,
        skip_serializing_if = "String::is_empty",
        deserialize_with = "or_none"
    )]
    pub melody: String,
    /// The melody in force, if it is another one than that as typed. It goes on counting.
    #[serde(
        default,
        skip_serializing_if = "Option::is_none",
        deserialize_with = "or_none"
    )]
    pub sounding_melody: Option<String>,
    /// The melody over the original, if it has one.
    #[serde(
        default,
        skip_serializing_if = "Option::is_none",
        deserialize_with = "or_none"
    )]
    pub original_melody: Option<String>,
    /// The language of its note names, if it is not English.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub names: Option<String>,
    /// What was picked for the chords of the text.
    #[serde(default, skip_serializing_if = "SavedPicks::is_empty", flatten)]
    pub picks: SavedPicks,
    /// The same for the text in force, if that is another one.
    #[serde(
        default,
        skip_serializing_if = "SavedPicks::is_empty",
        deserialize_with = "document::readable"
    )]
    pub sounding_picks: SavedPicks,
    /// The same for the original.
    #[serde(
        default,
        skip_serializing_if = "SavedPicks::is_empty",
        deserialize_with = "document::readable"
    )]
    pub original_picks: SavedPicks,
    /// The player's own voicings, with the version of their form.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub own_voicings: Option<Value>,
    /// What a later version has saved with it.
    #[serde(flatten)]
    pub later: Unknown,
}

/// A melody, or none where it is no text.
fn or_none<'de, D, T>(from: D) -> Result<T, D::Error>
where
    D: Deserializer<'de>,
    T: for<'a> Deserialize<'a> + Default,
{
    let value = Value::deserialize(from)?;
    Ok(T::deserialize(value).unwrap_or_default())
}

/// How German note names are saved.
const GERMAN: &str = "german";

/// The language of note names that a chart was saved with. It is English where this version
/// does not know the language.
pub fn note_names(saved: Option<&str>) -> NoteNames {
    match saved {
        Some(GERMAN) => NoteNames::German,
        _ => NoteNames::English,
    }
}

/// How a language of note names is saved.
pub fn saved_names(names: NoteNames) -> Option<String> {
    (names == NoteNames::German).then(|| GERMAN.to_owned())
}

impl SavedChart {
    /// A chart as it is saved. `sounding` is the document in force where the text has errors.
    #[must_use]
    pub fn new(
        document: &Document,
        sounding: Option<&Document>,
        original: Option<&Document>,
    ) -> SavedChart {
        let text = |document: &Document| document.text.as_ref().to_owned();
        let picks = |document: &Document| SavedPicks::of(&document.picks);
        let melody = |document: &Document| document.melody.as_ref().to_owned();
        SavedChart {
            text: text(document),
            sounding: sounding.map(text),
            original: original.map(text),
            melody: melody(document),
            sounding_melody: None,
            original_melody: original.map(melody).filter(|melody| !melody.is_empty()),
            names: None,
            picks: picks(document),
            sounding_picks: sounding.map(picks).unwrap_or_default(),
            original_picks: original.map(picks).unwrap_or_default(),
            own_voicings: document.own.saved(),
            later: Unknown::default(),
        }
    }

    /// The player's own voicings.
    pub fn take_own(&mut self) -> Arc<MyVoicings> {
        Arc::new(MyVoicings::loaded(self.own_voicings.take()))
    }

    /// Whether each of its texts is at most as long as a saved text may be.
    #[must_use]
    pub fn is_bounded(&self) -> bool {
        let more = [
            &self.sounding,
            &self.original,
            &self.names,
            &self.sounding_melody,
            &self.original_melody,
        ];
        let more = more.into_iter().flatten();
        more.chain([&self.text, &self.melody])
            .all(|text| text.len() <= LONGEST_TEXT)
    }
}
