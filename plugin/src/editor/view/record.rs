//! The record of practice as words and numbers: a table of keys and families, the slowest moves, and how
//! it goes from session to session. Pure; the panel's thread. The page of practice imports it.

use super::signs::{note_name, symbol};
use guidehand_practice::{Cell, CellCount, Progress, Progression, Record, Time, stock_dressings};
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pitch::{NoteName, PitchClass};
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
    // A sign within a word is no sign to `with_signs`.
    family.name().replace("b5", "♭5")
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
    /// The median of how long it takes, in seconds; none where it has never been right.
    pub seconds: Option<f32>,
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
    let (right, all) = (u64::from(right), u64::from(all));
    let percent = (right * 100 + all / 2).checked_div(all)?;
    u32::try_from(percent).ok()
}

/// The most points that the line from session to session has.
const MOST_POINTS: usize = 60;
/// The most slow moves that are looked up.
const MOST_MOVES: usize = 8;

/// What the page shows of a record: of one dressing, and of one position, if one is given. Walks the whole
/// record.
#[must_use]
pub fn look(
    record: &Record,
    dressing: Option<DegreeSet>,
    position: Option<Position>,
) -> RecordLook {
    let shown = |cell: &Cell| {
        let dressed = dressing.is_none_or(|set| cell.dressing == set);
        dressed && position.is_none_or(|position| cell.position == position)
    };
    let counts = record.counted(|cell| shown(cell).then_some((cell.family, cell.root)));
    let rows = ShapeFamily::ALL.map(|family| Row {
        name: self::family(family),
        spots: in_fourths()
            .map(|root| {
                let count = counts.get(&(family, root));
                count.map_or_else(Spot::default, |count| spot(family, root, count))
            })
            .to_vec(),
    });
    let cells = record.cells();
    let dressed = |set: &DegreeSet| cells.iter().any(|(cell, _)| cell.dressing == *set);
    let known = dressings(&ShapeFamily::ALL, Progression::Single);
    let plain = std::iter::once(DegreeSet::EMPTY);
    let moves = record.slowest_moves(MOST_MOVES).into_iter();
    RecordLook {
        rows: rows.to_vec(),
        dressings: plain.chain(known).filter(dressed).collect(),
        slowest: moves
            .map(|one| SlowMove {
                words: format!("{} → {}", name(&one.from), name(&one.to)),
                seconds: one.median_s,
            })
            .collect(),
        course: course(record),
        sessions: record.sessions().len(),
        answers: record.total().asked,
    }
}

fn spot(family: ShapeFamily, root: PitchClass, count: &CellCount) -> Spot {
    let right = percent(count.right_first, count.asked);
    let chord = symbol(&family.chord(note(root)));
    let asked = match count.asked {
        1 => "asked once".to_owned(),
        times => format!("asked {times} times"),
    };
    let mut words = format!("{chord}: {asked}, {} right at first try", count.right_first);
    if let Some(seconds) = count.median_s {
        words = format!("{words}, right after {seconds:.1} s");
    }
    if let Some(last) = count.last {
        words = format!("{words}, last on {}", day(&last));
    }
    Spot {
        right,
        seconds: count.median_s,
        words,
    }
}

fn note(root: PitchClass) -> NoteName {
    Key::usual(root, Mode::Major).tonic
}

/// A chord of the record, with its dressing.
fn name(cell: &Cell) -> String {
    let root = note(cell.root);
    let dressed =
        stock_dressings().find(|one| one.family() == cell.family && one.degrees() == cell.dressing);
    symbol(&dressed.map_or_else(|| cell.family.chord(root), |one| one.over(root)))
}

fn day(time: &Time) -> String {
    time.format("%-d %b %Y").to_string()
}

/// From session to session; where there are many, several that lie beside each other are one point.
fn course(record: &Record) -> Vec<Point> {
    let sessions = record.progress();
    let each = sessions.len().div_ceil(MOST_POINTS).max(1);
    let points = sessions.chunks(each).filter_map(|chunk| {
        let sum = |of: fn(&Progress) -> u32| chunk.iter().map(of).sum::<u32>();
        let (right, answers) = (sum(|one| one.right_first), sum(|one| one.asked));
        Some(Point {
            day: day(&chunk.last()?.began),
            right: percent(right, answers)?,
            answers,
        })
    });
    points.collect()
}

#[cfg(test)]
pub mod tests;
