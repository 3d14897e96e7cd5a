//! The related ii: a dominant shares its time with the ii before it, which is its own ii or
//! that of its tritone substitute. Imports `tritone`; `secondary`, `sideslip`, `dress` and
//! `proposals` import this.

use super::interval::{FALLS_A_FIFTH, rise, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use super::tritone::substitute;
use crate::chord::Chord;
use crate::pitch::NoteName;
use crate::quality::{ChordFamily, Quality};

/// The ii of a dominant. It is half-diminished if the dominant goes to minor.
pub(super) fn two(run: &Run, five: &Chord, to_minor: bool) -> Chord {
    let quality = if to_minor {
        Quality::HalfDiminished
    } else {
        Quality::MinorSeventh
    };
    run.chord(five.root, step::V, quality)
}

/// A ii-V from outside of the key. Its V is spelled from the flat side, down to Gb7 in C. Both
/// chords take their other names if the ii would be harder to read than Dbm7 or G#m7.
pub(super) fn foreign(run: &Run, five: NoteName) -> [Chord; 2] {
    let from_tonic = five.fifths() - run.key.tonic.fifths();
    let five = if from_tonic > step::VII {
        five.along_fifths(-12)
    } else {
        five
    };
    let five = match five.along_fifths(step::V).fifths() {
        ..-5 => five.along_fifths(12),
        9.. => five.along_fifths(-12),
        _ => five,
    };
    [
        Chord::new(five.along_fifths(step::V), Quality::MinorSeventh),
        Chord::new(five, Quality::Dominant),
    ]
}

/// Whether the first chord is a ii that goes to the second.
pub(super) fn is_two_of(two: &Chord, five: &Chord) -> bool {
    matches!(
        two.quality.family(),
        ChordFamily::Minor | ChordFamily::HalfDiminished
    ) && rise(two, five) == FALLS_A_FIFTH
}

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let of_substitute = Name::SubstituteTwoFive;
    if let Some((old, five)) = run.two_five()
        && rise(five, run.next) == FALLS_A_FIFTH
    {
        let parts = run.in_place(&foreign(run, substitute(run).root));
        let reason = Reason::TritoneAway {
            two: *old,
            five: *five,
            next: *run.next,
        };
        run.offer(out, Substitution::RelatedTwo, of_substitute, parts, reason);
    }
    if let Some((old, five)) = run.two_five()
        && old.quality == Quality::MinorSeventh
        && rise(five, run.next) == FALLS_A_FIFTH
        && run.leads_to_minor()
    {
        let new = Chord::new(old.root, Quality::HalfDiminished);
        let name = Name::HalfDiminishedTwo;
        let reason = Reason::Prepares { new, five: *five };
        let parts = run.in_place(&[new, *five]);
        run.offer(out, Substitution::RelatedTwo, name, parts, reason);
    }
    let Some(five) = run
        .one()
        .filter(|c| c.quality.family() == ChordFamily::Dominant)
    else {
        return;
    };
    let falls = rise(five, run.next) == FALLS_A_FIFTH;
    if !run.before.is_some_and(|before| is_two_of(before, five)) {
        let new = two(run, five, falls && run.leads_to_minor());
        let parts = run.divided(&[1, 1], &[new, *five]);
        let reason = Reason::Prepares { new, five: *five };
        run.offer(
            out,
            Substitution::RelatedTwo,
            Name::TwoBeforeFive,
            parts,
            reason,
        );
    }
    if falls && run.next.quality.family() != ChordFamily::Diminished {
        let parts = run.divided(&[1, 1], &foreign(run, substitute(run).root));
        let reason = Reason::SubstituteWithTwo {
            five: *five,
            next: *run.next,
        };
        run.offer(out, Substitution::RelatedTwo, of_substitute, parts, reason);
    }
}
