//! The melody: how chords agree with what the right hand plays, and the chords under its keys. The
//! panel's thread; `panel` imports it. `written` is the melody that is written over the chart.

mod written;

use crate::editor::model::action::Actions;
use crate::editor::model::chart::ChartText;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::verdict;
use crate::editor::panel::view::View;
use crate::editor::view;
use crate::editor::view::practice::{Line, Sign};
use crate::editor::widgets::{self, Choices, Number};
use egui::{Id, Layout, Ui, UiBuilder};

pub const YIELDS: [&str; 3] = ["off", "tensions", "tensions and register"];
pub const UNDER: [&str; 4] = ["off", "four-way close", "drop 2", "double lead"];

/// Between two controls that do not belong together, in points.
const GAP: f32 = 14.0;
/// Between two rows, in points.
const ROW_GAP: f32 = 8.0;
/// The width of a number, in points.
const NUMBER: f32 = 62.0;
/// The width of the left side, in points.
const LEFT: f32 = 400.0;
/// The size of what is told of the melody, in points.
const SAID: f32 = 13.0;

/// Between the two sides, in points.
const COLUMN_GAP: f32 = 20.0;

/// Lays the region out: how chords follow a melody, and beside it the one that is written.
pub fn region(ui: &mut Ui, chart: &ChartText, view: &View, actions: &mut Actions) {
    let page = ui.available_rect_before_wrap();
    let right = page.with_min_x(page.left() + LEFT + COLUMN_GAP);
    ui.set_max_width(LEFT);
    ui.spacing_mut().item_spacing.y = ROW_GAP;
    ui.horizontal(|ui| yields(ui, view, actions));
    ui.horizontal(|ui| revoices(ui, view, actions));
    ui.horizontal(|ui| left_hand(ui, view, actions));
    ui.horizontal(|ui| under(ui, view, actions));
    ui.horizontal(|ui| single(ui, view, actions));
    ui.add_space(ROW_GAP);
    told(ui, view);
    let layout = Layout::top_down(egui::Align::Min);
    ui.scope_builder(UiBuilder::new().max_rect(right).layout(layout), |ui| {
        written::region(ui, chart, view, actions);
    });
}

/// What there is to tell of the melody that is played.
fn told(ui: &Ui, view: &View) {
    let said = |words| Line {
        sign: Sign::None,
        words,
    };
    let told = view::melody::told(&view.as_written, &view.settings);
    if told.is_empty() {
        return;
    }
    let lines: Vec<Line> = told.into_iter().map(said).collect();
    let id = Id::unique("what is told of the melody");
    verdict::told(ui, id, ui.available_rect_before_wrap(), SAID, &lines);
}

/// How far chords yield to the melody.
fn yields(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Chords yield", widgets::NAMES);
    let tip = "Tensions that clash with what the right hand plays give way to others; with the register \
               the chord also stays below it.";
    let choices = Choices::new("Yield to the melody", &YIELDS, tip);
    widgets::choice(ui, view.control(ParameterId::Yield), &choices, actions);
}

/// What becomes of a chord that is struck again.
fn revoices(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Struck again", widgets::NAMES);
    let words = ("re-voice repeated chords", "Re-voice repeated chords");
    let tip = "A chord that is struck again keeps its notes but for those that the melody has spoken \
               against since.";
    let control = view.control(ParameterId::Revoices);
    widgets::toggle(ui, control, words, tip, actions);
}

/// Whether the left hand sounds, and how much room its rhythm leaves.
fn left_hand(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Left hand", widgets::NAMES);
    let tip = "Off: the chords of the left hand are known and do not sound.";
    let words = ("comps", "Left hand comps");
    widgets::toggle(ui, view.control(ParameterId::Comps), words, tip, actions);
    ui.add_space(GAP);
    widgets::name(ui, "leaves space");
    let space = Number {
        what: "Space for the melody",
        width: NUMBER,
        tip: "How many strikes fewer there are while the right hand is busy, and how many more while it \
              rests.",
        words: None,
    };
    widgets::percent(ui, view.control(ParameterId::Space), &space, actions);
}

/// The chords under the melody.
fn under(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Chords under it", widgets::NAMES);
    let tip = "Each key of the right hand gets the other notes of its chord below it.";
    let choices = Choices::new("Chords under the melody", &UNDER, tip);
    widgets::choice(ui, view.control(ParameterId::Under), &choices, actions);
}

/// Which keys are left single.
fn single(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Left single", widgets::NAMES);
    widgets::name(ui, "under");
    let single = Number {
        what: "Left single under",
        width: NUMBER,
        tip: "A key that follows the one before sooner than this gets no chord: a fast line stays single.",
        words: None,
    };
    let control = view.control(ParameterId::SingleUnder);
    widgets::number(ui, control, &single, actions);
}
