//! What is wrong with a chord symbol, in words. Imports `symbol`.

use crate::symbol::{SymbolError, SymbolProblem};
use std::fmt;

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
