//! The ground of the row of a list that is chosen: filled, with a bar at its left edge. The panel's
//! thread; regions import it.

use crate::editor::theme;
use egui::{Painter, Rect};

/// The width of the bar, in points.
const BAR: f32 = 3.0;

/// Paints it.
pub fn chosen_row(painter: &Painter, rect: Rect, corner: f32) {
    let palette = theme::palette(painter.ctx());
    painter.rect_filled(rect, corner, palette.selected);
    painter.rect_filled(rect.with_max_x(rect.left() + BAR), corner, palette.bright);
}
