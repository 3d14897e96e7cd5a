//! The chord in hand in its chart: which change it is, what follows it, what it sounds like. Pure.
//! The panel's thread; `ways` and `in_hand` import it. Imports `chart` and `audition`.

use crate::document::{ChordPlayed, Pass};
use crate::editor::model::audition::HeardChord;
use crate::editor::model::chart::ChartText;
use crate::editor::model::chart_reading::Reading;
use crate::engine::planned::PlannedChart;
use crate::engine::settings::Settings;
use crate::engine::snapshot::Sounding;
use guidehand_theory::chart::Chart;
use guidehand_theory::pipeline::{ChordInKey, LOWEST_BASS, Taste};
use std::num::NonZeroU16;
use std::ops::Range;
use std::sync::Arc;

/// The chord in hand, in its chart.
#[derive(Clone, Copy, Debug)]
pub struct Held<'a> {
    /// The chart.
    pub planned: &'a Arc<PlannedChart>,
    /// The chart that it was planned from.
    pub chart: &'a Chart,
    /// Which change it is.
    pub change: usize,
    /// What the text reads as.
    reading: &'a Reading,
    /// Which of the symbols it is.
    nth: usize,
}

/// Which time a chord is played, and how often in all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Time {
    /// From 1.
    pub this: u16,
    /// At least as many.
    pub of: u16,
}

impl Time {
    /// This time only.
    #[must_use]
    pub fn only(self) -> Pass {
        NonZeroU16::new(self.this).map_or(Pass::Every, Pass::Only)
    }
}

impl<'a> Held<'a> {
    /// The chord at the cursor, or the next one after a silence. Of a chord that is played several
    /// times it is the first playing.
    #[must_use]
    pub fn at_cursor(text: &'a ChartText) -> Option<Held<'a>> {
        let reading = text.planned()?;
        let (chart, planned) = reading.chart().zip(reading.planned())?;
        let symbols = reading.symbols();
        let cursor = text.selection_in(reading).map_or(0, |part| part.start);
        let begun = symbols.partition_point(|(start, _)| *start <= cursor);
        let count = symbols.len();
        let nth = begun.saturating_sub(1);
        let is_chord = |nth: &usize| {
            let change = symbols
                .get(*nth)
                .and_then(|(_, at)| planned.changes.get(*at));
            change.is_some_and(|change| change.placed.is_some())
        };
        let nth = (nth..count).chain((0..nth).rev()).find(is_chord)?;
        Some(Held {
            reading,
            chart,
            planned,
            nth,
            change: symbols.get(nth)?.1,
        })
    }

    /// The same chord where it is played for this time, from 1; as it is if it is not played so
    /// often.
    #[must_use]
    pub fn at_time(self, pass: u16) -> Held<'a> {
        let now = self.played().filter(|now| now.pass != pass);
        let change = now.and_then(|now| {
            let mut changes = 0..self.planned.changes.len();
            changes.find(|at| {
                let played = self.reading.chord_at(*at);
                played.is_some_and(|played| (played.index, played.pass) == (now.index, pass))
            })
        });
        Held {
            change: change.unwrap_or(self.change),
            ..self
        }
    }

    /// Which written chord it plays.
    #[must_use]
    pub fn played(&self) -> Option<&'a ChordPlayed> {
        self.reading.chord_at(self.change)
    }

    /// Which time it is played, if it is voiced otherwise another time.
    #[must_use]
    pub fn time(&self, taste: &Taste) -> Option<Time> {
        let differs = self.reading.passes_differ(self.change, taste);
        let played = self.played().filter(|_| differs)?;
        Some(Time {
            this: played.pass,
            of: played.passes,
        })
    }

    /// The chord in its key.
    #[must_use]
    pub fn chord(&self) -> Option<ChordInKey> {
        self.planned.changes.get(self.change)?.placed
    }

    /// Whether a voicing is pinned to it.
    #[must_use]
    pub fn is_pinned(&self) -> bool {
        self.planned.pinned(self.change).is_some()
    }

    /// Its symbol in the text that was read, in bytes.
    #[must_use]
    pub fn symbol(&self) -> Option<Range<usize>> {
        Some(self.chart.changes.get(self.change)?.source.clone())
    }

    /// The chord before it in the order of playing, if there is one.
    #[must_use]
    pub fn before(&self) -> Option<usize> {
        let changes = &self.planned.changes;
        let is_chord = |at: &usize| changes.get(*at).is_some_and(|c| c.placed.is_some());
        (0..self.change).rev().find(is_chord)
    }

    /// The chord that follows as the chart is played, which may be this one again.
    #[must_use]
    pub fn after(&self) -> Option<usize> {
        let changes = &self.planned.changes;
        let is_chord = |at: &usize| changes.get(*at).is_some_and(|c| c.placed.is_some());
        let again = self.planned.index_at(f64::from(self.planned.pickup_ticks));
        let later = self.change + 1..changes.len();
        later.chain(again..changes.len()).find(is_chord)
    }

    /// Where the chord that stands before it in the text begins, in bytes of the text that was
    /// read, or the one that stands after it.
    #[must_use]
    pub fn beside(&self, next: bool) -> Option<usize> {
        let symbols = self.reading.symbols();
        let is_chord = |(_, at): &&(usize, usize)| {
            let change = self.planned.changes.get(*at);
            change.is_some_and(|change| change.placed.is_some())
        };
        let found = if next {
            symbols.get(self.nth + 1..)?.iter().find(is_chord)
        } else {
            symbols.get(..self.nth)?.iter().rev().find(is_chord)
        };
        found.map(|(start, _)| *start)
    }

    /// The chord as it is heard.
    #[must_use]
    pub fn heard(&self, settings: &Settings) -> Option<HeardChord> {
        let (placed, voiced) = self.planned.voiced(self.change, &settings.taste)?;
        Some(HeardChord::new(&placed, voiced.voicing))
    }

    /// What sounds of a change.
    #[must_use]
    pub fn sounding(&self, change: usize, settings: &Settings) -> Option<Sounding> {
        let (placed, voiced) = self.planned.voiced(change, &settings.taste)?;
        let bass = settings.bass_channel.and_then(|_| placed.bass(LOWEST_BASS));
        Some(Sounding {
            placed,
            voiced,
            bass,
            read: None,
        })
    }
}
