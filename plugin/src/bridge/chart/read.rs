//! A text and what it reads as: pure functions behind the guard. The worker's thread runs them,
//! or whoever waits for the result. `inner`, `shared` and `cell` import it.

use crate::engine::planned::PlannedChart;
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
    /// The language of its notes.
    pub names: NoteNames,
    /// The chart, or what is wrong with the text.
    pub chart: ReadResult,
    /// The chart in its keys, planned first in the texture in use and soon in all others.
    /// None until then, and where the text has errors.
    pub planned: Option<Arc<PlannedChart>>,
}

impl ReadChart {
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

/// A text that has not been read yet, and what may sound if it cannot be.
#[derive(Clone, Debug)]
pub struct Unread {
    pub edition: u64,
    pub text: Arc<str>,
    pub names: NoteNames,
    /// The texts before it, the oldest first. The first one sounds now; the others have not
    /// been read.
    pub before: Vec<Arc<str>>,
    /// The chart of the first of them, if it is known.
    pub known: Option<Arc<Chart>>,
}

/// What a text reads as.
#[derive(Debug)]
pub struct Reading {
    pub edition: u64,
    pub chart: ReadResult,
    /// The text that sounds instead of one with errors, and its chart if it has one.
    pub sounding: Option<(Arc<str>, Option<Arc<Chart>>)>,
}

/// Reads a text. Where it has errors, the last text before it that has none sounds.
pub fn read(unread: &Unread) -> Reading {
    let chart_of = |text: &str| parse(text, unread.names);
    let chart = chart_of(&unread.text);
    let sounding = match (&chart, unread.before.split_first()) {
        (Err(_), Some((first, newer))) => {
            let good = |text: &Arc<str>| Some((text.clone(), Some(chart_of(text).ok()?)));
            let last_good = newer.iter().rev().find_map(good);
            let known = || unread.known.clone().or_else(|| chart_of(first).ok());
            Some(last_good.unwrap_or_else(|| (first.clone(), known())))
        }
        _ => None,
    };
    Reading {
        edition: unread.edition,
        chart,
        sounding,
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
