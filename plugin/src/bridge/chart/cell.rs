//! The cell: what the panel and the host's main thread can do with the chart's text. No call
//! holds the lock while a text is read or planned. Most calls return at once; those that read
//! or plan the text before they return say so. The audio thread never calls it. `params`,
//! `worker`, `editor` and `host` import it.

use super::inner::{Comes, Inner};
use super::line::{self, PlannedReceiver};
use super::progress::{Charted, Planner, Progress};
use super::read::{self, Finished, LeadSheet, ReadChart};
use super::saved::{self, LONGEST_TEXT, SavedChart};
use super::shared::{ChartWork, Shared};
use crate::document::{Document, Unknown};
use crate::engine::planned::{Enters, PlannedChart};
use crate::engine::settings::{PlanFor, Shapes};
use guidehand_theory::chart::Chart;
#[cfg(test)]
use guidehand_theory::chart::ChartError;
use guidehand_theory::pitch::NoteNames;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, OnceLock};
use std::time::Duration;
#[cfg(test)]
use std::time::Instant;

/// How long typing has to rest before the text comes into force: longer than between two keys of a
/// slow typist, and in common time no longer than a bar up to 240 beats a minute.
const REST: Duration = Duration::from_secs(1);

/// A chart of our own making, so that a new instance has something to play.
const FIRST_CHART: &str = "\
| Dm7 | G7 | Cmaj7 | A7 |
| Dm7 | Db7 | Cmaj7 | % |
| Gm7 | C7 | Fmaj7 | Bb7 |
| Em7b5 | A7b9 | Dm7 G7 | C6/9 |";

/// The chart's text, what it reads as, and the way to the audio thread.
pub struct ChartCell {
    shared: Arc<Shared>,
}

impl ChartCell {
    /// A cell that holds the first chart, planned in all textures, and the receiver for what
    /// is planned.
    #[must_use]
    pub fn new() -> (ChartCell, PlannedReceiver) {
        ChartCell::planned_by(Box::new(PlannedChart::plan_in))
    }

    /// A cell whose textures are planned by another function, for tests.
    pub(super) fn planned_by(plan: Box<Planner>) -> (ChartCell, PlannedReceiver) {
        let (line, receiver) = line::line();
        let document = Document::from(FIRST_CHART);
        let names = NoteNames::default();
        let chart = read::parse(&document.text, names);
        let mut progress = Progress::new(line);
        let main = |chart: &Arc<Chart>| {
            let sheet = LeadSheet {
                chart: chart.clone(),
                melody: Arc::default(),
            };
            Charted::new(1, document.clone(), sheet, Enters::AtOnce)
        };
        progress.main = chart.as_ref().ok().map(main);
        let inner = Inner {
            text_edition: 1,
            unread: false,
            rests_at: None,
            enters: Enters::AtOnce,
            in_force: Finished {
                edition: 1,
                document: document.clone(),
                enters: Enters::AtOnce,
            },
            newer: Vec::new(),
            original: None,
            names: None,
            later: Unknown::default(),
            edition: 1,
            progress,
            tried_melody: Ok(Arc::default()),
            planning: false,
            latest: Arc::new(ReadChart {
                edition: 1,
                text: document.text.clone(),
                picks: document.picks.clone(),
                own: document.own.clone(),
                melody_text: document.melody.clone(),
                names,
                chart,
                melody: Ok(Arc::default()),
                planned: None,
                waits: false,
            }),
            outdated: Vec::new(),
            document,
        };
        let shared = Arc::new(Shared {
            inner: Mutex::new(inner),
            planned: Condvar::new(),
            plan,
            plan_for_now: OnceLock::new(),
            ring: OnceLock::new(),
            watch: OnceLock::new(),
            gone: AtomicBool::new(false),
        });
        shared.settle();
        (ChartCell { shared }, receiver)
    }

    /// Tells the cell where to look up what to plan for: register, pinned key, and the
    /// shapes in use.
    pub fn look_up(&self, now: impl Fn() -> (PlanFor, Shapes) + Send + Sync + 'static) {
        // Set once, right after the parameters are made.
        let _set_before = self.shared.plan_for_now.set(Box::new(now));
    }

    /// Tells the cell how to wake the worker; `ring` returns false if there is none. Without a
    /// worker each edit is read and planned before its call returns.
    pub fn on_edit(&self, ring: impl Fn() -> bool + Send + Sync + 'static) {
        let _set_before = self.shared.ring.set(Box::new(ring));
    }

    /// The worker's end.
    #[must_use]
    pub fn work(&self) -> ChartWork {
        ChartWork::new(self.shared.clone())
    }

    /// Takes over a text that is finished, with what was picked for its chords, and returns its
    /// number at once. It comes into force as soon as the worker has read it, and takes over at the
    /// next bar line. A text with errors is kept as it is, and the text in force stays; so does a
    /// melody. A text that is longer than a saved one may be is cut to that length.
    pub fn set_text(&self, document: impl Into<Document>) -> u64 {
        self.begin(document.into(), Comes::Finished(Enters::AtTheBarLine))
    }

    /// Takes over a text that is still being typed, and returns its number at once. The worker
    /// reads and plans it, and it comes into force once typing has rested, as in
    /// [`ChartCell::set_text`]. Without a worker it comes into force at once.
    pub fn type_text(&self, document: impl Into<Document>) -> u64 {
        let rests_at = self.shared.now() + REST;
        self.begin(document.into(), Comes::Typed(rests_at))
    }

    fn begin(&self, mut document: Document, comes: Comes) -> u64 {
        for text in [&mut document.text, &mut document.melody] {
            if text.len() > LONGEST_TEXT {
                let end = text.floor_char_boundary(LONGEST_TEXT);
                *text = text.get(..end).unwrap_or_default().into();
            }
        }
        let edition = self.shared.lock().begin(document, comes);
        self.edited();
        edition
    }

    /// Reads the same text with its notes named in another language, and the text in force with
    /// it. That finishes the text. What was picked for chords stays where they can still hold it.
    /// It reads the text before, if that has not been read.
    pub fn set_names(&self, names: NoteNames) {
        self.shared.read_text();
        let before = {
            let inner = self.shared.lock();
            [&inner.document, &inner.in_force.document].map(Clone::clone)
        };
        let after = before.each_ref().map(|one| one.renamed(names).document);
        let mut inner = self.shared.lock();
        inner.names = saved::saved_names(names);
        let mut now = [&inner.document, &inner.in_force.document].map(Clone::clone);
        for (now, (before, after)) in now.iter_mut().zip(before.iter().zip(after)) {
            // A state that has been loaded meanwhile stays as it is.
            if now == before {
                *now = after;
            }
        }
        let [document, in_force] = now;
        inner.begin(document, Comes::Finished(Enters::AtTheBarLine));
        inner.force(in_force, Enters::AtTheBarLine);
        drop(inner);
        self.edited();
    }

    /// The language of the notes in the text.
    #[must_use]
    pub fn names(&self) -> NoteNames {
        self.shared.lock().note_names()
    }

    /// Tries another text: it sounds from the next bar line on, and the chart's own text stays.
    /// What was picked for the chart's chords goes with those that stay, and so does the melody. None
    /// ends the trial, and the chart itself sounds again from the next bar line on. A text that cannot
    /// be read changes nothing. This call reads both texts. A trial finishes a chart that is still
    /// being typed.
    pub fn try_out(&self, text: Option<&str>) {
        self.shared.read_text();
        let (tried, document, in_hand, names) = {
            let inner = self.shared.lock();
            let (document, in_hand) = (inner.document.clone(), inner.in_hand());
            let tried = inner.progress.tried_text();
            (tried, document, in_hand, inner.note_names())
        };
        if tried.as_deref() == text {
            return;
        }
        let new = text.map(|text| document.edited(text, names, None).document);
        let new = match new.map(|new| (read::both(&new.text, &new.melody, names), new)) {
            Some(((Err(_), _), _)) => return,
            Some(((Ok(chart), melody), new)) => {
                let (text, in_force) = match &melody {
                    Ok(melody) => (new.melody.clone(), melody.clone()),
                    Err(_) => read::stays(&in_hand, &chart),
                };
                let sheet = LeadSheet {
                    chart,
                    melody: in_force,
                };
                Some((new.with_melody(text), sheet, melody))
            }
            None => None,
        };
        let mut inner = self.shared.lock();
        inner.finish();
        let edition = inner.count();
        inner.progress.tried = new.map(|(document, sheet, melody)| {
            inner.tried_melody = melody;
            Charted::new(edition, document, sheet, Enters::AtTheBarLine)
        });
        if inner.progress.tried.is_none() {
            inner.enter_again();
        }
        drop(inner);
        self.edited();
    }

    /// The text that is tried, if one is.
    #[must_use]
    pub fn tried(&self) -> Option<String> {
        let tried = self.shared.lock().progress.tried_text();
        tried.map(|text| text.as_ref().to_owned())
    }

    /// The text that is tried becomes the chart, and sounds on without a break. The chart before
    /// it is remembered as the original, unless there is one.
    pub fn keep(&self) {
        self.shared.lock().keep();
        self.edited();
    }

    /// The chart as it was before another harmony was kept.
    #[must_use]
    pub fn original(&self) -> Option<String> {
        let original = self.shared.lock().original.clone();
        original.map(|original| original.text.as_ref().to_owned())
    }

    /// Brings back the chart as it was before another harmony was kept.
    pub fn restore(&self) {
        let mut inner = self.shared.lock();
        let Some(original) = inner.original.take() else {
            return;
        };
        // Own voicings are not those of a text, and no melody is none to go back to.
        let mut original = original.with_own(inner.document.own.clone());
        if original.melody.is_empty() {
            original.melody = inner.document.melody.clone();
        }
        inner.begin(original, Comes::Finished(Enters::AtTheBarLine));
        drop(inner);
        self.edited();
    }

    /// Takes over a saved chart, and plans it before it returns: hosts render right after. It takes
    /// over at once. One that is too long changes nothing.
    pub fn load(&self, mut new: SavedChart) {
        if !new.is_bounded() {
            return;
        }
        let own = new.take_own();
        self.shared.read_text();
        let mut inner = self.shared.lock();
        let original = new.original.as_deref();
        let original_melody = new.original_melody.unwrap_or_default();
        let of_original = |text| {
            let document = new.original_picks.document(text);
            document.with_melody(original_melody)
        };
        inner.original = original.map(of_original);
        inner.names = new.names;
        inner.later = new.later;
        let document = new.picks.document(&new.text).with_melody(new.melody);
        let document = document.with_own(own.clone());
        let in_force = match (new.sounding.as_deref(), new.sounding_melody) {
            (Some(text), melody) => {
                let melody = melody.map_or_else(|| document.melody.clone(), Arc::from);
                new.sounding_picks.document(text).with_melody(melody)
            }
            (None, Some(melody)) => document.with_melody(melody),
            (None, None) => inner.in_force.document.with_melody(""),
        };
        inner.begin(document, Comes::Finished(Enters::AtOnce));
        inner.force(in_force.with_own(own), Enters::AtOnce);
        drop(inner);
        self.settle();
    }

    /// The chart as it is saved. It reads the text, if it has not been read.
    #[must_use]
    pub fn saved(&self) -> SavedChart {
        self.shared.read_text();
        let inner = self.shared.lock();
        let (in_force, _) = inner.in_hand();
        let in_force = in_force.document;
        let sounding = inner.latest.chart.is_err().then_some(&in_force);
        let is_other = in_force.melody != inner.document.melody;
        SavedChart {
            sounding_melody: is_other.then(|| in_force.melody.as_ref().to_owned()),
            names: inner.names.clone(),
            later: inner.later.clone(),
            ..SavedChart::new(&inner.document, sounding, inner.original.as_ref())
        }
    }

    /// The newest text that has been read. Its address tells whether there is a newer one than
    /// before.
    #[must_use]
    pub fn latest(&self) -> Arc<ReadChart> {
        self.shared.lock().latest.clone()
    }

    /// Reads the newest text and plans its chart in all textures, for the parameters in force,
    /// before it returns. A text that is still being typed comes into force. Waits for a texture
    /// that another thread is planning.
    pub fn settle(&self) {
        self.shared.settle();
    }

    /// Wakes the worker after an edit, or does its work where there is none.
    fn edited(&self) {
        if !self.shared.ring.get().is_some_and(|ring| ring()) {
            self.settle();
        }
    }
}

/// Moves the clock of a cell.
#[cfg(test)]
pub struct ClockHand(Arc<Mutex<Instant>>);

#[cfg(test)]
impl ClockHand {
    /// Time passes.
    pub fn pass_ms(&self, millis: u64) {
        *self.0.lock().unwrap() += Duration::from_millis(millis);
    }
}

#[cfg(test)]
impl ChartCell {
    /// Stops the cell's clock, and gives the hand that moves it.
    pub fn stop_clock(&self) -> ClockHand {
        let hand = ClockHand(Arc::new(Mutex::new(Instant::now())));
        let now = hand.0.clone();
        let _set_before = self
            .shared
            .watch
            .set(Box::new(move || *now.lock().unwrap()));
        hand
    }

    /// The text as typed.
    #[must_use]
    pub fn text(&self) -> String {
        let document = self.shared.lock().document.clone();
        document.text.as_ref().to_owned()
    }

    /// What is wrong with the text as typed; empty if nothing is. It reads the text, if it has
    /// not been read.
    #[must_use]
    pub fn errors(&self) -> Vec<ChartError> {
        self.shared.read_text();
        self.latest().errors().to_vec()
    }

    /// What the text reads as, for a test that hands it in late.
    pub(super) fn reading_under_way(&self) -> Option<read::Unread> {
        self.shared.lock().unread()
    }

    /// Takes over what a text reads as, like a worker that is late.
    pub(super) fn put_reading(&self, unread: &read::Unread) {
        let reading = read::read(unread);
        let _outdated = self.shared.lock().take(reading);
    }
}

impl Drop for ChartCell {
    fn drop(&mut self) {
        self.shared.gone.store(true, Ordering::Release);
        if let Some(ring) = self.shared.ring.get() {
            // Without a worker there is nobody to wake.
            let _told = ring();
        }
    }
}
