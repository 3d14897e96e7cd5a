//! The chart: its text to edit, what is wrong with it, and the place that sounds.
//! Imports `view`, `desk`, `theme` and `widgets`.

use crate::chart_cell::ChartCell;
use crate::editor::desk::Desk;
use crate::editor::{theme, view, widgets};
use crate::snapshot::Snapshot;
use egui::text::{CCursor, LayoutJob, TextFormat};
use egui::{
    Align, Frame, Galley, Layout, Margin, Pos2, Rect, ScrollArea, Shape, Stroke, TextEdit, Ui, vec2,
};
use guidehand_theory::chart::{self, Chart, ChartError};
use std::ops::Range;
use std::sync::Arc;

/// The height kept for the lines under the text, in points: one remark, or the
/// list of errors.
const REMARK: f32 = 20.0;
const ERRORS: f32 = 108.0;
/// The height of a line of the text, and of its letters with their underline.
const LINE: f32 = theme::CHART_TEXT * 1.5;
const LETTERS: f32 = theme::CHART_TEXT * 1.2;

/// The text as it stands in the cell, and what it reads as.
pub struct ChartText {
    text: String,
    /// The chart, if there is nothing wrong with the text.
    chart: Option<Chart>,
    errors: Vec<ChartError>,
    /// The change that was shown last, so that the view follows the playing once
    /// a change and can be scrolled in between.
    shown: Option<usize>,
}

impl ChartText {
    /// Reads the text of the cell.
    #[must_use]
    pub fn new(cell: &ChartCell) -> Self {
        let text = cell.text();
        ChartText {
            chart: chart::parse(&text).ok(),
            errors: cell.errors(),
            text,
            shown: None,
        }
    }

    /// Reads the text of the cell again where it is another one: a state has been
    /// loaded. Every edit goes to the cell at once, so nothing typed is lost.
    pub fn refresh(&mut self, cell: &ChartCell) {
        if cell.text() != self.text {
            *self = ChartText::new(cell);
        }
    }

    /// Hands an edited text to the cell, and reads it.
    fn edited(&mut self, desk: &mut Desk) {
        desk.set_chart(&self.text);
        *self = ChartText::new(&desk.params.chart);
    }

    /// The place in the text of the change that sounds. There is none while the
    /// text has errors: an older chart sounds then.
    fn playhead(&self, snapshot: &Snapshot) -> Option<Range<usize>> {
        let chart = self.chart.as_ref()?;
        Some(chart.changes.get(snapshot.change?)?.source.clone())
    }
}

/// Lays the region out.
pub fn region(ui: &mut Ui, chart: &mut ChartText, snapshot: &Snapshot, desk: &mut Desk) {
    ui.horizontal(|ui| {
        ui.heading("Chart");
        ui.add_space(8.0);
        let Some(read) = &chart.chart else {
            let words = "The last chart without errors goes on sounding.";
            widgets::remark(ui, words, theme::SOFT);
            return;
        };
        widgets::remark(ui, &view::extent(read), theme::SOFT);
        if let Some(ticks) = snapshot.beat_ticks {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                widgets::remark(ui, &view::place(read, ticks), theme::IVORY);
            });
        }
    });
    let below = if chart.errors.is_empty() {
        REMARK
    } else {
        ERRORS
    };
    let height = (ui.available_height() - below - ui.spacing().item_spacing.y).max(40.0);
    text(ui, chart, snapshot, desk, height);
    if chart.errors.is_empty() {
        let words = "|  divides bars     %  repeats a bar     /  is one beat     N.C.  is silence";
        widgets::remark(ui, words, theme::FAINT);
    } else {
        errors(ui, &chart.errors);
    }
}

/// The text, in a frame of its own, scrolling where it is long.
fn text(ui: &mut Ui, chart: &mut ChartText, snapshot: &Snapshot, desk: &mut Desk, height: f32) {
    let playhead = chart.playhead(snapshot);
    let wrong: Vec<Range<usize>> = chart.errors.iter().map(|e| e.source.clone()).collect();
    let mut layout = |ui: &Ui, buffer: &dyn egui::TextBuffer, width: f32| -> Arc<Galley> {
        // In the frame of an edit the places are those of the text before.
        let mut job = coloured(buffer.as_str(), playhead.as_ref(), &wrong);
        job.wrap.max_width = width;
        ui.fonts_mut(|fonts| fonts.layout_job(job))
    };
    let frame = Frame::new()
        .fill(theme::SURFACE)
        .corner_radius(4.0)
        .inner_margin(Margin::symmetric(10, 8));
    frame.show(ui, |ui| {
        let inner = height - 16.0;
        ui.set_height(inner);
        ScrollArea::vertical()
            .id_salt("chart")
            .max_height(inner)
            .auto_shrink(false)
            .show(ui, |ui| {
                let behind = ui.painter().add(Shape::Noop);
                let output = TextEdit::multiline(&mut chart.text)
                    .id_salt("chart text")
                    .font(theme::mono(theme::CHART_TEXT))
                    .frame(Frame::NONE)
                    .margin(Margin::ZERO)
                    .desired_width(f32::INFINITY)
                    .min_size(vec2(0.0, inner))
                    .hint_text("Type chords: | Dm7 | G7 | Cmaj7 |")
                    .layouter(&mut layout)
                    .show(ui);
                let spans = |range| spans(&output.galley, &chart.text, range, output.galley_pos);
                let lit = playhead.iter().flat_map(spans).map(highlight).collect();
                ui.painter().set(behind, Shape::Vec(lit));
                for span in wrong.iter().flat_map(spans) {
                    let stroke = Stroke::new(2.0, theme::WRONG);
                    ui.painter().hline(span.x_range(), span.bottom(), stroke);
                }
                let place = playhead.iter().flat_map(spans).next();
                if output.response.response.changed() {
                    chart.edited(desk);
                } else if !output.response.response.has_focus() && chart.shown != snapshot.change {
                    chart.shown = snapshot.change;
                    if let Some(span) = place {
                        ui.scroll_to_rect(span, None);
                    }
                }
            });
    });
}

/// The places on the screen of a range of the text, in bytes: one for each row
/// that it touches, as high as its letters.
fn spans(galley: &Galley, text: &str, range: &Range<usize>, origin: Pos2) -> Vec<Rect> {
    let range = visible(text, range);
    let mut spans: Vec<Rect> = Vec::new();
    let words = text.get(range.clone()).unwrap_or("").char_indices();
    for (at, c) in words.filter(|(_, c)| *c != '\n') {
        let before = text.get(..range.start + at).unwrap_or("").chars().count();
        let left = galley.pos_from_cursor(CCursor::new(before));
        let right = galley.pos_from_cursor(CCursor::new(before + 1));
        let size = vec2(right.left() - left.left(), LETTERS);
        let span = Rect::from_min_size(left.min, size).translate(origin.to_vec2());
        match spans.last_mut() {
            Some(last) if last.top() == span.top() => *last = last.union(span),
            _ if c.is_whitespace() => {}
            _ => spans.push(span),
        }
    }
    spans
}

fn highlight(span: Rect) -> Shape {
    Shape::rect_filled(span.expand2(vec2(4.0, 2.0)), 4.0, theme::PLAYHEAD)
}

/// The text with the place that sounds and the places that are wrong.
fn coloured(text: &str, playhead: Option<&Range<usize>>, wrong: &[Range<usize>]) -> LayoutJob {
    let mut job = LayoutJob::default();
    for (piece, plays, is_wrong) in pieces(text, playhead, wrong) {
        let quiet = piece
            .chars()
            .all(|c| matches!(c, '|' | ':' | ' ' | '\n' | '%' | '/'));
        let colour = if is_wrong {
            theme::WRONG
        } else if quiet {
            theme::FAINT
        } else {
            theme::IVORY
        };
        let colour = if plays { theme::IVORY } else { colour };
        let mut format = TextFormat::simple(theme::mono(theme::CHART_TEXT), colour);
        format.line_height = Some(LINE);
        job.append(piece, 0.0, format);
    }
    job
}

/// The text cut where its looks change: at the ends of chords, of the playing
/// place and of wrong places. All text comes out again, in order, whatever the
/// ranges are; those that do not fit the text are left out.
fn pieces<'a>(
    text: &'a str,
    playhead: Option<&Range<usize>>,
    wrong: &[Range<usize>],
) -> Vec<(&'a str, bool, bool)> {
    // An error at the end of a word has no length: the sign before it is marked.
    let wrong: Vec<Range<usize>> = wrong.iter().map(|r| visible(text, r)).collect();
    let mut cuts: Vec<usize> = vec![0, text.len()];
    let mut before = None;
    for (at, c) in text.char_indices() {
        let spaced = c.is_whitespace() || c == '|';
        if before.is_some_and(|b| b != spaced) {
            cuts.push(at);
        }
        before = Some(spaced);
    }
    cuts.extend(wrong.iter().chain(playhead).flat_map(|r| [r.start, r.end]));
    cuts.retain(|at| text.is_char_boundary(*at));
    cuts.sort_unstable();
    cuts.dedup();
    let inside = |range: &Range<usize>, at: usize| range.contains(&at);
    cuts.windows(2)
        .filter_map(|pair| match pair {
            [from, to] => {
                let plays = playhead.is_some_and(|r| inside(r, *from));
                let is_wrong = wrong.iter().any(|r| inside(r, *from));
                Some((text.get(*from..*to)?, plays, is_wrong))
            }
            _ => None,
        })
        .collect()
}

/// A range that covers at least one character, where the text has any.
fn visible(text: &str, range: &Range<usize>) -> Range<usize> {
    if !range.is_empty() {
        return range.clone();
    }
    let before = text
        .get(..range.start)
        .and_then(|t| t.char_indices().next_back());
    before.map_or(range.clone(), |(at, _)| at..range.start)
}

/// What is wrong, one line each.
fn errors(ui: &mut Ui, errors: &[ChartError]) {
    ScrollArea::vertical()
        .id_salt("errors")
        .max_height(ui.available_height())
        .auto_shrink(false)
        .show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            for error in errors {
                widgets::remark(ui, &error.to_string(), theme::WRONG);
            }
        });
}

#[cfg(test)]
mod tests {
    use super::*;

    fn joined(pieces: &[(&str, bool, bool)]) -> String {
        pieces.iter().map(|(text, ..)| *text).collect()
    }

    #[test]
    fn no_character_is_lost_on_the_way() {
        let text = "| Dm7 | H7♭9 |\n| C6";
        for start in 0..=text.len() + 2 {
            for end in start..=text.len() + 2 {
                let range = start..end;
                let pieces = pieces(text, Some(&range), std::slice::from_ref(&range));
                assert_eq!(joined(&pieces), text, "{range:?}");
            }
        }
    }

    #[test]
    fn wrong_places_and_the_playing_place_are_told_apart() {
        let text = "| Dm7 | H7 |";
        let pieces = pieces(text, Some(&(2..5)), std::slice::from_ref(&(8..10)));
        let marked = |plays: bool| -> Vec<&str> {
            let here = pieces.iter().filter(|p| if plays { p.1 } else { p.2 });
            here.map(|p| p.0).collect()
        };
        assert_eq!(marked(true), ["Dm7"]);
        assert_eq!(marked(false), ["H7"]);
    }

    #[test]
    fn an_error_without_length_is_still_seen() {
        let pieces = pieces("| C/ |", None, std::slice::from_ref(&(4..4)));
        let wrong: Vec<&str> = pieces.iter().filter(|p| p.2).map(|p| p.0).collect();
        assert_eq!(wrong, ["/"]);
    }

    #[test]
    fn a_loaded_text_replaces_the_old_one_and_is_read() {
        let (cell, _songs) = ChartCell::new();
        let mut chart = ChartText::new(&cell);
        assert!(chart.errors.is_empty());
        cell.set_text("| H7 |");
        chart.refresh(&cell);
        assert_eq!(chart.errors.len(), 1);
        let playing = Snapshot {
            change: Some(0),
            ..Snapshot::default()
        };
        assert_eq!(chart.playhead(&playing), None);
        cell.set_text("| F6 | Bb7 |");
        chart.refresh(&cell);
        assert_eq!(chart.playhead(&playing), Some(2..4));
    }
}
