//! A chord symbol set as on a lead sheet: a large root, its signs, quality and brackets
//! smaller and raised. The panel's thread; the regions import it.

use crate::editor::theme;
use crate::editor::view::Letters;
use egui::{Color32, Galley, Pos2, Ui, vec2};
use std::sync::Arc;

/// The parts' sizes and how high they stand, as shares of the root's size.
const SIGNS: (f32, f32) = (0.62, 0.26);
const QUALITY: (f32, f32) = (0.64, 0.0);
const BRACKETS: (f32, f32) = (0.46, 0.2);
const BASS: (f32, f32) = (0.64, 0.0);
/// Brackets that would be smaller stand below the rest, in points.
const LEAST: f32 = 11.0;
/// The size of the rest above them and how high it stands, as shares of the whole size.
const ABOVE: f32 = 0.7;
const RAISED: f32 = 0.18;
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
    let line = Line::within(ui, letters, size, room, colour);
    let (share, _) = BRACKETS;
    if letters.brackets.is_empty() || line.size * share >= LEAST {
        line.paint(ui, baseline, colour);
        return line.width;
    }
    // What would be too small to read stands below the rest.
    let plain = Letters {
        brackets: String::new(),
        ..letters.clone()
    };
    let line = Line::within(ui, &plain, size * ABOVE, room, colour);
    let upper = baseline - vec2(0.0, size * RAISED);
    line.paint(ui, upper, colour);
    let lay = |size: f32| {
        let words = letters.brackets.clone();
        ui.painter()
            .layout_no_wrap(words, theme::bold(size), colour)
    };
    let full = lay(size * share);
    let size = size * share * (room / full.size().x).min(1.0);
    let below = lay(size.max(LEAST));
    let width = line.width.max(below.size().x);
    ui.painter()
        .galley(upper + vec2(0.0, size.min(LEAST) * 0.1), below, colour);
    width
}

/// The parts with their places, counted from the left end of the baseline.
struct Line {
    parts: Vec<(Arc<Galley>, Pos2)>,
    width: f32,
    /// The root's size, in points.
    size: f32,
}

impl Line {
    /// A line of this size, or of the size that has room.
    fn within(ui: &Ui, letters: &Letters, size: f32, room: f32, colour: Color32) -> Line {
        let full = Line::new(ui, letters, size, colour);
        if full.width > room {
            Line::new(ui, letters, size * room / full.width, colour)
        } else {
            full
        }
    }

    fn paint(&self, ui: &Ui, baseline: Pos2, colour: Color32) {
        for (galley, at) in &self.parts {
            let at = baseline + at.to_vec2();
            ui.painter().galley(at, galley.clone(), colour);
        }
    }

    fn new(ui: &Ui, letters: &Letters, size: f32, colour: Color32) -> Line {
        let mut line = Line {
            parts: Vec::new(),
            width: 0.0,
            size,
        };
        let parts = [
            (letters.root.as_str(), (1.0, 0.0)),
            (&letters.accidental, SIGNS),
            (&letters.quality, QUALITY),
            (&letters.brackets, BRACKETS),
            (&letters.bass, BASS),
        ];
        for (text, (share, raised)) in parts {
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
