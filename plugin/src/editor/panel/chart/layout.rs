//! The chart's text with its colours and columns, laid out anew only when text,
//! width, look or fonts are other ones. Imports `words`, `columns`,
//! `palette` and `theme`.

use super::columns::{self, Room};
use crate::editor::model::words::{self, Kind};
use crate::editor::palette::Palette;
use crate::editor::theme;
use egui::text::{LayoutJob, TextFormat};
use egui::{Color32, Galley, Ui};
use guidehand_theory::pitch::NoteNames;
use std::ops::Range;
use std::sync::Arc;

/// The height of a line: room for a key above the letters, and for beats and
/// forms under them, in points.
pub const LINE: f32 = 50.0;
/// The height of the letters, in points.
pub const LETTERS: f32 = theme::CHART_TEXT * 1.2;

/// A text that was laid out, and what for.
pub struct Laid {
    text: String,
    room: Room,
    /// The look that it was made in.
    palette: &'static Palette,
    wrong: Vec<Range<usize>>,
    galley: Arc<Galley>,
    /// A small text that the fonts keep for as long as their glyphs stay where
    /// they are.
    witness: Arc<Galley>,
}

/// Lays a text in its language of notes out, if something has changed: even to ask the fonts whether they
/// know a long one already takes longer than all the rest of a frame.
pub fn lay_out(
    ui: &Ui,
    laid: &mut Option<Laid>,
    (text, names): (&str, NoteNames),
    width: f32,
    wrong: &[Range<usize>],
) -> Arc<Galley> {
    let palette = theme::palette(ui.ctx());
    let font = theme::mono(theme::CHART_TEXT);
    ui.fonts_mut(|fonts| {
        let character = fonts.glyph_width(&font, '0');
        let room = Room { width, character };
        let witness = fonts.layout_no_wrap("0".to_owned(), font, palette.bright);
        let same = |laid: &&Laid| {
            laid.text == text
                && laid.room == room
                && std::ptr::eq(laid.palette, palette)
                && laid.wrong == wrong
                && Arc::ptr_eq(&laid.witness, &witness)
        };
        if let Some(laid) = laid.as_ref().filter(same) {
            return laid.galley.clone();
        }
        let galley = fonts.layout_job(job((text, names), room, wrong, palette));
        *laid = Some(Laid {
            text: text.to_owned(),
            room,
            palette,
            wrong: wrong.to_vec(),
            galley: galley.clone(),
            witness,
        });
        galley
    })
}

fn job(
    (text, names): (&str, NoteNames),
    room: Room,
    wrong: &[Range<usize>],
    palette: &Palette,
) -> LayoutJob {
    let words = words::words(text, names);
    let mut gaps = columns::gaps((text, names), &words, room)
        .into_iter()
        .peekable();
    let mut job = LayoutJob::default();
    job.wrap.max_width = room.width;
    job.keep_trailing_whitespace = true;
    let wrong = marked(text, wrong);
    let mut at = 0;
    for word in &words {
        let start = word.source.start;
        job.append(text.get(at..start).unwrap_or(""), 0.0, format(palette.soft));
        let mut gap = gaps.next_if(|gap| gap.at == start).map_or(0.0, |g| g.width);
        let colour = colour(
            text.get(word.source.clone()).unwrap_or(""),
            word.kind,
            palette,
        );
        for (piece, is_wrong) in pieces(text, &word.source, &wrong) {
            let colour = if is_wrong { palette.wrong } else { colour };
            job.append(piece, std::mem::take(&mut gap), format(colour));
        }
        at = word.source.end;
    }
    job.append(text.get(at..).unwrap_or(""), 0.0, format(palette.soft));
    job
}

fn format(colour: Color32) -> TextFormat {
    let mut format = TextFormat::simple(theme::mono(theme::CHART_TEXT), colour);
    format.line_height = Some(LINE);
    format
}

fn colour(word: &str, kind: Kind, palette: &Palette) -> Color32 {
    match kind {
        Kind::Line if word == "|" => palette.faint,
        Kind::Share if matches!(word, "/" | "." | "%" | "%%") => palette.soft,
        _ => palette.bright,
    }
}

/// Which bytes of the text are wrong.
fn marked(text: &str, wrong: &[Range<usize>]) -> Vec<bool> {
    let mut marked = vec![false; text.len()];
    for range in wrong {
        let range = range.start.min(text.len())..range.end.min(text.len());
        if let Some(bytes) = marked.get_mut(range) {
            bytes.fill(true);
        }
    }
    marked
}

/// A word cut where it begins or ceases to be wrong.
fn pieces<'a>(text: &'a str, word: &Range<usize>, wrong: &[bool]) -> Vec<(&'a str, bool)> {
    let mut pieces = Vec::new();
    let mut start = word.start;
    let is_wrong = |at: usize| wrong.get(at).copied().unwrap_or(false);
    for at in word.start + 1..=word.end {
        let ends = at == word.end || (is_wrong(at) != is_wrong(start) && text.is_char_boundary(at));
        if ends && let Some(piece) = text.get(start..at) {
            pieces.push((piece, is_wrong(start)));
            start = at;
        }
    }
    pieces
}

/// A range that covers at least one character, where the text has any: an error at
/// the end of a word has no length, and the sign before it is marked.
#[must_use]
pub fn visible(text: &str, range: &Range<usize>) -> Range<usize> {
    if !range.is_empty() {
        return range.clone();
    }
    let before = text
        .get(..range.start)
        .and_then(|t| t.char_indices().next_back());
    before.map_or(range.clone(), |(at, _)| at..range.start)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::editor::palette::DARK;

    const ROOM: Room = Room {
        width: 440.0,
        character: 9.0,
    };

    #[test]
    fn no_character_is_lost_on_the_way() {
        for text in ["| Dm7 | H7♭9 |\n| C6", "", "♭", "  \n\n", "[A] |: C/E /"] {
            for start in 0..=text.len() + 2 {
                for end in start..=text.len() + 2 {
                    let range = start..end;
                    let job = job(
                        (text, NoteNames::English),
                        ROOM,
                        std::slice::from_ref(&range),
                        &DARK,
                    );
                    assert_eq!(job.text, text, "{range:?}");
                }
            }
        }
    }

    #[test]
    fn wrong_places_are_told_apart() {
        let text = "| Dm7 | H7x |";
        let job = job(
            (text, NoteNames::English),
            ROOM,
            std::slice::from_ref(&(8..10)),
            &DARK,
        );
        let wrong = job.sections.iter().filter(|s| s.format.color == DARK.wrong);
        let wrong: Vec<&str> = wrong
            .map(|s| &text[s.byte_range.start.0..s.byte_range.end.0])
            .collect();
        assert_eq!(wrong, ["H7"]);
    }

    #[test]
    fn an_error_without_length_is_still_seen() {
        assert_eq!(visible("| C/ |", &(4..4)), 3..4);
        assert_eq!(visible("A♭", &(4..4)), 1..4);
        assert_eq!(visible("", &(0..0)), 0..0);
    }
}
