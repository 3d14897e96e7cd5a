//! What is painted for each bar in view: its number, its beats, form and sounding chord
//! under its symbols, and the line over an ending. The panel runs it; `chart` imports it.
//! Imports `paint`, `scene`, `line`, `view` and `theme`.

use super::line::LETTERS;
use super::paint::{Brush, NOTE, PART};
use super::rows::RowPlace;
use super::scene::{ShownBar, Voicings};
use crate::editor::model::words;
use crate::editor::theme;
use crate::editor::view::{NoteKind, forms};
use egui::{Align2, Pos2, Rect, Stroke, pos2, vec2};
use guidehand_theory::degree::Degree;
use guidehand_theory::pipeline::{ChordInKey, Taste};
use guidehand_theory::plan::Voiced;

impl Brush<'_> {
    /// What lies around the bars.
    pub fn bars(&self, taste: &Taste, voicings: &mut Voicings) {
        let bars = self.scene.bars();
        let is_chart = self.scene.reading.chart().is_some();
        for (nth, bar) in bars.iter().enumerate() {
            let next = self.scene.bar(bar.at + 1);
            self.number(bar);
            if is_chart {
                self.beats(bar);
                self.notes(bar, next.as_ref(), taste, voicings);
                self.ending(bars.get(nth..).unwrap_or(&[]));
            }
        }
    }

    /// The number of a bar that is the first in its line.
    fn number(&self, bar: &ShownBar) {
        let text = self.scene.text;
        let before = text.get(..bar.source.start).unwrap_or("");
        let line = before.rfind('\n').map_or(0, |at| at + 1);
        let earlier = bar.at.checked_sub(1).and_then(|at| self.scene.bar(at));
        if earlier.is_some_and(|bar| bar.source.start >= line) {
            return;
        }
        if let Some(place) = self.scene.rows.place(text, line) {
            let rect = self.scene.rows.rect(place.row);
            let rect = rect.translate(self.scene.offset());
            let at_right = pos2(self.scene.origin.x - 9.0, rect.center().y);
            let number = bar.bar.number.to_string();
            self.words(at_right, Align2::RIGHT_CENTER, &number, self.palette.faint);
        }
    }

    /// Ticks at the beats under a bar, the one in force lit.
    fn beats(&self, shown: &ShownBar) {
        let (text, rows, bar) = (self.scene.text, self.scene.rows, shown.bar);
        let places: Vec<Option<RowPlace>> = shown
            .shares
            .iter()
            .map(|share| rows.place(text, share.start))
            .collect();
        let beat_ticks = bar.meter.beat_ticks().max(1);
        let length_ticks = words::length_ticks(bar);
        let at_ticks = |nth: usize| bar.shares.get(nth).map(|share| share.at_ticks);
        for beat in 0..length_ticks / beat_ticks {
            let ticks = beat * beat_ticks;
            let Some(nth) = words::share_at(bar, ticks) else {
                continue;
            };
            let Some(from) = places.get(nth).copied().flatten() else {
                continue;
            };
            let next = places.get(nth + 1).copied().flatten();
            let next = next.filter(|next| next.row == from.row).map(|next| next.x);
            let to = next.unwrap_or_else(|| self.scene.bar_end(shown, from.x + 40.0) + 4.0);
            let begins = at_ticks(nth).unwrap_or(0);
            let ends = at_ticks(nth + 1).unwrap_or(length_ticks);
            let along = small(ticks - begins) / small((ends - begins).max(1));
            let x = from.x + (to - from.x) * along + 4.0;
            let middle = rows.rect(from.row).center().y;
            let top = self.scene.origin + vec2(x, middle + LETTERS / 2.0);
            let playing = self.scene.playing;
            if playing.is_some_and(|p| (p.bar, p.beat) == (shown.at, beat)) {
                let colour = self.palette.bright;
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
    fn notes(
        &self,
        bar: &ShownBar,
        next: Option<&ShownBar>,
        taste: &Taste,
        voicings: &mut Voicings,
    ) {
        let (text, rows) = (self.scene.text, self.scene.rows);
        let after = bar.shares.iter().skip(1).map(|share| share.start);
        let after = after.chain(next.map(|bar| bar.source.start));
        let mut after = after.map(|at| rows.place(text, at));
        for share in &bar.shares {
            let next = after.next().flatten();
            let voiced = self.scene.voiced(share.start, taste, voicings);
            let place = rows.place(text, share.start);
            if let (Some((placed, voiced)), Some(place)) = (voiced, place) {
                let row = rows.rect(place.row);
                let edge = self.painter.clip_rect().right() - self.scene.origin.x;
                let next = next.filter(|next| next.row == place.row && next.x > place.x);
                let right = next.map_or(edge, |next| next.x - PART);
                let left = self.scene.origin + vec2(place.x, row.bottom() - 7.0);
                self.note(left, right - place.x, &placed, &voiced);
            }
        }
    }

    fn note(&self, left: Pos2, room: f32, placed: &ChordInKey, voiced: &Voiced) {
        let form = forms::short(placed, voiced);
        let colour = self.palette.soft;
        let font = theme::bold(NOTE);
        let form = self.painter.layout_no_wrap(form, font, colour);
        let mut x = 0.0;
        if form.size().x > 0.0 && form.size().x <= room {
            x = form.size().x + PART;
            let at = Align2::LEFT_CENTER.anchor_size(left, form.size());
            self.painter.galley(at.min, form, colour);
        }
        let tones = placed.chord.quality.degrees();
        let tensions = voiced.voicing.degrees().minus(tones);
        let colour = if tensions.iter().any(Degree::is_altered) {
            self.palette.of_kind(NoteKind::Altered)
        } else if tensions.is_empty() {
            self.palette.soft
        } else {
            self.palette.of_kind(NoteKind::Natural)
        };
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

    /// A line over the bars of an ending that the first of these begins, to the end of the
    /// row.
    fn ending(&self, bars: &[ShownBar]) {
        let (text, rows) = (self.scene.text, self.scene.rows);
        let Some(first) = bars.first().filter(|first| first.bar.ending.is_some()) else {
            return;
        };
        let Some(from) = rows.place(text, first.source.start) else {
            return;
        };
        let mut right = from.x;
        for (i, shown) in bars.iter().enumerate() {
            let starts = rows.place(text, shown.source.start);
            let bar = shown.bar;
            let other = i > 0 && (bar.ending.is_some() || bar.section.is_some());
            if other || starts.is_none_or(|place| place.row != from.row) {
                break;
            }
            right = self.scene.bar_end(shown, right);
            if bar.closes {
                break;
            }
        }
        let top = self.scene.origin + vec2(from.x - 4.0, rows.rect(from.row).top() + 13.5);
        let stroke = Stroke::new(1.0, self.palette.soft);
        let to = self.scene.origin.x + right;
        self.painter.hline(top.x..=to, top.y, stroke);
        self.painter.vline(top.x, top.y..=top.y + 4.0, stroke);
    }
}

/// Ticks of a bar as a float.
fn small(ticks: u32) -> f32 {
    #[expect(clippy::cast_precision_loss, reason = "ticks of a bar, below 2^17")]
    {
        ticks as f32
    }
}
