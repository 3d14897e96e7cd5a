//! The one printed form of a chord, in ASCII or with music signs.

use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::quality::{Extent, Quality};
use std::fmt::{self, Write};

/// Which signs to print.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// `Bbm7b5`, `F#7(b9)`, `Cmaj7`
    Ascii,
    /// `B♭ø7`, `F♯7(♭9)`, `C△7`
    Unicode,
}

/// A chord to print with `Display`.
#[derive(Clone, Copy, Debug)]
pub struct Symbol<'a>(pub &'a Chord, pub Sign);

impl fmt::Display for Symbol<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Symbol(chord, sign) = *self;
        let mut out = Signs { out: f, sign };
        write!(out, "{}", chord.root)?;
        suffix(&mut out, chord)?;
        brackets(&mut out, chord)?;
        if let Some(bass) = chord.bass {
            write!(out, "/{bass}")?;
        }
        Ok(())
    }
}

/// Turns `b` and `#` into signs on the way out, where asked.
struct Signs<'a, 'b> {
    out: &'a mut fmt::Formatter<'b>,
    sign: Sign,
}

impl fmt::Write for Signs<'_, '_> {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        if self.sign == Sign::Ascii {
            return self.out.write_str(text);
        }
        text.chars().try_for_each(|c| {
            self.out.write_char(match c {
                'b' => '♭',
                '#' => '♯',
                other => other,
            })
        })
    }
}

fn number(extent: Extent) -> &'static str {
    match extent {
        Extent::Plain => "7",
        Extent::Ninth => "9",
        Extent::Eleventh => "11",
        Extent::Thirteenth => "13",
    }
}

fn suffix(out: &mut Signs, chord: &Chord) -> fmt::Result {
    let number = number(chord.extent);
    if out.sign == Sign::Unicode {
        match chord.quality {
            Quality::MajorSeventh => return write!(out, "△{number}"),
            Quality::MinorMajorSeventh => return write!(out, "m△{number}"),
            Quality::HalfDiminished => return write!(out, "ø{number}"),
            Quality::DiminishedSeventh => return out.write_str("°7"),
            Quality::Diminished => return out.write_str("°"),
            _ => {}
        }
    }
    let row = chord.quality.row();
    if sixth_with_ninth(chord) {
        return write!(out, "{}/9", row.suffix);
    }
    match row.extended {
        Some((before, after)) => write!(out, "{before}{number}{after}"),
        None => out.write_str(row.suffix),
    }
}

fn sixth_with_ninth(chord: &Chord) -> bool {
    matches!(chord.quality, Quality::Sixth | Quality::MinorSixth) && chord.written.has(Degree::Nine)
}

fn brackets(out: &mut Signs, chord: &Chord) -> fmt::Result {
    let in_suffix = if sixth_with_ninth(chord) {
        DegreeSet::of(&[Degree::Nine])
    } else {
        DegreeSet::EMPTY
    };
    let triad = chord.seventh().is_none() || chord.quality.seventh_is_absent();
    let mut first = true;
    for degree in chord.written.minus(in_suffix).iter() {
        out.write_str(if first { "(" } else { "," })?;
        first = false;
        match degree {
            Degree::Seven => out.write_str("maj7")?,
            Degree::Six => out.write_str("add6")?,
            natural @ (Degree::Nine | Degree::Eleven | Degree::Thirteen) if triad => {
                write!(out, "add{natural}")?;
            }
            other => write!(out, "{other}")?,
        }
    }
    for (degree, word) in [
        (Degree::Three, "no3"),
        (Degree::Flat3, "no3"),
        (Degree::Five, "no5"),
        (Degree::Flat7, "no7"),
        (Degree::Seven, "no7"),
        (Degree::Nine, "no9"),
        (Degree::Eleven, "no11"),
        (Degree::Thirteen, "no13"),
    ] {
        if chord.omitted.has(degree) {
            out.write_str(if first { "(" } else { "," })?;
            out.write_str(word)?;
            first = false;
        }
    }
    if first { Ok(()) } else { out.write_str(")") }
}

impl Quality {
    fn seventh_is_absent(self) -> bool {
        !self.degrees().meets(DegreeSet::of(&[
            Degree::Seven,
            Degree::Flat7,
            Degree::DoubleFlat7,
        ]))
    }
}
