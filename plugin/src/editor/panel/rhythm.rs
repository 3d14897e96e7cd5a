//! The rhythm: when chords are struck, with what feel, and the pattern that the
//! user draws. Imports `params`, `desk` and `widgets`.

mod grid;

use crate::editor::theme;
use crate::editor::widgets::{self, List, Number};
use crate::editor::window::desk::Desk;
use crate::engine::rhythm::BAR_CELLS;
use crate::params::RhythmParam;
use egui::Ui;
use guidehand_theory::chart::Chart;
use nice_plug::prelude::Enum;

/// The width of the names in front of the rows, in points.
pub const NAMES: f32 = 64.0;
/// Between two controls that do not belong together, in points.
pub const GAP: f32 = 10.0;
/// Between two rows, in points.
pub const ROW_GAP: f32 = 6.0;
const NUMBER: f32 = 48.0;

/// How many eighths of a drawn bar there is a use for: those of the chart's longest
/// bar, and no fewer than those of a bar of four.
#[must_use]
pub fn eighths(chart: Option<&Chart>) -> u8 {
    let bars = chart.into_iter().flat_map(|chart| &chart.bars);
    let longest = bars.map(|bar| bar.meter.bar_ticks().div_ceil(480)).max();
    let longest = longest.and_then(|eighths| u8::try_from(eighths).ok());
    longest.unwrap_or(8).clamp(8, BAR_CELLS)
}

/// The height of the region, in points.
#[must_use]
pub const fn height(drawn: bool) -> f32 {
    let rows = 2.0 * theme::CONTROL + ROW_GAP;
    if drawn {
        rows + ROW_GAP + grid::HEIGHT
    } else {
        rows
    }
}

/// Lays the region out. `eighths` is how many a drawn bar shows.
pub fn region(ui: &mut Ui, desk: &mut Desk, eighths: u8) {
    ui.spacing_mut().item_spacing.y = ROW_GAP;
    ui.horizontal(|ui| strikes(ui, desk));
    if desk.params.rhythm.value() == RhythmParam::Drawn {
        ui.horizontal(|ui| {
            grid::name(ui, NAMES);
            grid::grid(ui, desk, eighths);
        });
    }
    ui.horizontal(|ui| feel(ui, desk));
}

/// Which strikes there are, and how long they last.
fn strikes(ui: &mut Ui, desk: &Desk) {
    let params = desk.params;
    widgets::row_name(ui, "Rhythm", NAMES);
    let list = List {
        what: "Rhythm",
        width: 134.0,
        tip: "When chords are struck: as they change, in a pattern, or as you play them.",
    };
    let names = RhythmParam::variants();
    widgets::list(ui, desk, &params.rhythm, &list, |rhythm| {
        let name = names.get(rhythm.to_index()).copied().unwrap_or_default();
        name.to_lowercase()
    });
    ui.add_space(GAP);
    let tip = "Where the off-beat eighth lies in its beat: 50 % is straight.";
    share(ui, desk, "Swing", &params.swing, tip);
    let words = ("follows tempo", "Swing follows tempo");
    let tip = "Swing grows straighter as the tempo rises.";
    widgets::toggle(ui, desk, &params.swing_follows, words, tip);
    widgets::at_the_right(ui, "lengths", |ui| {
        let tip = "How long chords last, of what their rhythm gives them.";
        share(ui, desk, "Length", &params.length, tip);
        ui.add_space(GAP);
        let tip = "Below zero strikes are left out, above zero some are added.";
        share(ui, desk, "Density", &params.density, tip);
        ui.add_space(GAP);
        let tip = "How much louder accents are.";
        share(ui, desk, "Accents", &params.accents, tip);
    });
}

fn share(ui: &mut Ui, desk: &Desk, what: &str, param: &nice_plug::prelude::FloatParam, tip: &str) {
    widgets::name(ui, what);
    let number = Number {
        what,
        width: NUMBER,
        tip,
        words: None,
    };
    widgets::percent(ui, desk, param, number);
}

/// How it feels.
fn feel(ui: &mut Ui, desk: &Desk) {
    let params = desk.params;
    widgets::row_name(ui, "Touch", NAMES);
    let number = |what, tip| Number {
        what,
        width: NUMBER,
        tip,
        words: None,
    };
    let time = number(
        "Touch in time",
        "How far a chord may be off its time, in milliseconds.",
    );
    widgets::number(ui, desk, &params.touch_ms, time);
    let words = |steps: i32| format!("± {steps}");
    let velocity = Number {
        words: Some(&words),
        ..number(
            "Touch in velocity",
            "How far a chord may be off its velocity, in steps of MIDI.",
        )
    };
    widgets::number(ui, desk, &params.touch_velocity, velocity);
    ui.add_space(GAP);
    widgets::name(ui, "Seed");
    let seed = Number {
        width: 40.0,
        ..number(
            "Seed",
            "What varies does so after this number, the same each time.",
        )
    };
    widgets::number(ui, desk, &params.seed, seed);
    widgets::at_the_right(ui, "ahead", |ui| {
        let tip = "Off-beats right before a change take the coming chord.";
        widgets::toggle(
            ui,
            desk,
            &params.ahead,
            ("Anticipation", "Anticipation"),
            tip,
        );
        let tip = "One voice moves within a dominant, halfway through it.";
        let words = ("Inner lines", "Inner lines");
        widgets::toggle(ui, desk, &params.inner_lines, words, tip);
        let words = ("Changes act at once", "Changes act at once");
        let tip = "What you change is heard at once, and not at the next chord.";
        widgets::toggle(ui, desk, &params.at_once, words, tip);
        ui.add_space(GAP);
        widgets::name(ui, "Own tempo");
        let tempo = Number {
            width: 66.0,
            ..number("Tempo without host", "The tempo where the host tells none.")
        };
        widgets::number(ui, desk, &params.tempo, tempo);
    });
}
