//! The signs of what is told of an answer: a tick, a cross, a bar, a ring, an arrow. The panel's
//! thread; the regions import it.

use crate::editor::view::practice::Sign;
use egui::{Color32, Painter, Pos2, Stroke, vec2};

/// Paints a sign of this size around a centre.
pub fn paint(painter: &Painter, centre: Pos2, sign: Sign, size: f32, colour: Color32) {
    let stroke = Stroke::new((size * 0.18).max(1.5), colour);
    let at = |x: f32, y: f32| centre + vec2(x, y) * size * 0.5;
    let line = |from: Pos2, to: Pos2| painter.line_segment([from, to], stroke);
    match sign {
        Sign::Tick => {
            line(at(-0.8, 0.1), at(-0.25, 0.65));
            line(at(-0.25, 0.65), at(0.8, -0.65));
        }
        Sign::Cross => {
            line(at(-0.65, -0.65), at(0.65, 0.65));
            line(at(-0.65, 0.65), at(0.65, -0.65));
        }
        Sign::Bar => {
            line(at(-0.8, 0.0), at(0.8, 0.0));
        }
        Sign::Ring => {
            painter.circle_stroke(centre, size * 0.38, stroke);
        }
        Sign::Arrow => {
            line(at(0.0, 0.75), at(0.0, -0.75));
            line(at(-0.5, -0.2), at(0.0, -0.75));
            line(at(0.5, -0.2), at(0.0, -0.75));
            line(at(-0.5, 0.2), at(0.0, 0.75));
            line(at(0.5, 0.2), at(0.0, 0.75));
        }
        Sign::None => {}
    }
}
