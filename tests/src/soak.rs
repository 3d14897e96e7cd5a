//! Random sessions without end: whatever happens to the plugin, no note hangs and
//! none is out of place. Each session has a seed, which names it in every
//! failure and brings it back. Imports sessions and the generator; the tests run
//! a few thousand blocks of it, `cargo xtask soak` as many as it is asked to.
//!
//! Two kinds of session take turns: [`busy`] ones, in which everything happens at
//! once, and [`pure`] ones, in which only the song moves, so that what comes out
//! can be said in advance.

pub mod busy;
pub mod check;
pub mod pure;

use crate::error::HostError;
use crate::event::Event;
use crate::generator::Manners;
use crate::host::Host;
use crate::library::Library;
use crate::params::Param;
use crate::paths::PLUGIN_ID;
use crate::state;
use check::Fault;
use clack_extensions::params::ParamInfoFlags;
use fastrand::Rng;
use std::error::Error;
use std::fmt;

/// The rate of all sessions.
pub(crate) const RATE_HZ: f64 = 48_000.0;

/// What the sessions play: plain, odd, crowded, silent, and with repeats.
const CHARTS: [&str; 6] = [
    "| Dm7 | G7 | Cmaj7 | A7 |",
    "7/8 | Dm7/C N.C. G7 | % | Ab13#11 / / / / / / |",
    "| C6 Db6 D6 Eb6 E6 F6 Gb6 G6 Ab6 A6 Bb6 B6 C6 Db6 D6 Eb6 |",
    "| N.C. |",
    "6/8 | Gm7 C7 | Fmaj7 | D7 / / / / Db7 |",
    "[A] |: Dm7 G7 | % | [1 Cmaj7 :| [2 3/4 Fm7 Bb7 Eb7 | [A]",
];

/// How much has been played and checked.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Sessions.
    pub sessions: u64,
    /// Process calls.
    pub blocks: u64,
    /// Notes that started and ended.
    pub notes: u64,
    /// Output events that found the queue full.
    pub refused: u64,
    /// Stops of the transport after which the chart was silent.
    pub stops: u64,
    /// Notes that came out the same in another rendering.
    pub compared: u64,
}

impl std::ops::AddAssign for Counts {
    fn add_assign(&mut self, more: Self) {
        self.sessions += more.sessions;
        self.blocks += more.blocks;
        self.notes += more.notes;
        self.refused += more.refused;
        self.stops += more.stops;
        self.compared += more.compared;
    }
}

impl fmt::Display for Counts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} blocks in {} sessions: {} notes, {} events refused, {} stops, {} notes compared",
            self.blocks, self.sessions, self.notes, self.refused, self.stops, self.compared
        )
    }
}

/// A fault with the seed that brings it back.
#[derive(Debug)]
pub struct Failure {
    /// The session's seed.
    pub seed: u64,
    /// What was wrong.
    pub fault: Fault,
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the session with seed {}: {}", self.seed, self.fault)
    }
}

impl Error for Failure {}

/// What every session has been checked for.
pub const CHECKS: [&str; 7] = [
    "each note-on has exactly one note-off, on a key from 0 to 127",
    "no key is struck again before it is released",
    "event times ascend within a block and lie inside of it",
    "audio is finite and keeps below the ceiling",
    "no call comes from the wrong thread, and no allocation from `process`",
    "a chart is silent as soon as the transport stops",
    "the same notes from a saved state, in other blocks, and from the middle on",
];

/// Plays one session. An even seed makes a busy one, an odd one a pure one.
///
/// # Errors
/// [`Failure`] at the first fault.
pub fn session(library: &Library, seed: u64) -> Result<Counts, Failure> {
    let played = if seed.is_multiple_of(2) {
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
    played.map_err(|fault| Failure { seed, fault })
}

/// Plays sessions with ascending seeds until so many blocks have been played, and
/// reports after each of them.
///
/// # Errors
/// [`Failure`] at the first fault.
pub fn soak(
    library: &Library,
    blocks: u64,
    first_seed: u64,
    mut progress: impl FnMut(&Counts),
) -> Result<Counts, Failure> {
    let mut counts = Counts::default();
    let mut seed = first_seed;
    while counts.blocks < blocks {
        counts += session(library, seed)?;
        seed = seed.wrapping_add(1);
        progress(&counts);
    }
    Ok(counts)
}

/// A random value of a parameter, whole if the parameter has steps.
pub fn random_value(param: &Param, rng: &mut Rng) -> f64 {
    let value = param.min + rng.f64() * (param.max - param.min);
    if param.flags.contains(ParamInfoFlags::IS_STEPPED) {
        value.round()
    } else {
        value
    }
}

/// A fresh instance.
fn instance(library: &Library) -> Result<Host, HostError> {
    Host::load(library, PLUGIN_ID)
}

/// An instance's state with a random chart and a random drawn pattern.
fn written(host: &mut Host, rng: &mut Rng) -> Result<Vec<u8>, Fault> {
    let chart = CHARTS[rng.usize(0..CHARTS.len())];
    let saved = state::with_chart(&host.save_state()?, chart);
    let cells: String = (0..32)
        .map(|_| ['-', '-', 's', 'l'][rng.usize(0..4)])
        .collect();
    Ok(state::with_field(&saved, "drawn", &cells.into()))
}

/// Sets a parameter by its name.
fn set(host: &mut Host, name: &str, value: f64) -> Result<(), HostError> {
    let id = host.param_by_name(name)?.id;
    host.set_param(id, value)
}

/// A parameter at a random value, or at one that it should never get.
fn random_param(params: &[Param], rng: &mut Rng) -> Event {
    const ODD_VALUES: [f64; 5] = [f64::NAN, f64::INFINITY, -1.0, 1e9, 0.5];
    let param = &params[rng.usize(0..params.len())];
    let value = match rng.u8(0..10) {
        0 => ODD_VALUES[rng.usize(0..ODD_VALUES.len())],
        _ => random_value(param, rng),
    };
    Event::Param {
        id: param.id,
        value,
    }
}
