//! A bar's grid: which parts of the bar are divided in halves and which in tuplets, and how lengths
//! become note values on it. Imports `value`.

use super::value::{self, SHORTEST, Value};
use guidehand_theory::chart::{Meter, TICKS_PER_QUARTER};

/// A number of notes in the time of others, such as three in the time of two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tuplet {
    /// How many notes are written.
    pub actual: u32,
    /// The number of notes whose time they take.
    pub normal: u32,
    /// The number of the tuplet in the bar, from 0.
    pub number: u32,
}

/// A note value on the page, with its exact length in the bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    /// The value.
    pub value: Value,
    /// The tuplet that it stands in.
    pub tuplet: Option<Tuplet>,
}

impl Piece {
    /// Its exact length in quarter notes, as a fraction.
    pub fn length_quarters(&self) -> (u64, u64) {
        let (actual, normal) = self.tuplet.map_or((1, 1), |t| (t.actual, t.normal));
        (
            u64::from(self.value.ticks) * u64::from(normal),
            u64::from(TICKS_PER_QUARTER) * u64::from(actual),
        )
    }
}

/// A part of a bar that is counted in equal divisions.
#[derive(Clone, Copy, Debug)]
struct Region {
    start: u32,
    length: u32,
    parts: u32,
    /// The tuplet, and the written value of a division, in ticks.
    tuplet: Option<(Tuplet, u32)>,
}

impl Region {
    const fn end(&self) -> u32 {
        self.start + self.length
    }

    const fn part(&self, nth: u32) -> u32 {
        self.start + self.length * nth / self.parts
    }

    /// The nearest division to a tick in the region, counted from the region's start.
    fn nearest(&self, at: u32) -> u32 {
        let parts = 0..=self.parts;
        parts
            .min_by_key(|nth| self.part(*nth).abs_diff(at))
            .unwrap_or(0)
    }

    fn error(&self, points: &[u32]) -> u32 {
        let inside = points
            .iter()
            .filter(|p| (self.start..self.end()).contains(*p));
        inside
            .map(|p| self.part(self.nearest(*p)).abs_diff(*p))
            .sum()
    }
}

/// A bar's regions, in order and without gaps.
#[derive(Debug)]
pub struct Grid {
    meter: Meter,
    regions: Vec<Region>,
}

impl Grid {
    /// The grid that fits these places of a bar best. The places are in ticks from the bar's start.
    /// Even shares of the bar or of its beats fit exactly.
    pub fn fit(meter: Meter, points: &[u32]) -> Grid {
        let regions = even(meter, points).map_or_else(|| by_beats(meter, points), |r| vec![r]);
        Grid { meter, regions }
    }

    /// The place on the grid that is nearest to a tick of the bar. The bar's end is a place too.
    pub fn snap(&self, at: u32) -> u32 {
        let region = self.regions.iter().find(|r| at < r.end());
        region.map_or(self.meter.bar_ticks(), |r| r.part(r.nearest(at)))
    }

    /// The next place on the grid after a tick.
    pub fn next(&self, at: u32) -> u32 {
        let region = self.regions.iter().find(|r| at < r.end());
        let next = region.and_then(|r| (1..=r.parts).map(|nth| r.part(nth)).find(|p| *p > at));
        next.unwrap_or(self.meter.bar_ticks())
    }

    /// The time between two places on the grid as note values.
    pub fn pieces(&self, from: u32, to: u32) -> Vec<Piece> {
        let mut pieces = Vec::new();
        let mut plain: Option<(u32, u32)> = None;
        for region in &self.regions {
            let (start, end) = (from.max(region.start), to.min(region.end()));
            if start >= end {
                continue;
            }
            let whole = (start, end) == (region.start, region.end());
            match region.tuplet {
                Some((tuplet, part)) if !whole || self.regions.len() == 1 => {
                    pieces.extend(self.cut(plain.take(), None));
                    let places = [start, end].map(|at| region.nearest(at) * part);
                    pieces.extend(self.cut(Some((places[0], places[1])), Some(tuplet)));
                }
                _ => plain = Some((plain.map_or(start, |(from, _)| from), end)),
            }
        }
        pieces.extend(self.cut(plain, None));
        pieces
    }

    fn cut(&self, stretch: Option<(u32, u32)>, tuplet: Option<Tuplet>) -> Vec<Piece> {
        let Some((from, to)) = stretch else {
            return Vec::new();
        };
        let values = value::cut(from, to, self.meter).into_iter();
        values.map(|value| Piece { value, tuplet }).collect()
    }
}

/// The whole bar as one tuplet, if the places divide it evenly and halves of notes cannot.
fn even(meter: Meter, points: &[u32]) -> Option<Region> {
    let bar = meter.bar_ticks();
    let mut inner: Vec<u32> = points
        .iter()
        .copied()
        .filter(|p| (1..bar).contains(p))
        .collect();
    inner.sort_unstable();
    inner.dedup();
    let parts = u32::try_from(inner.len()).ok()? + 1;
    let shared = inner
        .iter()
        .zip(1..)
        .all(|(p, nth)| *p == bar * nth / parts);
    let in_halves = inner.iter().all(|p| p % 60 == 0);
    if !shared || in_halves {
        return None;
    }
    // The bar as a number of equal notes, then more notes in their time.
    let mut written = value::divisor(bar)?;
    let mut normal = bar / written;
    let mut actual = parts;
    while normal * 2 <= actual {
        (normal, written) = (normal * 2, written / 2);
    }
    let mut part = written;
    while actual < normal {
        (actual, part) = (actual * 2, part * 2);
    }
    let tuplet = Tuplet {
        actual,
        normal,
        number: 0,
    };
    (written >= SHORTEST && bar.is_multiple_of(written)).then_some(Region {
        start: 0,
        length: bar,
        parts,
        tuplet: (actual != normal).then_some((tuplet, part)),
    })
}

/// Each beat in halves or, if that fits better, in threes.
fn by_beats(meter: Meter, points: &[u32]) -> Vec<Region> {
    let bar = meter.bar_ticks();
    let compound = meter.is_compound();
    let beat = if compound {
        meter.beat_ticks() * 3
    } else {
        TICKS_PER_QUARTER
    };
    let mut regions = Vec::new();
    let mut start = 0;
    let mut number = 0;
    while start < bar {
        let length = beat.min(bar - start);
        let plain = |unit: u32| Region {
            start,
            length,
            parts: (length / unit).max(1),
            tuplet: None,
        };
        let threes = |parts: u32, part: u32| Region {
            start,
            length,
            parts,
            tuplet: Some((
                Tuplet {
                    actual: 3,
                    normal: 2,
                    number,
                },
                part,
            )),
        };
        let mut ways = vec![plain((TICKS_PER_QUARTER / 4).min(length))];
        if length == TICKS_PER_QUARTER && !compound {
            ways.push(threes(3, TICKS_PER_QUARTER / 2));
        }
        // The later divisions are taken only if they fit exactly.
        let rough = ways.len();
        ways.extend([
            plain((TICKS_PER_QUARTER / 8).min(length)),
            plain(TICKS_PER_QUARTER / 16),
        ]);
        if length == TICKS_PER_QUARTER && !compound {
            ways.push(threes(6, TICKS_PER_QUARTER / 4));
        }
        let exact = ways.iter().find(|way| way.error(points) == 0);
        let best = exact.or_else(|| ways.iter().take(rough).min_by_key(|way| way.error(points)));
        if let Some(region) = best {
            number += u32::from(region.tuplet.is_some());
            regions.push(*region);
        }
        start += length;
    }
    regions
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(meter: (u8, u8), points: &[u32], from: u32, to: u32) -> String {
        let grid = Grid::fit(Meter::new(meter.0, meter.1).unwrap(), points);
        let pieces = grid.pieces(grid.snap(from), grid.snap(to)).into_iter();
        let words = pieces.map(|p| {
            let dot = if p.value.dotted { "." } else { "" };
            let tuplet = p.tuplet.map(|t| format!(" {}:{}", t.actual, t.normal));
            format!("{}{dot}{}", p.value.name, tuplet.unwrap_or_default())
        });
        words.collect::<Vec<_>>().join(", ")
    }

    #[test]
    fn bars_that_are_shared_evenly_become_tuplets() {
        assert_eq!(said((4, 4), &[1280, 2560], 0, 1280), "half 3:2");
        assert_eq!(said((4, 4), &[1280, 2560], 0, 3840), "whole. 3:2");
        let fifths = [768, 1536, 2304, 3072];
        assert_eq!(said((4, 4), &fifths, 768, 1536), "quarter 5:4");
        let sevenths = [548, 1097, 1645, 2194, 2742, 3291];
        assert_eq!(said((4, 4), &sevenths, 548, 1097), "quarter 7:4");
        assert_eq!(
            said((3, 4), &[576, 1152, 1728, 2304], 576, 1152),
            "quarter 5:3"
        );
        assert_eq!(said((4, 4), &[960, 1920, 2880], 960, 1920), "quarter");
    }

    #[test]
    fn beats_are_in_halves_or_in_threes() {
        let swing = [640, 1600];
        assert_eq!(said((4, 4), &swing, 640, 960), "eighth 3:2");
        assert_eq!(said((4, 4), &swing, 0, 640), "quarter 3:2");
        assert_eq!(said((4, 4), &swing, 640, 1920), "eighth 3:2, quarter");
        assert_eq!(said((4, 4), &[160, 320], 160, 320), "16th 3:2");
        assert_eq!(said((4, 4), &[475, 700], 475, 700), "16th");
    }

    /// On every grid, stretches add up exactly.
    #[test]
    fn pieces_fill_their_stretch() {
        let mut random = fastrand::Rng::with_seed(20_260_103);
        for _ in 0..5_000 {
            let meter = Meter::new(random.u8(1..17), 1 << random.u8(1..5)).unwrap();
            let bar = meter.bar_ticks();
            let mut points: Vec<u32> = if random.bool() {
                let parts = random.u32(1..17);
                (0..parts).map(|nth| bar * nth / parts).collect()
            } else {
                (0..random.usize(..6)).map(|_| random.u32(0..bar)).collect()
            };
            points.sort_unstable();
            let grid = Grid::fit(meter, &points);
            let mut places: Vec<u32> = points.iter().map(|p| grid.snap(*p)).collect();
            places.extend([0, bar]);
            places.sort_unstable();
            places.dedup();
            let mut total = 0.0;
            let small = |n: u64| f64::from(u32::try_from(n).unwrap());
            for pair in places.windows(2) {
                for piece in grid.pieces(pair[0], pair[1]) {
                    let (over, under) = piece.length_quarters();
                    total += small(over) / small(under);
                }
            }
            let expected = f64::from(bar) / 960.0;
            assert!(
                (total - expected).abs() < 1e-9,
                "{meter} {points:?}: {total}"
            );
        }
    }
}
