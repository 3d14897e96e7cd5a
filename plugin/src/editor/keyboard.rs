//! The keyboard: the register, the split, and the notes that sound with their
//! degrees. Imports `view`, `theme` and `mark`.

use crate::editor::view::{self, Kind, Mark};
use crate::editor::{mark, theme};
use crate::settings::Settings;
use crate::snapshot::Snapshot;
use egui::{Align2, Color32, CornerRadius, Painter, Rect, Stroke, StrokeKind, Ui, pos2, vec2};
use guidehand_theory::pitch::MidiNote;
use std::ops::RangeInclusive;

/// The height of the line of flags above the keys, in points.
const FLAGS: f32 = 20.0;
/// The height of the legend below the keys, in points.
const LEGEND: f32 = 20.0;
/// Width and length of a black key, as shares of a white one.
const BLACK: egui::Vec2 = vec2(0.62, 0.6);

/// Paints the region.
pub fn region(ui: &Ui, rect: Rect, snapshot: &Snapshot, settings: &Settings) {
    let sounding = view::on_show(snapshot);
    let marks = sounding.as_ref().map(view::marks).unwrap_or_default();
    let past = snapshot.sounding.is_none() || settings.bypass;
    let keys = Keys::new(rect, view::keyboard(settings, &marks));
    let painter = ui.painter_at(rect);
    keys.paint(&painter, settings, if past { &[] } else { &marks });
    for mark in &marks {
        keys.mark(&painter, mark, past);
    }
    keys.flags(&painter, settings);
    legend(&painter, rect);
}

/// Where the keys lie.
struct Keys {
    range: RangeInclusive<u8>,
    /// All keys.
    rect: Rect,
    /// The width of a white key.
    width: f32,
}

impl Keys {
    fn new(region: Rect, range: RangeInclusive<u8>) -> Keys {
        let rect = Rect::from_min_max(
            region.min + vec2(0.0, FLAGS),
            region.max - vec2(0.0, LEGEND),
        );
        let whites = f32::from(whites_below(range.end() + 1) - whites_below(*range.start()));
        Keys {
            width: rect.width() / whites.max(1.0),
            range,
            rect,
        }
    }

    /// The left edge of a white key, or the middle line of a black one.
    fn left(&self, note: u8) -> f32 {
        let before = i16::from(whites_below(note)) - i16::from(whites_below(*self.range.start()));
        self.rect.left() + self.width * f32::from(before)
    }

    fn key(&self, note: u8) -> Rect {
        let left = self.left(note);
        if view::is_black(note) {
            let size = BLACK * vec2(self.width, self.rect.height());
            Rect::from_min_size(pos2(left - size.x / 2.0, self.rect.top()), size)
        } else {
            let size = vec2(self.width, self.rect.height());
            Rect::from_min_size(pos2(left, self.rect.top()), size).shrink2(vec2(0.75, 0.0))
        }
    }

    fn paint(&self, painter: &Painter, settings: &Settings, marks: &[Mark]) {
        let register = settings.taste.register;
        let inside =
            |note: u8| (register.lowest.number()..=register.highest.number()).contains(&note);
        let whites = self.range.clone().filter(|n| !view::is_black(*n));
        let blacks = self.range.clone().filter(|n| view::is_black(*n));
        for note in whites.chain(blacks) {
            let rect = self.key(note);
            let black = view::is_black(note);
            let plain = match (black, inside(note)) {
                (false, true) => theme::WHITE_KEY,
                (false, false) => theme::WHITE_KEY_OUTSIDE,
                (true, true) => theme::BLACK_KEY,
                (true, false) => theme::BLACK_KEY_OUTSIDE,
            };
            let mark = marks.iter().find(|m| m.note == note);
            let fill = mark.map_or(plain, |m| theme::of_kind(m.kind));
            let corners = CornerRadius {
                sw: 3,
                se: 3,
                ..CornerRadius::ZERO
            };
            painter.rect_filled(rect, corners, fill);
            if black {
                let stroke = Stroke::new(1.5, theme::GROUND);
                painter.rect_stroke(rect, corners, stroke, StrokeKind::Outside);
            } else if note % 12 == 0 && mark.is_none() {
                self.octave(painter, rect, note, plain);
            }
        }
    }

    /// The name of a C, at its foot.
    fn octave(&self, painter: &Painter, key: Rect, note: u8, behind: Color32) {
        let words = view::key_name(MidiNote::clamp(i32::from(note)));
        let at = key.center_bottom() - vec2(0.0, 3.0);
        let ink = if behind == theme::WHITE_KEY {
            theme::INK
        } else {
            theme::IVORY
        };
        painter.text(at, Align2::CENTER_BOTTOM, words, theme::text(11.0), ink);
    }

    fn mark(&self, painter: &Painter, mark: &Mark, past: bool) {
        let key = self.key(mark.note);
        let text = (self.width * 0.34).clamp(9.0, 14.0);
        let lift = if view::is_black(mark.note) { 5.0 } else { 20.0 };
        let centre = key.center_bottom() - vec2(0.0, lift + mark::size(text).y / 2.0);
        let on = if past { mark::On::Past } else { mark::On::Key };
        mark::paint(painter, centre, &mark.label, mark.kind, text, on);
    }

    /// What holds for which keys: flags over the register's ends and the split.
    fn flags(&self, painter: &Painter, settings: &Settings) {
        let register = settings.taste.register;
        let from = self.key(register.lowest.number()).left();
        let to = self.key(register.highest.number()).right();
        let y = self.rect.top() - 4.0;
        let stroke = Stroke::new(2.0, theme::SOFT);
        painter.hline(from..=to, y, stroke);
        for x in [from + 1.0, to - 1.0] {
            painter.vline(x, y..=y + 4.0, stroke);
        }
        let font = theme::text(theme::SMALL);
        let name = |note: MidiNote| view::key_name(note);
        let words = format!(
            "register {} to {}",
            name(register.lowest),
            name(register.highest)
        );
        let at = pos2(from, y - 1.0);
        painter.text(at, Align2::LEFT_BOTTOM, words, font.clone(), theme::SOFT);
        self.split(painter, settings.split, font);
    }

    fn split(&self, painter: &Painter, split: u8, font: egui::FontId) {
        let colour = theme::SPLIT;
        let note = MidiNote::clamp(i32::from(split));
        let words = format!("split {}", view::key_name(note));
        let (x, align) = if split < *self.range.start() {
            (self.rect.left(), Align2::LEFT_BOTTOM)
        } else if split > *self.range.end() {
            (self.rect.right(), Align2::RIGHT_BOTTOM)
        } else {
            let x = self.left(split);
            painter.vline(
                x,
                self.rect.top() - FLAGS..=self.rect.bottom(),
                Stroke::new(2.0, colour),
            );
            (x + 5.0, Align2::LEFT_BOTTOM)
        };
        painter.text(pos2(x, self.rect.top() - 5.0), align, words, font, colour);
    }
}

/// How many white keys lie below a note, counted from MIDI note 0.
fn whites_below(note: u8) -> u8 {
    const IN_OCTAVE: [u8; 12] = [0, 1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6];
    let below = IN_OCTAVE.get(usize::from(note % 12)).copied().unwrap_or(0);
    note / 12 * 7 + below
}

/// The kinds of notes by shape and colour.
fn legend(painter: &Painter, region: Rect) {
    let y = region.bottom() - 7.0;
    let mut x = region.left();
    for kind in Kind::ALL {
        let shape = Rect::from_center_size(pos2(x + 8.0, y), vec2(16.0, 10.0));
        mark::shape(painter, shape, kind, theme::of_kind(kind));
        let font = theme::text(theme::SMALL);
        let at = pos2(x + 22.0, y);
        let drawn = painter.text(at, Align2::LEFT_CENTER, kind.name(), font, theme::SOFT);
        x = drawn.right() + 18.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn white_keys_are_counted() {
        let count = |note: u8| (0..note).filter(|n| !view::is_black(*n)).count();
        for note in 0..=127 {
            assert_eq!(usize::from(whites_below(note)), count(note), "{note}");
        }
    }

    #[test]
    fn keys_fill_the_strip_and_black_keys_sit_between() {
        let strip = Rect::from_min_size(pos2(10.0, 0.0), vec2(700.0, 120.0));
        let keys = Keys::new(strip, 48..=71);
        assert!((keys.width - 50.0).abs() < 1e-3);
        assert!((keys.key(48).left() - 10.75).abs() < 1e-3);
        assert!((keys.key(71).right() - 709.25).abs() < 1e-3);
        assert!((keys.key(49).center().x - 60.0).abs() < 1e-3);
    }
}
