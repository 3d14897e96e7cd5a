//! A switch: its word, and a lamp that is lit while it is on. The panel's thread;
//! regions import it.

use super::cell::{self, word_width};
use crate::editor::model::action::Actions;
use crate::editor::model::parameters::{Control, Move};
use crate::editor::theme;
use egui::{CornerRadius, Response, Role, Sense, Ui, WidgetInfo, vec2};

/// The height of a switch among words that are set close, in points.
const LOW: f32 = 20.0;

/// Lays out a switch for a parameter, which a double click puts back to its default.
/// `what` is its whole name, where `word` relies on those around it.
pub fn toggle(
    ui: &mut Ui,
    control: &Control,
    (word, what): (&str, &str),
    tip: &str,
    actions: &mut Actions,
) {
    let on = control.is_on();
    let response = lamp(ui, word, what, on).on_hover_text(tip);
    if response.double_clicked() {
        actions.move_parameter(Move::to_default(control.id));
    } else if response.clicked() {
        actions.move_parameter(Move::switch(control.id, !on));
    }
}

/// A switch as such; `what` is its whole name.
pub fn lamp(ui: &mut Ui, word: &str, what: &str, on: bool) -> Response {
    lamp_of(ui, word, what, on, theme::CONTROL)
}

/// The same among words that are set close.
pub fn low_lamp(ui: &mut Ui, word: &str, what: &str, on: bool) -> Response {
    lamp_of(ui, word, what, on, LOW)
}

fn lamp_of(ui: &mut Ui, word: &str, what: &str, on: bool, height: f32) -> Response {
    let width = word_width(ui, word) + 2.0 * cell::MARGIN + cell::LAMP;
    let size = vec2(width.round(), height);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let raised = theme::palette(ui.ctx()).raised;
    ui.painter()
        .rect_filled(rect, CornerRadius::same(cell::CORNER), raised);
    let response = cell::cell(ui, rect, ui.scope_id().with(what), word, false, Some(on));
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, ui.is_enabled(), on, what));
    response
}
