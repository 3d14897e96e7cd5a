//! A cursor over a symbol's text. It knows the signs that musicians write, in ASCII and in
//! Unicode, but not what chords are. Imports `error`.

use super::error::{SymbolError, SymbolProblem};
use crate::pitch::{Letter, NoteName, NoteNames};

/// A position in the text.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cursor<'a> {
    text: &'a str,
    at: usize,
    names: NoteNames,
}

const SLASHES: [&str; 3] = ["/", "⁄", "∕"];
const BASS: [&str; 3] = ["bass", "Bass", "BASS"];

impl<'a> Cursor<'a> {
    pub(super) const fn new(text: &'a str, names: NoteNames) -> Self {
        Cursor { text, at: 0, names }
    }

    pub(super) const fn skip_to_the_end(&mut self) {
        self.at = self.text.len();
    }

    /// Leaves out a last character that closes the whole symbol.
    pub(super) fn end_before(&mut self, last: char) {
        self.text = self.text.strip_suffix(last).unwrap_or(self.text);
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

    /// Whether a slash stands here, and a note name or nothing after it.
    pub(super) fn is_before_a_note(&self) -> bool {
        let mut after = *self;
        let german = self.names == NoteNames::German;
        let letter = |c| Letter::from_char(c).is_some() || german && c == 'H';
        after.take_slash() && after.peek().is_none_or(letter)
    }

    /// Takes a slash, or the slash of fractions.
    pub(super) fn take_slash(&mut self) -> bool {
        self.take_any(&SLASHES)
    }

    /// Takes spaces, if some stand here.
    pub(super) fn spaces(&mut self) -> bool {
        let before = self.at;
        while self.take(" ") {}
        self.at > before
    }

    /// Takes spaces if a figure or the word for a quality follows: `Bb 7`, `C maj7`, `C -7`. A
    /// letter that also names a note counts only in lower case.
    pub(super) fn spaces_before_a_quality(&mut self) {
        const FIRST: [char; 15] = [
            'm', 'M', 'd', 'a', 's', 'h', 'ø', 'Ø', 'Δ', '△', '∆', '°', '-', '−', '+',
        ];
        let mut after = *self;
        let stands = |c| figure(c).is_some() || FIRST.contains(&c);
        if after.spaces() && after.peek().is_some_and(stands) {
            *self = after;
        }
    }

    /// The bass that ends the symbol: `/E`, `/bass E`, `/E bass`, ` bass E`, ` E bass` or the
    /// last two in brackets. Two notes with only a space between them are not a chord with its
    /// bass.
    pub(super) fn bass(&mut self) -> Option<NoteName> {
        let mut after = *self;
        let spaced = after.spaces();
        let bracket = after.take("(");
        let slash = !bracket && after.take_slash();
        if !(spaced || bracket || slash) {
            return None;
        }
        let _more = after.spaces() && !after.is_done();
        let mut said = after.take_any(&BASS) && after.spaces();
        let note = after.note()?;
        if !said {
            let mut word = after;
            said = word.spaces() && word.take_any(&BASS);
            after = if said { word } else { after };
        }
        let closed = !bracket || after.take(")");
        let stands = (slash || said) && closed && after.is_done();
        stands.then(|| {
            *self = after;
            note
        })
    }

    /// Whether a part of the symbol stands here that may be written apart from
    /// what is before it: an alteration, a bracket, or a word such as `alt`.
    pub(super) fn is_before_a_part(&self) -> bool {
        const WORDS: [&str; 8] = ["alt", "Alt", "ALT", "sus", "Sus", "add", "Add", "half"];
        let rest = self.rest().trim_start_matches(' ');
        if WORDS.iter().any(|word| rest.starts_with(word)) {
            return true;
        }
        let mut part = *self;
        part.spaces();
        let signed = part.take_any(&[
            "#", "♯", "b", "♭", "+", "⁺", "-", "−", "–", "⁻", "♮", "natural", "nat", "no", "omit",
        ]);
        let bracket = !signed && part.take_any(&["(", "⁽"]);
        if bracket {
            // `(Dm7)` is another chord, `(b9)` belongs to this one.
            return part.peek().is_some_and(|c| Letter::from_char(c).is_none());
        }
        // `C -7` is more likely a minor seventh than a flat one.
        signed && part.number().is_some_and(|n| !matches!(n, 6 | 7))
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

    /// Takes the first of `words` that stands here. Longer words come first.
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
        if self.names == NoteNames::German {
            let (name, rest) = NoteName::read_german(self.rest())?;
            self.at = self.text.len() - rest.len();
            return Some(name);
        }
        let letter = Letter::from_char(self.peek()?)?;
        self.at += 1;
        let accidental = self.accidental();
        Some(NoteName::new(letter, accidental))
    }

    /// One of the numbers that chord symbols use, if it stands here. Another one may follow it:
    /// `69` is a six and a nine. Raised and lowered figures count too.
    pub(super) fn number(&mut self) -> Option<u8> {
        let mut after = *self;
        let number = match after.figure()? {
            1 => match after.figure()? {
                second @ (1 | 3) => 10 + second,
                _ => return None,
            },
            number @ (2..=7 | 9) => number,
            _ => return None,
        };
        *self = after;
        Some(number)
    }

    fn figure(&mut self) -> Option<u8> {
        let c = self.peek()?;
        let figure = figure(c)?;
        self.at += c.len_utf8();
        Some(figure)
    }

    /// The text from here up to the next break, for an error message.
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

/// The value of a figure, on the line, raised or lowered.
pub(super) fn figure(c: char) -> Option<u8> {
    const RAISED: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    const LOWERED: [char; 10] = ['₀', '₁', '₂', '₃', '₄', '₅', '₆', '₇', '₈', '₉'];
    let place = |figures: [char; 10]| figures.iter().position(|f| *f == c);
    let value = match c.to_digit(10) {
        Some(digit) => usize::try_from(digit).ok()?,
        None => place(RAISED).or_else(|| place(LOWERED))?,
    };
    u8::try_from(value).ok()
}
