//! Proposals, and the notes that rule them out. Imports `span`, `substitution` and `reason`.

use super::reason::{ClashingNote, Name, Reason};
use super::span::TimedChord;
use super::substitution::Substitution;
use std::ops::Range;

/// Other chords for a run of spans.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proposal {
    /// The family.
    pub substitution: Substitution,
    /// The spans that it replaces.
    pub span: Range<usize>,
    /// What replaces them; the lengths add up to theirs.
    pub chords: Vec<TimedChord>,
    /// What it does.
    pub name: Name,
    /// Why it works.
    pub reason: Reason,
    /// How far it leads from what was written, in points from 0 upwards. By their
    /// share of the time: six for each note that the old chord lacks, four
    /// for another bass, three for each point of [`strangeness`](crate::key::strangeness) of a new root
    /// or quality. Then two for each point of rougher root motion, and two for each
    /// chord more, or fewer.
    pub distance: u16,
}

/// A proposal that the melody rules out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    /// The proposal.
    pub proposal: Proposal,
    /// Each note that clashes; never empty.
    pub notes: Vec<ClashingNote>,
}

/// What [`proposals`](super::proposals) found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Offers {
    /// What fits, the nearest first.
    pub fits: Vec<Proposal>,
    /// What the melody rules out, the nearest first.
    pub clashes: Vec<Clash>,
}
