//! The rhythm: when chords are struck, how they are played, and the pattern that the
//! user draws. The panel's thread; `panel` imports it.

mod grid;

use crate::editor::model::action::Actions;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::view::View;
use crate::editor::theme;
use crate::editor::widgets::{self, List, Number};
use crate::engine::rhythm::{BAR_CELLS, Feel, Rhythm};
use egui::Ui;
use guidehand_theory::chart::{Chart, TICKS_PER_QUARTER};

/// The width of the names in front of the rows, in points.
pub const NAMES: f32 = 64.0;
/// Between two controls that do not belong together, in points.
pub const GAP: f32 = 10.0;
/// Between two rows, in points.
pub const ROW_GAP: f32 = 6.0;
const NUMBER: f32 = 48.0;
/// The same in the row of the touch, which is full at the smallest size.
const TOUCH: f32 = 44.0;

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
#[must_use]
pub fn is_drawn(view: &View) -> bool {
    view.settings.groove.rhythm == Rhythm::Drawn
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

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    ui.spacing_mut().item_spacing.y = ROW_GAP;
    ui.horizontal(|ui| strikes(ui, view, actions));
    if is_drawn(view) {
        let chart = view.pages.harmonies.chart();
        let eighths = eighths(chart.map(|chart| &**chart));
        ui.horizontal(|ui| {
            grid::name(ui, NAMES);
            grid::grid(ui, view.settings.groove.drawn, eighths, actions);
        });
    }
    ui.horizontal(|ui| touch(ui, view, actions));
}

/// Which strikes there are, and how long they last.
fn strikes(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Rhythm", NAMES);
    let list = List {
        what: "Rhythm",
        width: 134.0,
        tip: "When chords are struck: as they change, in a pattern, or as you play them.",
    };
    let rhythm = view.control(ParameterId::Rhythm);
    let name = |at: usize| rhythm.choices.get(at).copied().unwrap_or_default();
    widgets::list(ui, rhythm, &list, |at| name(at).to_lowercase(), actions);
    ui.add_space(GAP);
    let tip = if view.settings.groove.rhythm.feel() == Feel::Straight {
        "This rhythm is straight, whatever the swing."
    } else {
        "Where the off-beat eighth lies in its beat: 50 % is straight."
    };
    share(ui, view, ParameterId::Swing, "Swing", tip, actions);
    let words = ("follows tempo", "Swing follows tempo");
    let tip = "Swing grows straighter as the tempo rises.";
    widgets::toggle(
        ui,
        view.control(ParameterId::SwingFollows),
        words,
        tip,
        actions,
    );
    widgets::at_the_right(ui, "lengths", |ui| {
        let tip = "How long chords last, of what their rhythm gives them.";
        share(ui, view, ParameterId::Length, "Length", tip, actions);
        ui.add_space(GAP);
        let tip = "Below zero strikes are left out, above zero some are added.";
        share(ui, view, ParameterId::Density, "Density", tip, actions);
        ui.add_space(GAP);
        let tip = "How much louder accents are.";
        share(ui, view, ParameterId::Accents, "Accents", tip, actions);
    });
}

/// A share in percent, with its name in front of it.
fn share(ui: &mut Ui, view: &View, id: ParameterId, what: &str, tip: &str, actions: &mut Actions) {
    widgets::name(ui, what);
    let number = Number {
        what,
        width: NUMBER,
        tip,
        words: None,
    };
    widgets::percent(ui, view.control(id), &number, actions);
}

/// How a player's hand shows: small differences in time and velocity, other patterns, and
/// anticipations.
fn touch(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Touch", NAMES);
    let number = |what, tip| Number {
        what,
        width: TOUCH,
        tip,
        words: None,
    };
    let time = number(
        "Touch in time",
        "How far a chord may be off its time, in milliseconds.",
    );
    widgets::number(ui, view.control(ParameterId::TouchTime), &time, actions);
    let steps = view.control(ParameterId::TouchVelocity);
    let words = format!("± {}", steps.whole_set());
    let velocity = Number {
        words: Some(&words),
        ..number(
            "Touch in velocity",
            "How far a chord may be off its velocity, in steps of MIDI.",
        )
    };
    widgets::number(ui, steps, &velocity, actions);
    ui.add_space(GAP);
    let tip = "How freely patterns, lengths and velocities vary: at 0 % a rhythm is as written.";
    share(ui, view, ParameterId::Variation, "Variation", tip, actions);
    widgets::name(ui, "Seed");
    let seed = Number {
        width: 40.0,
        ..number(
            "Seed",
            "What varies does so after this number, the same each time.",
        )
    };
    widgets::number(ui, view.control(ParameterId::Seed), &seed, actions);
    widgets::at_the_right(ui, "ahead", |ui| {
        let tip = "Off-beats right before a change take the coming chord.";
        let words = ("Anticipation", "Anticipation");
        widgets::toggle(ui, view.control(ParameterId::Ahead), words, tip, actions);
        let words = ("Changes act at once", "Changes act at once");
        let tip = "What you change is heard at once, and not at the next chord.";
        widgets::toggle(ui, view.control(ParameterId::AtOnce), words, tip, actions);
        ui.add_space(GAP);
        widgets::name(ui, "Own tempo");
        let tempo = Number {
            width: 66.0,
            ..number("Tempo without host", "The tempo where the host tells none.")
        };
        widgets::number(ui, view.control(ParameterId::Tempo), &tempo, actions);
    });
}
