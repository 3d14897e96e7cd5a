//! What is remembered of other harmonies from frame to frame, and what there is to
//! read of it. The panel's thread; `apply` and the region import it.

use super::dressing::Wishes;
use super::melody::{self, RightHand};
use super::offers::{self, Offer, Offers};
use super::place;
use crate::bridge::chart::ReadChart;
use crate::editor::model::outside::Outside;
use crate::engine::snapshot::Snapshot;
use guidehand_theory::chart::Chart;
use guidehand_theory::key::Key;
use guidehand_theory::melody::{self as melodies, Melody};
use guidehand_theory::pipeline;
use guidehand_theory::reharm::{Dress, Note};
use std::ops::Range;
use std::sync::Arc;

/// Another harmony that is tried.
#[derive(Clone, Debug)]
pub struct Tried {
    /// What it is, by its trade name.
    pub name: String,
    /// The offer that it comes from; none if bars were dressed.
    pub offer: Option<Offer>,
    /// It sounds, or will from the next bar line on; otherwise the chart does.
    pub sounds: bool,
    /// The whole chart with it.
    pub(super) text: String,
    pub(super) chart: Option<Arc<Chart>>,
}

/// What the offers depend on.
#[derive(Clone)]
pub(super) struct Asked {
    chart: Arc<Chart>,
    at: Range<usize>,
    pub(super) melody: Arc<Melody>,
    pub(super) pinned: Option<Key>,
}

/// What is remembered from frame to frame.
#[derive(Default)]
pub struct Harmonies {
    /// All bars are dressed at once, and not those asked about alone.
    pub(super) all_bars: bool,
    /// The line of the melody as it is typed.
    pub(super) line: String,
    /// What is wrong with it; empty if nothing is.
    pub(super) line_error: String,
    /// What could not be done, in words.
    pub(super) said: String,
    /// The chart as it is written, if it can be read.
    pub(super) chart: Option<Arc<Chart>>,
    /// What the offers are for.
    pub(super) asked: Option<Asked>,
    /// There are chords that are asked about.
    pub(super) asks: bool,
    pub(super) offers: Offers,
    pub(super) tried: Option<Tried>,
    pub(super) wishes: Wishes,
    /// The melody of the document.
    pub(super) melody: Arc<Melody>,
    /// The melody as it is typed has errors, and is another one.
    pub(super) melody_broken: bool,
    /// The notes of the melody that harmonies must bear.
    pub(super) notes: Vec<Note>,
    /// The hand that plays the melody, while it is listened to.
    pub(super) right_hand: Option<RightHand>,
}

impl Harmonies {
    /// Sees to it that nothing is remembered of another chart, or of another melody, than the one in
    /// hand, and follows the right hand. Once a frame, before anything is drawn. `reading` is what the
    /// text in hand reads as, if it has been read. Returns the text of another melody, if the right
    /// hand has played one, and whether it is the first of it.
    pub fn refresh(
        &mut self,
        chart: Option<&Arc<Chart>>,
        reading: Option<&ReadChart>,
        snapshot: &Snapshot,
        outside: &mut dyn Outside,
    ) -> Option<(String, bool)> {
        let same = match (&self.chart, chart) {
            (Some(before), Some(now)) => Arc::ptr_eq(before, now),
            (before, now) => before.is_none() && now.is_none(),
        };
        if !same {
            self.chart = chart.cloned();
            self.wishes = Wishes::default();
            self.said.clear();
        }
        let sounds = self.tried.as_ref().is_some_and(|tried| tried.sounds);
        if !same || sounds && !outside.is_tried() {
            self.tried = None;
        }
        let known = self.melody.clone();
        if let Some(reading) = reading {
            self.melody_broken = !reading.melody_errors().is_empty();
            // Where it has errors, the one in force counts.
            let in_force = || reading.planned.as_ref().map(|planned| planned.melody());
            if let Some(melody) = reading.melody.as_ref().ok().or_else(in_force)
                && *melody != self.melody
            {
                self.melody = melody.clone();
            }
        }
        if !same || !Arc::ptr_eq(&known, &self.melody) {
            let notes = chart.map(|chart| melody::notes(&self.melody, chart));
            self.notes = notes.unwrap_or_default();
        }
        self.listen(&self.as_written(snapshot), outside)
    }

    /// The notes of the melody that matter to the chords.
    #[must_use]
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }

    /// The chords that are asked about: those at a part of the text, or those that
    /// sound. While something is tried over chords that sounded, it stays with them.
    #[must_use]
    pub fn place(
        &self,
        selection: Option<Range<usize>>,
        snapshot: &Snapshot,
    ) -> Option<Range<usize>> {
        let chart = self.chart.as_ref()?;
        if let Some(part) = selection {
            return place::at_text(chart, &part);
        }
        let stays = self.tried.as_ref().and_then(|_| self.at());
        stays.or_else(|| self.as_written(snapshot).change.map(|at| at..at + 1))
    }

    /// Asks about changes of the chart, or about none. Proposals are worked out only
    /// where something that they depend on has changed.
    pub fn ask(&mut self, at: Option<Range<usize>>, pinned: Option<Key>) {
        self.asks = at.is_some();
        let Some((chart, at)) = self.chart.clone().zip(at) else {
            return;
        };
        let at = at.start..at.end.min(at.start + place::MOST);
        let new = Asked {
            chart,
            at,
            melody: self.melody.clone(),
            pinned,
        };
        let before = self.asked.as_ref();
        let same_place =
            before.is_some_and(|b| Arc::ptr_eq(&b.chart, &new.chart) && b.at == new.at);
        let same_melody = before.is_some_and(|b| b.melody == new.melody);
        if same_place && same_melody && before.is_some_and(|b| b.pinned == pinned) {
            return;
        }
        if !same_place || !same_melody {
            self.line = melody::line(&self.melody, &new.chart, &new.at);
            self.line_error.clear();
        }
        if !same_place {
            self.said.clear();
        }
        self.offers = offers::offers(&new.chart, &new.at, &self.notes, pinned);
        self.asked = Some(new);
    }

    /// The changes that are asked about.
    #[must_use]
    pub fn at(&self) -> Option<Range<usize>> {
        Some(self.asked.as_ref()?.at.clone())
    }

    /// Where they stand in the text, in bytes.
    #[must_use]
    pub fn marked(&self) -> Option<Range<usize>> {
        let asked = self.asked.as_ref()?;
        let same = self
            .chart
            .as_ref()
            .is_some_and(|c| Arc::ptr_eq(c, &asked.chart));
        let changes = asked.chart.changes.get(asked.at.clone())?;
        let (first, last) = (changes.first()?, changes.last()?);
        same.then_some(first.source.start..last.source.end)
    }

    /// What there is to choose from.
    #[must_use]
    pub const fn offers(&self) -> &Offers {
        &self.offers
    }

    /// What is tried.
    #[must_use]
    pub const fn tried(&self) -> Option<&Tried> {
        self.tried.as_ref()
    }

    /// The chart as it is written, if it can be read.
    #[must_use]
    pub const fn chart(&self) -> Option<&Arc<Chart>> {
        self.chart.as_ref()
    }

    /// Whether there are chords that are asked about.
    #[must_use]
    pub const fn asks(&self) -> bool {
        self.asks
    }

    /// Whether all bars are dressed at once, and not those asked about alone.
    #[must_use]
    pub const fn all_bars(&self) -> bool {
        self.all_bars
    }

    /// The line of the melody as it is typed.
    #[must_use]
    pub fn line(&self) -> &str {
        &self.line
    }

    /// What is wrong with that line; empty if nothing is.
    #[must_use]
    pub fn line_error(&self) -> &str {
        &self.line_error
    }

    /// What could not be done, in words; empty if nothing is to be said.
    #[must_use]
    pub fn said(&self) -> &str {
        &self.said
    }

    /// What is wished for the bars that are dressed, if it is one thing.
    #[must_use]
    pub fn wish(&self, chart: &Chart) -> Option<Dress> {
        let bars = self.bars(chart)?;
        let first = self.wishes.of(bars.start);
        bars.clone()
            .all(|bar| self.wishes.of(bar) == first)
            .then_some(first)
    }

    /// The bars of the text that are dressed at a press.
    pub(super) fn bars(&self, chart: &Chart) -> Option<Range<usize>> {
        if self.all_bars {
            return Some(0..chart.written.len());
        }
        let at = self.at()?;
        let changes = chart.changes.get(at)?.iter();
        let bars = changes.filter_map(|c| Some(chart.bars.get(c.bar)?.written));
        Some(bars.clone().min()?..bars.max()? + 1)
    }

    /// The melody is this one, until the document has been read with it.
    pub(super) fn put_melody(&mut self, text: &str, chart: &Chart) {
        self.melody = melodies::parse(text, chart).unwrap_or_default().into();
        self.notes = melody::notes(&self.melody, chart);
    }

    /// Whether the melody is taken from the right hand.
    #[must_use]
    pub const fn listens(&self) -> bool {
        self.right_hand.is_some()
    }

    /// Takes what the right hand plays for the melody, unless that has errors. `snapshot` tells the
    /// change of the chart as written.
    fn listen(&mut self, snapshot: &Snapshot, outside: &mut dyn Outside) -> Option<(String, bool)> {
        let chart = self.chart.clone().filter(|_| !self.melody_broken)?;
        let (hand, at) = self.right_hand.as_mut().zip(snapshot.change)?;
        let highest = melody::highest(snapshot.held, outside.settings().split);
        let (at, key) = hand.follow(at, highest)?;
        let is_first = hand.is_first();
        let melody = melody::with_key(&self.melody, &chart, at, key);
        let placed = pipeline::place(&chart, outside.plan_for().pinned);
        let melody = pipeline::named(&melody, &chart, &placed);
        let text = melody.text(&chart);
        self.put_melody(&text, &chart);
        Some((text, is_first))
    }

    /// What the engine tells, with the change of the chart as written in the place
    /// of the one in what is tried, which may sound up to the bar line after it was taken back.
    #[must_use]
    pub fn as_written(&self, snapshot: &Snapshot) -> Snapshot {
        let (Some(_), Some(chart)) = (&self.tried, &self.chart) else {
            return *snapshot;
        };
        let ticks = snapshot.beat_ticks;
        Snapshot {
            change: ticks.and_then(|ticks| place::at_ticks(chart, ticks)),
            ..*snapshot
        }
    }

    /// The chart that sounds: the one that is tried, or the one that is written.
    #[must_use]
    pub fn sounding(&self) -> Option<&Arc<Chart>> {
        let tried = self.tried.as_ref().filter(|tried| tried.sounds);
        tried.and_then(|t| t.chart.as_ref()).or(self.chart.as_ref())
    }
}
