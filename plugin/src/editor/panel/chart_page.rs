//! The page of the chart: the chart over the whole width, and how it plays. The panel's thread;
//! `panel` imports it.

use crate::editor::model::action::Actions;
use crate::editor::model::chart::ChartText;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::chart;
use crate::editor::panel::view::View;
use crate::editor::widgets::Number;
use crate::editor::{theme, widgets};
use egui::{Layout, Ui, UiBuilder};

/// Between the chart and the row below it, in points.
const GAP: f32 = 6.0;

/// Lays the page out.
pub fn region(ui: &mut Ui, text: &ChartText, view: &View, actions: &mut Actions) {
    let page = ui.available_rect_before_wrap();
    let row = page.with_min_y(page.bottom() - theme::CONTROL);
    let above = page.with_max_y(row.top() - GAP);
    let layout = Layout::top_down(egui::Align::Min);
    ui.scope_builder(UiBuilder::new().max_rect(above).layout(layout), |ui| {
        chart::alone(ui, text, view, actions);
    });
    let layout = Layout::left_to_right(egui::Align::Center);
    ui.scope_builder(UiBuilder::new().max_rect(row).layout(layout), |ui| {
        plays(ui, view, actions);
    });
}

/// From where the chart plays, how often, and when.
fn plays(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::name(ui, "Plays from bar");
    let bar = Number {
        what: "Chart from bar",
        width: 44.0,
        tip: "The bar of the song in which the chart starts.",
        words: None,
    };
    widgets::number(ui, view.control(ParameterId::FromBar), &bar, actions);
    let tip = "The chart starts again at its end.";
    let words = ("repeats", "Chart repeats");
    widgets::toggle(ui, view.control(ParameterId::Repeats), words, tip, actions);
    let tip = "The chart sounds only while a key below the split is held.";
    let words = ("play while a key is held", "Play while a key is held");
    widgets::toggle(ui, view.control(ParameterId::Gate), words, tip, actions);
}
