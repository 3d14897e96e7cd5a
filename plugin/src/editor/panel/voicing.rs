//! How chords are voiced: the texture, the register, how far the hand reaches, and what is asked of
//! chords that are no dominants. The panel's thread; `panel` imports it.

use crate::editor::model::action::Actions;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::view::View;
use crate::editor::view::key_name;
use crate::editor::widgets::{self, Choices, List, Number};
use crate::params::interval;
use egui::Ui;
use guidehand_theory::pitch::MidiNote;

pub const NINTHS: [&str; 3] = ["by context", "none", "9"];
pub const MINOR_ELEVENTHS: [&str; 3] = ["by context", "none", "11"];
pub const MAJOR_ELEVENTHS: [&str; 3] = ["by context", "none", "♯11"];
pub const MAJOR_TONICS: [&str; 3] = ["by context", "6", "maj7"];
pub const MINOR_TONICS: [&str; 4] = ["by context", "m6", "m7", "m(maj7)"];

/// Between the rows, in points.
const GAP: f32 = 5.0;
/// The least width of a choice, in points.
const CELL: f32 = 43.0;
/// The width of a span in words, in points.
const SPAN: f32 = 84.0;
/// The width of a key's name, in points.
const KEY: f32 = 46.0;

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
    ui.horizontal(|ui| texture(ui, view, actions));
    ui.horizontal(|ui| register(ui, view, actions));
    ui.horizontal(|ui| {
        widgets::row_name(ui, "Split", widgets::NAMES);
        let tip = "Keys below it belong to the left hand.";
        key(ui, view, ParameterId::Split, ("Split", tip), actions);
    });
    ui.horizontal(|ui| hand(ui, view, actions));
    for row in &ROWS {
        let choices = Choices {
            what: row.what,
            words: row.words,
            short: None,
            narrowest: CELL,
            tip: row.tip,
        };
        ui.horizontal(|ui| {
            widgets::row_name(ui, row.word, widgets::NAMES);
            widgets::choice(ui, view.control(row.id), &choices, actions);
        });
    }
}

/// How many notes there are, how they lie, and whether one moves meanwhile.
fn texture(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Texture", widgets::NAMES);
    let list = List {
        what: "Texture",
        width: 134.0,
        tip: "How many notes a chord gets, and how they lie.",
    };
    let texture = view.control(ParameterId::Texture);
    let name = |at: usize| texture.choices.get(at).copied().unwrap_or_default();
    widgets::list(ui, texture, &list, |at| name(at).to_lowercase(), actions);
    let tip = "One voice moves within a dominant, halfway through it.";
    let lines = view.control(ParameterId::InnerLines);
    widgets::toggle(ui, lines, ("Inner lines", "Inner lines"), tip, actions);
}

/// Where the notes lie.
fn register(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Register", widgets::NAMES);
    let tip = "The lowest key that most voicings use.";
    key(
        ui,
        view,
        ParameterId::Lowest,
        ("Register from", tip),
        actions,
    );
    widgets::name(ui, "to");
    let tip = "The highest key that most voicings use.";
    key(
        ui,
        view,
        ParameterId::Highest,
        ("Register to", tip),
        actions,
    );
    let words = ("hard edges", "Hard register edges");
    let tip = "No note lies beyond the register; otherwise one may, by a third at the most, where that spares a leap.";
    let edges = view.control(ParameterId::HardEdges);
    widgets::toggle(ui, edges, words, tip, actions);
}

/// A key by its name.
fn key(
    ui: &mut Ui,
    view: &View,
    id: ParameterId,
    (what, tip): (&str, &str),
    actions: &mut Actions,
) {
    let control = view.control(id);
    let key = key_name(MidiNote::clamp(control.whole_set()));
    let number = Number {
        what,
        width: KEY,
        tip,
        words: Some(&key),
    };
    widgets::number(ui, control, &number, actions);
}

/// How far the hand reaches.
fn hand(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Hand at ease", widgets::NAMES);
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
