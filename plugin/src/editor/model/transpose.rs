//! A chart a half step higher or lower: the names in its symbols move, everything
//! else stays as it was typed. The panel runs it; `chart` imports it. Imports the theory.

use guidehand_theory::chart::{self, WordKind};
use guidehand_theory::chord::Chord;
use guidehand_theory::key;
use guidehand_theory::pitch::{NoteName, NoteNames};
use guidehand_theory::slash;
use guidehand_theory::symbol::{self, NamedSymbol, Sign};
use std::collections::HashMap;

/// Up or down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// A half step up.
    Up,
    /// A half step down.
    Down,
}

impl Direction {
    /// The two ways along the line of fifths, towards flats and towards sharps.
    const fn ways(self) -> [i8; 2] {
        match self {
            Direction::Up => [-5, 7],
            Direction::Down => [-7, 5],
        }
    }

    /// The other one.
    #[must_use]
    pub const fn back(self) -> Direction {
        match self {
            Direction::Up => Direction::Down,
            Direction::Down => Direction::Up,
        }
    }
}

/// The text with all its chords a half step away; words that are no chords stay.
#[must_use]
pub fn transposed(text: &str, direction: Direction, names: NoteNames) -> String {
    let words = chart::cut(text, names).into_iter();
    let shares = words.filter(|(_, kind)| *kind == WordKind::Share);
    let chords: Vec<_> = shares
        .filter_map(|(source, _)| {
            let chord = symbol::parse_with(text.get(source.clone())?, names).ok()?;
            Some((source, chord))
        })
        .collect();
    let fifths = way(
        &chords.iter().map(|(_, c)| Some(*c)).collect::<Vec<_>>(),
        direction,
    );
    let mut out = String::with_capacity(text.len() + 16);
    let mut at = 0;
    for (source, chord) in chords {
        out.push_str(text.get(at..source.start).unwrap_or(""));
        let word = text.get(source.clone()).unwrap_or("");
        out.push_str(&moved(word, &chord, fifths, names));
        at = source.end;
    }
    out.push_str(text.get(at..).unwrap_or(""));
    out
}

/// The way along the line of fifths that leaves the key in force for most of the
/// chords with the fewest signs; of equals, flats.
fn way(chords: &[Option<Chord>], direction: Direction) -> i8 {
    let mut signatures: HashMap<i8, usize> = HashMap::new();
    for function in key::analyse(&slash::all_meant(chords), None)
        .iter()
        .flatten()
    {
        *signatures.entry(function.key.signature()).or_default() += 1;
    }
    let most = signatures
        .into_iter()
        .max_by_key(|(s, count)| (*count, -s.abs(), *s));
    let signature = most.map_or(0, |(signature, _)| signature);
    let [flats, sharps] = direction.ways();
    if (signature + flats).abs() <= (signature + sharps).abs() {
        flats
    } else {
        sharps
    }
}

/// A symbol a way along the line of fifths further; past the readable names the
/// other name of the same root.
fn moved(word: &str, chord: &Chord, fifths: i8, names: NoteNames) -> String {
    let root = chord.root.along_fifths(fifths).readable();
    let fifths = root.fifths() - chord.root.fifths();
    let after = chord.transposed(fifths);
    let renamed = renamed(word, fifths, names);
    // Where the words of a symbol hide its names, it is written anew.
    match renamed {
        Some(text) if symbol::parse_with(&text, names) == Ok(after) => text,
        _ => NamedSymbol(&after, Sign::Ascii, names).to_string(),
    }
}

/// The symbol as it was typed, with other names at its start and after slashes.
fn renamed(word: &str, fifths: i8, names: NoteNames) -> Option<String> {
    let read = match names {
        NoteNames::English => NoteName::read,
        NoteNames::German => NoteName::read_german,
    };
    let mut out = String::with_capacity(word.len() + 2);
    for (part, nth) in word.split('/').zip(0..) {
        if nth > 0 {
            out.push('/');
        }
        match read(part) {
            Some((name, rest)) => {
                let name = name.along_fifths(fifths).named(names).to_string();
                if word.contains(['♭', '♯']) {
                    out.push_str(&name.replace('b', "♭").replace('#', "♯"));
                } else {
                    out.push_str(&name);
                }
                out.push_str(rest);
            }
            None if nth == 0 => return None,
            None => out.push_str(part),
        }
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::key::{Key, Mode};
    use guidehand_theory::pitch::PitchClass;

    const TURN: &str = "[A] |: Dm7  | G-7 C7(b9, b13)|  Cmaj7/E %  | N.C. :|\n 3/4| C6/9 |";

    fn english(text: &str, direction: Direction) -> String {
        transposed(text, direction, NoteNames::English)
    }

    /// Common practice, no published source: B is B flat, H is B natural.
    #[test]
    fn german_names_stay_german() {
        let text = "| Dm7/C | G7 b9 | Cmaj7 | H7 |";
        let moved = |text: &str, direction| transposed(text, direction, NoteNames::German);
        let up = moved(text, Direction::Up);
        assert_eq!(up, "| Esm7/Des | As7 b9 | Desmaj7 | C7 |");
        let down = moved(text, Direction::Down);
        assert_eq!(down, "| Cism7/H | Fis7 b9 | Hmaj7 | Ais7 |");
        let back = moved(&up, Direction::Down);
        assert_eq!(back, text);
    }

    #[test]
    fn everything_but_the_names_stays() {
        assert_eq!(
            english(TURN, Direction::Up),
            "[A] |: Ebm7  | Ab-7 Db7(b9, b13)|  Dbmaj7/F %  | N.C. :|\n 3/4| Db6/9 |"
        );
    }

    #[test]
    fn up_and_down_is_where_it_was_in_every_usual_key() {
        let chart = "| IIm7 | V7 | Imaj7 | VI7b9 | IIm7/V | IV6 | bVII7 | I6/9 |";
        let degrees = [
            ("bVII", 10),
            ("IV", 5),
            ("VI", 9),
            ("II", 2),
            ("V", 7),
            ("I", 0),
        ];
        for class in (0..12).map(PitchClass::wrapping) {
            let key = Key::usual(class, Mode::Major);
            let text = degrees
                .iter()
                .fold(chart.to_owned(), |text, (degree, above)| {
                    text.replace(degree, &key.name(class.up(*above)).to_string())
                });
            assert!(chart::parse(&text).is_ok(), "{text}");
            for direction in [Direction::Up, Direction::Down] {
                let there = english(&text, direction);
                assert_ne!(there, text);
                assert_eq!(english(&there, direction.back()), text, "by {there}");
            }
        }
    }

    /// The signs around the chords stay through all twelve keys, and what is played
    /// is the same road.
    #[test]
    fn the_road_is_the_same_in_every_key() {
        let first = "Am I Late\nPickup C7 b9 |: F6 | Dm7 . . C7 alt :| x3\n\
            Bridge: Segno Bbmaj7 Gm7 C7 | | even F6 C7 Dm7 | %% To Coda | C7 D.S. al Coda |\n\
            Coda | F6 | Gm7 C7 |]";
        let signs = |text: &str| -> Vec<String> {
            let words = chart::cut(text, NoteNames::English).into_iter();
            let signs = words.filter(|(_, kind)| *kind != WordKind::Share);
            signs.map(|(source, _)| text[source].to_owned()).collect()
        };
        let road = |text: &str| -> Vec<usize> {
            let chart = chart::parse(text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
            chart.bars.iter().map(|bar| bar.written).collect()
        };
        for direction in [Direction::Up, Direction::Down] {
            let mut text = first.to_owned();
            for _ in 0..12 {
                let next = english(&text, direction);
                assert_ne!(next, text);
                assert_eq!(signs(&next), signs(first), "{next}");
                assert_eq!(road(&next), road(first), "{next}");
                text = next;
            }
            assert_eq!(text, first);
        }
    }

    /// Twelve half steps lead back to the first name, through every key.
    #[test]
    fn twelve_steps_are_an_octave() {
        for direction in [Direction::Up, Direction::Down] {
            let first = "| Dm7 | G7 | Cmaj7 | A7 |".to_owned();
            let mut seen = vec![first.clone()];
            for _ in 0..12 {
                let next = english(seen.last().unwrap(), direction);
                seen.push(next);
            }
            assert_eq!(seen.last(), Some(&first));
            seen.dedup();
            assert_eq!(seen.len(), 13);
        }
    }

    #[test]
    fn what_is_no_chord_stays_and_the_rest_moves() {
        let text = "| H7 | Am7x | G7 / | Cmaj7 |";
        assert_eq!(
            english(text, Direction::Down),
            "| H7 | Am7x | F#7 / | Bmaj7 |"
        );
        assert_eq!(english("", Direction::Up), "");
    }

    #[test]
    fn symbols_keep_their_signs_and_their_spelling() {
        for (text, up) in [
            ("| A♭△7 |", "| A△7 |"),
            ("| D/C7 |", "| Eb/Db7 |"),
            ("| CΔ7 | C-7 |", "| DbΔ7 | Db-7 |"),
        ] {
            if chart::parse(text).is_ok() {
                assert_eq!(english(text, Direction::Up), up);
            }
        }
    }

    /// What is heard moves by a half step, whatever the spelling.
    #[test]
    fn every_root_sounds_a_half_step_higher() {
        let text = "| F#m7b5/C | B7b9b13 | Gbmaj13#11/Db | Ebm(maj7) | Cbmaj7 | B#7 | Fb6 | E#m7 |";
        let roots = |text: &str| -> Vec<u8> {
            let chart = chart::parse(text).unwrap();
            let chords = chart.changes.iter().filter_map(|c| c.chord);
            chords.map(|c| c.root.class().number()).collect()
        };
        let up: Vec<u8> = roots(text).iter().map(|class| (class + 1) % 12).collect();
        assert_eq!(roots(&english(text, Direction::Up)), up);
    }
}
