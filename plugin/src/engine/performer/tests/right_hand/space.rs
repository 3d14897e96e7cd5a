//! Room that the rhythm leaves to the right hand.

use super::*;

const BARS: u32 = 16;

/// How many chords are struck in each half of sixteen bars. The right hand plays so many notes to the
/// quarter in the first eight, and rests in the others.
fn struck(space: f64, to_the_quarter: u32, sizes: &[u32]) -> ([usize; 2], Vec<u32>) {
    let song = chart_of("| Dm7 | % | % | % |");
    let mut settings = in_rhythm(charted(), Rhythm::FourToTheBar);
    settings.right_hand.space = space;
    settings.groove.seed = 3;
    let half = BARS * 2 * BEAT;
    let step = BEAT / to_the_quarter.max(1);
    let notes = (0..half / step).map(|n| n * step + 700);
    let steps: Vec<_> = notes
        .filter(|_| to_the_quarter > 0)
        .flat_map(|at| [(at, Step::On(76)), (at + step / 2, Step::Off(76))])
        .collect();
    let played = play_steps(settings, Some(&song), &steps, 2 * half, sizes);
    let strikes = played.strikes();
    // What is played in a bar counts in the next.
    let bar = 4 * BEAT;
    let in_half = |from: u32, to: u32| {
        let within = |at: &&u32| **at >= from + 2 * bar && **at < to;
        strikes.iter().filter(within).count()
    };
    ([in_half(0, half), in_half(half, 2 * half)], strikes)
}

/// Six bars of four strikes each.
const AS_WRITTEN: usize = 24;

#[test]
fn the_rhythm_is_thinned_while_the_right_hand_is_busy_and_filled_while_it_rests() {
    let (counts, _) = struck(0.0, 2, &[4096]);
    assert_eq!(counts, [AS_WRITTEN; 2]);
    let ([busy, rests], _) = struck(1.0, 2, &[4096]);
    // One strike a chord at least: the chord changes every four bars.
    assert!(busy <= 4, "{busy}");
    assert!(rests > AS_WRITTEN, "{rests}");
    let ([half_busy, half_rests], _) = struck(0.5, 2, &[4096]);
    assert!(busy < half_busy && half_busy < AS_WRITTEN, "{half_busy}");
    assert!(
        AS_WRITTEN < half_rests && half_rests <= rests,
        "{half_rests}"
    );
}

/// A note to the beat leaves the rhythm as it is, and so does a right hand that has not played.
#[test]
fn quarters_and_silence_leave_the_rhythm_as_it_is() {
    let ([quarters, _], _) = struck(1.0, 1, &[4096]);
    assert_eq!(quarters, AS_WRITTEN);
    let (silence, _) = struck(1.0, 0, &[4096]);
    assert_eq!(silence, [AS_WRITTEN; 2]);
}

/// The same input gives the same strikes, in blocks of any size.
#[test]
fn room_does_not_depend_on_blocks() {
    let (_, whole) = struck(0.7, 2, &[4 * BARS * BEAT]);
    for sizes in [&[64][..], &[441], &[4096, 17, 100_000]] {
        assert_eq!(struck(0.7, 2, sizes).1, whole, "{sizes:?}");
    }
}

/// Time that passes counts, and not the place in the song: after a jump the room is what it was.
#[test]
fn a_jump_leaves_the_room_as_it_was() {
    let song = chart_of("| Dm7 | % | % | % |");
    let mut settings = in_rhythm(charted(), Rhythm::FourToTheBar);
    settings.right_hand.space = 1.0;
    let bar = 4 * BEAT;
    let mut steps: Vec<(u32, Step)> = Vec::new();
    for eighth in 0..64 {
        let at = eighth * BEAT / 2 + 700;
        steps.extend([(at, Step::On(76)), (at + 5000, Step::Off(76))]);
    }
    steps.push((4 * bar + BEAT, Step::Play(1.0)));
    steps.sort_by_key(|(at, _)| *at);
    let played = play_steps(settings, Some(&song), &steps, 8 * bar, &[900]);
    let after = |at: &&u32| **at > 4 * bar + BEAT && **at < 7 * bar;
    assert_eq!(played.strikes().iter().filter(after).count(), 0);
}
