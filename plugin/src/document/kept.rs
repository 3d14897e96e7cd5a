//! The document as files keep it. Any thread but the audio thread. Imports `saved`, `picks`, `value`
//! and the exchange of files; nothing imports it, for its functions are those of the document.

use super::picks::Picks;
use super::saved;
use super::value::Document;
use guidehand_exchange::kept::Kept;
use guidehand_theory::pitch::NoteNames;
use std::sync::Arc;

impl Document {
    /// Its text, with the notes named so, and what was picked for its chords.
    #[must_use]
    pub fn kept(&self, names: NoteNames) -> Kept {
        Kept {
            chart: self.text.as_ref().to_owned(),
            names,
            pins: self.picks.pins().iter().map(saved::kept_pin).collect(),
            scales: self.picks.scales().iter().map(saved::kept_scale).collect(),
        }
    }

    /// The document with another text, and with what a file keeps for its chords in the place of
    /// what was picked.
    #[must_use]
    pub fn with_kept(&self, text: &str, kept: &Kept) -> Document {
        let pins = kept.pins.iter().cloned().filter_map(saved::pin);
        let scales = kept.scales.iter().cloned().filter_map(saved::scale);
        let mut document = self.clone();
        document.text = text.into();
        document.picks = Arc::new(Picks::new(pins.collect(), scales.collect()));
        document
    }
}
