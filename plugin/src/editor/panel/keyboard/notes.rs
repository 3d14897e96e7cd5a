//! The notes of the chord in hand under the hands of the player: dragged, added and taken away
//! with the pointer, or moved with the keys of the computer. What comes of it is tried. The panel's
//! thread; `keyboard` imports it.

use super::keys::Keys;
use crate::editor::model::action::{Action, Actions};
use crate::editor::model::in_hand::InHandAction;
use crate::editor::model::page::Page;
use crate::editor::model::ways::WaysAction;
use crate::editor::panel::view::View;
use crate::editor::view::{MarkedNote, NoteKind, words};
use crate::editor::widgets::{self, steps};
use crate::engine::snapshot::Sounding;
use crate::params::PanelView;
use egui::{CursorIcon, Id, Key, Modifiers, PointerButton, Pos2, Response, Sense, Ui, WidgetInfo};

/// How far above and below the keys a note is still held, in points.
const REACH: f32 = 16.0;
/// The name of the control.
const NAME: &str = "Notes of the chord in hand";

/// A note in the hand of the player.
#[derive(Clone, Copy)]
struct Dragged {
    /// The other notes, one bit for each.
    others: u128,
    /// The key that it is on; none off the keys.
    at: Option<u8>,
}

fn id(ui: &Ui) -> Id {
    ui.scope_id().with(NAME)
}

/// The chord whose notes can be laid otherwise: the one in hand, while its page is open.
pub fn in_hand<'a>(view: &'a View) -> Option<&'a Sounding> {
    let sounding = view.snapshot.sounding.as_ref();
    let is_open = view.panel.view == PanelView::Full && view.pages.open == Page::Chord;
    sounding.filter(|_| is_open && view.shows_in_hand)
}

/// Whether a note is being dragged.
pub fn is_dragged(ui: &Ui) -> bool {
    ui.ctx().is_being_dragged(id(ui))
}

/// Lays the control out over the keys, and tells what was done to the notes.
pub fn lay_out(
    ui: &Ui,
    keys: &Keys,
    sounding: &Sounding,
    marks: &[MarkedNote],
    actions: &mut Actions,
) {
    let marks = marks.iter().filter(|mark| mark.kind != NoteKind::Bass);
    let marks: Vec<&MarkedNote> = marks.collect();
    let notes = marks.iter().fold(0, |notes, mark| notes | bit(mark.note));
    let response = ui.interact(keys.rect, id(ui), Sense::click_and_drag());
    let mut hand = Hand::of(ui, response.id, notes);
    hand.follow_pointer(ui, keys, &response);
    hand.follow_keys(ui, &response);
    ui.data_mut(|data| data.insert_temp(response.id, hand.chosen));
    if hand.notes != notes {
        actions.push(Action::Ways(WaysAction::Lay(hand.notes)));
    } else if response.clicked() && !response.clicked_by(PointerButton::Primary) {
        actions.push(Action::InHand(InHandAction::Hear));
    }
    tell(ui, &response, sounding, &marks, hand.chosen);
    widgets::focus(ui, keys.key(hand.chosen), &response);
    let over = response.hover_pos().and_then(|at| keys.at(at));
    let icon = match over.filter(|key| notes & bit(*key) != 0) {
        _ if response.dragged() => CursorIcon::Grabbing,
        Some(_) => CursorIcon::Grab,
        None => CursorIcon::PointingHand,
    };
    let tip = "Drag a note to another key, or click a key to add its note or take it away. With the \
               focus: the arrows, Page Up and Page Down, Insert and Delete.";
    response.on_hover_cursor(icon).on_hover_text(tip);
}

/// The notes as they are laid in a frame, one bit for each, and which of them the keys move.
struct Hand {
    notes: u128,
    chosen: u8,
}

impl Hand {
    /// The notes as they are, with the chosen one of the frame before, or the one next to it.
    fn of(ui: &Ui, id: Id, notes: u128) -> Hand {
        let before = ui.data(|data| data.get_temp::<u8>(id)).unwrap_or(0);
        let laid = (0..128_u8).filter(|key| notes & bit(*key) != 0);
        let chosen = laid.min_by_key(|key| key.abs_diff(before));
        Hand {
            notes,
            chosen: chosen.unwrap_or(before),
        }
    }

    /// A note goes with the pointer, and a click adds one or takes it away.
    fn follow_pointer(&mut self, ui: &Ui, keys: &Keys, response: &Response) {
        if response.clicked_by(PointerButton::Primary) {
            let at = response.interact_pointer_pos();
            if let Some(key) = at.and_then(|at| keys.at(at)) {
                self.notes ^= bit(key);
                self.chosen = key;
            }
        }
        let id = response.id.with("dragged");
        if response.drag_started() {
            let from = ui.input(|input| input.pointer.press_origin());
            let taken = from.and_then(|at| keys.at(at));
            let taken = taken.filter(|key| self.notes & bit(*key) != 0);
            let dragged = taken.map(|key| Dragged {
                others: self.notes & !bit(key),
                at: taken,
            });
            ui.data_mut(|data| data.insert_temp(id, dragged));
        }
        if !response.dragged() && !response.drag_stopped() {
            return;
        }
        let dragged = ui.data(|data| data.get_temp::<Option<Dragged>>(id));
        let Some(dragged) = dragged.flatten() else {
            return;
        };
        let at = response.interact_pointer_pos();
        let at = at.and_then(|at| keys.at(within_reach(keys, at)));
        if at != dragged.at {
            self.notes = dragged.others | at.map_or(0, bit);
            self.chosen = at.unwrap_or(self.chosen);
            let dragged = Dragged { at, ..dragged };
            ui.data_mut(|data| data.insert_temp(id, Some(dragged)));
        }
    }

    /// The keys of the computer: they choose a note, move it, add one or take it away.
    fn follow_keys(&mut self, ui: &Ui, response: &Response) {
        let id = response.id;
        if response.has_focus() {
            // The keys are kept from leading elsewhere from the next frame on only.
            if response.gained_focus() {
                ui.ctx().request_repaint();
            }
            steps::keep_arrows(ui, id);
        }
        self.shift(steps::steps(ui, id, &[Key::ArrowRight], &[Key::ArrowLeft]));
        if !response.has_focus() {
            return;
        }
        let pressed = |keys: &[Key]| {
            ui.input_mut(|input| {
                let pressed = |key: &Key| input.count_and_consume_key(Modifiers::NONE, *key);
                keys.iter().map(pressed).sum::<usize>() > 0
            })
        };
        if pressed(&[Key::ArrowUp]) {
            self.choose(self.chosen.saturating_add(1)..128);
        }
        if pressed(&[Key::ArrowDown]) {
            self.choose((0..self.chosen).rev());
        }
        if pressed(&[Key::PageUp]) {
            self.shift(12);
        }
        if pressed(&[Key::PageDown]) {
            self.shift(-12);
        }
        if pressed(&[Key::Insert, Key::Plus]) {
            let free = (self.chosen..128).find(|key| self.notes & bit(*key) == 0);
            if let Some(key) = free {
                self.notes |= bit(key);
                self.chosen = key;
            }
        }
        if pressed(&[Key::Delete, Key::Backspace]) {
            self.notes &= !bit(self.chosen);
        }
    }

    /// The first of these keys that has a note is the chosen one.
    fn choose(&mut self, mut keys: impl Iterator<Item = u8>) {
        let found = keys.find(|key| self.notes & bit(*key) != 0);
        self.chosen = found.unwrap_or(self.chosen);
    }

    /// The chosen note lies so many half steps higher, or further where other notes are.
    fn shift(&mut self, half_steps: i32) {
        let others = self.notes & !bit(self.chosen);
        let mut to = i32::from(self.chosen) + half_steps;
        let key = loop {
            match u8::try_from(to).ok().filter(|key| *key < 128) {
                Some(key) if others & bit(key) != 0 => to += half_steps.signum(),
                other => break other,
            }
        };
        if half_steps != 0
            && let Some(key) = key
        {
            self.notes = others | bit(key);
            self.chosen = key;
        }
    }
}

/// What a screen reader says.
fn tell(ui: &Ui, response: &Response, sounding: &Sounding, marks: &[&MarkedNote], chosen: u8) {
    let pitches = sounding.voiced.voicing.spelled(sounding.placed.chord.root);
    let mut told = (1..).zip(marks.iter().zip(pitches));
    let told = told.find(|(_, (mark, _))| mark.note == chosen);
    let told = told.map_or_else(String::new, |(nth, (mark, pitch))| {
        format!(
            "{}, {}: {nth} of {}",
            words(&pitch),
            mark.label,
            marks.len()
        )
    });
    response.widget_info(|| WidgetInfo::slider(ui.is_enabled(), f64::from(chosen), NAME));
    ui.ctx().accesskit_node_builder(response.id, |node| {
        use egui::accesskit::Action;
        node.set_label(NAME);
        node.set_value(told);
        node.set_min_numeric_value(0.0);
        node.set_max_numeric_value(127.0);
        node.set_numeric_value_step(1.0);
        node.add_action(Action::Increment);
        node.add_action(Action::Decrement);
    });
}

/// A place a little above or below the keys as the one on their edge.
fn within_reach(keys: &Keys, at: Pos2) -> Pos2 {
    let (top, bottom) = (keys.rect.top(), keys.rect.bottom() - 1.0);
    if (top - REACH..bottom + REACH).contains(&at.y) {
        Pos2::new(at.x, at.y.clamp(top, bottom))
    } else {
        at
    }
}

const fn bit(key: u8) -> u128 {
    1 << (key & 127)
}
