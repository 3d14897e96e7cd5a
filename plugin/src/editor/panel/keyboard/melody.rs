//! The melody of the right hand on the keys, with the chord under it. The panel's thread; `keyboard`
//! imports it.

use super::keys::Keys;
use crate::editor::panel::set::Set;
use crate::editor::theme;
use crate::editor::view::is_black;
use crate::editor::view::melody::MelodyKey;
use crate::editor::widgets::mark::{self, On};
use egui::{Painter, Pos2, Rect, vec2};

/// The size of a sign above the mark of a chord, in points.
const SIGN: egui::Vec2 = vec2(10.0, 8.0);

/// The middle of the mark on a key, and the size of its label.
#[must_use]
pub fn place(keys: &Keys, note: u8, set: Set) -> (Pos2, f32) {
    let most = set.points(14.0, 15.0, 20.0);
    let text = (keys.width * set.points(0.34, 0.38, 0.5).min(0.5)).clamp(11.0, most.max(11.0));
    let lift = if is_black(note) { 5.0 } else { 8.0 };
    let centre = keys.key(note).center_bottom() - vec2(0.0, lift + mark::size(text).y / 2.0);
    (centre, text)
}

/// Paints the marks. Where a note of the chord in force sounds on the same key, a sign stands above its
/// mark.
pub fn paint(
    painter: &Painter,
    keys: &Keys,
    melody: &[MelodyKey],
    sounds: impl Fn(u8) -> bool,
    set: Set,
) {
    for key in melody {
        let (centre, text) = place(keys, key.note, set);
        if sounds(key.note) {
            if !key.past {
                let above = centre - vec2(0.0, (mark::size(text).y + SIGN.y) / 2.0 + 2.0);
                let sign = Rect::from_center_size(above, SIGN);
                mark::part(painter, sign, key.part, theme::palette(painter.ctx()).ink);
            }
            continue;
        }
        let on = if key.past { On::Past } else { On::Key };
        mark::paint_part(painter, centre, &key.label, key.part, text, on);
    }
}
