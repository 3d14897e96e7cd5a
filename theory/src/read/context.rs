//! What is known around the notes. Imports `key` and what is above it; the folder of `read`
//! imports it.

use crate::chord::Chord;
use crate::degree::DegreeSet;
use crate::key::Key;
use crate::pitch::{NoteName, PitchClass};

/// What is known around the notes. Any part of it may be missing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Context {
    /// The key in force.
    pub key: Option<Key>,
    /// The chord before.
    pub before: Option<Chord>,
    /// The chord after.
    pub after: Option<Chord>,
    /// The chord that the chart has here.
    pub charted: Option<Chord>,
    /// A bass note, from any channel.
    pub bass: Option<PitchClass>,
}

impl Context {
    /// Whether nothing is known around the notes.
    pub(super) fn is_bare(&self) -> bool {
        *self == Context::default()
    }

    /// Whether what is around a triad asks for a fuller chord: a chart, a bass that is none of its
    /// notes, or a chord with a seventh before or after.
    pub(super) fn asks_for_more(&self, triad: DegreeSet, root: NoteName) -> bool {
        let foreign = |bass: PitchClass| !triad.iter().any(|degree| degree.class(root) == bass);
        let mut around = self.before.iter().chain(&self.after);
        let sevenths = around.any(|chord| chord.seventh().is_some());
        self.charted.is_some() || self.bass.is_some_and(foreign) || sevenths
    }
}
