//! What is known around the notes. Imports `key` and what is above it; the folder of `read`
//! imports it.

use crate::chord::Chord;
use crate::key::Key;
use crate::pitch::PitchClass;

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
}
