//! Chord symbols: from text to [`Chord`](crate::chord::Chord) and back.
//! Imports `chord` and what is above it.

mod error;
mod grammar;
mod lexer;
mod meaning;
mod parse;
mod print;
mod reading;
mod suggest;
#[cfg(test)]
mod tests;

pub use error::{SymbolError, SymbolProblem};
pub use parse::{parse, parse_with};
pub(crate) use print::Signs;
pub use print::{NamedSymbol, Sign, Symbol};
