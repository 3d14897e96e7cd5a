//! What is painted around the chart's text, for the rows in view: keys above the
//! symbols, beats and forms under them, the place that sounds, letters, endings
//! and errors. Imports `forms`, `layout`, `rows` and its parent.

use super::layout::{self, LETTERS, LINE};
use super::rows::{Place, Rows};
use super::{ChartText, GUTTER, Playing, forms};
use crate::editor::model::words::{self, Bar, Kind};
use crate::editor::palette::Palette;
use crate::editor::theme;
use crate::editor::view::{self, NoteKind};
use egui::text::CCursor;
use egui::{
    Align2, Color32, Painter, Pos2, Rangef, Rect, Response, Shape, Stroke, StrokeKind, Ui, pos2,
    vec2,
};
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::plan::Voiced;
use std::ops::Range;

/// The size of what is written above and under the symbols, in points.
const NOTE: f32 = 11.0;
/// Between the parts of a note under a symbol, in points.
const PART: f32 = 5.0;

/// The rows in view, ready to be dressed.
pub struct Scene<'a> {
    painter: Painter,
    palette: &'static Palette,
    chart: &'a ChartText,
    rows: &'a Rows,
    /// Where the text's corner lies on the screen.
    origin: Pos2,
    /// The part of the text in view, in bytes.
    in_view: Range<usize>,
    /// The rows in view.
    visible: Range<usize>,
    playing: Option<Playing>,
}

impl<'a> Scene<'a> {
    /// The rows that the clip rectangle shows.
    pub fn new(
        ui: &Ui,
        chart: &'a ChartText,
        rows: &'a Rows,
        origin: Pos2,
        playing: Option<Playing>,
    ) -> Scene<'a> {
        let clip = ui.clip_rect().intersect(ui.max_rect());
        let band = Rangef::new(clip.top() - origin.y, clip.bottom() - origin.y);
        let visible = rows.within(band);
        Scene {
            painter: ui.painter().clone(),
            palette: theme::palette(ui.ctx()),
            chart,
            rows,
            origin,
            in_view: rows.text_within(&visible),
            visible,
            playing,
        }
    }

    /// What lies behind the text: the bar and the chord that sound, the frames of
    /// section letters.
    pub fn behind(&self) -> Vec<Shape> {
        let mut shapes = Vec::new();
        if let Some(marked) = &self.chart.marked {
            for span in self.rows.spans(&self.chart.text, marked, LETTERS) {
                shapes.push(self.filled(span.expand2(vec2(4.0, 2.0)), self.palette.selected));
            }
        }
        if let Some(playing) = &self.playing
            && let Some(bar) = self.chart.bars.get(playing.bar)
        {
            let around = |range: &Range<usize>| self.rows.spans(&self.chart.text, range, LETTERS);
            let colour = self.palette.raised;
            for span in around(&bar.source) {
                let right = self.bar_end(bar, span.right());
                let span = span.with_max_x(right).expand2(vec2(5.0, 3.0));
                shapes.push(self.filled(span, colour));
            }
            let share = bar.shares.get(playing.share);
            for span in share.into_iter().flat_map(around) {
                let span = span.expand2(vec2(4.0, 2.0));
                shapes.push(self.filled(span, self.palette.playhead));
            }
        }
        for mark in self.marks().filter(|mark| is_section(mark.1)) {
            for span in self.rows.spans(&self.chart.text, &mark.0, LETTERS) {
                let span = span
                    .expand2(vec2(2.0, 1.0))
                    .translate(self.origin.to_vec2());
                let stroke = Stroke::new(1.0, self.palette.soft);
                shapes.push(Shape::rect_stroke(span, 3.0, stroke, StrokeKind::Inside));
            }
        }
        shapes
    }

    fn filled(&self, rect: Rect, colour: Color32) -> Shape {
        Shape::rect_filled(rect.translate(self.origin.to_vec2()), 4.0, colour)
    }

    /// What lies over the text.
    pub fn over(&self) {
        let bars = &self.chart.bars;
        let first = bars.partition_point(|bar| bar.end < self.in_view.start);
        let count = bars.partition_point(|bar| bar.source.start < self.in_view.end);
        for at in first..count {
            if let Some(bar) = bars.get(at) {
                self.number(at, bar);
                self.beats(at, bar);
                self.notes(bar, bars.get(at + 1));
                self.ending(at, bar);
            }
        }
        self.keys();
        for error in self.errors() {
            for span in self.rows.spans(&self.chart.text, &error, LETTERS) {
                let span = span.translate(self.origin.to_vec2());
                let stroke = Stroke::new(2.0, self.palette.wrong);
                self.painter.hline(span.x_range(), span.bottom(), stroke);
            }
        }
    }

    /// The text's cursor, as high as the letters.
    pub fn cursor(&self, at: CCursor) {
        let place = self.rows.cursor(at).translate(self.origin.to_vec2());
        let half = LETTERS / 2.0 + 1.0;
        let y = Rangef::new(place.center().y - half, place.center().y + half);
        let colour = self.palette.of_kind(NoteKind::Guide);
        self.painter
            .vline(place.left(), y, Stroke::new(2.0, colour));
    }

    /// Says what is wrong where the pointer rests.
    pub fn explain(&self, response: &Response) {
        let Some(at) = response.hover_pos() else {
            return;
        };
        let at = at - self.origin.to_vec2();
        let ranges = self.chart.errors.iter();
        let wrong = ranges.filter(|error| {
            let range = layout::visible(&self.chart.text, &error.source);
            let spans = self.rows.spans(&self.chart.text, &range, LINE);
            spans.iter().any(|span| span.contains(at))
        });
        let reasons: Vec<String> = wrong.map(|e| view::with_signs(&e.to_string())).collect();
        if !reasons.is_empty() {
            response
                .clone()
                .on_hover_text_at_pointer(reasons.join("\n"));
        }
    }

    /// Errors in view, as ranges that can be seen.
    fn errors(&self) -> impl Iterator<Item = Range<usize>> {
        let errors = self.chart.errors.iter();
        let ranges = errors.map(|error| layout::visible(&self.chart.text, &error.source));
        ranges.filter(|r| r.start < self.in_view.end && r.end > self.in_view.start)
    }

    /// Sections, endings and time signatures in view.
    fn marks(&self) -> impl Iterator<Item = (Range<usize>, &str)> {
        let text = &self.chart.text;
        let part = text.get(self.in_view.clone()).unwrap_or("");
        let marks = words::words(part, self.chart.names).into_iter();
        let marks = marks.filter(|word| word.kind == Kind::Mark);
        marks.filter_map(|word| {
            let start = self.in_view.start + word.source.start;
            let range = start..self.in_view.start + word.source.end;
            Some((range.clone(), text.get(range)?))
        })
    }

    /// The number of a bar that is the first in its line.
    fn number(&self, at: usize, bar: &Bar) {
        let start = bar.source.start;
        let before = self.chart.text.get(..start).unwrap_or("");
        let line = before.rfind('\n').map_or(0, |at| at + 1);
        let earlier = at.checked_sub(1).and_then(|at| self.chart.bars.get(at));
        if earlier.is_some_and(|bar| bar.source.start >= line) {
            return;
        }
        if let Some(place) = self.rows.place(&self.chart.text, line) {
            let rect = self.rows.rect(place.row).translate(self.origin.to_vec2());
            let at_right = pos2(self.origin.x - 9.0, rect.center().y);
            let colour = self.palette.faint;
            self.words(
                at_right,
                Align2::RIGHT_CENTER,
                &bar.number.to_string(),
                colour,
            );
        }
    }

    /// Where a bar ends, if that is in the row of its last share.
    fn bar_end(&self, bar: &Bar, otherwise: f32) -> f32 {
        let text = &self.chart.text;
        let last = bar.source.end;
        let right = self.rows.end(text, last);
        let line = self.rows.place(text, bar.end);
        match (right, line) {
            (Some(right), Some(line)) if right.row == line.row => {
                // Up to the bar line, with the space that words keep.
                (line.x - 9.0).max(right.x)
            }
            _ => otherwise,
        }
    }

    /// Ticks at the beats under a bar, the one in force lit.
    fn beats(&self, at: usize, bar: &Bar) {
        let Some(chart) = &self.chart.chart else {
            return;
        };
        let Some(written) = chart.written.get(at) else {
            return;
        };
        let text = &self.chart.text;
        let places: Vec<Option<Place>> = bar
            .shares
            .iter()
            .map(|share| self.rows.place(text, share.start))
            .collect();
        let beat_ticks = written.meter.beat_ticks().max(1);
        for beat in 0..bar.length_ticks / beat_ticks {
            let ticks = beat * beat_ticks;
            let Some(nth) = bar.share_at(ticks) else {
                continue;
            };
            let Some(from) = places.get(nth).copied().flatten() else {
                continue;
            };
            let next = places.get(nth + 1).copied().flatten();
            let next = next.filter(|next| next.row == from.row).map(|next| next.x);
            let to = next.unwrap_or_else(|| self.bar_end(bar, from.x + 40.0) + 4.0);
            let begins = bar.at_ticks.get(nth).copied().unwrap_or(0);
            let ends = bar
                .at_ticks
                .get(nth + 1)
                .copied()
                .unwrap_or(bar.length_ticks);
            let along = small(ticks - begins) / small((ends - begins).max(1));
            let x = from.x + (to - from.x) * along + 4.0;
            let middle = self.rows.rect(from.row).center().y;
            let top = self.origin + vec2(x, middle + LETTERS / 2.0);
            let lit = self.playing.is_some_and(|p| (p.bar, p.beat) == (at, beat));
            if lit {
                let colour = self.palette.of_kind(NoteKind::Guide);
                let dot = Rect::from_center_size(top + vec2(0.0, 1.5), vec2(8.0, 3.0));
                self.painter.rect_filled(dot, 2.0, colour);
            } else {
                let length = if beat == 0 { 3.0 } else { 2.0 };
                let stroke = Stroke::new(1.0, self.palette.faint);
                self.painter.vline(top.x, top.y..=top.y + length, stroke);
            }
        }
    }

    /// Form and sounding chord under the symbols of a bar.
    fn notes(&self, bar: &Bar, next: Option<&Bar>) {
        let text = &self.chart.text;
        let after = bar.shares.iter().skip(1).map(|share| share.start);
        let after = after.chain(next.map(|bar| bar.source.start));
        let mut after = after.map(|at| self.rows.place(text, at));
        for share in &bar.shares {
            let next = after.next().flatten();
            let change = self.chart.change_at(share.start, self.playing.as_ref());
            let told = change.and_then(|change| self.chart.forms.of(change));
            let place = self.rows.place(text, share.start);
            if let (Some((placed, voiced)), Some(place)) = (told, place) {
                let row = self.rows.rect(place.row);
                let edge = self.painter.clip_rect().right() - self.origin.x;
                let next = next.filter(|next| next.row == place.row && next.x > place.x);
                let right = next.map_or(edge, |next| next.x - PART);
                let left = self.origin + vec2(place.x, row.bottom() - 7.0);
                self.note(left, right - place.x, placed, voiced);
            }
        }
    }

    fn note(&self, left: Pos2, room: f32, placed: &ChordInKey, voiced: &Voiced) {
        let form = forms::short(placed, voiced);
        let colour = self.palette.soft;
        let font = theme::bold(NOTE);
        let form = self.painter.layout_no_wrap(form.to_owned(), font, colour);
        let mut x = 0.0;
        if form.size().x > 0.0 && form.size().x <= room {
            x = form.size().x + PART;
            let at = Align2::LEFT_CENTER.anchor_size(left, form.size());
            self.painter.galley(at.min, form, colour);
        }
        let altered = voiced.voicing.degrees().iter().any(|d| d.is_altered());
        let kind = if altered {
            NoteKind::Altered
        } else {
            NoteKind::Natural
        };
        let colour = self.palette.of_kind(kind);
        for words in forms::sounding(placed, voiced) {
            let galley = self
                .painter
                .layout_no_wrap(words, theme::text(NOTE), colour);
            if x + galley.size().x <= room {
                let at = Align2::LEFT_CENTER.anchor_size(left + vec2(x, 0.0), galley.size());
                self.painter.galley(at.min, galley, colour);
                return;
            }
        }
    }

    /// A line over the bars of an ending that begins here, to the end of the row.
    fn ending(&self, at: usize, bar: &Bar) {
        let Some(chart) = &self.chart.chart else {
            return;
        };
        if chart.written.get(at).is_none_or(|w| w.ending.is_none()) {
            return;
        }
        let text = &self.chart.text;
        let Some(from) = self.rows.place(text, bar.source.start) else {
            return;
        };
        let mut right = from.x;
        let rest = chart.written.iter().zip(&self.chart.bars).skip(at);
        for (i, (written, bar)) in rest.enumerate() {
            let starts = self.rows.place(text, bar.source.start);
            let other = i > 0 && (written.ending.is_some() || written.section.is_some());
            if other || starts.is_none_or(|place| place.row != from.row) {
                break;
            }
            right = self.bar_end(bar, right);
            if written.closes {
                break;
            }
        }
        let top = self.origin + vec2(from.x - 4.0, self.rows.rect(from.row).top() + 13.5);
        let stroke = Stroke::new(1.0, self.palette.soft);
        let to = self.origin.x + right;
        self.painter.hline(top.x..=to, top.y, stroke);
        self.painter.vline(top.x, top.y..=top.y + 4.0, stroke);
    }

    /// The keys, each named where it begins and drawn as a line as far as it
    /// holds.
    fn keys(&self) {
        let text = &self.chart.text;
        let keys = &self.chart.keys.1;
        for row in self.visible.clone() {
            let part = self.rows.text_of(row);
            let rect = self.rows.rect(row);
            let y = self.origin.y + rect.top() + 6.5;
            let first = keys.partition_point(|(at, _)| *at < part.start);
            let count = keys.partition_point(|(at, _)| *at < part.end);
            let starts = keys.get(first..count).unwrap_or(&[]).iter();
            let starts = starts.filter_map(|(at, key)| Some((self.rows.place(text, *at)?.x, key)));
            let mut from = (first > 0).then_some(0.0);
            let colour = self.palette.line;
            let line = |from: f32, to: f32| {
                if to > from {
                    let span = self.origin.x + from..=self.origin.x + to;
                    self.painter.hline(span, y, Stroke::new(1.0, colour));
                }
            };
            for (x, key) in starts {
                if let Some(from) = from {
                    line(from, x - PART);
                }
                let words = view::with_signs(&key.to_string());
                let at = pos2(self.origin.x + x, y);
                let right = self.words(at, Align2::LEFT_CENTER, &words, self.palette.faint);
                from = Some(right - self.origin.x + PART);
            }
            let end = self.rows.end(
                text,
                part.start + text.get(part).map_or(0, |t| t.trim_end().len()),
            );
            if let (Some(from), Some(end)) = (from, end) {
                line(from, end.x);
            }
        }
    }

    /// Small words; gives their right end.
    fn words(&self, at: Pos2, align: Align2, words: &str, colour: Color32) -> f32 {
        let font = theme::text(NOTE);
        self.painter.text(at, align, words, font, colour).right()
    }
}

/// Ticks of a bar as a float.
fn small(ticks: u32) -> f32 {
    #[expect(clippy::cast_precision_loss, reason = "ticks of a bar, below 2^17")]
    {
        ticks as f32
    }
}

fn is_section(mark: &str) -> bool {
    let inner = mark.strip_prefix('[').or(mark.strip_suffix(':'));
    inner.is_some_and(|m| m.starts_with(|c: char| c.is_ascii_uppercase()))
}

const _: () = assert!(GUTTER > 20, "numbers of bars have four digits");
