//! Chords that yield to the melody that is written over the chart, and to the right hand besides.

use super::*;
use guidehand_theory::degree::Degree;

const MINOR: &str = "| Dm7b5 | G7 | Cm6 |";
/// An A over G7.
const MELODY: &str = "| | A5/1 | |";
/// Where the second bar begins.
const SECOND: u32 = 4 * BEAT;

/// What the second chord holds, with these steps.
fn second(settings: Settings, song: &PlannedChart, steps: &[(u32, Step)]) -> Vec<u8> {
    play_steps(settings, Some(song), steps, SECOND + BEAT, &[4096]).starts_at(SECOND)
}

/// G7 to C minor has b9 and b13. Under A it has the 9.
#[test]
fn a_tension_yields_to_a_written_note() {
    let plain = second(charted(), &chart_of(MINOR), &[]);
    assert!(classes(&plain).contains(&8), "{plain:?}");
    let song = chart_under(MINOR, MELODY, Yielding::Tensions);
    let settings = yielding(charted(), Yielding::Tensions);
    let played = play_steps(settings, Some(&song), &[], SECOND + BEAT, &[4096]);
    let chord = played.starts_at(SECOND);
    assert!(!classes(&chord).contains(&8), "{chord:?}");
    assert!(classes(&chord).contains(&9), "{chord:?}");
    let told = played.shown.yielded.yields;
    assert_eq!(told.len(), 1, "{told:?}");
    assert_eq!(told[0].degree, Degree::Flat9);
}

/// A plan for chords that do not yield is the plan without a melody, and the other way round.
#[test]
fn a_plan_for_other_settings_serves_until_there_is_a_new_one() {
    let plain = second(charted(), &chart_of(MINOR), &[]);
    let off = chart_under(MINOR, MELODY, Yielding::Off);
    assert_eq!(second(charted(), &off, &[]), plain);
    let on = yielding(charted(), Yielding::Tensions);
    assert!(!classes(&second(on, &off, &[])).contains(&8));
    let planned = chart_under(MINOR, MELODY, Yielding::Tensions);
    assert!(classes(&second(charted(), &planned, &[])).contains(&8));
}

/// What the right hand holds counts besides what is written.
#[test]
fn the_right_hand_counts_besides_what_is_written() {
    let song = chart_under(MINOR, MELODY, Yielding::Tensions);
    let settings = yielding(charted(), Yielding::Tensions);
    let alone = second(settings, &song, &[]);
    assert!(classes(&alone).contains(&3), "{alone:?}");
    let both = second(settings, &song, &[(SECOND - 100, Step::On(76))]);
    let both = classes(&both);
    assert!(!both.contains(&8) && !both.contains(&3), "{both:?}");
}

/// A note that moves for the right hand does not move into what is written.
#[test]
fn a_moved_note_agrees_with_what_is_written() {
    let song = chart_under("| G7b9 | Cm6 |", "| Ab5/1 | |", Yielding::Tensions);
    let mut settings = in_rhythm(
        yielding(charted(), Yielding::Tensions),
        Rhythm::FourToTheBar,
    );
    settings.right_hand.revoices = true;
    for key in 72..=83 {
        let steps = [(500, Step::On(key)), (900, Step::Off(key))];
        let played = play_steps(settings, Some(&song), &steps, 2 * BEAT, &[500]);
        let again = classes(&played.starts_at(BEAT));
        assert!(!again.is_empty());
        // G and A lie a half step off Ab; G is the root, and A is a ninth that nobody wrote.
        assert!(!again.contains(&9), "under {key}: {again:?}");
    }
}

/// A line that would move a voice into the melody does not begin.
#[test]
fn an_inner_line_does_not_move_into_what_is_written() {
    // 13 goes to b13 while the dominant sounds.
    let text = "| Dm7 | G7 | Cmaj7 |";
    let mut settings = charted();
    settings.chart.inner_lines = true;
    let moves = |to, melody: &str| {
        let song = chart_under(text, melody, to);
        let settings = yielding(settings, to);
        let played = play_steps(settings, Some(&song), &[], 2 * SECOND - 10, &[4096]);
        played.strikes().iter().any(|at| *at > SECOND)
    };
    assert!(moves(Yielding::Off, "| | E5/1 | |"));
    assert!(!moves(Yielding::Tensions, "| | E5/1 | |"));
    assert!(moves(Yielding::Tensions, "| | B5/1 | |"));
}
