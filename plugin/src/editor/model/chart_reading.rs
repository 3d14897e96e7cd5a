//! What the panel tells of a text that has been read: which change of the chart a symbol
//! is, where keys begin, and the place that sounds. Places are those of the text that was
//! read. The panel runs it; `chart` and `panel` import it. Imports `chart_edit`, `words` and the
//! bridge's readings.

use super::chart_edit::Edit;
use super::words;
use crate::bridge::chart::ReadChart;
use crate::document::ChordPlayed;
use crate::engine::planned::PlannedChart;
use crate::engine::snapshot::Snapshot;
use guidehand_theory::chart::Chart;
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::Taste;
use std::ops::Deref;
use std::sync::Arc;

/// A text that has been read, with what is looked up in it in every frame.
#[derive(Clone, Debug)]
pub struct Reading {
    read: Arc<ReadChart>,
    /// The places of symbols in the text, ascending, each with the first change of the
    /// chart that plays it.
    changes_at: Arc<[(usize, usize)]>,
    /// The written chord that each change plays.
    played: Arc<[Option<ChordPlayed>]>,
    /// Where other keys begin, in the order of the text.
    keys: Arc<[(usize, Key)]>,
}

/// The place that sounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Playing {
    /// The bar in the text.
    pub bar: usize,
    /// The chord in it.
    pub share: usize,
    /// The beat in it, from 0.
    pub beat: u32,
    /// The change as played.
    pub change: Option<usize>,
}

impl Deref for Reading {
    type Target = ReadChart;

    fn deref(&self) -> &ReadChart {
        &self.read
    }
}

impl Reading {
    /// Looks up what is told in every frame.
    #[must_use]
    pub fn new(read: Arc<ReadChart>) -> Reading {
        let mut reading = Reading {
            changes_at: match &read.chart {
                Ok(chart) => changes_at(chart),
                Err(_) => Arc::default(),
            },
            played: match &read.chart {
                Ok(chart) => ChordPlayed::of(chart).into(),
                Err(_) => Arc::default(),
            },
            keys: Arc::default(),
            read,
        };
        reading.keys = reading.find_keys();
        reading
    }

    /// The same with what has come since. Little is looked up again where only a plan has.
    #[must_use]
    pub fn followed_by(&self, read: Arc<ReadChart>) -> Reading {
        let same_chart = match (self.chart(), read.chart.as_ref().ok()) {
            (Some(before), Some(now)) => Arc::ptr_eq(before, now),
            _ => false,
        };
        if !same_chart {
            return Reading::new(read);
        }
        let same_keys = match (&self.read.planned, &read.planned) {
            (Some(before), Some(now)) => Arc::ptr_eq(&before.changes, &now.changes),
            (before, now) => before.is_none() && now.is_none(),
        };
        let mut reading = Reading {
            read,
            ..self.clone()
        };
        if !same_keys {
            reading.keys = reading.find_keys();
        }
        reading
    }

    fn find_keys(&self) -> Arc<[(usize, Key)]> {
        let planned = self.read.planned.as_ref().zip(self.chart());
        planned.map_or_else(Arc::default, |(planned, chart)| planned.keys(chart).into())
    }

    /// Whether it is this very value.
    #[must_use]
    pub fn is(&self, read: &Arc<ReadChart>) -> bool {
        Arc::ptr_eq(&self.read, read)
    }

    /// Whether both are this very value.
    #[must_use]
    pub fn is_same(&self, other: &Reading) -> bool {
        self.is(&other.read)
    }

    /// Whether both are of one reading of one text, planned or not.
    #[must_use]
    pub fn is_as_read(&self, other: &Reading) -> bool {
        match (&self.read.chart, &other.read.chart) {
            (Ok(one), Ok(other)) => Arc::ptr_eq(one, other),
            (Err(one), Err(other)) => Arc::ptr_eq(one, other),
            _ => false,
        }
    }

    /// The chart, if there is nothing wrong with the text.
    #[must_use]
    pub fn chart(&self) -> Option<&Arc<Chart>> {
        self.read.chart.as_ref().ok()
    }

    /// The chart with its voicings, once it has been planned.
    #[must_use]
    pub fn planned(&self) -> Option<&Arc<PlannedChart>> {
        self.read.planned.as_ref()
    }

    /// The written chord that a change plays; none where the chart is silent.
    #[must_use]
    pub fn chord_at(&self, change: usize) -> Option<&ChordPlayed> {
        self.played.get(change)?.as_ref()
    }

    /// How often a written chord is played; 0 if it is not read yet.
    #[must_use]
    pub fn passes_of(&self, index: usize) -> u16 {
        let mut played = self.played.iter().flatten();
        let found = played.find(|played| played.index == index);
        found.map_or(0, |played| played.passes)
    }

    /// Whether the chord of a change is voiced otherwise another time: what a player pins may then
    /// be meant for this time only.
    #[must_use]
    pub fn passes_differ(&self, change: usize, taste: &Taste) -> bool {
        let Some((planned, here)) = self.planned().zip(self.chord_at(change)) else {
            return false;
        };
        let of_chord = self
            .played
            .iter()
            .enumerate()
            .filter(|(_, played)| played.is_some_and(|played| played.index == here.index));
        let voicings = of_chord.map(|(at, _)| planned.voiced(at, taste).map(|(_, v)| v.voicing));
        let mut voicings = voicings.peekable();
        let first = voicings.peek().copied();
        voicings.any(|voicing| Some(voicing) != first)
    }

    /// Where other keys begin, in the order of the text.
    #[must_use]
    pub fn keys(&self) -> &[(usize, Key)] {
        &self.keys
    }

    /// Where symbols begin in the text, ascending, each with the first change of the chart that
    /// plays it.
    #[must_use]
    pub fn symbols(&self) -> &[(usize, usize)] {
        &self.changes_at
    }

    /// The place that sounds. There is none where the text has errors: an older chart
    /// sounds then.
    #[must_use]
    pub fn playing(&self, snapshot: &Snapshot) -> Option<Playing> {
        let chart = self.chart()?;
        let change = snapshot.change.and_then(|at| chart.changes.get(at));
        let ticks = snapshot.beat_ticks.or(change.map(|c| c.start_ticks))?;
        let played = chart.bars.get(chart.bar_at(ticks))?;
        let since = ticks.checked_sub(played.start_ticks)?;
        let bar = chart.written.get(played.written)?;
        let nth = words::share_at(bar, since).unwrap_or(0);
        // A slash prolongs the chord before it.
        let slash = |share: &usize| {
            let share = bar.shares.get(*share);
            let word = share.and_then(|share| self.read.text.get(share.source.clone()));
            matches!(word, Some("/" | "."))
        };
        let share = (0..=nth).rev().find(|share| !slash(share)).unwrap_or(0);
        Some(Playing {
            bar: played.written,
            share,
            beat: since / played.meter.beat_ticks().max(1),
            change: snapshot.change,
        })
    }

    /// The place that sounds while the chart of another text plays, of which this is the reading:
    /// the one in the bar that is the same in both texts. There is none where that bar has been
    /// edited.
    #[must_use]
    pub fn playing_by(&self, other: &Reading, snapshot: &Snapshot) -> Option<Playing> {
        let playing = other.playing(snapshot)?;
        let sounds = other.bars().get(playing.bar)?;
        let edit = Edit::between(&other.text, &self.text);
        // What is put right before the bar moves its end, and not its start.
        let end = edit.moved(sounds.source.end);
        let bar = self.bars().iter().position(|bar| {
            bar.source.end == end
                && bar.meter == sounds.meter
                && self.text.get(bar.source.clone()) == other.text.get(sounds.source.clone())
        })?;
        Some(Playing {
            bar,
            change: None,
            ..playing
        })
    }

    /// The change that is told under a symbol: of several playings the one under way, or
    /// the first.
    #[must_use]
    pub fn change_at(&self, symbol: usize, playing: Option<&Playing>) -> Option<usize> {
        let chart = self.chart()?;
        let under_way = playing.and_then(|p| p.change).filter(|change| {
            let change = chart.changes.get(*change);
            change.is_some_and(|c| c.source.start == symbol)
        });
        under_way.or_else(|| {
            let found = self.changes_at.binary_search_by_key(&symbol, |(at, _)| *at);
            Some(self.changes_at.get(found.ok()?)?.1)
        })
    }
}

fn changes_at(chart: &Chart) -> Arc<[(usize, usize)]> {
    let changes = chart.changes.iter();
    let mut found: Vec<(usize, usize)> = changes.map(|c| c.source.start).zip(0..).collect();
    found.sort_unstable();
    found.dedup_by_key(|(at, _)| *at);
    found.into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bridge::chart::ChartCell;

    fn playing_at(ticks: u32, change: usize) -> Snapshot {
        Snapshot {
            playing: true,
            beat_ticks: Some(ticks),
            change: Some(change),
            ..Snapshot::default()
        }
    }

    #[test]
    fn the_place_that_sounds_is_found_through_repeats_and_signs() {
        let (cell, _charts) = ChartCell::new();
        cell.set_text("|: Dm7 / G7 / | % :| 3/4 C6 F6 Bb6 |");
        let chart = Reading::new(cell.latest());
        let bar = 3840;
        for (ticks, expected) in [
            (0, (0, 0, 0)),
            (960, (0, 0, 1)),
            (1920, (0, 2, 2)),
            (bar + 2880, (1, 0, 3)),
            (2 * bar + 1920, (0, 2, 2)),
            (4 * bar, (2, 0, 0)),
            (4 * bar + 1920, (2, 2, 2)),
        ] {
            let playing = chart.playing(&playing_at(ticks, 0)).unwrap();
            let found = (playing.bar, playing.share, playing.beat);
            assert_eq!(found, expected, "{ticks}");
        }
        assert_eq!(chart.playing(&Snapshot::default()), None);
        cell.set_text("| H7 |");
        let wrong = Reading::new(cell.latest());
        assert_eq!(wrong.playing(&playing_at(0, 0)), None);
    }

    #[test]
    fn the_place_that_sounds_is_found_in_an_edited_text() {
        let read = |text: &str| {
            let (cell, _charts) = ChartCell::new();
            cell.set_text(text);
            Reading::new(cell.latest())
        };
        let plays = read("| Dm7 | G7 / C6 / | Am7 |");
        let third_beat = playing_at(3840 + 1920, 2);
        for (text, bar) in [
            ("| Dm7 | G7 / C6 / | Am7 | F", Some(1)),
            ("| Dm7 | % | Em7 | G7 / C6 / | Am7 |", Some(3)),
            // It need not be a chart.
            ("| Dm7 H | G7 / C6 / | Am7 |", Some(1)),
            ("| Dm7 | G7 / C6 / Bb6 | Am7 |", None),
            ("| Dm7 | 5/4 G7 / C6 / | Am7 |", None),
            ("", None),
        ] {
            let found = read(text).playing_by(&plays, &third_beat);
            let found = found.map(|p| (p.bar, p.share, p.beat, p.change));
            assert_eq!(found, bar.map(|bar| (bar, 2, 2, None)), "{text}");
        }
    }

    #[test]
    fn keys_are_told_where_they_change() {
        let (cell, _charts) = ChartCell::new();
        let text = "| Dm7 | G7 | Cmaj7 | % |\n| Abm7 | Db7 | Gbmaj7 | % |";
        cell.set_text(text);
        let reading = Reading::new(cell.latest());
        let keys = reading.keys().iter();
        let keys: Vec<String> = keys.map(|(at, key)| format!("{at} {key}")).collect();
        let second = format!("{} Gb major", text.find("Abm7").unwrap());
        assert_eq!(keys, ["2 C major", &second]);
    }
}
