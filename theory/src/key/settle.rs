//! Which keys of the cheapest path stay. A short key needs a cadence, and borrowed chords
//! alone make no key (common practice, no published source). Only `path` imports this.

use super::hear::{hear, is_two};
use super::price;
use super::roles::Role;
use super::step::{KeyPrices, PathStep, SHORTEST_QUARTERS};
use super::tonality::Tonality;
use crate::quality::ChordFamily;
use std::ops::Range;

/// Eight bars of four beats, in quarters. A longer stay is a key even without a cadence.
const LONGEST_UNSAID: u32 = 32;

/// A stretch of chords in one key.
#[derive(Clone, Debug)]
struct Stay {
    key: usize,
    chords: Range<usize>,
    quarters: u32,
    /// Whether there is a cadence within it.
    cadence: bool,
}

/// What the other end of the chart adds to a stay, since the chart repeats.
#[derive(Clone, Copy, Debug, Default)]
struct Continuation {
    quarters: u32,
    cadence: bool,
}

/// The chords of a chart, the keys that they can be in, and what each costs.
#[derive(Clone, Copy)]
struct PricedChart<'a> {
    steps: &'a [PathStep],
    keys: &'a [Tonality],
    prices: &'a [KeyPrices],
}

/// Settles the keys of a path. A key gives way to the cheaper one of its neighbours in two
/// cases: it holds no cadence and lasts less than two bars, or it says nothing for itself and
/// the neighbour can borrow its chords. A chart that begins with a major seventh keeps the key
/// of that chord. `chart_home` is the index of the key that lasts longest.
pub(super) fn settle(
    path: &mut [usize],
    steps: &[PathStep],
    keys: &[Tonality],
    prices: &[KeyPrices],
    chart_home: usize,
) {
    let chart = PricedChart {
        steps,
        keys,
        prices,
    };
    let mut settled = chart.absorb_weak_stays(chart.stays(path));
    chart.settle_first_stay(&mut settled, chart_home);
    for stay in settled {
        for slot in path.get_mut(stay.chords).unwrap_or(&mut []) {
            *slot = stay.key;
        }
    }
}

impl PricedChart<'_> {
    /// The stays of a path, in order.
    fn stays(&self, path: &[usize]) -> Vec<Stay> {
        let mut stays = Vec::new();
        for (i, (key, step)) in path.iter().zip(self.steps).enumerate() {
            let stay = Stay {
                key: *key,
                chords: i..i + 1,
                quarters: step.quarters,
                cadence: false,
            };
            self.add(&mut stays, stay);
        }
        stays
    }

    /// Adds a stay. It joins the last one if both are in the same key.
    fn add(&self, stays: &mut Vec<Stay>, stay: Stay) {
        match stays.last_mut() {
            Some(last) if last.key == stay.key => {
                last.cadence |= stay.cadence || self.is_cadence(stay.chords.start, stay.key);
                last.chords.end = stay.chords.end;
                last.quarters = last.quarters.saturating_add(stay.quarters);
            }
            _ => stays.push(stay),
        }
    }

    /// Whether the chord at an index ends a cadence that begins with the chord before it. The
    /// last chord comes before the first.
    fn is_cadence(&self, at: usize, key: usize) -> bool {
        let here = |at: usize| self.steps.get(at).map(|step| step.around.here);
        let from = at
            .checked_sub(1)
            .unwrap_or(self.steps.len().saturating_sub(1));
        let pair = here(from).zip(here(at));
        pair.zip(self.keys.get(key))
            .is_some_and(|((from, to), key)| price::is_cadence(from, to, *key))
    }

    /// Lets each stay after the first give way to a neighbour if it cannot stay.
    fn absorb_weak_stays(&self, stays: Vec<Stay>) -> Vec<Stay> {
        let Some(start) = stays.first().cloned() else {
            return stays;
        };
        let mut settled: Vec<Stay> = Vec::new();
        let mut coming = stays.into_iter().peekable();
        while let Some(stay) = coming.next() {
            self.add(&mut settled, stay);
            let [.., before, last] = settled.as_slice() else {
                continue;
            };
            let next = coming.peek().map(|next| next.key);
            if !self.can_stay(last, before.key, next, &start)
                && let Some(key) = self.cheaper_neighbour(last, before.key, next, &start)
                && let Some(mut short) = settled.pop()
            {
                short.key = key;
                self.add(&mut settled, short);
            }
        }
        settled
    }

    /// Whether a stay keeps its key between these neighbours. A stay that goes on with the next
    /// one waits for it.
    fn can_stay(&self, stay: &Stay, before: usize, next: Option<usize>, start: &Stay) -> bool {
        let more = self.continuation_at_the_end(stay, start);
        // V and I alone, in less than two bars, make no key if the key before comes back.
        let comes_back = next.unwrap_or(start.key) == before;
        let is_aside = stay.quarters < SHORTEST_QUARTERS && comes_back && !self.has_rest(stay);
        let has_cadence = stay.cadence && !is_aside || more.cadence;
        let is_long = stay.quarters > LONGEST_UNSAID;
        has_cadence
            || next == Some(stay.key)
            || lasts(stay, more) && (is_long || !self.is_unsaid(stay))
    }

    /// The key before or after a stay, whichever is cheaper for its chords. For a stay that
    /// lasts, only a key that can borrow all of them counts.
    fn cheaper_neighbour(
        &self,
        stay: &Stay,
        before: usize,
        next: Option<usize>,
        start: &Stay,
    ) -> Option<usize> {
        let lasts = lasts(stay, self.continuation_at_the_end(stay, start));
        let takes = |key: &usize| {
            let fits = |key: &Tonality| self.all_fit(stay, *key);
            !lasts || self.keys.get(*key).is_some_and(fits)
        };
        let cost = |key: &usize| -> i32 {
            let rows = self.prices.get(stay.chords.clone()).unwrap_or(&[]);
            rows.iter().filter_map(|row| row.get(*key)).sum()
        };
        let neighbours = std::iter::once(before).chain(next);
        neighbours.filter(takes).min_by_key(cost)
    }

    /// What the start of the chart adds to a stay at the end of it.
    fn continuation_at_the_end(&self, stay: &Stay, start: &Stay) -> Continuation {
        if stay.chords.end == self.steps.len() {
            self.continuation(stay.key, start)
        } else {
            Continuation::default()
        }
    }

    /// What the stay at the other end of the chart adds to one in this key.
    fn continuation(&self, key: usize, other: &Stay) -> Continuation {
        if other.key != key {
            return Continuation::default();
        }
        Continuation {
            quarters: other.quarters,
            cadence: other.cadence || self.is_cadence(0, key),
        }
    }

    /// Settles the first stay, which has had no stay before it to give way to.
    fn settle_first_stay(&self, settled: &mut [Stay], chart_home: usize) {
        let [first, second, ..] = &*settled else {
            return;
        };
        let more = settled.last().map_or(Continuation::default(), |last| {
            self.continuation(first.key, last)
        });
        if first.cadence || more.cadence || lasts(first, more) {
            return;
        }
        let next = second.key;
        let home = self.keys.get(chart_home).copied();
        let begins = (self.steps.first().zip(self.keys.get(next)))
            .is_some_and(|(step, key)| price::may_begin(step.around.here, *key, home));
        if let Some(first) = settled.first_mut() {
            // If the chart cannot begin in the next key, it begins in the major key of its
            // first chord. The index of that key is 0.
            first.key = if begins { next } else { 0 };
        }
    }

    fn chords(&self, stay: &Stay) -> &[PathStep] {
        self.steps.get(stay.chords.clone()).unwrap_or(&[])
    }

    /// Whether a stay says nothing in favour of its key: it has neither a dominant of the key
    /// nor a tonic that lasts.
    fn is_unsaid(&self, stay: &Stay) -> bool {
        let Some(key) = self.keys.get(stay.key) else {
            return false;
        };
        !self.chords(stay).iter().any(|step| {
            let here = step.around.here;
            let dominant = here.is(ChordFamily::Dominant) && matches!(here.above(key.tonic), 1 | 7);
            dominant || key.is_tonic(here) && step.around.is_long
        })
    }

    /// Whether a chord speaks for the key of a short stay: a ii, or a tonic that lasts more
    /// than two beats.
    fn has_rest(&self, stay: &Stay) -> bool {
        let key = self.keys.get(stay.key);
        self.chords(stay).iter().any(|step| {
            let tonic = |key: &Tonality| key.is_tonic(step.around.here) && step.quarters > 2;
            is_two(&step.around) || key.is_some_and(tonic)
        })
    }

    /// Whether a key can borrow all chords of a stay.
    fn all_fit(&self, stay: &Stay, key: Tonality) -> bool {
        self.chords(stay).iter().all(|step| {
            let here = step.around.here;
            let neapolitan = here.is(ChordFamily::Major) && here.above(key.tonic) == 1;
            neapolitan || hear(&step.around, key).role != Role::Chromatic
        })
    }
}

/// Whether a stay, with what continues it, lasts at least two bars.
const fn lasts(stay: &Stay, more: Continuation) -> bool {
    stay.quarters.saturating_add(more.quarters) >= SHORTEST_QUARTERS
}
