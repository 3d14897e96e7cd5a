//! When a text that is typed comes into force, by a clock that the tests move.

use super::*;

/// Types a text sign by sign, and lets the worker do all that there is to do after each.
fn type_signs(cell: &ChartCell, work: &ChartWork, before: &str, signs: &str) {
    let ends = signs.char_indices().map(|(at, sign)| at + sign.len_utf8());
    for end in ends {
        cell.type_text(&format!("{before}{}", &signs[..end]));
        while work.step(Depth::All) {}
    }
}

#[test]
fn a_typed_text_comes_into_force_when_typing_rests() {
    let (cell, work, mut receiver) = by_hand();
    let clock = cell.stop_clock();
    assert_eq!(taken(&mut receiver), Some((16, Enters::AtOnce)));
    // Each text on the way to the last one can be read: `| D`, `| Dm`, `| Dm7`, `| Dm7 | G`.
    type_signs(&cell, &work, "| ", "Dm7 | G7 |");
    let read = cell.latest();
    assert!(
        read.waits && read.planned.is_some(),
        "it is planned meanwhile"
    );
    assert_eq!(&*read.text, "| Dm7 | G7 |");
    clock.pass_ms(999);
    assert!(!work.step(Depth::All), "it has been planned");
    assert_eq!(taken(&mut receiver), None, "the chart before plays on");
    assert!(cell.latest().waits);
    clock.pass_ms(1);
    assert!(!work.step(Depth::All), "nothing is left to be planned");
    let chart = receiver.take().unwrap();
    assert_eq!((chart.changes.len(), chart.unplanned()), (2, None));
    assert_eq!(chart.enters, Enters::AtTheBarLine);
    let read = cell.latest();
    let shown = read.planned.clone().unwrap();
    assert!(!read.waits && Arc::ptr_eq(&chart, &shown));
}

#[test]
fn each_key_begins_the_rest_anew() {
    let (cell, work, mut receiver) = by_hand();
    let clock = cell.stop_clock();
    assert!(receiver.take().is_some());
    for text in ["| C6", "| C6 |", "| C6 | F", "| C6 | F6"] {
        cell.type_text(text);
        clock.pass_ms(999);
        while work.step(Depth::All) {}
        assert_eq!(taken(&mut receiver), None, "{text}");
    }
    clock.pass_ms(1);
    work.step(Depth::All);
    assert_eq!(taken(&mut receiver), Some((2, Enters::AtTheBarLine)));
}

/// Not the fragment that could still be read a moment before.
#[test]
fn where_typing_rests_on_an_error_the_last_finished_text_stays() {
    let (cell, work, mut receiver) = by_hand();
    let clock = cell.stop_clock();
    cell.set_text("| C6 | F6 | G7 |");
    while work.step(Depth::All) {}
    assert_eq!(taken(&mut receiver), Some((3, Enters::AtTheBarLine)));
    type_signs(&cell, &work, "| ", "Dm7 | H");
    clock.pass_ms(5_000);
    assert!(!work.step(Depth::All));
    assert_eq!(taken(&mut receiver), None);
    assert_eq!(cell.errors().len(), 1);
    assert!(!cell.latest().waits, "nothing comes");
    let saved = cell.saved();
    assert_eq!(saved.text, "| Dm7 | H");
    assert_eq!(saved.sounding.as_deref(), Some("| C6 | F6 | G7 |"));
    // Mended, it comes.
    type_signs(&cell, &work, "| Dm7 | ", "G7");
    clock.pass_ms(1_000);
    work.step(Depth::All);
    assert_eq!(taken(&mut receiver), Some((2, Enters::AtTheBarLine)));
    assert_eq!(cell.saved().sounding, None);
}

#[test]
fn a_finished_text_does_not_wait_for_a_rest() {
    let (cell, work, mut receiver) = by_hand();
    let _clock = cell.stop_clock();
    type_signs(&cell, &work, "| ", "Dm7 | G7");
    cell.set_text("| Dm7 | G7\n");
    while work.step(Depth::All) {}
    assert_eq!(taken(&mut receiver), Some((2, Enters::AtTheBarLine)));
    assert!(!cell.latest().waits);
}

/// A finished text that nobody has had time to read before the next letter.
#[test]
fn a_finished_text_comes_into_force_though_typing_goes_on() {
    let (cell, work, mut receiver) = by_hand();
    let _clock = cell.stop_clock();
    assert!(receiver.take().is_some());
    cell.set_text("| C6 | F6 | G7 |\n");
    cell.type_text("| C6 | F6 | G7 |\n| C");
    while work.step(Depth::All) {}
    assert_eq!(taken(&mut receiver), Some((3, Enters::AtTheBarLine)));
    let read = cell.latest();
    assert!(read.waits);
    assert_eq!(read.planned.as_ref().map(|p| p.changes.len()), Some(4));
}

#[test]
fn a_text_that_is_typed_back_to_the_one_in_force_is_in_force() {
    let (cell, work, mut receiver) = by_hand();
    let clock = cell.stop_clock();
    cell.set_text("| C6 | F6 |");
    while work.step(Depth::All) {}
    let playing = receiver.take().unwrap();
    cell.type_text("| C6 | F |");
    while work.step(Depth::All) {}
    assert!(cell.latest().waits);
    cell.type_text("| C6 | F6 |");
    while work.step(Depth::All) {}
    clock.pass_ms(1_000);
    work.step(Depth::All);
    assert_eq!(taken(&mut receiver), None, "it plays already");
    let read = cell.latest();
    assert!(!read.waits && read.chart.is_ok());
    assert_eq!(
        read.planned.as_ref().map(|p| p.edition),
        Some(playing.edition)
    );
}

#[test]
fn what_is_saved_is_the_text_whether_or_not_it_is_in_force() {
    let (cell, work, mut receiver) = by_hand();
    let _clock = cell.stop_clock();
    type_signs(&cell, &work, "| ", "Dm7 | G7");
    let saved = cell.saved();
    assert_eq!(
        (saved.text.as_str(), &saved.sounding),
        ("| Dm7 | G7", &None)
    );
    assert!(cell.latest().waits, "saving finishes nothing");
    assert_eq!(taken(&mut receiver), Some((16, Enters::AtOnce)));
    // A state enters at once, and before `load` returns.
    cell.load(saved);
    assert_eq!(taken(&mut receiver), Some((2, Enters::AtOnce)));
    assert!(!cell.latest().waits);
}

/// A host renders right after an activation, and what it renders is what it saves.
#[test]
fn to_settle_brings_a_typed_text_into_force() {
    let (cell, _work, mut receiver) = by_hand();
    let _clock = cell.stop_clock();
    cell.type_text("| Dm7 | G7");
    cell.settle();
    assert_eq!(taken(&mut receiver), Some((2, Enters::AtTheBarLine)));
    assert!(!cell.latest().waits);
}

/// What is tried was worked out from the text in hand.
#[test]
fn a_trial_finishes_the_text_that_it_is_tried_in() {
    let (cell, work, mut receiver) = by_hand();
    let _clock = cell.stop_clock();
    type_signs(&cell, &work, "| ", "Dm7 | G7");
    cell.try_out(Some("| Dm7 | Abm7 Db7"));
    while work.step(Depth::All) {}
    assert_eq!(taken(&mut receiver), Some((3, Enters::AtTheBarLine)));
    cell.try_out(None);
    assert_eq!(taken(&mut receiver), Some((2, Enters::AtTheBarLine)));
    // Typing ends a trial, and the chart that was written sounds until the typed one comes.
    cell.try_out(Some("| Dm7 | Abm7 Db7"));
    while work.step(Depth::All) {}
    assert_eq!(taken(&mut receiver), Some((3, Enters::AtTheBarLine)));
    type_signs(&cell, &work, "| Dm7 | G7", " | C | F");
    assert_eq!(taken(&mut receiver), Some((2, Enters::AtTheBarLine)));
    assert_eq!(cell.tried(), None);
}

/// The text in force is read anew with the text in hand, for it is saved in the same language.
#[test]
fn another_language_finishes_a_text_and_holds_for_the_one_in_force() {
    let roots = |receiver: &mut PlannedReceiver| -> Option<Vec<String>> {
        let chart = receiver.take()?;
        let placed = chart.changes.iter().filter_map(|change| change.placed);
        Some(placed.map(|p| p.chord.root.to_string()).collect())
    };
    let (cell, work, mut receiver) = by_hand();
    let _clock = cell.stop_clock();
    cell.set_text("| B7 | E7 |");
    while work.step(Depth::All) {}
    assert_eq!(
        roots(&mut receiver),
        Some(vec!["B".to_owned(), "E".to_owned()])
    );
    type_signs(&cell, &work, "| B7 ", "| X");
    assert_eq!(cell.errors().len(), 1);
    cell.set_names(NoteNames::German);
    while work.step(Depth::All) {}
    assert_eq!(
        roots(&mut receiver),
        Some(vec!["Bb".to_owned(), "E".to_owned()])
    );
    type_signs(&cell, &work, "| B7 | ", "Es6");
    cell.set_names(NoteNames::German);
    while work.step(Depth::All) {}
    assert_eq!(
        roots(&mut receiver),
        Some(vec!["Bb".to_owned(), "Eb".to_owned()])
    );
}
