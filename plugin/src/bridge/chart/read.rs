//! A text with its melody and what they read as: pure functions behind the guard. The worker's thread runs them,
//! or whoever waits for the result. `inner`, `shared` and `cell` import it.

use crate::document::{Document, MyVoicings, Picks};
use crate::engine::planned::{Enters, PlannedChart};
use crate::guard;
use guidehand_theory::chart::{self, Chart, ChartError, Written};
use guidehand_theory::melody::{self, Melody, MelodyError};
use guidehand_theory::pitch::NoteNames;
use std::sync::Arc;

/// The chart that a text is, or what there is of it.
pub type ReadResult = Result<Arc<Chart>, Arc<Unreadable>>;

/// The melody over a chart, or what is wrong with its text. Where the chart cannot be read its melody
/// cannot either, and nothing is wrong with it.
pub type MelodyResult = Result<Arc<Melody>, Arc<[MelodyError]>>;

/// A chart with the melody over it.
#[derive(Clone, Debug)]
pub struct LeadSheet {
    pub chart: Arc<Chart>,
    pub melody: Arc<Melody>,
}

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
    /// The text of its melody as typed.
    pub melody_text: Arc<str>,
    /// The language of its notes.
    pub names: NoteNames,
    /// The chart, or what is wrong with the text.
    pub chart: ReadResult,
    /// The melody, or what is wrong with its text.
    pub melody: MelodyResult,
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
            melody: self.melody_text.clone(),
        }
    }

    /// What is wrong with the text of the melody; empty if nothing is, and where the chart has
    /// errors.
    #[must_use]
    pub fn melody_errors(&self) -> &[MelodyError] {
        match &self.melody {
            Ok(_) => &[],
            Err(errors) => errors,
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
    /// The text of its melody.
    pub melody: Arc<str>,
    pub names: NoteNames,
    /// It is no longer being typed.
    pub finished: bool,
    /// The text in force.
    pub in_force: Finished,
    /// Its chart and its melody, if they are known.
    pub known: Option<LeadSheet>,
    /// Texts that were finished after it and have not been read, the oldest first.
    pub newer: Vec<Finished>,
}

/// A document in force, with its chart if it has one.
pub type InForce = (Finished, Option<LeadSheet>);

/// A melody and its text.
pub type WithText = (Arc<str>, Arc<Melody>);

/// What a text reads as.
#[derive(Debug)]
pub struct Reading {
    pub edition: u64,
    pub chart: ReadResult,
    pub melody: MelodyResult,
    /// Where the melody alone has errors: the one that is in force over the chart meanwhile.
    pub melody_before: Option<WithText>,
    /// Where the text is still being typed, or has errors: the one that is in force meanwhile.
    pub before: Option<InForce>,
}

/// Reads a text. While it is being typed, and where it has errors, the last finished one before it
/// that has none is in force. Where the melody has errors, the last one that has none stays.
pub fn read(unread: &Unread) -> Reading {
    let (chart, melody) = both(&unread.text, &unread.melody, unread.names);
    let waits = !unread.finished || chart.is_err();
    let before = (waits || melody.is_err()).then(|| before(unread, &unread.newer));
    let melody_before = match (&chart, &melody, &before) {
        (Ok(chart), Err(_), Some(before)) => Some(stays(before, chart)),
        _ => None,
    };
    Reading {
        edition: unread.edition,
        chart,
        melody,
        melody_before,
        before: before.filter(|_| waits),
    }
}

/// What is in force before a text, if these are the texts that were finished before it.
fn before(unread: &Unread, newer: &[Finished]) -> InForce {
    let names = unread.names;
    let Some((last, older)) = newer.split_last() else {
        let document = &unread.in_force.document;
        let known = unread.known.clone();
        let sheet = known.or_else(|| lead_sheet(&document.text, &document.melody, names));
        return (unread.in_force.clone(), sheet);
    };
    let (chart, melody) = both(&last.document.text, &last.document.melody, names);
    let Ok(chart) = chart else {
        return before(unread, older);
    };
    let (text, melody) = match melody {
        Ok(melody) => (last.document.melody.clone(), melody),
        Err(_) => stays(&before(unread, older), &chart),
    };
    let finished = Finished {
        document: last.document.with_melody(text),
        ..last.clone()
    };
    (finished, Some(LeadSheet { chart, melody }))
}

/// The melody in force, over another chart: with the same text, if that is the same melody there.
pub fn stays(in_force: &InForce, chart: &Chart) -> WithText {
    let (Finished { document, .. }, Some(LeadSheet { melody, .. })) = in_force else {
        return WithText::default();
    };
    match parse_melody(&document.melody, chart) {
        Ok(same) if same == *melody => (document.melody.clone(), same),
        _ => {
            let text: Arc<str> = melody.text(chart).into();
            let melody = parse_melody(&text, chart).unwrap_or_default();
            (text, melody)
        }
    }
}

/// Reads a text and the melody over it.
pub fn both(text: &str, melody: &str, names: NoteNames) -> (ReadResult, MelodyResult) {
    let chart = parse(text, names);
    let melody = match &chart {
        Ok(chart) => parse_melody(melody, chart),
        Err(_) => Err(Arc::default()),
    };
    (chart, melody)
}

/// The chart of a text and its melody, which is silent where it has errors. None if the text is no
/// chart.
fn lead_sheet(text: &str, melody: &str, names: NoteNames) -> Option<LeadSheet> {
    let (chart, melody) = both(text, melody, names);
    Some(LeadSheet {
        chart: chart.ok()?,
        melody: melody.unwrap_or_default(),
    })
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

/// Reads a melody over a chart.
pub fn parse_melody(text: &str, chart: &Chart) -> MelodyResult {
    let read = guard::guarded(|| melody::parse(text, chart));
    // Where reading panics, the text is no melody, though it has no error to show.
    let read = read.unwrap_or_else(|| Err(Vec::new()));
    read.map(Arc::new).map_err(Arc::from)
}
