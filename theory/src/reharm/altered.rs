//! Altered dominants: other tensions on the same root. Only `proposals` imports this.

use super::interval::{FALLS_A_FIFTH, FALLS_A_HALF_STEP, rise};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::{Fall, Reason};
use super::run::Run;
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::degree::Degree::{self, Flat9, Flat13, Sharp9, Sharp11, Thirteen};
use crate::quality::{ChordFamily, Quality};

/// The name of an alteration, and the tensions that it writes.
type ColourRow = (Name, &'static [Degree]);

/// Common practice, no published source.
const TO_MAJOR: &[ColourRow] = &[
    (Name::Flat9And13, &[Flat9, Thirteen]),
    (Name::Sharp11, &[Sharp11]),
    (Name::Flat9AndFlat13, &[Flat9, Flat13]),
];
const TO_MINOR: &[ColourRow] = &[
    (Name::Flat9AndFlat13, &[Flat9, Flat13]),
    (Name::Sharp9AndFlat13, &[Sharp9, Flat13]),
];
const BY_HALF_STEP: &[ColourRow] = &[(Name::Sharp11, &[Sharp11])];

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    let coloured = chord.written.iter().any(Degree::is_altered);
    if chord.quality != Quality::Dominant || coloured || chord.upper.is_some() {
        return;
    }
    let (rows, fall) = match (rise(chord, run.next), run.next.quality.family()) {
        (FALLS_A_FIFTH, ChordFamily::Minor | ChordFamily::HalfDiminished) => {
            (TO_MINOR, Fall::FifthToMinor)
        }
        (FALLS_A_FIFTH, ChordFamily::Major | ChordFamily::Dominant) => (TO_MAJOR, Fall::Fifth),
        (FALLS_A_HALF_STEP, _) => (BY_HALF_STEP, Fall::HalfStep),
        _ => return,
    };
    let five = *chord;
    for (name, degrees) in rows {
        let mut new = Chord::new(chord.root, Quality::Dominant).with(degrees);
        new.bass = chord.bass;
        let parts = run.in_place(&[new.normal()]);
        let reason = Reason::BearsTensions { five, fall };
        run.offer(out, Substitution::AlteredDominant, *name, parts, reason);
    }
    if rise(chord, run.next) == FALLS_A_FIFTH {
        let parts = run.in_place(&[Chord::new(chord.root, Quality::Altered)]);
        let reason = Reason::MayBeAltered { five, fall };
        run.offer(
            out,
            Substitution::AlteredDominant,
            Name::Altered,
            parts,
            reason,
        );
    }
}
