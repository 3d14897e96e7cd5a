//! Other harmonies, worked as a user would, with what the engine then plays.

use super::*;
use crate::bridge::chart::ChartCell;
use crate::editor::bench::{Bench, Seen, set};
use crate::editor::model::chart::ChartText;
use crate::editor::model::recorder::Recorder;
use crate::editor::view;
use crate::engine::snapshot::Snapshot;
use crate::params::{PANEL_SIZE, SMALLEST_PANEL, SourceParam};
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT, Queryable};
use guidehand_theory::chart::TICKS_PER_QUARTER;

const TEXT: &str = "| Dm7 | G7 | Cmaj7 | % |";
const SUBSTITUTE: &str = "tritone substitute: D♭7 for G7";
const OTHER_TWO_FIVE: &str = "ii-V of the tritone substitute: A♭m7 D♭7 for G7";

/// A panel that shows a chart, with the list for a place of it.
fn with(text: &str, place: &str) -> Bench {
    let mut bench = Bench::new();
    set(&bench.params().source, SourceParam::Chart);
    bench.params().chart.set_text(text);
    bench.settle();
    bench.click("Reharmonise");
    cursor_to(&mut bench, text.find(place).unwrap());
    bench.told();
    bench
}

/// Puts the text's cursor behind so many signs.
fn cursor_to(bench: &mut Bench, signs: usize) {
    bench.control("Chart").focus();
    bench.frame();
    let home = (Modifiers::COMMAND, Key::Home);
    bench.harness.key_press_modifiers(home.0, home.1);
    bench.frame();
    (0..signs).for_each(|_| bench.key(Key::ArrowRight));
    bench.settle();
}

/// Chooses a row by the keyboard.
fn press(bench: &mut Bench, row: &str) {
    bench.control(row).focus();
    bench.frame();
    bench.key(Key::Enter);
    bench.settle();
}

/// Whether the list says what it is for.
fn asks_about(bench: &Bench, words: &str) {
    let count = bench.harness.query_all_by_label(words).count();
    assert_eq!(count, 1, "{words}");
}

fn text(bench: &Bench) -> String {
    bench.params().chart.text()
}

/// What the engine plays of a chart that is simply typed.
fn plays(text: &str) -> Vec<Option<Vec<u8>>> {
    let mut bench = Bench::new();
    bench.params().chart.set_text(text);
    bench.plays()
}

fn says(seen: &[Seen], words: &str) -> bool {
    seen.iter().any(|s| s.words.contains(words))
}

#[test]
fn a_substitute_is_tried_flipped_kept_undone_and_taken_back() {
    let other = "| Dm7 | Db7 | Cmaj7 | % |";
    let mut bench = with(TEXT, "G7");
    assert_ne!(plays(TEXT), plays(other));
    assert!(
        bench
            .control("Keep: nothing is tried")
            .accesskit_node()
            .is_disabled()
    );

    press(&mut bench, SUBSTITUTE);
    assert!(bench.is_on(SUBSTITUTE) && bench.is_on("Sounds: trial"));
    assert_eq!(bench.plays(), plays(other));
    assert_eq!(text(&bench), TEXT, "no commitment yet");
    press(&mut bench, SUBSTITUTE);
    assert!(!bench.is_on(SUBSTITUTE) && bench.is_on("Sounds: as written"));
    assert_eq!(bench.plays(), plays(TEXT));
    bench.click("Sounds: trial");
    assert_eq!(bench.plays(), plays(other));
    bench.click("Sounds: as written");
    assert_eq!(bench.plays(), plays(TEXT));

    // What is kept is what was chosen, whichever of the two sounds.
    let revision = bench.params().revision.value();
    bench.click("Keep: tritone substitute");
    bench.settle();
    assert_eq!(text(&bench), other);
    assert_eq!(bench.plays(), plays(other));
    assert_ne!(
        bench.params().revision.value(),
        revision,
        "there is something to save"
    );
    bench.click("Undo");
    assert_eq!(text(&bench), TEXT, "one step");
    bench.click("Redo");
    assert_eq!(text(&bench), other);

    assert_eq!(bench.params().chart.original().as_deref(), Some(TEXT));
    bench.click("Bring back the original");
    bench.settle();
    assert_eq!(text(&bench), TEXT);
    assert_eq!(bench.plays(), plays(TEXT));
    let seen = bench.settle();
    assert!(!says(&seen, "Original"));
}

/// The list has three parts, each under its heading, and the usual ones come first.
#[test]
fn the_list_has_three_parts() {
    let mut bench = with(TEXT, "G7");
    bench.resize([1400.0, 3000.0]);
    let seen = bench.settle();
    let top = |words: &str| {
        let found = seen.iter().find(|s| s.words == words);
        found
            .unwrap_or_else(|| panic!("no {words} in {seen:?}"))
            .rect
            .top()
    };
    let substitute = bench.control(SUBSTITUTE).rect().top();
    let two_five = bench.control(OTHER_TWO_FIVE).rect().top();
    let vee = bench.control("v for V: Gm7 for G7").rect().top();
    let order = [
        top("Usual"),
        substitute,
        top("Colourful"),
        two_five,
        top("Bold"),
        vee,
    ];
    assert!(order.is_sorted(), "{order:?}");
}

#[test]
fn several_are_tried_one_after_the_other_and_dropped() {
    let mut bench = with(TEXT, "G7");
    press(&mut bench, SUBSTITUTE);
    press(&mut bench, OTHER_TWO_FIVE);
    assert!(bench.is_on(OTHER_TWO_FIVE) && !bench.is_on(SUBSTITUTE));
    assert_eq!(bench.plays(), plays("| Dm7 | Abm7 Db7 | Cmaj7 | % |"));
    bench.click("Drop: ii-V of the tritone substitute");
    bench.settle();
    assert_eq!(bench.plays(), plays(TEXT));
    assert_eq!(text(&bench), TEXT);
    assert_eq!(bench.params().chart.original(), None);
    assert!(
        bench
            .control("Keep: nothing is tried")
            .accesskit_node()
            .is_disabled()
    );
}

#[test]
fn an_edit_of_the_text_drops_what_is_tried() {
    let mut bench = with(TEXT, "G7");
    press(&mut bench, SUBSTITUTE);
    cursor_to(&mut bench, TEXT.len());
    bench.type_text(" F6 |");
    bench.settle();
    let edited = "| Dm7 | G7 | Cmaj7 | % | F6 |";
    assert_eq!(text(&bench), edited);
    assert_eq!(bench.params().chart.tried(), None);
    assert_eq!(bench.plays(), plays(edited));
    bench.control("Keep: nothing is tried");
    bench.type_text(" H7");
    let seen = bench.settle();
    assert!(says(&seen, "Fix the chart"), "{seen:?}");
}

#[test]
fn the_chords_of_a_selection_are_asked_about_and_without_one_the_sounding_chord() {
    let mut bench = with(TEXT, "Dm7");
    asks_about(&bench, "For Dm7");
    for _ in 0.."Dm7 | G7".len() {
        bench
            .harness
            .key_press_modifiers(Modifiers::SHIFT, Key::ArrowRight);
        bench.frame();
    }
    bench.settle();
    asks_about(&bench, "For Dm7 G7");
    press(&mut bench, "sus for ii-V: G7sus4 for Dm7 G7");
    let other = "| G7sus4 | % | Cmaj7 | % |";
    assert_eq!(bench.plays(), plays(other));
    asks_about(&bench, "For Dm7 G7");
    bench.click("Keep: sus for ii-V");
    bench.settle();
    assert_eq!(text(&bench), other);
    asks_about(&bench, "For G7sus4");

    let mut bench = Bench::new();
    bench.params().chart.set_text(TEXT);
    bench.settle();
    bench.click("Reharmonise");
    let seen = bench.settle();
    assert!(says(&seen, "Put the cursor on a chord"), "{seen:?}");
    bench.show(Snapshot {
        change: Some(1),
        beat_ticks: Some(4 * TICKS_PER_QUARTER),
        ..Snapshot::default()
    });
    bench.settle();
    asks_about(&bench, "For G7");
    // What is tried stays on show while the chart plays on.
    press(&mut bench, OTHER_TWO_FIVE);
    bench.show(Snapshot {
        change: Some(3),
        beat_ticks: Some(8 * TICKS_PER_QUARTER),
        ..Snapshot::default()
    });
    bench.settle();
    asks_about(&bench, "For G7");
    bench.click("Drop: ii-V of the tritone substitute");
    bench.show(Snapshot {
        change: Some(2),
        beat_ticks: Some(8 * TICKS_PER_QUARTER),
        ..Snapshot::default()
    });
    bench.settle();
    asks_about(&bench, "For Cmaj7");
}

#[test]
fn the_melody_rules_out_with_a_reason_and_is_saved() {
    let mut bench = with(TEXT, "G7");
    bench.control(OTHER_TWO_FIVE);
    bench.control("Melody").focus();
    bench.frame();
    bench.type_text("x");
    let seen = bench.settle();
    assert!(says(&seen, "x is no note"), "{seen:?}");
    bench.control(OTHER_TWO_FIVE);
    bench.key(Key::Backspace);
    bench.type_text("g");
    bench.settle();
    let out = format!("Ruled out: {OTHER_TWO_FIVE}");
    let row = bench.harness.get_by_label(&out);
    let why = row
        .accesskit_node()
        .data()
        .description()
        .map(ToOwned::to_owned);
    assert_eq!(
        why.as_deref(),
        Some("G over A♭m7: a half step above its ♭7")
    );
    assert_eq!(
        bench.value("Melody").as_deref(),
        Some("g"),
        "as it was typed"
    );
    bench.control(SUBSTITUTE);

    let saved = bench.saved_melody();
    assert_eq!(saved, "| | G4/1 |");
    // An older version saved it by its ticks.
    let mut other = with(TEXT, "G7");
    other.load_old_melody("G 3840 3840".to_owned());
    other.settle();
    assert_eq!(other.saved_melody(), saved);
    assert_eq!(other.value("Melody").as_deref(), Some("G"));
    other.harness.get_by_label(&out);
}

#[test]
fn the_melody_is_taken_from_the_right_hand() {
    let mut bench = with(TEXT, "G7");
    let playing = |keys: &[u8]| Snapshot {
        change: Some(1),
        beat_ticks: Some(4 * TICKS_PER_QUARTER),
        held: keys.iter().fold(0, |held, key| held | 1 << key),
        ..Snapshot::default()
    };
    bench.show(playing(&[67]));
    bench.settle();
    assert_eq!(
        bench.value("Melody").as_deref(),
        Some(""),
        "not asked to listen"
    );
    bench.show(Snapshot::default());
    bench.click("Melody from the right hand");
    assert!(bench.is_on("Melody from the right hand"));
    // A key below the split is no melody.
    for (keys, line) in [
        (&[55][..], ""),
        (&[67, 63], "G"),
        (&[62], "G"),
        (&[70], "B♭"),
    ] {
        bench.show(playing(keys));
        bench.settle();
        let told = bench.value("Melody").map(|line| view::with_signs(&line));
        assert_eq!(told.as_deref(), Some(line), "{keys:?}");
    }
}

#[test]
fn bars_are_dressed_one_by_one_and_all() {
    let text = "| Dm9 | G13 | Cmaj9 | % |";
    let mut bench = with(text, "G13");
    bench.click("Bars: basic");
    bench.settle();
    assert_eq!(bench.plays(), plays("| Dm9 | G7 | Cmaj9 | % |"));
    bench.control("Keep: bar by bar");
    bench.click("Dress: all bars");
    assert!(!bench.is_on("Bars: basic") && !bench.is_on("Bars: as written"));
    bench.click("Bars: basic");
    bench.settle();
    assert_eq!(bench.plays(), plays("| Dm7 | G7 | Cmaj7 | % |"));
    bench.click("Bars: as written");
    bench.settle();
    assert_eq!(bench.plays(), plays(text));
    assert_eq!(bench.params().chart.tried(), None);
    bench.click("Bars: basic");
    bench.click("Keep: basic");
    bench.settle();
    assert_eq!(self::text(&bench), "| Dm7 | G7 | Cmaj7 | % |");
    assert!(bench.is_on("Bars: as written"), "it is what is written now");
    bench.click("Bars: basic");
    let seen = bench.settle();
    assert!(says(&seen, "Nothing is to be changed there."), "{seen:?}");
}

#[test]
fn what_cannot_be_written_is_said() {
    // G7 leads home once, and to Am the other time.
    let text = "| Dm7 |: G7 |[1 Cmaj7 | Dm7 :|[2 Am7 | % |]";
    let mut bench = with(text, "G7");
    bench.click("Bars: with ii-Vs");
    let seen = bench.settle();
    assert!(says(&seen, "Bar 2 is played more than once"), "{seen:?}");
}

/// Proposals are worked out when something they depend on has changed, and the
/// marks in the chart with them.
#[test]
fn nothing_is_worked_out_twice() {
    let (cell, _songs) = ChartCell::new();
    let text = ChartText::new(cell.latest());
    let chart = text.shared().unwrap();
    let mut harmonies = Harmonies::default();
    harmonies.refresh(
        Some(chart),
        None,
        &Snapshot::default(),
        &mut Recorder::default(),
    );
    harmonies.ask(Some(1..2), None);
    let first = harmonies.offers().fits.as_ptr();
    harmonies.ask(Some(1..2), None);
    assert_eq!(harmonies.offers().fits.as_ptr(), first);
    harmonies.ask(Some(2..3), None);
    assert_ne!(harmonies.offers().fits.as_ptr(), first);
}

#[test]
fn everything_has_its_place_at_every_size() {
    for size in [PANEL_SIZE, SMALLEST_PANEL, [1400.0, 900.0]] {
        let mut bench = with("| Dm7 | G7 | Cmaj7 | A7 | Dm7 G7 | Em7 A7 |", "Dm7");
        bench.resize(size);
        bench
            .harness
            .key_press_modifiers(Modifiers::COMMAND, Key::A);
        bench.settle();
        bench.click("Bars: with ii-Vs");
        bench.click("Keep: with ii-Vs");
        let seen = bench.settle();
        for one in &seen {
            assert!(!one.elided, "cut short at {size:?}: {one:?}");
        }
        let names = [
            "Sounds: as written",
            "Keep: nothing is tried",
            "Drop: nothing is tried",
            "Melody",
            "Melody from the right hand",
            "Bars: full",
        ];
        let places = names.map(|name| (name, bench.control(name).rect()));
        for (i, (name, place)) in places.iter().enumerate() {
            let column = egui::Rect::everything_left_of(408.0);
            assert!(
                column.contains_rect(*place),
                "{name} at {size:?}: {place:?}"
            );
            for (other, elsewhere) in places.iter().skip(i + 1) {
                let both = place.intersect(*elsewhere).shrink(1.0);
                assert!(!both.is_positive(), "{name} over {other} at {size:?}");
            }
        }
    }
}
