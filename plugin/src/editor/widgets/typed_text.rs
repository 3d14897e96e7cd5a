//! The frame around a text that is typed, scrolling where it is long. The panel's thread; regions import
//! it.

use crate::editor::theme;
use egui::{Frame, Margin, ScrollArea, Ui};

/// Frames a text of this height with its margins. `contents` gets the height that is left for it.
pub fn typed_text(ui: &mut Ui, id: &str, height: f32, contents: impl FnOnce(&mut Ui, f32)) {
    const MARGIN: i8 = 4;
    let frame = Frame::new()
        .fill(theme::palette(ui.ctx()).surface)
        .corner_radius(4.0)
        .inner_margin(Margin::symmetric(8, MARGIN));
    let inner = height - 2.0 * f32::from(MARGIN);
    frame.show(ui, |ui| {
        ui.set_height(inner);
        ScrollArea::vertical()
            .id_salt(id)
            .max_height(inner)
            .auto_shrink(false)
            .show(ui, |ui| contents(ui, inner));
    });
}
