//! What is tried by ear beside what is played, and in blocks of any size.

use super::*;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// F3 A3 C4 E4 are the notes of Dm7 in the chart.
#[test]
fn keys_that_comping_holds_are_not_struck_anew_and_end_with_the_last_holder() {
    let song = song("| Dm7 | G7 |");
    let mut stage = Stage::new(Source::Chart);
    stage.song = Some(&song);
    stage.play();
    stage.wait(1_000);
    let request = Request::new(Pace::Free, [chord(&[53, 57, 62, 64]).lasting(10)]);
    let events = stage.ask(&request.also_while_playing(true), 1_000);
    assert_eq!(starts(&events), [(0, 62)], "the others sound on");
    // G7 (F3 A3 B3 E4) after two seconds, and the end of what is tried at 121,000.
    stage.wait(140_000);
    let ons = starts(&stage.events);
    let of = |wanted: u8, all: &[(u32, u8)]| -> Vec<u32> {
        all.iter()
            .filter(|(_, key)| *key == wanted)
            .map(|(time, _)| *time)
            .collect()
    };
    assert_eq!(
        of(53, &ons),
        [0, 96_000],
        "the chart strikes its chord as ever"
    );
    let offs = ends(&stage.events);
    assert_eq!(of(53, &offs), [96_000], "to be struck anew");
    assert_eq!(of(60, &offs), [96_000]);
    assert_eq!(of(62, &offs), [121_000]);
    sounding(&stage.events);
    stage.stand_still();
    stage.wait(64);
    assert!(sounding(&stage.events).is_empty());
}

#[test]
fn what_is_struck_while_it_is_tried_sounds_as_if_it_were_not() {
    let song = song("| Dm7 G7 | Cmaj7 A7 |");
    let played = |also: Option<&Request>| {
        let mut stage = Stage::new(Source::Chart);
        stage.song = Some(&song);
        stage.play();
        match also {
            Some(request) => stage.ask(request, 100),
            None => stage.wait(100),
        };
        stage.wait(RATE * 8);
        stage.events
    };
    let alone = starts(&played(None));
    // It holds all keys of the chart, from before the first change to after the last.
    let held = [chord(&[52, 53, 55, 56, 57, 59]).lasting(60)];
    let request = Request::new(Pace::Free, held).also_while_playing(true);
    let both = played(Some(&request));
    sounding(&both);
    let both = starts(&both);
    assert!(alone.iter().all(|start| both.contains(start)), "{both:?}");
    assert!(alone.len() < both.len());
}

#[test]
fn a_key_of_the_player_and_of_what_is_tried_ends_when_both_let_go() {
    let request = Request::new(Pace::Free, [chord(&[60, 64]).lasting(4)]);
    // The player holds it first; it is not cut.
    let mut stage = resting();
    stage.block(100, None, &[on(0, 60)]);
    let events = stage.ask(&request, 100);
    assert_eq!(events.len(), 1, "{events:?}");
    stage.wait(RATE * 2);
    assert_eq!(ends(&stage.events), [(48_100, 64)]);
    let lifted = stage.block(100, None, &[off(5, 60)]);
    assert_eq!(lifted, [(5, Output::Through(1_060))]);
    assert!(sounding(&stage.events).is_empty());
    // The player strikes it meanwhile: it is heard anew.
    let mut stage = resting();
    stage.ask(&request, 100);
    let struck = stage.block(100, None, &[on(7, 60), off(9, 60)]);
    let off = Output::NoteOff {
        channel: 0,
        key: 60,
    };
    assert_eq!(struck, [(7, off), (7, Output::Through(60))]);
    stage.wait(RATE * 2);
    assert_eq!(ends(&stage.events)[1..], [(48_000, 60), (48_000, 64)]);
    assert!(sounding(&stage.events).is_empty());
}

#[test]
fn a_full_queue_takes_its_notes_later_and_its_note_offs_never_too_late() {
    let request = Request::new(
        Pace::Free,
        [chord(&[60, 64, 67]).lasting(2), chord(&[59, 65])],
    );
    let mut stage = resting();
    stage.room = Some(1);
    assert_eq!(starts(&stage.ask(&request, 100)), [(0, 60)]);
    assert_eq!(starts(&stage.wait(100)), [(0, 64)]);
    stage.room = Some(0);
    stage.wait(30_000);
    assert_eq!(sounding(&stage.events), [(0, 60), (0, 64)]);
    stage.room = None;
    stage.wait(100);
    assert_eq!(sounding(&stage.events), [(0, 59), (0, 65)]);
    stage.room = Some(0);
    stage.stop(100);
    stage.room = None;
    stage.wait(100);
    assert!(sounding(&stage.events).is_empty());
}

#[test]
fn a_full_queue_leaves_a_note_that_was_to_be_struck_anew() {
    let request = Request::new(Pace::Free, line(&[72, 60])).over(chord(&[60]));
    let mut stage = resting();
    stage.ask(&request, 11_900);
    stage.room = Some(1);
    // There is room for the end of the first note alone.
    let events = stage.wait(200);
    assert_eq!(ends(&events), [(100, 72)]);
    assert_eq!(sounding(&stage.events), [(0, 60)]);
    stage.room = None;
    stage.wait(RATE);
    assert!(sounding(&stage.events).is_empty());
}

/// A moment of a session: what happens, how long it takes, and in which blocks.
fn moment() -> impl Strategy<Value = (u8, Vec<u32>)> {
    (0..8_u8, prop::collection::vec(1..30_000_u32, 1..4))
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 64,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(1),
        ..ProptestConfig::default()
    })]

    /// Whatever is asked while comping plays and at rest: a block of any size gives the same notes,
    /// and each note-on has its note-off.
    #[test]
    fn blocks_of_any_size_give_the_same_notes(
        moments in prop::collection::vec(moment(), 1..8),
        swing in 0.5..0.75_f64,
        bpm in 40.0..300.0_f64,
    ) {
        let song = song("| Dm7 G7 | Cmaj7 A7 |");
        let session = |whole: bool| {
            let mut stage = Stage::new(Source::Chart);
            stage.song = Some(&song);
            stage.settings.groove.swing = swing;
            stage.settings.bass_channel = Some(2);
            stage.bpm = Some(bpm);
            for (what, blocks) in &moments {
                let request = match what {
                    0 => Some(Some(scale().also_while_playing(true))),
                    1 => Some(Some(scale())),
                    2 => {
                        let steps = [chord(&[53, 57, 60, 64]).over(Some(note(38))).lasting(4)];
                        let request = Request::new(Pace::Even, steps);
                        Some(Some(request.also_while_playing(true)))
                    }
                    3 => Some(None),
                    4 => {
                        stage.play();
                        None
                    }
                    5 => {
                        stage.stand_still();
                        None
                    }
                    6 => {
                        stage.performer.reset();
                        None
                    }
                    _ => {
                        stage.settings.bypass = !stage.settings.bypass;
                        None
                    }
                };
                let mut ask = request.as_ref().map(|request| request.as_ref());
                let all = [blocks.iter().sum::<u32>()];
                for frames in if whole { &all[..] } else { blocks } {
                    stage.block(*frames, ask.take(), &[]);
                }
            }
            stage.settings.bypass = false;
            stage.stand_still();
            stage.stop(64);
            stage.events
        };
        let (whole, parts) = (session(true), session(false));
        prop_assert!(sounding(&whole).is_empty(), "{whole:?}");
        prop_assert_eq!(whole, parts);
    }
}
