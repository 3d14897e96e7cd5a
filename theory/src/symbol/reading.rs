//! What a symbol has said so far after its root. Imports `lexer`, `print` and `error`.

use super::error::{SymbolError, SymbolProblem};
use super::lexer::{Cursor, figure};
use super::print::OMISSIONS;
use crate::degree::{Degree, DegreeSet};

#[derive(Clone, Copy, Default, PartialEq)]
pub(super) enum Base {
    #[default]
    Major,
    Minor,
    Diminished,
    HalfDiminished,
    Augmented,
}

#[derive(Clone, Copy, PartialEq)]
pub(super) enum Sus {
    Second,
    Fourth,
}

/// What has been read so far.
#[derive(Clone, Copy, Default)]
pub(super) struct Reading {
    pub(super) base: Base,
    /// Whether `maj` or an equivalent has been read.
    pub(super) major: bool,
    /// Whether that was the triangle, which means a seventh by itself.
    pub(super) triangle: bool,
    pub(super) number: Option<u8>,
    pub(super) sus: Option<Sus>,
    pub(super) alt: bool,
    pub(super) written: DegreeSet,
    /// The written degrees that came after `add`.
    pub(super) added: DegreeSet,
    pub(super) omitted: DegreeSet,
    pub(super) brackets: u8,
    /// Whether something has been read after the root.
    pub(super) begun: bool,
}

// The longer ones come first.
const MAJOR: [&str; 8] = ["major", "Major", "maj", "Maj", "MAJ", "Ma", "ma", "MA"];
const TRIANGLE: [&str; 5] = ["Δ", "△", "∆", "▵", "^"];
const MINOR: [&str; 12] = [
    "minor", "Minor", "min", "Min", "MIN", "mi", "Mi", "MI", "m", "-", "–", "−",
];
const DIMINISHED: [&str; 7] = ["diminished", "dim", "Dim", "DIM", "°", "º", "o"];
const HALF_DIMINISHED: [&str; 3] = ["ø", "Ø", "ɸ"];
const HALF: [&str; 3] = ["half", "Half", "HALF"];
const AUGMENTED: [&str; 6] = ["augmented", "aug", "Aug", "AUG", "+", "⁺"];
const NATURAL: [&str; 4] = ["natural", "nat.", "nat", "♮"];
const ALT: [&str; 6] = ["altered", "alt.", "alt", "Alt.", "Alt", "ALT"];
const SUS: [&str; 3] = ["sus", "Sus", "SUS"];
const ADD: [&str; 3] = ["add", "Add", "ADD"];
const OMIT: [&str; 6] = ["omit", "Omit", "OMIT", "no", "No", "NO"];
pub(super) const SEVENTHS: DegreeSet = DegreeSet::of(&[Degree::Flat7, Degree::Seven]);

impl Reading {
    /// One word of the symbol.
    pub(super) fn word(&mut self, cursor: &mut Cursor) -> Result<(), SymbolError> {
        let here = *cursor;
        let first = !self.begun;
        self.begun = true;
        if first && self.base_word(cursor) {
            return Ok(());
        }
        let suffix = || here.error(SymbolProblem::Suffix);
        match cursor.peek().unwrap_or_default() {
            c if figure(c).is_some() => {
                let number = cursor.number().ok_or_else(suffix)?;
                self.number(&here, number)
            }
            '(' | ')' | '⁽' | '⁾' | ',' | '/' | '⁄' | '∕' | ' ' => self.mark(cursor),
            '#' | '♯' | 'b' | '♭' | '♮' | '+' | '⁺' | '-' | '−' | '–' | '⁻' => {
                self.altered(cursor)
            }
            'n' if cursor.rest().starts_with("nat") => self.altered(cursor),
            's' | 'S' if cursor.take_any(&SUS) => self.suspend(&here, cursor),
            'a' | 'A' if cursor.take_any(&ADD) => self.addition(&here, cursor),
            'a' | 'A' if cursor.take_any(&ALT) => {
                let natural = !matches!(self.number, None | Some(5 | 7));
                let other = self.base != Base::Major || self.major || self.sus.is_some();
                if natural || other || self.written.intersects(SEVENTHS) {
                    return Err(suffix());
                }
                self.alt = true;
                Ok(())
            }
            // `C7aug`
            'a' | 'A' if cursor.take_any(&AUGMENTED) => self.add(&here, 1, 5),
            'n' | 'N' | 'o' | 'O' if cursor.take_any(&OMIT) => self.omit(cursor),
            _ if self.major_word(cursor) => self.major_number(&here, cursor),
            _ => Err(suffix()),
        }
    }

    /// A bracket, or a sign between words.
    fn mark(&mut self, cursor: &mut Cursor) -> Result<(), SymbolError> {
        let here = *cursor;
        if cursor.take_any(&["(", "⁽"]) {
            self.brackets += 1;
        } else if cursor.take_any(&[")", "⁾"]) {
            let open = self.brackets.checked_sub(1);
            self.brackets = open.ok_or_else(|| here.error(SymbolProblem::Bracket))?;
        } else if cursor.take_slash() {
            // As in `6/9`, `m/maj7` and `7/#11`. A note name after the slash would have ended
            // this chord.
            let mut after = *cursor;
            let major = after.take_any(&MAJOR) || after.take_any(&TRIANGLE) || after.take("M");
            let _sign = alteration(&mut after);
            if !major && after.number().is_none() {
                return Err(cursor.error(SymbolProblem::Bass));
            }
        } else if !cursor.take(",") {
            let apart = self.brackets > 0 || cursor.is_before_a_part();
            if !apart || !cursor.spaces() {
                return Err(here.error(SymbolProblem::Suffix));
            }
        }
        Ok(())
    }

    /// The word that sets the triad. It comes first.
    fn base_word(&mut self, cursor: &mut Cursor) -> bool {
        let rest = cursor.rest();
        match cursor.peek().unwrap_or_default() {
            // `madd9` is a minor chord with a ninth, not `ma` and `dd9`.
            'm' if rest.starts_with("madd") => {
                self.base = Base::Minor;
                return cursor.take("m");
            }
            'm' | 'M' | 'Δ' | '△' | '∆' | '▵' | '^' | 'j' | '-' | '–' | '−' => {
                // A minor triad has its fifth anyway, so `-5` flattens it.
                let flat_five = ["-5", "−5", "–5"].iter().any(|word| rest.starts_with(word));
                if flat_five {
                    return false;
                }
                if cursor.take_any(&MAJOR) {
                    self.major = true;
                } else if cursor.take_any(&TRIANGLE) {
                    self.major = true;
                    self.triangle = true;
                } else if cursor.take_any(&MINOR) {
                    self.base = Base::Minor;
                } else {
                    // Scandinavian charts write `Cj7`. After a minor it would only be a slip
                    // for `maj`.
                    self.major = cursor.take_any(&["M", "j"]);
                }
                return true;
            }
            'd' if cursor.take("dom") => {}
            'o' if rest.starts_with("omit") => return false,
            'd' | 'D' | '°' | 'º' | 'o' if cursor.take_any(&DIMINISHED) => {
                self.base = Base::Diminished;
            }
            'ø' | 'Ø' | 'ɸ' if cursor.take_any(&HALF_DIMINISHED) => {
                self.base = Base::HalfDiminished;
            }
            ' ' | 'h' | 'H' => {
                let mut word = *cursor;
                word.spaces();
                let half = word.take_any(&HALF) && {
                    let _joint = word.take("-") || word.spaces();
                    word.take_any(&DIMINISHED)
                };
                if !half {
                    return false;
                }
                *cursor = word;
                self.base = Base::HalfDiminished;
            }
            'a' | 'A' | '+' if cursor.take_any(&AUGMENTED) => self.base = Base::Augmented,
            _ => return false,
        }
        true
    }

    /// `maj` or an equivalent after the first word.
    fn major_word(&mut self, cursor: &mut Cursor) -> bool {
        let triangle = cursor.take_any(&TRIANGLE);
        self.triangle |= triangle && self.number.is_none();
        triangle || cursor.take_any(&MAJOR) || cursor.take("M")
    }

    /// The number after `maj`, which is the chord's own.
    fn major_number(&mut self, here: &Cursor, cursor: &mut Cursor) -> Result<(), SymbolError> {
        let place = *cursor;
        let number = cursor.number();
        if self.alt || self.base == Base::HalfDiminished {
            return Err(here.error(SymbolProblem::Suffix));
        }
        if self.written.intersects(SEVENTHS) {
            return Err(here.error(SymbolProblem::Clash));
        }
        match (self.number, number) {
            (None, None) => {}
            (None, Some(7 | 9 | 11 | 13 | 6 | 5)) => self.number = number,
            (None, Some(number)) => self.add(&place, 0, number)?,
            // In `m9(maj7)` the number counts the ninth, and `maj7` is the seventh in it.
            (Some(9 | 11 | 13), Some(7)) if !self.major => {}
            (Some(6 | 5), Some(7)) => return self.add(here, 1, 7),
            (Some(7), Some(7)) if self.base == Base::Diminished => return self.add(here, 1, 7),
            // `C7M`, as French and Brazilian charts write it.
            (Some(7), None) if !self.major && self.base != Base::Diminished => {}
            _ => return Err(here.error(SymbolProblem::Clash)),
        }
        self.major = true;
        Ok(())
    }

    fn suspend(&mut self, here: &Cursor, cursor: &mut Cursor) -> Result<(), SymbolError> {
        if self.sus.is_some() {
            return Err(here.error(SymbolProblem::Clash));
        }
        if self.alt || !matches!(self.base, Base::Major | Base::Minor) {
            return Err(here.error(SymbolProblem::Suffix));
        }
        let before = *cursor;
        self.sus = Some(match cursor.number() {
            Some(2) => Sus::Second,
            Some(number @ (7 | 9 | 11 | 13)) if matches!(self.number, None | Some(7)) => {
                self.number = Some(number);
                Sus::Fourth
            }
            Some(4) | None => Sus::Fourth,
            Some(_) => {
                *cursor = before;
                Sus::Fourth
            }
        });
        Ok(())
    }

    fn addition(&mut self, here: &Cursor, cursor: &mut Cursor) -> Result<(), SymbolError> {
        let before = self.written;
        while self.brackets > 0 && cursor.take(" ") {}
        let sign = alteration(cursor).unwrap_or(0);
        let place = *cursor;
        let Some(number) = cursor.number() else {
            return Err(place.error(SymbolProblem::Alteration));
        };
        self.add(here, sign, number)?;
        self.added = self.added.union(self.written.minus(before));
        Ok(())
    }

    /// A sign and the degree that it alters. A plus alone is an augmented fifth.
    fn altered(&mut self, cursor: &mut Cursor) -> Result<(), SymbolError> {
        let here = *cursor;
        let plus = here.rest().starts_with(['+', '⁺']);
        let Some(sign) = alteration(cursor) else {
            return Err(here.error(SymbolProblem::Suffix));
        };
        match cursor.number() {
            Some(number) => self.add(&here, sign, number),
            None if plus => self.add(&here, 1, 5),
            None => Err(here.error(SymbolProblem::Alteration)),
        }
    }

    /// A number without a sign. It is the chord's own number if it is the first one, and
    /// otherwise an added tension.
    fn number(&mut self, here: &Cursor, number: u8) -> Result<(), SymbolError> {
        let own = self.number.is_none() && self.written.is_empty() && !self.alt;
        // `C(9)` is a triad with a ninth.
        let in_brackets = self.brackets > 0 && number > 7 && !self.major;
        match number {
            7 if self.number.is_none() && !self.written.intersects(SEVENTHS) => {
                self.number = Some(7);
                Ok(())
            }
            7 => Err(here.error(SymbolProblem::Clash)),
            6 | 9 | 11 | 13 | 5 if own && !in_brackets => {
                self.number = Some(number);
                Ok(())
            }
            // `C4` is a suspension; `C2` adds a ninth.
            4 if own && self.base == Base::Major && !self.major && self.sus.is_none() => {
                self.sus = Some(Sus::Fourth);
                Ok(())
            }
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
            _ => return Err(here.error(SymbolProblem::Alteration)),
        };
        let mut against = self.written.union(self.omitted);
        if SEVENTHS.contains(degree) && (self.refuses(degree) || against.intersects(SEVENTHS)) {
            against = against.with(degree);
        }
        if against.contains(degree) {
            return Err(here.error(SymbolProblem::Clash));
        }
        self.written = self.written.with(degree);
        Ok(())
    }

    /// Whether the symbol so far rules out this seventh, because it has another one.
    fn refuses(&self, seventh: Degree) -> bool {
        if self.base == Base::Diminished && seventh == Degree::Seven {
            return self.major;
        }
        self.has_seventh()
            || self.triangle
            || self.alt
            || self.base == Base::HalfDiminished
            || self.major && seventh == Degree::Flat7
    }

    fn omit(&mut self, cursor: &mut Cursor) -> Result<(), SymbolError> {
        while self.brackets > 0 && cursor.take(" ") {}
        let here = *cursor;
        let number = cursor.number();
        let gone = OMISSIONS.iter().find(|row| number == Some(row.number));
        let Some(gone) = gone.map(|row| DegreeSet::of(row.degrees)) else {
            return Err(here.error(SymbolProblem::Alteration));
        };
        let _ordinal = cursor.take_any(&["rd", "th"]);
        if self.written.intersects(gone) {
            return Err(here.error(SymbolProblem::Clash));
        }
        self.omitted = self.omitted.union(gone);
        Ok(())
    }

    pub(super) fn has_seventh(&self) -> bool {
        matches!(self.number, Some(7 | 9 | 11 | 13))
    }
}

/// A sign before a degree: flats, sharps and naturals, or `-` and `+`.
fn alteration(cursor: &mut Cursor) -> Option<i8> {
    if cursor.take_any(&["#", "♯", "+", "⁺"]) {
        Some(1)
    } else if cursor.take_any(&["b", "♭", "-", "−", "–", "⁻"]) {
        Some(-1)
    } else if cursor.take_any(&NATURAL) {
        Some(0)
    } else {
        None
    }
}
