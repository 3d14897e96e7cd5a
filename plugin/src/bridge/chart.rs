//! The one place where saved or typed text becomes a planned chart, and its
//! hand-over to the audio thread: a queue of boxes there, another one back, so
//! that building and freeing stay off the audio thread. Imports `state` and `song`.

use crate::engine::planned::{Enters, PlannedChart};
use crate::engine::settings::PlanFor;
use crate::params::state::{LONGEST_TEXT, Unknown};
use guidehand_theory::chart::{self, ChartError};
use guidehand_theory::pitch::NoteNames;
use nice_plug::params::persist::PersistentField;
use rtrb::{Consumer, Producer, RingBuffer};
use serde::{Deserialize, Serialize};
use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};

/// A chart of our own making, so that a new instance has something to play.
pub const FIRST_CHART: &str = "\
| Dm7 | G7 | Cmaj7 | A7 |
| Dm7 | Db7 | Cmaj7 | % |
| Gm7 | C7 | Fmaj7 | Bb7 |
| Em7b5 | A7b9 | Dm7 G7 | C6/9 |";

/// The chart as it is saved.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SavedChart {
    /// The text as typed, errors and all.
    pub text: String,
    /// The last text that could be read, if it is another one; it goes on
    /// sounding.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sounding: Option<String>,
    /// The text as it was before another harmony was kept, if one was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub original: Option<String>,
    /// The language of its note names, if it is another one than English.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub names: Option<String>,
    /// What a later version has saved with it.
    #[serde(flatten)]
    pub later: Unknown,
}

/// How German note names are saved.
const GERMAN: &str = "german";

impl SavedChart {
    /// The language of its note names; English for one that this version does not
    /// know.
    fn note_names(&self) -> NoteNames {
        match self.names.as_deref() {
            Some(GERMAN) => NoteNames::German,
            _ => NoteNames::English,
        }
    }

    /// Whether no text is longer than a saved text may be.
    fn is_bounded(&self) -> bool {
        let more = [&self.sounding, &self.original, &self.names];
        let more = more.into_iter().flatten();
        more.chain([&self.text])
            .all(|text| text.len() <= LONGEST_TEXT)
    }
}

/// The chart's text, what is wrong with it, and the way to the audio thread.
pub struct ChartCell {
    inner: Mutex<Inner>,
    /// Tells what to plan for when a state has been loaded.
    plan_for_now: OnceLock<Box<dyn Fn() -> PlanFor + Send + Sync>>,
}

struct Inner {
    saved: SavedChart,
    /// Another harmony that is tried: it sounds in the place of the text.
    tried: Option<String>,
    errors: Vec<ChartError>,
    plan_for: PlanFor,
    /// Counts the texts.
    edition: u32,
    /// A song that found the queue full; the newest one only.
    waiting: Option<Box<PlannedChart>>,
    songs: Producer<Box<PlannedChart>>,
    done: Consumer<Box<PlannedChart>>,
}

/// The audio thread's end.
pub struct PlannedReceiver {
    songs: Consumer<Box<PlannedChart>>,
    done: Producer<Box<PlannedChart>>,
}

/// Songs under way at most; a full queue keeps the newest waiting in the cell.
const QUEUE: usize = 8;

/// Songs that the audio thread holds at most: the one that plays, and the one
/// that waits for its bar line.
const HELD: usize = 2;

impl ChartCell {
    /// A cell that holds the first chart, and the receiver for its songs.
    #[must_use]
    pub fn new() -> (ChartCell, PlannedReceiver) {
        let (songs, songs_there) = RingBuffer::new(QUEUE);
        // Room for every song under way and for those that the other end holds.
        let (done_there, done) = RingBuffer::new(QUEUE + HELD);
        let cell = ChartCell {
            inner: Mutex::new(Inner {
                saved: SavedChart {
                    text: FIRST_CHART.to_owned(),
                    ..SavedChart::default()
                },
                tried: None,
                errors: Vec::new(),
                plan_for: PlanFor::default(),
                edition: 0,
                waiting: None,
                songs,
                done,
            }),
            plan_for_now: OnceLock::new(),
        };
        let receiver = PlannedReceiver {
            songs: songs_there,
            done: done_there,
        };
        cell.lock().send(Enters::AtOnce);
        (cell, receiver)
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Tells the cell where to look up what to plan for: a state that is loaded
    /// sets the parameters first and the chart then, and no one else is told.
    pub fn look_up(&self, plan_for_now: impl Fn() -> PlanFor + Send + Sync + 'static) {
        // Set once, right after the parameters are made.
        let _set_before = self.plan_for_now.set(Box::new(plan_for_now));
    }

    /// Takes over a text. One with errors is kept as typed, and the last one
    /// that could be read goes on sounding. One that is longer than a saved text
    /// may be is kept so far; it is no chart. Never on the audio thread.
    pub fn set_text(&self, text: &str) {
        let text = &text[..text.floor_char_boundary(LONGEST_TEXT)];
        let mut inner = self.lock();
        let new = SavedChart {
            text: text.to_owned(),
            sounding: None,
            original: inner.saved.original.clone(),
            names: inner.saved.names.clone(),
            later: std::mem::take(&mut inner.saved.later),
        };
        inner.load(new);
    }

    /// Reads the same text with its notes named in another language. Never on the
    /// audio thread.
    pub fn set_names(&self, names: NoteNames) {
        let mut inner = self.lock();
        let new = SavedChart {
            names: (names == NoteNames::German).then(|| GERMAN.to_owned()),
            ..inner.saved.clone()
        };
        inner.load(new);
    }

    /// The language of the notes in the text.
    #[must_use]
    pub fn names(&self) -> NoteNames {
        self.lock().saved.note_names()
    }

    /// Lets another text sound from the next bar line on, without a commitment;
    /// none lets the chart itself sound again, from a bar line too. A text that
    /// cannot be read changes nothing. Never on the audio thread.
    pub fn try_out(&self, text: Option<&str>) {
        let mut inner = self.lock();
        let names = inner.saved.note_names();
        let reads = |text| chart::parse_with(text, names).is_ok();
        if inner.tried.as_deref() != text && text.is_none_or(reads) {
            inner.tried = text.map(ToOwned::to_owned);
            inner.edition = inner.edition.wrapping_add(1);
            inner.send(Enters::AtTheBarLine);
        }
    }

    /// The text that is tried, if one is.
    #[must_use]
    pub fn tried(&self) -> Option<String> {
        self.lock().tried.clone()
    }

    /// What is tried becomes the chart; the chart as it was is remembered, if none
    /// is yet. It sounds on without a break.
    pub fn keep(&self) {
        let mut inner = self.lock();
        let Some(text) = inner.tried.take() else {
            return;
        };
        let before = std::mem::replace(&mut inner.saved.text, text);
        inner.saved.original.get_or_insert(before);
        inner.saved.sounding = None;
        inner.errors.clear();
    }

    /// The chart as it was before another harmony was kept.
    #[must_use]
    pub fn original(&self) -> Option<String> {
        self.lock().saved.original.clone()
    }

    /// The chart as it was before another harmony was kept comes back.
    pub fn restore(&self) {
        let mut inner = self.lock();
        if let Some(text) = inner.saved.original.take() {
            let later = std::mem::take(&mut inner.saved.later);
            let names = inner.saved.names.clone();
            inner.load(SavedChart {
                text,
                names,
                later,
                ..SavedChart::default()
            });
        }
    }

    /// Plans again if register or pinned key are other than planned for. What to plan
    /// for is looked up once nobody else plans: of two callers the later one knows the
    /// newer values. Never on the audio thread.
    pub fn plan_for(&self, now: impl FnOnce() -> PlanFor) {
        let mut inner = self.lock();
        let plan_for = now();
        if inner.plan_for != plan_for {
            inner.plan_for = plan_for;
            inner.send(Enters::AtOnce);
        } else {
            inner.flush();
        }
    }

    /// The text as typed.
    #[must_use]
    pub fn text(&self) -> String {
        self.lock().saved.text.clone()
    }

    /// What is wrong with the text as typed; empty if nothing is.
    #[must_use]
    pub fn errors(&self) -> Vec<ChartError> {
        self.lock().errors.clone()
    }
}

impl Inner {
    fn load(&mut self, new: SavedChart) {
        let before = self
            .saved
            .sounding
            .take()
            .unwrap_or_else(|| std::mem::take(&mut self.saved.text));
        match chart::parse_with(&new.text, new.note_names()) {
            Ok(_) => {
                self.errors.clear();
                self.saved = SavedChart {
                    sounding: None,
                    ..new
                };
            }
            Err(errors) => {
                self.errors = errors;
                self.saved = SavedChart {
                    sounding: new.sounding.or(Some(before)),
                    ..new
                };
            }
        }
        self.tried = None;
        self.edition = self.edition.wrapping_add(1);
        self.send(Enters::AtOnce);
    }

    /// Plans the chart that sounds and sends it on its way.
    fn send(&mut self, enters: Enters) {
        let charted = self.saved.sounding.as_ref().unwrap_or(&self.saved.text);
        let text = self.tried.as_ref().unwrap_or(charted);
        if let Ok(chart) = chart::parse_with(text, self.saved.note_names()) {
            let song = PlannedChart::plan(&chart, self.plan_for, self.edition);
            self.waiting = Some(Box::new(PlannedChart { enters, ..song }));
        }
        self.flush();
    }

    fn flush(&mut self) {
        while self.done.pop().is_ok() {}
        if let Some(song) = self.waiting.take()
            && let Err(rtrb::PushError::Full(song)) = self.songs.push(song)
        {
            self.waiting = Some(song);
        }
    }
}

impl<'a> PersistentField<'a, SavedChart> for ChartCell {
    /// Takes over a saved chart; one that is too long changes nothing.
    fn set(&self, new_value: SavedChart) {
        if !new_value.is_bounded() {
            return;
        }
        let mut inner = self.lock();
        let plan_for = self.plan_for_now.get().map(|now| now());
        inner.plan_for = plan_for.unwrap_or(inner.plan_for);
        inner.load(new_value);
    }

    fn map<F, R>(&self, f: F) -> R
    where
        F: Fn(&SavedChart) -> R,
    {
        f(&self.lock().saved)
    }
}

impl PlannedReceiver {
    /// The newest song, if there is a new one; those before it travel back.
    /// Lock-free and without allocation.
    pub fn take(&mut self) -> Option<Box<PlannedChart>> {
        let mut newest: Option<Box<PlannedChart>> = None;
        // Without room to send old ones back, the new ones wait.
        while self.done.slots() > HELD {
            let Ok(song) = self.songs.pop() else { break };
            if let Some(old) = newest.replace(song) {
                self.give_back(old);
            }
        }
        newest
    }

    /// Sends a song back to be freed. Lock-free and without allocation.
    pub fn give_back(&mut self, song: Box<PlannedChart>) {
        // There is room: this is the only end that pushes, and `take` leaves some.
        let _sent = self.done.push(song);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_with_errors_is_kept_and_the_last_good_one_sounds() {
        let (cell, mut receiver) = ChartCell::new();
        assert!(receiver.take().is_some());
        cell.set_text("| C6 | F6 |");
        cell.set_text("| C6 | H7 |");
        assert_eq!(cell.errors().len(), 1);
        assert_eq!(cell.text(), "| C6 | H7 |");
        assert_eq!(receiver.take().map(|s| s.changes.len()), Some(2));
        let saved = cell.map(Clone::clone);
        assert_eq!(saved.sounding.as_deref(), Some("| C6 | F6 |"));

        let (other, mut receiver) = ChartCell::new();
        other.set(saved);
        assert_eq!(other.text(), "| C6 | H7 |");
        assert_eq!(receiver.take().map(|s| s.changes.len()), Some(2));
    }

    #[test]
    fn another_harmony_is_tried_kept_and_taken_back() {
        let (cell, mut receiver) = ChartCell::new();
        let entered = |receiver: &mut PlannedReceiver| {
            let song = receiver.take()?;
            Some((song.changes.len(), song.enters))
        };
        cell.set_text("| Dm7 | G7 |");
        assert_eq!(entered(&mut receiver), Some((2, Enters::AtOnce)));
        cell.try_out(Some("| Dm7 | Db7 | C6 |"));
        assert_eq!(entered(&mut receiver), Some((3, Enters::AtTheBarLine)));
        assert_eq!(cell.text(), "| Dm7 | G7 |", "no commitment yet");
        cell.try_out(None);
        assert_eq!(entered(&mut receiver), Some((2, Enters::AtTheBarLine)));
        cell.try_out(Some("| H |"));
        assert_eq!((cell.tried(), entered(&mut receiver)), (None, None));

        cell.try_out(Some("| Dm7 | Db7 |"));
        cell.keep();
        cell.try_out(Some("| Abm7 | Db7 |"));
        cell.keep();
        assert_eq!(cell.text(), "| Abm7 | Db7 |");
        assert_eq!(cell.original().as_deref(), Some("| Dm7 | G7 |"));
        let (other, _songs) = ChartCell::new();
        other.set(cell.map(Clone::clone));
        other.restore();
        assert_eq!(other.text(), "| Dm7 | G7 |");
        assert_eq!(other.original(), None);
    }

    /// B is B flat in German, and H is B natural (common practice, no published
    /// source).
    #[test]
    fn a_text_is_read_in_english_or_in_german() {
        fn roots(receiver: &mut PlannedReceiver) -> Vec<String> {
            let song = receiver.take().unwrap();
            let placed = song.changes.iter().filter_map(|change| change.placed);
            placed.map(|p| p.chord.root.to_string()).collect()
        }
        let (cell, mut receiver) = ChartCell::new();
        cell.set_text("| B7 | Es6 |");
        assert_eq!(cell.errors().len(), 1, "no English note");
        cell.set_names(NoteNames::German);
        assert_eq!((cell.errors(), cell.names()), (vec![], NoteNames::German));
        assert_eq!(roots(&mut receiver), ["Bb", "Eb"]);
        cell.set_text("| Hm7 | E7 |");
        assert_eq!(roots(&mut receiver), ["B", "E"]);
        cell.try_out(Some("| Hm7 | B7 |"));
        assert_eq!(roots(&mut receiver), ["B", "Bb"]);
        cell.keep();

        let saved = cell.map(|saved| serde_json::to_string(saved).unwrap());
        let (other, mut receiver) = ChartCell::new();
        other.set(serde_json::from_str(&saved).unwrap());
        assert_eq!(roots(&mut receiver), ["B", "Bb"]);
        other.restore();
        assert_eq!(roots(&mut receiver), ["B", "E"], "{saved}");
        other.set(serde_json::from_str(r#"{"text":"| B7 |"}"#).unwrap());
        assert_eq!(roots(&mut receiver), ["B"], "older songs are in English");
        other.set(serde_json::from_str(r#"{"text":"| B7 |","names":"x"}"#).unwrap());
        assert_eq!(roots(&mut receiver), ["B"]);
        let kept = other.map(|saved| saved.names.clone());
        assert_eq!(kept.as_deref(), Some("x"), "of a later version");
    }

    #[test]
    fn a_flood_of_edits_arrives_as_the_last_one() {
        let (cell, mut receiver) = ChartCell::new();
        for bars in 1..=50 {
            cell.set_text(&"| C6 ".repeat(bars));
        }
        let first = receiver.take();
        cell.plan_for(PlanFor::default);
        let song = receiver.take().or(first);
        assert_eq!(song.map(|s| s.changes.len()), Some(50));
    }
}
