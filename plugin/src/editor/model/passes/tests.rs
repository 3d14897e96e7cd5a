//! What was played becomes a melody. Rhythms are written as players write them: common practice, no
//! published source.

use super::*;
use guidehand_theory::chart;
use guidehand_theory::melody;
use proptest::prelude::*;

const FOUR_BARS: &str = "| Dm7 | G7 | Cmaj7 | A7 |";

fn chart_of(text: &str) -> Chart {
    chart::parse(text).unwrap()
}

fn melody_of(text: &str, chart: &Chart) -> Melody {
    melody::parse(text, chart).unwrap()
}

/// Notes of one pass: key, start and end.
type Played<'a> = &'a [(u8, u32, u32)];

fn note(chart: &Chart, pass: u32, (key, start, end): (u8, u32, u32), off_beat: f32) -> TakenNote {
    TakenNote {
        key,
        pass,
        start_ticks: start,
        ended_pass: pass,
        end_ticks: end,
        off_beat,
        bar: taken_bar(&chart.bars[chart.bar_at(start)]),
    }
}

/// Passes of a loop that turns from one tick to another.
fn loops(chart: &Chart, (from, end): (u32, u32), passes: &[Played], off_beat: f32) -> Passes {
    let mut all = Passes::default();
    for (pass, played) in (1..).zip(passes) {
        if pass > 1 {
            all.put(Taken::Turned {
                pass,
                left_ticks: end,
                arrived_ticks: from,
            });
        }
        for one in *played {
            all.put(Taken::Note(note(chart, pass, *one, off_beat)));
        }
    }
    all
}

/// The melody of one pass over a chart without one.
fn line(text: &str, played: Played, off_beat: f32) -> String {
    let chart = chart_of(text);
    let passes = loops(&chart, (0, chart.length_ticks()), &[played], off_beat);
    let merged = merge(&Melody::default(), &passes, &chart);
    merged.melody.text(&chart)
}

#[test]
fn what_is_played_freely_is_written_in_sixteenths_and_triplets() {
    let played: Played = &[
        (72, 7, 230),
        (74, 251, 470),
        (76, 491, 940),
        (77, 968, 1290),
        (79, 1275, 1600),
        (81, 1611, 1900),
        (79, 1930, 3800),
    ];
    let expected = "| C5/16 D5 E5/8 F5/8t G5 A5 G5/2 |";
    assert_eq!(line(FOUR_BARS, played, 0.5), expected);
}

/// Swung eighths are plain ones at every swing, and what is no swung eighth is not.
#[test]
fn swung_eighths_are_written_as_plain_ones() {
    for off_beat in [0.5_f32, 0.55, 0.6, 2.0 / 3.0, 0.72, 0.75] {
        let off = |beat: u32| {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let into = (off_beat * 960.0).round() as u32;
            beat * 960 + into
        };
        let played = [
            (72, 5, off(0) - 20),
            (74, off(0) + 12, 950),
            (76, 970, off(1)),
            (77, off(1) - 15, 1900),
            (79, 1920 + 320, 2555),
            (81, 1920 + 645, 2860),
            (83, 2890, off(3)),
            (84, off(3), off(3) + 200),
        ];
        let expected = "| C5/8 D5 E5 F5 r/8t G5 A5 B5/8 C6 |";
        let found = line(FOUR_BARS, &played, off_beat);
        // A short note is as short as it was played.
        assert!(
            found.starts_with(&expected[..expected.len() - 5]),
            "{off_beat}: {found}"
        );
        assert!(found.contains(" C6"), "{off_beat}: {found}");
    }
    // A chart whose beats are eighths does not swing.
    let played: Played = &[(72, 0, 630), (74, 640, 1430)];
    let found = line("6/8 | C6 | F6 |", played, 2.0 / 3.0);
    assert!(found.starts_with("| C5/4t D5"), "{found}");
}

/// Beats count from the bar line, also where the bar before ends within a beat.
#[test]
fn beats_count_from_the_bar_line() {
    // The bar lasts three and a half quarters. A triplet begins the next one.
    let bar = 7 * 480;
    let played = [
        (72, bar + 2, bar + 300),
        (74, bar + 325, bar + 630),
        (76, bar + 638, bar + 950),
        (77, bar + 962, bar + 1900),
    ];
    let found = line("7/8 | C6 | F6 |", &played, 0.5);
    assert_eq!(found, "| | C5/8t D5 E5 F5/4 |");
}

/// Of fingers that go down together the highest is the melody.
#[test]
fn the_highest_of_a_chord_is_the_melody() {
    let played: Played = &[
        (72, 0, 940),
        (76, 9, 950),
        (79, 15, 955),
        (77, 963, 1910),
        (65, 1000, 1500),
    ];
    assert_eq!(line(FOUR_BARS, played, 0.5), "| G5 F5 |");
}

/// A later pass over a bar takes its place where something is played. Other bars stay.
#[test]
fn the_last_pass_over_a_bar_counts() {
    let chart = chart_of(FOUR_BARS);
    let before = melody_of("| A4/1 | B4/1 | C5/1 | D5/1 |", &chart);
    let passes: [Played; 3] = [
        &[(72, 0, 960), (74, 3840, 7680), (76, 7680, 8640)],
        &[],
        &[(79, 3840 + 960, 3840 + 1920)],
    ];
    let merged = merge(&before, &loops(&chart, (0, 4 * 3840), &passes, 0.5), &chart);
    let expected = "| C5 r/2. | r/4 G5 r/2 | E5/4 r/2. | D5/1 |";
    assert_eq!(merged.melody.text(&chart), expected);
    assert_eq!((merged.bars, merged.without_bar), (vec![0, 1, 2], 0));
}

/// A bar into which a note rings on for a beat is played, and one into which it rings for less is not.
/// Then its own notes end it.
#[test]
fn what_rings_on_into_a_bar() {
    let chart = chart_of(FOUR_BARS);
    let before = melody_of("| A4/1 | B4/2 B4 | C5/1 | D5/1 |", &chart);
    let ringing = |end: u32| {
        let passes = loops(&chart, (0, 4 * 3840), &[&[(72, 2880, end)]], 0.5);
        merge(&before, &passes, &chart)
    };
    let merged = ringing(3840 + 480);
    assert_eq!(
        merged.melody.text(&chart),
        "| r/2. C5/4 | B4/2 B4 | C5/1 | D5 |"
    );
    assert_eq!(merged.bars, [0]);
    let merged = ringing(3840 + 960);
    assert_eq!(
        merged.melody.text(&chart),
        "| r/2. C5/4~ | C5 r/2. | C5/1 | D5 |"
    );
    assert_eq!(merged.bars, [0, 1]);
    // A note of the melody that rings on into a bar that is played ends there, and what it has in one
    // that is not goes on.
    let before = melody_of("| A4/1~ | A4/1~ | A4/1 | D5/1 |", &chart);
    let passes = loops(&chart, (0, 4 * 3840), &[&[(72, 3840, 4800)]], 0.5);
    let merged = merge(&before, &passes, &chart);
    assert_eq!(
        merged.melody.text(&chart),
        "| A4/1 | C5/4 r/2. | A4/1 | D5 |"
    );
}

/// A key that is early for the turn of a loop is meant for its start, whether it is held or not.
#[test]
fn a_key_before_the_turn_is_meant_for_the_start() {
    let chart = chart_of("Pickup G7 | C6 | F6 | Bb6 |");
    let (from, end) = (960, 960 + 2 * 3840);
    let before = melody_of("| r/4 | | | Bb4/1 |", &chart);
    let mut passes = loops(&chart, (from, end), &[&[(72, from, from + 950)], &[]], 0.5);
    let early = note(&chart, 1, (74, end - 90, end - 10), 0.5);
    let held = TakenNote {
        ended_pass: 2,
        end_ticks: from + 1900,
        ..early
    };
    passes.put(Taken::Note(early));
    let merged = merge(&before, &passes, &chart);
    assert_eq!(
        merged.melody.text(&chart),
        "| | D5/16 r/2.. r/16 | | Bb4/1 |"
    );
    let mut passes = loops(&chart, (from, end), &[&[(72, from, from + 950)], &[]], 0.5);
    passes.put(Taken::Note(held));
    let merged = merge(&before, &passes, &chart);
    assert_eq!(merged.melody.text(&chart), "| | D5/2 r | | Bb4/1 |");
    // One that is held over the turn and was struck well before it ends with the loop.
    let mut passes = loops(&chart, (from, end), &[&[], &[]], 0.5);
    passes.put(Taken::Note(TakenNote {
        start_ticks: end - 960,
        ..held
    }));
    let merged = merge(&before, &passes, &chart);
    assert_eq!(merged.melody.text(&chart), "| | | r/2. D5/4 | Bb4/1 |");
}

/// Notes over bars that the chart no longer has in their place are left out, and counted.
#[test]
fn a_chart_that_was_replaced_has_other_bars() {
    let chart = chart_of(FOUR_BARS);
    let passes = loops(
        &chart,
        (0, 4 * 3840),
        &[&[(72, 0, 960), (74, 3840, 4800)]],
        0.5,
    );
    let same_bars = chart_of("| Em7b5 | A7 | Dm6 | D7 |");
    assert_eq!(
        merge(&Melody::default(), &passes, &same_bars).without_bar,
        0
    );
    let other = chart_of("| Em7b5 | 3/4 A7 | Dm6 |");
    let merged = merge(&Melody::default(), &passes, &other);
    assert_eq!((merged.without_bar, merged.bars), (1, vec![0]));
    let shorter = chart_of("| C6 |");
    assert_eq!(merge(&Melody::default(), &passes, &shorter).without_bar, 1);
    let none = chart_of("5/4 | C6 |");
    let merged = merge(&Melody::default(), &passes, &none);
    assert_eq!((merged.without_bar, merged.melody), (2, Melody::default()));
}

fn notes() -> impl Strategy<Value = Vec<MelodyNote>> {
    let note = (0_u32..64, 1_u32..24, 60_u8..80).prop_map(|(start, length, key)| MelodyNote {
        note: MidiNote::clamp(i32::from(key)),
        name: None,
        start_ticks: start * 240,
        length_ticks: length * 240,
    });
    proptest::collection::vec(note, 0..30)
}

proptest! {
    /// Tick by tick: a bar that is played sounds as the line, and another one as the melody does, or
    /// where that rests as the line that rings on.
    #[test]
    fn bars_are_replaced_whole(old in notes(), new in notes()) {
        let chart = chart_of(FOUR_BARS);
        let within = |notes: Vec<MelodyNote>| {
            let end = chart.length_ticks();
            let clipped = notes.into_iter().map(|n| MelodyNote {
                length_ticks: n.length_ticks.min(end - n.start_ticks),
                ..n
            });
            Melody::new(clipped)
        };
        let (old, new) = (within(old), within(new));
        let bars = bars_of(&new, &chart);
        let merged = replaced(&old, &new, &bars, &chart);
        for tick in (0..chart.length_ticks()).step_by(120) {
            let key = |melody: &Melody| melody.at(tick).map(|n| n.note);
            let expected = if bars.contains(&chart.bar_at(tick)) {
                key(&new)
            } else {
                // A note that rings on ends where one of the bar begins.
                let own_before = old.within(&(chart.bars[chart.bar_at(tick)].start_ticks..tick + 1));
                key(&old).or_else(|| key(&new).filter(|_| own_before.is_empty()))
            };
            prop_assert_eq!(key(&merged), expected, "at {}", tick);
        }
        // Nothing played leaves the melody as it is.
        let silent = replaced(&old, &Melody::default(), &BTreeSet::new(), &chart);
        prop_assert_eq!(silent, old);
    }
}
