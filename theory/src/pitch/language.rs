//! Names of notes in English and in German. Imports `name`.

use super::letter::Letter;
use super::name::NoteName;
use std::fmt;

/// The language in which notes are named. The two differ in what `B` means.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum NoteNames {
    /// A to G; `B` is B natural and `Bb` is B flat.
    #[default]
    English,
    /// `H` is B natural and `B` is B flat; `is` raises a letter and `es`, or `s`
    /// after E and A, lowers it: `Fis`, `Des`, `Es`, `As`, `Heses`. Signs are read
    /// too (`F#`, `Eb`), as German charts mix them; `Bb` is B flat there.
    German,
}

impl NoteName {
    /// Reads a German name at the start of a text and gives the rest of the text;
    /// see [`NoteNames::German`]. `Be`, `Bes` and `Hes` are B flat. An `s` that
    /// begins `sus` lowers nothing: `Esus4` is a chord on E.
    #[must_use]
    pub fn read_german(text: &str) -> Option<(NoteName, &str)> {
        let mut chars = text.chars();
        let first = chars.next()?;
        let rest = chars.as_str();
        if first == 'B' {
            let flat = |accidental| NoteName::new(Letter::B, accidental);
            let ending = |ends: &[&str]| ends.iter().find_map(|end| rest.strip_prefix(end));
            let double = ending(&["eses", "bb", "♭♭", "𝄫"]).map(|rest| (flat(-2), rest));
            let single = || ending(&["es", "e", "b", "♭"]).unwrap_or(rest);
            return Some(double.unwrap_or_else(|| (flat(-1), single())));
        }
        let letter = match first {
            'H' => Letter::B,
            other => Letter::from_char(other)?,
        };
        const ENDINGS: [(&str, i8); 12] = [
            ("isis", 2),
            ("𝄪", 2),
            ("##", 2),
            ("♯♯", 2),
            ("is", 1),
            ("#", 1),
            ("♯", 1),
            ("eses", -2),
            ("𝄫", -2),
            ("bb", -2),
            ("♭♭", -2),
            ("es", -1),
        ];
        const SHORT: [(&str, i8); 3] = [("ses", -2), ("sas", -2), ("s", -1)];
        const SIGNS: [(&str, i8); 3] = [("b", -1), ("♭", -1), ("♮", 0)];
        let shortens = matches!(letter, Letter::E | Letter::A) && !rest.starts_with("sus");
        let short = SHORT.iter().filter(|_| shortens);
        let mut endings = ENDINGS.iter().chain(short).chain(&SIGNS);
        let ended = endings.find_map(|(end, by)| Some((*by, rest.strip_prefix(end)?)));
        let (accidental, rest) = ended.unwrap_or((0, rest));
        Some((NoteName::new(letter, accidental), rest))
    }

    /// This name to print in a language: `Bb` or `B`, `F#` or `Fis`.
    #[must_use]
    pub const fn named(self, names: NoteNames) -> Named {
        Named { name: self, names }
    }
}

/// A name to print with `Display`, see [`NoteName::named`].
#[derive(Clone, Copy, Debug)]
pub struct Named {
    name: NoteName,
    names: NoteNames,
}

impl fmt::Display for Named {
    /// German double flats are `Eses`, `Ases` and `Heses`; B flat is `B`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let NoteName { letter, accidental } = self.name;
        if self.names == NoteNames::English {
            return write!(f, "{}", self.name);
        }
        let by = usize::from(accidental.unsigned_abs());
        match (letter, accidental) {
            (Letter::B, -1) => f.write_str("B"),
            (Letter::E | Letter::A, ..=-1) => {
                write!(f, "{}s", letter.as_char())?;
                (1..by).try_for_each(|_| f.write_str("es"))
            }
            _ => {
                let letter = if letter == Letter::B {
                    'H'
                } else {
                    letter.as_char()
                };
                let ending = if accidental < 0 { "es" } else { "is" };
                write!(f, "{letter}")?;
                (0..by).try_for_each(|_| f.write_str(ending))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no published source.
    #[test]
    fn german_names() {
        let read = |text: &'static str| {
            NoteName::read_german(text).map(|(name, rest)| (name.to_string(), rest))
        };
        for (german, english) in [
            ("H", "B"),
            ("B", "Bb"),
            ("Bb", "Bb"),
            ("B♭", "Bb"),
            ("Be", "Bb"),
            ("Bes", "Bb"),
            ("Hes", "Bb"),
            ("Heses", "Bbb"),
            ("His", "B#"),
            ("Fis", "F#"),
            ("Fisis", "F##"),
            ("Cis", "C#"),
            ("Dis", "D#"),
            ("Gis", "G#"),
            ("Ais", "A#"),
            ("Eis", "E#"),
            ("Es", "Eb"),
            ("Eses", "Ebb"),
            ("As", "Ab"),
            ("Ases", "Abb"),
            ("Asas", "Abb"),
            ("Des", "Db"),
            ("Ges", "Gb"),
            ("Ces", "Cb"),
            ("Fes", "Fb"),
            ("F#", "F#"),
            ("Eb", "Eb"),
        ] {
            assert_eq!(read(german), Some((english.to_owned(), "")), "{german}");
        }
        assert_eq!(read("Esus4"), Some(("E".to_owned(), "sus4")));
        assert_eq!(read("Essus4"), Some(("Eb".to_owned(), "sus4")));
        assert_eq!(read("Asus"), Some(("A".to_owned(), "sus")));
        assert_eq!(read("Asm7"), Some(("Ab".to_owned(), "m7")));
        assert_eq!(read("h7"), None);
        for fifths in -15..=19 {
            let name = NoteName::from_fifths(fifths);
            let german = name.named(NoteNames::German).to_string();
            assert_eq!(NoteName::read_german(&german), Some((name, "")), "{german}");
            let english = name.named(NoteNames::English).to_string();
            assert_eq!(english, name.to_string());
        }
    }
}
