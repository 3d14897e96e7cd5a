//! A button with a word on it. The panel's thread; regions import it.

use super::focus::focus;
use egui::{Response, Role, Ui, WidgetInfo, vec2};

/// Lays a button out; true where it was pressed. `name` is its whole name.
pub fn button(ui: &mut Ui, word: &str, name: &str, tip: &str) -> bool {
    button_response(ui, word, name, tip).clicked()
}

/// The same, with all that was done to it.
pub fn button_response(ui: &mut Ui, word: &str, name: &str, tip: &str) -> Response {
    let button = egui::Button::new(word).min_size(vec2(0.0, ui.spacing().interact_size.y));
    let response = ui.add(button);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), name));
    focus(ui, response.rect, &response);
    response.on_hover_text(tip)
}
