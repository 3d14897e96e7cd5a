//! The lane under the keys: where each voice goes next, as short lines; and the legend.
//! The panel's thread; `keyboard` and
//! `answer` import it.

use super::keys::Keys;
use crate::editor::palette::Palette;
use crate::editor::theme;
use crate::editor::view::NoteKind;
use crate::editor::view::melody::Part;
use crate::editor::view::moves::{VoiceMotion, VoiceMove};
use crate::editor::widgets::mark;
use egui::epaint::CubicBezierShape;
use egui::{Align2, Color32, Painter, Pos2, Rangef, Rect, Stroke, pos2, vec2};

/// The height kept for what the voices become, in points.
const LABELS: f32 = 13.0;
/// The size of a label, in points.
const LABEL: f32 = 11.0;
/// Labels stand at least this far apart, in points.
const APART: f32 = 5.0;
/// Between two words of the legend, in points.
const BETWEEN: f32 = 16.0;
/// A shape of the legend, in points.
const SHAPE: egui::Vec2 = vec2(16.0, 10.0);
/// The width of a line of the legend with the gap behind it, in points.
const LINE: f32 = 16.0;
/// The lines of the legend.
const LINES: [(VoiceMotion, &str); 3] = [
    (VoiceMotion::Common, "stays"),
    (VoiceMotion::HalfStep, "half step"),
    (VoiceMotion::Wider, "whole step or more"),
];

/// Paints the moves between two heights: a dot where the note stays, a line that
/// bends for a half step, a straight one for more; with what each voice becomes, and in front of
/// them the chord that they go to.
pub fn moves(
    painter: &Painter,
    keys: &Keys,
    lane: Rangef,
    (moves, target): (&[VoiceMove], Option<&str>),
    palette: &Palette,
) {
    let bottom = lane.max - LABELS;
    let x = |note: u8| keys.key(note).center().x;
    let mut labels = Vec::new();
    for one in moves {
        let from = pos2(x(one.from), lane.min + 2.0);
        let to = pos2(x(one.to), bottom - 2.0);
        let colour = palette.of_kind(one.kind);
        line(painter, from, to, one.motion(), colour, palette);
        if !labels.iter().any(|(at, _, one_label): &(f32, _, &str)| {
            (*at, *one_label) == (to.x, one.label.as_str())
        }) {
            labels.push((to.x, colour, one.label.as_str()));
        }
    }
    labels.sort_by(|(a, ..), (b, ..)| a.total_cmp(b));
    let galleys: Vec<_> = labels
        .iter()
        .map(|(_, colour, label)| {
            painter.layout_no_wrap((*label).to_owned(), theme::bold(LABEL), *colour)
        })
        .collect();
    let places: Vec<(f32, f32)> = labels
        .iter()
        .zip(&galleys)
        .map(|((x, ..), galley)| (*x, galley.size().x))
        .collect();
    let lefts = apart(&places, keys.rect.x_range());
    if let Some((target, first)) = target.zip(lefts.first()) {
        let at = pos2(first - 2.0 * APART, lane.max);
        let words = format!("to {target}");
        let (align, at) = if at.x > keys.rect.left() + 60.0 {
            (Align2::RIGHT_BOTTOM, at)
        } else {
            let last = lefts.last().zip(places.last());
            let right = last.map_or(at.x, |(left, (_, width))| left + width);
            (Align2::LEFT_BOTTOM, pos2(right + 2.0 * APART, lane.max))
        };
        painter.text(at, align, words, theme::text(LABEL), palette.soft);
    }
    for ((left, galley), (_, colour, _)) in lefts.iter().zip(galleys).zip(&labels) {
        let at = pos2(*left, lane.max - galley.size().y);
        painter.galley(at, galley, *colour);
    }
}

/// The left ends of labels with their wanted middles and their widths, from the lowest: as near to
/// the middles as they can stand side by side, and within a range.
fn apart(labels: &[(f32, f32)], range: Rangef) -> Vec<f32> {
    let mut lefts: Vec<f32> = Vec::with_capacity(labels.len());
    let mut end = range.min;
    for (middle, width) in labels {
        let left = (middle - width / 2.0).max(end);
        lefts.push(left);
        end = left + width + APART;
    }
    // Those that were pushed to the right share the way back.
    let mut end = range.max;
    for ((middle, width), left) in labels.iter().zip(&mut lefts).rev() {
        let wanted = middle - width / 2.0;
        let pushed = *left - wanted;
        *left = (*left - pushed / 2.0).min(end - width);
        end = *left - APART;
    }
    lefts
}

fn line(
    painter: &Painter,
    from: Pos2,
    to: Pos2,
    step: VoiceMotion,
    colour: Color32,
    palette: &Palette,
) {
    match step {
        VoiceMotion::Common => {
            let middle = from.lerp(to, 0.5);
            painter.circle_filled(middle, 3.0, palette.soft);
        }
        VoiceMotion::HalfStep => {
            let bend = vec2(0.0, (to.y - from.y) * 0.75);
            let points = [from, from + bend, to - bend, to];
            let stroke = Stroke::new(2.5, colour);
            let curve =
                CubicBezierShape::from_points_stroke(points, false, Color32::TRANSPARENT, stroke);
            painter.add(curve);
            painter.circle_filled(to, 2.5, colour);
        }
        VoiceMotion::Wider => {
            painter.line_segment([from, to], Stroke::new(1.25, palette.soft));
            painter.circle_filled(to, 2.0, palette.soft);
        }
    }
}

/// A key that the player holds: a bar across its foot.
pub fn held(painter: &Painter, key: Rect, palette: &Palette) {
    let bar = Rect::from_min_max(key.left_bottom() - vec2(0.0, 5.0), key.right_bottom());
    painter.rect_filled(bar.shrink2(vec2(2.0, 0.0)), 1.5, palette.split);
    painter.hline(
        bar.x_range(),
        bar.top() - 0.75,
        Stroke::new(1.5, palette.key_gap),
    );
}

/// What stands for a held key in a legend, from its left end.
pub fn held_sign(painter: &Painter, at: Pos2, palette: &Palette) {
    let bar = Rect::from_center_size(at + vec2(7.0, 0.0), vec2(14.0, 4.0));
    painter.rect_filled(bar, 1.5, palette.split);
}

/// The kinds of notes by shape and colour, held keys, the melody, and the lines, each where it is on show;
/// the lines only where there is room. Returns where it ends.
pub fn legend(
    painter: &Painter,
    region: Rect,
    (melody, lines): (bool, bool),
    palette: &Palette,
) -> f32 {
    let y = region.bottom() - 8.0;
    let mut x = region.left();
    let laid_out = |words: &str| {
        let font = theme::text(theme::SMALL);
        painter.layout_no_wrap(words.to_owned(), font, palette.soft)
    };
    let words = |x: f32, words: &str| {
        let galley = laid_out(words);
        let width = galley.size().x;
        let at = Align2::LEFT_CENTER.anchor_size(pos2(x, y), galley.size());
        painter.galley(at.min, galley, palette.soft);
        x + width + BETWEEN
    };
    for kind in NoteKind::ALL {
        let shape = Rect::from_center_size(pos2(x + 8.0, y), SHAPE);
        mark::shape(painter, shape, kind, palette.of_kind(kind));
        x = words(x + 21.0, kind.name());
    }
    held_sign(painter, pos2(x, y), palette);
    x = words(x + 19.0, "held");
    if melody {
        for part in Part::ALL {
            let shape = Rect::from_center_size(pos2(x + 8.0, y), SHAPE);
            mark::part(painter, shape, part, palette.melody);
            x = words(x + 21.0, part.name());
        }
    }
    let width = |name: &str| LINE + laid_out(name).size().x;
    let widths: f32 = LINES.iter().map(|(_, name)| width(name)).sum();
    if lines && x + widths + 2.0 * BETWEEN <= region.right() {
        for (step, name) in LINES {
            let (from, to) = (pos2(x + 3.0, y - 6.0), pos2(x + 9.0, y + 5.0));
            line(painter, from, to, step, palette.soft, palette);
            x = words(x + LINE, name);
        }
    }
    x
}
