//! A whole chart with other harmonies, bar by bar: plain, dressed as a tasteful player would
//! dress it, or rich. The same chart and wishes give the same result. Imports `proposals`,
//! `related` and what they import.

use super::grid::Grid;
use super::interval::{FALLS_A_FIFTH, FALLS_A_HALF_STEP, is_tonic, rise};
use super::name::{Name, Turnaround};
use super::proposal::Proposal;
use super::proposals::{apply, proposals};
use super::related::is_two_of;
use super::span::{Note, Span};
use crate::chord::Chord;
use crate::quality::{ChordFamily, Quality};

/// How much of a bar is changed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Dress {
    /// Only the skeleton: no extensions, no alterations, no chord over a chord. Roots, basses
    /// and qualities stay. An altered or suspended dominant becomes a seventh.
    Plain,
    /// Nothing is changed.
    #[default]
    Written,
    /// Changes cadences. V gets its ii before it, if there is room. V to minor takes b9 and
    /// b13. V to major is replaced by its tritone substitute if it was written with its ii and
    /// falls to a longer chord; otherwise it takes b9 and 13. IV turns minor before the tonic.
    Dressed,
    /// As dressed, and also with turnarounds, passing diminished chords, and dominants before
    /// chords that had none.
    Rich,
}

/// A bar and how it is to be dressed. A chord belongs to the bar in which it starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DressedBar {
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Ticks in the bar.
    pub length_ticks: u32,
    /// Ticks in a beat of the bar's meter.
    pub beat_ticks: u32,
    /// How it is to be dressed.
    pub dress: Dress,
}

/// The changes of a rich bar to a chord that leads nowhere by itself. The first one that fits
/// is made.
const RICH: &[Name] = &[
    Name::Turnaround(Turnaround::WithSecondary),
    Name::Turnaround(Turnaround::Plain),
    Name::Turnaround(Turnaround::PlainInMinor),
    Name::PassingUp,
    Name::PassingDown,
    Name::BeforeNext,
    Name::BeforeTonic,
    Name::TwoByFifths,
];

/// The number of beats that a chord needs for a chain.
const LONG_BEATS: u32 = 8;

/// The chart with every bar dressed as wished. Spans outside of all bars, and changes that the
/// melody rules out, stay as they are. Changed spans lose their function; [`super::analyse`]
/// finds it.
#[must_use]
pub fn dress(spans: &[Span], bars: &[DressedBar], melody: &[Note]) -> Vec<Span> {
    let mut work = spans.to_vec();
    // From the end, so that each chord's goal in the new chart is known.
    for at in (0..spans.len()).rev() {
        let Some(span) = spans.get(at) else { continue };
        let Some(bar) = bars.iter().find(|b| b.holds(span.start_ticks)) else {
            continue;
        };
        let wish = Wish {
            at,
            beat_ticks: bar.beat_ticks,
            grid: Grid::of_bar(bar.start_ticks, bar.length_ticks, bar.beat_ticks),
            arrives: spans
                .get(at + 1)
                .or(spans.first())
                .is_some_and(|next| span.length_ticks < next.length_ticks),
            melody,
        };
        match bar.dress {
            Dress::Written => {}
            Dress::Plain => wish.strip(&mut work),
            Dress::Dressed => wish.dressed(&mut work),
            Dress::Rich => wish.rich(&mut work),
        }
    }
    forget_changed(spans, work)
}

impl DressedBar {
    const fn holds(&self, tick: u32) -> bool {
        tick >= self.start_ticks && tick - self.start_ticks < self.length_ticks
    }
}

/// The span in hand, and what limits its changes.
struct Wish<'a> {
    at: usize,
    beat_ticks: u32,
    grid: Grid,
    /// Whether the chord after it is the longer one.
    arrives: bool,
    melody: &'a [Note],
}

impl Wish<'_> {
    fn strip(&self, work: &mut [Span]) {
        if let Some(span) = work.get_mut(self.at)
            && let Some(chord) = span.chord
        {
            span.chord = Some(skeleton(&chord));
        }
    }

    fn dressed(&self, work: &mut Vec<Span>) {
        if is_sort(work, self.at, ChordFamily::Dominant) {
            self.cadence(work);
        } else if leads_home(work, self.at) {
            self.take_first(work, &[Name::FourTurnsMinor, Name::MinorPlagal]);
        }
    }

    fn rich(&self, work: &mut Vec<Span>) {
        let dominant = is_sort(work, self.at, ChordFamily::Dominant);
        let cadence = pair(work, self.at).is_some_and(|(two, five)| prepares(&two, &five));
        let plagal = !dominant
            && leads_home(work, self.at)
            && self.take_first(work, &[Name::FourTurnsMinor]);
        if dominant {
            self.cadence(work);
        } else if !cadence && !plagal {
            let beat = self.beat_ticks.max(1);
            let ticks = work.get(self.at).map_or(0, |s| s.length_ticks);
            let chained = ticks / beat >= LONG_BEATS && self.take_first(work, &[Name::TwoByFifths]);
            if !chained {
                self.take_first(work, RICH);
            }
        }
    }

    /// A dominant that falls a fifth.
    fn cadence(&self, work: &mut Vec<Span>) {
        let Some((five, target)) = pair(work, self.at) else {
            return;
        };
        if rise(&five, &target) != FALLS_A_FIFTH {
            return;
        }
        let had_two = self
            .at
            .checked_sub(1)
            .and_then(|i| work.get(i)?.chord)
            .is_some_and(|before| is_two_of(&before, &five));
        let prepared = self.take_first(work, &[Name::TwoBeforeFive]);
        let colours: &[Name] = if matches!(
            target.quality.family(),
            ChordFamily::Minor | ChordFamily::HalfDiminished
        ) {
            &[Name::Flat9AndFlat13]
        } else if had_two && self.arrives {
            &[Name::Substitute, Name::Flat9And13]
        } else {
            &[Name::Flat9And13]
        };
        let five = Wish {
            at: self.at + usize::from(prepared),
            ..*self
        };
        five.take_first(work, colours);
    }

    /// Takes the first of these proposals that the melody allows.
    fn take_first(&self, work: &mut Vec<Span>, names: &[Name]) -> bool {
        let offers = proposals(work, self.at..self.at + 1, &self.grid.into(), self.melody);
        let named = |name: &Name| offers.fits.iter().find(|p| p.name == *name);
        let Some(proposal) = names.iter().find_map(named) else {
            return false;
        };
        *work = with_functions(work, proposal);
        true
    }
}

/// As [`apply`], but the new spans keep the function of the old one, since further
/// proposals need its key.
fn with_functions(work: &[Span], proposal: &Proposal) -> Vec<Span> {
    let at = proposal.span.start;
    let function = work.get(at).and_then(|s| s.function);
    let mut new = apply(work, proposal);
    for span in new.iter_mut().skip(at).take(proposal.chords.len()) {
        span.function = function;
    }
    new
}

/// Removes the function of each span that has changed.
fn forget_changed(old: &[Span], mut new: Vec<Span>) -> Vec<Span> {
    let mut unchanged = old.iter().peekable();
    for span in &mut new {
        while unchanged
            .next_if(|s| s.start_ticks < span.start_ticks)
            .is_some()
        {}
        if unchanged.peek() != Some(&&*span) {
            span.function = None;
        }
    }
    new
}

fn is_sort(work: &[Span], at: usize, sort: ChordFamily) -> bool {
    let chord = work.get(at).and_then(|s| s.chord);
    chord.is_some_and(|c| c.quality.family() == sort)
}

/// A chord and the next one that sounds. The chart repeats.
fn pair(work: &[Span], at: usize) -> Option<(Chord, Chord)> {
    let chord = work.get(at)?.chord?;
    let next = work.iter().skip(at + 1).chain(work).find_map(|s| s.chord)?;
    Some((chord, next))
}

/// Whether the first chord is a ii before a dominant or before its substitute.
fn prepares(two: &Chord, five: &Chord) -> bool {
    matches!(
        two.quality.family(),
        ChordFamily::Minor | ChordFamily::HalfDiminished
    ) && five.quality.family() == ChordFamily::Dominant
        && matches!(rise(two, five), FALLS_A_FIFTH | FALLS_A_HALF_STEP)
}

fn leads_home(work: &[Span], at: usize) -> bool {
    let key = work.get(at).and_then(|s| s.function).map(|f| f.key);
    let next = pair(work, at).map(|(_, next)| next);
    key.zip(next)
        .is_some_and(|(key, next)| is_tonic(&next, key))
}

fn skeleton(chord: &Chord) -> Chord {
    let lower = chord.lower();
    let quality = match lower.quality {
        Quality::Altered | Quality::DominantSuspended | Quality::Suspended => Quality::Dominant,
        quality => quality,
    };
    let mut plain = Chord::new(lower.root, quality);
    plain.bass = lower.bass;
    plain
}
