//! Swing on a page: notes are written as even eighths, and a mark says how they are played (W3C
//! MusicXML 4.0, `swing`). Imports `score`.

use crate::score::{Note, Score};
use guidehand_theory::chart::{Bar, Chart, TICKS_PER_QUARTER};

const QUARTER: f64 = TICKS_PER_QUARTER as f64;
const EIGHTH: f64 = QUARTER / 2.0;
/// A chord is struck at most this far from its time, in ticks, and still belongs to it.
const NEAR: u32 = 60;
/// Eighths are even if the off-beat is no further from the middle of its beat than this.
const EVEN: f64 = 0.01;
/// The largest number in a ratio.
const LARGEST: u32 = 100;

/// The lengths of two eighths as a ratio, such as 2 to 1. None if they are even.
pub fn ratio(off_beat: f64) -> Option<(u32, u32)> {
    if !(0.5 + EVEN..1.0 - EVEN).contains(&off_beat) {
        return None;
    }
    (2..=LARGEST).find_map(|sum| {
        let first = (1..sum).find(|first| {
            let share = f64::from(*first) / f64::from(sum);
            (share - off_beat).abs() < EVEN / 2.0
        })?;
        Some((first, sum - first))
    })
}

/// The score with its notes as even eighths.
pub fn even(score: &Score) -> Score {
    let mut score = score.clone();
    let off_beat = score.off_beat * QUARTER;
    let chart = &score.chart;
    for note in score.comping.iter_mut().chain(&mut score.bass) {
        *note = straight(chart, note, off_beat);
    }
    score.off_beat = 0.5;
    score
}

/// A note whose off-beats stand in the middle of their beats. Where a chord of the chart begins it
/// stays, because only eighths swing.
fn straight(chart: &Chart, note: &Note, off_beat: f64) -> Note {
    let is_chord = |at: u32| {
        let first = chart
            .changes
            .partition_point(|change| change.start_ticks + NEAR < at);
        let next = chart.changes.get(first);
        next.is_some_and(|change| change.start_ticks.abs_diff(at) <= NEAR)
    };
    let place = |at: u32| match bar_at(chart, at) {
        Some(bar) if bar.meter.unit <= 4 => {
            let inside = (at - bar.start_ticks) % TICKS_PER_QUARTER;
            (at - inside, f64::from(inside))
        }
        _ => (at, 0.0),
    };
    let start = |at: u32| {
        let (beat, inside) = place(at);
        let near = (inside - off_beat).abs() <= f64::from(NEAR);
        if near && !is_chord(at) {
            whole(f64::from(beat) + inside - off_beat + EIGHTH)
        } else {
            at
        }
    };
    let end = |at: u32| {
        if is_chord(at) {
            return at;
        }
        let (beat, inside) = place(at);
        let moved = if inside < off_beat {
            inside * EIGHTH / off_beat
        } else {
            EIGHTH + (inside - off_beat) * EIGHTH / (QUARTER - off_beat)
        };
        whole(f64::from(beat) + moved)
    };
    let from = start(note.start_ticks);
    let to = end(note.end_ticks());
    Note {
        start_ticks: from,
        length_ticks: if note.length_ticks == 0 {
            0
        } else {
            to.saturating_sub(from).max(1)
        },
        ..*note
    }
}

fn bar_at(chart: &Chart, at: u32) -> Option<&Bar> {
    let after = chart.bars.partition_point(|bar| bar.start_ticks <= at);
    chart.bars.get(after.checked_sub(1)?)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "rounded, and never outside of the chart's ticks"
)]
fn whole(ticks: f64) -> u32 {
    ticks.round().max(0.0) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ratios_are_small_numbers() {
        assert_eq!(ratio(0.5), None);
        assert_eq!(ratio(0.505), None);
        assert_eq!(ratio(2.0 / 3.0), Some((2, 1)));
        assert_eq!(ratio(0.6), Some((3, 2)));
        assert_eq!(ratio(0.75), Some((3, 1)));
        assert_eq!(ratio(f64::NAN), None);
    }
}
