//! The frame around what has the keyboard's focus. The panel's thread; regions and
//! widgets import it.

use crate::editor::theme;
use egui::{CornerRadius, Rect, Response, Stroke, StrokeKind, Ui};

/// The corner of a control, in points.
const CORNER: u8 = 4;

/// Frames what has the keyboard's focus.
pub fn focus(ui: &Ui, rect: Rect, response: &Response) {
    if response.has_focus() {
        let stroke = Stroke::new(2.0, theme::palette(ui.ctx()).focus);
        let corners = CornerRadius::same(CORNER + 1);
        ui.painter()
            .rect_stroke(rect.expand(1.0), corners, stroke, StrokeKind::Outside);
    }
}
