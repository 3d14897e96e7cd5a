//! What a text says, before anything is repeated: its bars as they are written, and the signs
//! of the form between them in the order of the text. `read`, `roads`, `unfold`, `play` and
//! `parse` import this.

use super::bars::{Recall, Written};
use super::error::{ChartError, ChartProblem};
use super::marks::{Jump, Section};
use super::meter::Meter;
use crate::chord::Chord;
use std::ops::Range;

/// What a text says, bar by bar.
#[derive(Debug)]
pub(super) struct Reading {
    pub title: String,
    pub bars: Vec<ReadBar>,
    pub recalls: Vec<Recall>,
    /// The bars and what stands between them, in the order of the text.
    pub steps: Vec<FormStep>,
    /// Whether a sign of the form could not be read. The steps lack it, so they are not played.
    pub torn: bool,
    pub errors: Vec<ChartError>,
}

/// A written bar and what is in it.
#[derive(Debug)]
pub(super) struct ReadBar {
    pub written: Written,
    /// The time signature that it is played in. For a pickup it has only the pickup's beats.
    pub played: Meter,
    /// Its number in the text, from 1, for errors.
    pub number: u32,
    pub content: Content,
}

#[derive(Debug)]
pub(super) enum Content {
    /// The bar that was played before: `%`.
    Percent,
    /// The same, for an empty bar.
    Empty,
    /// The two bars that were played before, in two bars.
    TwoBars,
    /// What each share of the bar says, at most `MOST_SHARES`.
    Shares(Vec<Says>),
}

#[derive(Clone, Copy, Debug)]
pub(super) enum Says {
    Chord(Chord),
    Silence,
    /// The chord before continues.
    Slash,
    /// Something that could not be read. Its error has been reported.
    Wrong,
}

/// A bar or a sign of the form, in the order of the text.
#[derive(Debug)]
pub(super) struct FormStep {
    pub place: SourcePlace,
    pub kind: FormStepKind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FormStepKind {
    /// The bar at this index. A `%%` has two of these steps.
    Bar(usize),
    /// The bar at this index, which is a pickup.
    Pickup(usize),
    /// `|:`
    Opens,
    /// `:|`, and how often its repeat is played.
    Closes(u8),
    /// An ending starts.
    Ending(u8),
    /// A section starts. A bar follows before the next section.
    Section(Section),
    /// A section is played again.
    Recall(Section),
    /// The place that D.S. goes back to.
    Segno,
    /// The coda begins.
    Coda,
    /// The jump to the coda.
    ToCoda,
    /// The end after a jump.
    Fine,
    /// D.C. or D.S.
    Jump(Jump),
}

/// A place in the text, for errors.
#[derive(Clone, Debug)]
pub(super) struct SourcePlace {
    pub source: Range<usize>,
    pub bar: u32,
}

impl SourcePlace {
    /// What is wrong here.
    pub fn error(&self, problem: ChartProblem) -> ChartError {
        ChartError {
            source: self.source.clone(),
            bar: self.bar,
            problem,
        }
    }
}
