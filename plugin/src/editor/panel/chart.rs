//! The chart: its text, edited in place, with what becomes of it: forms, keys,
//! beats, the place that sounds, and what is wrong. Imports `view`, `desk`,
//! `theme` and `widgets`.
//!
//! The text is cut into `words`, set in `columns` by `layout`, found again in its
//! `rows`, and dressed by `paint`; `forms` plans what is written under it,
//! `history` and `transpose` change it, and `tools` are the buttons for that.

mod columns;
mod forms;
mod layout;
mod paint;
mod rows;
#[cfg(test)]
mod tests;
mod tools;

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::chart::ChartAction;
use crate::editor::model::history::{self, History};
use crate::editor::model::outside::{HeldChart, Outside};
use crate::editor::model::transpose::{self, Direction};
use crate::editor::model::words::{self, Bar};
use crate::editor::panel::view::View;
use crate::editor::{theme, view, widgets};
use crate::engine::snapshot::Snapshot;
use egui::text::{CCursor, CCursorRange};
use egui::text_edit::{TextEditOutput, TextEditState};
use egui::{
    Align, Color32, Frame, Galley, Id, Layout, Margin, Rect, Response, ScrollArea, Shape, TextEdit,
    Ui, vec2,
};
use forms::{Forms, Wanted};
use guidehand_theory::chart::{self, Chart, ChartError};
use guidehand_theory::key::Key;
use guidehand_theory::pitch::NoteNames;
use layout::{LINE, Laid};
use rows::Rows;
use std::ops::Range;
use std::sync::Arc;
use std::time::Duration;

/// The height kept for the list of errors, in points: in a low region, and in a
/// high one.
const ERRORS: [f32; 2] = [48.0, 86.0];
/// A region from this height on is a high one, in points.
const HIGH: f32 = 200.0;
/// Left of the text, for the numbers of bars, in points.
const GUTTER: i8 = 30;
/// Between looks at a plan that is under way.
const PLAN_LOOK: Duration = Duration::from_millis(60);

/// The text as it stands in the cell, and what it reads as.
pub struct ChartText {
    /// The text in the hands of the user.
    text: String,
    /// The text that was read last; the cell holds the same.
    known: String,
    /// The language of its notes.
    names: NoteNames,
    /// The chart, if there is nothing wrong with the text.
    chart: Option<Arc<Chart>>,
    errors: Vec<ChartError>,
    /// The bars in the order of the text.
    bars: Vec<Bar>,
    /// The places of symbols in the text, ascending, each with the first change
    /// of the chart that plays it.
    changes_at: Vec<(usize, usize)>,
    forms: Forms,
    /// Where other keys begin, and the edition of the forms that tell.
    keys: (Option<u32>, Vec<(usize, Key)>),
    history: History,
    /// Transpositions that lead back to the very text before.
    moved: Vec<Moved>,
    laid: Option<Laid>,
    rows: Option<Rows>,
    /// The bar that was shown last, so that the view follows the playing once a
    /// bar and can be scrolled in between.
    shown: Option<usize>,
    /// Where the text's cursor is to go, in bytes.
    cursor_to: Option<usize>,
    /// What is selected, in bytes; the toolkit forgets it with the focus.
    selected: Option<Range<usize>>,
    /// A part of the text that other regions speak of, in bytes.
    marked: Option<Range<usize>>,
}

/// A transposition that can be taken back.
struct Moved {
    before: String,
    after: String,
    direction: Direction,
}

/// More transpositions than an octave there and back are not remembered.
const MOST_MOVED: usize = 24;

/// The place that sounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Playing {
    /// The bar in the text.
    bar: usize,
    /// The chord in it.
    share: usize,
    /// The beat in it, from 0.
    beat: u32,
    /// The change as played.
    change: Option<usize>,
}

impl ChartText {
    /// Reads the text of the cell.
    #[must_use]
    pub fn new(held: HeldChart) -> Self {
        let mut new = ChartText {
            text: held.text.clone(),
            known: String::new(),
            names: NoteNames::default(),
            chart: None,
            errors: Vec::new(),
            bars: Vec::new(),
            changes_at: Vec::new(),
            forms: Forms::default(),
            keys: (None, Vec::new()),
            history: History::default(),
            moved: Vec::new(),
            laid: None,
            rows: None,
            shown: None,
            cursor_to: None,
            selected: None,
            marked: None,
        };
        new.read(held);
        new
    }

    /// The chart, if there is nothing wrong with the text.
    #[must_use]
    pub fn chart(&self) -> Option<&Chart> {
        self.chart.as_deref()
    }

    /// The chart, where others may keep it.
    #[must_use]
    pub const fn shared(&self) -> Option<&Arc<Chart>> {
        self.chart.as_ref()
    }

    /// The language of the notes in the text.
    #[must_use]
    pub const fn names(&self) -> NoteNames {
        self.names
    }

    /// Puts another text in the place of the one in hand whose notes have their
    /// English names.
    pub fn put_english(&mut self, text: &str, outside: &mut dyn Outside) {
        let text = chart::renamed(text, NoteNames::English, self.names);
        self.put(text, outside);
    }

    /// The text that was read last.
    #[must_use]
    pub fn written(&self) -> &str {
        &self.known
    }

    /// The part of the text that was selected when it last had the focus, in bytes;
    /// an empty one where the cursor stood. None before there was a cursor.
    #[must_use]
    pub fn selection(&self) -> Option<Range<usize>> {
        self.selected.clone()
    }

    /// Marks a part of the text, in bytes, or none.
    pub fn mark(&mut self, part: Option<Range<usize>>) {
        self.marked = part;
    }

    /// Reads the text of the cell again where it is another one: a state has been
    /// loaded. Every edit goes to the cell at once, so nothing typed is lost, and
    /// what was there before can be had back.
    pub fn refresh(&mut self, held: HeldChart) {
        if held.text == self.known {
            if held.names != self.names {
                self.laid = None;
                self.read(held);
            }
            return;
        }
        self.history.step(&self.known);
        let changed = history::changed(&self.known, &held.text);
        self.selected = self.selected.take().map(|_| changed);
        self.text.clone_from(&held.text);
        self.read(held);
    }

    /// Reads the text in hand, which the plugin holds too.
    fn read(&mut self, held: HeldChart) {
        self.known.clone_from(&self.text);
        self.names = held.names;
        self.errors = held.errors;
        let read = || chart::parse_with(&self.text, self.names);
        let chart = self.errors.is_empty().then(read);
        self.chart = chart.and_then(Result::ok).map(Arc::new);
        self.bars = words::bars(&self.text, self.names);
        let changes = self.chart.iter().flat_map(|chart| &chart.changes);
        self.changes_at = changes.map(|c| c.source.start).zip(0..).collect();
        self.changes_at.sort_unstable();
        self.changes_at.dedup_by_key(|(at, _)| *at);
        self.keys = (None, Vec::new());
    }

    /// Carries out what the player asked for.
    pub fn apply(&mut self, action: ChartAction, outside: &mut dyn Outside) {
        match action {
            ChartAction::Type {
                text,
                cursor,
                now_seconds,
            } => {
                self.history.record(&self.known, &text, now_seconds);
                self.text = text;
                self.selected = Some(cursor);
                self.hand_on(outside);
            }
            ChartAction::Select(part) => self.selected = Some(part),
            ChartAction::GoTo(at) => self.cursor_to = Some(at),
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

    /// Hands the text on, and reads it.
    fn hand_on(&mut self, outside: &mut dyn Outside) {
        outside.set_chart(&self.text);
        self.read(outside.chart());
    }

    /// Puts another text in the place of the one in hand; the history is the
    /// caller's business.
    fn replace(&mut self, text: String, outside: &mut dyn Outside) {
        let changed = history::changed(&self.text, &text);
        self.cursor_to = Some(changed.end);
        self.selected = Some(changed.end..changed.end);
        self.text = text;
        self.hand_on(outside);
    }

    /// A whole other chart, as one step.
    pub fn put(&mut self, text: String, outside: &mut dyn Outside) {
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
        let after = transpose::transposed(&self.text, direction, self.names);
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

    /// The place that sounds. There is none while the text has errors: an older
    /// chart sounds then.
    fn playing(&self, snapshot: &Snapshot) -> Option<Playing> {
        let chart = self.chart.as_ref()?;
        let change = snapshot.change.and_then(|at| chart.changes.get(at));
        let ticks = snapshot.beat_ticks.or(change.map(|c| c.start_ticks))?;
        let played = chart.bars.get(chart.bar_at(ticks))?;
        let since = ticks.checked_sub(played.start_ticks)?;
        let bar = self.bars.get(played.written)?;
        let nth = bar.share_at(since).unwrap_or(0);
        // A slash prolongs the chord before it.
        let slash = |share: &usize| {
            let word = bar
                .shares
                .get(*share)
                .and_then(|s| self.text.get(s.clone()));
            matches!(word, Some("/" | "."))
        };
        let share = (0..=nth).rev().find(|share| !slash(share)).unwrap_or(0);
        Some(Playing {
            bar: played.written,
            share,
            beat: since / played.meter.beat_ticks().max(1),
            change: snapshot.change,
        })
    }

    /// The change that is told under a symbol: of several playings the one under
    /// way, or the first.
    fn change_at(&self, symbol: usize, playing: Option<&Playing>) -> Option<usize> {
        let chart = self.chart.as_ref()?;
        let under_way = playing.and_then(|p| p.change).filter(|change| {
            let change = chart.changes.get(*change);
            change.is_some_and(|c| c.source.start == symbol)
        });
        under_way.or_else(|| {
            let found = self.changes_at.binary_search_by_key(&symbol, |(at, _)| *at);
            Some(self.changes_at.get(found.ok()?)?.1)
        })
    }

    /// Sees to the voicings that are told under the symbols.
    fn plan(&mut self, ui: &Ui, view: &View) {
        let Some(chart) = &self.chart else { return };
        let wanted = Wanted {
            taste: view.settings.taste,
            plan_for: view.plan_for,
        };
        if self.forms.keep(chart, wanted) {
            ui.ctx().request_repaint_after(PLAN_LOOK);
        }
        let edition = Some(self.forms.edition());
        if self.keys.0 != edition {
            self.keys = (edition, forms::keys(chart, &self.forms));
        }
    }
}

pub(crate) fn text_id() -> Id {
    Id::unique("the chart's text")
}

/// Lays the region out.
pub fn region(ui: &mut Ui, chart: &mut ChartText, view: &View, actions: &mut Actions) {
    tools::shortcuts(ui, actions);
    chart.plan(ui, view);
    let snapshot = &view.as_written;
    let palette = theme::palette(ui.ctx());
    let heading = ui.horizontal(|ui| {
        let heading = ui.heading("Chart");
        ui.add_space(8.0);
        tools::note_names(ui, chart, actions);
        let Some(read) = &chart.chart else {
            let words = "The last good chart goes on sounding.";
            widgets::remark(ui, words, palette.soft);
            return heading;
        };
        widgets::remark(ui, &view::extent(read), palette.soft);
        if let Some(ticks) = snapshot.beat_ticks {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                widgets::remark(ui, &view::place(read, ticks), palette.bright);
            });
        }
        heading
    });
    let spacing = ui.spacing().item_spacing.y;
    let [low, high] = ERRORS;
    let list = if ui.available_height() < HIGH {
        low
    } else {
        high
    };
    let mut below = theme::CONTROL + spacing;
    if !chart.errors.is_empty() {
        below += list + spacing;
    }
    let height = (ui.available_height() - below).max(LINE);
    text(ui, chart, snapshot, actions, height, &heading.inner);
    if !chart.errors.is_empty() {
        tools::errors(ui, chart, list, actions);
    }
    tools::buttons(ui, chart, actions);
}

/// The text, in a frame of its own, scrolling where it is long.
fn text(
    ui: &mut Ui,
    chart: &mut ChartText,
    snapshot: &Snapshot,
    actions: &mut Actions,
    height: f32,
    heading: &Response,
) {
    const MARGIN: i8 = 4;
    let frame = Frame::new()
        .fill(theme::palette(ui.ctx()).surface)
        .corner_radius(4.0)
        .inner_margin(Margin::symmetric(8, MARGIN));
    let inner = height - 2.0 * f32::from(MARGIN);
    frame.show(ui, |ui| {
        ui.set_height(inner);
        ScrollArea::vertical()
            .id_salt("chart")
            .max_height(inner)
            .auto_shrink(false)
            .show(ui, |ui| {
                let playing = chart.playing(snapshot);
                let behind = ui.painter().add(Shape::Noop);
                // Its own cursor would be as high as a line, and blink.
                ui.visuals_mut().text_cursor.blink = false;
                ui.visuals_mut().text_cursor.stroke.color = Color32::TRANSPARENT;
                let output = edit(ui, chart, inner);
                let response = output.response.response;
                let range = output.cursor_range.filter(|_| response.has_focus());
                let selected = range.map(|range| {
                    let cursors = range.sorted_cursors();
                    let [from, to] = cursors.map(|cursor| place(&chart.text, cursor));
                    from..to
                });
                let response = response.labelled_by(heading.id);
                let rows = match chart.rows.take() {
                    Some(rows) if rows.are_of(&output.galley) => rows,
                    _ => Rows::new(output.galley.clone(), &chart.text),
                };
                let origin = output.galley_pos;
                // The places below are those of the text that was read.
                if chart.text == chart.known {
                    let scene = paint::Scene::new(ui, chart, &rows, origin, playing);
                    let shapes = scene.behind();
                    ui.painter().set(behind, Shape::Vec(shapes));
                    scene.over();
                    if let Some(cursor) = output.cursor_range.filter(|_| response.has_focus()) {
                        scene.cursor(cursor.primary);
                    }
                    scene.explain(&response);
                    follow(ui, chart, &rows, origin, playing, response.has_focus());
                } else {
                    let end = chart.text.len();
                    actions.push(Action::Chart(ChartAction::Type {
                        text: chart.text.clone(),
                        cursor: selected.clone().unwrap_or(end..end),
                        now_seconds: ui.input(|input| input.time),
                    }));
                }
                if selected.is_some() && selected != chart.selected {
                    actions.push(Action::Chart(ChartAction::Select(
                        selected.unwrap_or_default(),
                    )));
                }
                chart.rows = Some(rows);
            });
    });
}

/// Where a cursor stands, in bytes.
fn place(text: &str, cursor: CCursor) -> usize {
    let mut places = text.char_indices();
    let at = places.nth(cursor.index.0);
    at.map_or(text.len(), |(at, _)| at)
}

/// The editor of the text itself.
fn edit(ui: &mut Ui, chart: &mut ChartText, height: f32) -> TextEditOutput {
    if let Some(at) = chart.cursor_to {
        let before = chart.text.get(..at).unwrap_or("").chars().count();
        let mut state = TextEditState::load(ui.ctx(), text_id()).unwrap_or_default();
        let cursor = CCursorRange::one(CCursor::new(before));
        state.cursor.set_char_range(Some(cursor));
        state.store(ui.ctx(), text_id());
    }
    let wrong: Vec<Range<usize>> = chart
        .errors
        .iter()
        .map(|error| layout::visible(&chart.known, &error.source))
        .collect();
    let ChartText {
        text, laid, names, ..
    } = chart;
    let mut layouter = |ui: &Ui, buffer: &dyn egui::TextBuffer, width: f32| -> Arc<Galley> {
        layout::lay_out(ui, laid, (buffer.as_str(), *names), width, &wrong)
    };
    let margin = Margin {
        left: GUTTER,
        ..Margin::ZERO
    };
    TextEdit::multiline(text)
        .id(text_id())
        .font(theme::mono(theme::CHART_TEXT))
        .frame(Frame::NONE.inner_margin(margin))
        .desired_width(f32::INFINITY)
        .min_size(vec2(0.0, height))
        .hint_text("Type or paste chords: | Dm7 | G7 | Cmaj7 |")
        .layouter(&mut layouter)
        .show(ui)
}

/// Scrolls to where the cursor was put, or to the bar that sounds when that is
/// another one, with the row after it in view.
fn follow(
    ui: &Ui,
    chart: &mut ChartText,
    rows: &Rows,
    origin: egui::Pos2,
    playing: Option<Playing>,
    has_focus: bool,
) {
    let row = |at: usize| -> Option<Rect> {
        let place = rows.place(&chart.text, at)?;
        Some(rows.rect(place.row).translate(origin.to_vec2()))
    };
    if let Some(at) = chart.cursor_to.take() {
        if let Some(row) = row(at) {
            ui.scroll_to_rect(row, None);
        }
        return;
    }
    let bar = playing.map(|playing| playing.bar);
    if has_focus || chart.shown == bar {
        return;
    }
    let start = bar.and_then(|bar| Some(chart.bars.get(bar)?.source.start));
    if let Some(row) = start.and_then(row) {
        let ahead = Rect::from_min_max(row.min, row.max + vec2(0.0, LINE));
        ui.scroll_to_rect(ahead, None);
    }
    chart.shown = bar;
}
