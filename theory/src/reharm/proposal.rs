//! Proposals, and the notes that rule them out. Imports `span`, `substitution`, `name`,
//! `rank` and `reason`.

use super::name::Name;
use super::rank::Rank;
use super::reason::{ClashingNote, Reason};
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
    /// The chords that replace them. Their lengths add up to the same time.
    pub chords: Vec<TimedChord>,
    /// What it does.
    pub name: Name,
    /// Where it stands in the list.
    pub rank: Rank,
    /// Why it works.
    pub reason: Reason,
    /// How far it leads from what was written, in points from 0 upwards. A new chord costs six
    /// points for each note that the old chord lacks, four for another bass, and three for each
    /// point of [`strangeness`](crate::key::strangeness) of a new root or quality, all by its
    /// share of the time. There are two more for each point of rougher root motion, and two for
    /// each chord more or fewer.
    pub distance: u16,
}

/// A proposal that the melody rules out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    /// The proposal.
    pub proposal: Proposal,
    /// Each note that clashes. There is at least one.
    pub notes: Vec<ClashingNote>,
}

/// What [`proposals`](fn@super::proposals) found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Offers {
    /// The proposals that fit the melody, in the order of their ranks.
    pub fits: Vec<Proposal>,
    /// The proposals that the melody rules out, in the same order.
    pub clashes: Vec<Clash>,
}
