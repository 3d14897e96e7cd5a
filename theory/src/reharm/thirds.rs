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
    let (name, first, home, weights): (_, _, _, &[u32]) = match run.chords.as_slice() {
        [two, five, one]
            if two.quality.family() == ChordFamily::Minor
                && five.quality.family() == ChordFamily::Dominant
                && one.quality.family() == ChordFamily::Major
                && falls(two, five)
                && falls(five, one) =>
        {
            let weights = &[1, 1, 1, 1, 1, 1, 2];
            (Name::CycleForTwoFiveOne, Some(two), Some(one), weights)
        }
        [five, one]
            if five.quality.family() == ChordFamily::Dominant
                && one.quality.family() == ChordFamily::Major
                && falls(five, one) =>
        {
            (Name::CycleForFiveOne, None, Some(one), &[1, 1, 1, 1, 2, 2])
        }
        [one]
            if one.quality.family() == ChordFamily::Major
                && run.next.root == one.root
                && run.leads_home() =>
        {
            let weights = &[2, 1, 1, 1, 1, 2];
            (Name::CycleFromOneToOne, Some(one), None, weights)
        }
        _ => return,
    };
    let Some(tonic) = home.or(first) else {
        return;
    };
    let mut chords: Vec<Chord> = first.into_iter().copied().collect();
    chords.extend(cycle(tonic.root));
    chords.extend(home);
    let parts = run.divided(weights, &chords);
    let reason = Reason::LeadRound { tonic: *tonic };
    run.offer(out, Substitution::ThirdsCycle, name, parts, reason);
}
