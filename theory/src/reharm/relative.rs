//! Relative exchange: seventh chords of one key, a third apart, share all notes but one. In
//! minor, iiø also stands for bVI7. Only `proposals` imports this.

use super::interval::{instead_of, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::key::{Case, Mode};
use crate::pcset::PcSet;
use crate::quality::ChordFamily::{self, Dominant, HalfDiminished, Major, Minor};
use crate::quality::Quality::{self, MajorSeventh, MinorSeventh};

/// A chord of the key by degree and family, the degree and quality of the chord that replaces
/// it, and the name.
type RelativeRow = (i8, ChordFamily, i8, Quality, Name);

/// Common practice, no published source.
const IN_MAJOR: [RelativeRow; 9] = [
    (
        step::I,
        Major,
        step::VI,
        MinorSeventh,
        instead_of((step::VI, Case::Lower), (step::I, Case::Upper)),
    ),
    (
        step::I,
        Major,
        step::III,
        MinorSeventh,
        instead_of((step::III, Case::Lower), (step::I, Case::Upper)),
    ),
    (
        step::II,
        Minor,
        step::IV,
        MajorSeventh,
        instead_of((step::IV, Case::Upper), (step::II, Case::Lower)),
    ),
    (
        step::III,
        Minor,
        step::I,
        MajorSeventh,
        instead_of((step::I, Case::Upper), (step::III, Case::Lower)),
    ),
    (
        step::IV,
        Major,
        step::II,
        MinorSeventh,
        instead_of((step::II, Case::Lower), (step::IV, Case::Upper)),
    ),
    (
        step::IV,
        Major,
        step::VI,
        MinorSeventh,
        instead_of((step::VI, Case::Lower), (step::IV, Case::Upper)),
    ),
    (
        step::V,
        Dominant,
        step::VII,
        Quality::HalfDiminished,
        instead_of((step::VII, Case::HalfDiminished), (step::V, Case::Upper)),
    ),
    (
        step::VI,
        Minor,
        step::I,
        MajorSeventh,
        instead_of((step::I, Case::Upper), (step::VI, Case::Lower)),
    ),
    (
        step::VI,
        Minor,
        step::IV,
        MajorSeventh,
        instead_of((step::IV, Case::Upper), (step::VI, Case::Lower)),
    ),
];
const IN_MINOR: [RelativeRow; 7] = [
    (
        step::I,
        Minor,
        step::FLAT_III,
        MajorSeventh,
        instead_of((step::FLAT_III, Case::Upper), (step::I, Case::Lower)),
    ),
    (
        step::I,
        Minor,
        step::FLAT_VI,
        MajorSeventh,
        instead_of((step::FLAT_VI, Case::Upper), (step::I, Case::Lower)),
    ),
    (
        step::II,
        HalfDiminished,
        step::IV,
        MinorSeventh,
        instead_of((step::IV, Case::Lower), (step::II, Case::HalfDiminished)),
    ),
    (
        step::FLAT_III,
        Major,
        step::I,
        MinorSeventh,
        instead_of((step::I, Case::Lower), (step::FLAT_III, Case::Upper)),
    ),
    (
        step::IV,
        Minor,
        step::II,
        Quality::HalfDiminished,
        instead_of((step::II, Case::HalfDiminished), (step::IV, Case::Lower)),
    ),
    (
        step::IV,
        Minor,
        step::FLAT_VI,
        MajorSeventh,
        instead_of((step::FLAT_VI, Case::Upper), (step::IV, Case::Lower)),
    ),
    (
        step::FLAT_VI,
        Major,
        step::IV,
        MinorSeventh,
        instead_of((step::IV, Case::Lower), (step::FLAT_VI, Case::Upper)),
    ),
];

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    let rows: &[RelativeRow] = run.by_mode(&IN_MAJOR, &IN_MINOR);
    for (step, sort, to, quality, name) in rows {
        if run.is(chord, *step, *sort) {
            exchange(
                run,
                chord,
                Chord::new(run.degree(*to), *quality),
                *name,
                out,
            );
        }
    }
    // bVI7 before V is the substitute dominant of V, and iiø stands there as well.
    if run.key.mode == Mode::Minor
        && run.is(chord, step::FLAT_VI, Dominant)
        && run.is(run.next, step::V, Dominant)
    {
        let new = Chord::new(run.degree(step::II), Quality::HalfDiminished);
        let name = instead_of(
            (step::II, Case::HalfDiminished),
            (step::FLAT_VI, Case::Upper),
        );
        exchange(run, chord, new, name, out);
    }
}

/// One chord for another with which it shares at least two notes.
fn exchange(run: &Run, old: &Chord, new: Chord, name: Name, out: &mut Vec<Proposal>) {
    let old = *old;
    let mine = PcSet::of_degrees(new.root.class(), new.degrees());
    let theirs = PcSet::of_degrees(old.root.class(), old.degrees());
    let shared = mine.len() - mine.minus(theirs).len();
    let count = u8::try_from(shared).unwrap_or(0);
    if count < 2 {
        return;
    }
    let reason = Reason::SharesNotes { new, old, count };
    let parts = run.in_place(&[new]);
    run.offer(out, Substitution::Relative, name, parts, reason);
}
