//! What all sessions of a soak share: the charts with what is pinned in them, the random values, the
//! counts. Imports the host, saved states and the theory.

use super::check::Fault;
use crate::error::HostError;
use crate::event::Event;
use crate::host::Host;
use crate::library::Library;
use crate::params::Param;
use crate::paths::PLUGIN_ID;
use crate::state;
use clack_extensions::params::ParamInfoFlags;
use fastrand::Rng;
use guidehand_practice::{
    AskedPosition, Exercise, Help, KeyOrder, Origin, Pace, Progression, Tempo,
};
use guidehand_theory::chart;
use guidehand_theory::judge::Accepts;
use guidehand_theory::pitch::NoteNames;
use guidehand_theory::symbol::{Sign, Symbol};
use serde_json::{Value, json};
use std::fmt;

/// The rate of all sessions.
pub(super) const RATE_HZ: f64 = 48_000.0;

/// The charts that the sessions play: plain, odd, crowded, silent, and with repeats.
const CHARTS: [&str; 6] = [
    "| Dm7 | G7 | Cmaj7 | A7 |",
    "7/8 | Dm7/C N.C. G7 | % | Ab13#11 / / / / / / |",
    "| C6 Db6 D6 Eb6 E6 F6 Gb6 G6 Ab6 A6 Bb6 B6 C6 Db6 D6 Eb6 |",
    "| N.C. |",
    "6/8 | Gm7 C7 | Fmaj7 | D7 / / / / Db7 |",
    "[A] |: Dm7 G7 | % | [1 Cmaj7 :| [2 3/4 Fm7 Bb7 Eb7 | [A]",
];

/// The counts of what has been played and checked.
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
    /// Loops that sounded as the songs that they repeat.
    pub loops: u64,
    /// Notes that were the same in another rendering.
    pub compared: u64,
    /// Blocks of a careless host.
    pub careless: u64,
}

impl std::ops::AddAssign for Counts {
    fn add_assign(&mut self, more: Self) {
        self.sessions += more.sessions;
        self.blocks += more.blocks;
        self.notes += more.notes;
        self.refused += more.refused;
        self.stops += more.stops;
        self.loops += more.loops;
        self.compared += more.compared;
        self.careless += more.careless;
    }
}

impl fmt::Display for Counts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} blocks in {} sessions, {} blocks of careless hosts: {} notes, {} events refused, {} stops, {} loops, {} notes compared",
            self.blocks,
            self.sessions,
            self.careless,
            self.notes,
            self.refused,
            self.stops,
            self.loops,
            self.compared
        )
    }
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
pub(super) fn instance(library: &Library) -> Result<Host, HostError> {
    Host::load(library, PLUGIN_ID)
}

/// A random chart.
pub(super) fn chart(rng: &mut Rng) -> &'static str {
    CHARTS[rng.usize(0..CHARTS.len())]
}

/// A saved chart with voicings that are pinned to some of its chords: each time, the first or the
/// second time, of notes from anywhere, and some for another chord than the one in their place.
fn pinned(chart: &str, rng: &mut Rng) -> Value {
    let chords = chart::chords(chart, NoteNames::English).into_iter();
    let chords = chords.filter_map(|(_, chord)| chord).enumerate();
    let mut pins: Vec<Value> = Vec::new();
    for (place, chord) in chords {
        if rng.u8(0..3) > 0 {
            continue;
        }
        let symbol = match rng.u8(0..8) {
            0 => "H".to_owned(),
            _ => Symbol(&chord, Sign::Ascii).to_string(),
        };
        let lowest = rng.u8(0..100);
        let notes: Vec<u8> = (0..rng.u8(1..9)).map(|nth| lowest + 3 * nth).collect();
        let mut pin = json!({ "chord": place, "symbol": symbol, "notes": notes });
        if let pass @ 1..=2 = rng.u8(0..6) {
            pin["pass"] = pass.into();
        }
        pins.push(pin);
    }
    json!({ "text": chart, "pins": pins })
}

/// An instance's state with a random chart, pins and a random drawn pattern.
pub(super) fn written(host: &mut Host, rng: &mut Rng) -> Result<Vec<u8>, Fault> {
    let chart = chart(rng);
    // This generator is separate, so that a seed gives the same session as before there were pins.
    let mut pins = Rng::with_seed(!rng.get_seed());
    let saved = pinned(chart, &mut pins);
    let saved = state::with_field(&host.save_state()?, "chart", &saved);
    let cells: String = (0..32)
        .map(|_| ['-', '-', 's', 'l'][rng.usize(0..4)])
        .collect();
    Ok(state::with_field(&saved, "drawn", &cells.into()))
}

/// A random exercise as it is saved, at times with values that cannot be.
pub(super) fn exercise(rng: &mut Rng) -> Value {
    let one = |choices: &[&str], rng: &mut Rng| choices[rng.usize(0..choices.len())].to_owned();
    let exercise = Exercise {
        origin: one_of(Origin::ALL, rng),
        progression: one_of(Progression::ALL, rng),
        order: one_of(KeyOrder::ALL, rng),
        position: one_of(AskedPosition::ALL, rng),
        help: one_of(Help::ALL, rng),
        accepts: one_of(
            &[Accepts::Exact, Accepts::SameTensions, Accepts::AnyGood],
            rng,
        ),
        pace: if rng.bool() {
            Pace::Free
        } else {
            Pace::InTime {
                tempo: if rng.bool() {
                    Tempo::Host
                } else {
                    Tempo::Own {
                        bpm: f64::from(rng.u16(30..=300)),
                        faster_by: f64::from(rng.u8(0..=20)),
                    }
                },
                beats_ahead: rng.u8(1..=8),
                count_in_bars: rng.u8(0..=2),
            }
        },
        leading: rng.bool(),
        more_after_s: rng.bool().then_some(2),
        answer_sounds: rng.bool(),
        seed: rng.u64(..),
        ..Exercise::default()
    };
    let mut saved = json!(exercise);
    if rng.u8(0..6) == 0 {
        saved[one(&["origin", "pace", "families", "keys", "bars"], rng)] = json!([-1, "?"]);
    }
    saved
}

/// Sets a parameter by its name.
pub(super) fn set(host: &mut Host, name: &str, value: f64) -> Result<(), HostError> {
    let id = host.param_by_name(name)?.id;
    host.set_param(id, value)
}

/// A parameter at a random value, or at one that it should never get.
pub(super) fn random_param(params: &[Param], rng: &mut Rng) -> Event {
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

/// One of them at random.
pub(super) fn one_of<T: Copy>(all: &[T], rng: &mut Rng) -> T {
    all[rng.usize(0..all.len())]
}
