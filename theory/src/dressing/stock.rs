//! The dressings of dominants without a place: what each is called, and what it writes and sounds over
//! a root. Imports `name`, `table` and `tones`.

use super::name::Name;
use super::table::{Row, TABLE};
use crate::chord::Chord;
use crate::degree::DegreeSet;
use crate::own_shape::ShapeFamily;
use crate::pitch::NoteName;
use crate::quality::ChordFamily;
use crate::tension::Tensions;

/// A way to dress dominants, whatever chord comes next.
#[derive(Clone, Copy, Debug)]
pub struct StockDressing {
    family: ShapeFamily,
    degrees: DegreeSet,
    row: &'static Row,
}

impl StockDressing {
    /// Dominants, or suspended ones.
    #[must_use]
    pub const fn family(&self) -> ShapeFamily {
        self.family
    }

    /// The degrees that it is called by, such as b9 and 13. Within a family no two are called alike.
    #[must_use]
    pub const fn degrees(&self) -> DegreeSet {
        self.degrees
    }

    /// What it is called.
    #[must_use]
    pub fn name(&self) -> Name {
        self.row.name(|degree| degree)
    }

    /// The dressed chord on this root.
    #[must_use]
    pub fn over(&self, root: NoteName) -> Chord {
        let chord = self.family.chord(root);
        self.row.tones.symbol(self.row.quality, &chord)
    }

    /// The tensions of the dressed chord.
    #[must_use]
    pub fn tensions(&self) -> Tensions {
        self.row.tones.tensions(self.row.quality)
    }
}

/// The dressings of dominants and of suspended ones, in the order in which players think of them. Chord
/// tones alone are no dressing.
pub fn stock_dressings() -> impl Iterator<Item = StockDressing> {
    TABLE.iter().filter_map(|row| {
        let family = match row.family {
            ChordFamily::Dominant => ShapeFamily::Dominant,
            ChordFamily::Suspended => ShapeFamily::Suspended,
            _ => return None,
        };
        let Name::Degrees(degrees) = row.name(|degree| degree) else {
            return None;
        };
        Some(StockDressing {
            family,
            degrees: degrees.into_iter().collect(),
            row,
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::Letter;
    use crate::symbol::{Sign, Symbol};

    /// The names of the table, and how musicians write the chords (common practice, no published
    /// source).
    #[test]
    fn dressings_write_what_they_are_called() {
        let over_g: Vec<(String, String)> = stock_dressings()
            .map(|one| {
                let chord = one.over(NoteName::new(Letter::G, 0));
                (
                    one.name().to_string(),
                    Symbol(&chord, Sign::Ascii).to_string(),
                )
            })
            .collect();
        let known = [
            ("9 13", "G13"),
            ("b9 13", "G7(b9,13)"),
            ("b9 b13", "G7(b9,b13)"),
            ("9 b13", "G9(b13)"),
            ("9 #11", "G9(#11)"),
            ("9 #11 13", "G13(#11)"),
            ("#9 b13", "G7(#9,b13)"),
            ("#9 13", "G7(#9,13)"),
            ("#9 5", "G7(#9)"),
            ("9 5", "G9"),
            ("9 13", "G13sus4"),
            ("9 5", "G9sus4"),
            ("b9 5", "G7sus4(b9)"),
            ("b9 13", "G7sus4(b9,13)"),
        ];
        let over_g: Vec<(&str, &str)> = over_g.iter().map(|(a, b)| (&**a, &**b)).collect();
        assert_eq!(over_g, known);
    }

    #[test]
    fn no_two_of_a_family_are_called_alike() {
        let all: Vec<StockDressing> = stock_dressings().collect();
        for (at, one) in all.iter().enumerate() {
            let same =
                |other: &&StockDressing| (other.family, other.degrees) == (one.family, one.degrees);
            assert_eq!(all.iter().position(|other| same(&other)), Some(at));
        }
    }
}
