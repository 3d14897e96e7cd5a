//! The chord in force: its name to be read from afar, what it is and why, and the next
//! one. The panel's thread; `panel` imports it.

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::in_hand::InHandAction;
use crate::editor::panel::view::View;
use crate::editor::theme;
use crate::editor::view::{self as words, Letters, Now, families};
use crate::editor::widgets::{self, letters, steps};
use egui::{Align2, Color32, FontId, Id, Key, Rect, Role, Sense, Ui, WidgetInfo, pos2, vec2};

/// The size of the chord in force, in points.
const CHORD: f32 = 92.0;
/// The size of the next chord, in points.
const NEXT: f32 = 36.0;
/// Between the lines beside the name, in points.
const STEP: f32 = 22.0;
/// The smallest size of a line, in points.
const LEAST: f32 = 11.0;
/// The share of the width that the chord's name may take.
const NAME_SHARE: f32 = 0.4;
/// The width kept for the next chord, in points.
const NEXT_WIDTH: f32 = 148.0;

/// Why a chord sounds as it does that is tried.
const TRIED: &str = "tried, and not yet in the chart";

/// Paints the region.
pub fn region(ui: &Ui, rect: Rect, view: &View, actions: &mut Actions) {
    let (snapshot, settings) = (&view.snapshot, &view.settings);
    let hint = if view.is_unheard {
        Some(words::UNHEARD.to_owned())
    } else {
        words::hint(&view.as_written, settings, view.plays.is_some())
    };
    let Some(mut now) = words::now(snapshot, settings) else {
        let font = theme::text(22.0);
        let hint = hint.unwrap_or_default();
        line(
            ui,
            rect.left(),
            rect.center().y,
            &hint,
            font,
            theme::palette(ui.ctx()).soft,
            rect.width(),
        );
        return;
    };
    if view.shows_tried {
        TRIED.clone_into(&mut now.why);
    }
    let past = now.past || settings.bypass;
    let colour = if past {
        theme::palette(ui.ctx()).faint
    } else {
        theme::palette(ui.ctx()).bright
    };
    let baseline = pos2(rect.left(), rect.center().y + CHORD * 0.36);
    let room = rect.width() * NAME_SHARE;
    let width = letters::paint(ui, &now.letters, baseline, CHORD, room, colour);
    if view.shows_in_hand {
        let name = rect.with_max_x(rect.left() + width).shrink2(vec2(0.0, 8.0));
        in_hand(ui, name, &now, actions);
    }
    let left = rect.left() + (width + 28.0).max(300.0);
    let right = rect.right() - NEXT_WIDTH;
    about(ui, rect, left, right - left, &now, hint.as_deref());
    if let Some(next) = snapshot.next {
        let sounding = view.pages.harmonies.sounding();
        let beats = sounding.and_then(|chart| families::beats_to_next(chart, snapshot));
        let next = words::letters(&next.chord);
        coming(ui, rect.with_min_x(right + 8.0), &next, beats);
    }
}

/// The name of the chord in hand as a control: a press sounds it, and the arrow keys lead to its
/// neighbours.
fn in_hand(ui: &Ui, rect: Rect, now: &Now, actions: &mut Actions) {
    let id = Id::unique("the chord in hand");
    let response = ui.interact(rect, id, Sense::click());
    let spoken = format!("Chord on show: {}", now.letters.whole());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &spoken));
    widgets::focus(ui, rect, &response);
    if response.has_focus() {
        steps::keep_arrows(ui, id);
    }
    let after = [Key::ArrowRight, Key::ArrowDown];
    let before = [Key::ArrowLeft, Key::ArrowUp];
    let steps = steps::steps(ui, id, &after, &before);
    let action = if steps > 0 {
        InHandAction::Next
    } else {
        InHandAction::Previous
    };
    for _ in 0..steps.unsigned_abs() {
        actions.push(Action::InHand(action));
    }
    let tip = "Sounds this chord; the arrow keys lead to the chords beside it.";
    if response.on_hover_text(tip).clicked() {
        actions.push(Action::InHand(InHandAction::Hear));
    }
}

/// The next chord, and how many beats away it is.
fn coming(ui: &Ui, rect: Rect, next: &Letters, beats: Option<u32>) {
    let palette = theme::palette(ui.ctx());
    let words = match beats {
        Some(beats) => format!("next, {}", families::in_beats(beats)),
        None => "next".to_owned(),
    };
    let font = theme::text(theme::TEXT);
    let top = rect.center().y - 24.0;
    line(
        ui,
        rect.left(),
        top,
        &words,
        font,
        palette.soft,
        rect.width(),
    );
    let baseline = pos2(rect.left(), top + 16.0 + NEXT * 0.8);
    letters::paint(ui, next, baseline, NEXT, rect.width(), palette.soft);
}

/// The lines beside the name.
fn about(ui: &Ui, rect: Rect, left: f32, room: f32, now: &Now, hint: Option<&str>) {
    let palette = theme::palette(ui.ctx());
    let (colour, second) = if now.past {
        (palette.faint, palette.faint)
    } else {
        (palette.bright, palette.soft)
    };
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
        (hint, text, palette.soft),
    ];
    let lines: Vec<_> = lines
        .into_iter()
        .filter_map(|(words, font, colour)| Some((words.filter(|w| !w.is_empty())?, font, colour)))
        .collect();
    // A low region moves them closer together.
    let count = lines.iter().fold(0.0, |count, _| count + 1.0);
    let step = (rect.height() / count).min(STEP);
    let mut y = rect.center().y - (count - 1.0) * step * 0.5;
    for (words, font, colour) in lines {
        line(ui, left, y, words, font, colour, room);
        y += step;
    }
}

/// One line, centred on `y`; set smaller where it does not fit, and cut short with
/// dots at last.
fn line(ui: &Ui, left: f32, y: f32, words: &str, font: FontId, colour: Color32, room: f32) {
    let full = ui
        .painter()
        .layout_no_wrap(words.to_owned(), font.clone(), colour);
    let share = (room / full.size().x).min(1.0);
    let size = (font.size * share).max(LEAST).min(font.size);
    let font = FontId { size, ..font };
    let mut job = egui::text::LayoutJob::simple_singleline(words.to_owned(), font, colour);
    job.wrap = egui::text::TextWrapping::truncate_at_width(room);
    let galley = ui.painter().layout_job(job);
    let at = Align2::LEFT_CENTER.anchor_size(pos2(left, y), galley.size());
    ui.painter().galley(at.min, galley, colour);
}
