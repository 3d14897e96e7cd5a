//! Other harmonies for an arranger: for a chord or a run of chords, the
//! substitutions of the trade, each with its reason and its distance from what
//! was written, and whole charts dressed up bar by bar.
//! Imports `key`, `scale`, `tension`, `symbol` and what is above them.

mod altered;
mod backdoor;
mod chain;
mod deceptive;
mod diminished;
mod divide;
mod dress;
mod interchange;
mod measure;
mod melody;
mod pedal;
mod reason;
mod related;
mod relative;
mod run;
mod secondary;
mod sideslip;
mod sus;
mod thirds;
mod tritone;
mod turnaround;

pub use dress::{Bar, Dress, dress};
pub use reason::{ClashingNote, Fall, Lender, Name, Reason, Turnaround};

use crate::chord::Chord;
use crate::key::{self, Function, Key};
use crate::pitch::PitchClass;
use crate::slash;
use run::Run;
use std::collections::HashSet;
use std::ops::Range;

/// A chord in time; spans follow each other without gaps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// The chord, or none for silence, which is never replaced.
    pub chord: Option<Chord>,
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Ticks until the next span.
    pub length_ticks: u32,
    /// The chord's function, as [`analyse`] finds it; nothing is proposed for
    /// chords without one.
    pub function: Option<Function>,
}

/// A note of the melody, in any octave. Every note that is told counts, so leave
/// out those that only pass.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Note {
    /// The key that sounds.
    pub class: PitchClass,
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Ticks that it sounds.
    pub length_ticks: u32,
}

/// A chord of a proposal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Part {
    /// The chord.
    pub chord: Chord,
    /// Ticks until the next part or the end of the proposal: a beat or more,
    /// unless the chord stands in the place of a shorter one.
    pub length_ticks: u32,
}

/// The families of substitutions, in the order that breaks ties.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Alterations of a dominant on its own root.
    AlteredDominant,
    /// A dominant a tritone away, on the same guide tones.
    TritoneSubstitute,
    /// The ii before a dominant.
    RelatedTwo,
    /// The dominant of the chord that follows.
    SecondaryDominant,
    /// Suspended dominants for ii and V.
    Suspension,
    /// bVII7, with or without iv before it, for V.
    Backdoor,
    /// Passing, common-tone and leading-tone diminished sevenths.
    Diminished,
    /// Another chord where the dominant promises the tonic.
    Deceptive,
    /// Chords of the key that share most of their notes.
    Relative,
    /// Chords of the parallel key, the minor plagal among them.
    Interchange,
    /// Dominants that fall by fifths, or by half steps.
    Chain,
    /// ii-V a half step off and back.
    SideSlip,
    /// Four chords that lead back to the tonic.
    Turnaround,
    /// Tonics a major third apart, each with its dominant.
    ThirdsCycle,
    /// One bass note under a run of chords.
    Pedal,
}

impl Kind {
    /// Every family, in order.
    pub const ALL: [Kind; 15] = [
        Kind::AlteredDominant,
        Kind::TritoneSubstitute,
        Kind::RelatedTwo,
        Kind::SecondaryDominant,
        Kind::Suspension,
        Kind::Backdoor,
        Kind::Diminished,
        Kind::Deceptive,
        Kind::Relative,
        Kind::Interchange,
        Kind::Chain,
        Kind::SideSlip,
        Kind::Turnaround,
        Kind::ThirdsCycle,
        Kind::Pedal,
    ];

    /// What fills a list with the family's proposals for a run.
    const fn maker(self) -> fn(&Run, &mut Vec<Proposal>) {
        match self {
            Kind::AlteredDominant => altered::offer,
            Kind::TritoneSubstitute => tritone::offer,
            Kind::RelatedTwo => related::offer,
            Kind::SecondaryDominant => secondary::offer,
            Kind::Suspension => sus::offer,
            Kind::Backdoor => backdoor::offer,
            Kind::Diminished => diminished::offer,
            Kind::Deceptive => deceptive::offer,
            Kind::Relative => relative::offer,
            Kind::Interchange => interchange::offer,
            Kind::Chain => chain::offer,
            Kind::SideSlip => sideslip::offer,
            Kind::Turnaround => turnaround::offer,
            Kind::ThirdsCycle => thirds::offer,
            Kind::Pedal => pedal::offer,
        }
    }
}

/// Other chords for a run of spans.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proposal {
    /// The family.
    pub kind: Kind,
    /// The spans that it replaces.
    pub span: Range<usize>,
    /// What replaces them; the lengths add up to theirs.
    pub chords: Vec<Part>,
    /// What it does.
    pub name: Name,
    /// Why it works.
    pub reason: Reason,
    /// How far it leads from what was written, in points from 0 upwards. By their
    /// share of the time: six for each note that the old chord lacks, four
    /// for another bass, three for each point of [`key::strangeness`] of a new root
    /// or quality. Then two for each point of rougher root motion, and two for each
    /// chord more, or fewer.
    pub distance: u16,
}

/// A proposal that the melody does not bear.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    /// The proposal.
    pub proposal: Proposal,
    /// Each note that clashes; never empty.
    pub notes: Vec<ClashingNote>,
}

/// What [`proposals`] found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Offers {
    /// What fits, the nearest first.
    pub fits: Vec<Proposal>,
    /// What the melody rules out, the nearest first.
    pub clashes: Vec<Clash>,
}

/// The most spans that a proposal replaces when more are selected; only a pedal
/// lies under all of them.
const LONGEST_RUN: usize = 8;

/// Every substitution for the spans `at` and for each run among them, ranked by
/// distance; of equals, earlier spans come first, then fewer, then the order of
/// [`Kind`]. The chart is taken to repeat, as [`key::analyse`] takes it: the last
/// span leads to the first. Spans outside of `at` are never touched. Spans
/// beyond the end are ignored. No part is shorter than `beat_ticks`, a beat of
/// the meter in force.
#[must_use]
pub fn proposals(spans: &[Span], at: Range<usize>, beat_ticks: u32, melody: &[Note]) -> Offers {
    let at = at.start..at.end.min(spans.len());
    let mut all: Vec<Proposal> = Vec::new();
    for part in runs(&at) {
        let whole = part == at;
        if let Some(run) = Run::of(spans, part, beat_ticks, whole) {
            for kind in Kind::ALL {
                kind.maker()(&run, &mut all);
            }
        }
    }
    all.sort_by_key(|p| (p.distance, p.span.start, p.span.end, p.kind));
    let mut offers = Offers::default();
    let mut seen: HashSet<(Range<usize>, Vec<Part>)> = HashSet::new();
    for proposal in all {
        // Two families can make the same of it; the first names it.
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

/// All of a selection, and every run of it up to [`LONGEST_RUN`].
fn runs(at: &Range<usize>) -> impl Iterator<Item = Range<usize>> + use<> {
    let (from, to) = (at.start, at.end);
    let short = (from..to).flat_map(move |start| {
        let ends = start + 1..=to.min(start + LONGEST_RUN);
        ends.map(move |end| start..end)
    });
    let all = (to.saturating_sub(from) > LONGEST_RUN).then_some(from..to);
    short.chain(all)
}

/// The spans with a proposal in place. The new spans have no function yet: those
/// of the whole chart can change, and [`analyse`] finds them.
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

/// Finds the functions of all spans anew; a pinned key holds throughout. A slash chord
/// is taken for what it is.
pub fn analyse(spans: &mut [Span], pinned: Option<Key>) {
    let written: Vec<Option<Chord>> = spans.iter().map(|span| span.chord).collect();
    let meant = slash::all_meant(&written).into_iter();
    let lengths = spans.iter().map(|span| span.length_ticks);
    let chords: Vec<(Option<Chord>, u32)> = meant.zip(lengths).collect();
    for (span, function) in spans.iter_mut().zip(key::analyse_in_time(&chords, pinned)) {
        span.function = function;
    }
}
