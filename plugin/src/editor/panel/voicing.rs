//! What is asked of chords that are no dominants, how far the hand reaches, and
//! what the ends of the register mean. Imports `params`, `desk` and `widgets`.

use crate::editor::widgets::{self, Number};
use crate::editor::window::desk::Desk;
use crate::params::{
    MajorEleventhParam, MajorTonicParam, MinorEleventhParam, MinorTonicParam, PlainNinthParam,
    interval,
};
use egui::Ui;
use nice_plug::prelude::{Enum, EnumParam};

const NINTHS: [(PlainNinthParam, &str); 3] = [
    (PlainNinthParam::ByContext, "by context"),
    (PlainNinthParam::None, "none"),
    (PlainNinthParam::Nine, "9"),
];
const MINOR_ELEVENTHS: [(MinorEleventhParam, &str); 3] = [
    (MinorEleventhParam::ByContext, "by context"),
    (MinorEleventhParam::None, "none"),
    (MinorEleventhParam::Eleven, "11"),
];
const MAJOR_ELEVENTHS: [(MajorEleventhParam, &str); 3] = [
    (MajorEleventhParam::ByContext, "by context"),
    (MajorEleventhParam::None, "none"),
    (MajorEleventhParam::Sharp11, "♯11"),
];
const MAJOR_TONICS: [(MajorTonicParam, &str); 3] = [
    (MajorTonicParam::ByContext, "by context"),
    (MajorTonicParam::Six, "6"),
    (MajorTonicParam::Seven, "maj7"),
];
const MINOR_TONICS: [(MinorTonicParam, &str); 4] = [
    (MinorTonicParam::ByContext, "by context"),
    (MinorTonicParam::Six, "m6"),
    (MinorTonicParam::Flat7, "m7"),
    (MinorTonicParam::Seven, "m(maj7)"),
];

/// Between the rows, in points.
const GAP: f32 = 5.0;
/// The width of the names in front of the rows, in points.
const NAMES: f32 = 104.0;
/// The least width of a choice, in points.
const CELL: f32 = 43.0;
/// The width of a span in words, in points.
const SPAN: f32 = 84.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, desk: &Desk) {
    let params = desk.params;
    ui.spacing_mut().item_spacing.y = GAP;
    let requests = [
        Ask {
            word: "Major tonic",
            what: "Major tonic",
            tip: "What a major triad at home takes: its sixth, or its major seventh.",
        },
        Ask {
            word: "Minor tonic",
            what: "Minor tonic",
            tip: "What a minor triad at home takes: its sixth, or a seventh.",
        },
        Ask {
            word: "9 on others",
            what: "Ninth on other chords",
            tip: "The ninth on chords that are no dominants, from the next chord on.",
        },
        Ask {
            word: "11 on minor",
            what: "Eleventh on minor chords",
            tip: "The eleventh on minor, half-diminished and suspended chords.",
        },
        Ask {
            word: "11 on major",
            what: "Eleventh on major chords",
            tip: "The eleventh on major chords; a natural one would clash with the third.",
        },
    ];
    let [
        major_tonic,
        minor_tonic,
        ninth,
        minor_eleventh,
        major_eleventh,
    ] = &requests;
    row(ui, desk, major_tonic, &params.major_tonic, &MAJOR_TONICS);
    row(ui, desk, minor_tonic, &params.minor_tonic, &MINOR_TONICS);
    row(ui, desk, ninth, &params.plain_ninth, &NINTHS);
    let minor = (&params.minor_eleventh, &MINOR_ELEVENTHS);
    row(ui, desk, minor_eleventh, minor.0, minor.1);
    let major = (&params.major_eleventh, &MAJOR_ELEVENTHS);
    row(ui, desk, major_eleventh, major.0, major.1);
    ui.horizontal(|ui| hand(ui, desk));
    ui.horizontal(|ui| {
        widgets::row_name(ui, "Register", NAMES);
        let words = ("hard edges", "Hard register edges");
        let tip = "No note lies beyond the register; otherwise one may, by a third at the most, where that spares a leap.";
        widgets::toggle(ui, desk, &params.hard_edges, words, tip);
    });
}

/// A wish in words.
struct Ask<'a> {
    /// In front of the row.
    word: &'a str,
    /// Its whole name.
    what: &'a str,
    /// What it does, in a sentence.
    tip: &'a str,
}

fn row<T: Enum + Copy + PartialEq + 'static>(
    ui: &mut Ui,
    desk: &Desk,
    ask: &Ask,
    param: &EnumParam<T>,
    options: &[(T, &str)],
) {
    ui.horizontal(|ui| {
        widgets::row_name(ui, ask.word, NAMES);
        widgets::choice(ui, desk, param, ask.what, options, CELL, ask.tip);
    });
}

/// How far the hand reaches.
fn hand(ui: &mut Ui, desk: &Desk) {
    let params = desk.params;
    widgets::row_name(ui, "Hand at ease", NAMES);
    let words = |semitones: i32| interval(semitones).to_owned();
    let at_ease = Number {
        what: "Hand at ease",
        width: SPAN,
        tip: "How far one hand reaches at ease; it goes beyond only where it has to.",
        words: Some(&words),
    };
    widgets::number(ui, desk, &params.hand_at_ease, at_ease);
    widgets::name(ui, "at most");
    // What is in force: never less than at ease.
    let least = params.hand_at_ease.value();
    let words = |semitones: i32| interval(semitones.max(least)).to_owned();
    let at_most = Number {
        what: "Hand at most",
        width: SPAN,
        tip: "How far one hand reaches at most: where you play the voicings yourself, choose what you reach without strain, and never force a stretch.",
        words: Some(&words),
    };
    widgets::number(ui, desk, &params.hand_at_most, at_most);
}
