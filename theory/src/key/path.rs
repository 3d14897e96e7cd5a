//! The keys of a chart: the cheapest path over 36 keys, twelve tonics in major,
//! minor and blues.
//!
//! Tonics are counted from the root of the first chord, so that a transposed chart
//! takes the same path, even among paths of equal cost. Only `analyse` imports this.

use super::Mode;
use super::hear::{Around, hear};
use super::price;
use super::settle::settle;
use super::step::{KEYS, KeyPrices, PathStep};
use super::tonality::Tonality;
use crate::pitch::PitchClass;
use crate::quality::ChordFamily;

const MODES: [Mode; 3] = [Mode::Major, Mode::Minor, Mode::Blues];
/// More than any path costs.
const NEVER: i32 = 1_000_000;

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
    /// Whether a dominant seventh on it lasts more than two beats.
    rests: bool,
    /// Whether a dominant on IV returns to it, by #iv° or directly. A chain of dominants never
    /// does that.
    returns: bool,
    /// Whether the chart begins with its dominant seventh and rests on it or comes back to it,
    /// has a dominant on IV that lasts more than two beats, and has no major chord that could
    /// be home.
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

fn evidence(steps: &[PathStep]) -> [Evidence; 12] {
    let mut found = [Evidence::default(); 12];
    for step in steps {
        let Around { here, next, .. } = step.around;
        if let Some(tonic) = found.get_mut(usize::from(here.class.number())) {
            tonic.rests |= here.is(ChordFamily::Dominant) && step.quarters > 2;
            tonic.major |= here.is(ChordFamily::Major);
            tonic.minor |= here.is(ChordFamily::Minor);
        }
        let fourth = here.class.up(7);
        let returns = here.is(ChordFamily::Dominant)
            && next.is_some_and(|next| match next.above(fourth) {
                0 => next.is(ChordFamily::Dominant),
                6 => next.is(ChordFamily::Diminished),
                _ => false,
            });
        if let Some(tonic) = found.get_mut(usize::from(fourth.number())) {
            tonic.returns |= returns;
        }
    }
    if let Some((first, others)) = steps
        .split_first()
        .filter(|(f, _)| f.around.here.is(ChordFamily::Dominant))
    {
        let here = first.around.here;
        let comes_back = others.iter().any(|step| {
            let before = step.around.before;
            let again = before.is_some_and(|before| !before.continues(here));
            step.around.here.continues(here) && again
        });
        let four = found.get(usize::from(here.class.up(5).number()));
        let major = |step: &PathStep| {
            step.around.here.is(ChordFamily::Major) && step.around.here.class != here.class
        };
        let frames = (comes_back || first.around.is_long)
            && !others.iter().any(major)
            && four.is_some_and(|four| four.rests);
        if let Some(tonic) = found.get_mut(usize::from(here.class.number())) {
            tonic.frames = frames;
        }
    }
    found
}

fn emissions(steps: &[PathStep], keys: &[Tonality]) -> Vec<KeyPrices> {
    let evidence = evidence(steps);
    let known = |key: &Tonality| {
        let tonic = usize::from(key.tonic.number());
        evidence.get(tonic).is_some_and(|e| e.has_tonic(key.mode))
    };
    let known: Vec<bool> = keys.iter().map(known).collect();
    let row = |step: &PathStep| {
        let mut row = [NEVER; KEYS];
        for ((slot, key), known) in row.iter_mut().zip(keys).zip(&known) {
            if key.mode == Mode::Blues && !known {
                continue;
            }
            let heard = hear(&step.around, *key);
            let points = price::points(&step.around, heard, *key)
                + if *known { 0 } else { price::WITHOUT_TONIC };
            *slot = points * price::weight(step.quarters) + price::arrival(&step.around, *key);
        }
        row
    };
    steps.iter().map(row).collect()
}

/// The key in force at every chord. The time that this takes grows with the number of chords.
pub(super) fn keys(steps: &[PathStep]) -> Vec<Tonality> {
    let Some(first) = steps.first() else {
        return Vec::new();
    };
    let from = first.around.here.class;
    let keys: Vec<Tonality> = (0..KEYS).map(|i| tonality(i, from)).collect();
    let mut prices = emissions(steps, &keys);
    let mut path = cheapest(steps, &keys, &prices, None);
    // The second search knows the home of the chart, and it costs less to go back there.
    let home = longest(&path, steps);
    come_home(&mut prices, steps, &keys, home);
    path = cheapest(steps, &keys, &prices, Some(home));
    settle(&mut path, steps, &keys, &prices, home);
    path.iter()
        .filter_map(|index| keys.get(*index).copied())
        .collect()
}

/// Lowers the price of the home for each of its tonic chords that lasts more than two beats.
fn come_home(prices: &mut [KeyPrices], steps: &[PathStep], keys: &[Tonality], home: usize) {
    let Some(key) = keys.get(home) else { return };
    for (row, step) in prices.iter_mut().zip(steps) {
        let tonic = key.is_tonic(step.around.here) && step.quarters > 2;
        if let Some(price) = row.get_mut(home).filter(|_| tonic) {
            *price -= price::COMING_HOME;
        }
    }
}

/// The key that lasts longest. Of keys that last equally long, it is the one that comes first.
fn longest(path: &[usize], steps: &[PathStep]) -> usize {
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

/// The prices of changes from each key to each other key.
struct Changes {
    /// A row for each key that is changed to.
    rows: Vec<KeyPrices>,
    cheapest: i32,
    dearest: i32,
}

impl Changes {
    /// The prices of changes, where the home of the chart may be known.
    fn new(keys: &[Tonality], home: Option<usize>) -> Self {
        let row = |(to, key): (usize, &Tonality)| {
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
        let rows: Vec<KeyPrices> = keys.iter().enumerate().map(row).collect();
        let prices = rows.iter().enumerate().flat_map(|(to, row)| {
            let others = row.iter().enumerate().filter(move |(from, _)| *from != to);
            others.map(|(_, price)| *price)
        });
        let (cheapest, dearest) = prices.fold((NEVER, 0), |(least, most), price| {
            (least.min(price), most.max(price))
        });
        Changes {
            rows,
            cheapest,
            dearest,
        }
    }

    /// Takes the costs of the paths that end in each key one chord further, without the price
    /// of that chord. Returns the key before on the cheapest path to each key.
    fn advance(&self, costs: &mut KeyPrices) -> [u8; KEYS] {
        let old = *costs;
        let mut sources = [(0, NEVER); KEYS];
        let sources = self.sources(&old, &mut sources);
        let mut keys_before = [0; KEYS];
        let slots = costs.iter_mut().zip(&mut keys_before);
        for ((to, change), (cost, key_before)) in self.rows.iter().enumerate().zip(slots) {
            let stays = (old.get(to).copied().unwrap_or(NEVER), to);
            let (total, from) = self.cheapest_source(stays, change, sources);
            *cost = total;
            *key_before = u8::try_from(from).unwrap_or(0);
        }
        keys_before
    }

    /// The keys that a path may change from, with their costs, the cheapest first. No path
    /// changes from a key that costs more than the cheapest key and the dearest change from it.
    fn sources<'a>(
        &self,
        costs: &KeyPrices,
        sources: &'a mut [(usize, i32); KEYS],
    ) -> &'a [(usize, i32)] {
        let least = costs.iter().min().copied().unwrap_or(0);
        let most = least + (self.dearest - self.cheapest);
        let all = costs.iter().copied().enumerate();
        let mut count = 0;
        for source in all.filter(|(_, cost)| *cost <= most) {
            if let Some(slot) = sources.get_mut(count) {
                *slot = source;
                count += 1;
            }
        }
        let sources = sources.get_mut(..count).unwrap_or(&mut []);
        sources.sort_unstable_by_key(|(_, cost)| *cost);
        sources
    }

    /// The cost of the cheapest path to a key, and the key before on it. `stays` is the path
    /// that stays in the key.
    fn cheapest_source(
        &self,
        stays: (i32, usize),
        change: &KeyPrices,
        sources: &[(usize, i32)],
    ) -> (i32, usize) {
        let (_, to) = stays;
        // Of equal paths, the one that changes later counts. A key lasts until another one is
        // clearly better.
        let mut best = stays;
        for (index, cost) in sources.iter().copied() {
            // All further sources cost too much.
            if cost + self.cheapest > best.0 {
                break;
            }
            let total = cost + change.get(index).copied().unwrap_or(NEVER);
            let equal = total == best.0 && (best.1 == to || index > best.1);
            if (total < best.0 || equal) && index != to {
                best = (total, index);
            }
        }
        best
    }
}

/// The cheapest path, as the index of a key for each chord. It goes on through the repeat, so
/// that the last chords know what follows them. Only the first time through is returned.
fn cheapest(
    steps: &[PathStep],
    keys: &[Tonality],
    prices: &[KeyPrices],
    home: Option<usize>,
) -> Vec<usize> {
    let (Some(first), Some(last)) = (steps.first(), steps.last()) else {
        return Vec::new();
    };
    let changes = Changes::new(keys, home);
    let home = home.and_then(|home| keys.get(home).copied());
    let mut costs: KeyPrices = [0; KEYS];
    for (cost, key) in costs.iter_mut().zip(keys) {
        *cost = price::start(&first.around, *key, home);
    }
    let mut keys_before: Vec<[u8; KEYS]> = Vec::with_capacity(2 * steps.len());
    for (i, row) in prices.iter().chain(prices).enumerate() {
        keys_before.push(if i > 0 {
            changes.advance(&mut costs)
        } else {
            [0; KEYS]
        });
        for (cost, price) in costs.iter_mut().zip(row) {
            *cost = cost.saturating_add(*price);
        }
    }
    for (cost, key) in costs.iter_mut().zip(keys) {
        *cost = cost.saturating_add(price::end(last.around.here, *key));
    }
    let end = costs.iter().enumerate().min_by_key(|(_, cost)| **cost);
    trace_back(&keys_before, end.map_or(0, |(index, _)| index), steps.len())
}

/// The first keys of the path that ends in a key.
fn trace_back(keys_before: &[[u8; KEYS]], end: usize, count: usize) -> Vec<usize> {
    let mut at = end;
    let mut path = Vec::with_capacity(keys_before.len());
    for row in keys_before.iter().rev() {
        path.push(at);
        at = row.get(at).map_or(0, |i| usize::from(*i));
    }
    path.reverse();
    path.truncate(count);
    path
}
