//! The chord in force, in words. Pure; the panel's thread. The region `now` imports it.

use super::letters::{Letters, letters};
use super::melody;
use super::notes::{USUAL, added, on_show, reason};
use super::requests::asked;
use super::signs::{degree_name, symbol, words};
use crate::engine::settings::{Settings, Source};
use crate::engine::snapshot::{Snapshot, Sounding};
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::tension::TensionRequests;
use guidehand_theory::voicing::{Form, Voicing};

/// The chord on show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Now {
    /// The chord as it sounds.
    pub letters: Letters,
    /// It has been released.
    pub past: bool,
    /// The symbol as it is written, where that differs.
    pub written: Option<String>,
    /// Its function and key.
    pub function: String,
    /// Why these tensions; empty where there are none.
    pub why: String,
    /// What yields to the melody, each in a few words.
    pub yields: Vec<String>,
    /// The same in whole sentences.
    pub sentences: Vec<String>,
    /// The form and the notes.
    pub notes: String,
}

/// The chord on show, if one has sounded.
#[must_use]
pub fn now(snapshot: &Snapshot, settings: &Settings) -> Option<Now> {
    let sounding = on_show(snapshot)?;
    let placed = &sounding.placed;
    let chord = placed.sounding(&sounding.voiced.voicing);
    let voicing = &sounding.voiced.voicing;
    let spelled: Vec<String> = voicing
        .spelled(placed.chord.root)
        .map(|pitch| words(&pitch))
        .collect();
    let agreed = melody::agreed(&snapshot.yielded).map(|(degree, _)| degree);
    let agreed: DegreeSet = agreed.collect();
    Some(Now {
        letters: letters(&chord),
        past: snapshot.sounding.is_none(),
        written: (chord != placed.written).then(|| symbol(&placed.written)),
        function: words(&placed.function),
        why: match settings.source {
            Source::Reading => reason(&sounding),
            _ => why(&sounding, &settings.taste.requests, agreed),
        },
        yields: melody::yields(&snapshot.yielded),
        sentences: melody::sentences(&snapshot.yielded),
        notes: match form(placed, voicing) {
            Some(form) => format!("form {form}:  {}", spelled.join("  ")),
            None => spelled.join("  "),
        },
    })
}

/// The form of a voicing, a letter with the slot that is lowest, since some books
/// letter each chord by that slot: `A, seventh lowest`; none as a player laid it.
pub(super) fn form(placed: &ChordInKey, voicing: &Voicing) -> Option<String> {
    let name = Form::of(voicing.position, placed.chord.quality);
    match (name, voicing.position.lowest()) {
        (Form::AsPlayed, _) => None,
        (Form::A | Form::B, Some(lowest)) => Some(format!("{name}, {lowest} lowest")),
        _ => Some(name.to_string()),
    }
}

/// Where the tensions come from: written, asked for, or chosen, and why. Those that sound for the
/// melody's sake are told apart.
#[must_use]
pub fn why(sounding: &Sounding, requests: &TensionRequests, agreed: DegreeSet) -> String {
    let chord = &sounding.placed.chord;
    let tensions = added(sounding).minus(agreed);
    let written = tensions.intersection(chord.degrees());
    let asked = tensions.minus(written).intersection(asked(chord, requests));
    let chosen = tensions.minus(written).minus(asked);
    let usual = sounding.read.is_none() && sounding.voiced.tensions.reason.is_as_written();
    let chosen_for = if usual {
        USUAL.to_owned()
    } else {
        reason(sounding)
    };
    let parts = [
        (written, "as written"),
        (asked, "as asked"),
        (chosen, &chosen_for),
    ];
    let said: Vec<String> = parts
        .into_iter()
        .filter(|(degrees, _)| !degrees.is_empty())
        .map(|(degrees, reason)| format!("{}: {reason}", names(degrees)))
        .collect();
    said.join(", ")
}

fn names(degrees: DegreeSet) -> String {
    let names: Vec<String> = degrees.iter().map(degree_name).collect();
    names.join(" ")
}
