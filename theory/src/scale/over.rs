//! What a scale is played over: the chord with everything that sounds. Imports `table`.

use super::table::Scale;
use crate::chord::Chord;
use crate::degree::Degree::{Five, Flat5, Flat13, Seven, Sharp5};
use crate::degree::{Degree, DegreeSet};
use crate::key::{Function, Key, Mode};
use crate::pcset::PcSet;
use crate::pitch::NoteName;
use crate::quality::Quality;

/// Degrees that take the place of the natural five.
const FOR_FIVE: DegreeSet = DegreeSet::of(&[Flat5, Sharp5, Flat13]);

/// A chord, what sounds over it, and its function.
pub(super) struct Over<'a> {
    /// The chord.
    pub chord: &'a Chord,
    /// What sounds.
    pub sounding: DegreeSet,
    /// Its function.
    pub function: &'a Function,
    /// The symbol's chord tones, the bass among them.
    tones: PcSet,
    /// What a scale must contain: what sounds and what the symbol states.
    needed: PcSet,
}

impl<'a> Over<'a> {
    pub fn new(chord: &'a Chord, sounding: DegreeSet, function: &'a Function) -> Over<'a> {
        let keys = |degrees| PcSet::of_degrees(chord.root.class(), degrees);
        let with_bass = |keys: PcSet| chord.bass.map_or(keys, |bass| keys.with(bass.class()));
        Over {
            chord,
            sounding,
            function,
            tones: with_bass(keys(tones(chord))),
            needed: with_bass(keys(needed(chord, sounding))),
        }
    }

    /// Whether a scale over this root holds all that it must.
    pub fn holds(&self, scale: &Scale, root: NoteName) -> bool {
        scale.keys(root).holds(self.needed)
    }

    /// Whether the degree sounds, is stated, or is the bass.
    pub fn must_hold(&self, degree: Degree) -> bool {
        self.needed.contains(degree.class(self.chord.root))
    }

    /// How many notes of a scale over this root are not in the key.
    pub fn strangers(&self, scale: &Scale, root: NoteName) -> u32 {
        scale.keys(root).minus(self.notes_of_the_key()).len()
    }

    /// The notes of the key. The minor chords and major sevenths of a blues are those
    /// of major, where that holds them.
    fn notes_of_the_key(&self) -> PcSet {
        let key = self.function.key;
        let quality = self.chord.quality;
        let major = Key {
            mode: Mode::Major,
            ..key
        };
        let as_in_major = key.mode == Mode::Blues
            && (quality.is_minor() || quality == Quality::MajorSeventh)
            && major.notes().holds(self.tones);
        if as_in_major { major } else { key }.notes()
    }

    /// Whether the key holds the chord tones.
    pub fn is_in_key(&self) -> bool {
        self.notes_of_the_key().holds(self.tones)
    }

    /// Whether the symbol alters the fifth.
    pub fn alters_five(&self) -> bool {
        self.chord
            .written
            .intersects(DegreeSet::of(&[Flat5, Sharp5]))
    }

    /// Whether a b13 or an altered five sounds, or is written, in the place of the
    /// natural five.
    pub fn lacks_five(&self) -> bool {
        replaces_five(self.chord.degrees().union(self.sounding), self.sounding)
    }

    /// Degrees a half step above a chord tone, unless they sound or are written. On
    /// dominants and augmented chords, altered tensions are not avoid notes, but the
    /// eleventh over the third is.
    pub fn avoid(&self, scale: &Scale, root: NoteName) -> DegreeSet {
        let dominant = self.chord.quality.is_dominant() || self.chord.quality == Quality::Augmented;
        let free = |d: Degree| dominant && (d.is_altered() || d == Seven);
        let above_a_tone = |d: Degree| self.tones.contains(d.class(root).up(-1));
        let degrees = scale.degrees.iter().copied();
        degrees
            .filter(|d| above_a_tone(*d) && !self.needed.contains(d.class(root)))
            .filter(|d| !free(*d))
            .collect()
    }
}

fn replaces_five(all: DegreeSet, sounding: DegreeSet) -> bool {
    all.intersects(FOR_FIVE) && !sounding.contains(Five)
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
/// place of the natural five, unless that sounds too.
fn needed(chord: &Chord, sounding: DegreeSet) -> DegreeSet {
    let all = chord.degrees().union(sounding);
    if replaces_five(all, sounding) {
        all.without(Five)
    } else {
        all
    }
}
