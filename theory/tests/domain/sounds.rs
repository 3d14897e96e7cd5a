//! All that sounds for a chord, whatever is asked of it.

use crate::domain;
use guidehand_theory::candidates::{self, Register};
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::Function;
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{self, TensionRequests, Tensions};
use std::collections::{HashMap, HashSet};
use tinyvec::ArrayVec;

/// Every request that concerns the chord: ninth, eleventh and thirteenth for dominants.
/// Other tests go through the requests for other chords.
fn requests(chord: &Chord) -> Vec<TensionRequests> {
    if chord.quality.is_dominant() {
        domain::all_asks()
    } else {
        domain::further_asks()
    }
}

/// What a chord sounds like in some textures. It remembers tensions that it has
/// met: keep one for each chord.
pub struct Sounds {
    textures: &'static [Texture],
    known: HashMap<Names, HashSet<DegreeSet>>,
}

/// Tensions without their rank and reason.
type Names = (Option<Degree>, Option<Degree>, ArrayVec<[Degree; 8]>);

impl Sounds {
    pub fn new(textures: &'static [Texture]) -> Sounds {
        Sounds {
            textures,
            known: HashMap::new(),
        }
    }

    /// All sets of degrees that sound for any of the requests, on any root.
    pub fn of(&mut self, chord: &Chord, function: &Function) -> HashSet<DegreeSet> {
        let mut all = HashSet::new();
        for requests in requests(chord) {
            for tensions in tension::resolve(chord, function, requests) {
                let names = (tensions.third, tensions.seventh, tensions.others);
                let textures = self.textures;
                let known = self.known.entry(names);
                all.extend(
                    known
                        .or_insert_with(|| on_all_roots(chord, &tensions, textures))
                        .iter(),
                );
            }
        }
        all
    }
}

/// Which forms fit the register depends on the root, so all twelve roots are needed to
/// see all forms.
fn on_all_roots(chord: &Chord, tensions: &Tensions, textures: &[Texture]) -> HashSet<DegreeSet> {
    let mut sets = HashSet::new();
    for fifths in -6..6 {
        let chord = chord.transposed(fifths);
        for texture in textures {
            let voicings = candidates::of(&chord, tensions, *texture, Register::DEFAULT);
            sets.extend(voicings.map(|v| v.degrees()));
        }
    }
    sets
}
