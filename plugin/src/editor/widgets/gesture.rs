//! What is done to a control as the gesture that a host is told. The panel's thread;
//! widgets and the keyboard's handles import it.

use crate::editor::model::action::Actions;
use crate::editor::model::parameters::{Gesture, Move, ParameterId, Value};
use egui::Response;

/// Follows a control: one gesture from the press to the release. A value that is
/// typed or stepped is a gesture of its own. `changed` is whether it is another one
/// than before.
pub fn follow(
    id: ParameterId,
    value: &Value,
    changed: bool,
    response: &Response,
    actions: &mut Actions,
) {
    let mut push = |gesture| {
        actions.move_parameter(Move {
            id,
            value: value.clone(),
            gesture,
        });
    };
    let in_drag = response.dragged() || response.drag_stopped();
    if changed && !in_drag {
        return push(Gesture::Whole);
    }
    if response.drag_started() {
        push(Gesture::Begin);
    }
    if changed {
        push(Gesture::Change);
    }
    if response.drag_stopped() {
        push(Gesture::End);
    }
}
