//! The mark of a note: one shape and one colour for each kind, with its label. The
//! panel's thread; the regions import it.

use crate::editor::theme;
use crate::editor::view::NoteKind;
use crate::editor::view::melody::Part;
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

/// Paints the mark of the melody, or of a voice under it, around a centre: a pointer up, full for the
/// melody and in outline for what is under it. It is as wide as its label needs.
pub fn paint_part(painter: &Painter, centre: Pos2, label: &str, part: Part, text: f32, on: On) {
    let palette = theme::palette(painter.ctx());
    let (fill, line, ink) = match (on, part) {
        (On::Key, Part::Melody) => (palette.ink, palette.ink, palette.melody),
        (On::Key, Part::Under) => (palette.melody, palette.ink, palette.ink),
        (On::Ground, Part::Melody) => (palette.melody, palette.melody, palette.ink),
        (On::Ground, Part::Under) => (Color32::TRANSPARENT, palette.melody, palette.melody),
        (On::Past, Part::Melody) => (palette.surface, palette.surface, palette.soft),
        (On::Past, Part::Under) => (palette.surface, palette.soft, palette.soft),
    };
    let galley = painter.layout_no_wrap(label.to_owned(), theme::bold(text), ink);
    let width = (galley.size().x + 0.6 * text).min(size(text).x);
    let rect = Rect::from_center_size(centre, vec2(width, size(text).y));
    pointer_up(painter, rect, fill, line);
    let at =
        Align2::CENTER_CENTER.anchor_size(centre + vec2(0.0, text * POINT_SHARE), galley.size());
    painter.galley(at.min, galley, ink);
}

/// Paints the shape of the melody, or of a voice under it, into a rectangle.
pub fn part(painter: &Painter, rect: Rect, part: Part, colour: Color32) {
    let fill = match part {
        Part::Melody => colour,
        Part::Under => Color32::TRANSPARENT,
    };
    pointer_up(painter, rect, fill, colour);
}

/// How far a label stands below the middle of a pointer, as a share of its size.
const POINT_SHARE: f32 = 0.14;

fn pointer_up(painter: &Painter, rect: Rect, fill: Color32, line: Color32) {
    let point = vec2(0.0, rect.height() * 0.28);
    let points = vec![
        rect.center_top() - point * 0.5,
        rect.right_top() + point * 0.6,
        rect.right_bottom(),
        rect.left_bottom(),
        rect.left_top() + point * 0.6,
    ];
    painter.add(Shape::convex_polygon(points, fill, Stroke::new(1.5, line)));
}
