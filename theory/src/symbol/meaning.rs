//! The chord that the parts of a symbol add up to. Imports `reading`, `lexer` and `error`.

use super::error::{SymbolError, SymbolProblem};
use super::lexer::Cursor;
use super::reading::{Base, Reading, SEVENTHS, Sus};
use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::pitch::NoteName;
use crate::quality::{Extent, Quality};

impl Reading {
    /// The chord on this root, now that the cursor stands at its end.
    pub(super) fn chord(mut self, root: NoteName, end: &Cursor) -> Result<Chord, SymbolError> {
        if self.brackets > 0 {
            return Err(end.error(SymbolProblem::Bracket));
        }
        let extent = match self.number {
            Some(9) => Extent::Ninth,
            Some(11) => Extent::Eleventh,
            Some(13) => Extent::Thirteenth,
            _ => Extent::Plain,
        };
        let quality = match self.base {
            _ if self.alt => Quality::Altered,
            // This includes `Cm7sus4`. The fourth takes the place of either third.
            Base::Major | Base::Minor if self.sus.is_some() => self.suspended(),
            Base::Major => self.major(),
            Base::Minor => self.minor(),
            Base::Diminished => self.diminished(),
            Base::HalfDiminished => Quality::HalfDiminished,
            Base::Augmented => self.augmented(),
        };
        let sixth = [Quality::Sixth, Quality::MinorSixth].contains(&quality);
        if self.number == Some(6) && !sixth {
            self.written = self.written.with(Degree::Six);
        }
        let chord = Chord {
            written: self.written,
            omitted: self.omitted,
            ..Chord::new(root, quality).extended(extent)
        };
        let nothing_beside = self.written.union(self.omitted).is_empty();
        let settled =
            nothing_beside && (extent == Extent::Plain || quality.row().extended.is_some());
        Ok(if settled { chord } else { chord.normal() })
    }

    /// Whether an altered tension implies a seventh below it: `C(b9)` is a dominant, `C(addb9)`
    /// a triad.
    fn means_seventh(&self) -> bool {
        const ALTERED: DegreeSet = DegreeSet::of(&[Degree::Flat9, Degree::Sharp9, Degree::Flat13]);
        self.written.minus(self.added).intersects(ALTERED) && !self.written.intersects(SEVENTHS)
    }

    fn major(&self) -> Quality {
        let seventh = self.has_seventh();
        match self.number {
            Some(6) => Quality::Sixth,
            Some(5) if !self.major => Quality::Power,
            _ if self.triangle || self.major && (seventh || self.means_seventh()) => {
                Quality::MajorSeventh
            }
            _ if !self.major && (seventh || self.means_seventh()) => Quality::Dominant,
            _ => Quality::Major,
        }
    }

    fn suspended(&mut self) -> Quality {
        let seventh = self.has_seventh();
        let triad = match self.sus {
            Some(Sus::Second) => Quality::SuspendedSecond,
            _ => Quality::Suspended,
        };
        if self.major && seventh || self.triangle {
            self.written = self.written.with(Degree::Seven);
        } else if triad == Quality::Suspended {
            let altered = self.means_seventh() && self.number != Some(6);
            if seventh || altered {
                return Quality::DominantSuspended;
            }
        } else if seventh {
            self.written = self.written.with(Degree::Flat7);
        }
        triad
    }

    fn minor(&self) -> Quality {
        match self.number {
            Some(6) => Quality::MinorSixth,
            _ if self.major => Quality::MinorMajorSeventh,
            _ if self.has_seventh() => Quality::MinorSeventh,
            _ => Quality::Minor,
        }
    }

    fn diminished(&mut self) -> Quality {
        if self.major {
            self.written = self.written.with(Degree::Seven);
            Quality::Diminished
        } else if self.has_seventh() {
            Quality::DiminishedSeventh
        } else {
            Quality::Diminished
        }
    }

    fn augmented(&mut self) -> Quality {
        let major = self.major && (self.has_seventh() || self.means_seventh());
        let quality = if major || self.triangle {
            Quality::MajorSeventh
        } else if !self.major && (self.has_seventh() || self.means_seventh()) {
            Quality::Dominant
        } else {
            return Quality::Augmented;
        };
        self.written = self.written.with(Degree::Sharp5);
        quality
    }
}
