//! The chart: its text, edited in place, with what becomes of it: forms, keys,
//! beats, the place that sounds, and what is wrong. The panel runs it; `panel` imports it.
//! Imports the model's chart, `view`, `theme` and `widgets`.
//!
//! `edit` is the text itself. It is set in `columns` by `layout`, `line` by `line`, and
//! found again in its `rows`. What was read of it makes a `scene`, which `paint` and `bars`
//! dress, and `tools` are the buttons.

mod bars;
mod columns;
mod edit;
mod layout;
mod line;
mod paint;
mod rows;
mod scene;
#[cfg(test)]
mod tests;
mod tools;

pub use edit::is_finished;
#[cfg(feature = "frame_bench")]
pub use edit::text_id;
pub use tools::history_key;

use crate::editor::model::action::Actions;
use crate::editor::model::chart::ChartText;
use crate::editor::panel::view::View;
use crate::editor::{theme, view, widgets};
use egui::{Align, Layout, Ui};
use line::LINE;
use std::time::Duration;

/// The height kept for the list of errors, in points: in a low region, and in a
/// high one.
const ERRORS: [f32; 2] = [48.0, 86.0];
/// A region from this height on is a high one, in points.
const HIGH: f32 = 200.0;
/// The width kept for the place that sounds, in points.
const PLACE: f32 = 120.0;
/// Between looks at a text that is being read or planned.
const LOOK: Duration = Duration::from_millis(15);
/// Between looks at a text that waits until typing rests.
const LOOK_WHILE_TYPING: Duration = Duration::from_millis(250);

/// Lays the region out beside a page, under its name.
pub fn region(ui: &mut Ui, chart: &ChartText, view: &View, actions: &mut Actions) {
    lay_out(ui, chart, view, actions, true);
}

/// Lays the region out on its own page.
pub fn alone(ui: &mut Ui, chart: &ChartText, view: &View, actions: &mut Actions) {
    lay_out(ui, chart, view, actions, false);
}

/// Asks for frames while a text is being read or planned, or waits.
pub fn await_reading(ui: &Ui, chart: &ChartText) {
    if chart.is_under_way() {
        ui.ctx().request_repaint_after(LOOK);
    } else if chart.reading().waits {
        ui.ctx().request_repaint_after(LOOK_WHILE_TYPING);
    }
}

fn lay_out(ui: &mut Ui, chart: &ChartText, view: &View, actions: &mut Actions, named: bool) {
    tools::shortcuts(ui, actions);
    await_reading(ui, chart);
    let snapshot = &view.as_written;
    let palette = theme::palette(ui.ctx());
    let spacing = ui.spacing().item_spacing;
    ui.horizontal(|ui| {
        if named {
            ui.heading("Chart");
            ui.add_space(8.0);
        }
        tools::note_names(ui, chart, actions);
        let Some(read) = chart.chart() else {
            let words = "The last good chart goes on sounding.";
            widgets::remark(ui, words, palette.soft);
            return;
        };
        let waits = chart.waits_for(snapshot);
        let waits = waits.filter(|_| view.settings.plays_chart());
        let extent = view::extent(read);
        let width = waits.map_or(0.0, |waits| tools::waits_width(ui, waits));
        if let Some(dropped) = chart.dropped().first() {
            tools::dropped(ui, dropped);
            return;
        }
        if widgets::remark_width(ui, &extent) + 2.0 * spacing.x + width <= ui.available_width() {
            widgets::remark(ui, &extent, palette.soft);
        }
        let hint = "Type your own chords; click one to take it in hand.";
        let room = ui.available_width() - width;
        if !view.panel.knows_chart && widgets::remark_width(ui, hint) + PLACE <= room {
            widgets::remark(ui, hint, palette.bright);
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if let Some(waits) = waits {
                tools::waits(ui, waits);
            } else if let Some(ticks) = snapshot.beat_ticks {
                widgets::remark(ui, &view::place(read, ticks), palette.bright);
            }
        });
    });
    let [low, high] = ERRORS;
    let list = if ui.available_height() < HIGH {
        low
    } else {
        high
    };
    let mut below = theme::CONTROL + spacing.y;
    let errors = chart.reading().errors();
    if !errors.is_empty() {
        below += list + spacing.y;
    }
    let height = (ui.available_height() - below).max(LINE);
    edit::text(ui, chart, view, actions, height);
    if !errors.is_empty() {
        tools::errors(ui, errors, list, actions);
    }
    tools::buttons(ui, chart, actions);
}
