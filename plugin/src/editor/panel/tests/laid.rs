//! The notes of the chord in hand as a player lays them on the keyboard, and for which times that it
//! is played they are kept.

use super::focused;
use super::in_hand::{G13, asked, at_rest, says};
use crate::document::{ChordAt, Pass, PinNotes};
use crate::editor::bench::{Bench, set, sounding};
use crate::editor::model::page::Page;
use crate::editor::panel::keyboard::keys::Keys;
use crate::editor::view;
use crate::engine::snapshot::Snapshot;
use crate::params::{SavedPanel, SourceParam};
use egui::accesskit::Role;
use egui::{Color32, Event, Key, Modifiers, Pos2, Shape, vec2};
use egui_kittest::Node;
use egui_kittest::kittest::{NodeT, Queryable};
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::MidiNote;
use std::num::NonZeroU16;
use std::ops::RangeInclusive;

const NOTES: &str = "Notes of the chord in hand";
const FOUR_BARS: &str = "| Dm7 | G7 | Cmaj7 | % |";
const REPEATED: &str = "|: Dm7 | G7 | Cmaj7 :|";
/// F B E, which nobody would plan.
const PINNED: [u8; 3] = [53, 59, 64];
const SECOND: Pass = match NonZeroU16::new(2) {
    Some(second) => Pass::Only(second),
    None => Pass::Every,
};

/// The second chord of a chart in hand, at rest. Nothing has been asked for.
fn second_of(text: &str) -> Bench {
    let mut bench = at_rest();
    bench.params().chart.set_text(text);
    bench.settle();
    bench.click("Next chord");
    bench.settle();
    asked(&mut bench);
    bench
}

fn notes(bench: &Bench) -> Node<'_> {
    bench.harness.get_by_role_and_label(Role::Slider, NOTES)
}

/// The keys in view.
fn keys_in_view(bench: &Bench) -> RangeInclusive<u8> {
    view::keyboard(&bench.params().settings(), &[])
}

fn keys(bench: &Bench) -> Keys {
    Keys::new(notes(bench).rect(), keys_in_view(bench))
}

/// Near the foot of a key.
fn key(bench: &Bench, note: u8) -> Pos2 {
    keys(bench).key(note).center_bottom() - vec2(0.0, 3.0)
}

#[test]
fn a_note_is_dragged_to_another_key_and_kept() {
    let mut bench = second_of(FOUR_BARS);
    // A3 to A flat.
    let (from, to) = (key(&bench, 57), key(&bench, 56));
    bench.press(from, true);
    for step in 1..=10_u8 {
        let at = from + (to - from) * (f32::from(step) / 10.0);
        bench.harness.event(Event::PointerMoved(at));
        bench.frame();
    }
    let flat_nine = [53, 56, 59, 64];
    assert_eq!(asked(&mut bench), [flat_nine], "it sounds as it arrives");
    assert!(says(&mut bench, "tried, and not yet in the chart"));
    bench.press(to, false);
    assert!(says(&mut bench, "♭9"));
    assert_eq!(bench.plays()[1].as_deref(), Some(&G13[..]), "not yet");
    bench.click("Keep: your notes");
    bench.settle();
    assert_eq!(bench.plays()[1].as_deref(), Some(&flat_nine[..]));
    let text = bench.params().chart.latest().text.to_string();
    assert_eq!(text, FOUR_BARS, "the symbol stays");
    bench.click("Undo");
    bench.settle();
    assert_eq!(bench.plays()[1].as_deref(), Some(&G13[..]));
}

#[test]
fn a_note_that_is_dragged_past_another_leaves_it_alone() {
    let mut bench = second_of(FOUR_BARS);
    // F3 to C4, past A3 and B3.
    let (from, to) = (key(&bench, 53), key(&bench, 60));
    bench.drag(from, to);
    assert_eq!(asked(&mut bench), [[57, 59, 60, 64]]);
    // And off the keys.
    bench.drag(key(&bench, 60), key(&bench, 60) + vec2(0.0, 60.0));
    assert_eq!(asked(&mut bench), [[57, 59, 64]]);
    assert!(says(&mut bench, "the guide tone ♭7 is missing"));
    bench.click("Drop: your notes");
    bench.click("Hear the chord in hand");
    assert_eq!(asked(&mut bench), [G13]);
}

#[test]
fn a_click_adds_a_note_and_takes_it_away() {
    let mut bench = second_of(FOUR_BARS);
    for (at, sounds) in [
        (62, vec![53, 57, 59, 62, 64]),
        (57, vec![53, 59, 62, 64]),
        (62, vec![53, 59, 64]),
    ] {
        bench.click_at(key(&bench, at));
        assert_eq!(asked(&mut bench), [sounds]);
    }
    // Nine notes are too many, and one is kept.
    for at in [55, 57, 60, 62, 65] {
        bench.click_at(key(&bench, at));
    }
    asked(&mut bench);
    bench.click_at(key(&bench, 67));
    assert_eq!(asked(&mut bench), Vec::<Vec<u8>>::new());
    assert!(says(&mut bench, "9 notes: a voicing holds at most 8"));
    // Other voicings are looked at meanwhile.
    bench.click("Ways: other voicings");
    bench.click("Hear the chord in hand");
    assert_eq!(asked(&mut bench)[0].len(), 8);
    bench.click_at(key(&bench, 65));
    assert!(!says(&mut bench, "9 notes: a voicing holds at most 8"));
}

#[test]
fn notes_are_laid_with_the_keys_alone() {
    let mut bench = second_of(FOUR_BARS);
    notes(&bench).focus();
    bench.settle();
    assert_eq!(notes(&bench).value().as_deref(), Some("F3, ♭7: 1 of 4"));
    for (press, value, sounds) in [
        (Key::ArrowUp, "A3, 9: 2 of 4", vec![]),
        (Key::ArrowLeft, "A♭3, ♭9: 2 of 4", vec![53, 56, 59, 64]),
        (Key::ArrowRight, "A3, 9: 2 of 4", G13.to_vec()),
        // Past the B.
        (Key::ArrowRight, "A♯3, ♯9: 2 of 4", vec![53, 58, 59, 64]),
        (Key::ArrowRight, "C4, 11: 3 of 4", vec![53, 59, 60, 64]),
        (Key::PageDown, "C3, 11: 1 of 4", vec![48, 53, 59, 64]),
        (Key::Delete, "F3, ♭7: 1 of 3", vec![53, 59, 64]),
        (Key::Insert, "F♯3, 7: 2 of 4", vec![53, 54, 59, 64]),
        (Key::PageUp, "F♯4, 7: 4 of 4", vec![53, 59, 64, 66]),
        (Key::ArrowDown, "E4, 13: 3 of 4", vec![]),
    ] {
        bench.key(press);
        assert_eq!(notes(&bench).value().as_deref(), Some(value), "{press:?}");
        let heard = asked(&mut bench);
        assert_eq!(
            heard.first().cloned().unwrap_or_default(),
            sounds,
            "{press:?}"
        );
    }
    bench.key(Key::Space);
    assert_eq!(asked(&mut bench), [[53, 59, 64, 66]], "it is heard again");
    assert!(notes(&bench).is_focused());
}

/// Elsewhere the keys are only looked at, and the split is taken hold of on them.
#[test]
fn notes_are_laid_on_the_page_of_the_chord_only() {
    let mut bench = second_of(FOUR_BARS);
    let (at, split) = (key(&bench, 57), bench.params().split.value());
    let beside = keys(&bench).key(60).left_bottom() + vec2(3.0, -3.0);
    bench.drag(beside, beside + vec2(40.0, 0.0));
    assert_eq!(bench.params().split.value(), split);
    bench.show(Snapshot {
        playing: true,
        ..sounding("| Ebmaj7 | Ab7 |", &Taste::default())[0]
    });
    bench.settle();
    assert!(
        bench.harness.query_by_label(NOTES).is_none(),
        "the song plays"
    );
    bench.show(Snapshot::default());
    bench.click("The chart's page");
    bench.settle();
    assert!(bench.harness.query_by_label(NOTES).is_none());
    bench.click_at(at);
    assert_eq!(asked(&mut bench), Vec::<Vec<u8>>::new());
    bench.drag(beside, beside + vec2(40.0, 0.0));
    assert_ne!(bench.params().split.value(), split);
    assert_eq!(bench.harness.state().session.model.pages.open, Page::Chart);
}

/// A repeat in hand whose G7 is pinned the second time.
fn pinned_the_second_time() -> Bench {
    let mut bench = second_of(REPEATED);
    let chart = &bench.params().chart;
    let document = chart.latest().document();
    let at = ChordAt {
        index: 1,
        symbol: "G7".to_owned(),
    };
    let notes = PinNotes::new(PINNED.map(|key| MidiNote::new(key).unwrap())).unwrap();
    let picks = document.picks.pin(at, SECOND, notes);
    chart.set_text(document.with(picks));
    bench.settle();
    bench
}

fn is_there(bench: &Bench, name: &str) -> bool {
    bench.harness.query_all_by_label(name).next().is_some()
}

#[test]
fn what_is_kept_is_for_this_time_or_every_time_where_they_differ() {
    let mut bench = pinned_the_second_time();
    let more = [53, 57, 59, 62, 64];
    bench.click_at(key(&bench, 62));
    bench.settle();
    bench.click("Keep 1st time only: your notes");
    bench.settle();
    let plays = bench.plays();
    assert_eq!(plays[1].as_deref(), Some(&more[..]));
    assert_eq!(plays[4].as_deref(), Some(&PINNED[..]));
    asked(&mut bench);
    bench.click("In hand: 1st time of 2");
    assert_eq!(asked(&mut bench), [PINNED], "the second time is in hand");
    assert!(is_there(&bench, "In hand: 2nd time of 2"));
    bench.click("Unpin the voicing, 2nd time only");
    bench.settle();
    let plays = bench.plays();
    assert_eq!(plays[1].as_deref(), Some(&more[..]));
    assert_ne!(plays[4].as_deref(), Some(&PINNED[..]));
    bench.click("Undo");
    bench.settle();
    // Every time there are the same notes, and nothing is left to ask.
    bench.click_at(key(&bench, 67));
    let laid = asked(&mut bench).remove(0);
    bench.settle();
    bench.click("Keep every time: your notes");
    bench.settle();
    let plays = bench.plays();
    assert_eq!([&plays[1], &plays[4]], [&Some(laid.clone()), &Some(laid)]);
    assert!(!is_there(&bench, "In hand: 2nd time of 2"));
    assert!(is_there(&bench, "Unpin the voicing"));
    bench.click("Undo");
    bench.settle();
    bench.click("Unpin the voicing every time");
    bench.settle();
    let plays = bench.plays();
    assert_ne!(plays[1].as_deref(), Some(&more[..]));
    assert_ne!(plays[4].as_deref(), Some(&PINNED[..]));
}

/// A symbol is written for every time, so a dressing for one time is a pin.
#[test]
fn a_dressing_for_one_time_only_is_a_pin() {
    let mut bench = pinned_the_second_time();
    let line = "9 then ♭9, G13 G7(♭9,13): one finger, A to A♭";
    bench.control(line).focus();
    bench.key(Key::Space);
    let once = bench.control("Keep 1st time only: 9 then ♭9");
    assert!(once.accesskit_node().is_disabled(), "a line is two symbols");
    bench
        .control("♭9 13, G7(♭9,13): one finger, A to A♭")
        .focus();
    bench.key(Key::Space);
    bench.click("Keep 1st time only: ♭9 13");
    bench.settle();
    assert_eq!(&*bench.params().chart.latest().text, REPEATED);
    let plays = bench.plays();
    assert_eq!(plays[1].as_deref(), Some(&[53, 56, 59, 64][..]));
    assert_eq!(plays[4].as_deref(), Some(&PINNED[..]));
}

#[test]
fn the_time_that_plays_is_in_hand_unless_something_is_tried() {
    let mut bench = pinned_the_second_time();
    let song = sounding(REPEATED, &Taste::default());
    bench.show(song[4]);
    bench.settle();
    assert!(is_there(&bench, "In hand: 2nd time of 2"));
    // It is still the one to look at when the song has gone on.
    bench.show(song[5]);
    bench.settle();
    assert!(is_there(&bench, "In hand: 2nd time of 2"));
    bench.click("Ways: other voicings");
    bench.settle();
    let rows = bench.harness.state().session.model.pages.ways.rows();
    let row = rows[0].spoken.clone();
    bench.control(&row).focus();
    bench.key(Key::Space);
    bench.show(song[1]);
    bench.settle();
    assert!(is_there(&bench, "In hand: 2nd time of 2"));
    assert!(bench.is_on(&row), "it is still tried");
    let drop = format!(
        "Drop: {}",
        bench.harness.state().session.model.pages.ways.rows()[0].name
    );
    bench.click(&drop);
    bench.settle();
    assert!(is_there(&bench, "In hand: 1st time of 2"));
    // Another chord starts with its first time.
    bench.show(song[4]);
    bench.settle();
    bench.show(Snapshot::default());
    for press in ["Previous chord", "Next chord"] {
        bench.click(press);
        bench.settle();
    }
    assert!(is_there(&bench, "In hand: 1st time of 2"));
}

#[test]
fn the_switches_are_saved() {
    let mut bench = at_rest();
    bench.settle();
    let panel = |bench: &Bench| bench.params().panel.get();
    bench.click("Chord in hand stays");
    bench.click("Chord in hand sounds");
    assert!(panel(&bench).stays && !panel(&bench).sounds);
    bench.load_panel(SavedPanel::default());
    bench.settle();
    assert!(!bench.is_on("Chord in hand stays") && bench.is_on("Chord in hand sounds"));
}

/// Presses Tab until the focus is there; returns how often.
fn tab_to(bench: &mut Bench, name: &str, modifiers: Modifiers) -> usize {
    for count in 0..40 {
        if focused(bench).as_deref() == Some(name) {
            return count;
        }
        bench.harness.key_press_modifiers(modifiers, Key::Tab);
        bench.settle();
    }
    panic!("Tab does not lead to {name}, but to {:?}", focused(bench));
}

/// The walk with the keys alone through the built plugin counts on these numbers of tabs.
#[test]
fn a_chord_is_dressed_and_another_pinned_with_the_keys_alone() {
    let mut bench = Bench::new();
    set(&bench.params().source, SourceParam::Chart);
    bench.settle();
    let (to, back) = (Modifiers::NONE, Modifiers::SHIFT);
    for (name, tabs, way, press) in [
        ("Chord on show: Dm9", 10, to, Key::ArrowRight),
        ("Chord in hand", 24, to, Key::Space),
        ("♭9 13, G7(♭9,13): one finger, A to A♭", 19, to, Key::Space),
        ("Keep: ♭9 13", 6, back, Key::Space),
        ("Next chord", 3, back, Key::Space),
        ("Ways: other voicings", 6, to, Key::Space),
        (
            "three notes, form A, third lowest: E3 B3 D4",
            3,
            to,
            Key::Space,
        ),
        (
            "Keep: three notes, form A, third lowest",
            6,
            back,
            Key::Space,
        ),
    ] {
        assert_eq!(tab_to(&mut bench, name, way), tabs, "{name}");
        bench.key(press);
        bench.settle();
    }
    assert_eq!(focused(&bench).as_deref(), Some("Hear the chord in hand"));
    let text = bench.params().chart.latest().text.to_string();
    assert!(text.starts_with("| Dm7 | G7(b9,13) | Cmaj7 |"), "{text}");
    let plays = bench.plays();
    let expected = [vec![53, 57, 60, 64], vec![53, 56, 59, 64], vec![52, 59, 62]];
    assert_eq!(plays[..3], expected.map(Some));
}

/// How many marks stand at the head of the keys: squares, dots and rings.
fn scale_marks(bench: &mut Bench) -> [usize; 3] {
    bench.settle();
    let strip = bench
        .harness
        .get_by_role_and_label(Role::Slider, "Split")
        .rect();
    let head = strip.top() + 22.0..strip.top() + 36.0;
    let is_mark = |at: Pos2, size: f32| head.contains(&at.y) && size < 8.0;
    let mut counts = [0; 3];
    for clipped in &bench.harness.output().shapes {
        match &clipped.shape {
            Shape::Rect(one) if is_mark(one.rect.center(), one.rect.width()) => counts[0] += 1,
            Shape::Circle(one) if is_mark(one.center, one.radius) => {
                counts[if one.fill == Color32::TRANSPARENT {
                    2
                } else {
                    1
                }] += 1;
            }
            _ => {}
        }
    }
    counts
}

#[test]
fn the_scale_is_shown_on_the_keys() {
    let mut bench = at_rest();
    bench.click("The chart's page");
    assert_eq!(scale_marks(&mut bench), [0, 0, 0]);
    bench.click("Scale on the keys");
    let keys = keys_in_view(&bench);
    let count = |classes: &[u8]| {
        keys.clone()
            .filter(|key| classes.contains(&(key % 12)))
            .count()
    };
    let dorian = scale_marks(&mut bench);
    let white = count(&[0, 2, 4, 5, 7, 9, 11]);
    assert_eq!(
        (dorian[0], dorian.iter().sum()),
        (count(&[2]), white),
        "{dorian:?}"
    );
    bench.click("Chord in hand");
    bench.settle();
    bench.click("Next chord");
    bench.click("The chart's page");
    // The fourth of a dominant is passed over.
    let mixolydian = [count(&[7]), count(&[2, 4, 5, 9, 11]), count(&[0])];
    assert_eq!(scale_marks(&mut bench), mixolydian);
    bench.click("Scale: G Lydian dominant");
    let lydian = [count(&[7]), count(&[1, 2, 4, 5, 9, 11]), 0];
    assert_eq!(scale_marks(&mut bench), lydian);
    assert!(bench.params().panel.get().scale_on_keys);
}
