//! The page of practice: on one side what is asked and how, on the other what has come of it. The
//! panel's thread; `panel` imports it.

mod course;
mod exercise;
mod pace;
mod record;
mod row;
mod table;
#[cfg(test)]
pub mod tests;

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::chart::ChartText;
use crate::editor::model::parameters::{Move, ParameterId};
use crate::editor::model::practice::{Face, PracticeAction};
use crate::editor::panel::view::View;
use crate::editor::widgets::{self, Choices};
use crate::params::SourceParam;
use egui::{Layout, Rect, Ui, UiBuilder};

/// Between the rows, in points.
const GAP: f32 = 5.0;
/// Between the two columns, in points.
const COLUMN_GAP: f32 = 24.0;
/// The sides of the page, in their order.
const FACES: [Face; 2] = [Face::Exercise, Face::Record];

/// Lays the region out.
pub fn region(ui: &mut Ui, chart: &ChartText, view: &View, actions: &mut Actions) {
    ui.spacing_mut().item_spacing.y = GAP;
    let face = view.pages.practice.face();
    ui.horizontal(|ui| {
        let tip = "What is practised, or what has come of it so far.";
        let choices = Choices::new("Page", &["Exercise", "Record"], tip);
        let here = FACES.iter().position(|other| *other == face);
        if let Some(face) = widgets::choices(ui, &choices, here).and_then(|at| FACES.get(at)) {
            actions.push(Action::Practice(PracticeAction::Face(*face)));
        }
        ui.add_space(14.0);
        match face {
            Face::Exercise => exercise::origin(ui, view, actions),
            Face::Record => record::filters(ui, view, actions),
        }
        if !view.practises() {
            widgets::at_the_right(ui, "practise", |ui| practise(ui, actions));
        }
    });
    let rest = ui.available_rect_before_wrap();
    match face {
        Face::Exercise => {
            let [left, right] = columns(rest, exercise::WIDTH);
            at(ui, left, |ui| exercise::region(ui, chart, view, actions));
            at(ui, right, |ui| pace::region(ui, view, actions));
        }
        Face::Record => {
            let [left, right] = columns(rest, record::WIDTH);
            at(ui, left, |ui| record::region(ui, view));
            at(ui, right, |ui| course::region(ui, view, actions));
        }
    }
}

/// The way to the source of this page.
fn practise(ui: &mut Ui, actions: &mut Actions) {
    let tip = "Chords are asked of you: takes the place of where they come from now.";
    if widgets::button(ui, "Practise", "Practise: chords are asked of you", tip) {
        let source = SourceParam::Practice as usize;
        actions.move_parameter(Move::choice(ParameterId::Source, source));
    }
}

/// The page in two, of which the left one grows less.
fn columns(page: Rect, least: f32) -> [Rect; 2] {
    let (left, mut right) = page.split_left_right_at_x(page.left() + least);
    right.min.x += COLUMN_GAP;
    [left, right]
}

fn at(ui: &mut Ui, rect: Rect, contents: impl FnOnce(&mut Ui)) {
    let layout = Layout::top_down(egui::Align::Min);
    ui.scope_builder(UiBuilder::new().max_rect(rect).layout(layout), contents);
}
