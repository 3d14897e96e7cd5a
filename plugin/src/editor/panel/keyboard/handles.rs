//! The handles over the keys: the ends of the register and the split, dragged, or moved
//! by a half step with the arrow keys. The panel's thread; `keyboard` imports it.

use super::keys::Keys;
use crate::editor::model::action::{Action, Actions, PanelAction};
use crate::editor::model::parameters::{Control, Move, ParameterId, Value};
use crate::editor::palette::Palette;
use crate::editor::panel::view::View;
use crate::editor::view::key_name;
use crate::editor::widgets::{gesture, steps};
use crate::editor::{theme, widgets};
use egui::{
    Align2, CursorIcon, Id, Key, Painter, Rect, Response, Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};
use guidehand_theory::candidates::Register;
use guidehand_theory::pitch::MidiNote;
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

    const fn parameter(self) -> ParameterId {
        match self {
            Handle::From => ParameterId::Lowest,
            Handle::To => ParameterId::Highest,
            Handle::Split => ParameterId::Split,
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
    fn note_at(self, keys: &Keys, control: &Control, x: f32) -> Option<u8> {
        let can = |note: &u8| control.range.contains(&f64::from(*note));
        let notes = keys.range.clone().filter(can);
        let apart = |note: u8| (self.x(keys, note) - x).abs();
        notes.min_by(|a, b| apart(*a).total_cmp(&apart(*b)))
    }
}

/// The keys in view, which stay while a handle is dragged, or a note: they follow the register and
/// the notes, and would slide away under the pointer.
pub fn range(
    ui: &Ui,
    now: RangeInclusive<u8>,
    drags_note: bool,
    view: &View,
    actions: &mut Actions,
) -> RangeInclusive<u8> {
    let dragged = Handle::ALL
        .iter()
        .any(|handle| ui.ctx().is_being_dragged(handle.id(ui)));
    let dragged = dragged || drags_note;
    if dragged != view.keys_kept.is_some() {
        let keys = dragged.then(|| now.clone());
        actions.push(Action::Panel(PanelAction::KeepKeys(keys)));
    }
    view.keys_kept.clone().filter(|_| dragged).unwrap_or(now)
}

/// Lays the handles out in the band above the keys. The split is taken hold of on the keys too,
/// unless their notes can be.
pub fn lay_out(
    ui: &Ui,
    painter: &Painter,
    keys: &Keys,
    (band, notes_in_hand): (f32, bool),
    view: &View,
    actions: &mut Actions,
) {
    let palette = theme::palette(ui.ctx());
    let top = keys.rect.top() - band;
    let at = |handle: Handle| {
        let value = view.control(handle.parameter()).whole();
        handle.x(keys, MidiNote::clamp(value).number())
    };
    let register_words = register(painter, keys, view.settings.taste.register, palette);
    split(
        painter,
        keys,
        (at(Handle::Split), top),
        view,
        register_words,
    );
    for handle in Handle::ALL {
        let x = at(handle);
        let bottom = match handle {
            Handle::Split if !notes_in_hand => keys.rect.bottom(),
            _ => keys.rect.top(),
        };
        let rect = Rect::from_min_max(pos2(x - REACH, top), pos2(x + REACH, bottom));
        let response = ui.interact(rect, handle.id(ui), Sense::click_and_drag());
        follow(ui, keys, handle, response, view, actions);
        grip(painter, pos2(x, keys.rect.top()), handle, palette);
    }
}

/// What was done to a handle.
fn follow(
    ui: &Ui,
    keys: &Keys,
    handle: Handle,
    response: Response,
    view: &View,
    actions: &mut Actions,
) {
    let control = view.control(handle.parameter());
    let response = response.on_hover_cursor(CursorIcon::ResizeHorizontal);
    let before = control.whole();
    let mut value = before;
    if response.double_clicked() {
        return actions.move_parameter(Move::to_default(control.id));
    }
    if let Some(pointer) = response
        .interact_pointer_pos()
        .filter(|_| response.dragged())
    {
        value = handle
            .note_at(keys, control, pointer.x)
            .map_or(value, i32::from);
    }
    value += stepped(ui, &response);
    let (least, most) = (*control.range.start(), *control.range.end());
    let plain = f64::from(value).clamp(least, most);
    response.widget_info(|| WidgetInfo::slider(ui.is_enabled(), plain, handle.name()));
    describe(ui, handle, control, &response);
    let changed = plain != f64::from(before);
    gesture::follow(
        control.id,
        &Value::Plain(plain),
        changed,
        &response,
        actions,
    );
    widgets::focus(ui, response.rect.shrink2(vec2(2.0, 0.0)), &response);
    response.on_hover_text(handle.tip());
}

/// By how many half steps the arrow keys or a screen reader move a handle.
fn stepped(ui: &Ui, response: &Response) -> i32 {
    if response.has_focus() {
        // The keys are kept from leading elsewhere from the next frame on only.
        if response.gained_focus() {
            ui.ctx().request_repaint();
        }
        steps::keep_arrows(ui, response.id);
    }
    let up = [Key::ArrowRight, Key::ArrowUp];
    steps::steps(ui, response.id, &up, &[Key::ArrowLeft, Key::ArrowDown])
}

/// What a screen reader says of it.
fn describe(ui: &Ui, handle: Handle, control: &Control, response: &Response) {
    ui.ctx().accesskit_node_builder(response.id, |node| {
        use egui::accesskit::Action;
        node.set_label(handle.name());
        node.set_value(key_name(MidiNote::clamp(control.whole())));
        node.set_min_numeric_value(*control.range.start());
        node.set_max_numeric_value(*control.range.end());
        node.set_numeric_value_step(1.0);
        node.add_action(Action::Increment);
        node.add_action(Action::Decrement);
    });
}

/// The register in force as a bracket over its keys; returns the place of its words.
/// It never gets narrower than voicings need, wherever its handles are.
fn register(painter: &Painter, keys: &Keys, register: Register, palette: &Palette) -> Rect {
    let Register {
        lowest, highest, ..
    } = register;
    let from = Handle::From.x(keys, lowest.number());
    let to = Handle::To.x(keys, highest.number());
    let y = keys.rect.top() - 4.0;
    painter.hline(from..=to.max(from), y, Stroke::new(2.0, palette.soft));
    let (lowest, highest) = (key_name(lowest), key_name(highest));
    let words = format!("register {lowest} to {highest}");
    let at = pos2(from + 6.0, y - 2.0);
    let font = theme::text(theme::SMALL);
    painter.text(at, Align2::LEFT_BOTTOM, words, font, palette.soft)
}

/// The split as a line through the keys, from a place down, with its name where there
/// is room beside the words of the register.
fn split(painter: &Painter, keys: &Keys, (x, top): (f32, f32), view: &View, register: Rect) {
    let colour = theme::palette(painter.ctx()).split;
    painter.vline(x, top..=keys.rect.bottom(), Stroke::new(2.0, colour));
    let note = MidiNote::clamp(view.control(ParameterId::Split).whole());
    let words = format!("split {}", key_name(note));
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
    use crate::editor::window::parameters::controls;
    use crate::params::GuidehandParams;

    #[test]
    fn a_handle_goes_to_the_nearest_key_that_it_may() {
        let (cell, _songs) = ChartCell::new();
        let controls = controls(&GuidehandParams::new(cell));
        let strip = Rect::from_min_size(pos2(0.0, 0.0), vec2(700.0, 80.0));
        let keys = Keys::new(strip, 48..=71);
        for handle in Handle::ALL {
            let control = controls.of(handle.parameter());
            for note in 48..=71 {
                let found = handle
                    .note_at(&keys, control, handle.x(&keys, note))
                    .unwrap();
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
