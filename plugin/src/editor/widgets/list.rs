//! A list to choose a parameter's value from, with the value in force on it. The
//! panel's thread; regions import it.

use super::pick::{List, pick};
use crate::editor::model::action::Actions;
use crate::editor::model::parameters::{Control, Move};
use egui::Ui;

/// Lays a list out. `words` names the choice of an index. A double click puts back
/// the default.
pub fn list(
    ui: &mut Ui,
    control: &Control,
    list: &List,
    words: impl Fn(usize) -> String,
    actions: &mut Actions,
) {
    let (pressed, response) = pick(ui, list, control.choices.len(), control.index(), words);
    if let Some(at) = pressed {
        actions.move_parameter(Move::choice(control.id, at));
    }
    if response.double_clicked() {
        actions.move_parameter(Move::to_default(control.id));
    }
}
