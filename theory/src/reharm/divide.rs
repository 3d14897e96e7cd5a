//! Divides the time of a run among new chords, on beats that the meter favours. Imports `grid`;
//! only `run` imports this.

use super::grid::Grid;

/// A row of lengths from one tick to the end.
struct Row {
    /// How far it is from the proportions, then how little the meter favours its beats. The
    /// smaller pair is better.
    price: (u64, u32),
    lengths: Vec<u32>,
}

/// Lengths in ticks, as near to these proportions as the meter allows. Every new chord begins
/// on a beat, and is not held over a beat that the meter favours more than the one on which it
/// begins. Every length is at least a beat. Of rows that are equally near, the one whose chords
/// begin on heavier beats is taken, and of those the one whose chords begin later. None if there
/// is no such row.
pub(super) fn divide(start: u32, length: u32, grid: Grid, weights: &[u32]) -> Option<Vec<u32>> {
    // What shares one half is divided within that half, so that a ii and its V stay equal.
    if let [first, tail @ ..] = weights
        && tail.len() == 2
        && *first == tail.iter().sum::<u32>()
        && let Some(halves) = nearest_row(start, length, grid, &[1, 1])
        && let [head, half] = halves[..]
        && let Some(rest) = nearest_row(start + head, half, grid, tail)
    {
        return Some([head].into_iter().chain(rest).collect());
    }
    nearest_row(start, length, grid, weights)
}

/// The row of lengths that is nearest to the proportions as a whole.
fn nearest_row(start: u32, length: u32, grid: Grid, weights: &[u32]) -> Option<Vec<u32>> {
    let beat = grid.beat_ticks();
    let whole: u64 = weights.iter().map(|w| u64::from(*w)).sum();
    let end = start.checked_add(length)?;
    let first_beat = grid.next_beat(start);
    if weights.is_empty() || whole == 0 || length < beat {
        return None;
    }
    let starts: Vec<u32> = (0..)
        .map(|i| first_beat + i * beat)
        .take_while(|tick| *tick < end)
        .collect();
    // For each beat the best row from there, first for the last chord alone.
    let mut best: Vec<Option<Row>> = starts
        .iter()
        .map(|from| {
            lasts(grid, *from, end).then(|| Row {
                price: (0, 0),
                lengths: vec![end - from],
            })
        })
        .collect();
    let mut sum = whole;
    for (i, weight) in weights.iter().enumerate().rev() {
        sum -= u64::from(*weight);
        if i == 0 {
            break;
        }
        let ideal = u64::from(length) * sum;
        let apart = |from: u32| (u64::from(from - start) * whole).abs_diff(ideal);
        for (from, row) in starts.iter().zip(&mut best) {
            if let Some(row) = row {
                row.price.0 += apart(*from);
                row.price.1 += u32::from(Grid::HEAVIEST - grid.weight(*from));
            }
        }
        let nearest = |from: u32, must_last: bool| -> Option<Row> {
            let mut found: Option<Row> = None;
            for (to, row) in starts.iter().zip(&best) {
                let Some(row) = row else {
                    continue;
                };
                if *to < from + beat || must_last && !lasts(grid, from, *to) {
                    continue;
                }
                let better = found.as_ref().is_none_or(|best| row.price <= best.price);
                if better {
                    let mut lengths = vec![to - from];
                    lengths.extend(&row.lengths);
                    found = Some(Row {
                        price: row.price,
                        lengths,
                    });
                }
            }
            found
        };
        if i == 1 {
            return nearest(start, false).map(|row| row.lengths);
        }
        best = starts.iter().map(|from| nearest(*from, true)).collect();
    }
    Some(vec![length])
}

/// Whether a chord may sound from one tick to the other.
fn lasts(grid: Grid, from: u32, to: u32) -> bool {
    to.saturating_sub(from) >= grid.beat_ticks()
        && grid.outweighed_at(from).is_none_or(|beat| beat >= to)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::{Meter, TICKS_PER_QUARTER as BEAT};

    fn bars(beats: u8) -> Grid {
        Grid::new(Meter::new(beats, 4).unwrap(), 0)
    }

    #[test]
    fn chords_begin_where_the_meter_favours_them() {
        for (meter, from, beats, weights, expected) in [
            (4, 0, 4, &[1, 1][..], &[2, 2][..]),
            (4, 0, 6, &[1, 1], &[4, 2]),
            (4, 0, 12, &[1, 1], &[8, 4]),
            (4, 0, 12, &[2, 1, 1], &[8, 2, 2]),
            (4, 2, 6, &[1, 1], &[2, 4]),
            (4, 0, 3, &[1, 1], &[2, 1]),
            (4, 0, 4, &[2, 1, 1], &[2, 1, 1]),
            (4, 0, 8, &[2, 2, 1, 1, 1, 1], &[2, 2, 1, 1, 1, 1]),
            (3, 0, 3, &[1, 1], &[2, 1]),
            (3, 0, 3, &[2, 1, 1], &[1, 1, 1]),
            (3, 0, 6, &[1, 1, 1, 1], &[2, 1, 2, 1]),
            (3, 0, 6, &[1, 1], &[3, 3]),
            (3, 0, 9, &[1, 1], &[6, 3]),
            (3, 0, 12, &[1, 1, 1, 1], &[3, 3, 3, 3]),
            (5, 0, 5, &[1, 1], &[3, 2]),
        ] {
            let lengths = divide(from * BEAT, beats * BEAT, bars(meter), weights).unwrap();
            let found: Vec<u32> = lengths.iter().map(|l| l / BEAT).collect();
            assert_eq!(
                found, expected,
                "{beats} from {from} by {weights:?} in {meter}"
            );
        }
        assert_eq!(divide(0, BEAT, bars(4), &[1, 1]), None);
        assert_eq!(divide(0, 0, bars(4), &[]), None);
    }

    #[test]
    fn every_division_adds_up() {
        let mut count = 0;
        for meter in 2..=7 {
            let grid = bars(meter);
            for start in (0..4000).step_by(480) {
                for length in (480..16_000).step_by(480) {
                    for weights in [&[1][..], &[1, 3], &[2, 1, 1], &[1; 6]] {
                        let Some(lengths) = divide(start, length, grid, weights) else {
                            continue;
                        };
                        assert_eq!(lengths.iter().sum::<u32>(), length);
                        assert!(lengths.iter().all(|l| *l >= BEAT));
                        assert_eq!(lengths.len(), weights.len());
                        count += 1;
                    }
                }
            }
        }
        assert!(count > 3_000, "{count}");
    }
}
