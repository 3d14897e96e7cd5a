//! Beside the table of the record: the slowest moves, how it goes from session to session, and the record
//! to files and from files. The panel's thread; the page of practice imports it.

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::files::FilesAction;
use crate::editor::model::files::kind::FileKind;
use crate::editor::model::practice::PracticeAction;
use crate::editor::panel::view::View;
use crate::editor::view::record::{Point, RecordLook};
use crate::editor::{theme, widgets};
use egui::{
    Align2, Label, Pos2, Rect, RichText, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};

/// The height of a slow move, in points.
const MOVE: f32 = 18.0;
/// The most slow moves that are shown.
const MOST_MOVES: usize = 4;
/// The least height of the line from session to session, in points.
const LINE: f32 = 52.0;
/// The width kept for the numbers at its ends, in points.
const ENDS: f32 = 38.0;
/// The height kept for what is said of a file, in points.
const SAID: f32 = 34.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let look = view.pages.practice.look();
    if look.answers == 0 {
        let palette = theme::palette(ui.ctx());
        widgets::remark(ui, "Nothing has been practised yet.", palette.soft);
    } else {
        slowest(ui, look);
        course(ui, look);
    }
    buttons(ui, view, actions);
    said(ui, view, actions);
}

fn heading(ui: &mut Ui, words: &str, beside: &str) {
    let palette = theme::palette(ui.ctx());
    ui.horizontal(|ui| {
        ui.set_height(MOVE);
        ui.heading(words);
        widgets::remark(ui, beside, palette.soft);
    });
}

/// The slowest moves.
fn slowest(ui: &mut Ui, look: &RecordLook) {
    if look.slowest.is_empty() {
        return;
    }
    let palette = theme::palette(ui.ctx());
    ui.spacing_mut().item_spacing.y = 1.0;
    heading(ui, "Slowest moves", "half of them take longer");
    for one in look.slowest.iter().take(MOST_MOVES) {
        let size = vec2(ui.available_width(), MOVE);
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        let seconds = match one.seconds {
            Some(seconds) => format!("{seconds:.1} s"),
            None => "never right".to_owned(),
        };
        let painter = ui.painter();
        let font = theme::text(theme::TEXT);
        let at = rect.left_center();
        painter.text(
            at,
            Align2::LEFT_CENTER,
            &one.words,
            font.clone(),
            palette.bright,
        );
        let at = rect.right_center();
        painter.text(at, Align2::RIGHT_CENTER, &seconds, font, palette.bright);
        response.widget_info(|| {
            let words = format!("{}: {seconds}", one.words);
            WidgetInfo::labeled(Role::Label, true, words)
        });
    }
    ui.add_space(5.0);
}

/// How it goes from session to session.
fn course(ui: &mut Ui, look: &RecordLook) {
    let [first, .., last] = look.course.as_slice() else {
        return;
    };
    let sessions = format!("{} sessions, {} to {}", look.sessions, first.day, last.day);
    heading(ui, "Progress", &sessions);
    let below = theme::CONTROL + SAID + 10.0;
    let height = (ui.available_height() - below).clamp(LINE, 2.5 * LINE);
    let size = vec2(ui.available_width(), height);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    line(ui, rect, &look.course);
    let spoken = || {
        let points = look.course.iter();
        let points = points.map(|p| format!("{}: {} % of {}", p.day, p.right, p.answers));
        format!(
            "Right at first try: {}",
            points.collect::<Vec<_>>().join("; ")
        )
    };
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, spoken()));
    let tip = "Right at first try, of a hundred, from session to session.";
    response.on_hover_text(tip);
    ui.add_space(5.0);
}

/// A line through the points, with the numbers of its ends.
fn line(ui: &Ui, rect: Rect, points: &[Point]) {
    let palette = theme::palette(ui.ctx());
    let painter = ui.painter();
    painter.rect_filled(rect, 4.0, palette.surface);
    let field = rect.shrink2(vec2(ENDS, 8.0));
    for percent in [0.0, 50.0, 100.0] {
        let y = field.bottom() - field.height() * percent / 100.0;
        painter.hline(field.x_range(), y, Stroke::new(1.0, palette.line));
    }
    let steps = points.iter().skip(1).fold(0.0, |count, _| count + 1.0);
    let mut nth = 0.0;
    let mut places: Vec<Pos2> = Vec::with_capacity(points.len());
    for point in points {
        let right = f32::from(u8::try_from(point.right.min(100)).unwrap_or(100));
        let x = field.left() + field.width() * nth / f32::max(steps, 1.0);
        places.push(pos2(x, field.bottom() - field.height() * right / 100.0));
        nth += 1.0;
    }
    let colour = palette.right;
    if points.len() <= 40 {
        for place in &places {
            painter.circle_filled(*place, 3.0, colour);
        }
    }
    let ends = points.first().zip(places.first()).into_iter();
    let ends = ends.map(|end| (end, Align2::RIGHT_CENTER, -7.0));
    let last = points.last().zip(places.last()).into_iter();
    let last = last.map(|end| (end, Align2::LEFT_CENTER, 7.0));
    for ((point, place), align, away) in ends.chain(last) {
        let words = format!("{} %", point.right);
        let y = place.y.clamp(rect.top() + 8.0, rect.bottom() - 8.0);
        let font = theme::bold(theme::SMALL);
        painter.text(pos2(place.x + away, y), align, words, font, palette.bright);
    }
    painter.add(Shape::line(places, Stroke::new(2.0, colour)));
}

/// The record to a file, from a file, emptied, and brought back.
fn buttons(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let practice = &view.pages.practice;
    ui.spacing_mut().item_spacing.y = 4.0;
    ui.horizontal(|ui| {
        let tip = "Picks a place and a name, and writes the record to a JSON file, to show it or to take it along.";
        if widgets::button(ui, "Export ...", "Export the record", tip) {
            actions.push(Action::Files(FilesAction::SaveAs(FileKind::Record)));
        }
        let tip = "Picks a record's JSON file: its sessions come to yours, and none comes twice.";
        if widgets::button(ui, "Import ...", "Import a record", tip) {
            actions.push(Action::Files(FilesAction::OpenRecord));
        }
        let record = &view.practice.record;
        if practice.can_bring_back(record) {
            let tip = "Undoes the last thing that was done to the record; what was practised since stays.";
            if widgets::button(ui, "Bring back", "Bring the record back", tip) {
                actions.push(Action::Practice(PracticeAction::BringBack));
            }
        } else {
            ui.add_enabled_ui(practice.look().answers > 0, |ui| {
                let tip = "Empties the record. The button then brings it back, until this window closes.";
                if widgets::button(ui, "Reset", "Reset the record", tip) {
                    actions.push(Action::Practice(PracticeAction::Reset));
                }
            });
        }
    });
}

/// What is said of the last file.
fn said(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let palette = theme::palette(ui.ctx());
    let files = &view.pages.files;
    if let Some(words) = files.under_way() {
        ui.horizontal(|ui| {
            let tip = "Gives the file up; the record stays as it is.";
            if widgets::button(ui, "Cancel", "Cancel", tip) {
                actions.push(Action::Files(FilesAction::Cancel));
            }
            let text = RichText::new(words)
                .font(theme::text(theme::SMALL))
                .color(palette.bright);
            ui.add(Label::new(text).truncate());
        });
        return;
    }
    if let Some(said) = files.said() {
        let colour = if said.failed {
            palette.wrong
        } else {
            palette.bright
        };
        widgets::remark(ui, &said.words, colour);
    }
}
