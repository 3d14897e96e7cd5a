//! A chart a half step higher or lower: the names in its symbols move, everything
//! else stays as it was typed. The panel runs it; `chart` imports it. Imports the theory.

use guidehand_theory::chart::{self, WordKind};
use guidehand_theory::chord::{Chord, Triad};
use guidehand_theory::key::{self, Key};
use guidehand_theory::pipeline;
use guidehand_theory::pitch::{NoteName, NoteNames};
use guidehand_theory::slash;
use guidehand_theory::symbol::{self, NamedSymbol, Sign};
use guidehand_theory::transpose;
use std::collections::HashMap;
use std::ops::Range;

/// Up or down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// A half step up.
    Up,
    /// A half step down.
    Down,
}

impl Direction {
    const fn half_steps(self) -> i8 {
        match self {
            Direction::Up => 1,
            Direction::Down => -1,
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

/// A symbol's place in the text, in bytes, and its chord.
type Placed = (Range<usize>, Chord);

/// The text with all its chords a half step away; words that are no chords stay. Chords are spelled
/// as on a practice sheet.
#[must_use]
pub fn transposed(text: &str, direction: Direction, names: NoteNames) -> String {
    let words = chart::cut(text, names).into_iter();
    let shares = words.filter(|(_, kind)| *kind == WordKind::Share);
    let chords: Vec<Placed> = shares
        .filter_map(|(source, _)| {
            let chord = symbol::parse_with(text.get(source.clone())?, names).ok()?;
            Some((source, chord))
        })
        .collect();
    let keys = keys(text, names, &chords);
    let in_keys = chords.iter().zip(keys).map(|((_, c), key)| Some((*c, key)));
    let after = transpose::transposed(&in_keys.collect::<Vec<_>>(), direction.half_steps());
    let mut out = String::with_capacity(text.len() + 16);
    let mut at = 0;
    for ((source, chord), after) in chords.into_iter().zip(after) {
        out.push_str(text.get(at..source.start).unwrap_or(""));
        let word = text.get(source.clone()).unwrap_or("");
        out.push_str(&moved(word, &chord, &after.unwrap_or(chord), names));
        at = source.end;
    }
    out.push_str(text.get(at..).unwrap_or(""));
    out
}

/// The key of each chord: the one in which it is played first, or in a text that cannot be read the
/// one that it has among the chords around it in the text.
fn keys(text: &str, names: NoteNames, chords: &[Placed]) -> Vec<Key> {
    let found: Vec<Option<Key>> = if let Ok(chart) = chart::parse_with(text, names) {
        let mut keys = HashMap::new();
        for (change, placed) in chart.changes.iter().zip(pipeline::place(&chart, None)) {
            if let Some(placed) = placed {
                keys.entry(change.source.start)
                    .or_insert(placed.function.key);
            }
        }
        let key = |(source, _): &Placed| keys.get(&source.start).copied();
        chords.iter().map(key).collect()
    } else {
        let written: Vec<_> = chords.iter().map(|(_, chord)| Some(*chord)).collect();
        let functions = key::analyse(&slash::all_meant(&written), None).into_iter();
        functions.map(|f| f.map(|function| function.key)).collect()
    };
    // A chord that is no change of its own goes on in the key before it.
    let mut last = found.iter().flatten().next().copied();
    let carried = found.into_iter().map(|key| {
        last = key.or(last);
        last.unwrap_or(Key::C_MAJOR)
    });
    carried.collect()
}

/// The symbol of a chord that has become another one.
fn moved(word: &str, chord: &Chord, after: &Chord, names: NoteNames) -> String {
    // Where the words of a symbol hide its names, it is written anew.
    match renamed(word, chord, after, names) {
        Some(text) if symbol::parse_with(&text, names) == Ok(*after) => text,
        _ => NamedSymbol(after, Sign::Ascii, names).to_string(),
    }
}

/// The symbol as it was typed, with other names at its start and after slashes.
fn renamed(word: &str, chord: &Chord, after: &Chord, names: NoteNames) -> Option<String> {
    let read = match names {
        NoteNames::English => NoteName::read,
        NoteNames::German => NoteName::read_german,
    };
    let upper = |chord: &Chord| chord.upper.map(Triad::root);
    let pairs = [
        (chord.bass, after.bass),
        (upper(chord), upper(after)),
        (Some(chord.root), Some(after.root)),
    ];
    let mut out = String::with_capacity(word.len() + 2);
    for (part, nth) in word.split('/').zip(0..) {
        if nth > 0 {
            out.push('/');
        }
        match read(part) {
            Some((name, rest)) => {
                let (_, other) = pairs.iter().find(|(before, _)| *before == Some(name))?;
                let name = (*other)?.named(names).to_string();
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
    use guidehand_exchange::practice::{Order, practice};
    use guidehand_theory::key::Mode;
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
        assert_eq!(down, "| Cism7/H | Fis7 b9 | Hmaj7 | B7 |");
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
            let key = match Key::usual(class, Mode::Major) {
                // IV and bVII of G flat are no names of roots.
                key if key.signature() == -6 => Key {
                    tonic: key.tonic.along_fifths(12),
                    ..key
                },
                key => key,
            };
            let text = degrees
                .iter()
                .fold(chart.to_owned(), |text, (degree, above)| {
                    text.replace(degree, &key.name(class.up(*above)).to_string())
                });
            // Nor is bVII of D flat.
            let text = text.replace("Cb", "B");
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

    /// The panel and practice sheets spell alike, each key for itself.
    #[test]
    fn chords_are_spelled_as_on_a_practice_sheet() {
        for text in [
            "| Dm7 G7 | Cmaj7 | Fm7 Bb7 | Ebmaj7/G |",
            "| Em6 | B7/D# | Em6 | Bmaj7 D7 | Gmaj7 Bb7 | Ebmaj7 |",
            "| Cm6/Eb | D7alt | Gm7b5 C7 | Fm6/Ab |",
            "| Ebmaj7 | Abm7 Db7 | Ebmaj7 | Gm7 | Gb7 | Fm7 | E7 |",
            "|: Dm7 | % | Ebm7 | % :| Bbm7 Eb7 | Am7 D7 |",
        ] {
            let sheet = practice(text, Order::HalfSteps).unwrap();
            let of = |text: &str| -> Vec<Option<Chord>> {
                let changes = chart::parse(text).unwrap().changes.into_iter();
                changes.map(|change| change.chord).collect()
            };
            let (rows, count) = (of(&sheet), of(text).len());
            assert_eq!(of(&english(text, Direction::Up)), rows[count..2 * count]);
            assert_eq!(of(&english(text, Direction::Down)), rows[11 * count..]);
        }
        assert_eq!(
            english("| Abm7 Db7 | E♭Δ7/G |", Direction::Up),
            "| Am7 D7 | EΔ7/G♯ |"
        );
    }

    /// A text that cannot be read has keys, too.
    #[test]
    fn half_a_text_is_spelled_by_the_chords_in_it() {
        let text = "| Bm7 E7 | Amaj7 | H7 | Cm7 F7 | Bbmaj7 | [";
        let up = "| Cm7 F7 | Bbmaj7 | H7 | C#m7 F#7 | Bmaj7 | [";
        assert_eq!(english(text, Direction::Up), up);
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
