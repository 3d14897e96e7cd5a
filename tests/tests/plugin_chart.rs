//! Chords from the chart: every note is as the theory plans it, in all keys, at the samples of the
//! host's beats.

use crate::plugin::{
    RATE_HZ, TEXTURES, chord_keys, chords, held, keys, keys_of, notes, planned, planned_in, play,
    set, set_key, transposed, twelve_keys, untouched, with_chart,
};
use guidehand_tests::{Event, Host, Session, Signature, TransportChange};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::key::Mode;
use guidehand_theory::pipeline::{self, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{
    EleventhRequest, NinthRequest, TensionRequests, ThirteenthRequest,
};

/// Charts of four bars that end on their tonic.
const CADENCES: [&str; 6] = [
    "| Dm9 | G13 | Cmaj9 | % |",
    "| Dm7 | G7 | Cmaj7 | % |",
    "| Dm7b5 | G7(b9,b13) | Cm9 | % |",
    "| G7(b9,b13) | Cm9 | G7(b9,b13) | Cm9 |",
    "| Dm7 | Db7 | Cmaj7 | A7alt |",
    "| Cmaj7 Am7 | Dm7 G7sus4 | Em7 A7b9 | Dm9 G13 |",
];

/// A session that plays a chart once, at a thousand samples a beat, and then stops.
fn once(beats: u64) -> Session {
    let mut session = Session::new(RATE_HZ, 2_880.0, beats * 1_000 + 1_000);
    session.change(beats * 1_000, TransportChange::Stop);
    session
}

/// The keys of the chords of a chart of four bars in 4/4, played once.
fn comped(text: &str) -> Vec<Vec<i16>> {
    chord_keys(&play(&mut with_chart(text), &once(16)).events)
}

fn planned_keys(text: &str) -> Vec<Vec<i16>> {
    planned(text)
        .into_iter()
        .map(|change| change.keys)
        .collect()
}

/// Common practice, no published source.
#[test]
fn check_progressions_come_out_note_for_note() {
    for (chart, expected) in [
        (
            "| Dm9 | G13 | Cmaj9 | % |",
            vec!["F3 A3 C4 E4", "F3 A3 B3 E4", "E3 G3 B3 D4"],
        ),
        (
            "| Gm9 | C13 | Fmaj9 | % |",
            vec!["F3 A3 Bb3 D4", "E3 A3 Bb3 D4", "E3 G3 A3 C4"],
        ),
        (
            "| G7(b9,b13) | % | Cm9 | % |",
            vec!["F3 Ab3 B3 Eb4", "Eb3 G3 Bb3 D4"],
        ),
    ] {
        let expected: Vec<_> = expected.into_iter().map(keys).collect();
        assert_eq!(comped(chart), expected, "{chart}");
    }
}

#[test]
fn check_progressions_in_every_key_are_the_theorys() {
    for cadence in CADENCES {
        for fifths in twelve_keys() {
            let chart = transposed(cadence, fifths);
            assert_eq!(comped(&chart), planned_keys(&chart), "{chart}");
        }
    }
}

/// The semitones by which the voices move, from the lowest voice up. Common practice, no published
/// source.
#[test]
fn check_progressions_move_as_little_in_every_key() {
    for (cadence, expected) in [
        ("| Dm9 | G13 | Cmaj9 | % |", vec![1, 5]),
        ("| Gm9 | C13 | Fmaj9 | % |", vec![1, 5]),
        ("| G7(b9,b13) | % | Cm9 | % |", vec![5]),
    ] {
        for fifths in twelve_keys() {
            let chart = transposed(cadence, fifths);
            let found = comped(&chart);
            let moved: Vec<u16> = found
                .windows(2)
                .map(|pair| {
                    let voices = pair[0].iter().zip(&pair[1]);
                    voices.map(|(a, b)| a.abs_diff(*b)).sum()
                })
                .collect();
            assert_eq!(moved, expected, "{chart}: {found:?}");
        }
    }
}

#[test]
fn every_texture_is_the_theorys() {
    let chart = "| Dm9 G7 | Cmaj7 A7b9 | Dm11 Db7 | C6/9 |";
    let mut host = with_chart(chart);
    for (words, texture) in TEXTURES {
        set(&mut host, "Texture", words);
        let expected: Vec<_> = planned_in(chart, texture, None)
            .into_iter()
            .map(|change| change.keys)
            .collect();
        let found = chord_keys(&play(&mut host, &once(16)).events);
        assert_eq!(found, expected, "{words}");
    }
}

#[test]
fn a_key_can_be_pinned() {
    let chart = "| G7 | % | D7 | A7 |";
    let mut host = with_chart(chart);
    set(&mut host, "Lock chart to key", "On");
    let mut different = 0;
    for tonic in 0..12 {
        for mode in [Mode::Major, Mode::Minor, Mode::Blues] {
            let key = set_key(&mut host, tonic, mode);
            let pinned: Vec<_> = planned_in(chart, Texture::FourNotes, Some(key))
                .into_iter()
                .map(|change| change.keys)
                .collect();
            let found = chord_keys(&play(&mut host, &once(16)).events);
            assert_eq!(found, pinned, "{key}");
            different += u32::from(found != planned_keys(chart));
        }
    }
    assert!(different > 0, "the key makes no difference to {chart}");
}

/// Plays a chart once through and compares every note with the plan.
fn expect_once(host: &mut Host, chart: &str, beats: u64, velocity: f64) {
    let changes = planned(chart);
    let samples = |beat: f64| {
        let session = once(beats);
        session.samples_at(beat)
    };
    let mut expected = Vec::new();
    for (index, change) in changes.iter().enumerate() {
        let from = samples(change.at_beats);
        let to = changes
            .get(index + 1)
            .map_or(beats * 1_000, |next| samples(next.at_beats));
        expected.extend(held(&change.keys, 0, velocity, from, to));
    }
    let found = notes(&play(host, &once(beats)).events);
    assert_eq!(found, expected, "{chart}");
}

/// The default velocity of the chart, in single precision.
const VELOCITY: f64 = 0.7_f32 as f64;

#[test]
fn chords_fall_on_their_beats() {
    for (chart, beats) in [
        ("| Dm7 | G7 | Cmaj7 | A7 |", 16),
        ("| Dm7 G7 | Cmaj7 | % | / / A7 / |", 16),
        ("| Dm7 / / G7 | Cmaj7 / A7 Ab7 |", 8),
        ("| Dm7 G7 Em7 A7 | % |", 8),
    ] {
        expect_once(&mut with_chart(chart), chart, beats, VELOCITY);
    }
}

#[test]
fn a_bar_without_a_chord_is_silent() {
    for (chart, beats) in [
        ("| N.C. | Dm7 | N.C. | G7 |", 16),
        ("| Dm7 N.C. | % | N.C. | G7 |", 16),
        ("| Dm7 / N.C. / | N.C. |", 8),
    ] {
        expect_once(&mut with_chart(chart), chart, beats, VELOCITY);
    }
}

#[test]
fn a_waltz_has_bars_of_three_beats() {
    let chart = "3/4 | Dm7 | G7 | Cmaj7 / A7 | % |";
    let mut host = with_chart(chart);
    expect_once(&mut host, chart, 12, VELOCITY);
    // The chart's own meter counts, whatever meter the host has.
    let mut session = once(12);
    session.signature = Signature {
        numerator: 3,
        denominator: 4,
    };
    let in_three = chords(&play(&mut host, &session).events);
    let in_four = chords(&play(&mut host, &once(12)).events);
    assert_eq!(in_three, in_four);
    let at: Vec<u64> = in_three.iter().map(|chord| chord.start_samples).collect();
    assert_eq!(at, [0, 3_000, 6_000, 8_000, 9_000, 11_000]);
}

#[test]
fn the_chart_has_its_own_velocity() {
    let chart = "| Dm7 | G7 |";
    let mut host = with_chart(chart);
    for (words, velocity) in [("25 %", 0.25), ("50 %", 0.5), ("100 %", 1.0)] {
        set(&mut host, "Chart velocity", words);
        for note in notes(&play(&mut host, &once(8)).events) {
            assert!((note.velocity - velocity).abs() < 1e-6, "{note:?}");
        }
    }
}

#[test]
fn a_change_of_velocity_waits_for_the_next_chord() {
    let mut host = with_chart("| Dm7 | G7 |");
    let id = host.param_by_name("Chart velocity").unwrap().id;
    let mut session = once(8);
    session.param(1_000, id, 1.0);
    let found = notes(&play(&mut host, &session).events);
    let loud: Vec<bool> = found.iter().map(|note| note.velocity > 0.99).collect();
    assert_eq!(loud, [false, false, false, false, true, true, true, true]);
}

#[test]
fn the_bass_has_its_own_channel() {
    let chart = "| Dm7 | G7/F | C6/E | Bbmaj7 |";
    let mut host = with_chart(chart);
    set(&mut host, "Bass note", "On");
    set(&mut host, "Bass channel", "16");
    let found = chords(&play(&mut host, &once(16)).events);
    let basses: Vec<_> = found.iter().filter(|chord| chord.channel == 15).collect();
    let at: Vec<u64> = basses.iter().map(|chord| chord.start_samples).collect();
    assert_eq!(at, [0, 4_000, 8_000, 12_000]);
    // The root, or the note under the slash, is in the octave above the lowest string.
    let lowest: Vec<_> = basses.iter().flat_map(|chord| &chord.keys).collect();
    let names = keys("D2 F1 E1 Bb1");
    assert_eq!(lowest, names.iter().collect::<Vec<_>>());
    let above: Vec<_> = found.iter().filter(|chord| chord.channel == 0).collect();
    let expected = planned_keys(chart);
    assert_eq!(
        above.iter().map(|chord| &chord.keys).collect::<Vec<_>>(),
        expected.iter().collect::<Vec<_>>()
    );
}

#[test]
fn the_right_hand_plays_along() {
    let mut host = with_chart("| Dm7 | G7 |");
    let mut session = once(8);
    // Without the gate even low keys pass.
    session.note(500, 2_500, 74).note(900, 1_800, 40);
    let found = notes(&play(&mut host, &session).events);
    let melody: Vec<_> = found
        .iter()
        .filter(|note| note.velocity == 0.75)
        .map(|note| (note.start_samples, note.end_samples, note.key))
        .collect();
    assert_eq!(melody, [(500, 2_500, 74), (900, 1_800, 40)]);
    assert_eq!(found.len(), 10);
}

#[test]
fn a_held_key_gates_the_chart() {
    let chart = "| Dm7 | G7 |";
    let mut host = with_chart(chart);
    set(&mut host, "Play while a key is held", "On");
    let [dm7, g7] = <[Vec<i16>; 2]>::try_from(planned_keys(chart)).unwrap();
    let mut session = once(8);
    session
        .event(500, Event::note_on(3, 40, 0.5))
        .event(1_500, Event::note_off(3, 40))
        .event(2_500, Event::note_on(7, 33, 0.25))
        .event(6_000, Event::note_off(7, 33));
    let found = notes(&play(&mut host, &session).events);
    let mut expected = held(&dm7, 3, 0.5, 500, 1_500);
    expected.extend(held(&dm7, 7, 0.25, 2_500, 4_000));
    expected.extend(held(&g7, 7, 0.25, 4_000, 6_000));
    assert_eq!(found, expected);
}

#[test]
fn the_gate_stays_open_while_any_key_is_held() {
    let chart = "| Dm7 | N.C. | G7 | Cmaj7 |";
    let mut host = with_chart(chart);
    set(&mut host, "Play while a key is held", "On");
    let expected: Vec<_> = planned_keys(chart)
        .into_iter()
        .filter(|keys| !keys.is_empty())
        .collect();
    // Two keys overlap at the start. Either of them alone keeps the gate open, even through the
    // silent bar.
    for (first_end, second_end) in [(5_000, 16_500), (16_500, 5_000)] {
        for second_start in [0, 100, 4_500] {
            let mut session = once(16);
            session
                .note(0, first_end, 40)
                .note(second_start, second_end, 45);
            let found = chord_keys(&play(&mut host, &session).events);
            assert_eq!(
                found, expected,
                "{first_end}, {second_start} to {second_end}"
            );
        }
    }
}

/// The theory's plan, adapted to another taste.
fn adapted(text: &str, taste: &Taste) -> Vec<Vec<i16>> {
    let placed = pipeline::place(&chart::parse(text).unwrap(), None);
    let plan = pipeline::plan(&placed, taste.texture, taste.register, Ends::Cyclic);
    let chords = placed.iter().flatten().zip(plan.iter().flatten());
    chords
        .map(|(placed, planned)| keys_of(&pipeline::adapt(planned, placed, taste).voicing))
        .collect()
}

#[test]
fn tensions_and_register_are_those_that_were_asked_for() {
    let chart = "| Dm7 G7 | Cmaj7 A7 | Ab7 D7 | G13 C6/9 |";
    let requests = TensionRequests::default();
    let ninth = TensionRequests {
        ninth: NinthRequest::Flat9,
        ..requests
    };
    let eleventh = TensionRequests {
        eleventh: EleventhRequest::Sharp11,
        ..requests
    };
    let thirteenth = TensionRequests {
        thirteenth: ThirteenthRequest::Flat13,
        ..requests
    };
    let high = Register::new(MidiNote::clamp(55), MidiNote::clamp(76));
    for (settings, requests, register) in [
        (vec![("Ninth", "b9")], ninth, Register::DEFAULT),
        (vec![("Eleventh", "#11")], eleventh, Register::DEFAULT),
        (vec![("Thirteenth", "b13")], thirteenth, Register::DEFAULT),
        (
            vec![("Register from", "G3"), ("Register to", "E5")],
            requests,
            high,
        ),
    ] {
        let mut host = with_chart(chart);
        for (name, words) in &settings {
            set(&mut host, name, words);
        }
        let taste = Taste {
            requests,
            register,
            ..Taste::default()
        };
        let found = chord_keys(&play(&mut host, &once(16)).events);
        assert_eq!(found, adapted(chart, &taste), "{settings:?}");
        assert_ne!(found, planned_keys(chart), "{settings:?} are not heard");
    }
}

/// A user who opens the plugin and presses play in the host hears a chart.
#[test]
fn an_instance_that_nobody_has_touched_plays_its_first_chart() {
    let mut session = Session::new(RATE_HZ, 2_880.0, 16_100);
    session.change(16_000, TransportChange::Stop);
    let performance = play(&mut untouched(), &session);
    let expected: Vec<_> = planned("| Dm7 | G7 | Cmaj7 | A7 | Dm7 |");
    let found = chord_keys(&performance.events);
    assert_eq!(found.len(), 4);
    assert_eq!(found[0], expected[0].keys);
    assert!(
        performance.left.iter().any(|sample| *sample != 0.0),
        "it is heard"
    );
}
