//! What new chords in the place of old ones may not do: change nothing, repeat themselves, say
//! what comes next anyway, lose the goal of a cadence, or set a cadence against the meter.
//! Imports `grid`, `interval` and `span`; only `run` imports this.

use super::grid::Grid;
use super::interval::{FALLS_A_FIFTH, FALLS_A_HALF_STEP, is_tonic, rise};
use super::span::TimedChord;
use crate::chord::Chord;
use crate::key::Key;
use crate::quality::ChordFamily;

/// New chords in the place of old ones.
pub(super) struct Fit<'a> {
    pub(super) old: &'a [TimedChord],
    pub(super) new: &'a [TimedChord],
    /// The chord before both. None if they stand at the start.
    pub(super) before: Option<&'a Chord>,
    /// The chord after both.
    pub(super) next: &'a Chord,
    /// The key in force.
    pub(super) key: Key,
    /// The tick at which both begin.
    pub(super) start_ticks: u32,
    pub(super) grid: Grid,
}

/// A chord with the ticks at which it begins and ends.
type Timed<'a> = (&'a Chord, u32, u32);

/// Two neighbours among the new chords, with the ticks at which they begin.
struct Pair<'a> {
    first: &'a Chord,
    second: &'a Chord,
    from: u32,
    to: u32,
}

impl Fit<'_> {
    /// Whether the new chords can stand there.
    pub(super) fn holds(&self) -> bool {
        !self.changes_nothing()
            && !self.says_the_next_chord()
            && !self.loses_the_goal()
            && !self.new_pairs().iter().any(|pair| {
                pair.repeats() || pair.resolves_weakly(self.grid) || pair.leans(self.grid)
            })
    }

    /// Whether old and new are the same, apart from extensions that are left out.
    fn changes_nothing(&self) -> bool {
        let same = |(a, b): (&TimedChord, &TimedChord)| {
            let (old, new) = (&a.chord, &b.chord);
            old.root.class() == new.root.class()
                && old.quality == new.quality
                && (new.written.is_empty() || old.written == new.written)
                && old.bass == new.bass
        };
        self.old.len() == self.new.len() && self.old.iter().zip(self.new).all(same)
    }

    /// Whether the new chords end on the chord that comes next anyway.
    fn says_the_next_chord(&self) -> bool {
        let same = |part: &TimedChord| {
            part.chord.root.class() == self.next.root.class()
                && part.chord.quality.family() == self.next.quality.family()
        };
        self.new.last().is_some_and(same) && !self.old.last().is_some_and(same)
    }

    /// Whether a dominant takes the whole time of a tonic to which a dominant leads.
    fn loses_the_goal(&self) -> bool {
        let old = self.timed(self.old);
        let new = self.timed(self.new);
        let before = old.iter().map(|(chord, ..)| Some(*chord));
        let before = [self.before].into_iter().chain(before);
        before.zip(&old).any(|(five, (goal, from, to))| {
            let resolves = is_tonic(goal, self.key)
                && !goal.quality.is_dominant()
                && five.is_some_and(|f| f.quality.is_dominant() && rise(f, goal) == FALLS_A_FIFTH);
            let replaces = |(chord, begin, end): &Timed| {
                chord.quality.is_dominant() && begin <= from && end >= to
            };
            resolves && new.iter().any(replaces)
        })
    }

    /// The neighbours that meet at a tick where the old chords do not change.
    fn new_pairs(&self) -> Vec<Pair<'_>> {
        let written = self.timed(self.old);
        let new = self.timed(self.new);
        let pairs = new.iter().zip(new.iter().skip(1));
        pairs
            .filter(|(_, (_, to, _))| written.iter().all(|(_, begin, _)| begin != to))
            .map(|((first, from, _), (second, to, _))| Pair {
                first,
                second,
                from: *from,
                to: *to,
            })
            .collect()
    }

    /// The chords with the ticks at which they begin and end.
    fn timed<'p>(&self, parts: &'p [TimedChord]) -> Vec<Timed<'p>> {
        let mut ticks = self.start_ticks;
        let timed = parts.iter().map(|part| {
            let from = ticks;
            ticks += part.length_ticks;
            (&part.chord, from, ticks)
        });
        timed.collect()
    }
}

impl Pair<'_> {
    /// Whether the same chord is struck twice, by whatever names.
    fn repeats(&self) -> bool {
        let (a, b) = (self.first, self.second);
        let bass = |chord: &Chord| chord.bass.unwrap_or(chord.root).class();
        a.root.class() == b.root.class()
            && bass(a) == bass(b)
            && a.quality == b.quality
            && a.written == b.written
            && a.upper == b.upper
    }

    /// Whether a dominant resolves on a weak beat, or on one that the meter favours less than
    /// its own.
    fn resolves_weakly(&self, grid: Grid) -> bool {
        self.first.quality.is_dominant()
            && !self.second.quality.is_dominant()
            && matches!(
                rise(self.first, self.second),
                FALLS_A_FIFTH | FALLS_A_HALF_STEP
            )
            && grid.weight(self.to) < grid.weight(self.from).max(Grid::STRONG)
    }

    /// Whether a ii leans on its V over a bar line.
    fn leans(&self, grid: Grid) -> bool {
        matches!(
            self.first.quality.family(),
            ChordFamily::Minor | ChordFamily::HalfDiminished
        ) && self.second.quality.family() == ChordFamily::Dominant
            && rise(self.first, self.second) == FALLS_A_FIFTH
            && grid.weight(self.to) == Grid::HEAVIEST
            && grid.weight(self.from) < Grid::HEAVIEST
    }
}
