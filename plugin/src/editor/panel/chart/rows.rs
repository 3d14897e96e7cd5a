//! Where places of the text lie in the laid out text: found without walking
//! through all of it, since a chart can be long. The panel runs it; `layout` and `paint`
//! import it. Imports nothing of the crate.

use egui::text::CCursor;
use egui::{Galley, Rangef, Rect, pos2, vec2};
use std::ops::Range;
use std::sync::Arc;

/// The rows of a laid out text with their places in the text.
pub struct Rows {
    galley: Arc<Galley>,
    /// Where each row starts in the text; one more at the end.
    starts: Vec<RowLength>,
}

/// A length, or a place, in a text.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct RowLength {
    bytes: usize,
    characters: usize,
}

impl RowLength {
    /// The lengths of the rows of a line that was laid out by itself, without the line
    /// break after it.
    #[must_use]
    pub fn all(galley: &Galley, line: &str) -> Vec<RowLength> {
        let mut characters = line.chars();
        let rows = galley.rows.iter();
        rows.map(|row| {
            let count = row.row.glyphs.len();
            let before = characters.as_str().len();
            characters.by_ref().take(count).for_each(drop);
            RowLength {
                bytes: before - characters.as_str().len(),
                characters: count,
            }
        })
        .collect()
    }
}

/// A place in a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RowPlace {
    /// The row.
    pub row: usize,
    /// From the left edge of the text, in points.
    pub x: f32,
}

impl Rows {
    /// The rows of lines that were put under each other.
    #[must_use]
    pub fn new<'a>(galley: Arc<Galley>, lines: impl Iterator<Item = &'a [RowLength]>) -> Rows {
        let mut starts = Vec::with_capacity(galley.rows.len() + 1);
        let mut at = RowLength::default();
        starts.push(at);
        for rows in lines {
            for (nth, row) in rows.iter().enumerate() {
                let line_break = usize::from(nth + 1 == rows.len());
                at.bytes += row.bytes + line_break;
                at.characters += row.characters + line_break;
                starts.push(at);
            }
        }
        // After the last line there is no line break.
        if let Some(end) = starts.last_mut() {
            end.bytes = end.bytes.saturating_sub(1);
            end.characters = end.characters.saturating_sub(1);
        }
        Rows { galley, starts }
    }

    /// The rows that lie in a band, in points from the top of the text.
    #[must_use]
    pub fn within(&self, band: Rangef) -> Range<usize> {
        let rows = &self.galley.rows;
        let from = rows.partition_point(|row| row.rect().bottom() < band.min);
        let to = rows.partition_point(|row| row.rect().top() <= band.max);
        from..to.max(from)
    }

    /// The part of the text in a row, in bytes; with the line break after it.
    #[must_use]
    pub fn text_of(&self, row: usize) -> Range<usize> {
        let at = |row: usize| self.starts.get(row).map_or(0, |start| start.bytes);
        at(row)..at(row + 1).max(at(row))
    }

    /// The part of the text in several rows, in bytes.
    #[must_use]
    pub fn text_within(&self, rows: &Range<usize>) -> Range<usize> {
        let start = self.text_of(rows.start).start;
        let last = rows.end.saturating_sub(1).max(rows.start);
        start..self.text_of(last).end
    }

    /// Where a byte of the text lies.
    #[must_use]
    pub fn place(&self, text: &str, at: usize) -> Option<RowPlace> {
        let after = self.starts.partition_point(|start| start.bytes <= at);
        let row = after
            .saturating_sub(1)
            .min(self.galley.rows.len().checked_sub(1)?);
        let start = self.text_of(row).start;
        let column = text.get(start..at).map_or(0, |t| t.chars().count());
        let glyphs = &self.galley.rows.get(row)?.row.glyphs;
        let x = match glyphs.get(column) {
            Some(glyph) => glyph.pos.x,
            None => glyphs.last().map_or(0.0, |g| g.pos.x + g.advance_width),
        };
        Some(RowPlace { row, x })
    }

    /// The right end of what stands before a byte of the text.
    #[must_use]
    pub fn end(&self, text: &str, at: usize) -> Option<RowPlace> {
        let before = text.get(..at)?.char_indices().next_back()?.0;
        let place = self.place(text, before)?;
        let row = self.galley.rows.get(place.row)?;
        let column = text.get(self.text_of(place.row).start..before)?;
        let glyph = row.row.glyphs.get(column.chars().count());
        let width = glyph.map_or(0.0, |g| g.advance_width);
        let x = place.x + width;
        Some(RowPlace { x, ..place })
    }

    /// The place of a cursor in the text, in bytes.
    #[must_use]
    pub fn byte_of(&self, text: &str, cursor: CCursor) -> usize {
        let character = cursor.index.0;
        let after = self
            .starts
            .partition_point(|start| start.characters <= character);
        let start = after.checked_sub(1).and_then(|row| self.starts.get(row));
        let start = start.copied().unwrap_or_default();
        let rest = text.get(start.bytes..).unwrap_or("");
        let mut places = rest.char_indices();
        let at = places.nth(character - start.characters);
        at.map_or(text.len(), |(at, _)| start.bytes + at)
    }

    /// Where the text's cursor stands.
    #[must_use]
    pub fn cursor(&self, at: CCursor) -> Rect {
        self.galley.pos_from_cursor(at)
    }

    /// A row, in points from the text's corner.
    #[must_use]
    pub fn rect(&self, row: usize) -> Rect {
        self.galley.rows.get(row).map_or(Rect::ZERO, |r| r.rect())
    }

    /// The rectangles around the letters of a range, one for each row.
    #[must_use]
    pub fn spans(&self, text: &str, range: &Range<usize>, letters: f32) -> Vec<Rect> {
        let mut spans = Vec::new();
        let mut start = range.start;
        while start < range.end {
            let Some(from) = self.place(text, start) else {
                break;
            };
            let row_end = self.text_of(from.row).end.min(range.end);
            let piece = text.get(start..row_end).unwrap_or("");
            let end = start + piece.trim_end().len();
            start = row_end.max(start + 1);
            let Some(to) = self.end(text, end).filter(|to| to.row == from.row) else {
                continue;
            };
            if to.x > from.x {
                let middle = self.rect(from.row).center().y;
                let centre = pos2((from.x + to.x) / 2.0, middle);
                spans.push(Rect::from_center_size(centre, vec2(to.x - from.x, letters)));
            }
        }
        spans
    }
}
