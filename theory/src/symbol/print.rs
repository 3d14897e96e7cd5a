//! The one printed form of a chord, in ASCII or with music signs. Imports `chord` and what is
//! above it.

use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::pitch::NoteNames;
use crate::quality::{Extent, Quality};
use std::fmt::{self, Write};

/// Which signs to print.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// `Bbm7b5`, `F#7(b9)`, `Cmaj7`
    Ascii,
    /// The same with music signs: `B♭m7♭5`, `F♯7(♭9)`, `Cmaj7`
    Unicode,
}

/// A chord to print with `Display`.
#[derive(Clone, Copy, Debug)]
pub struct Symbol<'a>(pub &'a Chord, pub Sign);

/// A chord to print with `Display`, its notes named in a language.
#[derive(Clone, Copy, Debug)]
pub struct NamedSymbol<'a>(pub &'a Chord, pub Sign, pub NoteNames);

impl fmt::Display for Symbol<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Symbol(chord, sign) = *self;
        NamedSymbol(chord, sign, NoteNames::English).fmt(f)
    }
}

impl fmt::Display for NamedSymbol<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let NamedSymbol(chord, sign, names) = *self;
        let mut out = Signs { out: f, sign };
        // With a bass, the chord is the meaning of a slash chord, not a polychord.
        if let (Some(upper), None) = (chord.upper, chord.bass) {
            let above = Chord::new(upper.root(), upper.quality());
            let below = chord.lower();
            write!(out, "{}", upper.root().named(names))?;
            suffix(&mut out, &above)?;
            write!(out, "/{}", below.root.named(names))?;
            if below == Chord::new(below.root, Quality::Major) {
                // The bare name would be a bass.
                return out.write_str("maj");
            }
            suffix(&mut out, &below)?;
            return brackets(&mut out, &below);
        }
        write!(out, "{}", chord.root.named(names))?;
        suffix(&mut out, chord)?;
        brackets(&mut out, chord)?;
        match chord.bass {
            Some(bass) if chord.upper.is_none() || bass != chord.root => {
                write!(out, "/{}", bass.named(names))
            }
            _ => Ok(()),
        }
    }
}

/// Turns `b` and `#` into signs as they are written, if that is asked for.
pub(crate) struct Signs<'a, 'b> {
    out: &'a mut fmt::Formatter<'b>,
    sign: Sign,
}

impl<'a, 'b> Signs<'a, 'b> {
    pub(crate) const fn new(out: &'a mut fmt::Formatter<'b>, sign: Sign) -> Signs<'a, 'b> {
        Signs { out, sign }
    }
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
    let row = chord.quality.row();
    if in_suffix(chord).contains(Degree::Nine) {
        return write!(out, "{}/9", row.suffix);
    }
    if in_suffix(chord).contains(Degree::Seven) {
        out.write_str("maj7")?;
    } else if in_suffix(chord).contains(Degree::Flat7) {
        out.write_str("7")?;
    }
    match row.extended {
        Some((before, after)) => write!(out, "{before}{number}{after}"),
        None => out.write_str(row.suffix),
    }
}

/// The written degrees that stand before the brackets: `6/9`, `maj7sus4`, `7sus2`.
fn in_suffix(chord: &Chord) -> DegreeSet {
    let said: &[Degree] = match chord.quality {
        Quality::Sixth | Quality::MinorSixth => &[Degree::Nine],
        Quality::Suspended => &[Degree::Seven],
        Quality::SuspendedSecond => &[Degree::Seven, Degree::Flat7],
        _ => &[],
    };
    DegreeSet::of(said).intersection(chord.written)
}

/// Whether the degree would ask for a seventh without an `add`.
fn needs_add(chord: &Chord, degree: Degree) -> bool {
    const COUNTS_FROM: DegreeSet = DegreeSet::of(&[
        Degree::Flat7,
        Degree::Seven,
        Degree::DoubleFlat7,
        Degree::Six,
    ]);
    let seventh = DegreeSet::of(&[Degree::Flat7, Degree::Seven]).intersects(chord.written);
    if seventh || chord.quality.degrees().intersects(COUNTS_FROM) {
        return false;
    }
    match degree {
        Degree::Nine | Degree::Eleven | Degree::Thirteen => true,
        Degree::Flat9 | Degree::Sharp9 | Degree::Flat13 => matches!(
            chord.quality,
            Quality::Major | Quality::Augmented | Quality::Suspended
        ),
        _ => false,
    }
}

fn brackets(out: &mut Signs, chord: &Chord) -> fmt::Result {
    let mut between = "(";
    for degree in chord.written.minus(in_suffix(chord)).iter() {
        out.write_str(between)?;
        between = ",";
        match degree {
            Degree::Seven => out.write_str("maj7")?,
            Degree::Six => out.write_str("add6")?,
            other if needs_add(chord, other) => write!(out, "add{other}")?,
            other => write!(out, "{other}")?,
        }
    }
    for Omission { number, degrees } in &OMISSIONS {
        if chord.omitted.intersects(DegreeSet::of(degrees)) {
            write!(out, "{between}no{number}")?;
            between = ",";
        }
    }
    if between == "(" {
        Ok(())
    } else {
        out.write_str(")")
    }
}

/// An omission, and the degrees that it takes away, whichever of them the chord has.
pub(super) struct Omission {
    pub(super) number: u8,
    pub(super) degrees: &'static [Degree],
}

pub(super) static OMISSIONS: [Omission; 7] = [
    omission(3, &[Degree::Three, Degree::Flat3]),
    omission(5, &[Degree::Five, Degree::Flat5, Degree::Sharp5]),
    omission(6, &[Degree::Six]),
    omission(7, &[Degree::Flat7, Degree::Seven, Degree::DoubleFlat7]),
    omission(9, &[Degree::Nine]),
    omission(11, &[Degree::Eleven]),
    omission(13, &[Degree::Thirteen]),
];

const fn omission(number: u8, degrees: &'static [Degree]) -> Omission {
    Omission { number, degrees }
}
