//! Relative exchange: chords of one key, a third apart, share all notes but one.

use super::run::Sort::{self, Dominant, HalfDiminished, Major, Minor};
use super::run::{Run, step, text};
use super::{Kind, Proposal};
use crate::chord::Chord;
use crate::key::Mode;
use crate::quality::Quality::{self, MajorSeventh, MinorSeventh};

/// A chord of the key by degree and sort, what stands for it, and the name.
type Row = (i8, Sort, i8, Quality, &'static str);

/// Common practice, no published source.
const IN_MAJOR: [Row; 9] = [
    (step::I, Major, step::VI, MinorSeventh, "vi for I"),
    (step::I, Major, step::III, MinorSeventh, "iii for I"),
    (step::II, Minor, step::IV, MajorSeventh, "IV for ii"),
    (step::III, Minor, step::I, MajorSeventh, "I for iii"),
    (step::IV, Major, step::II, MinorSeventh, "ii for IV"),
    (step::IV, Major, step::VI, MinorSeventh, "vi for IV"),
    (
        step::V,
        Dominant,
        step::VII,
        Quality::HalfDiminished,
        "viiø for V",
    ),
    (step::VI, Minor, step::I, MajorSeventh, "I for vi"),
    (step::VI, Minor, step::IV, MajorSeventh, "IV for vi"),
];
const IN_MINOR: [Row; 7] = [
    (step::I, Minor, step::FLAT_III, MajorSeventh, "bIII for i"),
    (step::I, Minor, step::FLAT_VI, MajorSeventh, "bVI for i"),
    (
        step::II,
        HalfDiminished,
        step::IV,
        MinorSeventh,
        "iv for iiø",
    ),
    (step::FLAT_III, Major, step::I, MinorSeventh, "i for bIII"),
    (
        step::IV,
        Minor,
        step::II,
        Quality::HalfDiminished,
        "iiø for iv",
    ),
    (step::IV, Minor, step::FLAT_VI, MajorSeventh, "bVI for iv"),
    (step::FLAT_VI, Major, step::IV, MinorSeventh, "iv for bVI"),
];

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    let rows: &[Row] = match run.key.mode {
        Mode::Major | Mode::Blues => &IN_MAJOR,
        Mode::Minor => &IN_MINOR,
    };
    for (step, sort, to, quality, name) in rows {
        if run.is(chord, *step, *sort) {
            let new = Chord::new(run.degree(*to), *quality);
            let reason = format!("{} shares three notes with {}", text(&new), seventh(chord));
            run.offer(out, Kind::Relative, name, run.in_place(&[new]), reason);
        }
    }
}

/// The seventh chord on the same root, which triads and sixth chords stand for;
/// a dominant shares its third, fifth and seventh.
fn seventh(chord: &Chord) -> String {
    let quality = match Sort::of(chord) {
        Major => MajorSeventh,
        Minor => MinorSeventh,
        Dominant => Quality::Dominant,
        _ => chord.quality,
    };
    text(&Chord::new(chord.root, quality))
}
