//! Events in the middle of a rhythm: loops, stops, new tempi, changed parameters, bypass, and the
//! end of all notes. Nothing is late.

use crate::plugin::{
    RATE_HZ, chords, guidehand, held, id, notes, planned, planned_in, play, set, sounding, value,
    with_chart,
};
use crate::plugin_rhythm::{assert_notes, from, session as song, set_comping};
use guidehand_report::request::Rhythm;
use guidehand_tests::expected::{EvenPlay, Oracle, RhythmSettings};
use guidehand_tests::notes::PlayedNote;
use guidehand_tests::{BlockSizes, Event, Session, TransportChange};
use guidehand_theory::shape::Texture;

const CHART: &str = "| Dm7 | G7 | Cmaj7 | A7 |";

/// One beat is a thousand samples.
const TEMPO_BPM: f64 = 2_880.0;

#[test]
fn a_loop_strikes_what_was_anticipated_before_its_start() {
    for rhythm in [Rhythm::Push, Rhythm::OffBeats, Rhythm::Bossa, Rhythm::Hold] {
        let comping = RhythmSettings::new(rhythm);
        let oracle = Oracle::new(CHART);
        let mut host = with_chart(CHART);
        set_comping(&mut host, &comping);
        let loop_samples = 8_030;
        let mut session = song(&from(0.0, 4 * loop_samples), BlockSizes::Fixed(300));
        let first = oracle.notes(&comping, &from(0.0, loop_samples));
        let mut expected = first;
        for round in 1..4 {
            let to_beats = 4.0;
            session.change(round * loop_samples, TransportChange::Jump { to_beats });
            let part = oracle.notes(&comping, &from(to_beats, loop_samples));
            expected.extend(part.into_iter().map(|note| PlayedNote {
                start_samples: note.start_samples + round * loop_samples,
                end_samples: note.end_samples + round * loop_samples,
                ..note
            }));
        }
        let found = notes(&play(&mut host, &session).events);
        assert_notes(&found, &expected, &format!("{rhythm:?}"));
    }
}

#[test]
fn a_new_tempo_in_the_middle_of_a_block_is_the_same_as_between_blocks() {
    for rhythm in [Rhythm::Hold, Rhythm::Charleston, Rhythm::Bossa] {
        let rendered = [false, true].map(|changes_in_blocks| {
            let mut host = with_chart(CHART);
            set_comping(&mut host, &RhythmSettings::new(rhythm));
            let mut session = Session::new(RATE_HZ, 120.0, 0);
            session.length_samples = 700_000;
            for (at, bpm) in [
                (100_333, 97.0),
                (222_222, 181.5),
                (222_900, 140.0),
                (500_001, 260.0),
            ] {
                session.change(at, TransportChange::Tempo { bpm });
            }
            session.changes_in_blocks = changes_in_blocks;
            session.blocks = BlockSizes::Fixed(4096);
            play(&mut host, &session).events
        });
        assert!(rendered[0].len() > 40);
        assert_eq!(rendered[0], rendered[1], "{rhythm:?}");
    }
}

/// A change of texture in the middle of the first chord: the keys that sound
/// before it, after it, and after the next chord.
fn changed(at_once: &str, rhythm: Rhythm) -> [Vec<i16>; 3] {
    let mut host = with_chart(CHART);
    set_comping(&mut host, &RhythmSettings::new(rhythm));
    set(&mut host, "Apply immediately", at_once);
    let mut session = Session::new(RATE_HZ, TEMPO_BPM, 10_000);
    let two_hands = value(&mut host, "Texture", "Two hands");
    session
        .param(1_000, id(&host, "Texture"), two_hands)
        .change(9_000, TransportChange::Stop);
    let events = play(&mut host, &session).events;
    // Every note has ended, including those of the old texture.
    notes(&events);
    [900, 1_100, 4_500].map(|at| sounding(&events, at))
}

#[test]
fn changes_act_at_the_next_chord_or_at_once() {
    let four = planned(CHART);
    let two = planned_in(CHART, Texture::TwoHands, None);
    for rhythm in [Rhythm::Hold, Rhythm::Charleston] {
        let later = [&four[0].keys, &four[0].keys, &two[1].keys].map(Clone::clone);
        assert_eq!(changed("Off", rhythm), later, "{rhythm:?}");
        let now = [&four[0].keys, &two[0].keys, &two[1].keys].map(Clone::clone);
        assert_eq!(changed("On", rhythm), now, "{rhythm:?}");
    }
}

#[test]
fn bypass_ends_a_strike_in_its_middle() {
    for rhythm in [Rhythm::Hold, Rhythm::Charleston, Rhythm::Push] {
        let mut host = with_chart(CHART);
        set_comping(&mut host, &RhythmSettings::new(rhythm));
        let bypass = id(&host, "Bypass");
        let mut session = Session::new(RATE_HZ, TEMPO_BPM, 9_000);
        session.param(700, bypass, 1.0).note(2_000, 3_000, 40);
        let found = notes(&play(&mut host, &session).events);
        let keys = &planned(CHART)[0].keys;
        let mut times: Vec<_> = found
            .iter()
            .map(|n| (n.start_samples, n.end_samples))
            .collect();
        times.dedup();
        assert_eq!(times, [(0, 700), (2_000, 3_000)], "{rhythm:?}");
        assert_eq!(found.len(), keys.len() + 1);
    }
}

#[test]
fn all_notes_off_ends_generated_notes_and_passes() {
    for number in [120, 123] {
        let off = Event::Controller {
            channel: 0,
            number,
            value: 0,
        };
        let mut host = with_chart(CHART);
        set_comping(&mut host, &RhythmSettings::new(Rhythm::Hold));
        let mut session = Session::new(RATE_HZ, TEMPO_BPM, 9_000);
        session
            .event(1_500, off)
            .change(8_000, TransportChange::Stop);
        let events = play(&mut host, &session).events;
        let changes = planned(CHART);
        let mut expected = held(&changes[0].keys, 0, f64::from(0.7_f32), 0, 1_500);
        expected.extend(held(&changes[1].keys, 0, f64::from(0.7_f32), 4_000, 8_000));
        assert_notes(&notes(&events), &expected, &format!("controller {number}"));
        assert!(
            events
                .iter()
                .any(|t| t.at_samples == 1_500 && t.event == off)
        );
    }
}

#[test]
fn nothing_is_late() {
    for at in [0, 1, 63, 64, 511, 1_000] {
        for rhythm in ["Sustained", "Played"] {
            for source in ["Roots", "Chart"] {
                if (rhythm, source) == ("Sustained", "Chart") {
                    continue;
                }
                let mut host = guidehand();
                set(&mut host, "Rhythm", rhythm);
                set(&mut host, "Chords from", source);
                let mut session = Session::new(RATE_HZ, 120.0, 4_000);
                session.note(at, 3_000, 40);
                let found = chords(&play(&mut host, &session).events);
                assert_eq!(host.latency_samples(), 0);
                assert_eq!(found.len(), 1);
                assert_eq!(found[0].start_samples, at, "{rhythm}, {source}");
                assert_eq!(found[0].keys.len(), 4);
            }
        }
    }
}

#[test]
fn a_stop_ends_every_strike_at_its_sample() {
    for rhythm in Rhythm::ALL {
        let comping = RhythmSettings::new(rhythm);
        let mut host = with_chart(CHART);
        set_comping(&mut host, &comping);
        for stop_samples in [1, 700, 1_600, 3_777, 4_100] {
            let play_ = EvenPlay {
                stop_samples,
                ..from(0.0, 0)
            };
            let found = notes(&play(&mut host, &song(&play_, BlockSizes::Fixed(256))).events);
            let expected = Oracle::new(CHART).notes(&comping, &play_);
            assert_notes(&found, &expected, &format!("{rhythm:?} to {stop_samples}"));
        }
    }
}
