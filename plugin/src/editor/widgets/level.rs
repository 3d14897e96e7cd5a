//! A level to slide along its parameter's own scale. The panel's thread; regions
//! import it.

use super::focus::focus;
use super::gesture;
use crate::editor::model::action::Actions;
use crate::editor::model::parameters::{Control, Gesture, Move, Value};
use crate::editor::theme;
use egui::{Align2, Rect, Response, Sense, Slider, Ui, vec2};
use std::time::Duration;

/// A click that may become a double click. Until it is known to be none, only the panel shows
/// where it leads: a double click is one gesture, and the level does not leap on its way.
#[derive(Clone, Copy)]
struct Click {
    share: f32,
    /// When it is known to be a single one, in seconds of the window.
    due_seconds: f64,
}

/// Lays a level out, with its value in words on the right; `width` is theirs, in points.
/// A double click puts back the default. Returns its place.
pub fn level(
    ui: &mut Ui,
    control: &Control,
    (what, tip): (&str, &str),
    width: f32,
    actions: &mut Actions,
) -> Rect {
    let waiting = ui.scope_id().with((what, "click"));
    let click: Option<Click> = ui.data(|data| data.get_temp(waiting)).flatten();
    let mut share = click.map_or(control.share, |click| click.share);
    let gap = ui.spacing().item_spacing.x;
    let size = vec2(width + gap + ui.spacing().slider_width, theme::CONTROL);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let slider = Slider::new(&mut share, 0.0..=1.0).show_value(false);
    let slid = ui.place(rect.with_max_x(rect.right() - width), slider);
    // A slider knows drags alone.
    let response = slid.interact(Sense::click());
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

    // Enter and Space click, too, and choose no place.
    let chosen = (response.clicked() && slid.changed()).then_some(share);
    let waits = still_waits(ui, &response, chosen, click);
    ui.data_mut(|data| data.insert_temp(waiting, waits));
    if response.double_clicked() {
        actions.move_parameter(Move::to_default(control.id));
        return rect;
    }
    if let (Some(click), None) = (click, waits)
        && !response.drag_started()
    {
        actions.move_parameter(Move {
            id: control.id,
            value: Value::Share(click.share),
            gesture: Gesture::Whole,
        });
    }
    let pressed = response.is_pointer_button_down_on() && !response.dragged();
    let changed = slid.changed() && !pressed && !response.clicked();
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

/// The click that waits after this frame, if any: a new one, or the one that waited before it
/// while that may still become a double click.
fn still_waits(
    ui: &Ui,
    response: &Response,
    chosen: Option<f32>,
    waited: Option<Click>,
) -> Option<Click> {
    let ends = response.double_clicked() || response.triple_clicked();
    if ends || response.drag_started() {
        return None;
    }
    let now_seconds = ui.input(|input| input.time);
    let delay_seconds = ui
        .ctx()
        .options(|options| options.input_options.max_double_click_delay);
    let new = chosen.map(|share| Click {
        share,
        due_seconds: now_seconds + delay_seconds,
    });
    let click = new.or_else(|| waited.filter(|click| click.due_seconds > now_seconds))?;
    let wait = Duration::from_secs_f64(click.due_seconds - now_seconds);
    ui.ctx().request_repaint_after(wait);
    Some(click)
}
