//! Tensions by family, and how long a chord lasts. Pure; the panel's thread. Regions
//! import it.

use super::melody::agreed;
use super::notes::{NoteKind, added, kind, on_show, reason as why};
use super::requests::asked;
use super::signs::{degree_name, words};
use crate::engine::settings::{Settings, Source};
use crate::engine::snapshot::{Snapshot, Sounding, Yielded};
use guidehand_theory::chart::Chart;
use guidehand_theory::degree::Family;

/// A tension that sounds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoundingTension {
    /// Its degree.
    pub label: String,
    /// What it is.
    pub kind: NoteKind,
    /// Where it comes from, in a word.
    pub origin: &'static str,
    /// Why it was chosen, in a few words.
    pub reason: String,
}

/// The tensions of a family in the chord on show, from the lowest.
#[must_use]
pub fn tensions(snapshot: &Snapshot, settings: &Settings, family: Family) -> Vec<SoundingTension> {
    let on_show = on_show(snapshot);
    on_show.map_or_else(Vec::new, |sounding| {
        of_chord(&sounding, &snapshot.yielded, settings, family)
    })
}

fn of_chord(
    sounding: &Sounding,
    yielded: &Yielded,
    settings: &Settings,
    family: Family,
) -> Vec<SoundingTension> {
    let chord = &sounding.placed.chord;
    let tensions = added(sounding);
    let of_family = tensions.iter().filter(|d| d.family() == Some(family));
    of_family
        .map(|degree| {
            let chosen = why(sounding);
            let yielded = agreed(yielded).find(|(by, _)| *by == degree);
            let (origin, reason) = if let Some((_, one)) = yielded {
                ("melody", words(&one))
            } else if settings.source == Source::Reading {
                ("played", chosen)
            } else if chord.degrees().contains(degree) {
                ("written", "it is written in the symbol".to_owned())
            } else if asked(chord, &settings.taste.requests).contains(degree) {
                ("asked", "it is asked for here".to_owned())
            } else {
                ("chosen", chosen)
            };
            SoundingTension {
                label: degree_name(degree),
                kind: kind(sounding, degree),
                origin,
                reason,
            }
        })
        .collect()
}

/// How many beats it is from the beat in force until the next chord of the chart;
/// none while stopped.
#[must_use]
pub fn beats_to_next(chart: &Chart, snapshot: &Snapshot) -> Option<u32> {
    let at_ticks = snapshot.beat_ticks?;
    let change = chart.changes.get(snapshot.change?)?;
    let end_ticks = change.start_ticks + change.length_ticks;
    let beat_ticks = chart.bars.get(change.bar)?.meter.beat_ticks();
    let left_ticks = end_ticks.checked_sub(at_ticks)?;
    Some(left_ticks.div_ceil(beat_ticks.max(1)).max(1))
}

/// The time until the next chord in words.
#[must_use]
pub fn in_beats(beats: u32) -> String {
    match beats {
        1 => "in 1 beat".to_owned(),
        beats => format!("in {beats} beats"),
    }
}
