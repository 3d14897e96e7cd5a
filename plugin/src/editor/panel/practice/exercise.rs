//! What is asked: from a list, or from the chart. The panel's thread; the page of practice imports it.

use super::row::{NAMES, choose, edit, row};
use crate::editor::model::action::{Action, Actions};
use crate::editor::model::chart::ChartText;
use crate::editor::model::practice::PracticeAction;
use crate::editor::panel::view::View;
use crate::editor::view::{practice as words, record};
use crate::editor::widgets::{self, Checks, Choices, Count, List};
use egui::Ui;
use guidehand_practice::{
    AskedPosition, ChartKeys, Exercise, KeyOrder, Origin, Progression, Which,
};
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pitch::PitchClass;

/// The width of the column, in points.
pub const WIDTH: f32 = 436.0;
/// Room at both sides of a word that is on or off, in points.
const MARGIN: f32 = 6.5;
/// The same for the name of a key.
const KEY_MARGIN: f32 = 4.0;
/// The width of a bar's number, in points.
const BAR: f32 = 40.0;
/// The width of a list, in points.
const LIST: f32 = 160.0;

const ORIGINS: [Origin; 2] = [Origin::List, Origin::Chart];
const WHICH: [Which; 2] = [Which::All, Which::Due];
pub const POSITIONS: [AskedPosition; 5] = [
    AskedPosition::Either,
    AskedPosition::Third,
    AskedPosition::Seventh,
    AskedPosition::FormA,
    AskedPosition::FormB,
];
pub const PROGRESSIONS: [(Progression, &str); 10] = [
    (Progression::Single, "single chords"),
    (Progression::TwoFive, "ii–V"),
    (Progression::TwoFiveOneMajor, "ii–V–I in major"),
    (Progression::TwoFiveOneMinor, "iiø–V–i in minor"),
    (Progression::Turnaround, "I–VI–ii–V"),
    (Progression::TurnaroundOnThree, "iii–VI–ii–V"),
    (Progression::TurnaroundMinor, "i–viø–iiø–V in minor"),
    (Progression::Blues, "blues"),
    (Progression::JazzBlues, "jazz blues"),
    (Progression::MinorBlues, "minor blues"),
];
pub const ORDERS: [(KeyOrder, &str); 6] = [
    (KeyOrder::Fourths, "up in fourths"),
    (KeyOrder::HalfStepsDown, "down in half steps"),
    (KeyOrder::HalfStepsUp, "up in half steps"),
    (KeyOrder::WholeSteps, "up in whole steps"),
    (KeyOrder::MinorThirds, "up in minor thirds"),
    (KeyOrder::Shuffled, "shuffled"),
];

/// Where questions come from, and which of them are asked.
pub fn origin(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let exercise = &view.practice.exercise;
    widgets::name(ui, "from");
    let tip = "Chords that you list here, or those of the chart.";
    let choices = Choices::new("Asked from", &["a list", "the chart"], tip);
    if let Some(origin) = choose(ui, &choices, &ORIGINS, exercise.origin) {
        edit(view, actions, |exercise| exercise.origin = origin);
    }
    if exercise.origin == Origin::List {
        ui.add_space(14.0);
        let tip = "Everything, or what your record says is due today, and what is new.";
        let choices = Choices::new("Which", &["all of it", "what is due"], tip);
        if let Some(which) = choose(ui, &choices, &WHICH, exercise.which) {
            edit(view, actions, |exercise| exercise.which = which);
        }
    }
}

/// Lays the region out.
pub fn region(ui: &mut Ui, chart: &ChartText, view: &View, actions: &mut Actions) {
    match view.practice.exercise.origin {
        Origin::List => list(ui, view, actions),
        Origin::Chart => self::chart(ui, chart, view, actions),
    }
}

/// A list of chords.
fn list(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let exercise = &view.practice.exercise;
    row(ui, "Asks", |ui| {
        let list = List {
            what: "Progression",
            width: LIST,
            tip: "What is asked in one go, in one key.",
        };
        progression(ui, &list, exercise, view, actions);
    });
    let single = exercise.progression == Progression::Single;
    if single {
        row(ui, "Chords", |ui| families(ui, view, actions));
    }
    if !record::dressings(&exercise.families, exercise.progression).is_empty() {
        row(ui, "Dominants", |ui| dressings(ui, view, actions));
    }
    position(ui, view, actions);
    row(ui, "Keys", |ui| keys(ui, view, actions));
    order(ui, view, actions);
}

fn progression(ui: &mut Ui, list: &List, exercise: &Exercise, view: &View, actions: &mut Actions) {
    let at = |wanted: Progression| PROGRESSIONS.iter().position(|(one, _)| *one == wanted);
    let now = at(exercise.progression).unwrap_or(0);
    let words = |at: usize| named(&PROGRESSIONS, at);
    let (pressed, _) = widgets::pick(ui, list, PROGRESSIONS.len(), now, words);
    if let Some((progression, _)) = pressed.and_then(|at| PROGRESSIONS.get(at)) {
        edit(view, actions, |exercise| {
            exercise.progression = *progression
        });
    }
}

fn named<T>(table: &[(T, &str)], at: usize) -> String {
    table.get(at).map_or("", |(_, name)| name).to_owned()
}

/// The families of chords that are listed.
fn families(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let listed = &view.practice.exercise.families;
    let words: Vec<(String, bool)> = ShapeFamily::ALL
        .iter()
        .map(|family| (record::family(*family), listed.contains(family)))
        .collect();
    let checks = Checks {
        what: "Asks for",
        margin: MARGIN,
        tip: "Whether chords of this family are asked for.",
    };
    let pressed = widgets::checks(ui, &checks, &words);
    if let Some(family) = pressed.and_then(|at| ShapeFamily::ALL.get(at)) {
        edit(view, actions, |exercise| {
            let on = |one: &ShapeFamily| exercise.families.contains(one) != (one == family);
            exercise.families = ShapeFamily::ALL.into_iter().filter(on).collect();
        });
    }
}

/// How listed dominants are dressed.
fn dressings(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let listed = &view.practice.exercise.dressings;
    let exercise = &view.practice.exercise;
    let all = record::dressings(&exercise.families, exercise.progression);
    let first = ("by context".to_owned(), listed.is_empty());
    let each = all
        .iter()
        .map(|set| (record::dressing(*set), listed.contains(set)));
    let words: Vec<(String, bool)> = std::iter::once(first).chain(each).collect();
    let checks = Checks {
        what: "Dominants with",
        margin: MARGIN,
        tip: "Which tensions dominants are asked for with, each in turn.",
    };
    match widgets::checks(ui, &checks, &words) {
        None => {}
        Some(0) => edit(view, actions, |exercise| exercise.dressings.clear()),
        Some(at) => {
            if let Some(pressed) = all.get(at - 1) {
                edit(view, actions, |exercise| {
                    let on = |one: &_| exercise.dressings.contains(one) != (one == pressed);
                    exercise.dressings = all.iter().copied().filter(on).collect();
                });
            }
        }
    }
}

fn position(ui: &mut Ui, view: &View, actions: &mut Actions) {
    row(ui, "Position", |ui| {
        let words = ["either", "third", "seventh", "A", "B"];
        let tip =
            "Which slot is lowest: the third, the seventh, that of the A form or of the B form.";
        let choices = Choices::new("Position", &words, tip);
        let now = view.practice.exercise.position;
        if let Some(position) = choose(ui, &choices, &POSITIONS, now) {
            edit(view, actions, |exercise| exercise.position = position);
        }
        widgets::name(ui, words::lowest(now));
    });
}

/// The keys that are listed.
fn keys(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let listed = &view.practice.exercise.keys;
    let all = record::ascending();
    let words: Vec<(String, bool)> = all
        .iter()
        .map(|key| (record::key_name(*key), listed.contains(key)))
        .collect();
    let checks = Checks {
        what: "Key",
        margin: KEY_MARGIN,
        tip: "Whether this key is asked for.",
    };
    let pressed = widgets::checks(ui, &checks, &words);
    if let Some(pressed) = pressed.and_then(|at| all.get(at)) {
        edit(view, actions, |exercise| {
            let on = |one: &PitchClass| exercise.keys.contains(one) != (one == pressed);
            exercise.keys = all.into_iter().filter(on).collect();
        });
    }
}

/// The order of the keys, and all of them or none.
fn order(ui: &mut Ui, view: &View, actions: &mut Actions) {
    row(ui, "Order", |ui| {
        let list = List {
            what: "Order of the keys",
            width: LIST,
            tip: "How one key follows the other.",
        };
        let now = view.practice.exercise.order;
        let at = ORDERS.iter().position(|(order, _)| *order == now);
        let words = |at: usize| named(&ORDERS, at);
        let (pressed, _) = widgets::pick(ui, &list, ORDERS.len(), at.unwrap_or(0), words);
        if let Some((order, _)) = pressed.and_then(|at| ORDERS.get(at)) {
            edit(view, actions, |exercise| exercise.order = *order);
        }
        ui.add_space(8.0);
        if widgets::button(ui, "all keys", "All keys", "Asks for all twelve keys.") {
            edit(view, actions, |exercise| {
                exercise.keys = record::ascending().to_vec()
            });
        }
        if widgets::button(
            ui,
            "none",
            "No keys",
            "Takes all keys out, to choose a few.",
        ) {
            edit(view, actions, |exercise| exercise.keys.clear());
        }
    });
}

/// The chart, or a part of it.
fn chart(ui: &mut Ui, chart: &ChartText, view: &View, actions: &mut Actions) {
    let exercise = &view.practice.exercise;
    let last = chart.chart().map_or(1, |chart| chart.bars.len());
    let last = i32::try_from(last).unwrap_or(i32::MAX);
    row(ui, "Bars", |ui| bars(ui, last, view, actions));
    row(ui, "", |ui| {
        let tip = "The bars whose chords are selected in the chart's text.";
        if widgets::button(
            ui,
            "as selected in the chart",
            "Bars selected in the chart",
            tip,
        ) {
            actions.push(Action::Practice(PracticeAction::SelectedBars));
        }
    });
    row(ui, "Keys", |ui| chart_keys(ui, view, actions));
    if exercise.chart_keys == ChartKeys::EachRound {
        row(ui, "", |ui| keys(ui, view, actions));
        order(ui, view, actions);
    }
    position(ui, view, actions);
}

fn bars(ui: &mut Ui, last: i32, view: &View, actions: &mut Actions) {
    let tip = "The whole chart as it is played, or a stretch of it.";
    let choices = Choices::new("Bars", &["all", "from"], tip);
    let now = view.practice.exercise.bars;
    let whole = (1, u16::try_from(last).unwrap_or(u16::MAX));
    if let Some(some) = choose(ui, &choices, &[false, true], now.is_some()) {
        edit(view, actions, |exercise| {
            exercise.bars = some.then_some(whole)
        });
    }
    let Some((from, to)) = now else { return };
    let (from, to) = (i32::from(from), i32::from(to));
    let number = |what, range| Count {
        what,
        width: BAR,
        tip: "A bar of the chart as it is played, counted from 1.",
        range,
        suffix: "",
    };
    let first = number("First bar", 1..=last.max(from));
    let wanted_from = widgets::count(ui, &first, from);
    widgets::name(ui, "to");
    let second = number("Last bar", 1..=last.max(to));
    let wanted_to = widgets::count(ui, &second, to);
    let bars = match (wanted_from, wanted_to) {
        (Some(from), _) => (from, to.max(from)),
        (_, Some(to)) => (from.min(to), to),
        _ => return,
    };
    let number = |bar: i32| u16::try_from(bar).unwrap_or(u16::MAX);
    edit(view, actions, |exercise| {
        exercise.bars = Some((number(bars.0), number(bars.1)));
    });
}

fn chart_keys(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let tip = "As written, moved to one key, or to another key each time round.";
    let words = ["as written", "in", "another each time"];
    let choices = Choices::new("Keys of the chart", &words, tip);
    let now = view.practice.exercise.chart_keys;
    let key = match now {
        ChartKeys::In(key) => key,
        _ => PitchClass::wrapping(0),
    };
    let values = [
        ChartKeys::AsWritten,
        ChartKeys::In(key),
        ChartKeys::EachRound,
    ];
    if let Some(keys) = choose(ui, &choices, &values, now) {
        edit(view, actions, |exercise| exercise.chart_keys = keys);
    }
    if let ChartKeys::In(key) = now {
        let all = record::ascending();
        let list = List {
            what: "Key of the chart",
            width: NAMES - 20.0,
            tip: "Where the first key of the chart moves to.",
        };
        let at = all.iter().position(|one| *one == key).unwrap_or(0);
        let words = |at: usize| {
            all.get(at)
                .map_or_else(String::new, |key| record::key_name(*key))
        };
        let (pressed, _) = widgets::pick(ui, &list, all.len(), at, words);
        if let Some(key) = pressed.and_then(|at| all.get(at)) {
            edit(view, actions, |exercise| {
                exercise.chart_keys = ChartKeys::In(*key)
            });
        }
    }
}
