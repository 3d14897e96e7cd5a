//! The bars in which new chords stand, their beats, and which of them the meter favours. Imports
//! `chart`; the folder of `reharm` imports it.

use crate::chart::{Meter, TICKS_PER_QUARTER};

/// Bars of one meter, without end in both directions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Grid {
    /// Ticks from the start of the chart to the start of a bar.
    start_ticks: u32,
    /// Ticks in a beat. In 6/8 and its like the beat is a dotted quarter.
    beat_ticks: u32,
    /// Beats in a bar.
    beats: u32,
}

impl Grid {
    /// The weight of the first beat of a bar.
    pub(super) const HEAVIEST: u8 = 3;
    /// The weight of the beat that divides a bar.
    pub(super) const STRONG: u8 = 2;

    /// The bars of a meter, one of which starts at this tick.
    #[must_use]
    pub fn new(meter: Meter, start_ticks: u32) -> Grid {
        Grid::of_bar(start_ticks, meter.bar_ticks(), meter.beat_ticks())
    }

    /// A bar and all like it.
    pub(super) fn of_bar(start_ticks: u32, bar_ticks: u32, unit_ticks: u32) -> Grid {
        let unit = unit_ticks.max(1);
        let units = (bar_ticks / unit).max(1);
        let in_threes = unit < TICKS_PER_QUARTER && units > 3 && units.is_multiple_of(3);
        let per_beat = if in_threes { 3 } else { 1 };
        Grid {
            start_ticks,
            beat_ticks: unit * per_beat,
            beats: units / per_beat,
        }
    }

    pub(crate) const fn beat_ticks(self) -> u32 {
        self.beat_ticks
    }

    pub(super) const fn bar_ticks(self) -> u32 {
        self.beat_ticks * self.beats
    }

    /// The first tick at or after this one on which a beat falls.
    pub(super) const fn next_beat(self, ticks: u32) -> u32 {
        let past = self.phase(ticks) % self.beat_ticks;
        if past == 0 {
            ticks
        } else {
            ticks + self.beat_ticks - past
        }
    }

    /// How much the meter favours a tick: 3 for the first beat of a bar, 2 for the beat that
    /// divides it (the third of four or of three, the fourth of five), 1 for the other beats,
    /// and 0 between them. Common practice, no published source.
    #[must_use]
    pub const fn weight(self, ticks: u32) -> u8 {
        let phase = self.phase(ticks);
        if !phase.is_multiple_of(self.beat_ticks) {
            return 0;
        }
        match phase / self.beat_ticks {
            0 => Grid::HEAVIEST,
            beat if self.beats > 2 && beat == self.beats.div_ceil(2) => Grid::STRONG,
            _ => 1,
        }
    }

    /// The first tick after this one that the meter favours more.
    pub(super) const fn outweighed_at(self, ticks: u32) -> Option<u32> {
        let here = self.weight(ticks);
        let mut beat = self.next_beat(ticks + 1);
        let end = ticks.saturating_add(self.bar_ticks());
        while beat <= end {
            if self.weight(beat) > here {
                return Some(beat);
            }
            beat += self.beat_ticks;
        }
        None
    }

    /// Whether the other grid only goes on with this one.
    fn holds_on(self, other: Grid) -> bool {
        (self.beat_ticks, self.beats) == (other.beat_ticks, other.beats)
            && self.phase(other.start_ticks) == 0
    }

    /// Ticks since the start of the bar.
    const fn phase(self, ticks: u32) -> u32 {
        let bar = self.bar_ticks();
        (ticks % bar + bar - self.start_ticks % bar) % bar
    }
}

/// The bars of a chart: grids that follow each other. There is at least one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bars {
    first: Grid,
    /// Each holds from the tick on which its first bar starts.
    later: Vec<Grid>,
}

impl From<Grid> for Bars {
    fn from(grid: Grid) -> Bars {
        Bars {
            first: grid,
            later: Vec::new(),
        }
    }
}

impl Bars {
    /// Bars in order, each by the tick on which it starts and its meter. None if there are
    /// none.
    #[must_use]
    pub fn new(bars: impl IntoIterator<Item = (u32, Meter)>) -> Option<Bars> {
        let mut grids = bars
            .into_iter()
            .map(|(start, meter)| Grid::new(meter, start));
        let mut all = Bars::from(grids.next()?);
        for grid in grids {
            if !all.at(grid.start_ticks).holds_on(grid) {
                all.later.push(grid);
            }
        }
        Some(all)
    }

    /// The grid in force at a tick.
    pub(super) fn at(&self, ticks: u32) -> Grid {
        let begun = self.later.iter().take_while(|g| g.start_ticks <= ticks);
        begun.last().copied().unwrap_or(self.first)
    }

    /// The tick on which another grid follows the one in force at this tick.
    pub(super) fn end_of(&self, ticks: u32) -> Option<u32> {
        let mut starts = self.later.iter().map(|grid| grid.start_ticks);
        starts.find(|start| *start > ticks)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pickup of one beat, two bars of four, two of three.
    #[test]
    fn grids_follow_each_other() {
        let quarters = |beats| Meter::new(beats, 4).unwrap();
        let beat = TICKS_PER_QUARTER;
        let starts = [(0, 1), (1, 4), (5, 4), (9, 3), (12, 3)];
        let bars = starts.map(|(start, beats)| (start * beat, quarters(beats)));
        let bars = Bars::new(bars).unwrap();
        assert_eq!(bars.later.len(), 2);
        let weights = (0..15).map(|at| bars.at(at * beat).weight(at * beat));
        let weights: Vec<u8> = weights.collect();
        assert_eq!(weights, [3, 3, 1, 2, 1, 3, 1, 2, 1, 3, 1, 2, 3, 1, 2]);
        assert_eq!(bars.end_of(0), Some(beat));
        assert_eq!(bars.end_of(6 * beat), Some(9 * beat));
        assert_eq!(bars.end_of(9 * beat), None);
        assert_eq!(Bars::new([]), None);
    }

    #[test]
    fn the_meter_favours_its_bar_line_and_what_divides_the_bar() {
        for (beats, unit, expected) in [
            (4, 4, &[3, 1, 2, 1][..]),
            (3, 4, &[3, 1, 2]),
            (2, 4, &[3, 1]),
            (5, 4, &[3, 1, 1, 2, 1]),
            (6, 8, &[3, 1]),
            (12, 8, &[3, 1, 2, 1]),
            (1, 4, &[3]),
        ] {
            let meter = Meter::new(beats, unit).unwrap();
            let grid = Grid::new(meter, 960);
            let beat = grid.beat_ticks();
            let weights = (0..).map(|i| grid.weight(960 + i * beat));
            let found: Vec<u8> = weights.take(expected.len()).collect();
            assert_eq!(found, expected, "{meter}");
            assert_eq!(grid.weight(960 + beat / 2), 0);
            assert_eq!(grid.bar_ticks(), meter.bar_ticks());
        }
    }
}
