//! A word to be pressed: one of a row of choices, or a switch with its lamp. The
//! panel's thread; `choice` and `toggle` import it.

use super::focus::focus;
use crate::editor::theme;
use egui::{Align2, Color32, CornerRadius, Id, Rect, Response, Sense, Stroke, TextStyle, Ui, pos2};

/// Room at both sides of a word, in points.
pub const MARGIN: f32 = 9.0;
/// The corner of a cell, in points.
pub const CORNER: u8 = 4;
/// The width of a switch's lamp with its gap, in points.
pub const LAMP: f32 = 14.0;

/// The width of a word, in points.
pub fn word_width(ui: &Ui, word: &str) -> f32 {
    let font = TextStyle::Body.resolve(ui.style());
    let painter = ui.painter();
    let galley = painter.layout_no_wrap(word.to_owned(), font, Color32::PLACEHOLDER);
    galley.size().x
}

/// Lays a cell out; returns what was done to it.
pub fn cell(
    ui: &Ui,
    rect: Rect,
    id: Id,
    word: &str,
    selected: bool,
    lamp: Option<bool>,
) -> Response {
    let response = ui.interact(rect, id, Sense::click());
    let painter = ui.painter();
    let palette = theme::palette(ui.ctx());
    let corners = CornerRadius::same(CORNER);
    let colour = if selected {
        painter.rect_filled(rect, corners, palette.bright);
        palette.ink
    } else if response.hovered() {
        painter.rect_filled(rect, corners, palette.lifted);
        palette.bright
    } else if lamp == Some(true) {
        palette.bright
    } else {
        palette.soft
    };
    focus(ui, rect, &response);
    let mut middle = rect.center();
    if let Some(on) = lamp {
        let at = pos2(rect.left() + MARGIN + 4.0, middle.y);
        if on {
            painter.circle_filled(at, 4.0, palette.bright);
        } else {
            painter.circle_stroke(at, 3.5, Stroke::new(1.0, palette.soft));
        }
        middle.x += LAMP / 2.0;
    }
    let font = TextStyle::Body.resolve(ui.style());
    painter.text(middle, Align2::CENTER_CENTER, word, font, colour);
    response
}
