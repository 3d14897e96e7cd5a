//! The chart under edit: the document, what its text reads as, what can be undone, and what is
//! selected. Only `apply` and the upkeep before a frame change it. The panel runs it; all of
//! the editor may import it. Imports `history`, `transpose` and `chart_reading`.

mod steps;

use crate::bridge::chart::ReadChart;
use crate::document::{ChordAt, Document, Dropped, MyVoicings, Pass, PinNotes, ScaleName};
use crate::editor::model::chart_edit::Edit;
use crate::editor::model::chart_reading::{Playing, Reading};
use crate::editor::model::history::History;
use crate::editor::model::outside::Outside;
use crate::editor::model::transpose::Direction;
use crate::engine::snapshot::Snapshot;
use guidehand_theory::chart::Chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::pitch::NoteNames;
use std::ops::Range;
use std::sync::Arc;

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
        /// The edit ends with a line break or a paste; otherwise the player may go on typing.
        finished: bool,
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
    /// The same, with voicings that are pinned to chords of it.
    Write(String, Vec<(ChordAt, PinNotes)>),
    /// A voicing is pinned to a chord.
    Pin {
        /// The chord.
        at: ChordAt,
        /// Every time that it is played, or one time only.
        pass: Pass,
        /// The notes.
        notes: PinNotes,
    },
    /// A chord is voiced by the plan again.
    Unpin {
        /// The chord.
        at: ChordAt,
        /// Every time that it is played, or one time only.
        pass: Pass,
    },
    /// A scale is chosen for a chord, or the one that was chosen is not any more.
    ChooseScale {
        /// The chord.
        at: ChordAt,
        /// The scale.
        scale: Option<ScaleName>,
    },
    /// The text of the melody is edited by hand.
    Melody {
        /// The whole text as it stands now.
        text: String,
        /// When, in seconds of the window.
        now_seconds: f64,
        /// The edit ends with a line break or a paste; otherwise the player may go on typing.
        finished: bool,
    },
    /// The player's own voicings are these.
    Own(Arc<MyVoicings>),
}

/// The chart under edit.
pub struct ChartText {
    /// The text in the hands of the user, with what was picked for its chords.
    document: Document,
    /// The last one that was no half-typed one. What is typed since follows from it as a whole,
    /// so that picks outlast the letters of another symbol.
    settled: Document,
    /// The last one that did not come of typing. What has been typed away of its picks comes back
    /// where it is typed again.
    begun: Document,
    /// What the text loses as it stands, if it is not typed further.
    losing: Vec<Dropped>,
    /// What the last edit has dropped.
    dropped: Vec<Dropped>,
    /// The number that the plugin gave it; a later text has a higher one.
    edition: u64,
    /// The newest text that has been read.
    reading: Reading,
    /// The newest one whose chart has played.
    played: Option<Reading>,
    /// The place that sounds while that one plays on.
    playing_before: Option<Playing>,
    /// The newest one that has been planned. It is another one as long as the plan of
    /// `reading` is under way.
    planned: Option<Reading>,
    history: History,
    /// Transpositions that lead back to the very text before.
    moved: Vec<Moved>,
    /// Where the text's cursor is led to.
    cursor_target: CursorTarget,
    /// What is selected, in bytes; the toolkit forgets it with the focus.
    selected: Option<Range<usize>>,
    /// A part of the text that other regions speak of, in bytes.
    marked: Option<Range<usize>>,
}

/// The chord of the chart that is on show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OnShow {
    /// Which one it is.
    pub at: ChordAt,
    /// The scale that is chosen for it.
    pub scale: Option<ScaleName>,
}

/// A place that the text's cursor is led to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CursorTarget {
    /// Where it is, in bytes.
    pub at: usize,
    /// How often the cursor has been led so far.
    pub count: u64,
}

/// What a text waits for before it plays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WaitsFor {
    /// For the end of typing: a pause, or the Enter key.
    Rest,
    /// For the next bar line of the chart that plays.
    BarLine,
}

/// A transposition that can be taken back.
struct Moved {
    before: Document,
    after: Document,
    direction: Direction,
}

/// More transpositions than an octave there and back are not remembered.
const MOST_MOVED: usize = 24;

impl ChartText {
    /// The chart that the plugin holds.
    #[must_use]
    pub fn new(latest: Arc<ReadChart>) -> Self {
        let reading = Reading::new(latest);
        ChartText {
            document: reading.document(),
            settled: reading.document(),
            begun: reading.document(),
            losing: Vec::new(),
            dropped: Vec::new(),
            edition: reading.edition,
            planned: reading.planned().is_some().then(|| reading.clone()),
            reading,
            played: None,
            playing_before: None,
            history: History::default(),
            moved: Vec::new(),
            cursor_target: CursorTarget::default(),
            selected: None,
            marked: None,
        }
    }

    /// The text in the hands of the user.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.document.text
    }

    /// That text with what was picked for its chords.
    #[must_use]
    pub const fn document(&self) -> &Document {
        &self.document
    }

    /// What the last edit has dropped of what was picked, because its chord has changed or is
    /// gone. Empty after the next edit.
    #[must_use]
    pub fn dropped(&self) -> &[Dropped] {
        &self.dropped
    }

    /// The newest text that has been read, and what it reads as.
    #[must_use]
    pub const fn reading(&self) -> &Reading {
        &self.reading
    }

    /// The newest reading that has been planned, as long as the text can be read.
    #[must_use]
    pub fn planned(&self) -> Option<&Reading> {
        self.planned.as_ref().filter(|_| self.chart().is_some())
    }

    /// Whether the text in hand has still to be read.
    #[must_use]
    pub fn is_unread(&self) -> bool {
        self.reading.edition < self.edition
    }

    /// Whether the text in hand has still to be read, or its chart to be planned.
    #[must_use]
    pub fn is_under_way(&self) -> bool {
        let unplanned = self.reading.chart().is_some() && self.reading.planned().is_none();
        self.is_unread() || unplanned
    }

    /// Whether the place that the engine tells is one in this chart. It is one in the chart before
    /// as long as that one plays.
    #[must_use]
    pub fn plays(&self, snapshot: &Snapshot) -> bool {
        let planned = self.reading.planned();
        let is_it = |song| planned.is_some_and(|planned| planned.edition == song);
        snapshot.song.is_none_or(is_it)
    }

    /// Follows the place that the engine tells, while the chart before plays on too.
    pub fn follow(&mut self, snapshot: &Snapshot) {
        self.playing_before = None;
        if snapshot.song.is_none() {
            return;
        }
        if self.plays(snapshot) {
            let is_new = |played: &Reading| !played.is_same(&self.reading);
            if self.played.as_ref().is_none_or(is_new) {
                self.played = Some(self.reading.clone());
            }
        } else if let Some(played) = &self.played
            && played.planned().map(|planned| planned.edition) == snapshot.song
        {
            self.playing_before = self.reading.playing_by(played, snapshot);
        }
    }

    /// The place that sounds, in the text that was read last. `as_written` tells the place in its
    /// chart, if that plays.
    #[must_use]
    pub fn playing(&self, as_written: &Snapshot) -> Option<Playing> {
        let here = self.reading.playing(as_written);
        here.or(self.playing_before)
    }

    /// What the text that was read last still waits for before it plays.
    #[must_use]
    pub fn waits_for(&self, snapshot: &Snapshot) -> Option<WaitsFor> {
        if self.reading.waits {
            return Some(WaitsFor::Rest);
        }
        let planned = self.reading.planned()?;
        let before = snapshot.song.is_some_and(|song| song < planned.edition);
        (snapshot.playing && before).then_some(WaitsFor::BarLine)
    }

    /// The chart that was read last, if there is nothing wrong with its text.
    #[must_use]
    pub fn chart(&self) -> Option<&Chart> {
        self.shared().map(Arc::as_ref)
    }

    /// The chart, where others may keep it.
    #[must_use]
    pub fn shared(&self) -> Option<&Arc<Chart>> {
        self.reading.chart()
    }

    /// The language of the notes in the text.
    #[must_use]
    pub fn names(&self) -> NoteNames {
        self.reading.names
    }

    /// The text that was read last; [`ChartText::chart`] is its chart.
    #[must_use]
    pub fn written(&self) -> &str {
        &self.reading.text
    }

    /// The written chord on show: the one that a change of the chart that was read plays, if it is
    /// the chord that sounds.
    #[must_use]
    pub fn on_show(&self, change: Option<usize>, written: &Chord) -> Option<OnShow> {
        let played = self.reading.chord_at(change?)?;
        (played.chord == *written).then(|| OnShow {
            at: played.at(),
            scale: self.reading.picks.scale_of(played).cloned(),
        })
    }

    /// The part of the text that was selected when it last had the focus, in bytes of the
    /// text that was read last; an empty one where the cursor stood. None before there was
    /// a cursor.
    #[must_use]
    pub fn selection(&self) -> Option<Range<usize>> {
        self.selection_in(&self.reading)
    }

    /// The same in bytes of the text of a reading.
    #[must_use]
    pub fn selection_in(&self, reading: &Reading) -> Option<Range<usize>> {
        let part = self.selected.clone()?;
        let edit = self.edit_since(reading);
        Some(edit.back(part.start)..edit.back(part.end))
    }

    /// Where a place of the text that was planned last lies in the text in hand, in bytes.
    #[must_use]
    pub fn in_text(&self, at: usize) -> Option<usize> {
        Some(self.edit_since(self.planned()?).moved(at))
    }

    /// The part of the text in hand that is selected, in bytes.
    #[must_use]
    pub const fn selected(&self) -> Option<&Range<usize>> {
        self.selected.as_ref()
    }

    /// What has been typed since a text was read.
    fn edit_since(&self, reading: &Reading) -> Edit {
        Edit::between(&reading.text, &self.document.text)
    }

    /// Marks a part of the text that was read last, in bytes, or none.
    pub fn mark(&mut self, part: Option<Range<usize>>) {
        self.marked = part;
    }

    /// The part of the text that was read last that other regions speak of, in bytes.
    #[must_use]
    pub const fn marked(&self) -> Option<&Range<usize>> {
        self.marked.as_ref()
    }

    /// Where the text's cursor is led to.
    #[must_use]
    pub const fn cursor_target(&self) -> CursorTarget {
        self.cursor_target
    }

    /// Whether there is something to undo.
    #[must_use]
    pub fn can_undo(&self) -> bool {
        self.history.can_undo()
    }

    /// Whether there is something to redo.
    #[must_use]
    pub fn can_redo(&self) -> bool {
        self.history.can_redo()
    }

    /// Takes over what has been read since. A text that is not the one in hand takes its
    /// place, unless it is an older one: a state has been loaded. What was there before can
    /// be had back.
    pub fn refresh(&mut self, latest: Arc<ReadChart>) {
        if self.reading.is(&latest) {
            return;
        }
        if latest.edition >= self.edition {
            self.edition = latest.edition;
            let document = latest.document();
            if document != self.document {
                self.history.step(&self.document);
                let edit = Edit::between(&self.document.text, &document.text);
                if document.text != self.document.text {
                    self.selected = self.selected.take().map(|_| edit.put());
                }
                // Another harmony has been kept, or a whole other chart has been loaded.
                let followed = self.document.edited(&document.text, self.names(), None);
                let is_edit = followed.document == document;
                self.take(document);
                if is_edit {
                    self.dropped = followed.dropped;
                }
            } else if !latest.waits && latest.chart.is_ok() {
                self.settle();
            }
        }
        self.reading = self.reading.followed_by(latest);
        if self.reading.planned().is_some() {
            self.planned = Some(self.reading.clone());
        }
    }

    fn lead_to(&mut self, at: usize) {
        self.cursor_target = CursorTarget {
            at,
            count: self.cursor_target.count + 1,
        };
    }

    /// The document is this one, and it is no half-typed one.
    fn take(&mut self, document: Document) {
        self.document = document;
        self.losing.clear();
        self.dropped.clear();
        self.settle();
        self.begun = self.document.clone();
    }

    /// The document is typed no further. What it has lost is told.
    fn settle(&mut self) {
        if self.settled != self.document {
            self.settled = self.document.clone();
        }
        if !self.losing.is_empty() {
            self.dropped = std::mem::take(&mut self.losing);
        }
    }

    /// Puts another document in the place of the one in hand; the history is the caller's
    /// business.
    fn replace(&mut self, document: Document, outside: &mut dyn Outside) {
        if document.text != self.document.text {
            let edit = Edit::between(&self.document.text, &document.text);
            let end = edit.put().end;
            self.lead_to(end);
            self.selected = Some(end..end);
        }
        self.take(document);
        self.edition = outside.set_chart(&self.document);
        // Where there is no worker, it has been read by now.
        self.refresh(outside.chart());
    }
}

#[cfg(test)]
mod tests;
