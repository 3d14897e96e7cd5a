//! The keys of a chart: the cheapest path over 36 keys, twelve tonics in major,
//! minor and blues.
//!
//! Tonics are counted from the root of the first chord, so that a transposed chart
//! takes the same path, ties included.

use super::Mode;
use super::hear::{Around, Heard, Tonality, hear};
use super::part::{Kind, Part};
use super::price;
use super::settle::settle;
use crate::pitch::PitchClass;

const MODES: [Mode; 3] = [Mode::Major, Mode::Minor, Mode::Blues];
pub(super) const KEYS: usize = 36;
/// Two bars of four beats, in quarters: what is shorter is a key only by a cadence.
pub(super) const SHORTEST_QUARTERS: u32 = 8;
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

pub(super) type Row = [i32; KEYS];

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
    // How far the prices of changes lie apart.
    let prices_of_changes = changes.iter().enumerate().flat_map(|(to, row)| {
        let others = row.iter().enumerate().filter(move |(from, _)| *from != to);
        others.map(|(_, price)| *price)
    });
    let (cheapest, dearest) = prices_of_changes.fold((NEVER, 0), |(least, most), price| {
        (least.min(price), most.max(price))
    });
    let apart = dearest - cheapest;
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
            for source in all.filter(|(_, cost)| *cost <= least + apart) {
                if let Some(slot) = sources.get_mut(count) {
                    *slot = source;
                    count += 1;
                }
            }
            let sources = sources.get_mut(..count).unwrap_or(&mut []);
            sources.sort_unstable_by_key(|(_, cost)| *cost);
            for (to, change) in changes.iter().enumerate() {
                // Of equals the path that changes later: a key lasts until another is
                // plainly better.
                let mut best = (old.get(to).copied().unwrap_or(NEVER), to);
                for (index, cost) in sources.iter().copied() {
                    // From here on they are too dear.
                    if cost + cheapest > best.0 {
                        break;
                    }
                    let total = cost + change.get(index).copied().unwrap_or(NEVER);
                    let equal = total == best.0 && (best.1 == to || index > best.1);
                    if (total < best.0 || equal) && index != to {
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
