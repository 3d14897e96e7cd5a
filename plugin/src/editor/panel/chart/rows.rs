//! Where places of the text lie in the laid out text: found without walking
//! through all of it, since a chart can be long. Imports nothing of the crate.

use egui::text::CCursor;
use egui::{Galley, Rangef, Rect, pos2, vec2};
use std::ops::Range;
use std::sync::Arc;

/// The rows of a laid out text with their places in the text.
pub struct Rows {
    galley: Arc<Galley>,
    /// Where each row starts in the text, in bytes; one more at the end.
    starts: Vec<usize>,
}

/// A place in a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// The row.
    pub row: usize,
    /// From the left edge of the text, in points.
    pub x: f32,
}

impl Rows {
    /// Finds the rows of a text that was laid out.
    #[must_use]
    pub fn new(galley: Arc<Galley>, text: &str) -> Rows {
        let mut starts = Vec::with_capacity(galley.rows.len() + 1);
        let mut signs = text.char_indices();
        for row in &galley.rows {
            starts.push(signs.offset());
            let count = row.row.glyphs.len() + usize::from(row.ends_with_newline);
            for _ in 0..count {
                signs.next();
            }
        }
        starts.push(signs.offset());
        Rows { galley, starts }
    }

    /// Whether these are the rows of this very galley.
    #[must_use]
    pub fn are_of(&self, galley: &Arc<Galley>) -> bool {
        Arc::ptr_eq(&self.galley, galley)
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
        let at = |row: usize| self.starts.get(row).copied().unwrap_or(0);
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
    pub fn place(&self, text: &str, at: usize) -> Option<Place> {
        let after = self.starts.partition_point(|start| *start <= at);
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
        Some(Place { row, x })
    }

    /// The right end of what stands before a byte of the text.
    #[must_use]
    pub fn end(&self, text: &str, at: usize) -> Option<Place> {
        let before = text.get(..at)?.char_indices().next_back()?.0;
        let place = self.place(text, before)?;
        let row = self.galley.rows.get(place.row)?;
        let column = text.get(self.text_of(place.row).start..before)?;
        let glyph = row.row.glyphs.get(column.chars().count());
        let width = glyph.map_or(0.0, |g| g.advance_width);
        let x = place.x + width;
        Some(Place { x, ..place })
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
