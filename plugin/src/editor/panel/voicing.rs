//! What is asked of chords that are no dominants, how far the hand reaches, and
//! what the ends of the register mean. The panel's thread; `panel` imports it.

use crate::editor::model::action::Actions;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::view::View;
use crate::editor::widgets::{self, Choices, Number};
use crate::params::interval;
use egui::Ui;

pub const NINTHS: [&str; 3] = ["by context", "none", "9"];
pub const MINOR_ELEVENTHS: [&str; 3] = ["by context", "none", "11"];
pub const MAJOR_ELEVENTHS: [&str; 3] = ["by context", "none", "♯11"];
pub const MAJOR_TONICS: [&str; 3] = ["by context", "6", "maj7"];
pub const MINOR_TONICS: [&str; 4] = ["by context", "m6", "m7", "m(maj7)"];

/// Between the rows, in points.
const GAP: f32 = 5.0;
/// The width of the names in front of the rows, in points.
const NAMES: f32 = 104.0;
/// The least width of a choice, in points.
const CELL: f32 = 43.0;
/// The width of a span in words, in points.
const SPAN: f32 = 84.0;

/// A row of choices: what is asked of some chords.
struct RequestRow {
    id: ParameterId,
    /// In front of the row.
    word: &'static str,
    /// Its whole name.
    what: &'static str,
    /// A word for each choice.
    words: &'static [&'static str],
    /// What it does, in a sentence.
    tip: &'static str,
}

const ROWS: [RequestRow; 5] = [
    RequestRow {
        id: ParameterId::MajorTonic,
        word: "Major tonic",
        what: "Major tonic",
        words: &MAJOR_TONICS,
        tip: "What a major triad at home takes: its sixth, or its major seventh.",
    },
    RequestRow {
        id: ParameterId::MinorTonic,
        word: "Minor tonic",
        what: "Minor tonic",
        words: &MINOR_TONICS,
        tip: "What a minor triad at home takes: its sixth, or a seventh.",
    },
    RequestRow {
        id: ParameterId::PlainNinth,
        word: "9 on others",
        what: "Ninth on other chords",
        words: &NINTHS,
        tip: "The ninth on chords that are no dominants, from the next chord on.",
    },
    RequestRow {
        id: ParameterId::MinorEleventh,
        word: "11 on minor",
        what: "Eleventh on minor chords",
        words: &MINOR_ELEVENTHS,
        tip: "The eleventh on minor, half-diminished and suspended chords.",
    },
    RequestRow {
        id: ParameterId::MajorEleventh,
        word: "11 on major",
        what: "Eleventh on major chords",
        words: &MAJOR_ELEVENTHS,
        tip: "The eleventh on major chords; a natural one would clash with the third.",
    },
];

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    ui.spacing_mut().item_spacing.y = GAP;
    for row in &ROWS {
        let choices = Choices {
            what: row.what,
            words: row.words,
            narrowest: CELL,
            tip: row.tip,
        };
        ui.horizontal(|ui| {
            widgets::row_name(ui, row.word, NAMES);
            widgets::choice(ui, view.control(row.id), &choices, actions);
        });
    }
    ui.horizontal(|ui| hand(ui, view, actions));
    ui.horizontal(|ui| {
        widgets::row_name(ui, "Register", NAMES);
        let words = ("hard edges", "Hard register edges");
        let tip = "No note lies beyond the register; otherwise one may, by a third at the most, where that spares a leap.";
        widgets::toggle(ui, view.control(ParameterId::HardEdges), words, tip, actions);
    });
}

/// How far the hand reaches.
fn hand(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Hand at ease", NAMES);
    let control = view.control(ParameterId::HandAtEase);
    let at_ease = Number {
        what: "Hand at ease",
        width: SPAN,
        tip: "How far one hand reaches at ease; it goes beyond only where it has to.",
        words: Some(interval(control.whole_set())),
    };
    widgets::number(ui, control, &at_ease, actions);
    widgets::name(ui, "at most");
    // What is in force: never less than at ease.
    let least = control.whole();
    let control = view.control(ParameterId::HandAtMost);
    let at_most = Number {
        what: "Hand at most",
        width: SPAN,
        tip: "How far one hand reaches at most: where you play the voicings yourself, choose what you reach without strain, and never force a stretch.",
        words: Some(interval(control.whole_set().max(least))),
    };
    widgets::number(ui, control, &at_most, actions);
}
