//! A text and what it reads as: pure functions behind the guard. The worker's thread runs them,
//! or whoever waits for the result. `inner`, `shared` and `cell` import it.

use crate::document::{Document, MyVoicings, Picks};
use crate::engine::planned::{Enters, PlannedChart};
use crate::guard;
use guidehand_theory::chart::{self, Chart, ChartError, Written};
use guidehand_theory::pitch::NoteNames;
use std::sync::Arc;

/// The chart that a text is, or what there is of it.
pub type ReadResult = Result<Arc<Chart>, Arc<Unreadable>>;

/// A text as it has been read. It is one value that never changes: a newer reading, or a
/// newer plan of the same reading, is another one.
#[derive(Clone, Debug)]
pub struct ReadChart {
    /// The number that the text was given; a later text has a higher one.
    pub edition: u64,
    /// The text as typed.
    pub text: Arc<str>,
    /// What was picked for its chords.
    pub picks: Arc<Picks>,
    /// The player's own voicings.
    pub own: Arc<MyVoicings>,
    /// The language of its notes.
    pub names: NoteNames,
    /// The chart, or what is wrong with the text.
    pub chart: ReadResult,
    /// The chart in its keys, planned first in the texture in use and soon in all others.
    /// None until then, and where the text has errors.
    pub planned: Option<Arc<PlannedChart>>,
    /// The text can be read, and is still being typed: it is not in force before typing rests.
    pub waits: bool,
}

impl ReadChart {
    /// The document that was read.
    #[must_use]
    pub fn document(&self) -> Document {
        Document {
            text: self.text.clone(),
            picks: self.picks.clone(),
            own: self.own.clone(),
        }
    }

    /// What is wrong with the text; empty if nothing is.
    #[must_use]
    pub fn errors(&self) -> &[ChartError] {
        match &self.chart {
            Ok(_) => &[],
            Err(unreadable) => &unreadable.errors,
        }
    }

    /// The bars in the order of the text, whether or not it can be read as a chart.
    #[must_use]
    pub fn bars(&self) -> &[Written] {
        match &self.chart {
            Ok(chart) => &chart.written,
            Err(unreadable) => &unreadable.bars,
        }
    }
}

/// A text that is no chart.
#[derive(Debug, Default)]
pub struct Unreadable {
    /// What is wrong with it, in the order of the text.
    pub errors: Vec<ChartError>,
    /// Its bars in the order of the text.
    pub bars: Vec<Written>,
}

/// A document whose text is no longer being typed.
#[derive(Clone, Debug)]
pub struct Finished {
    /// The number that it was given, or a later one.
    pub edition: u64,
    pub document: Document,
    /// When its chart takes over from the one that plays.
    pub enters: Enters,
}

/// A text that has not been read yet, and what is in force unless it is.
#[derive(Clone, Debug)]
pub struct Unread {
    pub edition: u64,
    pub text: Arc<str>,
    pub names: NoteNames,
    /// It is no longer being typed.
    pub finished: bool,
    /// The text in force.
    pub in_force: Finished,
    /// Its chart, if that is known.
    pub known: Option<Arc<Chart>>,
    /// Texts that were finished after it and have not been read, the oldest first.
    pub newer: Vec<Finished>,
}

/// What a text reads as.
#[derive(Debug)]
pub struct Reading {
    pub edition: u64,
    pub chart: ReadResult,
    /// Where the text is still being typed, or has errors: the one that is in force meanwhile, and
    /// its chart if it has one.
    pub before: Option<(Finished, Option<Arc<Chart>>)>,
}

/// Reads a text. While it is being typed, and where it has errors, the last finished one before it
/// that has none is in force.
pub fn read(unread: &Unread) -> Reading {
    let chart_of = |text: &str| parse(text, unread.names);
    let chart = chart_of(&unread.text);
    let before = (!unread.finished || chart.is_err()).then(|| {
        let good = |one: &Finished| Some((one.clone(), Some(chart_of(&one.document.text).ok()?)));
        let last_good = unread.newer.iter().rev().find_map(good);
        last_good.unwrap_or_else(|| {
            let known = unread.known.clone();
            let chart = known.or_else(|| chart_of(&unread.in_force.document.text).ok());
            (unread.in_force.clone(), chart)
        })
    });
    Reading {
        edition: unread.edition,
        chart,
        before,
    }
}

/// Reads a text by itself.
pub fn parse(text: &str, names: NoteNames) -> ReadResult {
    let read = || {
        chart::parse_with(text, names).map_err(|errors| Unreadable {
            errors,
            bars: chart::written(text, names),
        })
    };
    // Where reading panics, the text is no chart, though it has no error to show.
    let read = guard::guarded(read).unwrap_or_else(|| Err(Unreadable::default()));
    read.map(Arc::new).map_err(Arc::new)
}
