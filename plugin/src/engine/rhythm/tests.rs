//! Single bars of single rhythms. The built plugin is compared with a model in `tests/` that is
//! written independently.

mod free;

use super::*;
use crate::engine::planned::PlannedChart;
use crate::engine::settings::PlanFor;
use crate::engine::timeline::Timeline;
use guidehand_theory::chart;

fn groove(rhythm: Rhythm) -> Groove {
    Groove {
        rhythm,
        swing: 0.5,
        length: 1.0,
        ahead: true,
        ..Groove::default()
    }
}

fn song(text: &str) -> PlannedChart {
    PlannedChart::plan(&chart::parse(text).unwrap(), PlanFor::default(), 0)
}

fn strikes(song: &PlannedChart, bar: i64, groove: &Groove, bpm: f64) -> Vec<Strike> {
    let timeline = Timeline::Chart {
        song,
        repeats: true,
    };
    let bar = timeline.bar(bar).unwrap();
    let mut strikes = Strikes::default();
    strikes.work_out(&bar, &timeline.spans(&bar), groove, bpm);
    strikes.as_slice().to_vec()
}

/// Start and end in ticks from the start of the bar, and the change.
fn played(song: &PlannedChart, bar: i64, groove: &Groove) -> Vec<(f64, f64, usize)> {
    let timeline = Timeline::Chart {
        song,
        repeats: true,
    };
    let from = timeline.bar(bar).unwrap().start_ticks;
    strikes(song, bar, groove, 120.0)
        .iter()
        .map(|s| (s.start_ticks - from, s.end_ticks - from, s.span.change))
        .collect()
}

/// A chord that comes on beat 3 sounds from the off-beat before it into its own time, and has its
/// own Charleston.
#[test]
fn a_chord_of_two_beats_has_the_form_of_two_beats() {
    let song = song("| Dm7 G7 | Cmaj7 | % |");
    let charleston = groove(Rhythm::Charleston);
    assert_eq!(
        played(&song, 0, &charleston),
        [(0.0, 1440.0, 0), (1440.0, 2880.0, 1), (3360.0, 4800.0, 2)]
    );
    assert_eq!(played(&song, 1, &charleston), [(1440.0, 1920.0, 2)]);
    assert_eq!(
        played(&song, 2, &charleston),
        [(0.0, 1440.0, 2), (1440.0, 1920.0, 2)]
    );
    let plain = Groove {
        ahead: false,
        ..charleston
    };
    let expected = [
        (0.0, 1440.0, 0),
        (1440.0, 1920.0, 0),
        (1920.0, 3360.0, 1),
        (3360.0, 3840.0, 1),
    ];
    assert_eq!(played(&song, 0, &plain), expected);
    // Two beats that begin on the second one.
    let song = self::song("| Dm7 G7 / A7 |");
    let expected = [(0.0, 960.0, 0), (960.0, 2400.0, 1), (2400.0, 3840.0, 2)];
    assert_eq!(played(&song, 0, &groove(Rhythm::Charleston)), expected);
}

/// A chord that comes on beat 3 is not kept waiting where the pattern strikes on beat 4 alone: it is
/// struck on its start, or has come early. After a pattern that waits itself, it waits.
#[test]
fn a_chord_on_the_third_beat_does_not_wait_for_the_fourth() {
    let song = song("| Dm7 | G7 Db7 | Cmaj7 A7 | % |");
    let of = |rhythm, ahead, bar| {
        let groove = Groove {
            ahead,
            ..groove(rhythm)
        };
        played(&song, bar, &groove)
    };
    for ahead in [false, true] {
        let ballad = of(Rhythm::Ballad, ahead, 1);
        assert_eq!(ballad, [(0.0, 1920.0, 1), (1920.0, 3840.0, 2)]);
    }
    let bossa = of(Rhythm::Bossa, true, 2);
    assert_eq!(
        bossa[bossa.len() - 2..],
        [(1440.0, 2880.0, 4), (2880.0, 3360.0, 4)]
    );
    let bossa = of(Rhythm::Bossa, false, 2);
    assert_eq!(bossa[2..], [(1920.0, 2880.0, 4), (3360.0, 3840.0, 4)]);
    let back_beat = of(Rhythm::TwoAndFour, true, 1);
    assert_eq!(back_beat, [(960.0, 1920.0, 1), (2880.0, 3840.0, 2)]);
}

/// In every rhythm, meter and length a strike shares time with its chord, and no chord of a beat or
/// more is without one.
#[test]
fn no_strike_lies_outside_its_chord_and_no_chord_is_left_out() {
    let rhythms = [
        Rhythm::Charleston,
        Rhythm::LateCharleston,
        Rhythm::OffBeats,
        Rhythm::TwoAndFour,
        Rhythm::Bossa,
        Rhythm::JazzWaltz,
        Rhythm::ReverseCharleston,
        Rhythm::FourToTheBar,
        Rhythm::Ballad,
        Rhythm::TwoBeat,
        Rhythm::Samba,
        Rhythm::Bolero,
        Rhythm::SixEight,
        Rhythm::FiveFour,
        Rhythm::GospelWaltz,
        Rhythm::Push,
        Rhythm::Drawn,
    ];
    let charts = [
        "| Dm7 G7 | Cmaj7 A7 | Dm7 | G7 |",
        "| Dm7 / / G7 | Cmaj7 | N.C. Db7 | C6 / Ab7 G7 |",
        "| even C6 F6 G7 A7 | even C6 F6 G7 | Dm7 G7 / A7 |",
        "3/4 | Dm7 G7 | Cmaj7 | A7 / / |",
        "5/4 | Dm7 G7 | Cmaj7 |",
        "6/8 | Dm7 G7 | Cmaj7 | 12/8 Am7 D7 |",
        "Pickup G7 | Cmaj7 | Dm7 G7 |",
    ];
    for text in charts {
        let song = song(text);
        for rhythm in rhythms {
            for (length, density, variation, drawn) in [
                (1.0, 0.0, 0.0, "l--s"),
                (1.0, 0.0, 1.0, "l--s"),
                (0.25, 1.0, 0.5, "s------s"),
                (2.0, -1.0, 0.0, "-s-s-s-s"),
            ] {
                let groove = Groove {
                    length,
                    density,
                    variation,
                    drawn: Drawn::from_text(drawn),
                    ..groove(rhythm)
                };
                within_its_chord(&song, &groove, &format!("{text}, {groove:?}"));
            }
        }
    }
}

fn within_its_chord(song: &PlannedChart, groove: &Groove, what: &str) {
    let timeline = Timeline::Chart {
        song,
        repeats: true,
    };
    let mut all: Vec<Strike> = Vec::new();
    for bar in 0..24 {
        for strike in strikes(song, bar, groove, 120.0) {
            if let Some(before) = all.last_mut() {
                before.end_ticks = before.end_ticks.min(strike.start_ticks);
            }
            all.push(strike);
        }
    }
    let last = all.pop().unwrap();
    for strike in &all {
        let span = strike.span;
        let inside = strike.start_ticks < span.end_ticks && strike.end_ticks > span.start_ticks;
        assert!(inside, "{what}: {strike:?}");
    }
    let first = timeline.span_at(0.0);
    let spans = std::iter::successors(first, |before| timeline.span_after(before));
    let spans = spans.take_while(|span| span.end_ticks < last.start_ticks);
    for span in spans.filter(|span| !span.silent) {
        let struck = all.iter().any(|strike| strike.span == span);
        assert!(struck, "{what}: {span:?}");
    }
}

/// A drawn strike is never dropped: where the change itself is drawn, the off-beat before it plays
/// the chord in force.
#[test]
fn what_is_drawn_is_struck() {
    let song = song("| Dm7 | G7 |");
    let drawn = Groove {
        drawn: Drawn::from_text("s------s"),
        ..groove(Rhythm::Drawn)
    };
    let expected = |change| [(0.0, 480.0, change), (3360.0, 3840.0, change)];
    assert_eq!(played(&song, 0, &drawn), expected(0));
    assert_eq!(played(&song, 1, &drawn), expected(1));
}

#[test]
fn a_push_comes_an_eighth_early_but_for_the_first() {
    let song = song("| Dm7 | G7 |");
    let push = groove(Rhythm::Push);
    assert_eq!(
        played(&song, 0, &push),
        [(0.0, 3360.0, 0), (3360.0, 7680.0, 1)]
    );
    assert_eq!(played(&song, 1, &push), [(3360.0, 7680.0, 0)]);
}

#[test]
fn a_chord_that_came_early_is_not_struck_again() {
    let song = song("| Dm7 | G7 |");
    let drawn = Groove {
        drawn: Drawn::from_text("-------s"),
        ..groove(Rhythm::Drawn)
    };
    // The first one has no bar before it.
    assert_eq!(
        played(&song, 0, &drawn),
        [(0.0, 960.0, 0), (3360.0, 4800.0, 1)]
    );
    assert_eq!(played(&song, 1, &drawn), [(3360.0, 4800.0, 0)]);
}

#[test]
fn swing_follows_the_tempo() {
    let song = song("| Dm7 |");
    let swung = Groove {
        swing: 2.0 / 3.0,
        swing_follows: true,
        ..groove(Rhythm::OffBeats)
    };
    let first = |bpm| strikes(&song, 0, &swung, bpm)[0].start_ticks.round();
    assert_eq!(
        [first(120.0), first(220.0), first(280.0), first(360.0)],
        [1600.0, 1600.0, 1520.0, 1440.0]
    );
    let song = self::song("6/8 | Dm7 |");
    assert_eq!(strikes(&song, 0, &swung, 120.0)[0].start_ticks, 1440.0);
}

/// Bossa nova is played in straight eighths (common practice, no published source).
#[test]
fn a_straight_style_is_straight_whatever_the_swing() {
    let song = song("| Dm7 | G7 |");
    for follows in [false, true] {
        let swung = Groove {
            swing: 0.75,
            swing_follows: follows,
            ..groove(Rhythm::Bossa)
        };
        assert!(!swung.follows_tempo());
        for bar in 0..4 {
            let straight = strikes(&song, bar, &groove(Rhythm::Bossa), 120.0);
            assert_eq!(strikes(&song, bar, &swung, 120.0), straight);
        }
    }
}

#[test]
fn thinning_leaves_the_first_of_each_chord() {
    let song = song("| Dm7 G7 | Cmaj7 |");
    let thin = Groove {
        density: -1.0,
        ..groove(Rhythm::Bossa)
    };
    let chords = |bar| -> Vec<usize> {
        let strikes = played(&song, bar, &thin);
        strikes.iter().map(|(_, _, change)| *change).collect()
    };
    // The last eighth of the second bar takes the chord of the third ahead.
    assert_eq!([chords(0), chords(1)], [vec![0, 1], vec![2, 0]]);
    assert_eq!(chords(2), [1]);
    let full = Groove {
        density: 1.0,
        ..groove(Rhythm::Charleston)
    };
    let counts: Vec<usize> = (0..64).map(|bar| played(&song, bar, &full).len()).collect();
    // A chord that came early leaves the off-beat alone in its bar.
    assert!(counts.iter().all(|n| (1..=8).contains(n)), "{counts:?}");
    let mean = counts.iter().sum::<usize>() / counts.len();
    assert_eq!(mean, 4, "{counts:?}");
}

#[test]
fn touch_keeps_its_limits_and_the_order() {
    let song = song("7/8 | Dm7 G7 Em7 A7 | Cmaj7 |");
    let touched = Groove {
        touch_seconds: 0.03,
        touch_velocity: 20.0 / 127.0,
        density: 0.5,
        seed: 7,
        ..groove(Rhythm::Bossa)
    };
    let plain = Groove {
        touch_seconds: 0.0,
        touch_velocity: 0.0,
        ..touched
    };
    let mut last = 0.0;
    for bar in 0..200 {
        let a = strikes(&song, bar, &touched, 300.0);
        let b = strikes(&song, bar, &plain, 300.0);
        assert_eq!(a.len(), b.len());
        for (a, b) in a.iter().zip(&b) {
            assert!((a.start_ticks - b.start_ticks).abs() <= 120.0);
            assert!(a.touch.abs() <= 20.0 / 127.0);
            assert!(a.start_ticks >= last && a.end_ticks >= a.start_ticks);
            last = a.start_ticks;
        }
    }
    assert_ne!(strikes(&song, 3, &touched, 300.0), {
        let other = Groove { seed: 8, ..touched };
        strikes(&song, 3, &other, 300.0)
    });
}
