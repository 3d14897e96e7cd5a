//! Keys of the right hand: which are recorded, where they go down and up, and where those end that are
//! held when time ends.

use super::*;
use crate::engine::rhythm::Rhythm;
use crate::engine::settings::{BassSettings, ChartSettings};

#[test]
fn keys_at_the_split_and_above_are_recorded_where_they_go_down_and_up() {
    let steps = [
        ON,
        at(0, On(72)),
        at(3, On(48)),
        at(950, Off(72)),
        at(960, On(60)),
        at(970, Off(48)),
        at(1000, On(76)),
        at(4800, Off(60)),
        at(4801, Off(76)),
    ];
    let taken = Host::default().play(&steps, 6000 * 25);
    assert_eq!(taken[0], Taken::Begun(1));
    let expected = [
        (72, (0, 950), (0, 0)),
        (60, (960, 4800), (0, 0)),
        (76, (1000, 4801), (0, 0)),
    ];
    assert_eq!(notes(&taken), expected);
    let bars: Vec<(u32, u32)> = taken
        .iter()
        .filter_map(|one| match one {
            Taken::Note(note) => Some((note.bar.start_ticks, note.bar.length_ticks)),
            _ => None,
        })
        .collect();
    assert_eq!(bars, [(0, 3840); 3]);
}

/// Nothing is recorded before the player wants it and after it, while the song stands still, beyond
/// the chart, and where no chart plays.
#[test]
fn what_is_not_played_over_the_chart_is_not_recorded() {
    let note = [at(100, On(72)), at(200, Off(72))];
    let none = |host: &Host, steps: &[(u32, Step)]| {
        let all = [steps, &note].concat();
        assert_eq!(notes(&host.play(&all, 300 * 25)), []);
    };
    none(&Host::default(), &[]);
    none(&Host::default(), &[ON, at(50, Record(0))]);
    none(&Host::default(), &[ON, at(50, Stop)]);
    none(
        &Host::with(|s| s.chart.repeats = false),
        &[ON, at(50, Play(16.0))],
    );
    none(&Host::default(), &[ON, at(50, Play(-8.0))]);
    none(&Host::with(|s| s.bypass = true), &[ON]);
    none(&Host::with(|s| s.split = 73), &[ON]);
    for source in [Source::Roots, Source::Reading, Source::Practice] {
        none(&Host::with(|s| s.source = source), &[ON]);
    }
    let by_root = BassSettings {
        by_chart: false,
        ..Settings::plain(Source::Bass).bass
    };
    let host = Host::with(|s| (s.source, s.bass) = (Source::Bass, by_root));
    none(&host, &[ON]);
    // Over the chart of a bass they are.
    let taken =
        Host::with(|s| s.source = Source::Bass).play(&[&[ON], &note[..]].concat(), 300 * 25);
    assert_eq!(notes(&taken), [(72, (100, 200), (0, 0))]);
}

/// The chart may begin later in the song. A key that is early for its first bar is in it.
#[test]
fn places_count_from_the_start_of_the_chart() {
    let host = Host::with(|s| {
        s.chart = ChartSettings {
            from_bar: 3,
            ..s.chart
        };
    });
    let early = 2 * 3840 - 100;
    let steps = [
        ON,
        at(early - 100, On(71)),
        at(early - 10, Off(71)),
        at(early, On(72)),
        at(8000, Off(72)),
    ];
    let taken = host.play(&steps, 9000 * 25);
    assert_eq!(notes(&taken), [(72, (0, 8000 - 2 * 3840), (0, 0))]);
}

/// What ends all time ends what is held: a stop, the end of the take, a reset, another source, a bypass.
#[test]
fn keys_that_are_held_at_the_end_end_there() {
    let another = |change: fn(&mut Settings)| {
        let mut settings = Settings::plain(Source::Chart);
        change(&mut settings);
        Set(settings)
    };
    for end in [
        Stop,
        Record(0),
        Record(2),
        Reset,
        another(|s| s.source = Source::Roots),
        another(|s| s.bypass = true),
    ] {
        let steps = [
            ON,
            at(960, On(72)),
            at(1000, On(76)),
            at(1920, end),
            at(2880, Off(72)),
            at(2881, Off(76)),
        ];
        let taken = Host::default().play(&steps, 3000 * 25);
        let expected = [(72, (960, 1920), (0, 0)), (76, (1000, 1920), (0, 0))];
        assert_eq!(notes(&taken), expected, "{end:?}");
    }
}

/// A take ends, and is reset, right after the chart has started again.
#[test]
fn keys_that_are_held_end_in_the_round_of_the_end() {
    for end in [Record(0), Reset] {
        let note = |after: u32| {
            let steps = [ON, at(ROUND - 960, On(72)), (ROUND * 25 + after, end)];
            let taken = Host::default().play(&steps, (ROUND + 960) * 25);
            notes(&taken)[0].1.1
        };
        assert_eq!((note(0), note(1), note(25)), (ROUND, 0, 1), "{end:?}");
    }
}

/// A chart that does not start again ends what is held.
#[test]
fn the_end_of_a_chart_ends_what_is_held() {
    let host = Host::with(|s| s.chart.repeats = false);
    let steps = [ON, at(ROUND - 960, On(72)), at(ROUND + 960, Off(72))];
    let taken = host.play(&steps, (ROUND + 1000) * 25);
    assert_eq!(notes(&taken), [(72, (ROUND - 960, ROUND), (0, 0))]);
}

/// A key belongs to the hand that struck it, wherever the split has gone since.
#[test]
fn a_key_that_the_split_crosses_is_recorded_to_its_end() {
    let mut higher = Settings::plain(Source::Chart);
    higher.split = 80;
    let steps = [
        ON,
        at(100, On(72)),
        at(300, Set(higher)),
        at(400, On(74)),
        at(500, Off(72)),
        at(600, Set(Settings::plain(Source::Chart))),
        at(700, Off(74)),
        at(750, On(74)),
        at(800, Off(74)),
    ];
    let taken = Host::default().play(&steps, 1000 * 25);
    assert_eq!(
        notes(&taken),
        [(72, (100, 500), (0, 0)), (74, (750, 800), (0, 0))]
    );
}

/// A key that is struck twice, and all notes that end.
#[test]
fn a_key_that_is_struck_again_ends_and_begins() {
    let steps = [
        ON,
        at(100, On(72)),
        at(300, On(72)),
        at(400, On(76)),
        at(500, Panic),
    ];
    let taken = Host::default().play(&steps, 1000 * 25);
    let expected = [
        (72, (100, 300), (0, 0)),
        (72, (300, 500), (0, 0)),
        (76, (400, 500), (0, 0)),
    ];
    assert_eq!(notes(&taken), expected);
}

/// A place is told with the swing of its moment.
#[test]
fn the_swing_of_the_moment_is_told() {
    let swing = |bpm_swings: fn(&mut Settings)| {
        let steps = [ON, at(640, On(72)), at(960, Off(72))];
        match Host::with(bpm_swings).play(&steps, 1000 * 25)[1] {
            Taken::Note(note) => note.off_beat,
            _ => panic!("no note"),
        }
    };
    assert!((swing(|s| s.groove.swing = 0.62) - 0.62).abs() < 1.0e-6);
    assert!((swing(|s| s.groove.swing = 0.5) - 0.5).abs() < 1.0e-6);
    let bossa = |s: &mut Settings| {
        s.groove.rhythm = Rhythm::Bossa;
        s.groove.swing = 0.62;
    };
    assert!((swing(bossa) - 0.5).abs() < 1.0e-6);
}
