//! One line of the chart's text as the toolkit lays it out: colours, gaps, and what is
//! wrong. The panel runs it; `layout` imports it. Imports `words`, `columns`, `palette` and
//! `theme`.

use super::columns::Gap;
use crate::editor::model::words::{Line, WordKind};
use crate::editor::palette::Palette;
use crate::editor::theme;
use egui::Color32;
use egui::text::{LayoutJob, TextFormat};
use std::ops::Range;

/// The height of a line: room for a key above the letters, and for beats and
/// forms under them, in points.
pub const LINE: f32 = 50.0;
/// The height of the letters, in points.
pub const LETTERS: f32 = theme::CHART_TEXT * 1.2;

/// A line with its colours and gaps. `wrong` are parts of it, in bytes.
pub fn job(
    line: &Line,
    gaps: Vec<Gap>,
    width: f32,
    wrong: &[Range<usize>],
    palette: &Palette,
) -> LayoutJob {
    let text = &line.text;
    let mut gaps = gaps.into_iter().peekable();
    let mut job = LayoutJob::default();
    job.wrap.max_width = width;
    job.keep_trailing_whitespace = true;
    let mut at = 0;
    for word in &line.words {
        let start = word.source.start;
        job.append(text.get(at..start).unwrap_or(""), 0.0, format(palette.soft));
        let mut gap = gaps.next_if(|gap| gap.at == start).map_or(0.0, |g| g.width);
        let word_text = text.get(word.source.clone()).unwrap_or("");
        let colour = colour(word_text, word.kind, palette);
        for (piece, is_wrong) in pieces(text, &word.source, wrong) {
            let colour = if is_wrong { palette.wrong } else { colour };
            job.append(piece, std::mem::take(&mut gap), format(colour));
        }
        at = word.source.end;
    }
    job.append(text.get(at..).unwrap_or(""), 0.0, format(palette.soft));
    job
}

/// How letters of the chart are set.
pub fn format(colour: Color32) -> TextFormat {
    let mut format = TextFormat::simple(theme::mono(theme::CHART_TEXT), colour);
    format.line_height = Some(LINE);
    format
}

fn colour(word: &str, kind: WordKind, palette: &Palette) -> Color32 {
    match kind {
        WordKind::Line if word == "|" => palette.faint,
        WordKind::Share if matches!(word, "/" | "." | "%" | "%%") => palette.soft,
        _ => palette.bright,
    }
}

/// A word cut where it begins or ceases to be wrong.
fn pieces<'a>(text: &'a str, word: &Range<usize>, wrong: &[Range<usize>]) -> Vec<(&'a str, bool)> {
    let mut pieces = Vec::new();
    let mut start = word.start;
    let is_wrong = |at: usize| wrong.iter().any(|part| part.contains(&at));
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
    use crate::editor::model::words::LinePlace;
    use crate::editor::palette::DARK;
    use guidehand_theory::pitch::NoteNames;

    fn line(text: &str) -> Line {
        Line::new(text, NoteNames::English, LinePlace::Later)
    }

    #[test]
    fn no_character_is_lost_on_the_way() {
        for text in ["| Dm7 | H7♭9 |", "| C6", "", "♭", "  ", "[A] |: C/E /"] {
            for start in 0..=text.len() + 2 {
                for end in start..=text.len() + 2 {
                    let wrong = std::slice::from_ref(&(start..end)).to_vec();
                    let job = job(&line(text), Vec::new(), 440.0, &wrong, &DARK);
                    assert_eq!(job.text, text, "{start} {end}");
                }
            }
        }
    }

    #[test]
    fn wrong_places_are_told_apart() {
        let text = "| Dm7 | H7x |";
        let wrong = std::slice::from_ref(&(8..10)).to_vec();
        let job = job(&line(text), Vec::new(), 440.0, &wrong, &DARK);
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
