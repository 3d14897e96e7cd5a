//! A part of a page: its staves with their clefs, and its divisions. Imports
//! `rhythm`, `staff`, `score` and `sheet`.

use super::rhythm::Grid;
use super::staff::{self, Line};
use crate::score::Note;
use crate::sheet::{Sheet, SheetBar};
use guidehand_theory::chart::TICKS_PER_QUARTER;

/// A stave of a part: its notes and its clef.
pub struct Stave {
    /// The notes, on the grids of the part.
    pub line: Line,
    /// The clef.
    pub clef: Clef,
}

/// A part with its bars' grids and what each of its staves holds.
pub struct Part<'a> {
    /// Its name as it stands before the staves.
    pub name: &'a str,
    /// The staves, from the highest.
    pub staves: Vec<Stave>,
    /// The grid of each bar.
    pub grids: Vec<Grid>,
    /// Whether symbols, letters and tempo stand over this part.
    pub leads: bool,
    /// Whether the score's words stand under its first staff.
    pub has_words: bool,
}

/// A part with these notes on each of its staves.
pub fn part<'a>(name: &'a str, staves: Vec<Vec<Note>>, sheet: &Sheet, leads: bool) -> Part<'a> {
    let grids = staff::grids(&sheet.bars, staves.iter().flatten());
    let grand = staves.len() > 1;
    let staves = staves.into_iter().zip(0..).map(|(notes, nth)| Stave {
        clef: match (grand, nth) {
            (true, 0) => Clef::TREBLE,
            (true, _) => Clef::BASS,
            _ => Clef::fit(&notes),
        },
        line: staff::on_grid(&notes, &sheet.bars, &grids),
    });
    Part {
        name,
        staves: staves.collect(),
        grids,
        leads,
        has_words: leads,
    }
}

impl Part<'_> {
    /// Gives the first staff the clef of these notes.
    pub fn set_clef(&mut self, notes: &[Note]) {
        if let Some(first) = self.staves.first_mut() {
            first.clef = Clef::fit(notes);
        }
    }
}

/// A clef, and the octaves by which it transposes.
#[derive(Clone, Copy)]
pub struct Clef {
    /// `G` or `F`.
    pub sign: &'static str,
    /// Its line, from the lowest.
    pub line: &'static str,
    /// The octaves, up (positive) or down.
    pub octaves: i8,
}

impl Clef {
    const TREBLE: Clef = Clef::new("G", "2", 0);
    const BASS: Clef = Clef::new("F", "4", 0);

    const fn new(sign: &'static str, line: &'static str, octaves: i8) -> Clef {
        Clef {
            sign,
            line,
            octaves,
        }
    }

    /// The clef with the fewest ledger lines, by the mean of the notes.
    fn fit(notes: &[Note]) -> Clef {
        let count = u64::try_from(notes.len()).unwrap_or(u64::MAX);
        let sum: u64 = notes.iter().map(|n| u64::from(n.note.number())).sum();
        match sum.checked_div(count) {
            Some(0..43) => Clef::new("F", "4", -1),
            Some(43..60) => Clef::BASS,
            Some(84..) => Clef::new("G", "2", 1),
            _ => Clef::TREBLE,
        }
    }
}

/// The smallest number of divisions of a quarter note that hold every length of a part exactly.
pub fn divisions(part: &Part, bars: &[SheetBar]) -> u64 {
    let mut divisions = 1;
    for (index, grid) in part.grids.iter().enumerate() {
        for stave in &part.staves {
            let bar = bars.get(index);
            let cuts = bar.map_or_else(Vec::new, |bar| cuts(bar, grid, part.leads));
            for moment in staff::moments(bars, index, &stave.line, &cuts) {
                for piece in grid.pieces(moment.from, moment.to) {
                    let (over, under) = piece.length_quarters();
                    divisions = least_common(divisions, under / common(over, under));
                }
            }
        }
        if let Some(bar) = bars.get(index) {
            let ticks = u64::from(bar.meter.bar_ticks());
            let quarter = u64::from(TICKS_PER_QUARTER);
            divisions = least_common(divisions, quarter / common(ticks, quarter));
        }
    }
    divisions
}

fn common(a: u64, b: u64) -> u64 {
    if b == 0 { a.max(1) } else { common(b, a % b) }
}

fn least_common(a: u64, b: u64) -> u64 {
    a / common(a, b) * b
}

/// Where a chord begins in a bar, on its grid.
pub fn cuts(bar: &SheetBar, grid: &Grid, leads: bool) -> Vec<u32> {
    let places = bar.places.iter().filter(|_| leads);
    places.map(|place| grid.snap(place.at_ticks)).collect()
}
