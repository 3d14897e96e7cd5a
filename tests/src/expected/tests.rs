//! Compares the oracle with bars that were worked out by hand.

use super::*;

/// Change, start, end and accent of the strikes of a chart up to a tick.
fn struck(text: &str, comping: &RhythmSettings, until: f64) -> Vec<(usize, f64, f64, i8)> {
    let strikes = Oracle::new(text).strikes(comping, 120.0, until);
    let strikes = strikes.into_iter().filter(|s| s.start_ticks < until);
    strikes
        .map(|s| (s.change, s.start_ticks, s.end_ticks, s.accent))
        .collect()
}

fn even(rhythm: Rhythm) -> RhythmSettings {
    RhythmSettings {
        swing: 0.5,
        ..RhythmSettings::new(rhythm)
    }
}

#[test]
fn a_charleston_swings_and_ends_with_its_chord() {
    let swung = RhythmSettings {
        swing: 0.75,
        ..RhythmSettings::new(Rhythm::Charleston)
    };
    assert_eq!(
        struck("| Dm7 | G7 |", &swung, 3840.0),
        [(0, 0.0, 1680.0, 0), (0, 1680.0, 1920.0, 1)]
    );
    let long = RhythmSettings {
        length: 2.0,
        ..even(Rhythm::Charleston)
    };
    assert_eq!(
        struck("| Dm7 G7 | C6 |", &long, 3840.0),
        [
            (0, 0.0, 1440.0, 0),
            (1, 1440.0, 3360.0, 1),
            (2, 3360.0, 5280.0, 1)
        ]
    );
}

#[test]
fn an_off_beat_plays_the_coming_chord() {
    let off = even(Rhythm::OffBeats);
    assert_eq!(
        struck("| Dm7 G7 | C6 |", &off, 3840.0),
        [
            (0, 0.0, 960.0, 0),
            (1, 1440.0, 2880.0, 1),
            (2, 3360.0, 4800.0, 1)
        ]
    );
    let behind = RhythmSettings {
        anticipation: false,
        ..off
    };
    assert_eq!(
        struck("| Dm7 G7 | C6 |", &behind, 3840.0),
        [(0, 1440.0, 1920.0, 1), (1, 3360.0, 3840.0, 1)]
    );
}

#[test]
fn chords_of_two_beats_have_the_form_of_two_beats() {
    let behind = RhythmSettings {
        anticipation: false,
        ..even(Rhythm::Charleston)
    };
    assert_eq!(
        struck("| Dm7 G7 | C6 |", &behind, 3840.0),
        [
            (0, 0.0, 1440.0, 0),
            (0, 1440.0, 1920.0, 1),
            (1, 1920.0, 3360.0, 0),
            (1, 3360.0, 3840.0, 1)
        ]
    );
    // The chord of the second beat begins on it, and the one of the fourth comes early.
    assert_eq!(
        struck("| Dm7 G7 / A7 |", &even(Rhythm::Charleston), 3840.0),
        [
            (0, 0.0, 960.0, 0),
            (1, 960.0, 2400.0, 0),
            (2, 2400.0, 3840.0, 1)
        ]
    );
}

#[test]
fn bossa_nova_is_straight() {
    assert_eq!(
        struck("| C6 |", &RhythmSettings::new(Rhythm::Bossa), 3840.0),
        [
            (0, 0.0, 960.0, 0),
            (0, 1440.0, 2400.0, 1),
            (0, 2880.0, 3360.0, 0)
        ]
    );
}

#[test]
fn a_push_waits_for_room() {
    assert_eq!(
        struck("| Dm7 / / G7 | C6 |", &even(Rhythm::Push), 3840.0),
        [
            (0, 0.0, 2400.0, 1),
            (1, 2400.0, 3360.0, 1),
            (2, 3360.0, 7200.0, 1)
        ]
    );
    assert_eq!(
        struck(
            "| C6 F6 G7 A7 Bb6 Eb6 Ab6 Db6 |",
            &even(Rhythm::Push),
            1000.0
        ),
        [
            (0, 0.0, 480.0, 1),
            (1, 480.0, 960.0, 1),
            (2, 960.0, 1440.0, 1)
        ]
    );
}

#[test]
fn silence_is_not_struck_and_no_chord_is_left_out() {
    let waltz = RhythmSettings {
        anticipation: false,
        ..even(Rhythm::JazzWaltz)
    };
    assert_eq!(
        struck("3/4 | C6 / F6 | N.C. |", &waltz, 5760.0),
        [
            (0, 0.0, 960.0, 0),
            (0, 1440.0, 1920.0, 1),
            (1, 1920.0, 2880.0, 0)
        ]
    );
}

#[test]
fn a_chart_that_does_not_repeat_ends() {
    let once = RhythmSettings {
        repeats: false,
        ..even(Rhythm::OffBeats)
    };
    assert_eq!(
        struck("| C6 |", &once, 9000.0),
        [(0, 1440.0, 1920.0, 1), (0, 3360.0, 3840.0, 1)]
    );
}

#[test]
fn drawn_cells_last_to_the_next_one() {
    let drawn = RhythmSettings {
        drawn: "l-s-----l-------------s---------".to_owned(),
        ..even(Rhythm::Drawn)
    };
    assert_eq!(
        struck("| C6 | % |", &drawn, 7680.0),
        [
            (0, 0.0, 960.0, 0),
            (0, 960.0, 1440.0, 0),
            (0, 6720.0, 7200.0, 0)
        ]
    );
}

#[test]
fn a_dominants_inner_line_moves_on_a_beat() {
    let inner = RhythmSettings {
        inner_lines: true,
        ..even(Rhythm::Hold)
    };
    let play = EvenPlay {
        sample_rate_hz: 48_000.0,
        tempo_bpm: 120.0,
        from_beats: 0.0,
        stop_samples: 72_000,
    };
    let notes = Oracle::new("3/4 | G7 | Cmaj7 |").notes(&inner, &play);
    let times: Vec<(u64, u64)> = notes
        .iter()
        .map(|n| (n.start_samples, n.end_samples))
        .collect();
    // Half of three beats is rounded up to the second.
    let (all, half) = ((0, 72_000), (0, 48_000));
    let expected = [all, all, all, half, (48_000, 72_000)];
    let count = |time| times.iter().filter(|t| **t == time).count();
    assert_eq!(times.len(), 5);
    assert!(expected.iter().all(|time| count(*time) > 0), "{times:?}");
}
