//! The major-thirds cycle: three tonics that divide the octave, each with its dominant, on the
//! way to a tonic. Only `proposals` imports this.

use super::interval::{FALLS_A_FIFTH, along, rise, step, visited};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::pitch::NoteName;
use crate::quality::{ChordFamily, Quality};

/// Dominant and tonic on bVI, dominant and tonic on III, and the home dominant.
fn cycle(tonic: NoteName) -> [Chord; 5] {
    let low = visited(tonic.along_fifths(step::FLAT_VI)).tonic;
    let middle = visited(tonic.along_fifths(step::III)).tonic;
    let five = |of: NoteName| Chord::new(along(of, step::V), Quality::Dominant);
    let one = |of: NoteName| Chord::new(of, Quality::MajorSeventh);
    [five(low), one(low), five(middle), one(middle), five(tonic)]
}

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let falls = |a: &Chord, b: &Chord| rise(a, b) == FALLS_A_FIFTH;
    let ticks = |at: usize| run.length_of(at);
    let from = |first: &Chord, tonic: &Chord| -> Vec<Chord> {
        [*first].into_iter().chain(cycle(tonic.root)).collect()
    };
    let (name, tonic, parts) = match run.chords.as_slice() {
        // The tonic comes in the last of four bars, as the form has it.
        [two, five, one]
            if two.quality.family() == ChordFamily::Minor
                && five.quality.family() == ChordFamily::Dominant
                && one.quality.family() == ChordFamily::Major
                && falls(two, five)
                && falls(five, one)
                && ticks(0) == ticks(1)
                && ticks(2) == ticks(0) + ticks(1)
                && run
                    .bars_if_whole()
                    .is_some_and(|bars| bars.is_multiple_of(4)) =>
        {
            let mut chords = from(two, one);
            chords.push(*one);
            let parts = run.divided(&[1, 1, 1, 1, 1, 1, 2], &chords);
            (Name::CycleForTwoFiveOne, one, parts)
        }
        // The cycle fills the time of the dominant, and the tonic keeps its place.
        [five, one]
            if five.quality.family() == ChordFamily::Dominant
                && one.quality.family() == ChordFamily::Major
                && falls(five, one) =>
        {
            let parts = run.first_divided(&[3, 1, 1, 1, 1, 1], &from(five, one));
            (Name::CycleForFiveOne, one, parts)
        }
        [one]
            if one.quality.family() == ChordFamily::Major
                && run.next.root == one.root
                && run.leads_home() =>
        {
            let parts = run.divided(&[1, 1, 1, 1, 2, 2], &from(one, one));
            (Name::CycleFromOneToOne, one, parts)
        }
        _ => return,
    };
    let reason = Reason::LeadRound { tonic: *tonic };
    run.offer(out, Substitution::ThirdsCycle, name, parts, reason);
}
