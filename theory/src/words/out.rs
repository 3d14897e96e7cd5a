//! How words are written: as `Display`, with flats and sharps in ASCII or as music signs.
//! Imports `symbol`; the folder of `words` imports it.

use crate::symbol::{self, Sign, Symbol};
use std::fmt::{self, Write};

/// What can be put into words.
pub trait Words {
    /// Writes the words.
    ///
    /// # Errors
    /// As the formatter's.
    fn write(&self, out: &mut Out) -> fmt::Result;
}

/// Something to print with `Display` in words, with these signs: `b9` or `♭9`.
#[derive(Clone, Copy, Debug)]
pub struct InWords<'a, T>(pub &'a T, pub Sign);

impl<T: Words> fmt::Display for InWords<'_, T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let InWords(what, sign) = *self;
        what.write(&mut Out { out: f, sign })
    }
}

/// Where words go. They are written with `♭` and `♯`, which become `b` and `#` where
/// ASCII is asked for.
pub struct Out<'a, 'b> {
    out: &'a mut fmt::Formatter<'b>,
    sign: Sign,
}

impl Out<'_, '_> {
    /// A chord to write among words.
    pub(super) const fn symbol<'c>(&self, chord: &'c crate::chord::Chord) -> Symbol<'c> {
        Symbol(chord, self.sign)
    }

    /// Something else to write among words.
    pub(super) const fn words<'c, T: Words>(&self, what: &'c T) -> InWords<'c, T> {
        InWords(what, self.sign)
    }

    /// Writes the ASCII name of a note or degree, in which each `b` is a flat.
    pub(super) fn name(&mut self, name: impl fmt::Display) -> fmt::Result {
        write!(symbol::Signs::new(self.out, self.sign), "{name}")
    }
}

impl fmt::Write for Out<'_, '_> {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        if self.sign == Sign::Unicode {
            return self.out.write_str(text);
        }
        text.chars().try_for_each(|c| {
            self.out.write_char(match c {
                '♭' => 'b',
                '♯' => '#',
                other => other,
            })
        })
    }
}

/// Prints these with `Display` in ASCII.
macro_rules! display_in_ascii {
    ($($what:ty),* $(,)?) => {
        $(impl std::fmt::Display for $what {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                $crate::words::InWords(self, $crate::symbol::Sign::Ascii).fmt(f)
            }
        })*
    };
}
pub(super) use display_in_ascii;
