//! The handles over the keys: the ends of the register and the split, dragged, or
//! moved by a half step with the arrow keys. Imports `view`, `desk`, `widgets` and
//! `keys`.

use super::keys::Keys;
use crate::editor::palette::Palette;
use crate::editor::window::desk::Desk;
use crate::editor::{theme, view, widgets};
use crate::params::GuidehandParams;
use egui::{
    Align2, CursorIcon, EventFilter, Id, Key, Modifiers, Painter, Rect, Response, Sense, Stroke,
    Ui, WidgetInfo, pos2, vec2,
};
use guidehand_theory::candidates::Register;
use guidehand_theory::pitch::MidiNote;
use nice_plug::prelude::{IntParam, Param};
use std::ops::RangeInclusive;

/// How far around its place a handle is taken hold of, in points.
const REACH: f32 = 7.0;

/// A place between keys that can be moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Handle {
    From,
    To,
    Split,
}

impl Handle {
    const ALL: [Handle; 3] = [Handle::From, Handle::To, Handle::Split];

    /// Its name, which it shares with the number that sets the same.
    const fn name(self) -> &'static str {
        match self {
            Handle::From => "Register from",
            Handle::To => "Register to",
            Handle::Split => "Split",
        }
    }

    const fn tip(self) -> &'static str {
        match self {
            Handle::From => "The lowest key of the voicings: drag it, or move it with the arrows.",
            Handle::To => "The highest key of the voicings: drag it, or move it with the arrows.",
            Handle::Split => "Keys left of it are the left hand's: drag it, or use the arrows.",
        }
    }

    fn id(self, ui: &Ui) -> Id {
        ui.scope_id().with(self.name())
    }

    const fn param(self, params: &GuidehandParams) -> &IntParam {
        match self {
            Handle::From => &params.lowest,
            Handle::To => &params.highest,
            Handle::Split => &params.split,
        }
    }

    /// Where it stands for a note: at the left edge of its key, or the right one.
    fn x(self, keys: &Keys, note: u8) -> f32 {
        let key = keys.key(note);
        let x = match self {
            Handle::To => key.right(),
            Handle::From | Handle::Split => key.left(),
        };
        x.clamp(keys.rect.left(), keys.rect.right())
    }

    /// The note whose place is nearest, of those that the parameter can take.
    fn note_at(self, keys: &Keys, param: &IntParam, x: f32) -> Option<u8> {
        let can = |note: &u8| {
            let value = i32::from(*note);
            param.preview_plain(param.preview_normalized(value)) == value
        };
        let notes = keys.range.clone().filter(can);
        let apart = |note: u8| (self.x(keys, note) - x).abs();
        notes.min_by(|a, b| apart(*a).total_cmp(&apart(*b)))
    }
}

/// The keys in view, which stay while a handle is dragged: they follow the
/// register, and would slide away under the pointer.
pub fn range(ui: &Ui, now: RangeInclusive<u8>) -> RangeInclusive<u8> {
    let id = ui.scope_id().with("keys in view");
    let dragged = Handle::ALL
        .iter()
        .any(|handle| ui.ctx().is_being_dragged(handle.id(ui)));
    let kept = ui.data(|data| data.get_temp::<(u8, u8)>(id));
    if let Some((from, to)) = kept.filter(|_| dragged) {
        return from..=to;
    }
    ui.data_mut(|data| data.insert_temp(id, (*now.start(), *now.end())));
    now
}

/// Lays the handles out in the band above the keys.
pub fn lay_out(ui: &Ui, painter: &Painter, keys: &Keys, band: f32, desk: &Desk) {
    let palette = theme::palette(ui.ctx());
    let top = keys.rect.top() - band;
    let at = |handle: Handle| {
        let value = handle.param(desk.params).value();
        handle.x(keys, MidiNote::clamp(value).number())
    };
    let label = register(painter, keys, desk, palette);
    split(painter, keys, at(Handle::Split), top, desk, label, palette);
    for handle in Handle::ALL {
        let x = at(handle);
        let bottom = match handle {
            Handle::Split => keys.rect.bottom(),
            _ => keys.rect.top(),
        };
        let rect = Rect::from_min_max(pos2(x - REACH, top), pos2(x + REACH, bottom));
        let response = ui.interact(rect, handle.id(ui), Sense::click_and_drag());
        follow(ui, keys, handle, response, desk);
        grip(painter, pos2(x, keys.rect.top()), handle, palette);
    }
}

/// What was done to a handle.
fn follow(ui: &Ui, keys: &Keys, handle: Handle, response: Response, desk: &Desk) {
    let param = handle.param(desk.params);
    let mut response = response.on_hover_cursor(CursorIcon::ResizeHorizontal);
    let before = param.value();
    let mut value = before;
    if response.double_clicked() {
        return desk.reset(param);
    }
    if let Some(pointer) = response
        .interact_pointer_pos()
        .filter(|_| response.dragged())
    {
        value = handle
            .note_at(keys, param, pointer.x)
            .map_or(value, i32::from);
    }
    value += steps(ui, &response);
    value = param.preview_plain(param.preview_normalized(value));
    if value != before {
        response.mark_changed();
    }
    response.widget_info(|| WidgetInfo::slider(ui.is_enabled(), f64::from(value), handle.name()));
    describe(ui, handle, param, &response);
    desk.follow(param, value, &response);
    widgets::focus(ui, response.rect.shrink2(vec2(2.0, 0.0)), &response);
    response.on_hover_text(handle.tip());
}

/// How many half steps the arrow keys, or a screen reader, want it moved.
fn steps(ui: &Ui, response: &Response) -> i32 {
    use egui::accesskit::Action;
    let focused = response.has_focus();
    if focused {
        // The keys are kept from leading elsewhere from the next frame on only.
        if response.gained_focus() {
            ui.ctx().request_repaint();
        }
        let filter = EventFilter {
            horizontal_arrows: true,
            vertical_arrows: true,
            ..EventFilter::default()
        };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    }
    ui.input_mut(|input| {
        let mut keys = |key| match focused {
            true => input.count_and_consume_key(Modifiers::NONE, key),
            false => 0,
        };
        let up = keys(Key::ArrowRight) + keys(Key::ArrowUp);
        let down = keys(Key::ArrowLeft) + keys(Key::ArrowDown);
        let asked = |action| input.num_accesskit_action_requests(response.id, action);
        let count = |count: usize| i32::try_from(count).unwrap_or(0);
        count(up + asked(Action::Increment)) - count(down + asked(Action::Decrement))
    })
}

/// What a screen reader says of it.
fn describe(ui: &Ui, handle: Handle, param: &IntParam, response: &Response) {
    let plain = |normalized: f32| f64::from(param.preview_plain(normalized));
    ui.ctx().accesskit_node_builder(response.id, |node| {
        use egui::accesskit::Action;
        node.set_label(handle.name());
        node.set_value(view::key_name(MidiNote::clamp(param.value())));
        node.set_min_numeric_value(plain(0.0));
        node.set_max_numeric_value(plain(1.0));
        node.set_numeric_value_step(1.0);
        node.add_action(Action::Increment);
        node.add_action(Action::Decrement);
    });
}

/// The register in force as a bracket over its keys; gives the place of its words.
/// It never gets narrower than voicings need, wherever its handles are.
fn register(painter: &Painter, keys: &Keys, desk: &Desk, palette: &Palette) -> Rect {
    let Register {
        lowest, highest, ..
    } = desk.params.settings().taste.register;
    let from = Handle::From.x(keys, lowest.number());
    let to = Handle::To.x(keys, highest.number());
    let y = keys.rect.top() - 4.0;
    painter.hline(from..=to.max(from), y, Stroke::new(2.0, palette.soft));
    let (lowest, highest) = (view::key_name(lowest), view::key_name(highest));
    let words = format!("register {lowest} to {highest}");
    let at = pos2(from + 6.0, y - 2.0);
    let font = theme::text(theme::SMALL);
    painter.text(at, Align2::LEFT_BOTTOM, words, font, palette.soft)
}

/// The split as a line through the keys, with its name where there is room.
fn split(
    painter: &Painter,
    keys: &Keys,
    x: f32,
    top: f32,
    desk: &Desk,
    register: Rect,
    palette: &Palette,
) {
    let colour = palette.split;
    painter.vline(x, top..=keys.rect.bottom(), Stroke::new(2.0, colour));
    let note = MidiNote::clamp(desk.params.split.value());
    let words = format!("split {}", view::key_name(note));
    let font = theme::text(theme::SMALL);
    let galley = painter.layout_no_wrap(words, font, colour);
    let y = keys.rect.top() - 6.0;
    for (align, x) in [
        (Align2::LEFT_BOTTOM, x + 6.0),
        (Align2::RIGHT_BOTTOM, x - 6.0),
    ] {
        let place = align.anchor_size(pos2(x, y), galley.size());
        let inside = place.left() >= keys.rect.left() && place.right() <= keys.rect.right();
        if inside && !place.expand(3.0).intersects(register) {
            painter.galley(place.min, galley, colour);
            return;
        }
    }
}

/// A grip that points at the keys.
fn grip(painter: &Painter, tip: egui::Pos2, handle: Handle, palette: &Palette) {
    let colour = match handle {
        Handle::Split => palette.split,
        _ => palette.soft,
    };
    let width = 5.0;
    let (left, right) = match handle {
        Handle::From => (0.0, width),
        Handle::To => (-width, 0.0),
        Handle::Split => (-width, width),
    };
    let points = vec![
        tip + vec2(left, -8.0),
        tip + vec2(right, -8.0),
        tip + vec2(0.0, 0.0),
    ];
    painter.add(egui::Shape::convex_polygon(points, colour, Stroke::NONE));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bridge::chart::ChartCell;

    #[test]
    fn a_handle_goes_to_the_nearest_key_that_it_may() {
        let (cell, _songs) = ChartCell::new();
        let params = GuidehandParams::new(cell);
        let strip = Rect::from_min_size(pos2(0.0, 0.0), vec2(700.0, 80.0));
        let keys = Keys::new(strip, 48..=71);
        for handle in Handle::ALL {
            let param = handle.param(&params);
            for note in 48..=71 {
                let found = handle.note_at(&keys, param, handle.x(&keys, note)).unwrap();
                let allowed = match handle {
                    Handle::From => note.min(60),
                    Handle::To => note.max(60),
                    Handle::Split => note,
                };
                assert_eq!(found, allowed, "{handle:?} {note}");
            }
        }
    }
}
