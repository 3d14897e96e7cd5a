//! Words for notes, degrees, keys and functions. Imports `out`.

use super::out::{Out, Words, display_in_ascii};
use crate::degree::Degree;
use crate::key::{Case, Function, Key, Mode, Numeral, Role};
use crate::pitch::{NoteName, SpelledPitch};
use std::fmt::{self, Write};

display_in_ascii!(Function, Key, Numeral);

impl Words for NoteName {
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.name(self)
    }
}

impl Words for SpelledPitch {
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.name(self)
    }
}

impl Words for Degree {
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.name(self)
    }
}

impl Words for Key {
    /// `E♭ minor`
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.name(self.tonic)?;
        out.write_str(match self.mode {
            Mode::Major => " major",
            Mode::Minor => " minor",
            Mode::Blues => " blues",
        })
    }
}

const UPPER: [&str; 12] = [
    "I", "♭II", "II", "♭III", "III", "IV", "♯IV", "V", "♭VI", "VI", "♭VII", "VII",
];
const LOWER: [&str; 12] = [
    "i", "♭ii", "ii", "♭iii", "iii", "iv", "♯iv", "v", "♭vi", "vi", "♭vii", "vii",
];
const RAISED: [&str; 12] = [
    "i", "♯i", "ii", "♯ii", "iii", "iv", "♯iv", "v", "♯v", "vi", "♯vi", "vii",
];

impl Words for Numeral {
    /// `ii`, `♭VI`, `viiø`, `♯iv°`
    fn write(&self, out: &mut Out) -> fmt::Result {
        let (names, sign) = match self.case {
            Case::Upper => (&UPPER, ""),
            Case::Lower => (&LOWER, ""),
            Case::HalfDiminished => (&LOWER, "ø"),
            Case::Diminished => (&LOWER, "°"),
            Case::RaisedDiminished => (&RAISED, "°"),
        };
        let name = names.get(usize::from(self.above)).copied().unwrap_or("?");
        write!(out, "{name}{sign}")
    }
}

impl Words for Function {
    /// In one line: `V of ii in C major`.
    fn write(&self, out: &mut Out) -> fmt::Result {
        role(self.role, self.numeral(), out)?;
        out.write_str(" in ")?;
        self.key.write(out)
    }
}

/// The role of the chord on this numeral.
fn role(role: Role, here: Numeral, out: &mut Out) -> fmt::Result {
    let of = |words: &str, numeral: Numeral, out: &mut Out| {
        out.write_str(words)?;
        numeral.write(out)
    };
    let and = |words: &str, out: &mut Out| {
        here.write(out)?;
        out.write_str(words)
    };
    match role {
        Role::Tonic
        | Role::Two
        | Role::Dominant
        | Role::Diatonic
        | Role::Home
        | Role::FlatSix
        | Role::LeadingTone => here.write(out),
        Role::SecondaryDominant(to) => of("V of ", to, out),
        Role::RelatedTwo(to) if here.case == Case::HalfDiminished => of("iiø of ", to, out),
        Role::RelatedTwo(to) => of("ii of ", to, out),
        Role::TritoneSubstitute(to) => of("tritone substitute to ", to, out),
        Role::SubstituteTwo => out.write_str("ii of the substitute"),
        Role::Backdoor | Role::BackdoorTwo => and(", backdoor", out),
        Role::PassingDiminished => and(", passing", out),
        Role::CommonToneDiminished => and(", common tone", out),
        Role::Borrowed => and(", borrowed", out),
        Role::Chromatic => and(", chromatic", out),
    }
}
