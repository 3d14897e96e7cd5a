//! The grammar of chord symbols: a root, then quality words, numbers, alterations,
//! additions and omissions in any sensible order, then a slash with a bass or,
//! in a polychord, with another chord.

use super::error::{SymbolError, SymbolProblem};
use super::lexer::Cursor;
use super::reading::Reading;
use super::suggest;
use crate::chord::{Chord, Triad};

/// The longest symbol, in bytes.
const LONGEST: usize = 64;

/// Reads a chord symbol: `Dm7`, `G7(b9,b13)`, `F#ø`, `Bb13sus4`, `C6/9`, `Am7/G`.
///
/// A triad over another chord is a polychord: `D/C7` is C7 with the notes of D as
/// its 9, #11 and 13. More than a triad over another chord (`Am7/D7`) is an error.
/// A note name alone under the slash is always a bass: `D/C` is D over the note C,
/// `D/Cmaj` over the triad.
///
/// A sign right after the letter belongs to the root: `Cb9` is a ninth on C flat,
/// `C(b9)` a chord on C.
///
/// # Errors
/// The place of the first thing that is no part of a chord symbol, what was
/// expected there and, where it is clear, what was perhaps meant.
pub fn parse(text: &str) -> Result<Chord, SymbolError> {
    read(text).map_err(|error| SymbolError {
        suggestion: suggest::instead_of(text, &error),
        ..error
    })
}

/// Reads a symbol without looking for what was meant.
pub(super) fn read(text: &str) -> Result<Chord, SymbolError> {
    let mut cursor = Cursor::new(text);
    if text.len() > LONGEST {
        return Err(cursor.error(SymbolProblem::Length));
    }
    let mut chord = one_chord(&mut cursor, SymbolProblem::Root)?;
    let slash = cursor.at();
    if !cursor.take("/") {
        return Ok(chord);
    }
    let under = cursor;
    let bass = cursor.note();
    if bass.is_some() && cursor.is_done() {
        chord.bass = bass;
        return Ok(chord);
    }
    let mut cursor = under;
    let lower = one_chord(&mut cursor, SymbolProblem::Bass)?;
    if !cursor.is_done() {
        return Err(cursor.error(SymbolProblem::Suffix));
    }
    let over = |problem| {
        let found = text.get(..slash).unwrap_or(text).to_owned();
        SymbolError {
            at: 0,
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
    let mut reading = Reading::default();
    while !cursor.is_done() && !cursor.is_before_a_note() {
        reading.word(cursor)?;
    }
    reading.chord(root, cursor)
}
