//! The grammar of chord symbols: a root, then quality words, numbers, alterations, additions
//! and omissions in any sensible order, then a slash with a bass or, in a polychord, with
//! another chord. Imports `lexer`, `reading`, `meaning` and `error`.

use super::error::{SymbolError, SymbolProblem};
use super::lexer::Cursor;
use super::reading::Reading;
use crate::chord::{Chord, Triad};
use crate::pitch::NoteNames;

/// The longest symbol, in bytes.
const LONGEST: usize = 64;

/// Whether this is what charts write for silence.
fn is_silence(text: &str) -> bool {
    const WORDS: [&str; 8] = [
        "N.C.", "N.C", "NC", "N. C.", "No Chord", "NoChord", "Tacet", "tac.",
    ];
    let bare = text.trim().trim_start_matches('(').trim_end_matches(')');
    WORDS.iter().any(|word| word.eq_ignore_ascii_case(bare))
}

/// Reads a symbol without searching for what was meant.
pub(super) fn read(text: &str, names: NoteNames) -> Result<Chord, SymbolError> {
    let mut cursor = Cursor::new(text, names);
    if text.len() > LONGEST {
        return Err(cursor.error(SymbolProblem::Length));
    }
    if is_silence(text) {
        return Err(SymbolError {
            at: 0,
            len: text.len(),
            found: text.to_owned(),
            problem: SymbolProblem::Silence,
            suggestion: None,
        });
    }
    let optional = cursor.take("(");
    if optional && text.ends_with(')') {
        cursor.end_before(')');
    } else if optional {
        let mut end = cursor;
        end.skip_to_the_end();
        return Err(end.error(SymbolProblem::Bracket));
    }
    let start = cursor.at();
    let mut chord = one_chord(&mut cursor, SymbolProblem::Root)?;
    if let Some(bass) = cursor.bass() {
        chord.bass = Some(bass);
        return Ok(chord);
    }
    let slash = cursor.at();
    if !cursor.take_slash() {
        return Ok(chord);
    }
    let lower = one_chord(&mut cursor, SymbolProblem::Bass)?;
    if !cursor.is_done() {
        return Err(cursor.error(SymbolProblem::Suffix));
    }
    let over = |problem| {
        let found = text.get(start..slash).unwrap_or(text).to_owned();
        SymbolError {
            at: start,
            len: found.len(),
            found,
            problem,
            suggestion: None,
        }
    };
    let upper = Triad::of(&chord).ok_or_else(|| over(SymbolProblem::Upper))?;
    let polychord = lower.with_upper(upper);
    polychord.map_err(|note| over(SymbolProblem::Foreign(note)))
}

/// Reads up to the end or to the slash before a bass or another chord.
fn one_chord(cursor: &mut Cursor, without_root: SymbolProblem) -> Result<Chord, SymbolError> {
    let Some(root) = cursor.note() else {
        return Err(cursor.error(without_root));
    };
    cursor.spaces_before_a_quality();
    let mut reading = Reading::default();
    let ends = |cursor: &Cursor| {
        let mut bass = *cursor;
        cursor.is_done() || cursor.is_before_a_note() || bass.bass().is_some()
    };
    while !ends(cursor) {
        reading.word(cursor)?;
    }
    reading.chord(root, cursor)
}
