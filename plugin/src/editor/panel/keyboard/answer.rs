//! The answer to a question on the keys: what is right, wrong, missing and not asked for, each with a
//! sign and a colour of its own, and what is shown as help. The panel's thread; `keyboard` imports it.

use super::keys::Keys;
use super::voices;
use crate::editor::palette::Palette;
use crate::editor::panel::set::Set;
use crate::editor::panel::view::View;
use crate::editor::theme;
use crate::editor::view::practice::{self, KeyMark, Sign};
use crate::editor::view::{MarkedNote, is_black};
use crate::editor::widgets::sign;
use egui::{Align2, Color32, CornerRadius, Painter, Rect, Stroke, StrokeKind, pos2, vec2};

/// The height of a sign above a label, as a share of the label's size.
const PLATE: f32 = 2.6;
/// The smallest size of a label, in points.
const LEAST: f32 = 11.0;

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
        Sign::Arrow => palette.soft,
        Sign::Tick => palette.right,
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
    for mark in black {
        one(painter, keys, mark, set, palette);
    }
}

/// What the signs stand for.
pub fn legend(painter: &Painter, region: Rect, palette: &Palette) {
    let y = region.bottom() - 8.0;
    let mut x = region.left();
    let words = |x: f32, words: &str| {
        let (font, at) = (theme::text(theme::SMALL), pos2(x, y));
        let drawn = painter.text(at, Align2::LEFT_CENTER, words, font, palette.soft);
        drawn.right() + 18.0
    };
    for (sign, name) in [
        (Sign::Tick, "right"),
        (Sign::Cross, "wrong"),
        (Sign::Ring, "missing"),
        (Sign::Bar, "not asked"),
        (Sign::Arrow, "another octave"),
    ] {
        let colour = colour(sign, palette);
        sign::paint(painter, pos2(x + 6.0, y), sign, 11.0, colour);
        x = words(x + 17.0, name);
    }
    voices::held_sign(painter, pos2(x, y), palette);
    words(x + 19.0, "held");
}

fn one(painter: &Painter, keys: &Keys, mark: &KeyMark, set: Set, palette: &Palette) {
    let key = keys.key(mark.note);
    let lift = if is_black(mark.note) { 3.0 } else { 6.0 };
    let most = (key.height() - 2.0 * lift) / PLATE;
    let size = (keys.width * set.points(0.34, 0.38, 0.5).min(0.5)).clamp(LEAST, 20.0);
    let size = size.min(most.max(LEAST));
    let plate = vec2((size * 2.1).min(key.width() - 1.0), size * PLATE);
    let plate =
        Rect::from_center_size(key.center_bottom() - vec2(0.0, lift + plate.y / 2.0), plate);
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
    let at = plate.center() - vec2(0.0, size * 0.62);
    sign::paint(painter, at, mark.sign, size * 0.75, ink);
    let at = plate.center() + vec2(0.0, size * 0.58);
    painter.text(
        at,
        Align2::CENTER_CENTER,
        &mark.label,
        theme::bold(size),
        ink,
    );
}
