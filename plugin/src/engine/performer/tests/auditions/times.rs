//! What is struck of what is tried by ear, and when.

use super::*;

#[test]
fn swung_eighths_come_at_two_thirds_of_the_beat() {
    let mut stage = resting();
    stage.settings.groove.swing = 2.0 / 3.0;
    let steps = line(&[72, 74, 76, 77, 79]);
    stage.ask(&Request::new(Pace::Swung, steps), RATE * 4);
    // 120 beats a minute at 48 kHz: a beat of 24,000 samples.
    let times = [0, 16_000, 24_000, 40_000, 48_000];
    let expected: Vec<_> = times.into_iter().zip([72, 74, 76, 77, 79]).collect();
    assert_eq!(starts(&stage.events), expected);
    let times = [16_000, 24_000, 40_000, 48_000, 64_000];
    let expected: Vec<_> = times.into_iter().zip([72, 74, 76, 77, 79]).collect();
    assert_eq!(ends(&stage.events), expected);
}

/// The swing of the rhythm, which is straight from 340 beats a minute on.
#[test]
fn swing_follows_the_tempo_as_the_rhythm_does() {
    for (bpm, off_beat) in [
        (140.0, 13_714),
        (280.0, 6_000),
        (340.0, 4_235),
        (400.0, 3_600),
    ] {
        let mut stage = resting();
        stage.settings.groove.swing = 2.0 / 3.0;
        stage.settings.groove.swing_follows = true;
        stage.bpm = Some(bpm);
        stage.ask(&Request::new(Pace::Swung, line(&[72, 74])), RATE * 4);
        assert_eq!(starts(&stage.events), [(0, 72), (off_beat, 74)], "{bpm}");
    }
}

#[test]
fn the_tempo_is_the_songs_or_our_own_or_none() {
    for (told, own, pace, eighth) in [
        (Some(60.0), 240.0, Pace::Even, 24_000),
        (Some(160.0), 240.0, Pace::Even, 9_000),
        (None, 240.0, Pace::Even, 6_000),
        (Some(60.0), 240.0, Pace::Free, 12_000),
        (None, 240.0, Pace::Free, 12_000),
        // A crawl, and more than a hand can play.
        (Some(1.0), 240.0, Pace::Even, 48_000),
        (Some(9_000.0), 240.0, Pace::Even, 3_600),
    ] {
        let mut stage = resting();
        stage.settings.groove.swing = 2.0 / 3.0;
        (stage.bpm, stage.settings.own_bpm) = (told, own);
        let steps = [chord(&[60, 64]).lasting(3), chord(&[59, 65]).lasting(1)];
        stage.ask(&Request::new(pace, steps), RATE * 8);
        let expected = [(0, 60), (0, 64), (3 * eighth, 59), (3 * eighth, 65)];
        assert_eq!(starts(&stage.events), expected, "{told:?} {pace:?}");
        let expected = [
            (3 * eighth, 60),
            (3 * eighth, 64),
            (4 * eighth, 59),
            (4 * eighth, 65),
        ];
        assert_eq!(ends(&stage.events), expected, "{told:?} {pace:?}");
    }
}

#[test]
fn a_tempo_that_changes_meanwhile_changes_nothing() {
    let request = Request::new(Pace::Even, line(&[72, 74]));
    let mut stage = resting();
    stage.ask(&request, 100);
    stage.bpm = Some(60.0);
    stage.wait(RATE);
    assert_eq!(starts(&stage.events), [(0, 72), (12_000, 74)]);
}

#[test]
fn a_chord_lies_beneath_and_a_note_of_both_is_struck_anew() {
    let mut stage = resting();
    stage.ask(&scale(), RATE * 4);
    let of = |wanted: u8| -> Vec<(u32, bool)> {
        let mut of = Vec::new();
        for (time, event) in &stage.events {
            match event {
                Output::NoteOn(key) if key.key == wanted => of.push((*time, true)),
                Output::NoteOff { key, .. } if *key == wanted => of.push((*time, false)),
                _ => {}
            }
        }
        of
    };
    // Even eighths of 12,000 samples; the last of seven ends after 84,000.
    assert_eq!(of(65), [(0, true), (84_000, false)]);
    let expected = [
        (0, true),
        (24_000, false),
        (24_000, true),
        (48_000, false),
        (48_000, true),
        (84_000, false),
    ];
    assert_eq!(of(76), expected);
    assert!(sounding(&stage.events).is_empty());
}

#[test]
fn a_note_that_begins_both_is_struck_once() {
    let request = Request::new(Pace::Free, line(&[64, 65])).over(chord(&[60, 64]).struck(40));
    let mut stage = resting();
    stage.ask(&request.over(chord(&[60, 64])), RATE);
    assert_eq!(starts(&stage.events), [(0, 64), (0, 60), (12_000, 65)]);
    assert_eq!(
        ends(&stage.events),
        [(24_000, 65), (24_000, 60), (24_000, 64)]
    );
}

#[test]
fn in_a_tied_step_only_one_voice_moves() {
    let steps = [
        chord(&[53, 57, 59, 64]).lasting(2),
        chord(&[53, 56, 59, 64]).lasting(2).tied(),
    ];
    let mut stage = resting();
    stage.ask(&Request::new(Pace::Free, steps), RATE * 2);
    let started: Vec<_> = starts(&stage.events).into_iter().skip(4).collect();
    assert_eq!(started, [(24_000, 56)]);
    assert_eq!(ends(&stage.events)[0], (24_000, 57));
    assert_eq!(ends(&stage.events).len(), 5);
}

#[test]
fn a_bass_sounds_on_its_channel_if_it_has_one() {
    let request = Request::new(Pace::Free, [chord(&[53, 57]).over(Some(note(38)))]);
    let mut stage = resting();
    stage.ask(&request, 64);
    assert_eq!(starts(&stage.events), [(0, 53), (0, 57)]);
    stage.stop(64);
    stage.settings.bass_channel = Some(3);
    let with_bass = stage.ask(&request, 64);
    let bass = with_bass.iter().find_map(|(_, e)| match e {
        Output::NoteOn(key) if key.key == 38 => Some(key.channel),
        _ => None,
    });
    assert_eq!(bass, Some(3));
    // The channel changes while it sounds.
    stage.settings.bass_channel = None;
    stage.stop(64);
    assert!(sounding(&stage.events).is_empty());
}

#[test]
fn nothing_is_struck_softer_or_harder_than_is_heard_well() {
    for (asked, struck) in [
        (0_u8, 40_u8),
        (39, 40),
        (40, 40),
        (80, 80),
        (105, 105),
        (127, 105),
    ] {
        let mut stage = resting();
        let steps = [chord(&[60]).struck(asked)];
        stage.ask(&Request::new(Pace::Free, steps), 64);
        let [(0, Output::NoteOn(key))] = stage.events[..] else {
            panic!("{:?}", stage.events);
        };
        assert_eq!(key.velocity, f32::from(struck) / 127.0);
    }
}

/// Hosts hand events over in blocks of no frames.
#[test]
fn in_a_block_of_no_frames_it_ends_but_does_not_begin() {
    let mut stage = resting();
    assert!(stage.ask(&scale(), 0).is_empty());
    assert_eq!(starts(&stage.wait(64)).len(), 5);
    assert_eq!(ends(&stage.stop(0)).len(), 5);
}

#[test]
fn a_rest_and_an_empty_request_are_silent() {
    let mut stage = resting();
    assert!(stage.ask(&Request::default(), 64).is_empty());
    let steps = [Step::default(), chord(&[60])];
    stage.ask(&Request::new(Pace::Free, steps), RATE);
    assert_eq!(starts(&stage.events), [(64 + 12_000, 60)]);
    assert!(sounding(&stage.events).is_empty());
}

#[test]
fn the_panel_is_told_what_is_tried_step_by_step() {
    let mut stage = resting();
    let beneath = chord(&[53, 57]);
    let request = Request::new(Pace::Free, line(&[72, 74])).over(beneath);
    stage.ask(&request, 64);
    let trying = stage.performer.snapshot().trying.unwrap();
    assert_eq!((trying.number, trying.step), (1, 0));
    assert_eq!((trying.keys, trying.beneath), (1 << 72, beneath.keys()));
    stage.wait(12_000);
    let trying = stage.performer.snapshot().trying.unwrap();
    assert_eq!((trying.step, trying.keys), (1, 1 << 74));
    stage.wait(12_000);
    assert_eq!(stage.performer.snapshot().trying, None);
}

#[test]
fn the_panel_is_not_told_while_nothing_changes() {
    let mut performer = performer();
    let scene = Scene {
        settings: Settings::plain(Source::Reading),
        frames: 64,
        ..roots()
    };
    let ask = Ask {
        number: 1,
        request: Some(Request::new(Pace::Free, [chord(&[60])])),
    };
    play(&mut performer, &scene, &[]);
    let mut shown = |audition| {
        let scene = Scene { audition, ..scene };
        play_and_show(&mut performer, &scene, &[]).1.is_some()
    };
    assert!(!shown(None));
    assert!(shown(Some(&ask)));
    assert!(!shown(None), "it sounds on");
}
