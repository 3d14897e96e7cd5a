//! Practice with the built plugin: whole sessions with a player who makes mistakes on purpose. The record
//! in the saved state afterwards is what the player knows.

use crate::plugin::{BLOCKS, play, set, untouched};
use guidehand_practice::{AskedPosition, Exercise, KeyOrder, Pace, Progression, Record, Tempo};
use guidehand_tests::practice::{
    Plan, Practised, in_free_time, in_time, recorded, told, with_exercise,
};
use guidehand_tests::{BlockSizes, Event, Host, Performance, TimedEvent, hanging};
use guidehand_theory::judge::Accepts;
use guidehand_theory::own_shape::ShapeFamily;

/// A fresh instance that practises.
fn practising(exercise: &Exercise, tone: &str) -> Host {
    let mut host = untouched();
    set(&mut host, "Audition tone", tone);
    set(&mut host, "Chords from", "Practice");
    let state = host.save_state().unwrap();
    host.load_state(&with_exercise(&state, exercise)).unwrap();
    host
}

/// Every family in every key, in one of the positions, note for note.
fn every_family(position: AskedPosition) -> Exercise {
    Exercise {
        families: ShapeFamily::ALL.to_vec(),
        order: KeyOrder::Shuffled,
        accepts: Accepts::Exact,
        position,
        more_after_s: None,
        ..Exercise::default()
    }
}

fn timed(bpm: f64, beats_ahead: u8) -> Pace {
    Pace::InTime {
        tempo: Tempo::Own {
            bpm,
            faster_by: 0.0,
        },
        beats_ahead,
        count_in_bars: 1,
    }
}

/// Plays a session, and returns what was recorded of it.
fn practise(
    exercise: &Exercise,
    practised: &Practised,
    blocks: BlockSizes,
) -> (Record, Performance) {
    let mut host = practising(exercise, "Off");
    let mut session = practised.session.clone();
    session.blocks = blocks;
    session.keeps_audio = false;
    let performance = play(&mut host, &session);
    (recorded(&host.save_state().unwrap()), performance)
}

fn assert_recorded(found: &Record, practised: &Practised, what: &str) {
    let (found, expected) = (told(found), told(&practised.record));
    for (found, expected) in found.iter().zip(&expected) {
        assert_eq!(found, expected, "{what}");
    }
    assert_eq!(found.len(), expected.len(), "{what}");
}

/// Everything that a player plays passes, and nothing else goes out.
fn assert_passes(performance: &Performance, practised: &Practised) {
    let sort = |events: &[TimedEvent]| {
        let mut events: Vec<String> = events.iter().map(|event| format!("{event:?}")).collect();
        events.sort_unstable();
        events
    };
    assert_eq!(sort(&performance.events), sort(&practised.session.events));
}

#[test]
fn a_session_in_free_time_is_recorded_as_it_was_played() {
    let mut plans = Vec::new();
    for position in [AskedPosition::Third, AskedPosition::Seventh] {
        let exercise = every_family(position);
        let practised = in_free_time(&exercise, 600, 0.3, 7);
        let (record, performance) = practise(&exercise, &practised, BlockSizes::Fixed(512));
        assert_recorded(&record, &practised, &format!("{position:?}"));
        assert_passes(&performance, &practised);
        plans.extend(practised.plans);
    }
    for plan in Plan::FREE {
        assert!(plans.contains(&plan), "{plan:?} was never planned");
    }
}

#[test]
fn a_list_that_is_mastered_comes_to_its_end() {
    let exercise = Exercise {
        families: vec![ShapeFamily::MinorSeventh, ShapeFamily::Dominant],
        more_after_s: None,
        ..Exercise::default()
    };
    let practised = in_free_time(&exercise, usize::MAX, 0.0, 3);
    let (record, _) = practise(&exercise, &practised, BlockSizes::Fixed(1024));
    assert_eq!(record.total().asked, 48, "twice each chord in each key");
    assert_recorded(&record, &practised, "mastered");
}

#[test]
fn progressions_are_practised_chord_by_chord() {
    for accepts in [Accepts::SameTensions, Accepts::AnyGood] {
        let exercise = Exercise {
            progression: Progression::TwoFiveOneMajor,
            accepts,
            leading: true,
            more_after_s: None,
            ..Exercise::default()
        };
        let practised = in_free_time(&exercise, 90, 0.3, 11);
        let (record, _) = practise(&exercise, &practised, BlockSizes::Fixed(512));
        assert_recorded(&record, &practised, &format!("{accepts:?}"));
        assert!(!record.slowest_moves(10).is_empty());
    }
}

#[test]
fn a_session_in_time_is_recorded_as_it_was_played() {
    let mut plans = Vec::new();
    for (bpm, ahead, progression) in [
        (120.0, 2, Progression::Single),
        (96.0, 6, Progression::Single),
        (160.0, 3, Progression::TwoFiveOneMajor),
    ] {
        let exercise = Exercise {
            pace: timed(bpm, ahead),
            progression,
            ..every_family(AskedPosition::Third)
        };
        let practised = in_time(&exercise, 150, 0.4, 21);
        let (record, performance) = practise(&exercise, &practised, BlockSizes::Fixed(512));
        assert_recorded(
            &record,
            &practised,
            &format!("{bpm} {ahead} {progression:?}"),
        );
        assert_passes(&performance, &practised);
        plans.extend(practised.plans);
    }
    for plan in Plan::TIMED {
        assert!(plans.contains(&plan), "{plan:?} was never planned");
    }
}

#[test]
fn the_sizes_of_the_blocks_change_nothing_that_is_recorded() {
    let free = every_family(AskedPosition::Third);
    let timed = Exercise {
        pace: timed(120.0, 2),
        ..every_family(AskedPosition::Seventh)
    };
    let sessions = [
        (&free, in_free_time(&free, 6, 0.5, 5)),
        (&timed, in_time(&timed, 4, 0.5, 5)),
    ];
    for (exercise, practised) in sessions {
        for blocks in BLOCKS {
            let (record, _) = practise(exercise, &practised, blocks);
            assert_recorded(&record, &practised, &format!("{blocks:?}"));
        }
    }
}

#[test]
fn clicks_sound_on_the_audition_tone_alone() {
    let exercise = Exercise {
        pace: timed(120.0, 2),
        ..every_family(AskedPosition::Third)
    };
    for (tone, sounds) in [("On", true), ("Off", false)] {
        let mut host = practising(&exercise, tone);
        let mut session = guidehand_tests::Session::new(48_000.0, 120.0, 200_000);
        // The key that begins is let go of before the second click.
        session.note(1_000, 1_050, 40);
        let performance = play(&mut host, &session);
        let notes = performance.events.iter();
        let notes = notes.filter(|event| matches!(event.event, Event::NoteOn { .. }));
        assert_eq!(notes.count(), 1, "no click is a note");
        let peak = |from: usize, to: usize| {
            let left = performance.left[from..to].iter();
            left.fold(0.0_f32, |peak, sample| peak.max(sample.abs()))
        };
        // At 120 a beat is 24,000 samples; a click dies away within a tenth of a second.
        for beat in 2..8 {
            let at = 1_000 + beat * 24_000;
            assert_eq!(peak(at, at + 4_000) > 0.005, sounds, "beat {beat}");
            assert!(peak(at, at + 4_000) < 0.1, "soft");
            assert!(peak(at - 4_000, at) < 1.0e-6, "silent before beat {beat}");
        }
        let accent = peak(97_000, 101_000) > 1.2 * peak(73_000, 77_000);
        assert_eq!(accent, sounds, "the first beat of the bar is louder");
    }
}

#[test]
fn the_right_chord_that_sounds_after_an_answer_ends() {
    let exercise = Exercise {
        answer_sounds: true,
        ..every_family(AskedPosition::Third)
    };
    let practised = in_free_time(&exercise, 20, 0.3, 9);
    let mut host = practising(&exercise, "Off");
    let mut session = practised.session.clone();
    session.length_samples += 96_000;
    let performance = play(&mut host, &session);
    let played = practised.session.events.len();
    assert!(performance.events.len() > played, "chords sound");
    assert!(hanging(&performance.events).is_empty());
    assert_recorded(
        &recorded(&host.save_state().unwrap()),
        &practised,
        "with chords",
    );
}

#[test]
fn practice_in_the_hosts_time_waits_for_the_host() {
    let exercise = Exercise {
        pace: Pace::InTime {
            tempo: Tempo::Host,
            beats_ahead: 2,
            count_in_bars: 1,
        },
        ..every_family(AskedPosition::Third)
    };
    let own = Exercise {
        pace: timed(120.0, 2),
        ..exercise.clone()
    };
    // The same questions fall as at a tempo of its own, which begins with the key of the player; the
    // host plays from the first sample on.
    let mut practised = in_time(&own, 40, 0.4, 33);
    for event in &mut practised.session.events {
        event.at_samples = event.at_samples.saturating_sub(1_000);
    }
    practised.session.length_samples -= 1_000;
    let (record, _) = practise(&exercise, &practised, BlockSizes::Fixed(512));
    assert_recorded(&record, &practised, "in the host's time");
}
