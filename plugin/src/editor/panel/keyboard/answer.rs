//! The answer to a question on the keys: what is right, wrong, missing and not asked for, each with a
//! sign and a colour of its own, and what is shown as help. The panel's thread; `keyboard` imports it.

use super::keys::Keys;
use crate::editor::palette::Palette;
use crate::editor::panel::set::Set;
use crate::editor::panel::view::View;
use crate::editor::theme;
use crate::editor::view::practice::{self, KeyMark, Sign};
use crate::editor::view::{MarkedNote, NoteKind, is_black};
use crate::editor::widgets::sign;
use egui::{Align2, Color32, CornerRadius, Painter, Rect, Stroke, StrokeKind, vec2};

/// The keys that are shown as help.
#[must_use]
pub fn help(view: &View) -> Vec<MarkedNote> {
    let asking = view.asking();
    let asked = practice::asked(view.drill(), asking.question);
    asked.map_or_else(Vec::new, |asked| {
        practice::help_marks(&asked.question, asking.help)
    })
}

/// The keys that the answer is about.
#[must_use]
pub fn marks(view: &View) -> Vec<KeyMark> {
    practice::key_marks(&view.asking())
}

/// The colour of what is told by a sign.
#[must_use]
pub const fn colour(sign: Sign, palette: &Palette) -> Color32 {
    match sign {
        Sign::Cross | Sign::Bar => palette.wrong,
        Sign::Ring | Sign::None => palette.bright,
        Sign::Arrow => palette.of_kind(NoteKind::Guide),
        Sign::Tick => palette.of_kind(NoteKind::Natural),
    }
}

/// Paints them: a key that was played is filled, one that is missing is framed; above its degree
/// stands the sign.
pub fn paint(painter: &Painter, keys: &Keys, marks: &[KeyMark], set: Set, palette: &Palette) {
    // Black keys lie over white ones.
    let (black, white): (Vec<_>, Vec<_>) = marks.iter().partition(|mark| is_black(mark.note));
    for mark in white {
        one(painter, keys, mark, set, palette);
    }
    let _ = black
        .iter()
        .map(|mark| one(painter, keys, mark, set, palette))
        .count();
}

fn one(painter: &Painter, keys: &Keys, mark: &KeyMark, set: Set, palette: &Palette) {
    let key = keys.key(mark.note);
    let black = is_black(mark.note);
    let size = (keys.width * set.points(0.34, 0.38, 0.5).min(0.5)).clamp(11.0, 20.0);
    let lift = if black { 5.0 } else { 8.0 };
    let plate = Rect::from_center_size(
        key.center_bottom() - vec2(0.0, lift + size * 1.5),
        vec2((size * 2.1).min(key.width() - 1.0), size * 3.0),
    );
    let corners = CornerRadius::same(4);
    let colour = colour(mark.sign, palette);
    let ink = if mark.sign == Sign::Ring {
        painter.rect_filled(plate, corners, palette.ground);
        painter.rect_stroke(plate, corners, Stroke::new(2.0, colour), StrokeKind::Inside);
        colour
    } else {
        painter.rect_filled(plate, corners, colour);
        painter.rect_stroke(
            plate,
            corners,
            Stroke::new(1.0, palette.ink),
            StrokeKind::Outside,
        );
        palette.ink
    };
    let at = plate.center() - vec2(0.0, size * 0.68);
    sign::paint(painter, at, mark.sign, size * 0.8, ink);
    let at = plate.center() + vec2(0.0, size * 0.68);
    painter.text(
        at,
        Align2::CENTER_CENTER,
        &mark.label,
        theme::bold(size),
        ink,
    );
}
