//! The chord in hand: what is on show at rest, and while the song plays.

use crate::editor::bench::{Bench, Seen, set, sounding};
use crate::engine::snapshot::Snapshot;
use crate::engine::trial::Step;
use crate::params::SourceParam;
use egui::{Key, Modifiers, vec2};
use egui_kittest::kittest::{NodeT, Queryable};
use guidehand_theory::pipeline::Taste;

const TEXT: &str = "| Dm7 | G7 | N.C. | Cmaj7 |";

/// A panel with a chart and the page of the chord in hand, at rest.
pub fn at_rest() -> Bench {
    let mut bench = Bench::new();
    set(&bench.params().source, SourceParam::Chart);
    bench.params().chart.set_text(TEXT);
    bench.settle();
    bench.click("Chord in hand");
    bench
}

pub fn says(bench: &mut Bench, words: &str) -> bool {
    bench.settle().iter().any(|seen| seen.words == words)
}

/// The chord that the page tells, which must be the one on show.
fn in_hand(bench: &mut Bench, chord: &str, function: &str) -> bool {
    let label = format!("In hand: {chord}");
    bench.settle();
    bench.harness.query_by_label(&label).is_some() && says(bench, function)
}

/// Puts the cursor on a word of the chart: a click on the first chord, and the arrow key.
fn click_on(bench: &mut Bench, word: &str) {
    let seen = bench.settle();
    let text = seen.iter().find(|seen| seen.words == TEXT).unwrap();
    bench.click_at(text.rect.left_top() + vec2(12.0, 14.0));
    for _ in 0..TEXT.len() {
        bench.harness.key_press(Key::ArrowLeft);
    }
    for _ in 0..TEXT.find(word).unwrap() {
        bench.harness.key_press(Key::ArrowRight);
    }
    bench.settle();
}

/// The song plays the first chord of another chart, so that it cannot be mistaken.
fn playing() -> Snapshot {
    Snapshot {
        playing: true,
        ..sounding("| Ebmaj7 | Ab7 |", &Taste::default())[0]
    }
}

#[test]
fn at_rest_the_chord_at_the_cursor_is_on_show() {
    let mut bench = at_rest();
    assert!(in_hand(&mut bench, "Dm7", "ii in C major"));
    click_on(&mut bench, "G7");
    assert!(in_hand(&mut bench, "G7", "V in C major"));
    assert!(says(&mut bench, "next"));
    // Of a silence the chord after it.
    click_on(&mut bench, "N.C.");
    assert!(in_hand(&mut bench, "Cmaj7", "I in C major"));
}

#[test]
fn the_neighbours_are_one_press_away() {
    let mut bench = at_rest();
    for (press, chord, function) in [
        ("Next chord", "G7", "V in C major"),
        ("Next chord", "Cmaj7", "I in C major"),
        ("Next chord", "Cmaj7", "I in C major"),
        ("Previous chord", "G7", "V in C major"),
        ("Previous chord", "Dm7", "ii in C major"),
        ("Previous chord", "Dm7", "ii in C major"),
    ] {
        bench.click(press);
        assert!(in_hand(&mut bench, chord, function), "{press}: {chord}");
    }
    bench.control("Next chord").focus();
    bench.key(Key::Space);
    assert!(in_hand(&mut bench, "G7", "V in C major"));
}

#[test]
fn the_arrow_keys_of_the_text_take_chords() {
    let mut bench = at_rest();
    click_on(&mut bench, "Dm7");
    for _ in 0.."Dm7 | ".len() {
        bench.key(Key::ArrowRight);
    }
    assert!(in_hand(&mut bench, "G7", "V in C major"));
}

#[test]
fn a_song_is_followed_unless_the_chord_stays() {
    let mut bench = at_rest();
    click_on(&mut bench, "G7");
    bench.show(playing());
    assert!(says(&mut bench, "I in Eb major") || says(&mut bench, "I in E♭ major"));
    assert!(!says(&mut bench, "V in C major"));
    bench.click("Chord in hand stays");
    assert!(says(&mut bench, "V in C major"));
    bench.click("Chord in hand stays");
    assert!(!says(&mut bench, "V in C major"));
    // The song stops: the chord at the cursor comes back.
    bench.show(Snapshot {
        playing: false,
        sounding: None,
        ..playing()
    });
    assert!(says(&mut bench, "V in C major"));
}

#[test]
fn what_was_played_by_hand_stays_until_a_chord_is_taken() {
    let mut bench = at_rest();
    set(&bench.params().source, SourceParam::Roots);
    bench.show(Snapshot::default());
    assert!(says(&mut bench, "ii in C major"), "nothing has sounded");
    let last = Snapshot {
        sounding: None,
        playing: false,
        ..playing()
    };
    bench.show(playing());
    bench.settle();
    bench.show(last);
    assert!(!says(&mut bench, "ii in C major"));
    click_on(&mut bench, "G7");
    assert!(says(&mut bench, "V in C major"));
    bench.show(playing());
    assert!(!says(&mut bench, "V in C major"), "something sounds");
    bench.show(last);
    assert!(!says(&mut bench, "V in C major"), "it has been let go");
}

#[test]
fn a_panel_without_chords_says_so() {
    let mut bench = at_rest();
    bench.params().chart.set_text("");
    assert!(says(
        &mut bench,
        "Write a chord into the chart, and take it in hand here."
    ));
}

/// The keys of each step that the engine was asked to sound; empty where it was asked nothing.
pub fn asked(bench: &mut Bench) -> Vec<Vec<u8>> {
    let audio = &mut bench.harness.state_mut().audio;
    let request = audio.audition.take().and_then(|ask| ask.request);
    let keys = |step: &Step| {
        (0..128)
            .filter(|key| step.keys() & (1 << key) != 0)
            .collect()
    };
    request.map_or_else(Vec::new, |request| {
        request.steps().iter().map(keys).collect()
    })
}

const DM9: [u8; 4] = [53, 57, 60, 64];
pub const G13: [u8; 4] = [53, 57, 59, 64];
const G13_FLAT_9: [u8; 4] = [53, 56, 59, 64];
const CMAJ9: [u8; 4] = [52, 55, 59, 62];

#[test]
fn a_chord_sounds_when_it_is_taken() {
    let mut bench = at_rest();
    assert_eq!(asked(&mut bench), Vec::<Vec<u8>>::new());
    bench.click("Next chord");
    assert_eq!(asked(&mut bench), [G13]);
    bench.click("Hear the chord in hand");
    assert_eq!(asked(&mut bench), [G13]);
    bench.click("Hear it in context");
    assert_eq!(asked(&mut bench), [DM9, G13]);
    // A click sounds the chord there, and once more if it is in hand already.
    let seen = bench.settle();
    let text = seen.iter().find(|seen| seen.words == TEXT).unwrap();
    let first = text.rect.left_top() + vec2(12.0, 14.0);
    for _ in 0..2 {
        bench.click_at(first);
        assert_eq!(asked(&mut bench), [DM9]);
    }
    // Within its symbol the cursor takes nothing new.
    bench.key(Key::ArrowRight);
    assert_eq!(asked(&mut bench), Vec::<Vec<u8>>::new());
    // Typing takes nothing.
    bench.type_text(" ");
    assert_eq!(asked(&mut bench), Vec::<Vec<u8>>::new());
    bench.click("Chord in hand sounds");
    bench.click("Next chord");
    assert_eq!(
        asked(&mut bench),
        Vec::<Vec<u8>>::new(),
        "it is switched off"
    );
}

#[test]
fn a_dressing_is_tried_and_kept_and_taken_back() {
    let mut bench = at_rest();
    bench.params().chart.set_text("| Dm7 | G7 | Cmaj7 | % |");
    bench.settle();
    bench.click("Next chord");
    bench.settle();
    let row = "♭9 13, G7(♭9,13): one finger, A to A♭";
    bench.click(row);
    assert!(bench.is_on(row));
    assert_eq!(asked(&mut bench), [DM9, G13_FLAT_9, CMAJ9]);
    let seen = bench.settle();
    let scale = |seen: &Seen| seen.words.starts_with("G half-whole diminished; ");
    assert!(seen.iter().any(scale), "{seen:?}");
    assert!(says(&mut bench, "tried, and not yet in the chart"));
    bench.click("Hear the chord in hand");
    assert_eq!(asked(&mut bench), [G13_FLAT_9]);
    bench.click("Drop: ♭9 13");
    bench.click("Hear the chord in hand");
    assert_eq!(asked(&mut bench), [G13]);
    bench.click(row);
    bench.click("Keep: ♭9 13");
    bench.settle();
    let text = |bench: &Bench| bench.params().chart.latest().text.to_string();
    assert_eq!(text(&bench), "| Dm7 | G7(b9,13) | Cmaj7 | % |");
    assert!(in_hand(&mut bench, "G7(♭9,13)", "V in C major"));
    let plays = bench.plays();
    assert_eq!(plays[1].as_deref(), Some(&G13_FLAT_9[..]));
    bench.click("Undo");
    bench.settle();
    assert_eq!(text(&bench), "| Dm7 | G7 | Cmaj7 | % |");
}

#[test]
fn an_inner_line_is_kept_as_two_symbols() {
    let mut bench = at_rest();
    bench.params().chart.set_text("| Dm7 | G7 | Cmaj7 | % |");
    bench.settle();
    bench.click("Next chord");
    bench.settle();
    let name = "9 then ♭9, G13 G7(♭9,13): one finger, A to A♭";
    bench.control(name).focus();
    bench.key(Key::Space);
    assert_eq!(asked(&mut bench), vec![DM9, G13, G13_FLAT_9, CMAJ9]);
    bench.click("Keep: 9 then ♭9");
    bench.settle();
    let text = bench.params().chart.latest().text.to_string();
    assert_eq!(text, "| Dm7 | G13 G7(b9,13) | Cmaj7 | % |");
}

#[test]
fn another_voicing_is_tried_and_pinned_and_let_go() {
    let mut bench = at_rest();
    bench.params().chart.set_text("| Dm7 | G7 | Cmaj7 | % |");
    bench.settle();
    bench.click("Next chord");
    bench.click("Ways: other voicings");
    let other = "four notes, form B, third lowest: B3 E4 F4 A4";
    bench.control(other).focus();
    bench.key(Key::Space);
    let form_b = [59, 64, 65, 69];
    assert_eq!(
        asked(&mut bench),
        vec![DM9.to_vec(), form_b.to_vec(), CMAJ9.to_vec()]
    );
    assert!(
        says(&mut bench, "form B, third lowest:  B3  E4  F4  A4"),
        "it is shown"
    );
    bench.click("Keep: four notes, form B, third lowest");
    bench.settle();
    let text = bench.params().chart.latest().text.to_string();
    assert_eq!(text, "| Dm7 | G7 | Cmaj7 | % |");
    assert_eq!(bench.plays()[1].as_deref(), Some(&form_b[..]));
    // The plan leads to it and away from it.
    assert_ne!(bench.plays()[0].as_deref(), Some(&DM9[..]));
    bench.click("Unpin the voicing");
    bench.settle();
    assert_eq!(bench.plays()[1].as_deref(), Some(&G13[..]));
    bench.click("Undo");
    bench.settle();
    assert_eq!(bench.plays()[1].as_deref(), Some(&form_b[..]));
}

/// The symbol G9 leaves the thirteenth open, so the voicing comes with it.
#[test]
fn what_a_symbol_leaves_open_is_pinned_with_it() {
    let mut bench = at_rest();
    bench.params().chart.set_text("| Dm7 | G7 | Cmaj7 | % |");
    bench.settle();
    bench.click("Next chord");
    bench.settle();
    bench.control("9 5, G9: one finger, E to D").focus();
    bench.key(Key::Space);
    bench.click("Keep: 9 5");
    bench.settle();
    let text = |bench: &Bench| bench.params().chart.latest().text.to_string();
    assert_eq!(text(&bench), "| Dm7 | G9 | Cmaj7 | % |");
    assert_eq!(bench.plays()[1].as_deref(), Some(&[53, 57, 59, 62][..]));
    bench.click("Undo");
    bench.settle();
    assert_eq!(text(&bench), "| Dm7 | G7 | Cmaj7 | % |");
    assert_eq!(bench.plays()[1].as_deref(), Some(&G13[..]));
}

#[test]
fn the_scale_of_the_chord_in_hand_is_heard() {
    let mut bench = at_rest();
    bench.click("Hear the scale from the root");
    let heard = asked(&mut bench);
    let up = [74, 76, 77, 79, 81, 83, 84, 86].map(|key| vec![key]);
    assert_eq!(heard[..8], up, "D Dorian, above the hand");
    assert_eq!(heard.len(), 15);
    bench.click("Hear the scale from the third");
    let first = asked(&mut bench)[0].clone();
    assert_eq!(first, [65]);
}

#[test]
fn keys_that_are_held_are_taken_and_pinned_and_told() {
    let mut bench = at_rest();
    bench.click("Next chord");
    // G, B and E: the root, and no seventh.
    let held = [55_u8, 59, 64];
    bench.show(Snapshot {
        held: held.iter().map(|key| 1_u128 << key).sum(),
        ..Snapshot::default()
    });
    bench.settle();
    bench.click("Take the keys that are held");
    bench.click("Keep: your notes");
    bench.settle();
    assert_eq!(bench.plays()[1].as_deref(), Some(&held[..]));
    let seen = bench.settle();
    let told = |words: &str| seen.iter().any(|seen| seen.words.contains(words));
    assert!(
        told("the guide tone ♭7 is missing; the root sounds"),
        "{seen:?}"
    );
    assert!(told("◆"), "its mark stands in the chart");
    // The chord becomes one that the notes do not fit.
    click_on(&mut bench, "Dm7");
    bench
        .harness
        .key_press_modifiers(Modifiers::COMMAND, Key::A);
    bench.type_text("| Dm7 | Fm7 | N.C. | Cmaj7 |");
    assert!(says(
        &mut bench,
        "The pinned voicing of G7 is dropped: it does not fit Fm7."
    ));
}

#[test]
fn the_name_of_the_chord_is_a_control() {
    let mut bench = at_rest();
    bench.click("Chord on show: Dm9");
    assert_eq!(asked(&mut bench), [DM9]);
    bench.control("Chord on show: Dm9").focus();
    bench.settle();
    bench.key(Key::ArrowRight);
    assert_eq!(asked(&mut bench), [G13]);
    assert!(in_hand(&mut bench, "G7", "V in C major"));
    let name = "Chord on show: G13";
    assert!(bench.control(name).is_focused(), "the focus stays");
    bench.key(Key::Space);
    assert_eq!(asked(&mut bench), [G13]);
    bench.key(Key::ArrowLeft);
    assert!(in_hand(&mut bench, "Dm7", "ii in C major"));
    // While the song is followed there is nothing to press.
    bench.show(playing());
    bench.settle();
    assert!(
        bench
            .harness
            .query_by_label_contains("Chord on show")
            .is_none()
    );
}

/// The pin before does not come back over what was tried and kept.
#[test]
fn a_dressing_takes_the_place_of_a_pin() {
    let mut bench = at_rest();
    bench.params().chart.set_text("| Dm7 | G7 | Cmaj7 | % |");
    bench.settle();
    bench.click("Next chord");
    // F B D: nothing in it speaks against a flat ninth.
    bench.show(Snapshot {
        held: [53, 59, 62].iter().map(|key| 1_u128 << key).sum(),
        ..Snapshot::default()
    });
    bench.settle();
    bench.click("Take the keys that are held");
    bench.click("Keep: your notes");
    bench.settle();
    let row = |seen: &str| seen.starts_with("♭9 13, G7(♭9,13): ");
    let nodes = bench.harness.root().children_recursive();
    let names: Vec<String> = nodes
        .filter_map(|node| node.accesskit_node().label())
        .collect();
    let name = names.into_iter().find(|name| row(name)).unwrap();
    bench.control(&name).focus();
    bench.key(Key::Space);
    let tried = asked(&mut bench)[1].clone();
    assert!(tried.iter().any(|key| key % 12 == 8), "{tried:?}");
    bench.click("Keep: ♭9 13");
    bench.settle();
    assert_eq!(bench.plays()[1], Some(tried));
}
