//! What is picked for chords, through edits, undo and saving, against a plain model of it.

mod melody;
mod model;

use super::*;
use crate::document::Unknown;
use crate::editor::model::recorder::{OutsideCall, Recorder};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::symbol;
use std::num::NonZeroU16;

/// The A form of G13: F A B E.
const G13: [u8; 4] = [53, 57, 59, 64];

const TEXT: &str = "| Dm7 | G7 | Cmaj7 |";

fn notes(keys: &[u8]) -> PinNotes {
    PinNotes::new(keys.iter().map(|key| MidiNote::new(*key).unwrap())).unwrap()
}

fn at(index: usize, symbol: &str) -> ChordAt {
    ChordAt {
        index,
        symbol: symbol.to_owned(),
    }
}

fn pin(index: usize, symbol: &str) -> ChartAction {
    ChartAction::Pin {
        at: at(index, symbol),
        pass: Pass::Every,
        notes: notes(&G13),
    }
}

fn typed(text: &str, cursor: usize) -> ChartAction {
    ChartAction::Type {
        text: text.to_owned(),
        cursor: cursor..cursor,
        now_seconds: 0.0,
        finished: false,
    }
}

/// A chart under edit, which nobody plans.
fn with(text: &str) -> (ChartText, Recorder) {
    let mut outside = Recorder::unplanned();
    outside.set_chart(&text.into());
    outside.read();
    outside.told.clear();
    (ChartText::new(outside.chart()), outside)
}

fn pins(chart: &ChartText) -> Vec<(usize, String)> {
    let pins = chart.document().picks.pins().iter();
    pins.map(|pin| (pin.at.index, pin.at.symbol.clone()))
        .collect()
}

#[test]
fn a_pin_is_one_step_that_is_undone_and_done_again() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    assert_eq!(pins(&chart), [(1, "G7".to_owned())]);
    chart.apply(ChartAction::Undo, &mut outside);
    assert!(chart.document().picks.is_empty() && !chart.can_undo());
    chart.apply(ChartAction::Redo, &mut outside);
    assert_eq!(pins(&chart), [(1, "G7".to_owned())]);
    let unpin = ChartAction::Unpin {
        at: at(1, "G7"),
        pass: Pass::Every,
    };
    chart.apply(unpin, &mut outside);
    assert!(chart.document().picks.is_empty());
    // Each of them is handed on, so that the host is told to save.
    let handed_on = OutsideCall::Chart(TEXT.to_owned());
    assert_eq!(outside.told, vec![handed_on; 4]);
}

#[test]
fn what_is_picked_for_a_chord_that_is_not_there_is_not_done() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "Gm7"), &mut outside);
    chart.apply(pin(3, "G7"), &mut outside);
    assert_eq!(outside.told, []);
    assert!(!chart.can_undo());
}

/// On the way from `G7` to `G13` stands a symbol that the notes do not fit.
#[test]
fn a_pin_outlasts_the_letters_of_another_symbol() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    for (symbol, there) in [
        ("G", true),
        ("Gm", false),
        ("G", true),
        ("G1", true),
        ("G13", true),
    ] {
        let text = TEXT.replace("G7", symbol);
        let cursor = text.find(symbol).unwrap() + symbol.len();
        chart.apply(typed(&text, cursor), &mut outside);
        outside.read();
        chart.refresh(outside.chart());
        assert_eq!(!pins(&chart).is_empty(), there, "{symbol}");
        assert_eq!(chart.dropped(), [], "nothing is told while it is typed");
    }
    assert_eq!(pins(&chart), [(1, "G13".to_owned())]);
}

#[test]
fn what_is_lost_is_told_when_typing_rests_and_comes_back_with_undo() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    let text = TEXT.replace("G7", "Gm7");
    chart.apply(typed(&text, 9), &mut outside);
    outside.rest();
    chart.refresh(outside.chart());
    let told: Vec<String> = chart.dropped().iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        ["The pinned voicing of G7 is dropped: it does not fit Gm7."]
    );
    chart.apply(ChartAction::Undo, &mut outside);
    assert_eq!((chart.dropped(), pins(&chart).len()), (&[][..], 1));
    chart.apply(ChartAction::Put("| C6 |".to_owned()), &mut outside);
    assert_eq!(chart.dropped().len(), 1);
    assert!(pins(&chart).is_empty());
}

/// Typing rests while a symbol is half typed, and goes on.
#[test]
fn what_is_typed_away_comes_back_where_it_is_typed_again() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    let mut types = |chart: &mut ChartText, symbol: &str| {
        let text = TEXT.replace("G7", symbol);
        let cursor = text.len() - " | Cmaj7 |".len();
        chart.apply(typed(&text, cursor), &mut outside);
        outside.rest();
        chart.refresh(outside.chart());
    };
    let pinned = [(1, "G7".to_owned())];
    types(&mut chart, "Gm7");
    assert_eq!(pins(&chart), []);
    assert_eq!(chart.dropped().len(), 1);
    types(&mut chart, "G");
    assert_eq!(pins(&chart), []);
    types(&mut chart, "G7");
    assert_eq!(pins(&chart), pinned);
    assert_eq!(chart.dropped(), []);
    // Between other chords it is another one.
    types(&mut chart, "Gm7");
    types(&mut chart, "C6 | G7");
    assert_eq!(pins(&chart), []);
    types(&mut chart, "G7");
    assert_eq!(pins(&chart), pinned);
}

/// The repeat goes, and the pin for the second time with it.
#[test]
fn a_pin_for_a_time_that_is_not_played_any_more_is_dropped_with_a_word() {
    let (mut chart, mut outside) = with("|: Dm7 | G7 :| C6 |");
    for pass in [1, 2] {
        let pin = ChartAction::Pin {
            at: at(1, "G7"),
            pass: Pass::Only(NonZeroU16::new(pass).unwrap()),
            notes: notes(&G13),
        };
        chart.apply(pin, &mut outside);
    }
    let text = "| F6 | Dm7 | G7 | C6 |";
    chart.apply(typed(text, text.len()), &mut outside);
    assert_eq!(pins(&chart), [(2, "G7".to_owned())]);
    outside.rest();
    chart.refresh(outside.chart());
    let told: Vec<String> = chart.dropped().iter().map(ToString::to_string).collect();
    let words =
        "The pinned voicing of G7 for the 2nd time is dropped: there is no 2nd time any more.";
    assert_eq!(told, [words]);
    chart.apply(ChartAction::Undo, &mut outside);
    assert_eq!(pins(&chart).len(), 2);
}

#[test]
fn a_pin_goes_up_and_down_with_the_chart() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    let before = chart.document().clone();
    let up = ChartAction::Transpose(Direction::Up);
    let down = ChartAction::Transpose(Direction::Down);
    chart.apply(up, &mut outside);
    assert_eq!(pins(&chart), [(1, "Ab7".to_owned())]);
    // Something else is picked in the other key, and goes back with the rest.
    chart.apply(pin(2, "Dbmaj7"), &mut outside);
    chart.apply(down, &mut outside);
    assert_eq!(*chart.document().text, *before.text);
    assert_eq!(
        pins(&chart),
        [(1, "G7".to_owned()), (2, "Cmaj7".to_owned())]
    );
    let first = &chart.document().picks.pins()[0];
    assert_eq!(first.notes, before.picks.pins()[0].notes);
}

#[test]
fn a_harmony_that_is_kept_tells_what_it_drops() {
    let (mut chart, mut outside) = with(TEXT);
    chart.apply(pin(1, "G7"), &mut outside);
    outside.keep("| Dm7 | Gmaj7 | Cmaj7 |");
    outside.read();
    chart.refresh(outside.chart());
    assert_eq!(chart.dropped().len(), 1);
    chart.apply(ChartAction::Undo, &mut outside);
    assert_eq!(pins(&chart), [(1, "G7".to_owned())]);
}

#[test]
fn a_scale_is_chosen_and_is_on_show() {
    let (mut chart, mut outside) = with(TEXT);
    let altered = ScaleName {
        name: "altered".to_owned(),
        above: 0,
    };
    let choose = |scale| ChartAction::ChooseScale {
        at: at(1, "G7"),
        scale,
    };
    chart.apply(choose(Some(altered.clone())), &mut outside);
    outside.read();
    chart.refresh(outside.chart());
    let written = symbol::parse("G7").unwrap();
    let shown = chart.on_show(Some(1), &written).unwrap();
    assert_eq!((shown.at, shown.scale), (at(1, "G7"), Some(altered)));
    assert_eq!(chart.on_show(Some(0), &written), None, "another chord");
    chart.apply(choose(None), &mut outside);
    assert!(chart.document().picks.is_empty());
}

#[test]
fn one_time_only_or_every_time_is_asked_where_they_differ() {
    let (mut chart, mut outside) = with("|: Dm7 | G7 :| C6 |");
    let taste = guidehand_theory::pipeline::Taste::default();
    outside.rest();
    chart.refresh(outside.chart());
    assert!(!chart.reading().passes_differ(4, &taste), "played once");
    let second = ChartAction::Pin {
        at: at(1, "G7"),
        pass: Pass::Only(NonZeroU16::new(2).unwrap()),
        notes: notes(&G13),
    };
    chart.apply(second, &mut outside);
    outside.rest();
    chart.refresh(outside.chart());
    let low = notes(&[41, 45, 47, 52]);
    let every = ChartAction::Pin {
        at: at(1, "G7"),
        pass: Pass::Only(NonZeroU16::new(1).unwrap()),
        notes: low,
    };
    chart.apply(every, &mut outside);
    outside.rest();
    chart.refresh(outside.chart());
    assert!(chart.reading().passes_differ(1, &taste));
    assert_eq!(chart.reading().passes_of(1), 2);
}
