//! Which keys of the cheapest path stand. A short one needs a cadence, and borrowed
//! chords make no key (common practice, no published source).

use super::hear::{Tonality, hear, is_two};
use super::price;
use super::roles::Role;
use super::step::{KeyPrices, PathStep, SHORTEST_QUARTERS};
use crate::quality::ChordFamily;
use std::ops::Range;

/// Eight bars of four beats, in quarters: what is longer is a key without a cadence.
const LONGEST_UNSAID: u32 = 32;

/// A stretch of chords in one key.
#[derive(Clone, Debug)]
struct Stay {
    key: usize,
    chords: Range<usize>,
    quarters: u32,
    cadence: bool,
}

/// Whether a stay says nothing in favour of its key: it has neither a dominant of the key
/// nor a tonic that lasts.
fn is_unsaid(stay: &Stay, steps: &[PathStep], keys: &[Tonality]) -> bool {
    let (Some(key), Some(chords)) = (keys.get(stay.key), steps.get(stay.chords.clone())) else {
        return false;
    };
    !chords.iter().any(|step| {
        let here = step.around.here;
        let dominant = here.is(ChordFamily::Dominant) && matches!(here.above(key.tonic), 1 | 7);
        dominant || key.is_tonic(here) && step.around.is_long
    })
}

/// Whether a chord speaks for its key where that is short: a ii, or a tonic that lasts more
/// than two beats.
fn rests(step: &PathStep, keys: &[Tonality], key: usize) -> bool {
    let tonic = |key: &Tonality| key.is_tonic(step.around.here) && step.quarters > 2;
    is_two(&step.around) || keys.get(key).is_some_and(tonic)
}

/// Whether all chords of a stay can be borrowed in a key.
fn all_fit(stay: &Stay, steps: &[PathStep], key: Tonality) -> bool {
    let chords = steps.get(stay.chords.clone()).unwrap_or(&[]);
    chords.iter().all(|step| {
        let here = step.around.here;
        let neapolitan = here.is(ChordFamily::Major) && here.above(key.tonic) == 1;
        neapolitan || hear(&step.around, key).role != Role::Chromatic
    })
}

/// A key gives way to the cheaper of its neighbours if it holds no cadence and lasts
/// less than two bars, or says nothing for itself where the chords can be borrowed. The
/// key that a major seventh begins in stays.
pub(super) fn settle(
    path: &mut [usize],
    steps: &[PathStep],
    keys: &[Tonality],
    prices: &[KeyPrices],
    chart_home: usize,
) {
    let here = |at: usize| steps.get(at).map(|step| step.around.here);
    let cadence = |at: usize, key: usize| {
        let from = at.checked_sub(1).unwrap_or(steps.len().saturating_sub(1));
        let pair = here(from).zip(here(at));
        pair.zip(keys.get(key))
            .is_some_and(|((from, to), key)| price::is_cadence(from, to, *key))
    };
    let mut coming: Vec<Stay> = Vec::new();
    let put = |stays: &mut Vec<Stay>, stay: Stay| match stays.last_mut() {
        Some(last) if last.key == stay.key => {
            last.cadence |= stay.cadence || cadence(stay.chords.start, stay.key);
            last.chords.end = stay.chords.end;
            last.quarters = last.quarters.saturating_add(stay.quarters);
        }
        _ => stays.push(stay),
    };
    for (i, (key, step)) in path.iter().zip(steps).enumerate() {
        let stay = Stay {
            key: *key,
            chords: i..i + 1,
            quarters: step.quarters,
            cadence: false,
        };
        put(&mut coming, stay);
    }
    // What the chart ends in goes on where it begins.
    let start = coming.first().cloned();
    let at_the_seam = |stay: &Stay| {
        start.as_ref().map_or((0, false), |start| {
            let joined = stay.key == start.key && stay.chords.end == steps.len();
            if joined {
                (start.quarters, start.cadence || cadence(0, start.key))
            } else {
                (0, false)
            }
        })
    };
    let mut settled: Vec<Stay> = Vec::new();
    let mut coming = coming.into_iter().peekable();
    while let Some(stay) = coming.next() {
        put(&mut settled, stay);
        let Some(last) = settled.last().filter(|_| settled.len() > 1) else {
            continue;
        };
        let (more, home) = at_the_seam(last);
        let next = coming.peek().map(|next| next.key);
        let before = settled.iter().rev().nth(1).map(|stay| stay.key);
        // V and I alone, in less than two bars, leave no key that goes on after them.
        let coming_back = next.or(start.as_ref().map(|start| start.key)) == before;
        let chords = steps.get(last.chords.clone()).unwrap_or(&[]);
        let aside = last.quarters < SHORTEST_QUARTERS
            && coming_back
            && !chords.iter().any(|step| rests(step, keys, last.key));
        let stands = last.cadence && !aside || home;
        let grows = next == Some(last.key);
        let lasts = last.quarters.saturating_add(more) >= SHORTEST_QUARTERS;
        let long = last.quarters > LONGEST_UNSAID;
        if stands || grows || lasts && (long || !is_unsaid(last, steps, keys)) {
            continue;
        }
        let takes = |key: &usize| {
            let fits = |key: &Tonality| all_fit(last, steps, *key);
            !lasts || keys.get(*key).is_some_and(fits)
        };
        let cost = |key: &usize| -> i32 {
            let rows = prices.get(last.chords.clone()).unwrap_or(&[]);
            rows.iter().filter_map(|row| row.get(*key)).sum()
        };
        let key = before
            .into_iter()
            .chain(next)
            .filter(takes)
            .min_by_key(cost);
        if let Some(key) = key
            && let Some(mut short) = settled.pop()
        {
            short.key = key;
            put(&mut settled, short);
        }
    }
    // The first stay has had none before it to give way to.
    let keys_of_two = match settled.as_slice() {
        [first, second, ..] => Some((first, second)),
        _ => None,
    };
    let seam = settled
        .last()
        .map(|last| (last.key, last.quarters, last.cadence));
    if let Some((first, second)) = keys_of_two {
        let (more, home) = match seam {
            Some((key, quarters, inside)) if key == first.key => {
                (quarters, inside || cadence(0, key))
            }
            _ => (0, false),
        };
        let next = second.key;
        let begins = steps
            .first()
            .zip(keys.get(next))
            .is_some_and(|(step, key)| {
                price::may_begin(step.around.here, *key, keys.get(chart_home).copied())
            });
        if !(first.cadence || home)
            && first.quarters.saturating_add(more) < SHORTEST_QUARTERS
            && let Some(first) = settled.first_mut()
        {
            // Where the chart may not begin in the next key, it begins in the major key of
            // its first chord, which is the first of all.
            first.key = if begins { next } else { 0 };
        }
    }
    for stay in settled {
        for slot in path.get_mut(stay.chords).unwrap_or(&mut []) {
            *slot = stay.key;
        }
    }
}
