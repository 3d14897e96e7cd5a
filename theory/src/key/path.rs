//! The keys of a chart: the cheapest path over 36 keys, twelve tonics in major,
//! minor and blues.
//!
//! Tonics are counted from the root of the first chord, so that a transposed chart
//! takes the same path, ties included.

use super::Mode;
use super::hear::{Around, Heard, Tonality, hear, is_two};
use super::part::{Kind, Part};
use super::price;
use super::roles::Role;
use crate::pitch::PitchClass;
use std::ops::Range;

const MODES: [Mode; 3] = [Mode::Major, Mode::Minor, Mode::Blues];
const KEYS: usize = 36;
/// Two bars of four beats, in quarters: what is shorter is a key only by a cadence.
const SHORTEST_QUARTERS: u32 = 8;
/// Eight bars of four beats, in quarters: what is longer is a key without a cadence.
const LONGEST_UNSAID: u32 = 32;
/// More than any path costs.
const NEVER: i32 = 1_000_000;

/// A chord of the chart with its surroundings and its length.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    pub(super) around: Around,
    pub(super) quarters: u32,
}

/// Every chord with its surroundings; the chart repeats.
pub(super) fn steps(parts: &[(Part, u32)]) -> Vec<Step> {
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
        steps.push(Step {
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

/// The key with this index, tonics counted from `from`.
fn tonality(index: usize, from: PitchClass) -> Tonality {
    let up = i8::try_from(index / MODES.len()).unwrap_or(0);
    Tonality {
        tonic: from.up(up),
        mode: MODES
            .get(index % MODES.len())
            .copied()
            .unwrap_or(Mode::Major),
    }
}

/// What a chart holds of each tonic.
#[derive(Clone, Copy, Debug, Default)]
struct Evidence {
    /// A dominant seventh that lasts more than two beats.
    rests: bool,
    /// A dominant on IV that returns to it, by #iv° or straight: a chain of
    /// dominants never does.
    returns: bool,
    /// The chart begins on its dominant seventh, rests or comes back there, has a dominant
    /// on IV that lasts more than two beats, and no major chord that could be home.
    frames: bool,
    major: bool,
    minor: bool,
}

impl Evidence {
    /// Whether the key may be a blues.
    const fn is_blues(self) -> bool {
        self.rests && (self.returns || self.frames)
    }

    /// Whether the tonic of this mode is heard at all.
    const fn has_tonic(self, mode: Mode) -> bool {
        match mode {
            Mode::Major => self.major,
            Mode::Minor => self.minor,
            Mode::Blues => self.is_blues(),
        }
    }
}

fn evidence(steps: &[Step]) -> [Evidence; 12] {
    let mut found = [Evidence::default(); 12];
    for step in steps {
        let Around { here, next, .. } = step.around;
        if let Some(tonic) = found.get_mut(usize::from(here.class.number())) {
            tonic.rests |= here.is(Kind::Dominant) && step.quarters > 2;
            tonic.major |= here.is(Kind::Major);
            tonic.minor |= here.is(Kind::Minor);
        }
        let fourth = here.class.up(7);
        let returns = here.is(Kind::Dominant)
            && next.is_some_and(|next| match next.above(fourth) {
                0 => next.is(Kind::Dominant),
                6 => next.is(Kind::Diminished),
                _ => false,
            });
        if let Some(tonic) = found.get_mut(usize::from(fourth.number())) {
            tonic.returns |= returns;
        }
    }
    if let Some((first, others)) = steps
        .split_first()
        .filter(|(f, _)| f.around.here.is(Kind::Dominant))
    {
        let here = first.around.here;
        let comes_back = others.iter().any(|step| {
            let before = step.around.before;
            let again = before.is_some_and(|before| !before.continues(here));
            step.around.here.continues(here) && again
        });
        let four = found.get(usize::from(here.class.up(5).number()));
        let major =
            |step: &Step| step.around.here.is(Kind::Major) && step.around.here.class != here.class;
        let frames = (comes_back || first.around.is_long)
            && !others.iter().any(major)
            && four.is_some_and(|four| four.rests);
        if let Some(tonic) = found.get_mut(usize::from(here.class.number())) {
            tonic.frames = frames;
        }
    }
    found
}

type Row = [i32; KEYS];

fn emissions(steps: &[Step], keys: &[Tonality]) -> Vec<Row> {
    let evidence = evidence(steps);
    let known = |key: &Tonality| {
        let tonic = usize::from(key.tonic.number());
        evidence.get(tonic).is_some_and(|e| e.has_tonic(key.mode))
    };
    let known: Vec<bool> = keys.iter().map(known).collect();
    let row = |step: &Step| {
        let mut row = [NEVER; KEYS];
        for ((slot, key), known) in row.iter_mut().zip(keys).zip(&known) {
            if key.mode == Mode::Blues && !known {
                continue;
            }
            let heard: Heard = hear(&step.around, *key);
            let points = price::points(&step.around, heard, *key)
                + if *known { 0 } else { price::WITHOUT_TONIC };
            *slot = points * price::weight(step.quarters) + price::arrival(&step.around, *key);
        }
        row
    };
    steps.iter().map(row).collect()
}

/// The key in force at every chord. Linear in the count of chords.
pub(super) fn keys(steps: &[Step]) -> Vec<Tonality> {
    let Some(first) = steps.first() else {
        return Vec::new();
    };
    let from = first.around.here.class;
    let keys: Vec<Tonality> = (0..KEYS).map(|i| tonality(i, from)).collect();
    let mut prices = emissions(steps, &keys);
    let mut path = cheapest(steps, &keys, &prices, None);
    // Once more, knowing the home of the chart: the way back there is shorter.
    let home = longest(&path, steps);
    come_home(&mut prices, steps, &keys, home);
    path = cheapest(steps, &keys, &prices, Some(home));
    settle(&mut path, steps, &keys, &prices, home);
    path.iter()
        .filter_map(|index| keys.get(*index).copied())
        .collect()
}

/// Takes off what the tonic of the home says for it, wherever that comes and lasts more
/// than two beats.
fn come_home(prices: &mut [Row], steps: &[Step], keys: &[Tonality], home: usize) {
    let Some(key) = keys.get(home) else { return };
    for (row, step) in prices.iter_mut().zip(steps) {
        let tonic = key.is_tonic(step.around.here) && step.quarters > 2;
        if let Some(price) = row.get_mut(home).filter(|_| tonic) {
            *price -= price::COMING_HOME;
        }
    }
}

/// The key that lasts longest; of equals the one that comes first.
fn longest(path: &[usize], steps: &[Step]) -> usize {
    let mut lengths = [0_u64; KEYS];
    for (key, step) in path.iter().zip(steps) {
        if let Some(length) = lengths.get_mut(*key) {
            *length += u64::from(step.quarters);
        }
    }
    let most = lengths.iter().max().copied().unwrap_or(0);
    let mut there = path.iter().copied();
    there
        .find(|key| lengths.get(*key) == Some(&most))
        .unwrap_or(0)
}

/// The cheapest path. It goes on through the repeat, so that the last chords know
/// what they return to; the first time around is what counts.
fn cheapest(steps: &[Step], keys: &[Tonality], prices: &[Row], home: Option<usize>) -> Vec<usize> {
    let (Some(first), Some(last)) = (steps.first(), steps.last()) else {
        return Vec::new();
    };
    let change = |(to, key): (usize, &Tonality)| {
        let mut row = [0; KEYS];
        for (from, (slot, old)) in row.iter_mut().zip(keys).enumerate() {
            let up = key.tonic.above(old.tonic);
            let homeward = home == Some(to) && from != to;
            let from_blues = home == Some(from) && from != to && old.mode == Mode::Blues;
            *slot = price::modulation(up, old.mode, key.mode)
                - if homeward { price::HOMEWARD } else { 0 }
                + if from_blues { price::FROM_BLUES } else { 0 };
        }
        row
    };
    let changes: Vec<Row> = keys.iter().enumerate().map(change).collect();
    let mut costs: Row = [0; KEYS];
    for (cost, key) in costs.iter_mut().zip(keys) {
        *cost = price::start(
            &first.around,
            *key,
            home.and_then(|home| keys.get(home).copied()),
        );
    }
    let mut ways: Vec<[u8; KEYS]> = Vec::with_capacity(2 * steps.len());
    for (i, row) in prices.iter().chain(prices).enumerate() {
        let mut way = [0; KEYS];
        if i > 0 {
            let old = costs;
            // From a key that is dearer than the cheapest by more than the dearest
            // change no path goes on to another.
            let least = old.iter().min().copied().unwrap_or(0);
            let all = old.iter().copied().enumerate();
            let mut sources = [(0, NEVER); KEYS];
            let mut count = 0;
            for source in all.filter(|(_, cost)| *cost <= least + price::CHANGES_DIFFER) {
                if let Some(slot) = sources.get_mut(count) {
                    *slot = source;
                    count += 1;
                }
            }
            for (to, change) in changes.iter().enumerate() {
                // Of equals the path that changes later: a key lasts until another is
                // plainly better.
                let mut best = (old.get(to).copied().unwrap_or(NEVER), to);
                for (index, cost) in sources.into_iter().take(count) {
                    let total = cost + change.get(index).copied().unwrap_or(NEVER);
                    if total <= best.0 && index != to {
                        best = (total, index);
                    }
                }
                if let (Some(cost), Some(way)) = (costs.get_mut(to), way.get_mut(to)) {
                    *cost = best.0;
                    *way = u8::try_from(best.1).unwrap_or(0);
                }
            }
        }
        for (cost, price) in costs.iter_mut().zip(row) {
            *cost = cost.saturating_add(*price);
        }
        ways.push(way);
    }
    for (cost, key) in costs.iter_mut().zip(keys) {
        *cost = cost.saturating_add(price::end(last.around.here, *key));
    }
    let cheapest = costs.iter().enumerate().min_by_key(|(_, cost)| **cost);
    let mut at = cheapest.map_or(0, |(index, _)| index);
    let mut path = Vec::with_capacity(ways.len());
    for way in ways.iter().rev() {
        path.push(at);
        at = way.get(at).map_or(0, |i| usize::from(*i));
    }
    path.reverse();
    path.truncate(steps.len());
    path
}

/// A stretch of chords in one key.
#[derive(Clone, Debug)]
struct Stay {
    key: usize,
    chords: Range<usize>,
    quarters: u32,
    cadence: bool,
}

/// Whether a stay says nothing for its key: no dominant of it, and no tonic that lasts.
fn is_unsaid(stay: &Stay, steps: &[Step], keys: &[Tonality]) -> bool {
    let (Some(key), Some(chords)) = (keys.get(stay.key), steps.get(stay.chords.clone())) else {
        return false;
    };
    !chords.iter().any(|step| {
        let here = step.around.here;
        let dominant = here.is(Kind::Dominant) && matches!(here.above(key.tonic), 1 | 7);
        dominant || key.is_tonic(here) && step.around.is_long
    })
}

/// Whether a chord speaks for its key where that is short: a ii, or a tonic that lasts more
/// than two beats.
fn rests(step: &Step, keys: &[Tonality], key: usize) -> bool {
    let tonic = |key: &Tonality| key.is_tonic(step.around.here) && step.quarters > 2;
    is_two(&step.around) || keys.get(key).is_some_and(tonic)
}

/// Whether all chords of a stay can be borrowed in a key.
fn all_fit(stay: &Stay, steps: &[Step], key: Tonality) -> bool {
    let chords = steps.get(stay.chords.clone()).unwrap_or(&[]);
    chords.iter().all(|step| {
        let here = step.around.here;
        let neapolitan = here.is(Kind::Major) && here.above(key.tonic) == 1;
        neapolitan || hear(&step.around, key).role != Role::Chromatic
    })
}

/// A key gives way to the cheaper of its neighbours if it holds no cadence and lasts
/// less than two bars, or says nothing for itself where the chords can be borrowed. The
/// key that a major seventh begins in stays.
fn settle(
    path: &mut [usize],
    steps: &[Step],
    keys: &[Tonality],
    prices: &[Row],
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
