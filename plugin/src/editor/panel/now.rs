//! The chord in force: its name to be read from afar, what it is and why, and the next
//! one. The panel's thread; `panel` imports it.

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::in_hand::InHandAction;
use crate::editor::panel::set::Set;
use crate::editor::panel::view::View;
use crate::editor::theme;
use crate::editor::view::{self as words, Letters, Now, families, practice};
use crate::editor::widgets::{self, letters, steps};
use egui::accesskit::Live;
use egui::text::LayoutJob;
use egui::{
    Align2, Color32, FontId, Galley, Id, Key, Pos2, Rect, Role, Sense, Ui, WidgetInfo, pos2, vec2,
};
use std::sync::Arc;

/// Between the lines beside the name, in points.
const STEP: f32 = 22.0;
/// The smallest size of a line, in points.
const LEAST: f32 = 11.0;
/// The share of the width that the chord's name may take.
const NAME_SHARE: f32 = 0.4;

/// The sizes on a stage, in points.
struct Sizes {
    /// Of the chord in force.
    chord: f32,
    /// Of the next chord.
    next: f32,
    /// The width kept for it.
    next_width: f32,
    /// Of the function.
    function: f32,
    /// Of other words.
    text: f32,
    /// Between the name and the words beside it.
    gap: f32,
    /// The least width kept for the name.
    name: f32,
}

impl Sizes {
    const fn of(set: Set) -> Sizes {
        Sizes {
            chord: set.points(92.0, 62.0, 80.0),
            next: set.points(36.0, 26.0, 34.0),
            next_width: set.points(148.0, 108.0, 136.0),
            function: set.points(17.0, 14.0, 19.0),
            text: set.points(14.0, 12.0, 16.0),
            gap: set.points(28.0, 14.0, 16.0),
            name: set.points(300.0, 0.0, 0.0),
        }
    }
}

/// Why a chord sounds as it does that is tried.
const TRIED: &str = "tried, and not yet in the chart";

/// Paints the region.
pub fn region(ui: &Ui, rect: Rect, set: Set, view: &View, actions: &mut Actions) {
    let sizes = Sizes::of(set);
    let (snapshot, settings) = (&view.snapshot, &view.settings);
    let hint = if view.is_unheard {
        Some(words::UNHEARD.to_owned())
    } else if view.practises() {
        let asking = view.asking();
        let alone = view.plays.is_some();
        practice::hint(&view.practice, &asking, settings, alone)
    } else {
        words::hint(&view.as_written, settings, view.plays.is_some())
    };
    let Some(mut now) = on_show(view, set) else {
        let font = theme::text(set.points(22.0, 17.0, 22.0));
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
    let baseline = pos2(rect.left(), rect.center().y + sizes.chord * 0.36);
    let room = rect.width() * NAME_SHARE;
    let width = letters::paint(ui, &now.letters, baseline, sizes.chord, room, colour);
    if view.shows_in_hand {
        let name = rect.with_max_x(rect.left() + width).shrink2(vec2(0.0, 8.0));
        in_hand(ui, name, &now, actions);
    }
    let left = rect.left() + (width + sizes.gap).max(sizes.name);
    let right = rect.right() - sizes.next_width;
    let beside = Rect::from_x_y_ranges(left..=right, rect.y_range());
    about(ui, beside, set, &now, hint.as_deref());
    let right = rect.with_min_x(right + 8.0);
    if view.practises() {
        if let Some(next) = practice::next(&view.asking(), view.drill()) {
            coming(ui, right, &sizes, &next, None);
        }
    } else if let Some(next) = snapshot.next {
        let sounding = view.pages.harmonies.sounding();
        let beats = sounding.and_then(|chart| families::beats_to_next(chart, snapshot));
        let next = words::letters(&next.chord);
        coming(ui, right, &sizes, &next, beats);
    }
}

/// The chord that is asked for in practice, or else the one in force.
fn on_show(view: &View, set: Set) -> Option<Now> {
    if view.practises() {
        let asking = view.asking();
        let asked = practice::asked(view.drill(), asking.question)?;
        let mut now = practice::now(asked, asking.help);
        if set.is_tight() {
            // There is no line for it, and it is part of the question.
            now.function = format!("{}, {}", now.function, now.why);
        }
        return Some(now);
    }
    words::now(&view.snapshot, &view.settings)
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
fn coming(ui: &Ui, rect: Rect, sizes: &Sizes, next: &Letters, beats: Option<u32>) {
    let palette = theme::palette(ui.ctx());
    let words = match beats {
        Some(beats) => format!("next, {}", families::in_beats(beats)),
        None => "next".to_owned(),
    };
    let font = theme::text(sizes.text);
    let top = rect.center().y - sizes.next * 0.66;
    line(
        ui,
        rect.left(),
        top,
        &words,
        font,
        palette.soft,
        rect.width(),
    );
    let baseline = pos2(rect.left(), top + sizes.next * 1.25);
    letters::paint(ui, next, baseline, sizes.next, rect.width(), palette.soft);
}

/// The lines beside the name: on a tight stage the function, and what to do.
fn about(ui: &Ui, rect: Rect, set: Set, now: &Now, hint: Option<&str>) {
    let sizes = Sizes::of(set);
    let palette = theme::palette(ui.ctx());
    let (colour, second) = if now.past {
        (palette.faint, palette.faint)
    } else {
        (palette.bright, palette.soft)
    };
    let text = theme::text(sizes.text);
    let yields = words::melody::fitting(&now.yields, |words| {
        let rows = if set.is_tight() { 2 } else { 1 };
        let font = theme::text(LEAST);
        !laid_out(ui, words, font, colour, (rect.width(), rows)).elided
    });
    // There is room for one of them on a tight stage.
    let hint = hint.filter(|_| !set.is_tight() || yields.is_empty());
    let melody = if now.past { second } else { palette.melody };
    let written = now
        .written
        .as_ref()
        .map(|symbol| format!("written {symbol}"));
    let besides = |words| Some(words).filter(|_| !set.is_tight());
    let lines = [
        (
            Some(now.function.as_str()),
            theme::bold(sizes.function),
            colour,
        ),
        (written.as_deref().and_then(besides), text.clone(), second),
        (besides(now.why.as_str()), text.clone(), second),
        (besides(now.notes.as_str()), text.clone(), second),
        (Some(yields.as_str()), text.clone(), melody),
        (hint, text, palette.soft),
    ];
    let lines: Vec<_> = lines
        .into_iter()
        .filter_map(|(words, font, colour)| Some((words.filter(|w| !w.is_empty())?, font, colour)))
        .collect();
    // A low region moves them closer together.
    let count = lines.iter().fold(0.0, |count, _| count + 1.0);
    let step = (rect.height() / count).min(set.points(STEP, STEP, STEP * 1.2));
    let mut y = if set.is_tight() {
        rect.top() + rect.height() * 0.12
    } else {
        rect.center().y - (count - 1.0) * step * 0.5
    };
    tell(ui, rect, now);
    for (words, font, colour) in lines {
        if set.is_tight() {
            y += wrapped(ui, pos2(rect.left(), y), words, font, colour, rect.width());
        } else {
            line(ui, rect.left(), y, words, font, colour, rect.width());
            y += step;
        }
    }
}

/// What yields, to one who does not see it, and in whole sentences where the pointer rests on it.
fn tell(ui: &Ui, rect: Rect, now: &Now) {
    if now.sentences.is_empty() {
        return;
    }
    let id = Id::unique("what yields");
    let response = ui.interact(rect, id, Sense::hover());
    let spoken = now.sentences.join("; ");
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &spoken));
    ui.ctx()
        .accesskit_node_builder(id, |node| node.set_live(Live::Polite));
    response.on_hover_text(now.sentences.join("\n"));
}

/// Words in so many rows of a width at the most, cut short with dots where they do not fit.
fn laid_out(
    ui: &Ui,
    words: &str,
    font: FontId,
    colour: Color32,
    (room, rows): (f32, usize),
) -> Arc<Galley> {
    let mut job = LayoutJob::simple(words.to_owned(), font, colour, room);
    job.wrap.max_rows = rows;
    ui.painter().layout_job(job)
}

/// Words in up to two rows from a corner down; set smaller where they do not fit, and cut short
/// with dots at last. Gives their height.
fn wrapped(ui: &Ui, at: Pos2, words: &str, font: FontId, colour: Color32, room: f32) -> f32 {
    let lay = |size: f32| {
        let font = FontId {
            size,
            ..font.clone()
        };
        laid_out(ui, words, font, colour, (room, 2))
    };
    let mut size = font.size;
    let mut galley = lay(size);
    while galley.elided && size > LEAST {
        size = (size - 1.0).max(LEAST);
        galley = lay(size);
    }
    let height = galley.size().y;
    ui.painter().galley(at, galley, colour);
    height
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
    let mut job = LayoutJob::simple_singleline(words.to_owned(), font, colour);
    job.wrap = egui::text::TextWrapping::truncate_at_width(room);
    let galley = ui.painter().layout_job(job);
    let at = Align2::LEFT_CENTER.anchor_size(pos2(left, y), galley.size());
    ui.painter().galley(at.min, galley, colour);
}
