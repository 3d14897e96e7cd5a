//! Chords from root notes: every note is as in the theory, at its sample.

use crate::plugin::{
    BLOCKS, RATE_HZ, TEXTURES, Walk, chord_keys, chords, guidehand, held, id, keys, low, mute,
    notes, play, set, set_key, twelve_tonics, value,
};
use guidehand_tests::{BlockSizes, Event, Host, Session};
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::{MidiNote, PitchClass};

/// A session with these roots, each held for a thousand samples up to the next.
fn line(roots: &[i16]) -> Session {
    let length = 1_000 * (roots.len() as u64 + 1);
    let mut session = Session::new(RATE_HZ, 120.0, length);
    for (start, root) in (0..).step_by(1_000).zip(roots) {
        session.note(start, start + 1_000, *root);
    }
    session
}

/// The keys of all chords for a line of roots.
fn comped(host: &mut Host, roots: &[i16]) -> Vec<Vec<i16>> {
    chord_keys(&play(host, &line(roots)).events)
}

/// Common practice, no published source.
#[test]
fn a_cadence_in_c_comes_out_note_for_note() {
    for octave in [0, -12, -24] {
        let roots = [50 + octave, 55 + octave, 48 + octave];
        assert_eq!(
            comped(&mut guidehand(), &roots),
            [
                keys("F3 A3 C4 E4"),
                keys("F3 A3 B3 E4"),
                keys("E3 G3 B3 D4")
            ]
        );
    }
}

#[test]
fn cadences_in_every_key_and_texture_are_the_theorys() {
    let mut host = mute();
    for (words, texture) in TEXTURES {
        let taste = Taste {
            texture,
            ..Taste::default()
        };
        set(&mut host, "Texture", words);
        for tonic in twelve_tonics() {
            for mode in [Mode::Major, Mode::Minor, Mode::Blues] {
                let key = set_key(&mut host, tonic, mode);
                // ii V I, then vi and the secondary dominant of ii.
                let roots = [2, 7, 0, 9, 2, 7, 0].map(|above| low(tonic + above));
                let mut walk = Walk::new(key, taste);
                let expected = roots.map(|root| walk.root(root));
                let found = comped(&mut host, &roots);
                assert_eq!(found, expected, "{key}, {texture:?}");
            }
        }
    }
}

#[test]
fn every_root_in_every_key_is_the_theorys() {
    let mut host = mute();
    for tonic in twelve_tonics() {
        for mode in [Mode::Major, Mode::Minor, Mode::Blues] {
            let key = set_key(&mut host, tonic, mode);
            let roots: Vec<i16> = (0..12).map(low).collect();
            let mut walk = Walk::new(key, Taste::default());
            let expected: Vec<_> = roots.iter().map(|root| walk.root(*root)).collect();
            assert_eq!(comped(&mut host, &roots), expected, "{key}");
        }
    }
}

/// The semitones by which the voices move, from the lowest voice up. Common practice, no published
/// source.
#[test]
fn a_cadence_moves_as_little_in_every_key() {
    let mut host = guidehand();
    for tonic in twelve_tonics() {
        let key = set_key(&mut host, tonic, Mode::Major);
        let found = comped(&mut host, &[2, 7, 0].map(|above| low(tonic + above)));
        let moved: Vec<u16> = found
            .windows(2)
            .map(|pair| {
                let voices = pair[0].iter().zip(&pair[1]);
                voices.map(|(a, b)| a.abs_diff(*b)).sum()
            })
            .collect();
        assert_eq!(moved, [1, 5], "{key}: {found:?}");
    }
}

#[test]
fn a_chord_sounds_from_the_sample_of_its_key_to_the_sample_of_its_release() {
    let chord = keys("F3 A3 C4 E4");
    for blocks in [
        BlockSizes::Fixed(1),
        BlockSizes::Fixed(32),
        BlockSizes::Fixed(441),
    ] {
        for (from, to) in [(0, 1), (1, 31), (31, 32), (32, 64), (63, 440), (441, 883)] {
            let mut session = Session::new(RATE_HZ, 120.0, 900);
            session.blocks = blocks;
            session.note(from, to, 50);
            let performance = play(&mut guidehand(), &session);
            let expected = held(&chord, 0, 0.75, from, to);
            assert_eq!(notes(&performance.events), expected, "{blocks:?}");
            assert_eq!(performance.events.len(), 8);
        }
    }
}

#[test]
fn channel_and_velocity_are_those_of_the_key() {
    let mut host = guidehand();
    for channel in 0..16 {
        for velocity in [1.0 / 128.0, 0.5, 101.0 / 128.0, 1.0] {
            let mut session = Session::new(RATE_HZ, 120.0, 1_000);
            session
                .event(10, Event::note_on(channel, 50, velocity))
                .event(500, Event::note_off(channel, 50));
            let performance = play(&mut host, &session);
            let expected = held(&keys("F3 A3 C4 E4"), channel, velocity, 10, 500);
            assert_eq!(notes(&performance.events), expected);
        }
    }
}

#[test]
fn a_root_bass_has_its_own_channel() {
    let mut host = guidehand();
    set(&mut host, "Bass note", "On");
    set(&mut host, "Bass channel", "5");
    for root in 48..60 {
        let mut session = Session::new(RATE_HZ, 120.0, 3_000);
        session.note(100, 2_000, root);
        let found = notes(&play(&mut host, &session).events);
        let class = PitchClass::wrapping(root.into());
        let e1 = MidiNote::clamp(28);
        let bass = i16::from(e1.next_of(class).unwrap().number());
        let chord = Walk::new(Key::C_MAJOR, Taste::default()).root(root);
        let mut expected = held(&chord, 0, 0.75, 100, 2_000);
        expected.extend(held(&[bass], 4, 0.75, 100, 2_000));
        assert_eq!(found, expected);
    }
}

#[test]
fn a_parameter_changes_the_chord_that_sounds_at_its_sample() {
    let mut host = guidehand();
    set(&mut host, "Apply immediately", "On");
    let id = host.param_by_name("Ninth").unwrap().id;
    let mut session = Session::new(RATE_HZ, 120.0, 10_000);
    session.note(0, 9_000, 55).param(5_000, id, 2.0);
    let found = chords(&play(&mut host, &session).events);
    let at: Vec<u64> = found.iter().map(|chord| chord.start_samples).collect();
    assert_eq!(at, [0, 5_000]);
    let mut walk = Walk::new(Key::C_MAJOR, Taste::default());
    walk.root(55);
    assert_eq!(found[0].keys, keys("F3 A3 B3 E4"));
    assert_eq!(found[1].keys, keys("F3 Ab3 B3 E4"), "13 over b9");
}

#[test]
fn roots_come_out_the_same_in_any_blocks() {
    let mut host = guidehand();
    let moves = [
        ("Texture", "Drop 2"),
        ("Ninth", "b9"),
        ("Key", "Eb"),
        ("Audition level", "-3 dB"),
        ("Register from", "E3"),
    ];
    let params = moves.map(|(name, words)| (id(&host, name), value(&mut host, name, words)));
    for (rate_hz, seed) in [(44_100.0, 11), (48_000.0, 12), (96_000.0, 13)] {
        let session = busy(rate_hz, &params, seed);
        let mut first = None;
        for blocks in BLOCKS {
            let mut host = guidehand();
            set(&mut host, "Bass note", "On");
            let session = Session {
                blocks,
                ..session.clone()
            };
            let mut performance = play(&mut host, &session);
            performance.blocks.clear();
            assert!(performance.events.len() > 100);
            assert!(performance.left.iter().any(|sample| *sample != 0.0));
            let first = first.get_or_insert_with(|| performance.clone());
            assert!(*first == performance, "{rate_hz} Hz, {blocks:?}");
        }
    }
}

/// Both hands play for a while: roots, extra keys, legato lines, a melody on other channels, and
/// parameters that change, never at the sample of a key.
fn busy(rate_hz: f64, params: &[(u32, f64)], seed: u64) -> Session {
    let mut session = Session::new(rate_hz, 137.3, 13_000);
    let mut rng = fastrand::Rng::with_seed(seed);
    for start in (0..10_000).step_by(1_000) {
        let start = start + rng.u64(1..300);
        let root = rng.i16(36..58);
        session.note(start, start + rng.u64(700..2_500), root);
        if rng.bool() {
            let extra = root + rng.i16(1..12).min(59 - root);
            session.note(start + 300, start + 600, extra);
        }
        let channel = rng.i16(1..4);
        session
            .event(start + 17, Event::note_on(channel, 67, 0.5))
            .event(start + 611, Event::note_off(channel, 67));
        let (id, value) = params[rng.usize(0..params.len())];
        session.param(start + 450, id, value);
    }
    session
}
