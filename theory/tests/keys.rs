//! Keys, functions and reasons against forms and relations of the trade: common
//! practice, no published source. The charts are made up; the keys were written
//! down before any program was asked.

use guidehand_theory::chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::key::{self, Function, Goes, Key, Mode};
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::tension::{self, Asks};

#[path = "keys/forms.rs"]
mod forms;

/// The chords of a chart with their lengths, and the bars that they begin in.
fn read(text: &str) -> (Vec<(Option<Chord>, u32)>, Vec<usize>) {
    let chart = chart::parse(text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
    let changes = chart.changes.iter();
    changes
        .map(|c| ((c.chord, c.length_ticks), c.bar + 1))
        .unzip()
}

fn transposed(chords: &[(Option<Chord>, u32)], fifths: i8) -> Vec<(Option<Chord>, u32)> {
    let moved = chords.iter();
    moved
        .map(|(chord, ticks)| (chord.map(|c| c.transposed(fifths)), *ticks))
        .collect()
}

/// All twelve keys, as fifths from the one that is written.
const TWELVE: std::ops::RangeInclusive<i8> = -6..=5;

/// The forms of [`forms::FORMS`], in twelve keys.
#[test]
fn forms_are_heard_in_their_keys() {
    let mut misses = Vec::new();
    for form in forms::FORMS {
        let (chords, bars) = read(form.chart);
        for fifths in TWELVE {
            let heard = key::analyse_in_time(&transposed(&chords, fifths), None);
            for (bar, function) in bars.iter().zip(&heard) {
                let Some(function) = function else { continue };
                let wanted = form.keys.iter().rev().find(|(from, _)| from <= bar);
                let Some((_, wanted)) = wanted else { continue };
                let fits = wanted.split('|').any(|key| {
                    let key = Key::parse(key).unwrap();
                    key.mode == function.key.mode
                        && key.tonic.class().up(fifths * 7) == function.key.tonic.class()
                });
                if !fits && fifths == 0 {
                    misses.push(format!("{} bar {bar}: {function}, not {wanted}", form.name));
                } else if !fits {
                    misses.push(format!("{} moved {fifths}: bar {bar}", form.name));
                }
            }
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

/// Functions in words, chord by chord.
#[test]
fn chords_do_what_a_musician_would_say() {
    let mut misses = Vec::new();
    for (text, wanted) in forms::FUNCTIONS {
        let (chords, _) = read(text);
        let functions = key::analyse_in_time(&chords, None);
        let words: Vec<String> = functions
            .iter()
            .flatten()
            .map(Function::to_string)
            .collect();
        let wanted: Vec<&str> = wanted.split(';').map(str::trim).collect();
        for (at, wanted) in wanted.iter().enumerate() {
            let said = words.get(at).map_or("nothing", String::as_str);
            let fits = match wanted.split_once(" in ") {
                _ if *wanted == "*" => true,
                Some(_) => said == *wanted,
                None => said.split(" in ").next() == Some(wanted),
            };
            if !fits {
                misses.push(format!("{text}, chord {}: {said}, not {wanted}", at + 1));
            }
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}
