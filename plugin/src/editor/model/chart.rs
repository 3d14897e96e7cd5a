//! The chart under edit: its text, what it reads as, what can be undone, and what is
//! selected. Only `apply` and the upkeep before a frame change it. The panel runs it; all of
//! the editor may import it. Imports `history`, `transpose` and `chart_reading`.

use crate::bridge::chart::ReadChart;
use crate::editor::model::chart_edit::Edit;
use crate::editor::model::chart_reading::{Playing, Reading};
use crate::editor::model::history::History;
use crate::editor::model::outside::Outside;
use crate::editor::model::transpose::{self, Direction};
use crate::engine::snapshot::Snapshot;
use guidehand_theory::chart::{self, Chart};
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
}

/// The chart under edit.
pub struct ChartText {
    /// The text in the hands of the user.
    text: String,
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
    before: String,
    after: String,
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
            text: reading.text.as_ref().to_owned(),
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
        &self.text
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
        Edit::between(&reading.text, &self.text)
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
            if *latest.text != *self.text {
                self.history.step(&self.text);
                let edit = Edit::between(&self.text, &latest.text);
                self.selected = self.selected.take().map(|_| edit.put());
                self.text = latest.text.as_ref().to_owned();
            }
        }
        self.reading = self.reading.followed_by(latest);
        if self.reading.planned().is_some() {
            self.planned = Some(self.reading.clone());
        }
    }

    /// Carries out what the player asked for.
    pub fn apply(&mut self, action: ChartAction, outside: &mut dyn Outside) {
        match action {
            ChartAction::Type {
                text,
                cursor,
                now_seconds,
                finished,
            } => {
                self.history.record(&self.text, &text, now_seconds);
                self.text = text;
                self.selected = Some(cursor);
                self.edition = if finished {
                    outside.set_chart(&self.text)
                } else {
                    outside.type_chart(&self.text)
                };
                self.refresh(outside.chart());
            }
            ChartAction::Select(part) => self.selected = Some(part),
            ChartAction::GoTo(at) => self.lead_to(at),
            ChartAction::Undo => {
                if let Some(text) = self.history.undo(&self.text) {
                    self.replace(text, outside);
                }
            }
            ChartAction::Redo => {
                if let Some(text) = self.history.redo(&self.text) {
                    self.replace(text, outside);
                }
            }
            ChartAction::Transpose(direction) => self.transpose(direction, outside),
            ChartAction::Names(names) => outside.set_note_names(names),
            ChartAction::Put(text) => self.put(text, outside),
        }
    }

    fn lead_to(&mut self, at: usize) {
        self.cursor_target = CursorTarget {
            at,
            count: self.cursor_target.count + 1,
        };
    }

    /// Puts another text in the place of the one in hand; the history is the caller's
    /// business.
    fn replace(&mut self, text: String, outside: &mut dyn Outside) {
        let end = Edit::between(&self.text, &text).put().end;
        self.lead_to(end);
        self.selected = Some(end..end);
        self.text = text;
        self.edition = outside.set_chart(&self.text);
        // Where there is no worker, it has been read by now.
        self.refresh(outside.chart());
    }

    /// Puts another text in the place of the one in hand whose notes have their English
    /// names.
    pub fn put_english(&mut self, text: &str, outside: &mut dyn Outside) {
        let text = chart::renamed(text, NoteNames::English, self.names());
        self.put(text, outside);
    }

    /// A whole other chart, as one step.
    fn put(&mut self, text: String, outside: &mut dyn Outside) {
        if text != self.text {
            self.history.step(&self.text);
            self.replace(text, outside);
        }
    }

    /// A half step up or down; there and back is the very text before.
    fn transpose(&mut self, direction: Direction, outside: &mut dyn Outside) {
        if self.moved.last().is_some_and(|m| m.after != self.text) {
            self.moved.clear();
        }
        if let Some(moved) = self.moved.pop_if(|m| m.direction == direction.back()) {
            return self.put(moved.before, outside);
        }
        let after = transpose::transposed(&self.text, direction, self.names());
        if self.moved.len() >= MOST_MOVED {
            self.moved.remove(0);
        }
        self.moved.push(Moved {
            before: self.text.clone(),
            after: after.clone(),
            direction,
        });
        self.put(after, outside);
    }
}
