//! A level to slide along its parameter's own scale. The panel's thread; regions
//! import it.

use super::focus::focus;
use super::gesture;
use crate::editor::model::action::Actions;
use crate::editor::model::parameters::{Control, Move, Value};
use crate::editor::theme;
use egui::{Align2, Rect, Sense, Slider, Ui, vec2};

/// Lays a level out, with its value in words on the right; `width` is theirs, in points.
/// A double click puts back the default. Returns its place.
pub fn level(
    ui: &mut Ui,
    control: &Control,
    (what, tip): (&str, &str),
    width: f32,
    actions: &mut Actions,
) -> Rect {
    let mut share = control.share;
    let gap = ui.spacing().item_spacing.x;
    let size = vec2(width + gap + ui.spacing().slider_width, theme::CONTROL);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let slider = Slider::new(&mut share, 0.0..=1.0).show_value(false);
    let response = ui.place(rect.with_max_x(rect.right() - width), slider);
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(what);
        node.set_value(control.text.clone());
    });
    focus(ui, response.rect, &response);
    let at = rect.right_center() - vec2(width - 4.0, 0.0);
    let font = theme::text(theme::SMALL);
    let colour = theme::palette(ui.ctx()).bright;
    ui.painter()
        .text(at, Align2::LEFT_CENTER, &control.text, font, colour);
    if response.double_clicked() {
        actions.move_parameter(Move::to_default(control.id));
        return rect;
    }
    let changed = response.changed();
    gesture::follow(
        control.id,
        &Value::Share(share),
        changed,
        &response,
        actions,
    );
    response.on_hover_text(tip);
    rect
}
