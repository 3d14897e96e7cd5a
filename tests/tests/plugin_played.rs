//! The left hand's rhythm: the player strikes the chart or roots, or a pattern strikes a held root.

use crate::plugin::{RATE_HZ, Walk, guidehand, held, load_chart, notes, planned, play, set};
use crate::plugin_rhythm::{assert_notes, from, session as song};
use guidehand_report::request::Rhythm;
use guidehand_tests::expected::{EvenPlay, RhythmSettings, samples_of, strikes_on_a_root};
use guidehand_tests::notes::PlayedNote;
use guidehand_tests::{BlockSizes, Event, Host, Session, Signature, TransportChange};
use guidehand_theory::chart::Meter;
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::Taste;

/// Four bars, a chord each.
const CHART: &str = "| Dm7 | G7 | Cmaj7 | N.C. |";

/// One beat is a thousand samples.
const TEMPO_BPM: f64 = 2_880.0;

fn played_chart() -> Host {
    let mut host = guidehand();
    set(&mut host, "Audition tone", "Off");
    set(&mut host, "Chords from", "Chart");
    set(&mut host, "Rhythm", "Played");
    load_chart(&mut host, CHART);
    host
}

/// Keys below the split: channel, key, velocity, first and last sample.
fn strike(session: &mut Session, channel: i16, key: i16, velocity: f64, from: u64, to: u64) {
    session
        .event(from, Event::note_on(channel, key, velocity))
        .event(to, Event::note_off(channel, key));
}

#[test]
fn a_key_strikes_the_chord_in_force_and_holds_it() {
    let mut session = Session::new(RATE_HZ, TEMPO_BPM, 18_000);
    strike(&mut session, 3, 40, 0.5, 1_000, 2_200);
    // The hand decides the length, even across the change.
    strike(&mut session, 0, 43, 0.25, 3_000, 5_100);
    // Two keys together are one gesture, which ends when the last of them is released.
    strike(&mut session, 0, 40, 1.0, 8_000, 8_300);
    strike(&mut session, 0, 47, 0.5, 8_000, 8_700);
    // A strike in a silent bar makes no sound.
    strike(&mut session, 0, 40, 0.5, 13_000, 14_000);
    // A key of the right hand passes.
    strike(&mut session, 0, 80, 0.5, 9_000, 10_000);
    let changes = planned(CHART);
    for blocks in [64, 4096].map(BlockSizes::Fixed) {
        session.blocks = blocks;
        let found = notes(&play(&mut played_chart(), &session).events);
        let mut expected = held(&changes[0].keys, 3, 0.5, 1_000, 2_200);
        expected.extend(held(&changes[0].keys, 0, 0.25, 3_000, 5_100));
        expected.extend(held(&changes[2].keys, 0, 1.0, 8_000, 8_700));
        expected.extend(held(&[80], 0, 0.5, 9_000, 10_000));
        assert_notes(&found, &expected, &format!("{blocks:?}"));
    }
}

#[test]
fn a_key_within_an_eighth_of_the_next_chord_plays_that() {
    let changes = planned(CHART);
    for (words, at, change) in [
        ("On", 3_600, 1),
        ("On", 3_501, 1),
        ("On", 3_499, 0),
        ("Off", 3_600, 0),
        // The chart repeats. Silence is not anticipated.
        ("On", 15_700, 0),
        ("On", 11_700, 2),
    ] {
        let mut host = played_chart();
        set(&mut host, "Anticipation", words);
        let mut session = Session::new(RATE_HZ, TEMPO_BPM, 18_000);
        strike(&mut session, 0, 40, 0.5, at, at + 900);
        let found = notes(&play(&mut host, &session).events);
        let expected = held(&changes[change].keys, 0, 0.5, at, at + 900);
        assert_notes(&found, &expected, &format!("{words} at {at}"));
    }
}

#[test]
fn a_song_that_stands_still_has_its_chord() {
    let changes = planned(CHART);
    let mut session = Session::new(RATE_HZ, TEMPO_BPM, 8_000);
    session
        .change(0, TransportChange::Stop)
        .change(0, TransportChange::Jump { to_beats: 5.0 });
    strike(&mut session, 0, 40, 0.5, 1_000, 2_000);
    strike(&mut session, 0, 40, 0.5, 6_000, 7_000);
    let found = notes(&play(&mut played_chart(), &session).events);
    let mut expected = held(&changes[1].keys, 0, 0.5, 1_000, 2_000);
    expected.extend(held(&changes[1].keys, 0, 0.5, 6_000, 7_000));
    assert_notes(&found, &expected, "standing still");
}

#[test]
fn the_pedal_passes_and_the_chord_follows_the_hand() {
    let pedal = |value| Event::Controller {
        channel: 0,
        number: 64,
        value,
    };
    let mut session = Session::new(RATE_HZ, TEMPO_BPM, 6_000);
    strike(&mut session, 0, 40, 0.5, 500, 1_500);
    session.event(400, pedal(127)).event(3_000, pedal(0));
    let events = play(&mut played_chart(), &session).events;
    let found: Vec<_> = events
        .iter()
        .filter(|timed| matches!(timed.event, Event::Controller { .. }))
        .map(|timed| (timed.at_samples, timed.event))
        .collect();
    assert_eq!(found, [(400, pedal(127)), (3_000, pedal(0))]);
    let expected = held(&planned(CHART)[0].keys, 0, 0.5, 500, 1_500);
    assert_notes(&notes(&events), &expected, "with the pedal down");
}

#[test]
fn roots_are_played_as_ever_in_hold_and_played() {
    let mut session = Session::new(RATE_HZ, TEMPO_BPM, 9_000);
    session.note(100, 2_000, 50).note(2_000, 4_000, 55);
    session.note(5_500, 8_000, 48);
    let rendered = ["Sustained", "Played"].map(|words| {
        let mut host = guidehand();
        set(&mut host, "Rhythm", words);
        play(&mut host, &session).events
    });
    assert_eq!(rendered[0], rendered[1]);
    assert_eq!(rendered[0].len(), 24);
}

/// The notes of roots under a pattern. Each root has its first and last sample. It is struck where
/// the pattern has a strike, and at once if it begins within one.
fn patterned(
    comping: &RhythmSettings,
    meter: Meter,
    play_: &EvenPlay,
    roots: &[(i16, u64, u64)],
) -> Vec<PlayedNote> {
    let until = 40_000.0;
    let strikes = strikes_on_a_root(comping, meter, play_.tempo_bpm, until);
    let mut walk = Walk::new(Key::C_MAJOR, Taste::default());
    let mut expected = Vec::new();
    for (root, from, to) in roots {
        let keys = walk.root(*root);
        for strike in &strikes {
            let (start, end) = samples_of(strike, play_);
            let (start, end) = (start.max(*from), end.min(*to));
            let accent = 1.0 + 0.12 * f64::from(strike.accent) * comping.accents;
            if end > start {
                expected.extend(held(&keys, 0, 0.75 * accent, start, end));
            }
        }
    }
    expected
}

#[test]
fn a_held_root_is_struck_by_the_pattern() {
    let roots = [
        (50, 1_300, 8_100),
        (55, 8_100, 12_900),
        (48, 13_500, 23_000),
    ];
    for (meter, rhythms) in [
        (
            Meter::COMMON,
            [Rhythm::Charleston, Rhythm::Bossa, Rhythm::LateCharleston],
        ),
        (
            Meter { beats: 3, unit: 4 },
            [Rhythm::JazzWaltz, Rhythm::TwoAndFour, Rhythm::Charleston],
        ),
        (
            Meter { beats: 6, unit: 8 },
            [Rhythm::JazzWaltz, Rhythm::TwoAndFour, Rhythm::Charleston],
        ),
    ] {
        for rhythm in rhythms {
            let comping = RhythmSettings {
                swing_follows_tempo: false,
                ..RhythmSettings::new(rhythm)
            };
            let play_ = from(0.0, 25_000);
            let mut host = guidehand();
            set(&mut host, "Rhythm", rhythm.words());
            set(&mut host, "Swing follows tempo", "Off");
            let mut session = song(&play_, BlockSizes::Fixed(700));
            session.signature = Signature {
                numerator: meter.beats.into(),
                denominator: meter.unit.into(),
            };
            for (root, from, to) in roots {
                session.note(from, to, root);
            }
            let found = notes(&play(&mut host, &session).events);
            let expected = patterned(&comping, meter, &play_, &roots);
            assert!(expected.len() > 20);
            assert_notes(&found, &expected, &format!("{rhythm:?} in {meter}"));
        }
    }
}

#[test]
fn a_root_is_held_while_the_song_stands_still() {
    let mut session = Session::new(RATE_HZ, TEMPO_BPM, 9_000);
    session.change(0, TransportChange::Stop);
    session.note(100, 8_000, 50);
    let mut host = guidehand();
    set(&mut host, "Rhythm", "Charleston");
    let keys = Walk::new(Key::C_MAJOR, Taste::default()).root(50);
    let found = notes(&play(&mut host, &session).events);
    assert_notes(&found, &held(&keys, 0, 0.75, 100, 8_000), "standing still");
}

#[test]
fn a_new_signature_gives_roots_new_bars() {
    let comping = RhythmSettings {
        swing_follows_tempo: false,
        ..RhythmSettings::new(Rhythm::JazzWaltz)
    };
    let play_ = from(0.0, 24_500);
    let waltz = Meter { beats: 3, unit: 4 };
    let mut session = song(&play_, BlockSizes::Fixed(512));
    // A bar line in both signatures.
    let turn = session.samples_at(12.0) + 1;
    let signature = Signature {
        numerator: 3,
        denominator: 4,
    };
    session.change(turn, TransportChange::Signature { signature });
    session.note(0, 24_400, 50);
    let mut host = guidehand();
    set(&mut host, "Rhythm", "Jazz waltz");
    set(&mut host, "Swing follows tempo", "Off");
    let roots = [(50, 0, 24_400)];
    let part = |meter, from: u64, to: u64| {
        let mut notes = patterned(&comping, meter, &play_, &roots);
        notes.retain(|note| (from..to).contains(&note.start_samples));
        notes
    };
    let mut expected = part(Meter::COMMON, 0, turn);
    expected.extend(part(waltz, turn, u64::MAX));
    let found = notes(&play(&mut host, &session).events);
    assert_notes(&found, &expected, "4/4, then 3/4");
}
