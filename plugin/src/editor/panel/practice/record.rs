//! What has come of practice: which part of the record is shown, and its table. The panel's thread; the
//! page of practice imports it.

use super::table;
use crate::editor::model::action::{Action, Actions};
use crate::editor::model::practice::{Filter, Number, PracticeAction};
use crate::editor::panel::view::View;
use crate::editor::view::record;
use crate::editor::widgets::{self, Choices, List};
use egui::Ui;
use guidehand_theory::voicing::Position;

/// The width of the table, in points.
pub const WIDTH: f32 = 474.0;
/// The width of the list of dressings, in points.
const LIST: f32 = 118.0;

const POSITIONS: [Option<Position>; 3] = [None, Some(Position::Third), Some(Position::Seventh)];
const NUMBERS: [Number; 2] = [Number::Right, Number::Seconds];

/// Which part of the record is shown, and which of its numbers.
pub fn filters(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let filter = view.pages.practice.filter();
    let mut take = |filter: Filter| {
        actions.push(Action::Practice(PracticeAction::Filter(filter)));
    };
    let dressings = &view.pages.practice.look().dressings;
    let list = List {
        what: "Dressing shown",
        width: LIST,
        tip: "Chords of every dressing, or those of one.",
    };
    let of = |at: usize| at.checked_sub(1).and_then(|at| dressings.get(at)).copied();
    let at = |set| dressings.iter().position(|one| *one == set);
    let now = filter.dressing.and_then(at).map_or(0, |at| at + 1);
    let words = |at: usize| match of(at) {
        None => "every dressing".to_owned(),
        Some(set) if set.is_empty() => "not dressed".to_owned(),
        Some(set) => record::dressing(set),
    };
    let (pressed, _) = widgets::pick(ui, &list, dressings.len() + 1, now, words);
    if let Some(at) = pressed {
        take(Filter {
            dressing: of(at),
            ..filter
        });
    }
    let tip = "Chords in every position, or those with this slot lowest.";
    let choices = Choices::new("Position shown", &["both", "third", "seventh"], tip);
    if let Some(position) = super::row::choose(ui, &choices, &POSITIONS, filter.position) {
        take(Filter { position, ..filter });
    }
    let tip = "Right at first try, of a hundred; or the seconds to the right answer.";
    let choices = Choices::new("Numbers shown", &["right %", "seconds"], tip);
    if let Some(number) = super::row::choose(ui, &choices, &NUMBERS, filter.number) {
        take(Filter { number, ..filter });
    }
}

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View) {
    let practice = &view.pages.practice;
    table::table(ui, &practice.look().rows, practice.filter().number);
}
