//! The suggested scale: its notes, those to avoid, and the others that fit.
//! Imports `view`, `theme` and `widgets`.

use crate::editor::view::{self, ScaleNote};
use crate::editor::{theme, widgets};
use crate::snapshot::Snapshot;
use egui::{Align2, Color32, Pos2, Sense, Stroke, Ui, pos2, vec2};

/// The size of the notes' names, in points.
const NOTE: f32 = 19.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, snapshot: &Snapshot) {
    let Some(scale) = view::scale(snapshot) else {
        ui.horizontal(|ui| heading(ui, "shows with the first chord", theme::SOFT));
        return;
    };
    ui.spacing_mut().item_spacing.y = 3.0;
    let past = snapshot.sounding.is_none();
    let colour = if past { theme::FAINT } else { theme::IVORY };
    ui.horizontal(|ui| heading(ui, &scale.title, colour));
    notes(ui, &scale.notes, colour);
    widgets::remark(ui, &scale.reason, theme::SOFT);
    if !scale.others.is_empty() {
        let others = format!("also {}", scale.others.join(", "));
        widgets::remark(ui, &others, theme::SOFT);
    }
}

fn heading(ui: &mut Ui, title: &str, colour: Color32) {
    ui.heading("Scale");
    ui.add_space(8.0);
    let title = egui::RichText::new(title)
        .font(theme::text(15.0))
        .color(colour);
    ui.label(title);
}

/// The notes over their degrees; a note to avoid is faint, struck through and in
/// brackets.
fn notes(ui: &mut Ui, notes: &[ScaleNote], colour: Color32) {
    let width = ui.available_width();
    let (rect, _) = ui.allocate_exact_size(vec2(width, 42.0), Sense::hover());
    let mut left = rect.left();
    let step = (width / 8.5).min(44.0);
    for note in notes {
        one(ui, pos2(left + step / 2.0, rect.top()), note, colour);
        left += step;
    }
}

fn one(ui: &Ui, top: Pos2, note: &ScaleNote, colour: Color32) {
    let painter = ui.painter();
    let degree_at = top + vec2(0.0, 27.0);
    let (name, colour, degree) = if note.avoid {
        (format!("({})", note.name), theme::FAINT, theme::FAINT)
    } else {
        (note.name.clone(), colour, theme::SOFT)
    };
    let font = theme::bold(NOTE);
    let drawn = painter.text(top, Align2::CENTER_TOP, name, font, colour);
    let font = theme::text(11.5);
    painter.text(degree_at, Align2::CENTER_TOP, &note.degree, font, degree);
    if note.avoid {
        let y = drawn.center().y + 1.0;
        painter.hline(
            drawn.shrink(2.0).x_range(),
            y,
            Stroke::new(1.5, theme::FAINT),
        );
    }
}
