//! The panel worked as a user does, by the names that a screen reader tells: what
//! the host hears, and what the engine then plays.

use crate::editor::bench::{Bench, HostCall, gestures, set, sounding};
use crate::editor::model::parameters::ParameterId;
use crate::editor::window::parameters::controls;
use crate::engine::rhythm::DrawnEighth;
use crate::params::{NinthParam, RhythmParam, SourceParam};
use egui::{Key, vec2};
use egui_kittest::kittest::{NodeT, Queryable};
use guidehand_theory::candidates::Edges;
use guidehand_theory::chart::TICKS_PER_QUARTER;
use guidehand_theory::pipeline::Taste;
use nice_plug::prelude::Param;

#[test]
fn a_tension_that_is_asked_for_is_what_the_engine_plays() {
    let mut bench = Bench::new();
    let before = bench.plays();
    bench.told();
    bench.click("Ninth: ♯9");
    assert_eq!(bench.params().ninth.value(), NinthParam::Sharp9);
    assert_eq!(gestures(&bench.told(), "ninth"), (1, 1, 1));
    assert!(bench.is_on("Ninth: ♯9") && !bench.is_on("Ninth: by context"));
    let after = bench.plays();
    // G7 is the second change: its sharp ninth is A sharp.
    let sharp = |keys: &Option<Vec<u8>>| keys.iter().flatten().any(|key| key % 12 == 10);
    assert!(
        !sharp(&before[1]) && sharp(&after[1]),
        "{before:?} {after:?}"
    );
    assert_eq!(before[0], after[0], "a minor seventh chord stays as it is");

    bench.click("Ninth: ♯9");
    assert_eq!(bench.told(), [], "the choice in force is no gesture");
    bench.double_click("Ninth: ♯9");
    assert_eq!(bench.params().ninth.value(), NinthParam::ByContext);
    assert_eq!(bench.plays(), before);
}

#[test]
fn the_keyboard_reaches_and_works_a_choice() {
    let mut bench = Bench::new();
    bench.control("Ninth: ♭9").focus();
    bench.frame();
    assert!(bench.control("Ninth: ♭9").is_focused());
    bench.key(Key::Space);
    assert_eq!(bench.params().ninth.value(), NinthParam::Flat9);
    bench.key(Key::Tab);
    assert!(bench.control("Ninth: ♯9").is_focused());
    bench.key(Key::Enter);
    assert_eq!(bench.params().ninth.value(), NinthParam::Sharp9);
}

#[test]
fn switches_turn_on_and_off_and_back_to_their_default() {
    for (name, id) in [
        ("Bypass", "bypass"),
        ("Lock chart to key", "pin_key"),
        ("Play while a key is held", "gate"),
        ("Bass note", "bass"),
        ("Audition tone", "tone"),
        ("Swing follows tempo", "swing_bpm"),
        ("Anticipation", "ahead"),
        ("Inner lines", "inner"),
        ("Apply immediately", "at_once"),
        ("Chart repeats", "repeats"),
        ("German note names", "revision"),
    ] {
        let mut bench = Bench::new();
        set(&bench.params().source, SourceParam::Chart);
        bench.reach(name);
        bench.told();
        let default = bench.is_on(name);
        bench.click(name);
        assert_eq!(gestures(&bench.told(), id), (1, 1, 1), "{name}");
        assert_ne!(bench.is_on(name), default, "{name}");
        bench.click(name);
        assert_eq!(bench.is_on(name), default, "{name}");
        bench.click(name);
        bench.double_click(name);
        assert_eq!(bench.is_on(name), default, "{name}: a double click");
    }
}

/// Every choice of the page, by the names that a screen reader tells, with the
/// value that the host is told.
#[test]
fn other_chords_are_asked_by_choices() {
    for (name, words, id) in [
        ("Major tonic", &["6", "maj7"][..], "major_i"),
        ("Minor tonic", &["m6", "m7", "m(maj7)"], "minor_i"),
        ("Ninth on other chords", &["none", "9"], "plain_9"),
        ("Eleventh on minor chords", &["none", "11"], "minor_11"),
        ("Eleventh on major chords", &["none", "♯11"], "major_11"),
    ] {
        let mut bench = Bench::new();
        bench.click("Voicing and hand");
        bench.told();
        let first = format!("{name}: by context");
        assert!(bench.is_on(&first), "{first}");
        for word in words {
            let choice = format!("{name}: {word}");
            bench.click(&choice);
            assert_eq!(gestures(&bench.told(), id), (1, 1, 1), "{choice}");
            assert!(bench.is_on(&choice) && !bench.is_on(&first), "{choice}");
        }
        bench.double_click(&format!("{name}: {}", words[0]));
        assert!(bench.is_on(&first), "{name}: a double click");
    }
}

#[test]
fn the_hand_is_told_in_intervals() {
    let mut bench = Bench::new();
    bench.click("Voicing and hand");
    bench.told();
    let value = |bench: &Bench, name| bench.value(name).unwrap();
    assert_eq!(value(&bench, "Hand at ease"), "ninth");
    assert_eq!(value(&bench, "Hand at most"), "tenth");
    for (name, id, typed, shown) in [
        ("Hand at ease", "hand_ease", "octave", "octave"),
        ("Hand at most", "hand_most", "11", "eleventh"),
        ("Hand at most", "hand_most", "Minor tenth", "minor tenth"),
    ] {
        bench.click(name);
        bench.type_text(typed);
        bench.key(Key::Enter);
        assert_eq!(gestures(&bench.told(), id), (1, 1, 1), "{name}");
        assert_eq!(value(&bench, name), shown);
    }
    // What is at ease is at least what is reached at most.
    set(&bench.params().hand_at_ease, 16);
    set(&bench.params().hand_at_most, 13);
    bench.settle();
    assert_eq!(value(&bench, "Hand at most"), "tenth");
    let hand = bench.params().settings().taste.register.hand;
    assert_eq!((hand.at_ease, hand.at_most), (16, 16));
    bench.double_click("Hand at ease");
    bench.double_click("Hand at most");
    let hand = bench.params().settings().taste.register.hand;
    assert_eq!((hand.at_ease, hand.at_most), (14, 16));
}

#[test]
fn hard_edges_are_a_switch_that_plans_anew() {
    let mut bench = Bench::new();
    bench.click("Voicing and hand");
    let soft = bench.params().plan_for();
    bench.click("Hard register edges");
    let hard = bench.params().plan_for();
    assert_eq!(soft.register.edges, Edges::Soft);
    assert_eq!(hard.register.edges, Edges::Hard);
    bench.double_click("Hard register edges");
    assert_eq!(bench.params().plan_for(), soft);
}

/// B is B flat in German, and H is B natural (common practice, no published
/// source). What is worked on the chart stays in the language of its text.
#[test]
fn a_german_chart_sounds_and_stays_german() {
    let mut bench = Bench::new();
    let set_text = |bench: &Bench, text| bench.params().chart.set_text(text);
    set_text(&bench, "| Cm7 | F7 | Bbmaj7 | % |");
    let english = bench.plays();
    set_text(&bench, "| Cm7 | F7 | Bmaj7 | % |");
    assert_ne!(bench.plays(), english);
    bench.click("German note names");
    assert_eq!(bench.plays(), english);
    bench.settle();
    bench.click("Transpose up");
    assert_eq!(bench.params().chart.text(), "| Cism7 | Fis7 | Hmaj7 | % |");
    assert_eq!(bench.params().chart.errors(), []);
    let higher: Vec<_> = bench.plays().into_iter().flatten().flatten().collect();
    assert!(higher.iter().any(|key| key % 12 == 11), "{higher:?}");
}

#[test]
fn the_blues_is_a_mode() {
    let mut bench = Bench::new();
    set(&bench.params().source, SourceParam::Roots);
    bench.settle();
    bench.click("Mode");
    bench.frame();
    bench.click("blues");
    bench.settle();
    assert_eq!(gestures(&bench.told(), "mode"), (1, 1, 1));
    assert_eq!(bench.params().key().to_string(), "C blues");
    assert_eq!(bench.value("Mode").as_deref(), Some("blues"));
    bench.double_click("Mode");
    assert_eq!(bench.params().key().to_string(), "C major");
}

#[test]
fn a_drag_is_one_gesture_and_a_double_click_undoes_it() {
    let mut bench = Bench::new();
    let before = bench.plays();
    bench.reach("Register from");
    let at = bench.control("Register from").rect().center();
    // Far enough that the notes below a soft edge cost more than to move.
    bench.drag(at, at + vec2(160.0, 0.0));
    let told = bench.told();
    let (begun, set, ended) = gestures(&told, "lowest");
    assert!(begun == 1 && set > 2 && ended == 1, "{told:?}");
    assert!(matches!(told.first(), Some(HostCall::Begin(_))));
    assert!(matches!(told.last(), Some(HostCall::End(_))));
    assert!(bench.params().lowest.value() > 50);
    assert_ne!(bench.plays(), before);
    bench.double_click("Register from");
    assert_eq!(bench.params().lowest.value(), 50);
    assert_eq!(bench.value("Register from").as_deref(), Some("D3"));
    assert_eq!(bench.plays(), before);
}

#[test]
fn a_double_click_puts_the_level_back_in_one_gesture() {
    let mut bench = Bench::new();
    let params = bench.params();
    let default = params.tone_level.unmodulated_normalized_value();
    set(&params.tone_level, 0.02);
    bench.reach("Audition level");
    let place = bench.control("Audition level").rect();
    for at in [place.left_center(), place.center(), place.right_center()] {
        set(&params.tone_level, 0.02);
        bench.frame();
        bench.double_click_at(at);
        bench.harness.run_steps(20);
        let id = || "tone_lvl".to_owned();
        let whole = [
            HostCall::Begin(id()),
            HostCall::Set(id(), default),
            HostCall::End(id()),
        ];
        assert_eq!(bench.told(), whole, "a double click at {at}");
        assert_eq!(bench.value("Audition level").as_deref(), Some("-9.0 dB"));
    }
}

#[test]
fn a_level_follows_a_click_a_drag_and_keys_in_one_gesture_each() {
    let mut bench = Bench::new();
    let share = |bench: &Bench| bench.params().tone_level.unmodulated_normalized_value();
    bench.reach("Audition level");
    let place = bench.control("Audition level").rect();
    bench.click_at(place.left_center());
    assert_eq!(bench.told(), [], "it may become a double click");
    bench.harness.run_steps(20);
    assert_eq!(gestures(&bench.told(), "tone_lvl"), (1, 1, 1));
    assert!(share(&bench) < 0.1, "{}", share(&bench));

    bench.drag(place.left_center(), place.right_center());
    let told = bench.told();
    let (begun, set, ended) = gestures(&told, "tone_lvl");
    assert!(begun == 1 && set > 2 && ended == 1, "{told:?}");
    assert!(share(&bench) > 0.9, "{}", share(&bench));

    bench.control("Audition level").focus();
    bench.settle();
    bench.key(Key::ArrowLeft);
    assert_eq!(gestures(&bench.told(), "tone_lvl"), (1, 1, 1));

    // A drag right after a click takes its place.
    bench.click_at(place.left_center());
    bench.drag(place.center(), place.right_center());
    bench.harness.run_steps(20);
    assert_eq!(gestures(&bench.told(), "tone_lvl").0, 1);
    assert!(share(&bench) > 0.9, "{}", share(&bench));
}

#[test]
fn numbers_are_typed_in_their_own_words_and_stepped() {
    for (name, id, typed, shown) in [
        ("Register from", "lowest", "F3", "F3"),
        ("Split", "split", "c#5", "C♯5"),
        ("Swing", "swing", "60", "60 %"),
        ("Looseness, time", "touch_ms", "12", "12 ms"),
        ("Variation", "variation", "35", "35 %"),
        ("Tempo without host", "tempo", "176", "176 bpm"),
        ("Take", "seed", "4711", "4711"),
        ("Space for the melody", "space", "40", "40 %"),
        ("Left single under", "single_ms", "150", "150 ms"),
        ("Chart velocity", "velocity", "55 %", "55 %"),
        ("Bass channel", "bass_ch", "9", "9"),
    ] {
        let mut bench = Bench::new();
        bench.reach(name);
        bench.click(name);
        bench.type_text(typed);
        assert_eq!(bench.told(), [], "{name}: told before it is typed out");
        bench.key(Key::Enter);
        assert_eq!(gestures(&bench.told(), id), (1, 1, 1), "{name}");
        assert_eq!(bench.value(name).as_deref(), Some(shown), "{name}");
    }
    let mut bench = Bench::new();
    bench.reach("Hand at ease");
    bench.control("Split").focus();
    bench.settle();
    bench.key(Key::ArrowUp);
    assert_eq!(bench.params().split.value(), 61);
    bench.key(Key::ArrowDown);
    bench.key(Key::ArrowDown);
    assert_eq!(bench.params().split.value(), 59);
    bench.reach("Swing");
    bench.control("Swing").increment_accesskit();
    bench.frame();
    let swing = bench.params().swing.value();
    assert!((swing - 0.68).abs() < 1e-6, "whole percents: {swing}");
}

#[test]
fn a_rhythm_is_drawn_by_hand_and_by_key() {
    let mut bench = Bench::new();
    assert!(bench.harness.query_by_label("bar 1, beat 2").is_none());
    bench.reach("Swing");
    bench.click("Rhythm");
    bench.frame();
    bench.click("drawn");
    assert_eq!(bench.params().rhythm.value(), RhythmParam::Drawn);
    bench.settle();
    assert_eq!(bench.value("bar 1, beat 1").as_deref(), Some("long"));
    assert_eq!(bench.value("bar 1, and of 2").as_deref(), Some("short"));
    bench.told();
    bench.click("bar 1, and of 3");
    assert_eq!(bench.value("bar 1, and of 3").as_deref(), Some("short"));
    assert_eq!(gestures(&bench.told(), "revision"), (1, 1, 1));
    bench.click("bar 1, and of 2");
    bench.click("bar 1, and of 2");
    bench.control("bar 2, and of 4").focus();
    bench.frame();
    bench.key(Key::L);
    let drawn = bench.params().settings().groove.drawn;
    assert_eq!(drawn.to_text(), "l----s-----------------l--------");
    assert_eq!(drawn.mark(false, 3), DrawnEighth::Nothing);
    bench.key(Key::Delete);
    assert_eq!(
        bench.params().settings().groove.drawn.mark(true, 7),
        DrawnEighth::Nothing
    );
}

#[test]
fn a_list_goes_back_to_its_default() {
    let mut bench = Bench::new();
    set(&bench.params().rhythm, RhythmParam::Bossa);
    bench.reach("Swing");
    assert_eq!(bench.value("Rhythm").as_deref(), Some("bossa"));
    bench.double_click("Rhythm");
    assert_eq!(bench.params().rhythm.value(), RhythmParam::Hold);
}

#[test]
fn automation_shows() {
    let mut bench = Bench::new();
    let params = bench.params();
    set(&params.source, SourceParam::Chart);
    set(&params.accents, 0.25);
    bench.reach("Accents");
    assert!(bench.is_on("Chords from: Chart"));
    assert_eq!(bench.value("Accents").as_deref(), Some("25 %"));
}

#[test]
fn the_next_chord_and_its_distance_show() {
    let mut bench = Bench::new();
    let playing = sounding(&bench.params().chart.text(), &Taste::default());
    for (on, beats) in [
        (0, "next, in 4 beats"),
        (TICKS_PER_QUARTER, "next, in 3 beats"),
        (3 * TICKS_PER_QUARTER, "next, in 1 beat"),
    ] {
        let mut snapshot = playing[0];
        snapshot.beat_ticks = Some(on);
        bench.show(snapshot);
        let seen = bench.settle();
        assert!(seen.iter().any(|s| s.words == beats), "{beats}: {seen:?}");
    }
}

#[test]
fn tensions_say_where_they_come_from() {
    let mut bench = Bench::new();
    set(&bench.params().ninth, NinthParam::Flat9);
    let taste = bench.params().settings().taste;
    for (text, words) in [
        ("| G7b9 | Cm |", "♭9: it is written in the symbol"),
        ("| G7 | Cmaj7 |", "♭9: it is asked for here"),
    ] {
        let chords = sounding(text, &taste);
        bench.show(chords[0]);
        bench.settle();
        let labels = bench.harness.root().children_recursive();
        let labels: Vec<String> = labels.filter_map(|n| n.value()).collect();
        assert!(labels.iter().any(|l| l == words), "{words}: {labels:?}");
    }
}

#[test]
fn a_default_that_is_in_force_is_no_gesture() {
    let mut bench = Bench::new();
    bench.reach("Take");
    bench.double_click("Take");
    assert_eq!(bench.told(), []);
    let controls = controls(&bench.params());
    let seed = controls.of(ParameterId::Seed);
    assert_eq!(seed.value, seed.default);
}
