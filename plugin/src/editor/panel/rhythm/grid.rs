//! The drawn pattern: two bars of eighths, each struck short, struck long, or not at
//! all. The panel's thread; `rhythm` imports it.

use crate::editor::model::action::{Action, Actions};
use crate::editor::{theme, widgets};
use crate::engine::rhythm::{Drawn, DrawnEighth};
use egui::{
    Align2, CornerRadius, Key, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo,
    pos2, vec2,
};

/// The height of the grid, in points.
pub const HEIGHT: f32 = 35.0;
/// The height of a cell, in points; the beats are counted above.
const CELL: f32 = 24.0;
/// Between the two bars, in points.
const BAR_GAP: f32 = 12.0;
const TIP: &str = "Nothing, short or long: each click takes the next; S, L and Delete set it.";

/// The name in front of the grid, level with its cells.
pub fn name(ui: &mut Ui, width: f32) {
    let (rect, _) = ui.allocate_exact_size(vec2(width, HEIGHT), Sense::hover());
    let at = pos2(rect.left(), rect.bottom() - CELL / 2.0);
    let colour = theme::palette(ui.ctx()).soft;
    let font = theme::text(theme::TEXT);
    ui.painter()
        .text(at, Align2::LEFT_CENTER, "Pattern", font, colour);
}

/// Lays the grid out with this number of eighths in each bar.
pub fn grid(ui: &mut Ui, drawn: Drawn, eighths: u8, actions: &mut Actions) {
    let size = vec2(ui.available_width(), HEIGHT);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let step = (rect.width() - BAR_GAP) / f32::from(2 * eighths);
    let mut changed = None;
    let mut places = Vec::new();
    for odd in [false, true] {
        let shift = if odd { eighths } else { 0 };
        let gap = if odd { BAR_GAP } else { 0.0 };
        for eighth in 0..eighths {
            let left = rect.left() + f32::from(shift + eighth) * step + gap;
            let top = rect.bottom() - CELL;
            let place = Rect::from_min_size(pos2(left, top), vec2(step, CELL));
            let response = cell(ui, place, drawn, odd, eighth);
            let mark = wanted(ui, &response, drawn.mark(odd, eighth));
            changed = mark.map(|mark| drawn.with(odd, eighth, mark)).or(changed);
            let again = odd && drawn.repeats();
            let length = drawn.length_eighths(odd && !again, eighth);
            let end = rect.left() + f32::from(shift + eighths) * step + gap;
            places.push((place, length, end, again));
        }
    }
    // Long chords lie over the cells that follow.
    for (place, length, right, again) in places {
        strike(ui, place, length, right, again);
    }
    if let Some(drawn) = changed {
        actions.push(Action::Draw(drawn));
    }
}

/// What a click or a key makes of a cell.
fn wanted(ui: &Ui, response: &Response, mark: DrawnEighth) -> Option<DrawnEighth> {
    if response.clicked() {
        return Some(match mark {
            DrawnEighth::Nothing => DrawnEighth::Short,
            DrawnEighth::Short => DrawnEighth::Long,
            DrawnEighth::Long => DrawnEighth::Nothing,
        });
    }
    if !response.has_focus() {
        return None;
    }
    let keys = [
        (Key::S, DrawnEighth::Short),
        (Key::L, DrawnEighth::Long),
        (Key::Delete, DrawnEighth::Nothing),
        (Key::Backspace, DrawnEighth::Nothing),
    ];
    let pressed = |(key, _): &(Key, DrawnEighth)| ui.input(|input| input.key_pressed(*key));
    keys.into_iter().find(pressed).map(|(_, mark)| mark)
}

fn cell(ui: &Ui, place: Rect, drawn: Drawn, odd: bool, eighth: u8) -> Response {
    let id = ui.scope_id().with(("drawn", odd, eighth));
    let response = ui.interact(place, id, Sense::click());
    let palette = theme::palette(ui.ctx());
    let painter = ui.painter();
    let on_beat = eighth.is_multiple_of(2);
    let inner = place.shrink2(vec2(1.0, 0.0));
    let ground = match (response.hovered(), on_beat) {
        (true, _) => palette.lifted,
        (_, true) => palette.raised,
        (_, false) => palette.surface,
    };
    painter.rect_filled(inner, CornerRadius::same(3), ground);
    if on_beat {
        let beat = (eighth / 2 + 1).to_string();
        let at = place.left_top() + vec2(2.0, -1.0);
        let font = theme::text(11.0);
        painter.text(at, Align2::LEFT_BOTTOM, beat, font, palette.faint);
    }
    let mark = drawn.mark(odd, eighth);
    widgets::focus(ui, inner, &response);
    response.widget_info(|| WidgetInfo {
        current_text_value: Some(word(mark).to_owned()),
        ..WidgetInfo::labeled(Role::Button, ui.is_enabled(), place_name(odd, eighth))
    });
    response.on_hover_text(TIP)
}

/// A chord that lasts `length` eighths from a cell on, drawn up to `most_right`. It is
/// an outline where the second bar repeats the first.
fn strike(ui: &Ui, place: Rect, length: u8, most_right: f32, again: bool) {
    if length == 0 {
        return;
    }
    let palette = theme::palette(ui.ctx());
    let right = place.left() + place.width() * f32::from(length);
    let bar = place.with_max_x(right.min(most_right));
    let bar = bar.shrink2(vec2(4.0, 7.0));
    let corners = CornerRadius::same(4);
    if again {
        let stroke = Stroke::new(1.0, palette.faint);
        ui.painter()
            .rect_stroke(bar, corners, stroke, StrokeKind::Inside);
    } else {
        ui.painter().rect_filled(bar, corners, palette.bright);
    }
}

const fn word(mark: DrawnEighth) -> &'static str {
    match mark {
        DrawnEighth::Nothing => "nothing",
        DrawnEighth::Short => "short",
        DrawnEighth::Long => "long",
    }
}

/// A place as musicians count it.
fn place_name(odd: bool, eighth: u8) -> String {
    let bar = if odd { 2 } else { 1 };
    let beat = eighth / 2 + 1;
    if eighth.is_multiple_of(2) {
        format!("bar {bar}, beat {beat}")
    } else {
        format!("bar {bar}, and of {beat}")
    }
}
