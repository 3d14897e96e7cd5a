//! The rows of the chart's text that are in view, with the bars in them and what is told of
//! their chords. All places are those of the text on the screen. The reading may be of an
//! older text, and its places move with the edit since then, so that everything stays with
//! its symbols until the new reading is there. The panel runs it; `paint` and `bars` import it. Imports `rows` and the model.

use super::line;
use super::rows::Rows;
use crate::editor::model::chart::ChartText;
use crate::editor::model::chart_edit::Edit;
use crate::editor::model::chart_lines::Lines;
use crate::editor::model::chart_reading::{Playing, Reading};
use crate::editor::model::words::WordKind;
use crate::engine::planned::PlannedChart;
use egui::{Pos2, Rangef, Rect, Ui, Vec2};
use guidehand_theory::chart::{ChartError, Written};
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::{ChordInKey, Taste};
use guidehand_theory::plan::Voiced;
use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

/// The text on the screen and what is known of it.
pub struct Scene<'a> {
    /// The text on the screen.
    pub text: &'a str,
    pub lines: &'a Lines,
    pub rows: &'a Rows,
    /// Where the text's corner lies on the screen.
    pub origin: Pos2,
    /// The rows in view.
    pub visible: Range<usize>,
    /// The part of the text in view, in bytes.
    pub in_view: Range<usize>,
    pub playing: Option<Playing>,
    pub reading: &'a Reading,
    /// The edit from the text that was read to the one on the screen.
    since: Edit,
    /// The reading whose voicings are told, with the edit since then.
    planned: Option<(&'a Reading, Edit)>,
}

/// A bar in view, with its places in the text on the screen.
pub struct ShownBar<'a> {
    /// Its index among the bars of the text.
    pub at: usize,
    pub bar: &'a Written,
    pub source: Range<usize>,
    /// Where the bar line after it starts, in bytes.
    pub line: usize,
    pub shares: Vec<Range<usize>>,
}

/// Voicings that have been told already, so that none is worked out twice.
#[derive(Default)]
pub struct Voicings {
    of: Option<(Arc<PlannedChart>, Taste)>,
    changes: HashMap<usize, Option<(ChordInKey, Voiced)>>,
}

impl Voicings {
    /// Forgets the voicings of another plan or another taste.
    fn follow(&mut self, planned: &Arc<PlannedChart>, taste: &Taste) {
        let same =
            |(of, with): &(Arc<PlannedChart>, Taste)| Arc::ptr_eq(of, planned) && with == taste;
        if !self.of.as_ref().is_some_and(same) {
            self.of = Some((planned.clone(), *taste));
            self.changes.clear();
        }
    }
}

impl<'a> Scene<'a> {
    /// The rows that the clip rectangle shows.
    pub fn new(
        ui: &Ui,
        chart: &'a ChartText,
        (text, lines): (&'a str, &'a Lines),
        (rows, origin): (&'a Rows, Pos2),
        playing: Option<Playing>,
    ) -> Scene<'a> {
        let clip = ui.clip_rect().intersect(ui.max_rect());
        let band = Rangef::new(clip.top() - origin.y, clip.bottom() - origin.y);
        let visible = rows.within(band);
        let reading = chart.reading();
        Scene {
            text,
            lines,
            rows,
            origin,
            in_view: rows.text_within(&visible),
            visible,
            playing,
            reading,
            since: Edit::between(&reading.text, text),
            planned: chart
                .planned()
                .map(|planned| (planned, Edit::between(&planned.text, text))),
        }
    }

    /// From the corner of the text to that of the screen.
    pub fn offset(&self) -> Vec2 {
        self.origin.to_vec2()
    }

    /// A part of the text that was read, in the text on the screen.
    pub fn moved(&self, part: &Range<usize>) -> Range<usize> {
        self.since.moved_part(part)
    }

    /// A bar of the text that was read, in the text on the screen.
    pub fn bar(&self, at: usize) -> Option<ShownBar<'a>> {
        let bar = self.reading.bars().get(at)?;
        let shares = bar.shares.iter();
        Some(ShownBar {
            at,
            source: self.moved(&bar.source),
            line: self.since.moved(bar.line),
            shares: shares.map(|share| self.moved(&share.source)).collect(),
            bar,
        })
    }

    /// The bars in view.
    pub fn bars(&self) -> Vec<ShownBar<'a>> {
        let bars = self.reading.bars();
        let (start, end) = (self.in_view.start, self.in_view.end);
        let first = bars.partition_point(|bar| self.since.moved(bar.line) < start);
        let count = bars.partition_point(|bar| self.since.moved(bar.source.start) < end);
        (first..count).filter_map(|at| self.bar(at)).collect()
    }

    /// The errors in view with their places, as ranges that can be seen.
    pub fn errors(&self) -> impl Iterator<Item = (Range<usize>, &'a ChartError)> {
        let errors = self.reading.errors();
        // They stand in the order of the text; one that begins earlier may end in view.
        let count = errors.partition_point(|e| self.since.moved(e.source.start) < self.in_view.end);
        let errors = errors.get(..count).unwrap_or(&[]).iter();
        let ranges = errors.map(|error| {
            let visible = line::visible(&self.reading.text, &error.source);
            (self.moved(&visible), error)
        });
        ranges.filter(|(range, _)| range.start < self.in_view.end && range.end > self.in_view.start)
    }

    /// Sections, endings and time signatures in view.
    pub fn marks(&self) -> Vec<Range<usize>> {
        let mut marks = Vec::new();
        let mut at = 0;
        for line in self.lines.iter() {
            let end = at + line.text.len();
            if at >= self.in_view.end {
                break;
            }
            if end >= self.in_view.start {
                let words = line.words.iter();
                let words = words.filter(|word| word.kind == WordKind::Mark);
                marks.extend(words.map(|word| at + word.source.start..at + word.source.end));
            }
            at = end + 1;
        }
        marks.retain(|mark| self.in_view.contains(&mark.start));
        marks
    }

    /// The keys that begin in a part of the text, each with its place, and whether one holds
    /// before it.
    pub fn keys(&self, part: &Range<usize>) -> (bool, Vec<(usize, Key)>) {
        let Some((reading, since)) = &self.planned else {
            return (false, Vec::new());
        };
        let keys = reading.keys();
        let first = keys.partition_point(|(at, _)| since.moved(*at) < part.start);
        let count = keys.partition_point(|(at, _)| since.moved(*at) < part.end);
        let here = keys.get(first..count).unwrap_or(&[]).iter();
        let here = here.map(|(at, key)| (since.moved(*at), *key));
        (first > 0, here.collect())
    }

    /// The chord and the voicing that are told under a symbol at a place of the text.
    pub fn voiced(
        &self,
        symbol: usize,
        taste: &Taste,
        voicings: &mut Voicings,
    ) -> Option<(ChordInKey, Voiced)> {
        let (reading, since) = self.planned.as_ref()?;
        let planned = reading.planned()?;
        let change = reading.change_at(since.back(symbol), self.playing.as_ref())?;
        voicings.follow(planned, taste);
        let voiced = voicings.changes.entry(change);
        *voiced.or_insert_with(|| planned.voiced(change, taste))
    }

    /// Where a bar ends, if that is in the row of its last share.
    pub fn bar_end(&self, bar: &ShownBar, otherwise: f32) -> f32 {
        let right = self.rows.end(self.text, bar.source.end);
        let line = self.rows.place(self.text, bar.line);
        match (right, line) {
            (Some(right), Some(line)) if right.row == line.row => {
                // Up to the bar line, with the space that words keep.
                (line.x - 9.0).max(right.x)
            }
            _ => otherwise,
        }
    }

    /// The rectangles around the letters of a part of the text, from the text's corner.
    pub fn spans(&self, part: &Range<usize>, height: f32) -> Vec<Rect> {
        self.rows.spans(self.text, part, height)
    }
}
