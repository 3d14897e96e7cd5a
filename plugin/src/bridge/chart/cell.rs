//! The cell: the text of the chart in the hands of the panel and of the host's main thread.
//! No call holds the lock while a text is read or planned, so that none waits for that. The
//! exceptions say so: they read what has not been read, or plan it all, before they return.
//! Never on the audio thread. `params`, `worker`, `editor` and `host` import it.

use super::line::{self, PlannedReceiver};
use super::progress::{Charted, Planner, Progress, Step};
use super::read::{self, ReadChart, Reading, Unread};
use super::saved::{self, LONGEST_TEXT, SavedChart, Unknown};
use crate::engine::planned::{Enters, PlannedChart};
use crate::engine::settings::PlanFor;
use crate::guard;
use guidehand_theory::chart::ChartError;
use guidehand_theory::pipeline;
use guidehand_theory::pitch::NoteNames;
use guidehand_theory::plan::{Ends, Voiced};
use guidehand_theory::shape::Texture;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, OnceLock, PoisonError};

pub use super::progress::Depth;

/// A chart of our own making, so that a new instance has something to play.
const FIRST_CHART: &str = "\
| Dm7 | G7 | Cmaj7 | A7 |
| Dm7 | Db7 | Cmaj7 | % |
| Gm7 | C7 | Fmaj7 | Bb7 |
| Em7b5 | A7b9 | Dm7 G7 | C6/9 |";

/// Texts that are remembered unread at most. More come only where nobody reads.
const MOST_UNREAD: usize = 32;

/// The chart's text, what it reads as, and the way to the audio thread.
pub struct ChartCell {
    shared: Arc<Shared>,
}

/// The worker's end.
#[derive(Clone)]
pub struct ChartWork {
    shared: Arc<Shared>,
}

type LookUp = dyn Fn() -> (PlanFor, Texture) + Send + Sync;
type Ring = dyn Fn() -> bool + Send + Sync;

struct Shared {
    inner: Mutex<Inner>,
    /// Somebody has finished planning a texture.
    planned: Condvar,
    plan: Box<Planner>,
    /// Tells what to plan for, and the texture in use.
    plan_for_now: OnceLock<Box<LookUp>>,
    /// Wakes the worker; false if there is none.
    ring: OnceLock<Box<Ring>>,
    /// The instance is gone: what is still to be done is of no use.
    gone: AtomicBool,
}

struct Inner {
    /// The text as typed.
    text: Arc<str>,
    /// Its number.
    text_edition: u64,
    /// It has not been read yet.
    unread: bool,
    /// What may sound if it cannot be read: see [`Unread`].
    before: Vec<Arc<str>>,
    /// The last text that could be read, if the text as typed could not.
    sounding: Option<Arc<str>>,
    original: Option<Arc<str>>,
    /// The language of the notes as it is saved.
    names: Option<String>,
    later: Unknown,
    /// Counts the texts, those that are tried too.
    edition: u64,
    /// The text of the chart that is planned, in the language in force.
    main_text: Option<Arc<str>>,
    progress: Progress,
    /// Somebody plans a texture.
    planning: bool,
    latest: Arc<ReadChart>,
}

impl ChartCell {
    /// A cell that holds the first chart, planned in all textures, and the receiver for what
    /// is planned.
    #[must_use]
    pub fn new() -> (ChartCell, PlannedReceiver) {
        ChartCell::planned_by(Box::new(plan))
    }

    /// A cell whose textures are planned by another function, for tests.
    pub(super) fn planned_by(plan: Box<Planner>) -> (ChartCell, PlannedReceiver) {
        let (line, receiver) = line::line();
        let text: Arc<str> = FIRST_CHART.into();
        let names = NoteNames::default();
        let chart = read::parse(&text, names);
        let mut progress = Progress::new(line);
        let main = |chart| Charted::new(1, chart, Enters::AtOnce);
        progress.main = chart.as_ref().ok().cloned().map(main);
        let inner = Inner {
            text_edition: 1,
            unread: false,
            before: Vec::new(),
            sounding: None,
            original: None,
            names: None,
            later: Unknown::default(),
            edition: 1,
            main_text: Some(text.clone()),
            progress,
            planning: false,
            latest: Arc::new(ReadChart {
                edition: 1,
                text: text.clone(),
                names,
                chart,
                planned: None,
            }),
            text,
        };
        let shared = Arc::new(Shared {
            inner: Mutex::new(inner),
            planned: Condvar::new(),
            plan,
            plan_for_now: OnceLock::new(),
            ring: OnceLock::new(),
            gone: AtomicBool::new(false),
        });
        shared.settle();
        (ChartCell { shared }, receiver)
    }

    /// Tells the cell where to look up what to plan for: register, pinned key, and the
    /// texture in use.
    pub fn look_up(&self, now: impl Fn() -> (PlanFor, Texture) + Send + Sync + 'static) {
        // Set once, right after the parameters are made.
        let _set_before = self.shared.plan_for_now.set(Box::new(now));
    }

    /// Tells the cell how to wake the worker; `ring` gives false if there is none. Without a
    /// worker each edit is read and planned before its call returns.
    pub fn on_edit(&self, ring: impl Fn() -> bool + Send + Sync + 'static) {
        let _set_before = self.shared.ring.set(Box::new(ring));
    }

    /// The worker's end.
    #[must_use]
    pub fn work(&self) -> ChartWork {
        ChartWork {
            shared: self.shared.clone(),
        }
    }

    /// Takes over a text, and returns at once with its number; the worker reads it. One with
    /// errors is kept as typed, and the last one that could be read goes on sounding. A text
    /// that is longer than a saved one may be is cut to that length.
    pub fn set_text(&self, text: &str) -> u64 {
        let text = text.get(..text.floor_char_boundary(LONGEST_TEXT));
        let text: Arc<str> = text.unwrap_or_default().into();
        let edition = self.shared.lock().begin(text, None);
        self.edited();
        edition
    }

    /// Reads the same text with its notes named in another language. It reads the text
    /// before, if that has not been read.
    pub fn set_names(&self, names: NoteNames) {
        self.shared.read_text();
        let mut inner = self.shared.lock();
        inner.names = saved::saved_names(names);
        inner.main_text = None;
        let (text, sounding) = (inner.text.clone(), inner.sounding.clone());
        inner.begin(text, sounding);
        drop(inner);
        self.edited();
    }

    /// The language of the notes in the text.
    #[must_use]
    pub fn names(&self) -> NoteNames {
        self.shared.lock().note_names()
    }

    /// Lets another text sound from the next bar line on, without a commitment; none lets the
    /// chart itself sound again, also from a bar line. A text that cannot be read changes
    /// nothing. It reads both texts.
    pub fn try_out(&self, text: Option<&str>) {
        self.shared.read_text();
        let (tried, names) = {
            let inner = self.shared.lock();
            (inner.progress.tried_text(), inner.note_names())
        };
        if tried.as_deref() == text {
            return;
        }
        let chart = match text.map(|text| read::parse(text, names)) {
            Some(Err(_)) => return,
            Some(Ok(chart)) => text.map(Arc::from).zip(Some(chart)),
            None => None,
        };
        let mut inner = self.shared.lock();
        let edition = inner.count();
        let enters = Enters::AtTheBarLine;
        let new = |(text, chart)| (text, Charted::new(edition, chart, enters));
        inner.progress.tried = chart.map(new);
        if inner.progress.tried.is_none() {
            if let Some(main) = &mut inner.progress.main {
                main.anew(edition, enters);
            }
            let sent = inner.progress.send_main();
            inner.show(sent);
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

    /// What is tried becomes the chart; the chart as it was is remembered, if none is yet. It
    /// sounds on without a break.
    pub fn keep(&self) {
        let mut inner = self.shared.lock();
        let Some((text, charted)) = inner.progress.tried.take() else {
            return;
        };
        let before = std::mem::replace(&mut inner.text, text.clone());
        inner.original.get_or_insert(before);
        inner.sounding = None;
        inner.unread = false;
        inner.main_text = Some(text.clone());
        inner.text_edition = charted.edition;
        inner.latest = Arc::new(ReadChart {
            edition: charted.edition,
            text,
            names: inner.note_names(),
            chart: Ok(charted.chart.clone()),
            planned: charted.published().cloned(),
        });
        inner.progress.main = Some(charted);
        drop(inner);
        self.edited();
    }

    /// The chart as it was before another harmony was kept.
    #[must_use]
    pub fn original(&self) -> Option<String> {
        let original = self.shared.lock().original.clone();
        original.map(|text| text.as_ref().to_owned())
    }

    /// The chart as it was before another harmony was kept comes back.
    pub fn restore(&self) {
        let mut inner = self.shared.lock();
        let Some(text) = inner.original.take() else {
            return;
        };
        inner.begin(text, None);
        drop(inner);
        self.edited();
    }

    /// Takes over a saved chart, and plans it before it returns: hosts render right after.
    /// One that is too long changes nothing.
    pub fn load(&self, new: SavedChart) {
        if !new.is_bounded() {
            return;
        }
        self.shared.read_text();
        let mut inner = self.shared.lock();
        inner.original = new.original.map(Arc::from);
        inner.names = new.names;
        inner.later = new.later;
        inner.main_text = None;
        inner.begin(new.text.into(), new.sounding.map(Arc::from));
        drop(inner);
        self.settle();
    }

    /// The chart as it is saved. It reads the text, if it has not been read.
    #[must_use]
    pub fn saved(&self) -> SavedChart {
        self.shared.read_text();
        let inner = self.shared.lock();
        let owned = |text: &Arc<str>| text.as_ref().to_owned();
        SavedChart {
            text: owned(&inner.text),
            sounding: inner.sounding.as_ref().map(owned),
            original: inner.original.as_ref().map(owned),
            names: inner.names.clone(),
            later: inner.later.clone(),
        }
    }

    /// The text as typed.
    #[must_use]
    pub fn text(&self) -> String {
        let text = self.shared.lock().text.clone();
        text.as_ref().to_owned()
    }

    /// What is wrong with the text as typed; empty if nothing is. It reads the text, if it has
    /// not been read.
    #[must_use]
    pub fn errors(&self) -> Vec<ChartError> {
        self.shared.read_text();
        self.latest().errors().to_vec()
    }

    /// The newest text that has been read. Whoever has shown one sees by its address whether
    /// there is a newer one.
    #[must_use]
    pub fn latest(&self) -> Arc<ReadChart> {
        self.shared.lock().latest.clone()
    }

    /// Reads the newest text and plans its chart in all textures, for the parameters in force,
    /// before it returns. What somebody else is planning it waits for.
    pub fn settle(&self) {
        self.shared.settle();
    }

    /// Sees to it that the worker takes what is new, or takes it where there is none.
    fn edited(&self) {
        if !self.shared.ring.get().is_some_and(|ring| ring()) {
            self.settle();
        }
    }
}

#[cfg(test)]
impl ChartCell {
    /// What the text reads as, for a test that hands it in late.
    pub(super) fn reading_under_way(&self) -> Option<Unread> {
        self.shared.lock().unread()
    }

    /// Takes over what a text reads as, like a worker that is late.
    pub(super) fn put_reading(&self, unread: &Unread) {
        let reading = read::read(unread);
        self.shared.lock().take(reading);
    }
}

impl Drop for ChartCell {
    fn drop(&mut self) {
        self.shared.gone.store(true, Ordering::Release);
        if let Some(ring) = self.shared.ring.get() {
            // Without a worker nobody has to be told.
            let _told = ring();
        }
    }
}

impl ChartWork {
    /// Whether both are ends of the same cell.
    #[must_use]
    pub fn is_of(&self, other: &ChartWork) -> bool {
        Arc::ptr_eq(&self.shared, &other.shared)
    }

    /// Whether the instance is gone.
    #[must_use]
    pub fn is_gone(&self) -> bool {
        self.shared.gone.load(Ordering::Acquire)
    }

    /// Looks whether there is anything to do, and does one piece of it: reads a text, or plans
    /// a texture. False if there was nothing. While somebody else plans for this cell, that
    /// is left to them.
    pub fn step(&self, depth: Depth) -> bool {
        if self.is_gone() {
            return false;
        }
        let mut inner = self.shared.lock();
        self.shared.look(&mut inner);
        match inner.next(depth) {
            Some(task) if !inner.planning || matches!(task, Task::Read(_)) => {
                self.shared.run(inner, task);
                true
            }
            _ => false,
        }
    }
}

/// One piece of work.
enum Task {
    Read(Unread),
    Plan(Step),
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Looks up what to plan for. It is looked up under the lock, so that of two callers the
    /// later one knows the newer values.
    fn look(&self, inner: &mut Inner) {
        if let Some(now) = self.plan_for_now.get() {
            (inner.progress.plan_for, inner.progress.in_use) = now();
        }
        inner.progress.flush();
    }

    /// Does a piece of work, and lets go of the lock for that time.
    fn run(&self, mut inner: MutexGuard<'_, Inner>, task: Task) {
        match task {
            Task::Read(unread) => {
                drop(inner);
                let reading = read::read(&unread);
                self.lock().take(reading);
            }
            Task::Plan(step) => {
                inner.planning = true;
                drop(inner);
                // A chart that cannot be planned must not cost the others their worker.
                let planned = guard::guarded(|| step.run(&*self.plan));
                let mut inner = self.lock();
                inner.planning = false;
                inner.put(&step, planned);
                drop(inner);
                self.planned.notify_all();
            }
        }
    }

    /// Reads the text, if it has not been read.
    fn read_text(&self) {
        loop {
            let inner = self.lock();
            let Some(unread) = inner.unread() else { return };
            self.run(inner, Task::Read(unread));
        }
    }

    fn settle(&self) {
        loop {
            let mut inner = self.lock();
            self.look(&mut inner);
            let Some(task) = inner.next(Depth::All) else {
                return;
            };
            if inner.planning && matches!(task, Task::Plan(_)) {
                let waited = self.planned.wait_while(inner, |inner| inner.planning);
                drop(waited);
            } else {
                self.run(inner, task);
            }
        }
    }
}

impl Inner {
    fn note_names(&self) -> NoteNames {
        saved::note_names(self.names.as_deref())
    }

    /// The number of the next text.
    const fn count(&mut self) -> u64 {
        self.edition += 1;
        self.edition
    }

    /// Puts another text in the place of the one in hand, with the one that sounds if it has
    /// errors; without that the last one sounds that could be read. Gives its number.
    fn begin(&mut self, text: Arc<str>, sounding: Option<Arc<str>>) -> u64 {
        let before = std::mem::replace(&mut self.text, text);
        if let Some(sounding) = sounding {
            self.before = vec![sounding];
        } else if self.unread {
            self.before.push(before);
            if self.before.len() > MOST_UNREAD {
                self.before.remove(1);
            }
        } else {
            self.before = vec![self.sounding.take().unwrap_or(before)];
        }
        self.sounding = None;
        self.unread = true;
        self.progress.tried = None;
        self.text_edition = self.count();
        self.text_edition
    }

    fn unread(&self) -> Option<Unread> {
        let sounds = self.before.first().zip(self.main_text.as_ref());
        let known = sounds.is_some_and(|(sounds, main)| Arc::ptr_eq(sounds, main));
        let main = self.progress.main.as_ref().filter(|_| known);
        self.unread.then(|| Unread {
            edition: self.text_edition,
            text: self.text.clone(),
            names: self.note_names(),
            before: self.before.clone(),
            known: main.map(|main| main.chart.clone()),
        })
    }

    fn next(&self, depth: Depth) -> Option<Task> {
        match self.unread() {
            Some(unread) => Some(Task::Read(unread)),
            None => self.progress.next(depth).map(Task::Plan),
        }
    }

    /// Takes over what a text reads as. That of a text that has been replaced, or that
    /// somebody else has read before, is dropped.
    fn take(&mut self, reading: Reading) {
        if !self.unread || reading.edition != self.text_edition {
            return;
        }
        self.unread = false;
        self.before.clear();
        let edition = self.text_edition;
        let (sounding, chart) = match (&reading.chart, reading.sounding) {
            (Err(_), Some((text, chart))) => (Some(text), chart),
            (chart, _) => (None, chart.as_ref().ok().cloned()),
        };
        self.main_text = Some(sounding.as_ref().unwrap_or(&self.text).clone());
        self.sounding = sounding;
        self.latest = Arc::new(ReadChart {
            edition,
            text: self.text.clone(),
            names: self.note_names(),
            chart: reading.chart,
            planned: None,
        });
        let main = self.progress.main.take();
        let same = |main: &Charted| chart.as_ref().is_some_and(|c| Arc::ptr_eq(c, &main.chart));
        self.progress.main = match main.filter(same) {
            Some(mut main) => {
                main.anew(edition, Enters::AtOnce);
                Some(main)
            }
            None => chart.map(|chart| Charted::new(edition, chart, Enters::AtOnce)),
        };
        let sent = self.progress.send_main();
        self.show(sent);
    }

    /// Takes over what has come of a step. While a newer text waits to be read, it is late.
    fn put(&mut self, step: &Step, planned: Option<PlannedChart>) {
        if !self.unread {
            let new = self.progress.put(step, planned);
            self.show(new);
        }
    }

    /// Shows what is new of the text's own chart.
    fn show(&mut self, planned: Option<Arc<PlannedChart>>) {
        if planned.is_some() && self.latest.chart.is_ok() {
            self.latest = Arc::new(ReadChart {
                planned,
                ..(*self.latest).clone()
            });
        }
    }
}

/// Plans one texture as the chart is played: around its end to its beginning.
fn plan(planned: &PlannedChart, texture: Texture) -> Vec<Option<Voiced>> {
    let register = planned.plan_for.register;
    pipeline::plan(&planned.chords(), texture, register, Ends::Cyclic)
}
