//! A cursor over a symbol's text. It knows the signs that musicians write, in
//! ASCII and in Unicode, and nothing of chords.

use super::error::{SymbolError, SymbolProblem};
use crate::pitch::{Letter, NoteName};

/// A position in the text.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cursor<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Cursor<'a> {
    pub(super) const fn new(text: &'a str) -> Self {
        Cursor { text, at: 0 }
    }

    pub(super) const fn at(&self) -> usize {
        self.at
    }

    pub(super) fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    pub(super) fn is_done(&self) -> bool {
        self.rest().is_empty()
    }

    pub(super) fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    /// Whether a slash stands here and a note name, or nothing, behind it.
    pub(super) fn is_before_a_note(&self) -> bool {
        let mut chars = self.rest().chars();
        chars.next() == Some('/') && chars.next().is_none_or(|c| Letter::from_char(c).is_some())
    }

    /// The trouble that begins here.
    #[cold]
    pub(super) fn error(&self, problem: SymbolProblem) -> SymbolError {
        let found = self.word();
        SymbolError {
            at: self.at,
            len: found.len(),
            found: found.to_owned(),
            problem,
            suggestion: None,
        }
    }

    /// Takes `word` if it stands here.
    pub(super) fn take(&mut self, word: &str) -> bool {
        let here = self.rest().starts_with(word);
        if here {
            self.at += word.len();
        }
        here
    }

    /// Takes the first of `words` that stands here; the longer ones come first.
    pub(super) fn take_any(&mut self, words: &[&str]) -> bool {
        words.iter().any(|word| self.take(word))
    }

    /// Sharps counted positive, flats negative, as many as stand here (two at most).
    pub(super) fn accidental(&mut self) -> i8 {
        if self.take_any(&["𝄪", "##", "♯♯", "x"]) {
            2
        } else if self.take_any(&["𝄫", "bb", "♭♭"]) {
            -2
        } else if self.take_any(&["#", "♯"]) {
            1
        } else if self.take_any(&["b", "♭"]) {
            -1
        } else {
            let _natural = self.take("♮");
            0
        }
    }

    /// A note name, if one stands here.
    pub(super) fn note(&mut self) -> Option<NoteName> {
        let letter = Letter::from_char(self.peek()?)?;
        self.at += 1;
        let accidental = self.accidental();
        Some(NoteName::new(letter, accidental))
    }

    /// One of the numbers that chord symbols use, if it stands here. Another may
    /// follow it: `69` is a six and a nine.
    pub(super) fn number(&mut self) -> Option<u8> {
        const NUMBERS: [(&str, u8); 9] = [
            ("13", 13),
            ("11", 11),
            ("9", 9),
            ("7", 7),
            ("6", 6),
            ("5", 5),
            ("4", 4),
            ("3", 3),
            ("2", 2),
        ];
        let (word, number) = NUMBERS
            .into_iter()
            .find(|(w, _)| self.rest().starts_with(w))?;
        self.at += word.len();
        Some(number)
    }

    /// What stands here up to the next break, for an error message.
    pub(super) fn word(&self) -> &'a str {
        let rest = self.rest();
        let mut end = rest.len();
        for (i, c) in rest.char_indices().skip(1) {
            if matches!(c, '(' | ')' | ',' | '/' | ' ') {
                end = i;
                break;
            }
        }
        rest.get(..end).unwrap_or(rest)
    }
}
