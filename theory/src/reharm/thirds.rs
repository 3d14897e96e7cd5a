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
    let (name, first, home, weights): (_, _, _, Vec<u32>) = match run.chords.as_slice() {
        // The tonic comes on the last quarter of the time, on the bar line of a whole phrase.
        [two, five, one]
            if two.quality.family() == ChordFamily::Minor
                && five.quality.family() == ChordFamily::Dominant
                && one.quality.family() == ChordFamily::Major
                && falls(two, five)
                && falls(five, one)
                && ticks(0) == ticks(1)
                && ticks(2) == ticks(0) + ticks(1) =>
        {
            let weights = vec![1, 1, 1, 1, 1, 1, 2];
            (Name::CycleForTwoFiveOne, Some(two), Some(one), weights)
        }
        // The cycle fills the time of the dominant, and the tonic keeps its place.
        [five, one]
            if five.quality.family() == ChordFamily::Dominant
                && one.quality.family() == ChordFamily::Major
                && falls(five, one)
                && ticks(0).is_multiple_of(8) =>
        {
            let eighth = ticks(0) / 8;
            let weights = [3, 1, 1, 1, 1, 1].map(|share| share * eighth);
            let weights = weights.into_iter().chain([ticks(1)]).collect();
            (Name::CycleForFiveOne, Some(five), Some(one), weights)
        }
        [one]
            if one.quality.family() == ChordFamily::Major
                && run.next.root == one.root
                && run.leads_home() =>
        {
            (
                Name::CycleFromOneToOne,
                Some(one),
                None,
                vec![1, 1, 1, 1, 2, 2],
            )
        }
        _ => return,
    };
    let Some(tonic) = home.or(first) else {
        return;
    };
    let mut chords: Vec<Chord> = first.into_iter().copied().collect();
    chords.extend(cycle(tonic.root));
    chords.extend(home);
    let parts = run.divided(&weights, &chords);
    let reason = Reason::LeadRound { tonic: *tonic };
    run.offer(out, Substitution::ThirdsCycle, name, parts, reason);
}
