//! What can be wrong with a chord symbol, in plain words.

use crate::pitch::NoteName;
use std::fmt;

/// A symbol that could not be read, with its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SymbolError {
    /// Where the trouble starts, in bytes from the start of the symbol.
    pub at: usize,
    /// How many bytes are in trouble; 0 at the end of the text.
    pub len: usize,
    /// What was read there.
    pub found: String,
    /// What is wrong.
    pub problem: SymbolProblem,
    /// A symbol that was perhaps meant.
    pub suggestion: Option<String>,
}

/// The kinds of trouble.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SymbolProblem {
    /// The symbol does not start with a letter A to G.
    Root,
    /// Something after the root is no part of a chord symbol.
    Suffix,
    /// A sign (`#`, `b`, `+`, `-`) or a word such as `add` stands before something
    /// that is no degree for it.
    Alteration,
    /// The same degree is written twice, or against another statement.
    Clash,
    /// A bracket is not closed, or closed without having been opened.
    Bracket,
    /// No note name follows the slash.
    Bass,
    /// What stands over the slash of a polychord is more than a triad.
    Upper,
    /// This note of the triad over the slash is no degree of the chord under it.
    Foreign(NoteName),
    /// The text says that nothing sounds: `N.C.`, `No Chord`, `Tacet`.
    Silence,
    /// The symbol is longer than any chord: more than 64 bytes.
    Length,
}

impl SymbolProblem {
    /// What was expected in its place.
    #[must_use]
    pub const fn expected(self) -> &'static str {
        match self {
            SymbolProblem::Root => "a root: a letter A to G, then # or b if any",
            SymbolProblem::Suffix => {
                "a quality (m, maj7, dim7, sus4 ...), a number (6, 7, 9, 11, 13), \
                 a tension (b9, #11 ...) or a slash and a bass note"
            }
            SymbolProblem::Alteration => "a degree: b5 #5 b9 9 #9 11 #11 b13 13",
            SymbolProblem::Clash => "each degree once, and one seventh",
            SymbolProblem::Bracket => "brackets in pairs",
            SymbolProblem::Bass => "a note name after the slash",
            SymbolProblem::Upper => {
                "a plain triad over another chord (D/C7), or a bass note after the slash (Am7/D)"
            }
            SymbolProblem::Foreign(_) => {
                "a triad whose notes are tensions or tones of the chord under the slash"
            }
            SymbolProblem::Silence => "a chord; this is silence, which charts write N.C.",
            SymbolProblem::Length => "a symbol of at most 64 characters",
        }
    }
}

impl fmt::Display for SymbolError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.found.is_empty() {
            write!(f, "the symbol ends too early")?;
        } else if let SymbolProblem::Foreign(note) = self.problem {
            write!(f, "the {note} of \"{}\" is no degree here", self.found)?;
        } else {
            write!(f, "\"{}\" does not belong here", self.found)?;
        }
        write!(f, "; expected {}", self.problem.expected())?;
        if let Some(suggestion) = &self.suggestion {
            write!(f, " (\"{suggestion}\"?)")?;
        }
        Ok(())
    }
}

impl std::error::Error for SymbolError {}
