//! The rhythm: when chords are struck, how they are played, and the pattern that the
//! user draws. The panel's thread; `panel` imports it.

mod grid;

use crate::editor::model::action::Actions;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::view::View;
use crate::editor::widgets::{self, List, Number};
use crate::engine::rhythm::{BAR_CELLS, Feel, Rhythm};
use egui::Ui;
use guidehand_theory::chart::{Chart, TICKS_PER_QUARTER};

/// Between two controls that do not belong together, in points.
const GAP: f32 = 14.0;
/// Between two rows, in points.
const ROW_GAP: f32 = 8.0;
/// The width of a number, in points.
const NUMBER: f32 = 54.0;
/// The widest that the drawn pattern grows, in points.
const WIDEST: f32 = 900.0;

/// How many eighths a drawn bar shows: those of the chart's longest bar, and no fewer
/// than those of a bar of four.
fn eighths(chart: Option<&Chart>) -> u8 {
    let bars = chart.into_iter().flat_map(|chart| &chart.bars);
    let longest = bars
        .map(|bar| bar.meter.bar_ticks().div_ceil(TICKS_PER_QUARTER / 2))
        .max();
    let longest = longest.and_then(|eighths| u8::try_from(eighths).ok());
    longest.unwrap_or(8).clamp(8, BAR_CELLS)
}

/// Whether the rhythm is the drawn pattern.
fn is_drawn(view: &View) -> bool {
    view.settings.groove.rhythm == Rhythm::Drawn
}

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    ui.spacing_mut().item_spacing.y = ROW_GAP;
    ui.horizontal(|ui| strikes(ui, view, actions));
    if is_drawn(view) {
        let chart = view.pages.harmonies.chart();
        let eighths = eighths(chart.map(|chart| &**chart));
        ui.horizontal(|ui| {
            ui.set_max_width(WIDEST);
            grid::name(ui, widgets::NAMES);
            grid::grid(ui, view.settings.groove.drawn, eighths, actions);
        });
    }
    ui.horizontal(|ui| swing(ui, view, actions));
    ui.horizontal(|ui| lengths(ui, view, actions));
    ui.horizontal(|ui| touch(ui, view, actions));
    ui.horizontal(|ui| variation(ui, view, actions));
    ui.horizontal(|ui| tempo(ui, view, actions));
}

/// Which strikes there are.
fn strikes(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Rhythm", widgets::NAMES);
    let list = List {
        what: "Rhythm",
        width: 170.0,
        tip: "When chords are struck: as they change, in a pattern, or as you play them.",
    };
    let rhythm = view.control(ParameterId::Rhythm);
    let name = |at: usize| rhythm.choices.get(at).copied().unwrap_or_default();
    widgets::list(ui, rhythm, &list, |at| name(at).to_lowercase(), actions);
    ui.add_space(GAP);
    let tip = "Off-beats right before a change take the coming chord.";
    let words = ("Anticipation", "Anticipation");
    widgets::toggle(ui, view.control(ParameterId::Ahead), words, tip, actions);
}

/// Where the off-beats lie.
fn swing(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let tip = if view.settings.groove.rhythm.feel() == Feel::Straight {
        "This rhythm is straight, whatever the swing."
    } else {
        "Where the off-beat eighth lies in its beat: 50 % is straight."
    };
    widgets::row_name(ui, "Swing", widgets::NAMES);
    share(ui, view, ParameterId::Swing, "Swing", tip, actions);
    ui.add_space(GAP);
    let words = ("follows tempo", "Swing follows tempo");
    let tip = "Swing grows straighter as the tempo rises.";
    let follows = view.control(ParameterId::SwingFollows);
    widgets::toggle(ui, follows, words, tip, actions);
}

/// How many strikes there are, how long they last and how loud they are.
fn lengths(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Density", widgets::NAMES);
    let tip = "Below zero strikes are left out, above zero some are added.";
    share(ui, view, ParameterId::Density, "Density", tip, actions);
    ui.add_space(GAP);
    widgets::name(ui, "Length");
    let tip = "How long chords last, of what their rhythm gives them.";
    share(ui, view, ParameterId::Length, "Length", tip, actions);
    ui.add_space(GAP);
    widgets::name(ui, "Accents");
    let tip = "How much louder accents are.";
    share(ui, view, ParameterId::Accents, "Accents", tip, actions);
}

/// A share in percent.
fn share(ui: &mut Ui, view: &View, id: ParameterId, what: &str, tip: &str, actions: &mut Actions) {
    let number = number(what, tip);
    widgets::percent(ui, view.control(id), &number, actions);
}

const fn number<'a>(what: &'a str, tip: &'a str) -> Number<'a> {
    Number {
        what,
        width: NUMBER,
        tip,
        words: None,
    }
}

/// How a player's hand shows: small differences in time and velocity.
fn touch(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Looseness", widgets::NAMES);
    widgets::name(ui, "time");
    let tip = "How far a chord may be off its time, in milliseconds.";
    let time = number("Looseness, time", tip);
    widgets::number(ui, view.control(ParameterId::TouchTime), &time, actions);
    ui.add_space(GAP);
    widgets::name(ui, "velocity");
    let steps = view.control(ParameterId::TouchVelocity);
    let words = format!("± {}", steps.whole_set());
    let tip = "How far a chord may be off its velocity, in steps of MIDI.";
    let velocity = Number {
        words: Some(&words),
        ..number("Looseness, velocity", tip)
    };
    widgets::number(ui, steps, &velocity, actions);
}

/// How freely the patterns are played.
fn variation(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Variation", widgets::NAMES);
    let tip = "How freely patterns, lengths and velocities vary: at 0 % a rhythm is as written.";
    share(ui, view, ParameterId::Variation, "Variation", tip, actions);
    ui.add_space(GAP);
    widgets::name(ui, "take");
    let tip = "What varies does so after this number, the same each time.";
    let seed = number("Take", tip);
    widgets::number(ui, view.control(ParameterId::Seed), &seed, actions);
}

/// When changes are heard, and how fast it goes where no host tells.
fn tempo(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Tempo", widgets::NAMES);
    let tempo = Number {
        width: 72.0,
        ..number("Tempo without host", "The tempo where the host tells none.")
    };
    widgets::number(ui, view.control(ParameterId::Tempo), &tempo, actions);
    widgets::name(ui, "without host");
    ui.add_space(GAP);
    let words = ("apply immediately", "Apply immediately");
    let tip = "What you change is heard at once, and not at the next chord.";
    widgets::toggle(ui, view.control(ParameterId::AtOnce), words, tip, actions);
}
