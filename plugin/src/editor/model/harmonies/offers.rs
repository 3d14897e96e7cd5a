//! Other harmonies for chords of the chart, in words, ready to be listed and written.
//! Pure; the panel's thread. The files beside it and the region import it.

use super::place;
use crate::editor::view;
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::chord::Chord;
use guidehand_theory::key::Key;
use guidehand_theory::reharm::{self, Bars, Note, Part, Proposal};
use std::ops::Range;

/// The most proposals that are listed, and the most that are ruled out.
pub const MOST_ROWS: usize = 60;

/// A proposal in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    /// The trade's name for it.
    pub name: String,
    /// The chords that it writes, with bar lines and beats where they need them.
    pub chords: String,
    /// The chords in whose place they stand.
    pub instead_of: String,
    /// Why it works, in one line.
    pub reason: String,
    /// How far it leads, see [`Proposal::distance`].
    pub distance: u16,
    /// The part of the list in which it stands.
    pub part: Part,
    /// The changes that it replaces.
    at: Range<usize>,
    /// What it writes: chords with their ticks.
    parts: Vec<(Option<Chord>, u32)>,
}

/// A proposal that the melody does not bear.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuledOut {
    /// The proposal.
    pub offer: Offer,
    /// What clashes, in words.
    pub why: String,
}

/// What there is to choose from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Offers {
    /// What fits, by the parts of the list and in the order of [`reharm::Rank`].
    pub fits: Vec<Offer>,
    /// What the melody rules out, in the same order.
    pub ruled_out: Vec<RuledOut>,
    /// How many more there are than are listed.
    pub unlisted: usize,
}

/// Other harmonies for these changes of a chart and every run among them; of more
/// than [`place::MOST`] changes, for the first ones.
#[must_use]
pub fn offers(chart: &Chart, at: &Range<usize>, melody: &[Note], pinned: Option<Key>) -> Offers {
    let at = at.start..at.end.min(at.start + place::MOST);
    let window = place::window(chart, &at, pinned);
    let Some(bars) = Bars::new(chart.bars.iter().map(|bar| (bar.start_ticks, bar.meter))) else {
        return Offers::default();
    };
    let asked = at.start - window.first..at.end - window.first;
    let found = reharm::proposals(&window.spans, asked, &bars, melody);
    let offer = |proposal: &Proposal| Offer::of(chart, window.first, proposal);
    let listed = |count: usize| count.min(MOST_ROWS);
    let unlisted = |count: usize| count - listed(count);
    Offers {
        unlisted: unlisted(found.fits.len()) + unlisted(found.clashes.len()),
        fits: found.fits.iter().take(MOST_ROWS).map(offer).collect(),
        ruled_out: found
            .clashes
            .iter()
            .take(MOST_ROWS)
            .map(|clash| RuledOut {
                offer: offer(&clash.proposal),
                why: clash
                    .notes
                    .iter()
                    .map(view::words)
                    .collect::<Vec<_>>()
                    .join("; "),
            })
            .collect(),
    }
}

impl Offer {
    fn of(chart: &Chart, first: usize, proposal: &Proposal) -> Offer {
        let at = proposal.span.start + first..proposal.span.end + first;
        let parts = proposal.chords.iter();
        let parts: Vec<(Option<Chord>, u32)> =
            parts.map(|p| (Some(p.chord), p.length_ticks)).collect();
        let start = chart.changes.get(at.start).map_or(0, |c| c.start_ticks);
        Offer {
            name: view::words(&proposal.name),
            chords: written(chart, start, &parts),
            instead_of: names(chart, &at),
            reason: view::words(&proposal.reason),
            distance: proposal.distance,
            part: proposal.rank.part,
            at,
            parts,
        }
    }

    /// The chart's text with this in place; none if the notation cannot hold it:
    /// a bar that is played more than once would differ, or chords fall off the
    /// beat.
    #[must_use]
    pub fn write(&self, text: &str, chart: &Chart) -> Option<String> {
        chart::rewrite(text, chart, self.at.clone(), &self.parts)
    }

    /// The changes that it replaces, indices into [`Chart::changes`].
    #[must_use]
    pub fn place(&self) -> Range<usize> {
        self.at.clone()
    }

    /// The whole of it, for a screen reader.
    #[must_use]
    pub fn spoken(&self) -> String {
        format!("{}: {} for {}", self.name, self.chords, self.instead_of)
    }
}

/// The chords of these changes, by their symbols.
#[must_use]
pub fn names(chart: &Chart, at: &Range<usize>) -> String {
    let changes = chart.changes.get(at.clone()).unwrap_or(&[]);
    let words = changes.iter().map(|change| word(change.chord));
    words.collect::<Vec<_>>().join(" ")
}

fn word(chord: Option<Chord>) -> String {
    chord.map_or_else(|| "N.C.".to_owned(), |chord| view::symbol(&chord))
}

/// Chords as a chart writes them: a bar line where one of them begins with a bar,
/// and beats where they share their time unevenly.
fn written(chart: &Chart, start: u32, parts: &[(Option<Chord>, u32)]) -> String {
    let mut bars: Vec<Vec<(String, u32)>> = Vec::new();
    let mut ticks = start;
    for (chord, length) in parts {
        let bar = chart.bars.get(chart.bar_at(ticks));
        let begins = bar.is_some_and(|bar| bar.start_ticks == ticks);
        if begins || bars.is_empty() {
            bars.push(Vec::new());
        }
        let meter = bar.map_or_else(|| chart.meter(), |bar| bar.meter);
        let beats = length / meter.beat_ticks().max(1);
        if let Some(bar) = bars.last_mut() {
            bar.push((word(*chord), beats));
        }
        ticks += length;
    }
    let bars = bars.iter().map(|bar| {
        let uneven = bar.windows(2).any(|pair| match pair {
            [(_, one), (_, other)] => one != other,
            _ => false,
        });
        let slashes = |beats: u32| if uneven { beats.saturating_sub(1) } else { 0 };
        let words = bar.iter().map(|(word, beats)| {
            let slashes = usize::try_from(slashes(*beats)).unwrap_or(0);
            format!("{word}{}", " /".repeat(slashes))
        });
        words.collect::<Vec<_>>().join(" ")
    });
    bars.collect::<Vec<_>>().join(" | ")
}

#[cfg(test)]
mod tests;
