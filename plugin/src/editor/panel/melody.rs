//! The melody: how chords agree with what the right hand plays, and the chords under its keys. The
//! panel's thread; `panel` imports it.

use crate::editor::model::action::Actions;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::view::View;
use crate::editor::widgets::{self, Choices, Number};
use egui::Ui;

pub const YIELDS: [&str; 3] = ["off", "tensions", "tensions and register"];
pub const UNDER: [&str; 4] = ["off", "four-way close", "drop 2", "double lead"];

/// Between two rows, in points.
const ROW_GAP: f32 = 8.0;
/// The width of a number, in points.
const NUMBER: f32 = 62.0;

/// Lays the region out. It keeps to the left of the page; the right is for a melody that is written.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    ui.spacing_mut().item_spacing.y = ROW_GAP;
    ui.horizontal(|ui| yields(ui, view, actions));
    ui.horizontal(|ui| revoices(ui, view, actions));
    ui.horizontal(|ui| space(ui, view, actions));
    ui.horizontal(|ui| under(ui, view, actions));
    ui.horizontal(|ui| single(ui, view, actions));
    ui.horizontal(|ui| comps(ui, view, actions));
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

/// How much room the rhythm leaves.
fn space(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Space", widgets::NAMES);
    let space = Number {
        what: "Space for the melody",
        width: NUMBER,
        tip: "How much fewer the strikes are while the right hand is busy, and how much more while it \
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

/// Whether the left hand sounds.
fn comps(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Left hand", widgets::NAMES);
    let tip = "Off: the chords of the left hand are known and do not sound.";
    let words = ("comps", "Left hand comps");
    widgets::toggle(ui, view.control(ParameterId::Comps), words, tip, actions);
}
