//! What the region remembers, and what becomes of a press: what is asked about,
//! what is tried, and the melody. Imports `place`, `melody`, `offers`, `dressing`,
//! the chart's text and `desk`.

pub mod dressing;
pub mod melody;
pub mod offers;
pub mod place;

use self::dressing::Wishes;
use self::melody::{Ear, Melody};
use self::offers::{Offers, Row};
use crate::bridge::chart::ChartCell;
use crate::editor::window::desk::Desk;
use crate::engine::settings::Settings;
use crate::engine::snapshot::Snapshot;
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pitch::{MidiNote, NoteName};
use guidehand_theory::reharm::Dress;
use std::ops::Range;
use std::sync::Arc;

/// Another harmony that is tried.
#[derive(Clone, Debug)]
pub struct Tried {
    /// What it is, by its trade name.
    pub name: String,
    /// The row that it comes from; none if bars were dressed.
    pub row: Option<Row>,
    /// It sounds, or will from the next bar line on; otherwise the chart does.
    pub sounds: bool,
    /// The whole chart with it.
    text: String,
    chart: Option<Arc<Chart>>,
}

/// What the answers depend on.
#[derive(Clone)]
struct Asked {
    chart: Arc<Chart>,
    at: Range<usize>,
    melody: u32,
    pinned: Option<Key>,
}

/// The chart as written, and its text.
#[derive(Clone, Copy)]
pub struct Written<'a> {
    /// The text.
    pub text: &'a str,
    /// What it reads as.
    pub chart: &'a Arc<Chart>,
}

/// What the region remembers from frame to frame.
#[derive(Default)]
pub struct Harmonies {
    /// The region is on show.
    pub open: bool,
    /// Bars are dressed all at once, and not those asked about alone.
    pub all_bars: bool,
    /// The line of the melody in the hands of the user.
    pub line: String,
    /// What is wrong with it; empty if nothing is.
    pub line_error: String,
    /// What could not be done, in words.
    pub said: String,
    chart: Option<Arc<Chart>>,
    asked: Option<Asked>,
    offers: Offers,
    tried: Option<Tried>,
    wishes: Wishes,
    melody: Melody,
    /// Counts the edits of the melody; it wraps.
    melody_edition: u32,
    /// The melody as it was read from the saved field.
    melody_known: String,
    ear: Option<Ear>,
}

impl Harmonies {
    /// Sees to it that nothing is remembered of another chart, or of another saved
    /// melody, than the one in hand. Once a frame.
    pub fn refresh(&mut self, chart: Option<&Arc<Chart>>, desk: &Desk) {
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
        if !same || sounds && desk.params.chart.tried().is_none() {
            self.tried = None;
        }
        if let Some(text) = desk.params.melody.other_than(&self.melody_known) {
            self.melody = Melody::from_text(&text);
            self.melody_known = text;
            self.melody_edition = self.melody_edition.wrapping_add(1);
        }
    }

    /// Asks about changes of the chart. Works only where something is another
    /// thing than it was.
    pub fn ask(&mut self, chart: &Arc<Chart>, at: Range<usize>, pinned: Option<Key>) {
        let at = at.start..at.end.min(at.start + place::MOST);
        let new = Asked {
            chart: chart.clone(),
            at,
            melody: self.melody_edition,
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
            self.line = self.melody.line(chart, &new.at);
            self.line_error.clear();
        }
        if !same_place {
            self.said.clear();
        }
        self.offers = offers::offers(chart, &new.at, &self.melody.notes(), pinned);
        self.asked = Some(new);
    }

    /// The changes that are asked about.
    #[must_use]
    pub fn at(&self) -> Option<Range<usize>> {
        Some(self.asked.as_ref()?.at.clone())
    }

    /// Where they stand in the text, in bytes, while the region is on show.
    #[must_use]
    pub fn marked(&self) -> Option<Range<usize>> {
        let asked = self.asked.as_ref().filter(|_| self.open)?;
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

    /// Tries a row, or flips between it and the chart as written.
    pub fn press(&mut self, row: &Row, written: Written, cell: &ChartCell) {
        if let Some(tried) = self.tried.as_ref()
            && tried.row.as_ref() == Some(row)
        {
            let sounds = !tried.sounds;
            return self.flip(sounds, cell);
        }
        self.said.clear();
        match row.write(written.text, written.chart) {
            Some(text) => {
                self.wishes = Wishes::default();
                self.try_out(row.name.clone(), Some(row.clone()), text, cell);
            }
            None => {
                "The chart cannot hold it: a bar that is played more than once would differ, or a \
                 chord falls between two beats."
                    .clone_into(&mut self.said);
            }
        }
    }

    fn try_out(&mut self, name: String, row: Option<Row>, text: String, cell: &ChartCell) {
        cell.try_out(Some(&text));
        self.tried = Some(Tried {
            name,
            row,
            sounds: true,
            chart: chart::parse_with(&text, cell.names()).ok().map(Arc::new),
            text,
        });
    }

    /// Lets what is tried sound, or the chart as written, from the next bar line.
    pub fn flip(&mut self, sounds: bool, cell: &ChartCell) {
        if let Some(tried) = &mut self.tried {
            tried.sounds = sounds;
            cell.try_out(sounds.then_some(&tried.text));
        }
    }

    /// What is tried becomes the chart.
    pub fn keep(&mut self, desk: &mut Desk) {
        if let Some(tried) = self.tried.take() {
            desk.params.chart.try_out(Some(&tried.text));
            desk.params.chart.keep();
            desk.saved_field_changed();
        }
    }

    /// What is tried is forgotten; the chart sounds from the next bar line.
    pub fn drop_tried(&mut self, cell: &ChartCell) {
        self.tried = None;
        self.wishes = Wishes::default();
        self.said.clear();
        cell.try_out(None);
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
    fn bars(&self, chart: &Chart) -> Option<Range<usize>> {
        if self.all_bars {
            return Some(0..chart.written.len());
        }
        let at = self.at()?;
        let changes = chart.changes.get(at)?.iter();
        let bars = changes.filter_map(|c| Some(chart.bars.get(c.bar)?.written));
        Some(bars.clone().min()?..bars.max()? + 1)
    }

    /// Dresses bars, and tries that.
    pub fn dress(&mut self, dress: Dress, written: Written, cell: &ChartCell, pinned: Option<Key>) {
        let Written { text, chart } = written;
        let Some(bars) = self.bars(chart) else { return };
        self.wishes.wish(chart, bars, dress);
        let melody = self.melody.notes();
        let dressed = dressing::dressed(text, chart, &self.wishes, &melody, pinned);
        self.said = dressed.words();
        match dressed.text {
            Some(text) => {
                let name = self.dress_name(chart);
                self.try_out(name.to_owned(), None, text, cell);
            }
            None => {
                self.tried = None;
                cell.try_out(None);
                let wished = self.wishes.of_all(chart) != Some(Dress::Written);
                if wished && self.said.is_empty() {
                    "Nothing is to be changed there.".clone_into(&mut self.said);
                }
            }
        }
    }

    fn dress_name(&self, chart: &Chart) -> &'static str {
        match self.wishes.of_all(chart) {
            Some(Dress::Plain) => "plain",
            Some(Dress::Dressed) => "dressed",
            Some(Dress::Rich) => "rich",
            Some(Dress::Written) | None => "bar by bar",
        }
    }

    /// Takes over the line of the melody as typed.
    pub fn line_typed(&mut self, chart: &Chart, desk: &mut Desk) {
        let Some(at) = self.at() else { return };
        match melody::read_line(&self.line, at.len()) {
            Ok(names) => {
                self.line_error.clear();
                let line = std::mem::take(&mut self.line);
                self.melody.put(chart, &at, &names);
                self.melody_moved(desk);
                // What was typed stays as it was typed.
                self.line = line;
                if let Some(asked) = &mut self.asked {
                    asked.melody = self.melody_edition;
                    let melody = self.melody.notes();
                    self.offers = offers::offers(chart, &at, &melody, asked.pinned);
                }
                desk.saved_field_changed();
            }
            Err(words) => self.line_error = words,
        }
    }

    fn melody_moved(&mut self, desk: &Desk) {
        self.melody_edition = self.melody_edition.wrapping_add(1);
        self.melody_known = self.melody.to_text();
        desk.params.melody.put(&self.melody_known);
    }

    /// Whether the melody is taken from the right hand.
    #[must_use]
    pub const fn listens(&self) -> bool {
        self.ear.is_some()
    }

    /// Takes the melody from the right hand, or no longer.
    pub fn set_listens(&mut self, listens: bool, desk: &mut Desk) {
        self.ear = listens.then(Ear::default);
        // The host is told once for all that was heard.
        desk.saved_field_changed();
    }

    /// Listens to the right hand. Once a frame.
    pub fn listen(&mut self, snapshot: &Snapshot, settings: &Settings, desk: &Desk) {
        let Some(chart) = self.chart.clone() else {
            return;
        };
        let Some((ear, at)) = self.ear.as_mut().zip(snapshot.change) else {
            return;
        };
        let highest = melody::highest(snapshot.held, settings.split);
        if let Some((at, key)) = ear.listen(at, highest) {
            let name = name(&chart, at, key, desk.params.plan_for().pinned);
            self.melody.put(&chart, &(at..at + 1), &[Some(name)]);
            self.melody_moved(desk);
        }
    }

    /// What the engine tells, with the change of the chart as written in the place
    /// of the one in what is tried.
    #[must_use]
    pub fn as_written(&self, snapshot: &Snapshot) -> Snapshot {
        let tried = self.tried.as_ref().filter(|tried| tried.sounds);
        let (Some(_), Some(chart)) = (tried, &self.chart) else {
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

/// A key's name over a change of the chart.
fn name(chart: &Chart, at: usize, key: u8, pinned: Option<Key>) -> NoteName {
    let window = place::window(chart, &(at..at + 1), pinned);
    let span = window.spans.get(at - window.first);
    let in_force = span.and_then(|span| span.function).map(|f| f.key);
    let class = MidiNote::clamp(i32::from(key)).class();
    let plain = || Key::usual(MidiNote::clamp(60).class(), Mode::Major);
    in_force.unwrap_or_else(plain).name(class)
}
