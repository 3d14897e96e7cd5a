//! Pins and scales on the command line: `--pin N=NOTES` and `--scale N=NAME`. It imports
//! `command`; `comp` imports it.

use std::num::NonZeroU16;

use guidehand_exchange::kept::{self, Kept, KeptPin, KeptScale};
use guidehand_theory::chord::Chord;
use guidehand_theory::pitch::{NoteName, SpelledPitch};
use guidehand_theory::scale;
use guidehand_theory::slash;
use guidehand_theory::voicing::MOST_NOTES;
use serde_json::Map;

use crate::command::Misunderstood;

/// A voicing that is to be pinned to a chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PinOption {
    /// The chord as it is written, from 1.
    chord: usize,
    /// The time that it is played, from 1; every time if there is none.
    pass: Option<NonZeroU16>,
    notes: Vec<u8>,
}

/// A scale that is to be chosen for a chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScaleOption {
    /// The chord as it is written, from 1.
    chord: usize,
    /// Its root; that of the chord if there is none.
    root: Option<NoteName>,
    name: &'static str,
}

/// Reads the value of `--pin`.
pub fn pin(text: &str) -> Result<PinOption, String> {
    const EXPECTED: &str = "expected a chord of the chart, from 1, and notes, such as \"2=F3 A3 \
                            B3 E4\", or \"2.1=F3 A3 B3 E4\" for the first time alone";
    let (place, names) = text.split_once('=').ok_or(EXPECTED)?;
    let (chord, pass) = match place.split_once('.') {
        Some((chord, pass)) => (chord, Some(pass.parse().map_err(|_| EXPECTED)?)),
        None => (place, None),
    };
    let chord = chord.parse().ok().filter(|chord| *chord > 0);
    let notes = names.split_whitespace().map(|name| {
        let note = SpelledPitch::parse(name).and_then(SpelledPitch::midi);
        let note = note.ok_or_else(|| format!("{name:?} is no note; expected one such as Bb3"))?;
        Ok(note.number())
    });
    let notes = notes.collect::<Result<Vec<u8>, String>>()?;
    let pin = PinOption {
        chord: chord.ok_or(EXPECTED)?,
        pass,
        notes,
    };
    match pin.notes.len() {
        0 => Err(EXPECTED.to_owned()),
        1..=MOST_NOTES => Ok(pin),
        count => Err(format!("{count} notes; expected at most {MOST_NOTES}")),
    }
}

/// Reads the value of `--scale`.
pub fn scale(text: &str) -> Result<ScaleOption, String> {
    const EXPECTED: &str = "expected a chord of the chart, from 1, and a scale, such as \
                            \"2=altered\", or \"2=C blues\" where its root is not the chord's";
    let (chord, words) = text.split_once('=').ok_or(EXPECTED)?;
    let chord = chord.parse().ok().filter(|chord| *chord > 0);
    let words = words.trim();
    let named = |name: &str| scale::all().find(|scale| scale.name.eq_ignore_ascii_case(name));
    let rooted = || {
        let (first, name) = words.split_once(' ')?;
        let (root, "") = NoteName::read(first)? else {
            return None;
        };
        Some((Some(root), named(name.trim())?.name))
    };
    let whole = named(words).map(|scale| (None, scale.name));
    let (root, name) = whole.or_else(rooted).ok_or_else(|| {
        format!("{words:?} is no scale; expected a name as comp prints it, such as altered")
    })?;
    Ok(ScaleOption {
        chord: chord.ok_or(EXPECTED)?,
        root,
        name,
    })
}

/// Adds what was asked for to what is picked for the chords of a chart that can be read.
pub fn add(kept: &mut Kept, pins: &[PinOption], scales: &[ScaleOption]) -> anyhow::Result<()> {
    let Ok(chart) = kept.read() else {
        return Ok(());
    };
    let passes = chart.passes().into_iter().zip(&chart.changes);
    let mut chords: Vec<(usize, Chord, u16)> = passes
        .filter_map(|(pass, change)| {
            let pass = pass?;
            Some((pass.index, change.chord?, pass.passes))
        })
        .collect();
    chords.sort_unstable_by_key(|(index, ..)| *index);
    chords.dedup_by_key(|(index, ..)| *index);
    let chord = |option: &str, number: usize| {
        let found = number.checked_sub(1).and_then(|at| chords.get(at));
        found.copied().ok_or_else(|| {
            let count = chords.len();
            Misunderstood(format!(
                "{option} {number}: expected a chord from 1 to {count}"
            ))
        })
    };
    for pin in pins {
        let (index, chord, passes) = chord("--pin", pin.chord)?;
        if let Some(pass) = pin.pass.filter(|pass| pass.get() > passes) {
            let words = format!(
                "--pin {}.{pass}: expected a time from 1 to {passes}",
                pin.chord
            );
            return Err(Misunderstood(words).into());
        }
        let replaced = |other: &KeptPin| {
            other.chord == index && (pin.pass.is_none() || other.pass == pin.pass)
        };
        kept.pins.retain(|other| !replaced(other));
        kept.pins.push(KeptPin {
            chord: index,
            symbol: kept::symbol(&chord),
            pass: pin.pass,
            notes: pin.notes.clone(),
            later: Map::new(),
        });
    }
    for option in scales {
        let (index, chord, _) = chord("--scale", option.chord)?;
        let own = slash::meant(&chord).root.class();
        kept.scales.retain(|other| other.chord != index);
        kept.scales.push(KeptScale {
            chord: index,
            symbol: kept::symbol(&chord),
            scale: option.name.to_owned(),
            above: option.root.map_or(0, |root| root.class().above(own)),
            later: Map::new(),
        });
    }
    kept.pins.sort_by_key(|pin| (pin.chord, pin.pass));
    kept.scales.sort_by_key(|scale| scale.chord);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pins_and_scales_are_read_and_put_to_their_chords() {
        let mut kept = Kept::of("|: Dm7 | F/G :| C7 |");
        let pins = ["2=F3 A3 B3 E4", "2.1=A3 F3", "1=60", "2.1=Bb2 C4"].map(pin);
        assert!(
            pins[2]
                .as_ref()
                .is_err_and(|error| error.contains("\"60\" is no note"))
        );
        let pins: Vec<PinOption> = pins.into_iter().flatten().collect();
        let scales = ["2=altered", "3=C Blues", "3=f Mixolydian"].map(scale);
        assert!(scales[2].is_err());
        let scales: Vec<ScaleOption> = scales.into_iter().flatten().collect();
        add(&mut kept, &pins, &scales).unwrap();
        let json: serde_json::Value = serde_json::from_str(&kept.to_json()).unwrap();
        let expected = serde_json::json!({
            "chart": "|: Dm7 | F/G :| C7 |",
            "pins": [
                {"chord": 1, "symbol": "F/G", "notes": [53, 57, 59, 64]},
                {"chord": 1, "symbol": "F/G", "pass": 1, "notes": [46, 60]},
            ],
            "scales": [
                {"chord": 1, "symbol": "F/G", "scale": "altered"},
                {"chord": 2, "symbol": "C7", "scale": "blues"},
            ],
        });
        assert_eq!(json, expected);
    }

    #[test]
    fn mistakes_say_what_was_expected() {
        for (text, expected) in [
            ("F3", "expected a chord of the chart, from 1"),
            ("0=F3", "from 1"),
            ("x=F3", "from 1"),
            ("2=", "and notes"),
            ("2.0=F3", "from 1"),
            ("2=F3 H3", "\"H3\" is no note"),
            (
                "1=C2 D2 E2 F2 G2 A2 B2 C3 D3",
                "9 notes; expected at most 8",
            ),
        ] {
            let error = pin(text).unwrap_err();
            assert!(error.contains(expected), "{text}: {error}");
        }
        for (text, expected) in [
            ("altered", "expected a chord of the chart, from 1"),
            ("0=altered", "from 1"),
            ("2=sideways", "\"sideways\" is no scale"),
            ("2=G sideways", "\"G sideways\" is no scale"),
        ] {
            let error = scale(text).unwrap_err();
            assert!(error.contains(expected), "{text}: {error}");
        }
        let mut kept = Kept::of("| Dm7 | G7 |");
        for (asked, expected) in [
            ("3=F3", "--pin 3: expected a chord from 1 to 2"),
            ("2.2=F3", "--pin 2.2: expected a time from 1 to 1"),
        ] {
            let error = add(&mut kept, &[pin(asked).unwrap()], &[]).unwrap_err();
            assert!(error.is::<Misunderstood>());
            assert_eq!(error.to_string(), expected);
        }
        let error = add(&mut kept, &[], &[scale("9=altered").unwrap()]).unwrap_err();
        assert_eq!(error.to_string(), "--scale 9: expected a chord from 1 to 2");
    }
}
