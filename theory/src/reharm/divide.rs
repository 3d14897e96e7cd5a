//! Divides the time of a run among new chords, on whole beats. Imports nothing; only `run`
//! imports this.

/// Lengths in ticks in these proportions, which add up to `length_ticks`. Every boundary lies
/// on the nearest whole beat, or on the later one of two that are equally near. Every length is
/// at least a beat, and the halves of three beats are two and one. None if there are too few
/// beats.
pub(super) fn divide(length_ticks: u32, beat_ticks: u32, weights: &[u32]) -> Option<Vec<u32>> {
    let beat = beat_ticks.max(1);
    let beats = length_ticks / beat;
    let count = u32::try_from(weights.len()).ok()?;
    let whole: u32 = weights.iter().sum();
    if count == 0 || whole == 0 || beats < count {
        return None;
    }
    let mut lengths = Vec::with_capacity(weights.len());
    let (mut end, mut sum) = (0, 0);
    for (weight, left) in weights.iter().zip((0..count).rev()) {
        sum += weight;
        let nearest = rounded(u64::from(beats) * u64::from(sum), u64::from(whole))?;
        let next = nearest.max(end + 1).min(beats - left);
        lengths.push((next - end) * beat);
        end = next;
    }
    // A remainder of less than a beat goes to the last part.
    *lengths.last_mut()? += length_ticks - beats * beat;
    Some(lengths)
}

fn rounded(number: u64, by: u64) -> Option<u32> {
    u32::try_from((2 * number + by) / (2 * by)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::TICKS_PER_QUARTER as BEAT;

    #[test]
    fn bars_fall_into_halves_and_quarters() {
        for (beats, weights, expected) in [
            (4, &[1, 1][..], &[2, 2][..]),
            (3, &[1, 1], &[2, 1]),
            (6, &[1, 1, 1, 1], &[2, 1, 2, 1]),
            (4, &[2, 1, 1], &[2, 1, 1]),
            (3, &[2, 1, 1], &[1, 1, 1]),
            (5, &[1, 1], &[3, 2]),
            (3, &[1, 1, 4], &[1, 1, 1]),
            (8, &[2, 2, 1, 1, 1, 1], &[2, 2, 1, 1, 1, 1]),
        ] {
            let lengths = divide(beats * BEAT, BEAT, weights).unwrap();
            let found: Vec<u32> = lengths.iter().map(|l| l / BEAT).collect();
            assert_eq!(found, expected, "{beats} by {weights:?}");
        }
        assert_eq!(divide(BEAT, BEAT, &[1, 1]), None);
        assert_eq!(divide(0, 0, &[]), None);
        assert_eq!(
            divide(5 * BEAT / 2, BEAT, &[1, 1]),
            Some(vec![BEAT, 3 * BEAT / 2])
        );
    }

    #[test]
    fn every_division_adds_up() {
        for length in (480..20_000).step_by(240) {
            for weights in [&[1][..], &[1, 3], &[2, 1, 1], &[1; 7]] {
                if let Some(lengths) = divide(length, BEAT, weights) {
                    assert_eq!(lengths.iter().sum::<u32>(), length);
                    assert!(lengths.iter().all(|l| *l >= BEAT));
                    assert_eq!(lengths.len(), weights.len());
                }
            }
        }
    }
}
