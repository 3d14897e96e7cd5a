//! A list to choose a parameter's value from, with the value in force on it. The
//! panel's thread; regions import it.

use crate::editor::model::action::Actions;
use crate::editor::model::parameters::{Control, Move};
use egui::{ComboBox, Ui};

/// A list.
pub struct List<'a> {
    /// What it is, for screen readers.
    pub what: &'a str,
    /// Its width, in points.
    pub width: f32,
    /// What it does, in a sentence.
    pub tip: &'a str,
}

/// Lays a list out. `words` names the choice of an index. A double click puts back
/// the default.
pub fn list(
    ui: &mut Ui,
    control: &Control,
    list: &List,
    words: impl Fn(usize) -> String,
    actions: &mut Actions,
) {
    let current = control.index();
    let response = ComboBox::from_id_salt(list.what)
        .width(list.width)
        .height(400.0)
        .selected_text(words(current))
        .show_ui(ui, |ui| {
            for at in 0..control.choices.len() {
                if ui.selectable_label(at == current, words(at)).clicked() {
                    actions.move_parameter(Move::choice(control.id, at));
                }
            }
        })
        .response;
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(list.what);
    });
    if response.on_hover_text_at_pointer(list.tip).double_clicked() {
        actions.move_parameter(Move::to_default(control.id));
    }
}
