//! Words that are each on or off, close to each other, in as many rows as they need. The panel's
//! thread; regions import it.

use super::cell::{self, word_width};
use crate::editor::theme;
use egui::{CornerRadius, Role, Sense, Ui, WidgetInfo, vec2};

/// Between two of them, in points.
const GAP: f32 = 3.0;

/// Words that are each on or off.
#[derive(Clone, Copy)]
pub struct Checks<'a> {
    /// What they are, for screen readers.
    pub what: &'a str,
    /// Room at both sides of a word, in points.
    pub margin: f32,
    /// What they do, in a sentence.
    pub tip: &'a str,
}

/// Lays them out; returns the one that was pressed.
pub fn checks(ui: &mut Ui, checks: &Checks, words: &[(String, bool)]) -> Option<usize> {
    let raised = theme::palette(ui.ctx()).raised;
    let print = theme::print(ui);
    let mut pressed = None;
    ui.horizontal_wrapped(|ui| {
        let row_gap = ui.spacing().item_spacing.y;
        ui.spacing_mut().item_spacing = vec2(GAP, row_gap);
        for (at, (word, on)) in words.iter().enumerate() {
            let width = (word_width(ui, word) + 2.0 * checks.margin * print).round();
            let size = vec2(width, theme::CONTROL * print);
            let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
            let corners = CornerRadius::same(cell::CORNER);
            ui.painter().rect_filled(rect, corners, raised);
            let name = format!("{}: {word}", checks.what);
            let id = ui.scope_id().with(&name);
            let response = cell::cell(ui, rect, id, word, *on, None);
            response.widget_info(|| {
                WidgetInfo::selected(Role::CheckBox, ui.is_enabled(), *on, name.as_str())
            });
            if response.on_hover_text(checks.tip).clicked() {
                pressed = Some(at);
            }
        }
    });
    pressed
}
