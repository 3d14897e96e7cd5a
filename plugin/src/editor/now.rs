//! The chord in force: its name to be read from afar, what it is and why, and the
//! next one. Imports `view`, `theme` and `letters`.

use crate::editor::view::{self, Now};
use crate::editor::{letters, theme};
use crate::settings::Settings;
use crate::snapshot::Snapshot;
use egui::{Align2, Color32, FontId, Rect, Ui, pos2};

/// The size of the chord in force, in points.
const CHORD: f32 = 92.0;
/// The size of the next chord, in points.
const NEXT: f32 = 34.0;
/// The share of the width that the chord's name may take.
const NAME_SHARE: f32 = 0.4;
/// The width kept for the next chord, in points.
const NEXT_WIDTH: f32 = 132.0;

/// Paints the region.
pub fn region(ui: &Ui, rect: Rect, snapshot: &Snapshot, settings: &Settings) {
    let hint = view::hint(snapshot, settings);
    let Some(now) = view::now(snapshot, settings) else {
        let font = theme::text(22.0);
        let hint = hint.unwrap_or_default();
        line(
            ui,
            rect.left(),
            rect.center().y,
            &hint,
            font,
            theme::SOFT,
            rect.width(),
        );
        return;
    };
    let past = now.past || settings.bypass;
    let colour = if past { theme::FAINT } else { theme::IVORY };
    let baseline = pos2(rect.left(), rect.center().y + CHORD * 0.36);
    let room = rect.width() * NAME_SHARE;
    let width = letters::paint(ui, &now.letters, baseline, CHORD, room, colour);
    let left = rect.left() + (width + 28.0).max(300.0);
    let right = rect.right() - NEXT_WIDTH;
    about(ui, rect, left, right - left, &now, hint.as_deref());
    if let Some(next) = snapshot.next {
        let left = right + 8.0;
        let font = theme::text(theme::SMALL);
        let top = rect.center().y - 24.0;
        line(ui, left, top, "next", font, theme::SOFT, NEXT_WIDTH);
        let baseline = pos2(left, top + 14.0 + NEXT * 0.8);
        let room = rect.right() - left;
        let next = view::letters(&next.chord);
        letters::paint(ui, &next, baseline, NEXT, room, theme::SOFT);
    }
}

/// The lines beside the name.
fn about(ui: &Ui, rect: Rect, left: f32, room: f32, now: &Now, hint: Option<&str>) {
    let colour = if now.past { theme::FAINT } else { theme::IVORY };
    let second = if now.past { theme::FAINT } else { theme::SOFT };
    let text = theme::text(14.0);
    let written = now
        .written
        .as_ref()
        .map(|symbol| format!("written {symbol}"));
    let lines = [
        (Some(now.function.as_str()), theme::bold(17.0), colour),
        (written.as_deref(), text.clone(), second),
        (Some(now.why.as_str()), text.clone(), second),
        (Some(now.notes.as_str()), text.clone(), second),
        (hint, text, theme::SOFT),
    ];
    let lines: Vec<_> = lines
        .into_iter()
        .filter_map(|(words, font, colour)| Some((words.filter(|w| !w.is_empty())?, font, colour)))
        .collect();
    let step = 22.0;
    let mut y = rect.center().y - step * 0.5;
    for _ in lines.iter().skip(1) {
        y -= step * 0.5;
    }
    y += step * 0.5;
    for (words, font, colour) in lines {
        line(ui, left, y, words, font, colour, room);
        y += step;
    }
}

/// One line, centred on `y`; cut short with dots where it does not fit.
fn line(ui: &Ui, left: f32, y: f32, words: &str, font: FontId, colour: Color32, room: f32) {
    let mut job = egui::text::LayoutJob::simple_singleline(words.to_owned(), font, colour);
    job.wrap = egui::text::TextWrapping::truncate_at_width(room);
    let galley = ui.painter().layout_job(job);
    let at = Align2::LEFT_CENTER.anchor_size(pos2(left, y), galley.size());
    ui.painter().galley(at.min, galley, colour);
}
