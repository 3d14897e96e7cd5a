//! The steps of the path through the keys: every chord with its surroundings. `settle`, `path`
//! and `analyse` import this.

use super::hear::Around;
use super::rooted::RootedChord;

/// Twelve tonics in major, minor and blues.
pub(super) const KEYS: usize = 36;
/// Two bars of four beats, in quarters. A shorter stretch is a key only if it has a cadence.
pub(super) const SHORTEST_QUARTERS: u32 = 8;

/// A price for each key.
pub(super) type KeyPrices = [i32; KEYS];

/// A chord of the chart with its surroundings and its length.
#[derive(Clone, Copy, Debug)]
pub(super) struct PathStep {
    pub(super) around: Around,
    pub(super) quarters: u32,
}

/// Every chord with its surroundings. The chart repeats, so the first chord follows the last.
pub(super) fn steps(parts: &[(RootedChord, u32)]) -> Vec<PathStep> {
    let part = |i: usize| parts.get(i).map(|(part, _)| *part);
    let (before, next) = (others_before(parts), others_after(parts));
    let lengths = lengths(parts);
    let at = |list: &[Option<usize>], i: usize| list.get(i).copied().flatten();
    let mut steps = Vec::with_capacity(parts.len());
    for (i, (here, quarters)) in parts.iter().enumerate() {
        let (past, coming) = (at(&before, i), at(&next, i));
        steps.push(PathStep {
            around: Around {
                earlier: past.and_then(|n| at(&before, n)).and_then(part),
                before: past.and_then(part),
                here: *here,
                next: coming.and_then(part),
                after: coming.and_then(|n| at(&next, n)).and_then(part),
                is_long: lengths.get(i).is_some_and(|q| *q >= SHORTEST_QUARTERS),
            },
            quarters: *quarters,
        });
    }
    steps
}

/// The chord at an index, counted on through the repeat.
fn around(parts: &[(RootedChord, u32)], i: usize) -> Option<RootedChord> {
    parts.get(i % parts.len().max(1)).map(|(part, _)| *part)
}

/// For each chord, the index of the next one that does not continue it.
fn others_after(parts: &[(RootedChord, u32)]) -> Vec<Option<usize>> {
    let count = parts.len();
    let mut next = vec![None; count];
    let mut ahead = None;
    // The second time through, the last chords find theirs at the start.
    for i in (0..2 * count).rev() {
        let (Some(here), Some(coming)) = (around(parts, i), around(parts, i + 1)) else {
            break;
        };
        if !here.continues(coming) {
            ahead = Some((i + 1) % count);
        }
        if let Some(slot) = next.get_mut(i % count) {
            *slot = ahead;
        }
    }
    next
}

/// For each chord, the index of the last one before it that it does not continue.
fn others_before(parts: &[(RootedChord, u32)]) -> Vec<Option<usize>> {
    let count = parts.len();
    let mut before = vec![None; count];
    let mut behind = None;
    // The second time through, the first chords find theirs at the end.
    for i in 0..2 * count {
        let (Some(here), Some(past)) = (around(parts, i), around(parts, i + count - 1)) else {
            break;
        };
        if !here.continues(past) {
            behind = Some((i + count - 1) % count);
        }
        if let Some(slot) = before.get_mut(i % count) {
            *slot = behind;
        }
    }
    before
}

/// How long each chord lasts from its start on, with the chords that continue it, in quarters.
fn lengths(parts: &[(RootedChord, u32)]) -> Vec<u32> {
    let mut lengths: Vec<u32> = parts.iter().map(|(_, quarters)| *quarters).collect();
    for i in (0..parts.len().saturating_sub(1)).rev() {
        let pair = around(parts, i).zip(around(parts, i + 1));
        let continued = pair.is_some_and(|(a, b)| a.continues(b));
        let after = lengths.get(i + 1).copied().unwrap_or(0);
        if let Some(slot) = lengths.get_mut(i).filter(|_| continued) {
            *slot = slot.saturating_add(after);
        }
    }
    lengths
}
