//! What is done with a file: a chart is read from it, or a performance is planned and written
//! to it. A thread of `disk` runs it; `files` hands it over. Imports `disk`, `score` and `kind`.

use crate::bridge::job::Doing;
use crate::disk::file::{self, FileError};
use crate::document::Document;
use crate::editor::model::files::kind::FileKind;
use crate::editor::model::score;
use crate::engine::planned::PlannedChart;
use crate::engine::settings::{PlanFor, Settings};
use guidehand_exchange::import::{self, Imported};
use guidehand_exchange::midi;
use guidehand_exchange::musicxml::{self, Page};
use guidehand_exchange::own_voicings::{self, OwnVoicings};
use guidehand_exchange::score::Score;
use guidehand_theory::chart::{self, Chart, ChartError};
use guidehand_theory::pitch::NoteNames;
use std::path::Path;

/// What has come of a file.
#[derive(Debug, PartialEq)]
pub enum Outcome {
    /// A chart was read.
    Read(Imported),
    /// Voicings were read.
    Voicings(OwnVoicings),
    /// The performance is written.
    Written,
    /// There is a file already, and it was not to be replaced.
    IsThere,
    /// Nothing; this is why, in one sentence.
    Failed(String),
}

/// What is written, as it was when the player asked for it.
pub struct Performance {
    /// What kind of file it becomes.
    pub kind: FileKind,
    /// The chart's text, with what was picked for its chords.
    pub document: Document,
    /// How its notes are named.
    pub names: NoteNames,
    /// What the plan depends on.
    pub plan_for: PlanFor,
    /// The values in force.
    pub settings: Settings,
    /// The tempo, in quarter notes a minute.
    pub bpm: f64,
}

/// Reads the chart of a file, from the part of this name if one is given.
pub fn read(path: &Path, part: Option<&str>, doing: &Doing<Outcome>) -> Outcome {
    let shown = path.display();
    let bytes = match file::read(path, doing) {
        Ok(bytes) => bytes,
        Err(error) => return Outcome::Failed(format!("{shown} cannot be read: {error}.")),
    };
    match import::part(&bytes, part) {
        Ok(imported) => Outcome::Read(imported),
        Err(error) => Outcome::Failed(format!("{shown} holds no chart: {error}.")),
    }
}

/// Reads the voicings of a file.
pub fn read_voicings(path: &Path, doing: &Doing<Outcome>) -> Outcome {
    let shown = path.display();
    let bytes = match file::read(path, doing) {
        Ok(bytes) => bytes,
        Err(error) => return Outcome::Failed(format!("{shown} cannot be read: {error}.")),
    };
    match own_voicings::read(&bytes) {
        Ok(voicings) => Outcome::Voicings(voicings),
        Err(error) => {
            let words = format!("{shown} holds no voicings that can be read: {error}.");
            Outcome::Failed(words)
        }
    }
}

/// Writes a performance to a file, which replaces one that is there if `replaces`.
pub fn write(
    performance: Performance,
    path: &Path,
    replaces: bool,
    doing: &Doing<Outcome>,
) -> Outcome {
    let bytes = match performance.bytes() {
        Ok(bytes) => bytes,
        Err(errors) => return Outcome::Failed(unreadable(&errors)),
    };
    match file::write(path, &bytes, replaces, doing) {
        Ok(()) => Outcome::Written,
        Err(FileError::IsThere) => Outcome::IsThere,
        Err(error) => Outcome::Failed(format!("{} cannot be written: {error}.", path.display())),
    }
}

impl Performance {
    /// The bytes of the file.
    fn bytes(self) -> Result<Vec<u8>, Vec<ChartError>> {
        Ok(match self.kind {
            FileKind::Voicings => own_voicings::write(self.document.own.list()).into_bytes(),
            FileKind::Midi => midi::write(&self.score()?),
            FileKind::MusicXml => {
                let page = Page {
                    words: true,
                    ..Page::default()
                };
                musicxml::write(&self.score()?, page).into_bytes()
            }
        })
    }

    /// What is played once through the chart.
    fn score(&self) -> Result<Score, Vec<ChartError>> {
        let chart: Chart = chart::parse_with(&self.document.text, self.names)?;
        let mut song = PlannedChart::placed(&chart, self.plan_for, 0);
        let hand = self.plan_for.register.hand;
        song.pin(self.document.picks.pinned(&chart, &song.chords(), hand));
        song.take_own(self.document.own.shapes().clone());
        Ok(score::score(
            chart,
            &song.planned(),
            &self.settings,
            self.bpm,
        ))
    }
}

/// That a chart has errors, with the first of them.
#[must_use]
pub fn unreadable(errors: &[ChartError]) -> String {
    let first = errors.first().map(ToString::to_string).unwrap_or_default();
    format!("The chart has errors; {first}.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::{ChordAt, ChordPlayed, Pass, PinNotes};
    use crate::engine::settings::Source;
    use guidehand_theory::pitch::MidiNote;
    use midly::{MidiMessage, Smf, TrackEvent, TrackEventKind};
    use std::num::NonZeroU16;

    /// A repeat whose second chord is pinned the second time, as a file.
    fn file(kind: FileKind, is_pinned: bool) -> Vec<u8> {
        let text = "|: Dm7 | G7 :|";
        let mut document = Document::from(text);
        if is_pinned {
            let chart = chart::parse(text).unwrap();
            let at: ChordAt = ChordPlayed::of(&chart)[1].unwrap().at();
            let second = Pass::Only(NonZeroU16::new(2).unwrap());
            let notes = PinNotes::new([41, 45, 47, 52].map(MidiNote::clamp)).unwrap();
            document = document.with(document.picks.pin(at, second, notes));
        }
        let performance = Performance {
            kind,
            document,
            names: NoteNames::English,
            plan_for: PlanFor::default(),
            settings: Settings::plain(Source::Chart),
            bpm: 120.0,
        };
        performance.bytes().unwrap()
    }

    /// How often a key is struck in a file of MIDI, on any channel.
    fn struck(midi: &[u8], key: u8) -> usize {
        let file = Smf::parse(midi).unwrap();
        let strikes = |event: &&TrackEvent| {
            matches!(event.kind, TrackEventKind::Midi {
                message: MidiMessage::NoteOn { key: struck, vel },
                ..
            } if struck == key && vel > 0)
        };
        file.tracks.iter().flatten().filter(strikes).count()
    }

    #[test]
    fn files_hold_what_is_pinned() {
        let [free, pinned] = [false, true].map(|is_pinned| file(FileKind::Midi, is_pinned));
        for key in [41, 45] {
            // They lie far below the register.
            assert_eq!((struck(&free, key), struck(&pinned, key)), (0, 1), "{key}");
        }
        let [free, pinned] = [false, true].map(|is_pinned| {
            let xml = String::from_utf8(file(FileKind::MusicXml, is_pinned)).unwrap();
            xml.split_whitespace().collect::<String>()
        });
        let low_a = "<step>A</step><octave>2</octave>";
        assert_eq!(free.matches(low_a).count(), 0);
        assert_eq!(pinned.matches(low_a).count(), 1);
        // The bars sound otherwise each time, so they are written out.
        let repeat = "direction=\"backward\"";
        assert!(free.contains(repeat), "{free}");
        assert!(!pinned.contains(repeat), "{pinned}");
    }
}
