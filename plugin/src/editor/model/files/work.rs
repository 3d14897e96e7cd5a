//! What is done with a file: a chart is read from it, or a performance is planned and written
//! to it. A thread of `disk` runs it; `files` hands it over. Imports `disk`, `score` and `kind`.

use crate::bridge::job::Doing;
use crate::disk::file::{self, FileError};
use crate::document::Document;
use crate::editor::model::files::kind::FileKind;
use crate::editor::model::score;
use crate::engine::planned::PlannedChart;
use crate::engine::settings::{PlanFor, Settings};
use guidehand_exchange::import::{self, ImportError, Imported, Line, Wanted, Wish};
use guidehand_exchange::midi;
use guidehand_exchange::musicxml::{self, Page};
use guidehand_exchange::own_voicings::{self, OwnVoicings};
use guidehand_exchange::score::Score;
use guidehand_practice::Record;
use guidehand_theory::chart::{self, Chart, ChartError};
use guidehand_theory::melody;
use guidehand_theory::pitch::NoteNames;
use std::path::Path;
use std::sync::Arc;

/// What has come of a file.
#[derive(Debug, PartialEq)]
pub enum Outcome {
    /// A chart was read, and its melody if it has one.
    Read(Imported, Vec<Line>),
    /// Voicings were read.
    Voicings(OwnVoicings),
    /// A record of practice was read.
    Record(Record),
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
    /// The record of practice.
    pub record: Arc<Record>,
    /// What the plan depends on.
    pub plan_for: PlanFor,
    /// The values in force.
    pub settings: Settings,
    /// The tempo, in quarter notes a minute.
    pub bpm: f64,
}

/// What is read of a file.
#[derive(Clone, Debug, Default)]
pub struct Which {
    /// The part of this name.
    pub part: Option<String>,
    /// The melody of this name.
    pub line: Option<String>,
}

/// Reads the chart of a file with its melody.
pub fn read(path: &Path, which: &Which, doing: &Doing<Outcome>) -> Outcome {
    let shown = path.display();
    let bytes = match file::read(path, doing) {
        Ok(bytes) => bytes,
        Err(error) => return Outcome::Failed(format!("{shown} cannot be read: {error}.")),
    };
    match chart_and_melody(&bytes, which) {
        Ok((imported, lines)) => Outcome::Read(imported, lines),
        Err(error) => Outcome::Failed(format!("{shown} holds no chart: {error}.")),
    }
}

/// The chart of a file with its melody, and the lines that can be its melody. Where no line is named
/// and none of the file says that it is one, the chart comes alone: its notes may be chords.
fn chart_and_melody(bytes: &[u8], which: &Which) -> Result<(Imported, Vec<Line>), ImportError> {
    let wish = |melody| Wish {
        part: which.part.as_deref(),
        melody,
    };
    if let Some(line) = &which.line {
        let imported = import::read(bytes, wish(Wanted::Named(line)))?;
        let lines = imported.melody.as_ref().map(|found| found.lines.clone());
        return Ok((imported, lines.unwrap_or_default()));
    }
    let mut lines = Vec::new();
    if let Ok(imported) = import::read(bytes, wish(Wanted::Found))
        && let Some(found) = &imported.melody
    {
        let is_sure = |line: &Line| line.is_taken && line.says_so();
        lines.clone_from(&found.lines);
        if lines.iter().any(is_sure) {
            return Ok((imported, lines));
        }
        for line in &mut lines {
            line.is_taken = false;
        }
    }
    Ok((import::read(bytes, wish(Wanted::No))?, lines))
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

/// Reads the record of practice of a file.
pub fn read_record(path: &Path, doing: &Doing<Outcome>) -> Outcome {
    let shown = path.display();
    let bytes = match file::read(path, doing) {
        Ok(bytes) => bytes,
        Err(error) => return Outcome::Failed(format!("{shown} cannot be read: {error}.")),
    };
    match Record::read(&bytes) {
        Ok(record) => Outcome::Record(record),
        Err(error) => {
            let words = format!("{shown} holds no record that can be read: {error}.");
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
        Err(words) => return Outcome::Failed(words),
    };
    match file::write(path, &bytes, replaces, doing) {
        Ok(()) => Outcome::Written,
        Err(FileError::IsThere) => Outcome::IsThere,
        Err(error) => Outcome::Failed(format!("{} cannot be written: {error}.", path.display())),
    }
}

impl Performance {
    /// The bytes of the file.
    fn bytes(self) -> Result<Vec<u8>, String> {
        Ok(match self.kind {
            FileKind::Record => self.record.write().into_bytes(),
            FileKind::Voicings => own_voicings::write(self.document.own.list()).into_bytes(),
            FileKind::Midi => midi::write(&self.score()?),
            FileKind::MusicXml => musicxml::write(&self.score()?, Page::default()).into_bytes(),
        })
    }

    /// What is played once through the chart, under its melody.
    ///
    /// # Errors
    /// What is wrong with the texts, in a sentence.
    fn score(&self) -> Result<Score, String> {
        let chart = chart::parse_with(&self.document.text, self.names);
        let chart: Chart = chart.map_err(|errors| unreadable(&errors))?;
        let melody = melody::parse(&self.document.melody, &chart).map_err(|errors| {
            let first = errors.first().map(ToString::to_string).unwrap_or_default();
            format!("The melody has errors; {first}.")
        })?;
        let melody = Arc::new(melody);
        let mut song = PlannedChart::placed(&chart, self.plan_for, 0);
        let hand = self.plan_for.register.hand;
        song.pin(self.document.picks.pinned(&chart, &song.chords(), hand));
        song.take_own(self.document.own.shapes().clone());
        song.take_melody(melody, &chart);
        let song = song.planned();
        let mut score = score::score(chart, &song, &self.settings, self.bpm);
        let kept = self.document.kept(self.names);
        score.scales = kept.scale_words(&score.chart, |change| {
            let (placed, voiced) = song.voiced(change, &self.settings.taste)?;
            Some((placed, voiced.voicing))
        });
        score.kept = Some(kept);
        Ok(score)
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
    use crate::document::{ChordAt, ChordPlayed, Pass, PinNotes, ScaleName};
    use crate::engine::settings::Source;
    use guidehand_theory::pitch::MidiNote;
    use midly::{MidiMessage, Smf, TrackEvent, TrackEventKind};
    use std::num::NonZeroU16;

    fn performance(kind: FileKind, document: Document, names: NoteNames) -> Performance {
        Performance {
            kind,
            document,
            names,
            record: Arc::default(),
            plan_for: PlanFor::default(),
            settings: Settings::plain(Source::Chart),
            bpm: 120.0,
        }
    }

    /// A chord of a chart, by the change that plays it.
    fn at(text: &str, change: usize) -> ChordAt {
        let chart = chart::parse(text).unwrap();
        ChordPlayed::of(&chart)[change].unwrap().at()
    }

    fn only(pass: u16) -> Pass {
        Pass::Only(NonZeroU16::new(pass).unwrap())
    }

    fn notes(keys: &[i32]) -> PinNotes {
        PinNotes::new(keys.iter().map(|key| MidiNote::clamp(*key))).unwrap()
    }

    /// A repeat whose second chord is pinned the second time, as a file.
    fn file(kind: FileKind, is_pinned: bool) -> Vec<u8> {
        let text = "|: Dm7 | G7 :|";
        let mut document = Document::from(text);
        if is_pinned {
            let notes = notes(&[41, 45, 47, 52]);
            document = document.with(document.picks.pin(at(text, 1), only(2), notes));
        }
        performance(kind, document, NoteNames::English)
            .bytes()
            .unwrap()
    }

    /// A chart as it was typed, with pins and a scale, goes out as a page and comes in again: the
    /// same document, which plays the same.
    #[test]
    fn what_was_picked_comes_back_from_a_page() {
        let text = "|:D-7   | G7 C7(b9,b13) :|  [A] % | A7(no5) |";
        let document = Document::from(text);
        let altered = ScaleName {
            name: "altered".to_owned(),
            above: 0,
        };
        let picks = document
            .picks
            .pin(at(text, 0), Pass::Every, notes(&[53, 57, 60, 64]))
            .pin(at(text, 1), only(2), notes(&[41, 45, 47, 52]))
            .pin(at(text, 2), only(1), notes(&[52, 58, 61]))
            .choose(at(text, 1), Some(altered));
        let document = document.with(picks);
        let bytes = |kind, document: &Document| {
            let performance = performance(kind, document.clone(), NoteNames::English);
            performance.bytes().unwrap()
        };
        let page = bytes(FileKind::MusicXml, &document);
        let xml = String::from_utf8(page.clone()).unwrap();
        assert!(xml.contains("<words>G altered</words>"), "{xml}");
        let imported = import::import(&page).unwrap();
        assert_eq!(imported.missed, []);
        assert_eq!(imported.text, text);
        let kept = imported.kept.unwrap();
        let again = Document::from("| F6 |").with_kept(&kept.chart, &kept);
        assert_eq!(again, document);
        for kind in [FileKind::Midi, FileKind::MusicXml] {
            assert_eq!(bytes(kind, &again), bytes(kind, &document), "{kind:?}");
        }
    }

    #[test]
    fn a_german_chart_comes_back_in_german() {
        let document = Document::from("| H-7 | B7 b9 |");
        let german = performance(FileKind::MusicXml, document, NoteNames::German);
        let imported = import::import(&german.bytes().unwrap()).unwrap();
        assert_eq!(imported.text, "| Bm7 | Bb7(b9) |");
        let kept = imported.kept.unwrap();
        assert_eq!(
            (&*kept.chart, kept.names),
            ("| H-7 | B7 b9 |", NoteNames::German)
        );
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
