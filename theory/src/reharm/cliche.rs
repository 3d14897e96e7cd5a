//! Line cliches: an inner voice moves by half steps while the root stays. Only `proposals`
//! imports this.

use super::interval::{FALLS_A_FIFTH, is_tonic, rise, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::quality::{ChordFamily, Quality};

/// 1 7 b7 6 over a minor chord. Common practice, no published source.
const IN_MINOR: [Quality; 4] = [
    Quality::Minor,
    Quality::MinorMajorSeventh,
    Quality::MinorSeventh,
    Quality::MinorSixth,
];
/// 5 #5 6 b7 over a major tonic on its way to IV.
const TO_FOUR: [Quality; 4] = [
    Quality::Major,
    Quality::Augmented,
    Quality::Sixth,
    Quality::Dominant,
];
/// 5 #5 6 #5 over a major tonic that stays.
const OUT_AND_BACK: [Quality; 4] = [
    Quality::Major,
    Quality::Augmented,
    Quality::Sixth,
    Quality::Augmented,
];

/// The same line in the bass, as fifths from the root.
const BASS: [i8; 4] = [step::I, step::VII, step::FLAT_VII, step::VI];

/// The longest time of a line.
const MOST_BARS: u32 = 4;

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one().filter(|c| c.bass.is_none() && c.upper.is_none()) else {
        return;
    };
    if run.bars() > MOST_BARS {
        return;
    }
    let on_root = |qualities: [Quality; 4]| qualities.map(|q| Chord::new(chord.root, q));
    let (name, chords, reason) = match chord.quality.family() {
        ChordFamily::Minor => {
            let chords = on_root(IN_MINOR);
            let [triad, ..] = chords;
            in_the_bass(run, triad, out);
            (Name::ClicheInMinor, chords, Reason::LineFalls { triad })
        }
        ChordFamily::Major if is_tonic(chord, run.key) => {
            let chords = match rise(chord, run.next) {
                FALLS_A_FIFTH => on_root(TO_FOUR),
                0 => on_root(OUT_AND_BACK),
                _ => return,
            };
            let [triad, ..] = chords;
            (Name::ClicheInMajor, chords, Reason::LineRises { triad })
        }
        _ => return,
    };
    let parts = run.divided(&[1, 1, 1, 1], &chords);
    run.offer(out, Substitution::LineCliche, name, parts, reason);
}

/// Every chord is the triad; the first stands on its root. A bass keeps the name of its degree,
/// as E# under F#m, unless it would have two signs.
fn in_the_bass(run: &Run, triad: Chord, out: &mut Vec<Proposal>) {
    let named = |fifths: i8| {
        let name = triad.root.along_fifths(fifths);
        if name.accidental.abs() > 1 {
            name.readable()
        } else {
            name
        }
    };
    let over = |fifths: i8| Chord {
        bass: (fifths != step::I).then(|| named(fifths)),
        ..triad
    };
    let parts = run.divided(&[1, 1, 1, 1], &BASS.map(over));
    let name = Name::ClicheInBass;
    let reason = Reason::BassFalls { triad };
    run.offer(out, Substitution::LineCliche, name, parts, reason);
}
