//! The left hand: keys that belong together, keys that follow each other, and the range of the
//! hand.

use crate::plugin::{
    RATE_HZ, Walk, chord_keys, chords, guidehand, held, keys, notes, play, set, set_key, sounding,
    twelve_tonics,
};
use guidehand_tests::{Event, Session};
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pipeline::Taste;

/// Keys that go down within this time are one gesture: 80 ms.
const TOGETHER_SAMPLES: u64 = 3_840;

/// The effect of extra keys on a root on C: semitones above it, and the chord.
const OVERRIDES: [(&[i16], &str); 17] = [
    (&[3, 6, 9], "Cdim7"),
    (&[3, 6], "Cm7b5"),
    (&[6, 9], "Cdim7"),
    (&[3, 11], "Cm(maj7)"),
    (&[3, 9], "Cm6"),
    (&[4, 8, 11], "Cmaj7#5"),
    (&[8, 10], "C7#5"),
    (&[4, 10], "C7"),
    (&[4, 9], "C6"),
    (&[3], "Cm7"),
    (&[4], "Cmaj7"),
    (&[11], "Cmaj7"),
    (&[5], "C7sus4"),
    (&[6], "Cm7b5"),
    (&[10], "C7"),
    (&[9], "C6"),
    (&[8], "C7#5"),
];

#[test]
fn extra_keys_override_the_quality() {
    let mut host = guidehand();
    // Keys in which a root on C alone is major, minor, dominant and more.
    for tonic in twelve_tonics() {
        let key = set_key(&mut host, tonic, Mode::Major);
        for (extras, symbol) in OVERRIDES {
            let expected = Walk::new(key, Taste::default()).symbol(symbol);
            // The root is an octave lower, so that its seventh is below the split, too.
            let mut session = Session::new(RATE_HZ, 120.0, 1_000);
            session.note(7, 900, 36);
            for above in extras {
                session.note(7, 900, 36 + above);
            }
            let performance = play(&mut host, &session);
            let found = notes(&performance.events);
            assert_eq!(
                found,
                held(&expected, 0, 0.75, 7, 900),
                "{symbol} by {extras:?} in {key}"
            );
        }
    }
}

#[test]
fn an_extra_key_may_come_a_little_later_or_earlier() {
    let walk = || Walk::new(Key::C_MAJOR, Taste::default());
    let (minor, major) = (walk().symbol("Dm7"), walk().symbol("Dmaj7"));
    for late in [1, 100, TOGETHER_SAMPLES] {
        let mut session = Session::new(RATE_HZ, 120.0, 20_000);
        session.note(0, 10_000, 38).note(late, 10_000, 42);
        let found = chords(&play(&mut guidehand(), &session).events);
        let at: Vec<u64> = found.iter().map(|chord| chord.start_samples).collect();
        assert_eq!(at, [0, late]);
        assert_eq!([&found[0].keys, &found[1].keys], [&minor, &major]);
    }
    // The lowest key is the root, even if it comes last.
    let mut session = Session::new(RATE_HZ, 120.0, 20_000);
    session.note(0, 10_000, 42).note(500, 10_000, 38);
    let found = chord_keys(&play(&mut guidehand(), &session).events);
    assert_eq!(found.last(), Some(&major));
}

#[test]
fn lifting_an_extra_key_changes_nothing() {
    let mut session = Session::new(RATE_HZ, 120.0, 20_000);
    session.note(0, 15_000, 38).note(0, 5_000, 42);
    let major = Walk::new(Key::C_MAJOR, Taste::default()).symbol("Dmaj7");
    let found = notes(&play(&mut guidehand(), &session).events);
    assert_eq!(found, held(&major, 0, 0.75, 0, 15_000));
}

#[test]
fn a_legato_line_is_a_line_of_roots() {
    let step = TOGETHER_SAMPLES + 1;
    let roots = [50, 55, 48, 57];
    let mut session = Session::new(RATE_HZ, 120.0, 10 * step);
    for (start, root) in (0..).step_by(usize::try_from(step).unwrap()).zip(roots) {
        // Every key is held until well after the next key starts.
        session.note(start, start + step + 1_000, root);
    }
    let mut walk = Walk::new(Key::C_MAJOR, Taste::default());
    let mut expected = Vec::new();
    for (start, root) in (0..).step_by(usize::try_from(step).unwrap()).zip(roots) {
        let end = if root == 57 {
            start + step + 1_000
        } else {
            start + step
        };
        expected.extend(held(&walk.root(root), 0, 0.75, start, end));
    }
    assert_eq!(
        notes(&play(&mut guidehand(), &session).events),
        expected,
        "there is one chord for each root, without gaps"
    );
}

#[test]
fn keys_that_change_at_one_sample_leave_no_chord_between() {
    for reversed in [false, true] {
        let mut change = [Event::note_off(0, 50), Event::note_on(0, 55, 0.75)];
        if reversed {
            change.reverse();
        }
        let mut session = Session::new(RATE_HZ, 120.0, 9_000);
        session
            .event(0, Event::note_on(0, 50, 0.75))
            .event(5_000, change[0])
            .event(5_000, change[1])
            .event(8_000, Event::note_off(0, 55));
        let found = notes(&play(&mut guidehand(), &session).events);
        let mut expected = held(&keys("F3 A3 C4 E4"), 0, 0.75, 0, 5_000);
        expected.extend(held(&keys("F3 A3 B3 E4"), 0, 0.75, 5_000, 8_000));
        assert_eq!(found, expected, "reversed: {reversed}");
    }
}

#[test]
fn the_split_parts_the_hands() {
    for (split, words) in [(60, "C4"), (40, "E2"), (72, "C5")] {
        let mut host = guidehand();
        set(&mut host, "Split", words);
        let mut session = Session::new(RATE_HZ, 120.0, 3_000);
        session.note(0, 900, split).note(1_000, 1_900, split - 1);
        let found = chord_keys(&play(&mut host, &session).events);
        let mut walk = Walk::new(Key::C_MAJOR, Taste::default());
        assert_eq!(found, [vec![split], walk.root(split - 1)]);
    }
}

/// Two channels play the same key, and one of them twice: the last key to go up
/// ends the chord, whichever it is.
#[test]
fn one_key_on_two_channels_does_not_outlive_itself() {
    let (on, off) = (Event::note_on(2, 47, 0.75), Event::note_off(2, 47));
    let mut session = Session::new(RATE_HZ, 120.0, 5_000);
    session
        .event(0, on)
        .note(10, 20, 47)
        .event(30, on)
        .event(4_000, off);
    let events = play(&mut guidehand(), &session).events;
    assert!(!sounding(&events, 3_999).is_empty());
    assert!(sounding(&events, 4_000).is_empty());
}
