//! The steps of the path through the keys: every chord with its surroundings. Imports
//! `hear` and `part`.

use super::hear::Around;
use super::rooted::RootedChord;

/// Twelve tonics in major, minor and blues.
pub(super) const KEYS: usize = 36;
/// Two bars of four beats, in quarters: what is shorter is a key only by a cadence.
pub(super) const SHORTEST_QUARTERS: u32 = 8;

/// A price for each key.
pub(super) type KeyPrices = [i32; KEYS];

/// A chord of the chart with its surroundings and its length.
#[derive(Clone, Copy, Debug)]
pub(super) struct PathStep {
    pub(super) around: Around,
    pub(super) quarters: u32,
}

/// Every chord with its surroundings; the chart repeats.
pub(super) fn steps(parts: &[(RootedChord, u32)]) -> Vec<PathStep> {
    let count = parts.len();
    let part = |i: usize| parts.get(i % count.max(1)).map(|(part, _)| *part);
    // For each chord the next one that does not continue it, and the one before.
    let mut next: Vec<Option<usize>> = vec![None; count];
    let mut before: Vec<Option<usize>> = vec![None; count];
    // How long the chord lasts from its start on, with what continues it.
    let mut run: Vec<u32> = parts.iter().map(|(_, quarters)| *quarters).collect();
    // Twice around, so that chords at the seam find theirs.
    let mut ahead = None;
    for i in (0..2 * count).rev() {
        let (Some(here), Some(coming)) = (part(i), part(i + 1)) else {
            break;
        };
        if !here.continues(coming) {
            ahead = Some((i + 1) % count);
        }
        if let Some(slot) = next.get_mut(i % count) {
            *slot = ahead;
        }
    }
    let mut behind = None;
    for i in 0..2 * count {
        let (Some(here), Some(past)) = (part(i), part(i + count - 1)) else {
            break;
        };
        if !here.continues(past) {
            behind = Some((i + count - 1) % count);
        }
        if let Some(slot) = before.get_mut(i % count) {
            *slot = behind;
        }
    }
    for i in (0..count.saturating_sub(1)).rev() {
        let continued = part(i)
            .zip(part(i + 1))
            .is_some_and(|(a, b)| a.continues(b));
        let after = run.get(i + 1).copied().unwrap_or(0);
        if let Some(slot) = run.get_mut(i).filter(|_| continued) {
            *slot = slot.saturating_add(after);
        }
    }
    let at = |list: &[Option<usize>], i: usize| list.get(i).copied().flatten();
    let mut steps = Vec::with_capacity(count);
    for (i, (here, quarters)) in parts.iter().enumerate() {
        let (past, coming) = (at(&before, i), at(&next, i));
        steps.push(PathStep {
            around: Around {
                earlier: past.and_then(|n| at(&before, n)).and_then(part),
                before: past.and_then(part),
                here: *here,
                next: coming.and_then(part),
                after: coming.and_then(|n| at(&next, n)).and_then(part),
                is_long: run.get(i).is_some_and(|q| *q >= SHORTEST_QUARTERS),
            },
            quarters: *quarters,
        });
    }
    steps
}
