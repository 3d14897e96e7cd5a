//! The lane under the keys: where each voice goes next, as short lines; and the legend.
//! The panel's thread; `keyboard` imports it.

use super::keys::Keys;
use crate::editor::palette::Palette;
use crate::editor::theme;
use crate::editor::view::NoteKind;
use crate::editor::view::moves::{VoiceMotion, VoiceMove};
use crate::editor::widgets::mark;
use egui::epaint::CubicBezierShape;
use egui::{Align2, Color32, Painter, Pos2, Rangef, Rect, Stroke, pos2, vec2};

/// The height kept for what the voices become, in points.
const LABELS: f32 = 12.0;
/// Labels stand at least this far apart, in points.
const APART: f32 = 22.0;

/// Paints the moves between two heights: a dot where the note stays, a line that
/// bends for a half step, a straight one for more.
pub fn moves(painter: &Painter, keys: &Keys, lane: Rangef, moves: &[VoiceMove], palette: &Palette) {
    let labelled = lane.span() > 24.0;
    let bottom = if labelled {
        lane.max - LABELS
    } else {
        lane.max
    };
    for (i, one) in moves.iter().enumerate() {
        let x = |note: u8| keys.key(note).center().x;
        let from = pos2(x(one.from), lane.min + 2.0);
        let to = pos2(x(one.to), bottom - 2.0);
        line(
            painter,
            from,
            to,
            one.motion(),
            palette.of_kind(one.kind),
            palette,
        );
        let near = |other: &VoiceMove| (x(other.to) - to.x).abs() < APART;
        let crowded = moves.iter().take(i).any(near);
        if labelled && !crowded {
            let at = pos2(to.x, lane.max);
            let colour = palette.of_kind(one.kind);
            painter.text(
                at,
                Align2::CENTER_BOTTOM,
                &one.label,
                theme::text(10.5),
                colour,
            );
        }
    }
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

/// The kinds of notes by shape and colour, held keys, and the lines; returns where it ends.
pub fn legend(painter: &Painter, region: Rect, lines: bool, palette: &Palette) -> f32 {
    let y = region.bottom() - 8.0;
    let mut x = region.left();
    let words = |x: f32, words: &str| {
        let font = theme::text(theme::SMALL);
        let at = pos2(x, y);
        let drawn = painter.text(at, Align2::LEFT_CENTER, words, font, palette.soft);
        drawn.right() + 16.0
    };
    for kind in NoteKind::ALL {
        let shape = Rect::from_center_size(pos2(x + 8.0, y), vec2(16.0, 10.0));
        mark::shape(painter, shape, kind, palette.of_kind(kind));
        x = words(x + 21.0, kind.name());
    }
    let bar = Rect::from_center_size(pos2(x + 7.0, y), vec2(14.0, 4.0));
    painter.rect_filled(bar, 1.5, palette.split);
    x = words(x + 19.0, "held");
    if lines {
        for (step, name) in [
            (VoiceMotion::Common, "stays"),
            (VoiceMotion::HalfStep, "half step"),
            (VoiceMotion::Wider, "further"),
        ] {
            let (from, to) = (pos2(x + 3.0, y - 6.0), pos2(x + 9.0, y + 5.0));
            line(painter, from, to, step, palette.soft, palette);
            x = words(x + 16.0, name);
        }
    }
    x
}
