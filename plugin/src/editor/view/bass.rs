//! What is made of a bass, in words. Pure; the panel's thread. The bass's region
//! imports it.

use super::signs::{note_name, symbol, words};
use crate::bridge::bass::EarLook;
use crate::engine::settings::Settings;
use crate::engine::snapshot::{BassReading, Snapshot};
use guidehand_bass::roots::Standing;
use guidehand_theory::key::Key;
use guidehand_theory::pitch::{MidiNote, NoteName};

/// The note that is heard, by its name in the chord that sounds, or in the key: `E♭2`.
#[must_use]
pub fn heard(look: &EarLook, snapshot: &Snapshot, settings: &Settings) -> Option<String> {
    let note = MidiNote::new(look.note?)?;
    let spelled = name(note, snapshot, settings.key).at(note);
    Some(words(&spelled))
}

/// The name that a note has in the chord that sounds, or else in a key.
fn name(note: MidiNote, snapshot: &Snapshot, key: Key) -> NoteName {
    let class = note.class();
    let placed = snapshot.sounding.map(|sounding| sounding.placed);
    let in_chord = placed.and_then(|placed| {
        let chord = placed.chord;
        let degrees = chord.degrees();
        let names = degrees.iter().map(|degree| degree.over(chord.root));
        let mut names = chord.bass.into_iter().chain([chord.root]).chain(names);
        names.find(|name| name.class() == class)
    });
    let key = placed.map_or(key, |placed| placed.function.key);
    in_chord.unwrap_or_else(|| key.name(class))
}

/// How far the note is off its place, where that can be heard: `12 cents high`.
#[must_use]
pub fn off(cents: i32) -> Option<String> {
    let side = if cents > 0 { "high" } else { "low" };
    (cents.abs() >= 5).then(|| format!("{} cents {side}", cents.abs()))
}

/// What the notes come to: `confirms Dm7`.
#[must_use]
pub fn making(making: &BassReading) -> String {
    match making {
        BassReading::Waiting => "waits for a bass".to_owned(),
        BassReading::Charted {
            standing,
            chord,
            root,
            ..
        } => {
            let chord = chord.map_or_else(|| "the silence".to_owned(), |chord| symbol(&chord));
            match standing {
                Standing::OnTime if *root => format!("confirms {chord}"),
                Standing::OnTime => format!("walks through {chord}"),
                Standing::Early => format!("{chord}, ahead of the chart"),
                Standing::Late => format!("still {chord}, behind the chart"),
                Standing::Lost => "lost, looking for the place".to_owned(),
            }
        }
        BassReading::Rooted { chord: None, .. } => "no root yet".to_owned(),
        BassReading::Rooted {
            chord: Some(chord),
            confidence,
        } => {
            let root = note_name(chord.root);
            format!("root {root}, {}: {}", sure(*confidence), symbol(chord))
        }
    }
}

/// Where in the chart the bass is: `4 bars ahead of the host`. None without a chart.
#[must_use]
pub fn shift(making: &BassReading) -> Option<String> {
    let BassReading::Charted { shift_bars, .. } = making else {
        return None;
    };
    let side = if *shift_bars > 0 {
        "ahead of"
    } else {
        "behind"
    };
    Some(match shift_bars.abs() {
        0 => "where the host is".to_owned(),
        1 => format!("1 bar {side} the host"),
        count => format!("{count} bars {side} the host"),
    })
}

/// How sure the plugin is, 0 to 1; none while it waits.
#[must_use]
pub const fn confidence(making: &BassReading) -> Option<f32> {
    match making {
        BassReading::Waiting => None,
        BassReading::Charted { confidence, .. } | BassReading::Rooted { confidence, .. } => {
            Some(*confidence)
        }
    }
}

/// A confidence in words.
#[must_use]
pub const fn sure(confidence: f32) -> &'static str {
    if confidence >= 0.9 {
        "sure"
    } else if confidence >= 0.6 {
        "fairly sure"
    } else {
        "a guess"
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::symbol;

    fn charted(standing: Standing, root: bool) -> String {
        making(&BassReading::Charted {
            standing,
            chord: symbol::parse("Dm7").ok(),
            root,
            shift_bars: 0,
            confidence: 0.8,
        })
    }

    #[test]
    fn a_place_in_the_chart_is_told() {
        assert_eq!(charted(Standing::OnTime, true), "confirms Dm7");
        assert_eq!(charted(Standing::OnTime, false), "walks through Dm7");
        assert_eq!(charted(Standing::Early, true), "Dm7, ahead of the chart");
    }

    #[test]
    fn a_place_other_than_the_hosts_is_told() {
        let at = |shift_bars| {
            shift(&BassReading::Charted {
                standing: Standing::OnTime,
                chord: None,
                root: false,
                shift_bars,
                confidence: 0.8,
            })
        };
        assert_eq!(at(-4).as_deref(), Some("4 bars behind the host"));
        assert_eq!(at(1).as_deref(), Some("1 bar ahead of the host"));
        assert_eq!(shift(&BassReading::Waiting), None);
    }

    #[test]
    fn a_root_is_told_with_how_sure_it_is() {
        let rooted = |confidence| {
            making(&BassReading::Rooted {
                chord: symbol::parse("Eb7").ok(),
                confidence,
            })
        };
        assert_eq!(rooted(0.95), "root E♭, sure: E♭7");
        assert_eq!(rooted(0.3), "root E♭, a guess: E♭7");
    }

    #[test]
    fn a_note_has_its_name_in_the_key() {
        let settings = Settings {
            key: Key::parse("Eb").unwrap(),
            ..Settings::plain(crate::engine::settings::Source::Bass)
        };
        let look = EarLook {
            note: Some(39),
            ..EarLook::default()
        };
        let words = heard(&look, &Snapshot::default(), &settings);
        assert_eq!(words.as_deref(), Some("E♭2"));
    }
}
