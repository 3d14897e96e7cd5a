//! What is painted around the chart's text, for the rows in view: the place that sounds,
//! section letters, keys above the symbols, errors and the cursor. The panel runs it; `chart`
//! imports it. Imports `scene`, `line`, `palette` and `theme`.

use super::line::{LETTERS, LINE};
use super::scene::{Scene, ShownBar};
use crate::editor::palette::Palette;
use crate::editor::theme;
use crate::editor::view;
use egui::text::CCursor;
use egui::{
    Align2, Color32, Painter, Pos2, Rangef, Rect, Response, Shape, Stroke, StrokeKind, Ui, pos2,
    vec2,
};
use std::ops::Range;

/// The size of what is written above and under the symbols, in points.
pub const NOTE: f32 = 11.0;
/// Between the parts of a note under a symbol, in points.
pub const PART: f32 = 5.0;

/// Paints a scene.
pub struct Brush<'a> {
    pub painter: Painter,
    pub palette: &'static Palette,
    pub scene: &'a Scene<'a>,
}

impl<'a> Brush<'a> {
    /// A brush for the rows in view.
    pub fn new(ui: &Ui, scene: &'a Scene<'a>) -> Brush<'a> {
        Brush {
            painter: ui.painter().clone(),
            palette: theme::palette(ui.ctx()),
            scene,
        }
    }

    /// What lies behind the text: the bar and the chord that sound, the frames of
    /// section letters. `marked` is a part of the text that was read.
    pub fn behind(&self, marked: Option<&Range<usize>>) -> Vec<Shape> {
        let scene = self.scene;
        let mut shapes = Vec::new();
        if let Some(marked) = marked {
            for span in scene.spans(&scene.moved(marked), LETTERS) {
                shapes.push(self.filled(span.expand2(vec2(4.0, 2.0)), self.palette.selected));
            }
        }
        if let Some(playing) = &scene.playing
            && let Some(bar) = scene.bar(playing.bar)
        {
            self.playing(&bar, playing.share, &mut shapes);
        }
        for mark in scene.marks() {
            if !is_section(scene.text.get(mark.clone()).unwrap_or("")) {
                continue;
            }
            for span in scene.spans(&mark, LETTERS) {
                let span = span.expand2(vec2(2.0, 1.0)).translate(scene.offset());
                let stroke = Stroke::new(1.0, self.palette.soft);
                shapes.push(Shape::rect_stroke(span, 3.0, stroke, StrokeKind::Inside));
            }
        }
        shapes
    }

    fn playing(&self, bar: &ShownBar, share: usize, shapes: &mut Vec<Shape>) {
        for span in self.scene.spans(&bar.source, LETTERS) {
            let right = self.scene.bar_end(bar, span.right());
            let span = span.with_max_x(right).expand2(vec2(5.0, 3.0));
            shapes.push(self.filled(span, self.palette.raised));
        }
        let share = bar.shares.get(share).into_iter();
        for span in share.flat_map(|share| self.scene.spans(share, LETTERS)) {
            let span = span.expand2(vec2(4.0, 2.0)).translate(self.scene.offset());
            let stroke = Stroke::new(1.5, self.palette.bright);
            shapes.push(Shape::rect_stroke(span, 4.0, stroke, StrokeKind::Inside));
        }
    }

    fn filled(&self, rect: Rect, colour: Color32) -> Shape {
        Shape::rect_filled(rect.translate(self.scene.offset()), 4.0, colour)
    }

    /// The text's cursor, as high as the letters.
    pub fn cursor(&self, at: CCursor) {
        let place = self.scene.rows.cursor(at).translate(self.scene.offset());
        let half = LETTERS / 2.0 + 1.0;
        let y = Rangef::new(place.center().y - half, place.center().y + half);
        let colour = self.palette.bright;
        self.painter
            .vline(place.left(), y, Stroke::new(2.0, colour));
    }

    /// Says what is wrong where the pointer rests.
    pub fn explain(&self, response: &Response) {
        let Some(at) = response.hover_pos() else {
            return;
        };
        let at = at - self.scene.offset();
        let wrong = self.scene.errors().filter(|(range, _)| {
            let spans = self.scene.spans(range, LINE);
            spans.iter().any(|span| span.contains(at))
        });
        let reasons: Vec<String> = wrong
            .map(|(_, error)| view::with_signs(&error.to_string()))
            .collect();
        if !reasons.is_empty() {
            response
                .clone()
                .on_hover_text_at_pointer(reasons.join("\n"));
        }
    }

    /// Lines under what is wrong.
    pub fn errors(&self) {
        for (error, _) in self.scene.errors() {
            for span in self.scene.spans(&error, LETTERS) {
                let span = span.translate(self.scene.offset());
                let stroke = Stroke::new(2.0, self.palette.wrong);
                self.painter.hline(span.x_range(), span.bottom(), stroke);
            }
        }
    }

    /// The keys, each named where it begins and drawn as a line as far as it
    /// holds.
    pub fn keys(&self) {
        let Scene {
            text, rows, origin, ..
        } = *self.scene;
        for row in self.scene.visible.clone() {
            let part = rows.text_of(row);
            let y = origin.y + rows.rect(row).top() + 6.5;
            let (holds, keys) = self.scene.keys(&part);
            let mut from = holds.then_some(0.0);
            let colour = self.palette.line;
            let line = |from: f32, to: f32| {
                if to > from {
                    let span = origin.x + from..=origin.x + to;
                    self.painter.hline(span, y, Stroke::new(1.0, colour));
                }
            };
            for (at, key) in keys {
                let Some(place) = rows.place(text, at) else {
                    continue;
                };
                if let Some(from) = from {
                    line(from, place.x - PART);
                }
                let words = view::words(&key);
                let at = pos2(origin.x + place.x, y);
                let right = self.words(at, Align2::LEFT_CENTER, &words, self.palette.faint);
                from = Some(right - origin.x + PART);
            }
            let end = rows.end(
                text,
                part.start + text.get(part).map_or(0, |t| t.trim_end().len()),
            );
            if let (Some(from), Some(end)) = (from, end) {
                line(from, end.x);
            }
        }
    }

    /// Small words; gives their right end.
    pub fn words(&self, at: Pos2, align: Align2, words: &str, colour: Color32) -> f32 {
        let font = theme::text(NOTE);
        self.painter.text(at, align, words, font, colour).right()
    }
}

fn is_section(mark: &str) -> bool {
    let inner = mark.strip_prefix('[').or(mark.strip_suffix(':'));
    inner.is_some_and(|m| m.starts_with(|c: char| c.is_ascii_uppercase()))
}
