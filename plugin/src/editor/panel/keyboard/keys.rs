//! Keys of a keyboard in a rectangle: where each one lies, and how they are painted.
//! The panel's thread; the keyboard and the scale's octave import it.

use crate::editor::palette::Palette;
use crate::editor::view;
use egui::{Color32, CornerRadius, Painter, Pos2, Rect, Stroke, StrokeKind, pos2, vec2};
use std::ops::RangeInclusive;

/// Width and length of a black key, as shares of a white one.
const BLACK: egui::Vec2 = vec2(0.62, 0.6);

/// How a key is painted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum KeyFill {
    /// A key as it is.
    Plain,
    /// A key that is not meant.
    Outside,
    /// A key with a note.
    Lit(Color32),
}

/// Where the keys lie.
#[derive(Clone, Debug)]
pub struct Keys {
    /// The MIDI notes, from white key to white key.
    pub range: RangeInclusive<u8>,
    /// All keys.
    pub rect: Rect,
    /// The width of a white key.
    pub width: f32,
}

impl Keys {
    /// The keys of a range, from white key to white key, over the whole of a
    /// rectangle.
    #[must_use]
    pub fn new(rect: Rect, range: RangeInclusive<u8>) -> Keys {
        let whites = whites_below(range.end().saturating_add(1));
        let whites = f32::from(whites - whites_below(*range.start()));
        Keys {
            width: rect.width() / whites.max(1.0),
            range,
            rect,
        }
    }

    /// A key's rectangle.
    #[must_use]
    pub fn key(&self, note: u8) -> Rect {
        let before = i16::from(whites_below(note)) - i16::from(whites_below(*self.range.start()));
        let left = self.rect.left() + self.width * f32::from(before);
        if view::is_black(note) {
            let size = BLACK * vec2(self.width, self.rect.height());
            Rect::from_min_size(pos2(left - size.x / 2.0, self.rect.top()), size)
        } else {
            let size = vec2(self.width, self.rect.height());
            Rect::from_min_size(pos2(left, self.rect.top()), size).shrink2(vec2(0.75, 0.0))
        }
    }

    /// The key at a place, if there is one: black keys lie over white ones.
    #[must_use]
    pub fn at(&self, at: Pos2) -> Option<u8> {
        if !self.rect.contains(at) {
            return None;
        }
        let mut blacks = self.range.clone().filter(|note| view::is_black(*note));
        blacks
            .find(|note| self.key(*note).contains(at))
            .or_else(|| {
                // The gaps between white keys are too narrow to be meant.
                let apart = |note: &u8| (self.key(*note).center().x - at.x).abs();
                let whites = self.range.clone().filter(|note| !view::is_black(*note));
                whites.min_by(|a, b| apart(a).total_cmp(&apart(b)))
            })
    }

    /// Paints the keys as `look` tells.
    pub fn paint(&self, painter: &Painter, palette: &Palette, look: impl Fn(u8) -> KeyFill) {
        let whites = self.range.clone().filter(|n| !view::is_black(*n));
        let blacks = self.range.clone().filter(|n| view::is_black(*n));
        for note in whites.chain(blacks) {
            let rect = self.key(note);
            let black = view::is_black(note);
            let fill = match (look(note), black) {
                (KeyFill::Lit(colour), _) => colour,
                (KeyFill::Plain, false) => palette.white_key,
                (KeyFill::Plain, true) => palette.black_key,
                (KeyFill::Outside, false) => palette.white_key_outside,
                (KeyFill::Outside, true) => palette.black_key_outside,
            };
            let corners = CornerRadius {
                sw: 3,
                se: 3,
                ..CornerRadius::ZERO
            };
            painter.rect_filled(rect, corners, fill);
            if black {
                let stroke = Stroke::new(1.5, palette.key_gap);
                painter.rect_stroke(rect, corners, stroke, StrokeKind::Outside);
            }
        }
    }
}

/// How many white keys lie below a note, counted from MIDI note 0.
fn whites_below(note: u8) -> u8 {
    const IN_OCTAVE: [u8; 12] = [0, 1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6];
    let below = IN_OCTAVE.get(usize::from(note % 12)).copied().unwrap_or(0);
    note / 12 * 7 + below
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn white_keys_are_counted() {
        let count = |note: u8| (0..note).filter(|n| !view::is_black(*n)).count();
        for note in 0..=128 {
            assert_eq!(usize::from(whites_below(note)), count(note), "{note}");
        }
    }

    #[test]
    fn the_key_at_a_place_is_found() {
        let strip = Rect::from_min_size(pos2(10.0, 20.0), vec2(700.0, 80.0));
        let keys = Keys::new(strip, 48..=71);
        for note in 48..=71 {
            let foot = keys.key(note).center_bottom() - vec2(0.0, 2.0);
            assert_eq!(keys.at(foot), Some(note));
        }
        // Beside C#, where C is seen; and between two white keys.
        assert_eq!(keys.at(pos2(30.0, 25.0)), Some(48));
        assert_eq!(keys.at(pos2(210.0, 99.0)).map(|note| note / 2), Some(26));
        assert_eq!(keys.at(pos2(300.0, 110.0)), None);
        assert_eq!(keys.at(pos2(5.0, 50.0)), None);
    }

    #[test]
    fn keys_fill_the_strip_and_black_keys_sit_between() {
        let strip = Rect::from_min_size(pos2(10.0, 20.0), vec2(700.0, 80.0));
        let keys = Keys::new(strip, 48..=71);
        assert!((keys.width - 50.0).abs() < 1e-3);
        assert!((keys.key(48).left() - 10.75).abs() < 1e-3);
        assert!((keys.key(71).right() - 709.25).abs() < 1e-3);
        assert!((keys.key(49).center().x - 60.0).abs() < 1e-3);
    }
}
