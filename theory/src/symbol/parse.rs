//! From text to a chord, or to what is wrong and what was perhaps meant. Imports
//! `grammar` and `suggest`.

use super::error::SymbolError;
use super::grammar::read;
use super::suggest;
use crate::chord::Chord;
use crate::pitch::NoteNames;

/// Reads a chord symbol: `Dm7`, `G7(b9,b13)`, `F#ø`, `Bb13sus4`, `C6/9`, `Am7/G`.
///
/// A triad over another chord is a polychord: `D/C7` is C7 with the notes of D as its 9, #11
/// and 13. More than a triad over another chord (`Am7/D7`) is an error. A note name alone under
/// the slash is always a bass: `D/C` is D over the note C, and `D/Cmaj` is D over the triad.
///
/// A sign right after the letter belongs to the root: `Cb9` is a ninth on C flat, and `C(b9)`
/// is a chord on C. Spaces may separate alterations, brackets and words: `C7 b9`, `C7 alt`. A
/// chord in brackets, `(Dm7)`, is optional and is read as the chord. The bass may be written in
/// words: `C/bass E`, `C/E bass`, `C bass E`, `C (E bass)`.
///
/// Notes have their English names: `B` is B natural. [`parse_with`] takes German names.
///
/// # Errors
/// The place of the first thing that does not belong to a chord symbol, what was expected there
/// and, if it is clear, what was perhaps meant.
pub fn parse(text: &str) -> Result<Chord, SymbolError> {
    parse_with(text, NoteNames::English)
}

/// As [`parse`], with the notes named in this language: `H7`, `Fism7`, `Es/B` in German, in
/// which `B` is B flat.
///
/// # Errors
/// As [`parse`].
pub fn parse_with(text: &str, names: NoteNames) -> Result<Chord, SymbolError> {
    read(text, names).map_err(|error| SymbolError {
        suggestion: suggest::instead_of(text, names, &error),
        ..error
    })
}
