//! A chord symbol set as on a lead sheet: a large root, its signs, quality and brackets
//! smaller and raised. The panel's thread; the regions import it.

use crate::editor::theme;
use crate::editor::view::Letters;
use egui::{Color32, Galley, Pos2, Ui, vec2};
use std::sync::Arc;

/// The parts' sizes and how high they stand, as shares of the root's size.
const SIGNS: (f32, f32) = (0.62, 0.26);
const QUALITY: (f32, f32) = (0.64, 0.0);
/// The triangle of a major seventh, which reaches below the line by itself.
const TRIANGLE: (f32, f32) = (0.56, 0.075);
const BRACKETS: (f32, f32) = (0.46, 0.2);
const BASS: (f32, f32) = (0.64, 0.0);
/// Between two parts, as a share of the root's size.
const GAP: f32 = 0.03;

/// Paints a symbol from its left end on the baseline, no wider than `room`; all
/// in points. Returns its width.
pub fn paint(
    ui: &Ui,
    letters: &Letters,
    baseline: Pos2,
    size: f32,
    room: f32,
    colour: Color32,
) -> f32 {
    let full = Line::new(ui, letters, size, colour);
    let line = if full.width > room {
        Line::new(ui, letters, size * room / full.width, colour)
    } else {
        full
    };
    for (galley, at) in line.parts {
        ui.painter().galley(baseline + at.to_vec2(), galley, colour);
    }
    line.width
}

/// The parts with their places, counted from the left end of the baseline.
struct Line {
    parts: Vec<(Arc<Galley>, Pos2)>,
    width: f32,
}

impl Line {
    fn new(ui: &Ui, letters: &Letters, size: f32, colour: Color32) -> Line {
        let mut line = Line {
            parts: Vec::new(),
            width: 0.0,
        };
        let quality = letters.quality.split_inclusive('△').flat_map(|run| {
            let plain = run.trim_end_matches('△');
            let (plain, triangle) = run.split_at_checked(plain.len()).unwrap_or((run, ""));
            [(plain, QUALITY), (triangle, TRIANGLE)]
        });
        let before = [
            (letters.root.as_str(), (1.0, 0.0)),
            (&letters.accidental, SIGNS),
        ];
        let after = [(letters.brackets.as_str(), BRACKETS), (&letters.bass, BASS)];
        for (text, (share, raised)) in before.into_iter().chain(quality).chain(after) {
            if text.is_empty() {
                continue;
            }
            let font = theme::bold(size * share);
            let galley = ui.painter().layout_no_wrap(text.to_owned(), font, colour);
            let top = -baseline_of(&galley) - size * raised;
            let at = Pos2::ZERO + vec2(line.width, top);
            line.width += galley.size().x + size * GAP;
            line.parts.push((galley, at));
        }
        line
    }
}

/// How far the baseline lies below the top of a line of text, in points.
#[must_use]
pub fn baseline_of(galley: &Galley) -> f32 {
    let row = galley.rows.first();
    let glyph = row.and_then(|row| row.row.glyphs.first().map(|g| row.pos.y + g.pos.y));
    glyph.unwrap_or(0.0)
}
