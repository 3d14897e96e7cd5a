//! Below the keys while chords are asked for: what there is to tell of the answer, how far the session
//! has come, and what can be asked of it. The panel's thread; `stage` imports it.

use crate::bridge::practice::PracticeAsk;
use crate::editor::model::action::{Action, Actions};
use crate::editor::model::practice::PracticeAction;
use crate::editor::panel::keyboard::answer;
use crate::editor::panel::looks;
use crate::editor::panel::set::Set;
use crate::editor::panel::view::View;
use crate::editor::view::practice::{self, Line, Sign};
use crate::editor::{theme, widgets};
use crate::engine::practising::Stage;
use crate::params::PanelView;
use egui::accesskit::Live;
use egui::text::LayoutJob;
use egui::{Align, Id, Key, Layout, Modifiers, Rect, Role, Sense, Ui, UiBuilder, WidgetInfo, pos2};

/// The width of the buttons and of what stands under them on a wide stage, in points.
const ASIDE: f32 = 300.0;
/// Between the two columns, in points.
const COLUMN_GAP: f32 = 20.0;
/// A sign and the gap behind it, as shares of the size of the words.
const SIGN: f32 = 0.85;
const SIGN_GAP: f32 = 1.5;
/// The smallest size of a line, in points.
const LEAST: f32 = 11.0;
/// Between two lines, as a share of the size of the words.
const STEP: f32 = 1.45;

/// Lays the region out: beside each other on a wide stage, under each other on a tight one.
pub fn region(
    ui: &mut Ui,
    [upper, lower]: [Rect; 2],
    set: Set,
    view: &View,
    actions: &mut Actions,
) {
    keys(ui, view, actions);
    let size = set.points(15.0, 13.0, 18.0);
    let lines = lines(view);
    let id = Id::unique("verdict");
    if set.is_tight() {
        at(ui, upper, set, |ui| {
            ui.horizontal(|ui| {
                buttons(ui, view, actions);
                let said = practice::progress(&view.asking(), view.drill());
                if let Some(words) = said.first() {
                    let soft = theme::palette(ui.ctx()).soft;
                    widgets::remark(ui, words, soft);
                }
            });
        });
        let small = view.panel.view == PanelView::Small;
        let room = if small { looks::CORNER + 8.0 } else { 0.0 };
        told(ui, id, lower.with_max_x(lower.right() - room), size, &lines);
        if small {
            let corner = lower.with_max_y(lower.top() + theme::CONTROL);
            at(ui, corner, set, |ui| {
                ui.horizontal(|ui| {
                    widgets::at_the_right(ui, "looks", |ui| looks::corner(ui, view, actions));
                });
            });
        }
        return;
    }
    let whole = upper.union(lower);
    let (left, right) = whole.split_left_right_at_x(whole.left() + ASIDE);
    at(ui, left, set, |ui| {
        ui.horizontal(|ui| buttons(ui, view, actions));
        let palette = theme::palette(ui.ctx());
        for words in practice::progress(&view.asking(), view.drill()) {
            ui.colored_label(palette.soft, words);
        }
    });
    told(
        ui,
        id,
        right.with_min_x(right.left() + COLUMN_GAP),
        size,
        &lines,
    );
}

/// What is told: a rest that is due, what came of the answer, or before the start what there is to say
/// of the exercise.
fn lines(view: &View) -> Vec<Line> {
    let asking = view.asking();
    let said = |words: String| Line {
        sign: Sign::None,
        words,
    };
    let mut lines = practice::verdict(&asking, view.drill());
    if let Some(minutes) = view.pages.practice.rest_due(asking.minutes) {
        lines.insert(
            0,
            said(format!("{minutes} minutes of practice: rest the hand.")),
        );
    }
    if matches!(asking.stage, Stage::Idle | Stage::Over) {
        lines.extend(view.practice.told.clone().map(said));
    }
    lines
}

/// The buttons that go with the stage of the session.
fn buttons(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let asking = view.asking();
    let mut press = |ui: &mut Ui, ask: PracticeAsk, word: &str, name: &str, tip: &str| {
        if widgets::button(ui, word, name, tip) {
            actions.push(Action::Practice(PracticeAction::Ask(ask)));
        }
    };
    if matches!(asking.stage, Stage::Idle | Stage::Over) {
        ui.add_enabled_ui(view.practice.drill.is_some(), |ui| {
            let tip = "Asks the first question (Enter).";
            press(ui, PracticeAsk::Begin, "Begin", "Begin practice", tip);
        });
    } else {
        let tip = "Shows more of the answer on the keys (H).";
        press(ui, PracticeAsk::More, "More help", "More help", tip);
        let tip = "Passes over this question, which counts as missed (S).";
        press(ui, PracticeAsk::Skip, "Skip", "Skip the question", tip);
        let tip = "Ends the session; what was answered stays in the record.";
        press(ui, PracticeAsk::End, "End", "End practice", tip);
    }
    if view.pages.practice.rest_due(asking.minutes).is_some() {
        let tip = "Takes the word away; it comes again after twenty more minutes.";
        if widgets::button(ui, "Noted", "Noted: a rest is due", tip) {
            actions.push(Action::Practice(PracticeAction::Rest));
        }
    }
}

/// The same by keys, where nothing has the focus.
fn keys(ui: &Ui, view: &View, actions: &mut Actions) {
    if ui.memory(|memory| memory.focused().is_some()) {
        return;
    }
    let asking = view.asking();
    let rests = matches!(asking.stage, Stage::Idle | Stage::Over);
    let wanted: &[(Key, PracticeAsk)] = if rests && view.practice.drill.is_some() {
        &[(Key::Enter, PracticeAsk::Begin)]
    } else if rests {
        &[]
    } else {
        &[(Key::H, PracticeAsk::More), (Key::S, PracticeAsk::Skip)]
    };
    for (key, ask) in wanted {
        if ui.input_mut(|input| input.consume_key(Modifiers::NONE, *key)) {
            actions.push(Action::Practice(PracticeAction::Ask(*ask)));
        }
    }
}

/// Paints the lines from the top, as many as there is room for, and tells them all to one who does not
/// see them.
pub fn told(ui: &Ui, id: Id, rect: Rect, size: f32, lines: &[Line]) {
    let response = ui.interact(rect, id, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, practice::spoken(lines)));
    ui.ctx()
        .accesskit_node_builder(id, |node| node.set_live(Live::Polite));
    let step = size * STEP;
    let mut top = rect.top();
    for (nth, line) in lines.iter().enumerate() {
        let room = rect.bottom() - top;
        let more = lines.len() - nth;
        if more > 1 && room < 2.0 * step {
            let words = format!("and {more} more");
            let sign = Sign::None;
            written(ui, rect.with_min_y(top), size, &Line { sign, words });
            return;
        }
        // Where more follow, there is room left to say so.
        let below = if more > 1 { step } else { 0.0 };
        let place = rect.with_min_y(top).with_max_y(rect.bottom() - below);
        top += written(ui, place, size, line);
    }
}

/// Writes a line with its sign from the top of a rectangle, in several rows where they have room, and
/// smaller where it does not fit otherwise; returns its height.
fn written(ui: &Ui, rect: Rect, size: f32, line: &Line) -> f32 {
    let height = rect.height();
    let palette = theme::palette(ui.ctx());
    let painter = ui.painter();
    let mut left = rect.left();
    if line.sign != Sign::None {
        let centre = pos2(left + size * 0.5, rect.top() + size * STEP * 0.5);
        let colour = answer::colour(line.sign, palette);
        widgets::sign::paint(painter, centre, line.sign, size * SIGN, colour);
        left += size * SIGN_GAP;
    }
    let lay = |size: f32| {
        let room = rect.right() - left;
        let mut job =
            LayoutJob::simple(line.words.clone(), theme::text(size), palette.bright, room);
        let rows = (height / (size * 1.25)).floor().max(1.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "few rows"
        )]
        let rows = rows as usize;
        job.wrap.max_rows = rows;
        painter.layout_job(job)
    };
    let mut smaller = size;
    let mut galley = lay(smaller);
    while galley.elided && smaller > LEAST {
        smaller = (smaller - 1.0).max(LEAST);
        galley = lay(smaller);
    }
    let row = galley.rows.first().map_or(size, |row| row.height());
    let down = (size * STEP - row) * 0.5;
    let height = galley.size().y + 2.0 * down;
    painter.galley(pos2(left, rect.top() + down), galley, palette.bright);
    height
}

fn at(ui: &mut Ui, rect: Rect, set: Set, contents: impl FnOnce(&mut Ui)) {
    let layout = Layout::top_down(Align::Min);
    ui.scope_builder(UiBuilder::new().max_rect(rect).layout(layout), |ui| {
        if set.is_tight() {
            theme::set_print(ui, set.print());
        }
        contents(ui);
    });
}
