//! The grammar of chord symbols: a root, then quality words, numbers,
//! alterations, additions and omissions in any sensible order, then a bass.

use super::error::{SymbolError, SymbolProblem};
use super::lexer::Cursor;
use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::pitch::NoteName;
use crate::quality::{Extent, Quality};

const LONGEST: usize = 64;

/// Reads a chord symbol: `Dm7`, `G7(b9,b13)`, `F#ø`, `Bb13sus4`, `C6/9`, `Am7/G`.
///
/// # Errors
/// The place of the first thing that is no part of a chord symbol, what was
/// expected there and, where it is clear, what was perhaps meant.
pub fn parse(text: &str) -> Result<Chord, SymbolError> {
    let mut cursor = Cursor::new(text);
    if text.len() > LONGEST {
        return Err(error(&cursor, SymbolProblem::Length));
    }
    let Some(root) = cursor.note() else {
        return Err(root_error(text));
    };
    let mut reading = Reading::default();
    let mut bass = None;
    while !cursor.is_done() {
        let before = cursor;
        if let Some(note) = reading.slash(&mut cursor)? {
            bass = Some(note);
        } else if cursor.at() == before.at() {
            reading.word(&mut cursor)?;
        }
    }
    if reading.brackets > 0 {
        return Err(error(&cursor, SymbolProblem::Bracket));
    }
    let mut chord = reading.chord(root);
    chord.bass = bass;
    Ok(chord)
}

fn error(cursor: &Cursor, problem: SymbolProblem) -> SymbolError {
    let found = cursor.word();
    SymbolError {
        at: cursor.at(),
        len: found.len(),
        found: found.to_owned(),
        problem,
        suggestion: None,
    }
}

/// The symbol does not start with a root: says what was perhaps meant.
fn root_error(text: &str) -> SymbolError {
    let mut trouble = error(&Cursor::new(text), SymbolProblem::Root);
    let mut chars = text.chars();
    let first = chars.next();
    let meant = match first {
        Some('H' | 'h') => Some('B'),
        Some(c @ 'a'..='g') => Some(c.to_ascii_uppercase()),
        _ => None,
    };
    trouble.suggestion = meant
        .map(|root| format!("{root}{}", chars.as_str()))
        .filter(|symbol| parse(symbol).is_ok());
    trouble
}

#[derive(Clone, Copy, Default, PartialEq)]
enum Base {
    #[default]
    Major,
    Minor,
    Diminished,
    HalfDiminished,
    Augmented,
}

#[derive(Clone, Copy, PartialEq)]
enum Sus {
    Second,
    Fourth,
}

/// What has been read so far.
#[derive(Clone, Copy, Default)]
struct Reading {
    base: Base,
    /// `maj` or its like stood somewhere.
    major: bool,
    /// It was the triangle, which means a seventh by itself.
    triangle: bool,
    number: Option<u8>,
    sus: Option<Sus>,
    alt: bool,
    written: DegreeSet,
    omitted: DegreeSet,
    brackets: u8,
    /// Something has been read after the root.
    begun: bool,
}

const MAJOR: [&str; 6] = ["maj", "Maj", "MAJ", "Ma", "ma", "MA"];
const TRIANGLE: [&str; 4] = ["Δ", "△", "∆", "▵"];
const MINOR: [&str; 10] = ["min", "Min", "MIN", "mi", "Mi", "MI", "m", "-", "–", "−"];
const DIMINISHED: [&str; 5] = ["dim", "Dim", "°", "º", "o"];
const HALF_DIMINISHED: [&str; 3] = ["ø", "Ø", "ɸ"];
const AUGMENTED: [&str; 3] = ["aug", "Aug", "+"];

impl Reading {
    /// A slash: a tension by its number (`6/9`), or the bass.
    fn slash(&mut self, cursor: &mut Cursor) -> Result<Option<NoteName>, SymbolError> {
        if !cursor.take("/") {
            return Ok(None);
        }
        let here = *cursor;
        if let Some(number) = cursor.number() {
            self.add(&here, 0, number)?;
            return Ok(None);
        }
        match cursor.note() {
            Some(bass) if cursor.is_done() => Ok(Some(bass)),
            Some(_) => Err(error(cursor, SymbolProblem::Suffix)),
            None => Err(error(&here, SymbolProblem::Bass)),
        }
    }

    /// One word of the symbol.
    fn word(&mut self, cursor: &mut Cursor) -> Result<(), SymbolError> {
        let here = *cursor;
        let first = !self.begun;
        self.begun = true;
        if cursor.take("(") {
            self.brackets += 1;
        } else if cursor.take(")") {
            let Some(open) = self.brackets.checked_sub(1) else {
                return Err(error(&here, SymbolProblem::Bracket));
            };
            self.brackets = open;
        } else if cursor.take(",") || first && self.base_word(cursor) {
            // Commas only separate; the first word has done its work.
        } else if cursor.take("alt") {
            let _point = cursor.take(".");
            if self.base != Base::Major || self.major || self.sus.is_some() {
                return Err(error(&here, SymbolProblem::Suffix));
            }
            self.alt = true;
        } else if cursor.take_any(&["sus", "Sus"]) {
            if self.sus.is_some() {
                return Err(error(&here, SymbolProblem::Clash));
            }
            if self.alt || !matches!(self.base, Base::Major | Base::Minor) {
                return Err(error(&here, SymbolProblem::Suffix));
            }
            self.sus = Some(match cursor.number() {
                Some(2) => Sus::Second,
                Some(4) | None => Sus::Fourth,
                Some(number) => {
                    self.number = Some(number);
                    Sus::Fourth
                }
            });
        } else if cursor.take("add") {
            let sign = alteration(cursor).unwrap_or(0);
            let place = *cursor;
            let Some(number) = cursor.number() else {
                return Err(error(&place, SymbolProblem::Alteration));
            };
            self.add(&here, sign, number)?;
        } else if cursor.take_any(&["omit", "no"]) {
            self.omit(cursor)?;
        } else if !self.alt && cursor.take_any(&TRIANGLE) {
            self.major = true;
            self.triangle = true;
        } else if !self.alt && (cursor.take_any(&MAJOR) || cursor.take("M")) {
            self.major = true;
        } else if self.number == Some(7) && cursor.rest() == "+" {
            // `C7+`, the augmented seventh.
            let _plus = cursor.take("+");
            self.add(&here, 1, 5)?;
        } else if let Some(sign) = alteration(cursor) {
            let Some(number) = cursor.number() else {
                return Err(error(&here, SymbolProblem::Alteration));
            };
            self.add(&here, sign, number)?;
        } else if let Some(number) = cursor.number() {
            self.number(&here, number)?;
        } else {
            return Err(error(&here, SymbolProblem::Suffix));
        }
        Ok(())
    }

    /// The word that sets the triad; it stands first.
    fn base_word(&mut self, cursor: &mut Cursor) -> bool {
        // `madd9` is a minor chord with a ninth, not `ma` and `dd9`.
        let minor_add = cursor.rest().starts_with("madd");
        if !minor_add && cursor.take_any(&TRIANGLE) {
            self.major = true;
            self.triangle = true;
        } else if !minor_add && cursor.take_any(&MAJOR) {
            self.major = true;
        } else if cursor.take_any(&MINOR) {
            self.base = Base::Minor;
        } else if cursor.take("M") {
            self.major = true;
        } else if cursor.take_any(&DIMINISHED) {
            self.base = Base::Diminished;
        } else if cursor.take_any(&HALF_DIMINISHED) {
            self.base = Base::HalfDiminished;
        } else if cursor.take_any(&AUGMENTED) {
            self.base = Base::Augmented;
        } else {
            return cursor.take("dom");
        }
        true
    }

    /// A number without a sign: the chord's own number if it is the first,
    /// otherwise an added tension.
    fn number(&mut self, here: &Cursor, number: u8) -> Result<(), SymbolError> {
        let own = self.number.is_none() && self.written.is_empty() && !self.alt;
        match number {
            7 | 6 | 9 | 11 | 13 | 5 if own => {
                self.number = Some(number);
                Ok(())
            }
            7 if self.number.is_none() => {
                self.number = Some(7);
                Ok(())
            }
            // `C4` is a suspension; `C2` adds a ninth.
            4 if own && self.base == Base::Major && !self.major && self.sus.is_none() => {
                self.sus = Some(Sus::Fourth);
                Ok(())
            }
            7 => Err(error(here, SymbolProblem::Clash)),
            _ => self.add(here, 0, number),
        }
    }

    fn add(&mut self, here: &Cursor, sign: i8, number: u8) -> Result<(), SymbolError> {
        let degree = match (sign, number) {
            (-1, 9 | 2) => Degree::Flat9,
            (0, 9 | 2) => Degree::Nine,
            (1, 9 | 2) => Degree::Sharp9,
            (0, 11 | 4) => Degree::Eleven,
            (1, 11 | 4) => Degree::Sharp11,
            (-1, 5) => Degree::Flat5,
            (1, 5) => Degree::Sharp5,
            (-1, 13 | 6) => Degree::Flat13,
            (0, 13) => Degree::Thirteen,
            (0, 6) => Degree::Six,
            (-1, 7) => Degree::Flat7,
            (1, 7) => Degree::Seven,
            _ => return Err(error(here, SymbolProblem::Alteration)),
        };
        if self.written.has(degree) {
            return Err(error(here, SymbolProblem::Clash));
        }
        self.written = self.written.with(degree);
        Ok(())
    }

    fn omit(&mut self, cursor: &mut Cursor) -> Result<(), SymbolError> {
        let here = *cursor;
        let gone: &[Degree] = match cursor.number() {
            Some(3) => &[Degree::Three, Degree::Flat3],
            Some(5) => &[Degree::Five],
            Some(7) => &[Degree::Flat7, Degree::Seven],
            Some(9) => &[Degree::Nine],
            Some(11) => &[Degree::Eleven],
            Some(13) => &[Degree::Thirteen],
            _ => return Err(error(&here, SymbolProblem::Alteration)),
        };
        self.omitted = self.omitted.union(DegreeSet::of(gone));
        Ok(())
    }

    fn chord(mut self, root: NoteName) -> Chord {
        let extent = match self.number {
            Some(9) => Extent::Ninth,
            Some(11) => Extent::Eleventh,
            Some(13) => Extent::Thirteenth,
            _ => Extent::Plain,
        };
        let quality = match self.base {
            _ if self.alt => Quality::Altered,
            // `Cm7sus4` too: the fourth takes the place of either third.
            Base::Major | Base::Minor if self.sus.is_some() => self.suspended(),
            Base::Major => self.major(),
            Base::Minor => self.minor(),
            Base::Diminished => self.diminished(),
            Base::HalfDiminished => Quality::HalfDiminished,
            Base::Augmented => self.augmented(),
        };
        let extent = if quality.row().extended.is_some() {
            extent
        } else {
            Extent::Plain
        };
        // Only what the chord holds can be left out.
        let chord = Chord::new(root, quality).extended(extent);
        let stated = chord.stack().union(self.written);
        Chord {
            written: self.written.minus(quality.degrees()),
            omitted: self.omitted.intersection(stated),
            ..chord
        }
    }

    fn has_seventh(&self) -> bool {
        matches!(self.number, Some(7 | 9 | 11 | 13))
    }

    fn major(&mut self) -> Quality {
        const MEANS_DOMINANT: DegreeSet =
            DegreeSet::of(&[Degree::Flat9, Degree::Sharp9, Degree::Flat13]);
        let seventh = self.has_seventh();
        if self.written.has(Degree::Seven) {
            self.written = self.written.without(Degree::Seven);
            return Quality::MajorSeventh;
        }
        match self.number {
            Some(6) => Quality::Sixth,
            Some(5) => Quality::Power,
            _ if self.triangle || self.major && seventh => Quality::MajorSeventh,
            _ if !seventh && self.written == DegreeSet::of(&[Degree::Sharp5]) => Quality::Augmented,
            // An altered tension asks for a seventh below it.
            _ if self.major && self.written.meets(MEANS_DOMINANT) => Quality::MajorSeventh,
            _ if self.major => Quality::Major,
            _ if seventh || self.written.meets(MEANS_DOMINANT) => Quality::Dominant,
            _ => Quality::Major,
        }
    }

    fn suspended(&mut self) -> Quality {
        let seventh = self.has_seventh();
        let altered = self
            .written
            .meets(DegreeSet::of(&[Degree::Flat9, Degree::Sharp9]));
        if self.number == Some(6) {
            self.written = self.written.with(Degree::Six);
        }
        if self.major && seventh || self.triangle {
            self.written = self.written.with(Degree::Seven);
            self.write_naturals();
            return self.sus_triad();
        }
        match self.sus {
            Some(Sus::Fourth) if seventh || altered => Quality::DominantSuspended,
            Some(Sus::Second) if seventh => {
                self.written = self.written.with(Degree::Flat7);
                self.write_naturals();
                Quality::SuspendedSecond
            }
            _ => self.sus_triad(),
        }
    }

    fn sus_triad(&self) -> Quality {
        if self.sus == Some(Sus::Second) {
            Quality::SuspendedSecond
        } else {
            Quality::Suspended
        }
    }

    /// Writes out the extension where the quality itself takes none.
    fn write_naturals(&mut self) {
        if let Some(degree) = match self.number {
            Some(9) => Some(Degree::Nine),
            Some(11) => Some(Degree::Eleven),
            Some(13) => Some(Degree::Thirteen),
            _ => None,
        } {
            self.written = self.written.with(degree);
        }
    }

    fn minor(&mut self) -> Quality {
        let seventh = self.has_seventh();
        let flat_five = self.written.has(Degree::Flat5);
        let major_seventh = self.major || self.written.has(Degree::Seven);
        if major_seventh && self.number != Some(6) {
            self.written = self.written.without(Degree::Seven);
            return Quality::MinorMajorSeventh;
        }
        if flat_five && self.number != Some(6) {
            self.written = self.written.without(Degree::Flat5);
            return if seventh {
                Quality::HalfDiminished
            } else {
                Quality::Diminished
            };
        }
        match self.number {
            Some(6) => Quality::MinorSixth,
            _ if seventh => Quality::MinorSeventh,
            _ => Quality::Minor,
        }
    }

    fn diminished(&mut self) -> Quality {
        if self.major {
            self.written = self.written.with(Degree::Seven);
            return Quality::Diminished;
        }
        self.write_naturals();
        if self.has_seventh() {
            Quality::DiminishedSeventh
        } else {
            Quality::Diminished
        }
    }

    fn augmented(&mut self) -> Quality {
        let seventh = self.has_seventh();
        if !seventh && !self.triangle {
            return Quality::Augmented;
        }
        self.written = self.written.with(Degree::Sharp5);
        if self.major {
            Quality::MajorSeventh
        } else {
            Quality::Dominant
        }
    }
}

/// A sign before a degree: flats and sharps, or `-` and `+`.
fn alteration(cursor: &mut Cursor) -> Option<i8> {
    if cursor.take_any(&["#", "♯", "+"]) {
        Some(1)
    } else if cursor.take_any(&["b", "♭", "-", "−"]) {
        Some(-1)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quality::TABLE;
    use crate::symbol::{Sign, Symbol};

    #[test]
    fn every_spelling_in_the_table_reads_back_to_its_row() {
        for row in &TABLE {
            for spelling in std::iter::once(&row.suffix).chain(row.aliases) {
                for root in ["C", "F#", "Bb", "E♭"] {
                    // `C#5` is the fifth on C sharp; the table says so with its brackets.
                    let text = format!("{root}{spelling}");
                    let chord = parse(&text).unwrap_or_else(|e| panic!("{text}: {e}"));
                    assert_eq!(
                        chord.quality, row.quality,
                        "{text} reads as {:?}, not as {}",
                        chord, row.name
                    );
                    assert!(chord.written.is_empty(), "{text} writes {}", chord.written);
                }
            }
        }
    }

    #[test]
    fn what_is_written_stays_written() {
        let read = |s| parse(s).unwrap();
        assert_ne!(read("C7#5"), read("C7b13"));
        assert_eq!(read("C7(b9,b13)"), read("C7b13b9"));
        assert_eq!(read("C7-9"), read("C7(b9)"));
        assert_eq!(read("C7+11"), read("C7(#11)"));
        assert_eq!(read("C6/9"), read("C69"));
        assert_eq!(read("Cø"), read("Cm7b5"));
        assert_eq!(read("C+7"), read("C7#5"));
        assert_eq!(read("C7+"), read("C7#5"));
        assert_eq!(read("C4"), read("Csus4"));
        assert_eq!(read("Bb(#7)"), read("Bbmaj7"));
    }

    #[test]
    fn errors_say_where_and_what() {
        let e = |s: &str| parse(s).unwrap_err();
        assert_eq!(e("H7").suggestion.as_deref(), Some("B7"));
        assert_eq!(e("c7").suggestion.as_deref(), Some("C7"));
        assert_eq!((e("C7q").at, e("C7q").found.as_str()), (2, "q"));
        assert_eq!(e("C7(b9").problem, SymbolProblem::Bracket);
        assert_eq!(e("C7)").problem, SymbolProblem::Bracket);
        assert_eq!(e("Dm7/").problem, SymbolProblem::Bass);
        assert_eq!(e("C7b8").at, 2);
        assert_eq!(e("C7(b9,b9)").problem, SymbolProblem::Clash);
        for nonsense in [
            "Cmaj7alt",
            "Cm7alt",
            "Csus2sus4",
            "C77",
            "Cdimsus4",
            "C7altsus4",
        ] {
            assert!(parse(nonsense).is_err(), "{nonsense}");
        }
        assert_eq!(e("").problem, SymbolProblem::Root);
    }

    /// Qualities that an altered degree turns into another one: a triad with a
    /// b9 is a dominant, a minor seventh with a b5 is half-diminished.
    const TRIADS_THAT_GROW: [Quality; 4] = [
        Quality::Major,
        Quality::Minor,
        Quality::MinorSeventh,
        Quality::Suspended,
    ];

    impl Chord {
        fn normal(mut self) -> Chord {
            self.written = self.written.minus(self.quality.degrees());
            self
        }
    }

    /// Every quality with every extent and every pair of written degrees prints
    /// to a text that reads back to the same chord.
    #[test]
    fn printing_and_reading_are_inverse() {
        let written = [
            Degree::Flat9,
            Degree::Nine,
            Degree::Sharp9,
            Degree::Eleven,
            Degree::Sharp11,
            Degree::Flat5,
            Degree::Sharp5,
            Degree::Flat13,
            Degree::Thirteen,
        ];
        let mut tried = 0;
        for text in TABLE.iter().map(|r| r.suffix) {
            for extent in [
                Extent::Plain,
                Extent::Ninth,
                Extent::Eleventh,
                Extent::Thirteenth,
            ] {
                for a in written {
                    for b in written {
                        for bass in ["", "/G", "/Bb"] {
                            let Ok(plain) = parse(&format!("Eb{text}{bass}")) else {
                                continue;
                            };
                            let extended = plain.quality.row().extended.is_some();
                            if extent != Extent::Plain && !extended {
                                continue;
                            }
                            let made = plain.extended(extent).with(&[a, b]).normal();
                            for sign in [Sign::Ascii, Sign::Unicode] {
                                let printed = Symbol(&made, sign).to_string();
                                let first =
                                    parse(&printed).unwrap_or_else(|e| panic!("{printed}: {e}"));
                                let again = Symbol(&first, sign).to_string();
                                assert_eq!(parse(&again), Ok(first), "{printed} {again}");
                                if first.quality == made.quality {
                                    assert_eq!(first, made, "{printed}");
                                    tried += 1;
                                } else {
                                    assert!(TRIADS_THAT_GROW.contains(&made.quality), "{printed}");
                                }
                            }
                        }
                    }
                }
            }
        }
        assert!(tried > 1000);
    }
}
