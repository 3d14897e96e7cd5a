//! Random sessions without end: whatever happens to the plugin, no note hangs and no note is out of
//! place. Each session has a seed, which is part of every failure and reproduces it. Imports
//! sessions and the generator. The tests run a few thousand blocks of it, `cargo xtask soak` runs
//! as many as its user wants.
//!
//! Three kinds of session take turns: [`busy`] ones, in which everything happens at once, [`pure`]
//! ones, in which only the song moves, so that the result can be predicted, and [`careless`] ones, in
//! which the host leaves out audio and sends events that cannot be. Those of the editor's size, in
//! [`resized`], and those of the chord in hand, in [`handled`], need a display and run apart.

pub mod busy;
pub mod careless;
pub mod check;
#[cfg(target_os = "linux")]
pub mod handled;
pub mod pure;
#[cfg(target_os = "linux")]
pub mod resized;
mod stock;

pub use stock::{Counts, random_value};

use crate::generator::Manners;
use crate::library::Library;
use check::Fault;
use std::error::Error;
use std::fmt;

/// A fault with the seed that reproduces it.
#[derive(Debug)]
pub struct FailedSession {
    /// The session's seed.
    pub seed: u64,
    /// What was wrong.
    pub fault: Fault,
}

impl fmt::Display for FailedSession {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the session with seed {}: {}", self.seed, self.fault)
    }
}

impl Error for FailedSession {}

/// The checks of every session.
pub const CHECKS: [&str; 11] = [
    "each note-on has exactly one note-off, on a key from 0 to 127",
    "no key is struck again before it is released",
    "event times ascend within a block and lie inside of it",
    "audio is finite and keeps below the ceiling",
    "no call comes from the wrong thread, and no allocation from `process`",
    "a chart is silent as soon as the transport stops",
    "the same notes from a saved state, in other blocks, and from the middle on",
    "in a loop the notes of the song that it repeats, whatever the blocks",
    "a chart is silent while its song is being loaded",
    "the first five of these whatever audio a host leaves out and whatever events it sends",
    "the same in a window with clicks anywhere on the chord in hand, and the same song from its state",
];

/// Plays one session. Every fifth seed makes a careless one. Of the others an even one makes a busy
/// session, and an odd one a pure one.
///
/// # Errors
/// [`FailedSession`] at the first fault.
pub fn session(library: &Library, seed: u64) -> Result<Counts, FailedSession> {
    let played = if seed.is_multiple_of(5) {
        careless::survive(library, seed)
    } else if seed.is_multiple_of(2) {
        let manners = [Manners::Polite, Manners::Rude];
        let limits = [None, Some(1), None, Some(4), None, Some(7)];
        busy::survive(
            library,
            busy::Run {
                seed,
                manners: manners[(seed / 2 % 2) as usize],
                output_limit: limits[(seed / 4 % 6) as usize],
            },
        )
    } else {
        pure::repeat(library, seed)
    };
    played.map_err(|fault| FailedSession { seed, fault })
}

/// Plays sessions with ascending seeds until this many blocks have been played, and reports after
/// each of them.
///
/// # Errors
/// [`FailedSession`] at the first fault.
pub fn soak(
    library: &Library,
    blocks: u64,
    first_seed: u64,
    mut progress: impl FnMut(&Counts),
) -> Result<Counts, FailedSession> {
    let mut counts = Counts::default();
    let mut seed = first_seed;
    while counts.blocks < blocks {
        counts += session(library, seed)?;
        seed = seed.wrapping_add(1);
        progress(&counts);
    }
    Ok(counts)
}
