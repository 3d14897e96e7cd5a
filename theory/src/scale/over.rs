//! What a scale is to be played over: the chord with all that sounds, seen from the
//! root of its scales. Imports `table`.

use super::table::Scale;
use crate::chord::Chord;
use crate::degree::Degree::{Five, Flat5, Flat7, Flat13, Seven, Sharp5};
use crate::degree::{Degree, DegreeSet};
use crate::key::Function;
use crate::pcset::PcSet;
use crate::pitch::NoteName;
use crate::quality::Quality;

/// What stands in the place of the natural five.
const FOR_FIVE: DegreeSet = DegreeSet::of(&[Flat5, Sharp5, Flat13]);

/// A chord, what sounds over it, and its function.
pub(super) struct Over<'a> {
    /// The chord.
    pub chord: &'a Chord,
    /// What sounds.
    pub sounding: DegreeSet,
    /// Its function.
    pub function: &'a Function,
    /// The root of its scales: its own, or its bass where that makes it a suspended
    /// dominant.
    pub root: NoteName,
    /// The quality over that root.
    pub quality: Quality,
    /// The symbol's chord tones, the bass among them.
    tones: PcSet,
    /// What a scale must hold: what sounds and what the symbol states.
    needed: PcSet,
}

impl<'a> Over<'a> {
    pub fn new(chord: &'a Chord, sounding: DegreeSet, function: &'a Function) -> Over<'a> {
        let keys = |degrees| PcSet::of_degrees(chord.root.class(), degrees);
        let with_bass = |keys: PcSet| chord.bass.map_or(keys, |bass| keys.with(bass.class()));
        let (root, quality) = match suspended_over(chord) {
            Some(bass) => (bass, Quality::DominantSuspended),
            None => (chord.root, chord.quality),
        };
        Over {
            chord,
            sounding,
            function,
            root,
            quality,
            tones: with_bass(keys(tones(chord))),
            needed: with_bass(keys(needed(chord, sounding))),
        }
    }

    /// Whether a scale over this root holds all that it must.
    pub fn holds(&self, scale: &Scale, root: NoteName) -> bool {
        scale.keys(root).holds(self.needed)
    }

    /// How many notes of a scale over this root are not in the key.
    pub fn strangers(&self, scale: &Scale, root: NoteName) -> u32 {
        scale.keys(root).minus(self.function.key.notes()).len()
    }

    /// Whether the key holds the chord tones.
    pub fn is_in_key(&self) -> bool {
        self.function.key.notes().holds(self.tones)
    }

    /// Whether the symbol alters the fifth.
    pub fn alters_five(&self) -> bool {
        self.chord.written.meets(DegreeSet::of(&[Flat5, Sharp5]))
    }

    /// Whether a b13 or an altered five sounds, or is written, in the place of the
    /// natural five.
    pub fn lacks_five(&self) -> bool {
        replaces_five(self.chord.degrees().union(self.sounding), self.sounding)
    }

    /// Degrees a half step above a chord tone, unless they sound or are written. On
    /// dominants altered tensions are no avoid notes; the eleventh over the third is.
    pub fn avoid(&self, scale: &Scale, root: NoteName) -> DegreeSet {
        let free = |d: Degree| self.quality.is_dominant() && (d.is_altered() || d == Seven);
        let above_a_tone = |d: Degree| self.tones.has(d.class(root).up(-1));
        let degrees = scale.degrees.iter().copied();
        degrees
            .filter(|d| above_a_tone(*d) && !self.needed.has(d.class(root)))
            .filter(|d| !free(*d))
            .collect()
    }
}

fn replaces_five(all: DegreeSet, sounding: DegreeSet) -> bool {
    all.meets(FOR_FIVE) && !sounding.has(Five)
}

/// The chord tones of the symbol, with the fifth as it is written.
fn tones(chord: &Chord) -> DegreeSet {
    let altered = chord.written.intersection(DegreeSet::of(&[Flat5, Sharp5]));
    let own = chord.quality.degrees();
    if altered.is_empty() {
        own
    } else {
        own.without(Five).union(altered)
    }
}

/// What sounds, and what the symbol states. An altered fifth or b13 stands in the
/// place of the natural five, and a major seventh in the place of a minor one,
/// unless that sounds too.
fn needed(chord: &Chord, sounding: DegreeSet) -> DegreeSet {
    let mut all = chord.degrees().union(sounding);
    if replaces_five(all, sounding) {
        all = all.without(Five);
    }
    if sounding.has(Seven) && !sounding.has(Flat7) {
        all = all.without(Flat7);
    }
    all
}

/// The bass of a chord over a foreign bass that makes it a suspended dominant of
/// that bass: F/G and Dm7/G are a G7sus4 (common practice, no published source).
fn suspended_over(chord: &Chord) -> Option<NoteName> {
    let bass = chord.bass?;
    let own = chord.degrees();
    if own.iter().any(|d| d.class(chord.root) == bass.class()) {
        return None;
    }
    let suspends = match chord.quality {
        Quality::Major | Quality::Sixth | Quality::MajorSeventh => 2,
        Quality::Minor | Quality::MinorSeventh => 5,
        _ => return None,
    };
    (bass.class().above(chord.root.class()) == suspends).then_some(bass)
}
