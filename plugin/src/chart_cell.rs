//! The one place where saved or typed text becomes a planned chart, and its
//! hand-over to the audio thread: a queue of boxes there, another one back, so
//! that building and freeing stay off the audio thread. Imports `song`.

use crate::settings::PlanFor;
use crate::song::Song;
use guidehand_theory::chart::{self, ChartError};
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
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SavedChart {
    /// The text as typed, errors and all.
    pub text: String,
    /// The last text that could be read, if it is another one; it goes on
    /// sounding.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sounding: Option<String>,
}

/// The chart's text, what is wrong with it, and the way to the audio thread.
pub struct ChartCell {
    inner: Mutex<Inner>,
    /// Tells what to plan for when a state has been loaded.
    plan_for_now: OnceLock<Box<dyn Fn() -> PlanFor + Send + Sync>>,
}

struct Inner {
    saved: SavedChart,
    errors: Vec<ChartError>,
    plan_for: PlanFor,
    /// Counts the texts.
    edition: u32,
    /// A song that found the queue full; the newest one only.
    waiting: Option<Box<Song>>,
    songs: Producer<Box<Song>>,
    done: Consumer<Box<Song>>,
}

/// The audio thread's end.
pub struct SongReceiver {
    songs: Consumer<Box<Song>>,
    done: Producer<Box<Song>>,
}

/// Songs under way at most; a full queue keeps the newest waiting in the cell.
const QUEUE: usize = 8;

impl ChartCell {
    /// A cell that holds the first chart, and the receiver for its songs.
    #[must_use]
    pub fn new() -> (ChartCell, SongReceiver) {
        let (songs, songs_there) = RingBuffer::new(QUEUE);
        // Room for every song under way and the one that is playing.
        let (done_there, done) = RingBuffer::new(QUEUE + 1);
        let cell = ChartCell {
            inner: Mutex::new(Inner {
                saved: SavedChart {
                    text: FIRST_CHART.to_owned(),
                    sounding: None,
                },
                errors: Vec::new(),
                plan_for: PlanFor::default(),
                edition: 0,
                waiting: None,
                songs,
                done,
            }),
            plan_for_now: OnceLock::new(),
        };
        let receiver = SongReceiver {
            songs: songs_there,
            done: done_there,
        };
        cell.lock().send();
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
    /// that could be read goes on sounding. Never on the audio thread.
    pub fn set_text(&self, text: &str) {
        self.lock().load(SavedChart {
            text: text.to_owned(),
            sounding: None,
        });
    }

    /// Plans again if register or pinned key are other than planned for. Never
    /// on the audio thread.
    pub fn plan_for(&self, plan_for: PlanFor) {
        let mut inner = self.lock();
        if inner.plan_for != plan_for {
            inner.plan_for = plan_for;
            inner.send();
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
        match chart::parse(&new.text) {
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
        self.edition = self.edition.wrapping_add(1);
        self.send();
    }

    /// Plans the chart that sounds and sends it on its way.
    fn send(&mut self) {
        let text = self.saved.sounding.as_ref().unwrap_or(&self.saved.text);
        if let Ok(chart) = chart::parse(text) {
            self.waiting = Some(Box::new(Song::plan(&chart, self.plan_for, self.edition)));
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
    fn set(&self, new_value: SavedChart) {
        let plan_for = self.plan_for_now.get().map(|now| now());
        let mut inner = self.lock();
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

impl SongReceiver {
    /// Replaces `current` by the newest song, if there is a new one; true if so.
    /// Lock-free and without allocation: the old one travels back to be freed.
    pub fn receive(&mut self, current: &mut Option<Box<Song>>) -> bool {
        let mut received = false;
        // Without room to send the old one back, the new one waits.
        while !self.done.is_full() {
            let Ok(song) = self.songs.pop() else { break };
            received = true;
            if let Some(old) = current.replace(song) {
                // There is room: this is the only end that pushes.
                let _sent = self.done.push(old);
            }
        }
        received
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_with_errors_is_kept_and_the_last_good_one_sounds() {
        let (cell, mut receiver) = ChartCell::new();
        let mut song = None;
        assert!(receiver.receive(&mut song));
        cell.set_text("| C6 | F6 |");
        cell.set_text("| C6 | H7 |");
        assert_eq!(cell.errors().len(), 1);
        assert_eq!(cell.text(), "| C6 | H7 |");
        assert!(receiver.receive(&mut song));
        assert_eq!(song.as_ref().map(|s| s.changes.len()), Some(2));
        let saved = cell.map(Clone::clone);
        assert_eq!(saved.sounding.as_deref(), Some("| C6 | F6 |"));

        let (other, mut receiver) = ChartCell::new();
        other.set(saved);
        assert_eq!(other.text(), "| C6 | H7 |");
        receiver.receive(&mut song);
        assert_eq!(song.as_ref().map(|s| s.changes.len()), Some(2));
    }

    #[test]
    fn a_flood_of_edits_arrives_as_the_last_one() {
        let (cell, mut receiver) = ChartCell::new();
        for bars in 1..=50 {
            cell.set_text(&"| C6 ".repeat(bars));
        }
        let mut song = None;
        receiver.receive(&mut song);
        cell.plan_for(PlanFor::default());
        receiver.receive(&mut song);
        assert_eq!(song.map(|s| s.changes.len()), Some(50));
    }
}
