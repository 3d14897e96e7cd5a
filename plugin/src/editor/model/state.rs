//! What the panel remembers from frame to frame. Only `apply` and the upkeep before a
//! frame change it. The panel's thread; `window` and `apply` import it.

use crate::bridge::chart::ReadChart;
use crate::editor::model::chart::ChartText;
use crate::editor::model::files::{Came, FilesAction, NewChart};
use crate::editor::model::harmonies::melody;
use crate::editor::model::in_hand::InHand;
use crate::editor::model::meter::Meter;
use crate::editor::model::outside::Outside;
use crate::editor::model::own;
use crate::editor::model::page::Page;
use crate::editor::model::pages::Pages;
use crate::editor::model::practice::PracticeAction;
use crate::editor::model::take::{Stage, Takes};
use crate::engine::snapshot::Snapshot;
use guidehand_theory::pipeline;
use std::ops::RangeInclusive;
use std::sync::Arc;

/// What the panel remembers from frame to frame.
pub struct Model {
    /// The chart under edit.
    pub chart: ChartText,
    /// The chord in hand.
    pub in_hand: InHand,
    /// The pages beside it.
    pub pages: Pages,
    /// What the meter of the audition tone shows.
    pub meter: Meter,
    /// The keys that the keyboard goes on showing while a handle is dragged.
    pub keys_kept: Option<RangeInclusive<u8>>,
    /// How long has been practised since the start, in minutes.
    practised_minutes: u16,
}

impl Model {
    /// A panel that has shown nothing yet.
    #[must_use]
    pub fn new(latest: Arc<ReadChart>) -> Model {
        Model {
            chart: ChartText::new(latest),
            in_hand: InHand::default(),
            pages: Pages::default(),
            meter: Meter::default(),
            keys_kept: None,
            practised_minutes: 0,
        }
    }

    /// Takes over what has changed outside. Once a frame, before anything is drawn.
    pub fn refresh(&mut self, snapshot: &Snapshot, outside: &mut dyn Outside) {
        self.chart.refresh(outside.chart());
        if let Some(action) = self.pages.files.answered() {
            self.work_on_files(action, outside);
        }
        match self.pages.files.refresh(outside) {
            Some(Came::Chart(new)) => bring(&mut self.chart, &new, outside),
            Some(Came::Voicings(path, voicings)) => {
                let joined = own::join(&mut self.chart, &voicings, outside);
                self.pages.files.tell(own::told(&path, &joined));
            }
            Some(Came::Record(path, record)) => {
                let said = self.pages.practice.join(&path, &record, outside);
                self.pages.files.tell(said);
            }
            None => {}
        }
        self.practised_minutes = snapshot.practice.map_or(0, |asking| asking.minutes);
        let is_open = self.pages.open == Page::Practice;
        let practice = &mut self.pages.practice;
        practice.follow(self.practised_minutes, is_open, outside);
        self.chart.follow(snapshot);
        let snapshot = &self.of_this_text(snapshot);
        let engine = self.pages.harmonies.as_written(snapshot);
        let tries = self.pages.ways.tries();
        let panel = outside.panel();
        self.in_hand.follow(&self.chart, &engine, tries, &panel);
        let Model { chart, pages, .. } = self;
        pages.follow_source(outside.settings().source);
        let harmonies = &mut pages.harmonies;
        take_old_melody(chart, outside);
        record(chart, &mut pages.takes, outside);
        let read = (!chart.is_unread()).then(|| &**chart.reading());
        let heard = harmonies.refresh(chart.shared(), read, snapshot, outside);
        if let Some((text, is_first)) = heard {
            chart.write_melody(&text, is_first, outside);
        }
        let settings = outside.settings();
        let held = self.in_hand.held(chart);
        let asked = held.filter(|_| pages.open == Page::Chord);
        let melody = harmonies.notes();
        let own = &chart.document().own;
        pages.ways.ask(asked.as_ref(), own, &settings.taste, melody);
        let shown = self.in_hand.is_shown(snapshot, &settings);
        let mut marked = held.filter(|_| shown).and_then(|held| held.symbol());
        if pages.open == Page::Harmonies {
            let place = harmonies.place(chart.selection(), snapshot);
            harmonies.ask(place, outside.plan_for().pinned);
            marked = harmonies.marked();
        }
        chart.mark(marked);
    }

    /// Carries out what a player asks for at the files.
    pub fn work_on_files(&mut self, action: FilesAction, outside: &mut dyn Outside) {
        let chart = (self.chart.document(), self.chart.names());
        if let Some(new) = self.pages.files.apply(action, chart, outside) {
            bring(&mut self.chart, &new, outside);
        }
    }

    /// Carries out what a player asks for in practice.
    pub fn practise(&mut self, action: PracticeAction, outside: &mut dyn Outside) {
        let heard = (&self.chart, self.practised_minutes);
        self.pages.practice.apply(action, heard, outside);
    }

    /// What the engine tells, without its place where that is one in another chart: the text in
    /// hand does not play yet. A harmony that is tried has the bars of the chart.
    #[must_use]
    pub fn of_this_text(&self, snapshot: &Snapshot) -> Snapshot {
        if self.pages.harmonies.tried().is_some() || self.chart.plays(snapshot) {
            return *snapshot;
        }
        Snapshot {
            beat_ticks: None,
            change: None,
            ..*snapshot
        }
    }
}

/// Puts a new chart in the place of the one in hand.
fn bring(chart: &mut ChartText, new: &NewChart, outside: &mut dyn Outside) {
    let NewChart { text, kept, melody } = new;
    chart.bring(text, kept.as_ref(), melody.as_ref(), outside);
}

/// A take that is over becomes the melody of the bars that were played, as one step.
fn record(chart: &mut ChartText, takes: &mut Takes, outside: &mut dyn Outside) {
    takes.take_in(outside);
    if takes.stage() != Stage::Ending || chart.is_unread() {
        return;
    }
    let Some(read) = chart.shared().cloned() else {
        return;
    };
    let Ok(melody) = chart.reading().melody.clone() else {
        return;
    };
    if let Some(melody) = takes.ended(&read, &melody, outside) {
        let placed = pipeline::place(&read, outside.plan_for().pinned);
        let melody = pipeline::named(&melody, &read, &placed);
        chart.write_melody(&melody.text(&read), true, outside);
    }
}

/// Puts the melody that an older version has saved into the document, as soon as its chart can be
/// read.
fn take_old_melody(chart: &mut ChartText, outside: &mut dyn Outside) {
    let read = chart.shared().filter(|_| !chart.is_unread()).cloned();
    if let Some((read, old)) = read.zip(outside.old_melody()) {
        if chart.document().melody.is_empty() {
            let melody = melody::of_old(&old);
            chart.write_melody(&melody.text(&read), false, outside);
        }
        outside.forget_old_melody();
    }
}
