//! What can be wrong with a chord symbol. `words` puts it into words. Imports `pitch`; the
//! folder of `symbol` imports it.

use crate::pitch::NoteName;

/// A symbol that could not be read, with its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SymbolError {
    /// Where the trouble starts, in bytes from the start of the symbol.
    pub at: usize,
    /// The number of bytes in trouble, or 0 at the end of the text.
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
    /// Something after the root does not belong to a chord symbol.
    Suffix,
    /// A sign (`#`, `b`, `+`, `-`) or a word such as `add` stands before something that
    /// is not a degree for it.
    Alteration,
    /// The same degree is written twice, or contradicts another part of the symbol.
    Clash,
    /// A bracket is not closed, or closed without having been opened.
    Bracket,
    /// No note name follows the slash.
    Bass,
    /// What stands over the slash of a polychord is more than a triad.
    Upper,
    /// This note of the triad over the slash is not a degree of the chord under it.
    Foreign(NoteName),
    /// The text says that nothing sounds: `N.C.`, `No Chord`, `Tacet`.
    Silence,
    /// The symbol is longer than any chord: more than 64 bytes.
    Length,
}

impl std::error::Error for SymbolError {}
