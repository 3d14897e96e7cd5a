//! The switch that plays and stops: a triangle while it stands still, a square while it plays. The
//! panel's thread; regions import it.

use super::cell;
use super::focus::focus;
use crate::editor::theme;
use egui::{
    CornerRadius, Rect, Response, Role, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2,
};

/// Half the side of the sign, in points.
const HALF: f32 = 5.0;

/// Lays the switch out.
pub fn play(ui: &mut Ui, plays: bool) -> Response {
    let size = Vec2::splat(theme::CONTROL);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let palette = theme::palette(ui.ctx());
    let ground = if response.hovered() {
        palette.lifted
    } else {
        palette.raised
    };
    let corners = CornerRadius::same(cell::CORNER);
    ui.painter().rect_filled(rect, corners, ground);
    focus(ui, rect, &response);
    let sign = Rect::from_center_size(rect.center(), Vec2::splat(2.0 * HALF));
    if plays {
        let square = sign.shrink(0.5);
        ui.painter()
            .rect_filled(square, CornerRadius::same(1), palette.bright);
    } else {
        // Its weight lies to the left of its middle.
        let sign = sign.translate(vec2(1.0, 0.0));
        let points = vec![
            sign.left_top(),
            pos2(sign.right(), sign.center().y),
            sign.left_bottom(),
        ];
        let triangle = Shape::convex_polygon(points, palette.bright, Stroke::NONE);
        ui.painter().add(triangle);
    }
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, ui.is_enabled(), plays, "Play"));
    response
}
