//! Every proposal for a run of spans, ranked, and how one is put in place. Imports the rest of
//! its folder except `dress`, which imports it.

use super::grid::Bars;
use super::proposal::{Clash, Offers, Proposal};
use super::run::Run;
use super::span::{Note, Span, TimedChord};
use super::substitution::Substitution;
use super::{
    altered, approach, backdoor, blues, chain, cliche, deceptive, diminished, interchange, melody,
    pedal, related, relative, secondary, sideslip, sus, thirds, tritone, turnaround,
};
use crate::chord::Chord;
use crate::key::{self, Key};
use crate::slash;
use std::collections::HashSet;
use std::ops::Range;

/// The function that adds a family's proposals for a run to a list.
const fn maker(substitution: Substitution) -> fn(&Run, &mut Vec<Proposal>) {
    match substitution {
        Substitution::AlteredDominant => altered::offer,
        Substitution::TritoneSubstitute => tritone::offer,
        Substitution::RelatedTwo => related::offer,
        Substitution::SecondaryDominant => secondary::offer,
        Substitution::Suspension => sus::offer,
        Substitution::Backdoor => backdoor::offer,
        Substitution::Diminished => diminished::offer,
        Substitution::LineCliche => cliche::offer,
        Substitution::Approach => approach::offer,
        Substitution::Blues => blues::offer,
        Substitution::Deceptive => deceptive::offer,
        Substitution::Relative => relative::offer,
        Substitution::Interchange => interchange::offer,
        Substitution::Chain => chain::offer,
        Substitution::SideSlip => sideslip::offer,
        Substitution::Turnaround => turnaround::offer,
        Substitution::ThirdsCycle => thirds::offer,
        Substitution::Pedal => pedal::offer,
    }
}

/// The most spans that a proposal replaces if more are selected. Only a pedal lies under all of
/// them.
const LONGEST_RUN: usize = 8;

/// Every substitution for the spans `at` and for each run among them, by [`Rank`](super::Rank)
/// and then by distance. Of equally distant ones, earlier spans come first, then fewer spans,
/// then the order of [`Substitution`]. The chart is taken to repeat, as [`key::analyse`] takes
/// it: the last span leads to the first. Spans outside of `at` are never changed. Spans beyond
/// the end are ignored. New chords begin on beats that the meter of `bars` favours.
#[must_use]
pub fn proposals(spans: &[Span], at: Range<usize>, bars: &Bars, melody: &[Note]) -> Offers {
    let at = at.start..at.end.min(spans.len());
    let mut all: Vec<Proposal> = Vec::new();
    for part in runs(&at) {
        let whole = part == at;
        if let Some(run) = Run::of(spans, part, bars, whole) {
            for substitution in Substitution::ALL {
                maker(substitution)(&run, &mut all);
            }
        }
    }
    all.sort_by_key(|p| {
        let place = (p.span.start, p.span.end, p.substitution);
        (p.rank, p.distance, place)
    });
    let mut offers = Offers::default();
    let mut seen: HashSet<(Range<usize>, Vec<TimedChord>)> = HashSet::new();
    for proposal in all {
        // Two families can make the same proposal. The first one names it.
        if !seen.insert((proposal.span.clone(), proposal.chords.clone())) {
            continue;
        }
        let notes = melody::clashes(spans, &proposal, melody);
        if notes.is_empty() {
            offers.fits.push(proposal);
        } else {
            offers.clashes.push(Clash { proposal, notes });
        }
    }
    offers
}

/// The whole selection, and every run of it up to [`LONGEST_RUN`].
fn runs(at: &Range<usize>) -> impl Iterator<Item = Range<usize>> + use<> {
    let (from, to) = (at.start, at.end);
    let short = (from..to).flat_map(move |start| {
        let ends = start + 1..=to.min(start + LONGEST_RUN);
        ends.map(move |end| start..end)
    });
    let all = (to.saturating_sub(from) > LONGEST_RUN).then_some(from..to);
    short.chain(all)
}

/// The spans with a proposal in place. The new spans have no function yet, because the
/// functions of the whole chart can change. [`analyse`] finds them.
#[must_use]
pub fn apply(spans: &[Span], proposal: &Proposal) -> Vec<Span> {
    let (start, end) = (proposal.span.start, proposal.span.end);
    let mut start_ticks = spans.get(start).map_or(0, |s| s.start_ticks);
    let mut result: Vec<Span> = spans.iter().take(start).copied().collect();
    for part in &proposal.chords {
        result.push(Span {
            chord: Some(part.chord),
            start_ticks,
            length_ticks: part.length_ticks,
            function: None,
        });
        start_ticks += part.length_ticks;
    }
    result.extend(spans.iter().skip(end));
    result
}

/// Finds the functions of all spans again. A pinned key holds throughout. A slash chord is
/// taken for what it is.
pub fn analyse(spans: &mut [Span], pinned: Option<Key>) {
    let written: Vec<Option<Chord>> = spans.iter().map(|span| span.chord).collect();
    let meant = slash::all_meant(&written).into_iter();
    let lengths = spans.iter().map(|span| span.length_ticks);
    let chords: Vec<(Option<Chord>, u32)> = meant.zip(lengths).collect();
    for (span, function) in spans.iter_mut().zip(key::analyse_in_time(&chords, pinned)) {
        span.function = function;
    }
}
