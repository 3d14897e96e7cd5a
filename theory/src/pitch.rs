//! Pitches: spelled names (letter and accidental), pitch classes, MIDI notes, and
//! the intervals between them. Imports nothing of the crate.

use std::fmt;

/// One of the seven letters that name notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Letter {
    /// C
    C,
    /// D
    D,
    /// E
    E,
    /// F
    F,
    /// G
    G,
    /// A
    A,
    /// B
    B,
}

impl Letter {
    /// All letters, from C upwards.
    pub const ALL: [Letter; 7] = [
        Letter::C,
        Letter::D,
        Letter::E,
        Letter::F,
        Letter::G,
        Letter::A,
        Letter::B,
    ];

    /// The letter written as `c`, upper case only.
    #[must_use]
    pub const fn from_char(c: char) -> Option<Letter> {
        Some(match c {
            'C' => Letter::C,
            'D' => Letter::D,
            'E' => Letter::E,
            'F' => Letter::F,
            'G' => Letter::G,
            'A' => Letter::A,
            'B' => Letter::B,
            _ => return None,
        })
    }

    /// Semitones of the natural note above C, 0 to 11.
    #[must_use]
    pub const fn semitones(self) -> i8 {
        match self {
            Letter::C => 0,
            Letter::D => 2,
            Letter::E => 4,
            Letter::F => 5,
            Letter::G => 7,
            Letter::A => 9,
            Letter::B => 11,
        }
    }

    const fn step(self) -> i8 {
        match self {
            Letter::C => 0,
            Letter::D => 1,
            Letter::E => 2,
            Letter::F => 3,
            Letter::G => 4,
            Letter::A => 5,
            Letter::B => 6,
        }
    }

    const fn from_step(step: i8) -> Letter {
        match step.rem_euclid(7) {
            0 => Letter::C,
            1 => Letter::D,
            2 => Letter::E,
            3 => Letter::F,
            4 => Letter::G,
            5 => Letter::A,
            _ => Letter::B,
        }
    }

    const fn as_char(self) -> char {
        match self {
            Letter::C => 'C',
            Letter::D => 'D',
            Letter::E => 'E',
            Letter::F => 'F',
            Letter::G => 'G',
            Letter::A => 'A',
            Letter::B => 'B',
        }
    }
}

/// An interval upwards: letters passed and semitones, so that an augmented
/// fourth and a diminished fifth stay apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Interval {
    /// Letters passed, 0 for a unison, 6 for a seventh.
    pub steps: i8,
    /// Semitones, 0 for a unison, 11 for a major seventh.
    pub semitones: i8,
}

/// The key on a keyboard without its octave, 0 (C) to 11 (B).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PitchClass(u8);

impl PitchClass {
    /// The class of any number of semitones above a C.
    #[must_use]
    pub const fn wrapping(semitones: i32) -> PitchClass {
        // The remainder is 0 to 11.
        PitchClass(semitones.rem_euclid(12).to_le_bytes()[0])
    }

    /// 0 (C) to 11 (B).
    #[must_use]
    pub const fn number(self) -> u8 {
        self.0
    }

    /// Semitones up from `lower` to the next note of this class, 0 to 11.
    #[must_use]
    pub const fn above(self, lower: PitchClass) -> u8 {
        (self.0 + 12 - lower.0) % 12
    }

    /// The class `semitones` higher.
    #[must_use]
    pub const fn up(self, semitones: i8) -> PitchClass {
        PitchClass::wrapping(self.0 as i32 + semitones as i32)
    }
}

/// A MIDI note number, 0 to 127; 60 is middle C (C4).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct MidiNote(u8);

impl MidiNote {
    /// The lowest note.
    pub const MIN: MidiNote = MidiNote(0);
    /// The highest note.
    pub const MAX: MidiNote = MidiNote(127);

    /// The note with this number, if it is one (0 to 127).
    #[must_use]
    pub const fn new(number: u8) -> Option<MidiNote> {
        if number <= 127 {
            Some(MidiNote(number))
        } else {
            None
        }
    }

    /// The nearest note to this number: below 0 becomes 0, above 127 becomes 127.
    #[must_use]
    pub const fn clamp(number: i32) -> MidiNote {
        if number < 0 {
            MidiNote(0)
        } else if number > 127 {
            MidiNote(127)
        } else {
            MidiNote(number.to_le_bytes()[0])
        }
    }

    /// 0 to 127.
    #[must_use]
    pub const fn number(self) -> u8 {
        self.0
    }

    /// The same as a signed number, for arithmetic.
    #[must_use]
    pub const fn semitones(self) -> i32 {
        self.0 as i32
    }

    /// The note's pitch class.
    #[must_use]
    pub const fn class(self) -> PitchClass {
        PitchClass(self.0 % 12)
    }

    /// The lowest note of the class `class` at or above this one, if there is one.
    #[must_use]
    pub const fn next_of(self, class: PitchClass) -> Option<MidiNote> {
        MidiNote::new(self.0 + class.above(self.class()))
    }
}

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

/// A note's name without its octave: F sharp and G flat differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct NoteName {
    /// The letter.
    pub letter: Letter,
    /// Sharps (positive) or flats (negative). Written roots have at most two;
    /// tensions over such roots may need three or four.
    pub accidental: i8,
}

impl NoteName {
    /// A name from its letter and accidental.
    #[must_use]
    pub const fn new(letter: Letter, accidental: i8) -> NoteName {
        NoteName { letter, accidental }
    }

    /// Reads a name at the start of a text, in ASCII or with signs, and gives
    /// the rest of the text.
    #[must_use]
    pub fn read(text: &str) -> Option<(NoteName, &str)> {
        let mut chars = text.chars();
        let letter = Letter::from_char(chars.next()?)?;
        let mut name = NoteName::new(letter, 0);
        let mut rest = chars.as_str();
        loop {
            let mut signs = rest.chars();
            match signs.next() {
                Some('#' | '♯') => name.accidental += 1,
                Some('b' | '♭') => name.accidental -= 1,
                _ => return Some((name, rest)),
            }
            if name.accidental.abs() > 2 {
                return None;
            }
            rest = signs.as_str();
        }
    }

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

    /// The pitch class that this name sounds.
    #[must_use]
    pub const fn class(self) -> PitchClass {
        PitchClass::wrapping(self.letter.semitones() as i32 + self.accidental as i32)
    }

    /// The name an interval higher, spelled by its letter: an augmented second
    /// over G is A sharp, never B flat.
    #[must_use]
    pub const fn up(self, interval: Interval) -> NoteName {
        let letter = Letter::from_step(self.letter.step() + interval.steps);
        let plain = letter.semitones() - self.letter.semitones();
        let plain = plain.rem_euclid(12);
        let wanted = (interval.semitones + self.accidental).rem_euclid(12);
        let mut accidental = wanted - plain;
        if accidental > 6 {
            accidental -= 12;
        } else if accidental < -6 {
            accidental += 12;
        }
        NoteName { letter, accidental }
    }

    /// The position on the line of fifths: C is 0, G 1, F -1, F sharp 6.
    #[must_use]
    pub const fn fifths(self) -> i8 {
        let natural = match self.letter {
            Letter::F => -1,
            Letter::C => 0,
            Letter::G => 1,
            Letter::D => 2,
            Letter::A => 3,
            Letter::E => 4,
            Letter::B => 5,
        };
        natural + 7 * self.accidental
    }

    /// The name at a position on the line of fifths, see [`NoteName::fifths`].
    #[must_use]
    pub const fn from_fifths(fifths: i8) -> NoteName {
        let letter = match fifths.rem_euclid(7) {
            0 => Letter::C,
            1 => Letter::G,
            2 => Letter::D,
            3 => Letter::A,
            4 => Letter::E,
            5 => Letter::B,
            _ => Letter::F,
        };
        NoteName {
            letter,
            accidental: (fifths + 1).div_euclid(7),
        }
    }

    /// The name `fifths` further along the line of fifths.
    #[must_use]
    pub const fn along_fifths(self, fifths: i8) -> NoteName {
        NoteName::from_fifths(self.fifths() + fifths)
    }

    /// The name, or the other name of the same key where that reads easier: past two
    /// flats or three sharps beyond the naturals, from F flat to A sharp.
    #[must_use]
    pub const fn readable(self) -> NoteName {
        match self.fifths() {
            ..=-9 => self.along_fifths(12),
            11.. => self.along_fifths(-12),
            _ => self,
        }
    }

    /// This name for a sounding MIDI note, with the octave that fits: MIDI 59
    /// named C flat is C flat 4.
    #[must_use]
    pub const fn at(self, note: MidiNote) -> SpelledPitch {
        let natural = note.semitones() - self.accidental as i32;
        SpelledPitch {
            name: self,
            // Between -3 and 11 for MIDI notes and four accidentals.
            octave: (natural.div_euclid(12) - 1).to_le_bytes()[0].cast_signed(),
        }
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

impl fmt::Display for NoteName {
    /// ASCII: `Bb`, `F#`, `Ebb`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.letter.as_char())?;
        let sign = if self.accidental < 0 { 'b' } else { '#' };
        for _ in 0..self.accidental.unsigned_abs() {
            write!(f, "{sign}")?;
        }
        Ok(())
    }
}

/// A spelled note in its octave: `Eb4`. Middle C is C4.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct SpelledPitch {
    /// The name.
    pub name: NoteName,
    /// The octave of the natural letter; octave 4 starts at middle C.
    pub octave: i8,
}

impl SpelledPitch {
    /// The MIDI note, if it is one (0 to 127).
    #[must_use]
    pub fn midi(self) -> Option<MidiNote> {
        let semitones = (i32::from(self.octave) + 1) * 12
            + i32::from(self.name.letter.semitones())
            + i32::from(self.name.accidental);
        u8::try_from(semitones).ok().and_then(MidiNote::new)
    }
}

impl SpelledPitch {
    /// Reads `F3`, `Bb3`, `C#4`, `Cb-1`.
    #[must_use]
    pub fn parse(text: &str) -> Option<SpelledPitch> {
        let (name, rest) = NoteName::read(text)?;
        let octave = rest.parse().ok()?;
        let pitch = SpelledPitch { name, octave };
        pitch.midi().map(|_| pitch)
    }
}

impl fmt::Display for SpelledPitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.name, self.octave)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intervals_keep_their_letters() {
        let g = NoteName::new(Letter::G, 0);
        let sharp_nine = Interval {
            steps: 1,
            semitones: 3,
        };
        assert_eq!(g.up(sharp_nine).to_string(), "A#");
        let cb = NoteName::new(Letter::C, -1);
        let diminished_seventh = Interval {
            steps: 6,
            semitones: 9,
        };
        assert_eq!(cb.up(diminished_seventh).to_string(), "Bbbb");
        let bs = NoteName::new(Letter::B, 1);
        let third = Interval {
            steps: 2,
            semitones: 4,
        };
        assert_eq!(bs.up(third).to_string(), "D##");
    }

    #[test]
    fn names_keep_their_octave_across_the_c_line() {
        let name = |l, a| NoteName::new(l, a);
        let at = |n: NoteName, m| n.at(MidiNote::clamp(m)).to_string();
        assert_eq!(at(name(Letter::C, 0), 60), "C4");
        assert_eq!(at(name(Letter::C, -1), 59), "Cb4");
        assert_eq!(at(name(Letter::B, 1), 60), "B#3");
        for midi in 0..=127 {
            let note = MidiNote::clamp(midi);
            for fifths in -12..=16 {
                let n = NoteName::from_fifths(fifths);
                if n.class() == note.class() {
                    assert_eq!(n.at(note).midi(), Some(note), "{n} at {midi}");
                }
            }
        }
    }

    #[test]
    fn pitches_read_back() {
        for text in ["C4", "Bb3", "F##2", "Cb-1", "G9"] {
            let read = SpelledPitch::parse(text).map(|p| p.to_string());
            let expected = (text != "Cb-1").then(|| text.to_owned());
            assert_eq!(read, expected, "below MIDI note 0 there is nothing");
        }
        for text in ["", "H3", "C", "C###4", "G#9", "3"] {
            assert_eq!(SpelledPitch::parse(text), None, "{text}");
        }
    }

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

    #[test]
    fn fifths_round_trip() {
        for fifths in -20..=20 {
            assert_eq!(NoteName::from_fifths(fifths).fifths(), fifths);
        }
        assert_eq!(NoteName::from_fifths(-5).to_string(), "Db");
        assert_eq!(NoteName::from_fifths(6).to_string(), "F#");
    }
}
