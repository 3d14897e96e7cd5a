//! The scale on the keys: a small mark at the head of each key that it holds. The panel's thread;
//! `keyboard` imports it.

use super::keys::Keys;
use crate::editor::palette::Palette;
use crate::editor::panel::view::View;
use crate::editor::theme;
use crate::editor::view::scales::{self, ScaleNote};
use crate::editor::view::{MarkedNote, is_black};
use egui::{Align2, Color32, Painter, Pos2, Rect, Stroke, StrokeKind, vec2};

/// Half the size of a mark, in points.
const SIZE: f32 = 2.75;
/// How far under the head of its key it stands, in points.
const BELOW: f32 = 7.0;

/// The notes of the scale in hand, from its root; none unless the player wants them on the keys.
pub fn of(view: &View) -> Vec<ScaleNote> {
    let scales = view
        .panel
        .scale_on_keys
        .then(|| scales::scales(&view.snapshot));
    let Some(mut scales) = scales.flatten() else {
        return Vec::new();
    };
    let chosen = view.chosen_scale(&scales);
    let all = &mut scales.all;
    all.get_mut(chosen)
        .map_or_else(Vec::new, |scale| std::mem::take(&mut scale.notes))
}

/// Paints the marks: a square for the root, a dot for a note to rest on, a ring for one to pass
/// over. `lit` are the keys that have a colour.
pub fn paint(
    painter: &Painter,
    keys: &Keys,
    scale: &[ScaleNote],
    lit: &[MarkedNote],
    palette: &Palette,
) {
    for key in keys.range.clone() {
        let Some(nth) = scale.iter().position(|note| note.key % 12 == key % 12) else {
            continue;
        };
        let is_lit = lit.iter().any(|mark| mark.note == key);
        let colour = match (is_lit, is_black(key)) {
            (true, _) => palette.ink,
            (false, false) => palette.on_white_key,
            (false, true) => palette.white_key,
        };
        let at = keys.key(key).center_top() + vec2(0.0, BELOW);
        let avoid = scale.get(nth).is_some_and(|note| note.avoid);
        mark(painter, at, (nth == 0, avoid), colour);
    }
}

/// One mark: of a root or not, to be passed over or not.
fn mark(painter: &Painter, at: Pos2, (root, avoid): (bool, bool), colour: Color32) {
    let stroke = Stroke::new(1.25, colour);
    let square = Rect::from_center_size(at, vec2(2.0, 2.0) * SIZE);
    match (root, avoid) {
        (true, false) => painter.rect_filled(square, 0.0, colour),
        (true, true) => painter.rect_stroke(square, 0.0, stroke, StrokeKind::Middle),
        (false, false) => painter.circle_filled(at, SIZE, colour),
        (false, true) => painter.circle_stroke(at, SIZE, stroke),
    };
}

/// What the marks are, from a place on.
pub fn legend(painter: &Painter, from: Pos2, palette: &Palette) {
    mark(painter, from + vec2(SIZE, 0.0), (true, false), palette.soft);
    let at = from + vec2(2.0 * SIZE + 6.0, 0.0);
    let font = theme::text(theme::SMALL);
    painter.text(at, Align2::LEFT_CENTER, "scale", font, palette.soft);
}
