//! The rows of an exercise: each with its name in front, and an edit of what is chosen. The panel's
//! thread; the files beside it import it.

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::practice::PracticeAction;
use crate::editor::panel::view::View;
use crate::editor::widgets::{self, Choices};
use egui::Ui;
use guidehand_practice::Exercise;

/// The width of the names in front of the rows, in points.
pub const NAMES: f32 = 80.0;

/// A row with its name.
pub fn row(ui: &mut Ui, name: &str, contents: impl FnOnce(&mut Ui)) {
    ui.horizontal(|ui| {
        widgets::row_name(ui, name, NAMES);
        contents(ui);
    });
}

/// Asks for the exercise as it becomes by an edit.
pub fn edit(view: &View, actions: &mut Actions, edit: impl FnOnce(&mut Exercise)) {
    let mut exercise = view.practice.exercise.as_ref().clone();
    edit(&mut exercise);
    let action = PracticeAction::Exercise(Box::new(exercise));
    actions.push(Action::Practice(action));
}

/// A row of choices among values; returns the one that was pressed.
pub fn choose<T: Copy + PartialEq>(
    ui: &mut Ui,
    choices: &Choices,
    values: &[T],
    now: T,
) -> Option<T> {
    let here = values.iter().position(|value| *value == now);
    let pressed = widgets::choices(ui, choices, here)?;
    values.get(pressed).copied()
}
