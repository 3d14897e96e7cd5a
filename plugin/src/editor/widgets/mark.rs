//! The mark of a note: one shape and one colour for each kind, with its label. The
//! panel's thread; the regions import it.

use crate::editor::theme;
use crate::editor::view::NoteKind;
use egui::{
    Align2, Color32, CornerRadius, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, vec2,
};

/// How a mark lies: on a coloured key the mark is dark, elsewhere it is coloured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum On {
    /// A key in the mark's own colour.
    Key,
    /// The ground.
    Ground,
    /// Any key, after the note has ended: only the shape's outline is left.
    Past,
}

/// The size of a mark around a label of this size, in points.
#[must_use]
pub fn size(text_size: f32) -> Vec2 {
    vec2(text_size * 2.35, text_size * 1.75)
}

/// Paints a mark around a centre.
pub fn paint(painter: &Painter, centre: Pos2, label: &str, kind: NoteKind, text_size: f32, on: On) {
    let colour = theme::palette(painter.ctx()).of_kind(kind);
    let (fill, ink) = match on {
        On::Key => (theme::palette(painter.ctx()).ink, colour),
        On::Ground => (colour, theme::palette(painter.ctx()).ink),
        On::Past => (
            theme::palette(painter.ctx()).surface,
            theme::palette(painter.ctx()).soft,
        ),
    };
    shape(
        painter,
        Rect::from_center_size(centre, size(text_size)),
        kind,
        fill,
    );
    // A ring leaves its middle as it is.
    let hollow = kind == NoteKind::ChordTone && on == On::Ground;
    let ink = if hollow { colour } else { ink };
    let mut at = centre;
    if kind == NoteKind::Bass {
        at.y -= text_size * 0.12;
    }
    painter.text(
        at,
        Align2::CENTER_CENTER,
        label,
        theme::bold(text_size),
        ink,
    );
}

/// Paints the shape of a kind into a rectangle: a pill for guide tones, a square
/// for natural tensions, a lozenge for altered ones, a frame for chord tones, a
/// pointer down for the bass.
pub fn shape(painter: &Painter, rect: Rect, kind: NoteKind, fill: Color32) {
    let round = rect.height() / 2.0;
    let polygon = |points: Vec<Pos2>| Shape::convex_polygon(points, fill, Stroke::NONE);
    match kind {
        NoteKind::Guide => {
            painter.rect_filled(rect, round, fill);
        }
        NoteKind::Natural => {
            painter.rect_filled(rect, CornerRadius::same(2), fill);
        }
        NoteKind::ChordTone if fill != theme::palette(painter.ctx()).of_kind(kind) => {
            painter.rect_filled(rect, CornerRadius::same(6), fill);
        }
        NoteKind::ChordTone => {
            let stroke = Stroke::new(1.5, fill);
            painter.rect_stroke(rect, CornerRadius::same(6), stroke, StrokeKind::Inside);
        }
        NoteKind::Altered => {
            let point = rect.height() * 0.42;
            let rect = rect.expand2(vec2(point * 0.45, 0.0));
            painter.add(polygon(vec![
                rect.left_center(),
                rect.left_top() + vec2(point, 0.0),
                rect.right_top() - vec2(point, 0.0),
                rect.right_center(),
                rect.right_bottom() - vec2(point, 0.0),
                rect.left_bottom() + vec2(point, 0.0),
            ]));
        }
        NoteKind::Bass => {
            let down = vec2(0.0, rect.height() * 0.28);
            painter.add(polygon(vec![
                rect.left_top(),
                rect.right_top(),
                rect.right_bottom() - down,
                rect.center_bottom() + down * 0.5,
                rect.left_bottom() - down,
            ]));
        }
    }
}
