//! What to do, in a line. Pure; the panel's thread. The region `now` imports it.

use super::signs::key_name;
use crate::engine::settings::{Settings, Source};
use crate::engine::snapshot::Snapshot;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::symbol::{Sign, Symbol};

/// What to do where something was to be heard, and no block was played.
pub const UNHEARD: &str = "Nothing is heard: start the host's audio engine.";

/// What to do, in a line, where nothing sounds or nothing can. `alone` tells that it is the panel
/// that starts and stops, and no host.
#[must_use]
pub fn hint(snapshot: &Snapshot, settings: &Settings, alone: bool) -> Option<String> {
    let split = key_name(MidiNote::clamp(i32::from(settings.split)));
    if settings.bypass {
        return Some("Bypassed: everything passes, nothing is added.".to_owned());
    }
    if settings.source == Source::Reading && snapshot.last.is_some() {
        return others(snapshot);
    }
    if snapshot.sounding.is_some() {
        let silent = settings.makes_chords() && !settings.comps;
        return silent.then(|| "The left hand does not comp: its chords are silent.".to_owned());
    }
    match settings.source {
        Source::Roots if snapshot.last.is_none() => Some(format!(
            "Play a root below {split}: its chord sounds and shows here."
        )),
        Source::Roots => None,
        Source::Chart if !snapshot.playing && alone => {
            Some("Press play or the space bar: the chart plays from its start.".to_owned())
        }
        Source::Chart if !snapshot.playing => {
            Some("Start the host: the chart plays from the song's first bar on.".to_owned())
        }
        Source::Chart if settings.chart.gate => {
            Some(format!("Hold a key below {split} to let the chart sound."))
        }
        Source::Chart => None,
        Source::Reading => Some(format!(
            "Play a chord below {split}: it passes through and is read here."
        )),
        // What is asked says what to do.
        Source::Practice => None,
        Source::Bass => Some("Send a bass to the side-chain: its chords sound with it.".to_owned()),
    }
}

/// What else the notes can be: `or G♭9, D♭m6`.
fn others(snapshot: &Snapshot) -> Option<String> {
    let symbols = snapshot.others.iter().flatten();
    let symbols: Vec<String> = symbols
        .map(|chord| Symbol(chord, Sign::Unicode).to_string())
        .collect();
    (!symbols.is_empty()).then(|| format!("or {}", symbols.join(", ")))
}
