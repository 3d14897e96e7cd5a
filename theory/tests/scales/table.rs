//! The table of scales, compared with set theory, with its own parents, and with a
//! general library.

use crate::domain::data;
use guidehand_theory::degree::Degree;
use guidehand_theory::pitch::NoteName;
use guidehand_theory::scale::{self, Scale, Suggestion};
use std::collections::{HashMap, HashSet};

/// Every scale on every root with up to two accidentals: each note sounds its
/// degree, and a scale of seven notes has one of each letter. Where it holds b9
/// and #9 together both take the ninth's letter: G Ab A# B, as the trade spells it.
#[test]
fn scales_are_spelled_by_degree() {
    let b9_and_sharp9 = [Degree::Flat9, Degree::Sharp9];
    for scale in scale::all() {
        for root in (-15..=19).map(NoteName::from_fifths) {
            let suggestion = Suggestion {
                scale,
                root,
                ..Suggestion::default()
            };
            let notes: Vec<NoteName> = suggestion.notes().collect();
            for (note, degree) in notes.iter().zip(scale.degrees) {
                let class = root.class().up(degree.interval().semitones);
                assert_eq!(note.class(), class, "{degree} of {root} {}", scale.name);
            }
            let letters: HashSet<_> = notes.iter().map(|n| n.letter).collect();
            let both_ninths = b9_and_sharp9.iter().all(|d| scale.degrees.contains(d));
            if notes.len() == 7 {
                let expected = if both_ninths { 6 } else { 7 };
                assert_eq!(letters.len(), expected, "{root} {}", scale.name);
            }
        }
    }
}

/// Set classes by Allen Forte, The Structure of Atonal Music (1973): prime forms
/// computed here, class names from memory. 8-26 is named by its complement, the
/// minor seventh chord, as tables differ on its own prime form.
const CLASSES: [(&str, &[u8], &[&str]); 9] = [
    (
        "5-35",
        &[0, 2, 4, 7, 9],
        &["major pentatonic", "minor pentatonic"],
    ),
    (
        "7-35",
        &[0, 1, 3, 5, 6, 8, 10],
        &[
            "Ionian",
            "Dorian",
            "Phrygian",
            "Lydian",
            "Mixolydian",
            "Aeolian",
            "Locrian",
        ],
    ),
    (
        "7-34",
        &[0, 1, 3, 4, 6, 8, 10],
        &[
            "melodic minor",
            "Dorian b9",
            "Lydian augmented",
            "Lydian dominant",
            "Mixolydian b13",
            "Locrian natural 9",
            "altered",
        ],
    ),
    (
        "7-32",
        &[0, 1, 3, 4, 6, 8, 9],
        &[
            "harmonic minor",
            "Locrian natural 13",
            "Ionian augmented",
            "Phrygian dominant",
            "harmonic major",
            "Dorian #11",
            "Lydian #9",
            "Dorian b5",
            "Lydian b3",
            "Mixolydian b9",
            "super-Locrian bb7",
        ],
    ),
    (
        "8-28",
        &[0, 1, 3, 4, 6, 7, 9, 10],
        &["half-whole diminished", "whole-half diminished"],
    ),
    ("6-35", &[0, 2, 4, 6, 8, 10], &["whole tone"]),
    ("6-Z47", &[0, 1, 2, 4, 7, 9], &["blues"]),
    (
        "8-23",
        &[0, 1, 2, 3, 5, 7, 8, 10],
        &["bebop dominant", "bebop Dorian"],
    ),
    (
        "8-26, by 4-26",
        &[0, 3, 5, 8],
        &["Phrygian dominant with #9", "bebop major"],
    ),
];

#[test]
fn scales_have_their_set_class() {
    for scale in scale::all().filter(|s| s.name != "chromatic") {
        let mut named = CLASSES
            .iter()
            .filter(|(.., scales)| scales.contains(&scale.name));
        let (class, prime, _) = named
            .next()
            .unwrap_or_else(|| panic!("{} has no class", scale.name));
        let inside: Vec<u8> = semitones(scale).collect();
        let outside: Vec<u8> = (0..12).filter(|c| !inside.contains(c)).collect();
        let set = if prime.len() == inside.len() {
            inside
        } else {
            outside
        };
        assert_eq!(prime_form(&set), *prime, "{} is {class}", scale.name);
    }
}

fn semitones(scale: &Scale) -> impl Iterator<Item = u8> {
    let c = NoteName::from_fifths(0);
    scale.degrees.iter().map(move |d| d.class(c).number())
}

/// The most compact of all rotations of a set and of its inversion, from 0.
fn prime_form(set: &[u8]) -> Vec<u8> {
    let inverted = set.iter().map(|c| (12 - c) % 12).collect();
    let rotations = [set.to_vec(), inverted]
        .into_iter()
        .flat_map(|set: Vec<u8>| {
            set.clone().into_iter().map(move |first| {
                let mut form: Vec<u8> = set.iter().map(|c| (c + 12 - first) % 12).collect();
                form.sort_unstable();
                form
            })
        });
    rotations
        .min_by_key(|form| (form.last().copied(), form.clone()))
        .unwrap()
}

/// A scale that the table calls a mode of another one is that mode.
#[test]
fn modes_are_modes_of_their_parents() {
    let mut modes = 0;
    for scale in scale::all() {
        let Some((parent, place)) = scale.parent.split_once(", ") else {
            continue;
        };
        let Some(digit) = place.strip_suffix("mode").and_then(|p| p.chars().next()) else {
            continue;
        };
        let parent = if parent == "major" { "Ionian" } else { parent };
        let parent = scale::all().find(|s| s.name == parent).unwrap();
        let notes: Vec<u8> = semitones(parent).collect();
        let start = usize::try_from(digit.to_digit(10).unwrap() - 1).unwrap();
        let mut expected: Vec<u8> = notes.iter().map(|n| (n + 12 - notes[start]) % 12).collect();
        expected.sort_unstable();
        assert!(
            semitones(scale).eq(expected),
            "{} of {}",
            scale.name,
            parent.name
        );
        modes += 1;
    }
    assert!(modes > 0);
}

/// A scale that the table calls another one with an added note is that.
#[test]
fn scales_with_a_note_more_are_their_parents_with_it() {
    let mut found = 0;
    for scale in scale::all() {
        let Some((parent, more)) = scale.parent.split_once(" with ") else {
            continue;
        };
        let parent = match parent.strip_suffix(',').unwrap_or(parent) {
            "major" => "Ionian",
            "harmonic minor, 5th mode" => "Phrygian dominant",
            name => name,
        };
        let parent = scale::all().find(|s| s.name == parent).unwrap();
        let more = Degree::from_name(more).unwrap();
        let mut expected: HashSet<u8> = semitones(parent).collect();
        assert!(expected.insert(more.class(NoteName::from_fifths(0)).number()));
        let notes: HashSet<u8> = semitones(scale).collect();
        assert_eq!(notes, expected, "{}", scale.name);
        found += 1;
    }
    assert!(found >= 5, "{found}");
}

#[test]
fn the_diminished_scales_are_rotations_of_each_other() {
    let named = |name| scale::all().find(|s| s.name == name).unwrap();
    let half_whole: Vec<u8> = semitones(named("half-whole diminished")).collect();
    let second = half_whole[1];
    let mut rotated: Vec<u8> = half_whole.iter().map(|n| (n + 12 - second) % 12).collect();
    rotated.sort_unstable();
    assert!(semitones(named("whole-half diminished")).eq(rotated));
}

#[test]
fn scales_ascend() {
    for scale in scale::all() {
        let semitones = scale.degrees.iter().map(|d| d.interval().semitones);
        assert!(semitones.is_sorted_by(|a, b| a < b), "{}", scale.name);
        assert_eq!(scale.degrees.first(), Some(&Degree::Root), "{}", scale.name);
    }
}

/// From the root, the steps lead to every degree and to the octave.
#[test]
fn steps_lead_from_degree_to_degree() {
    for scale in scale::all() {
        let mut at = 0;
        let mut reached: Vec<i8> = scale
            .steps()
            .map(|step| {
                at += match step {
                    "H" => 1,
                    "W" => 2,
                    "W+H" => 3,
                    other => panic!("{other} in {}", scale.name),
                };
                at
            })
            .collect();
        assert_eq!(reached.pop(), Some(12), "{}", scale.name);
        let degrees: Vec<i8> = scale.degrees[1..]
            .iter()
            .map(|d| d.interval().semitones)
            .collect();
        assert_eq!(reached, degrees, "{}", scale.name);
    }
}

/// Common practice, no published source.
#[test]
fn steps_and_other_names_as_players_know_them() {
    for (name, steps, also) in [
        ("Ionian", "W W H W W W H", "major"),
        ("Aeolian", "W H W W H W W", "natural minor"),
        ("melodic minor", "W H W W W W H", "jazz minor"),
        ("altered", "H W H W W W W", "super-Locrian"),
        ("Lydian dominant", "W W W H W H W", "Lydian b7"),
        ("Phrygian dominant", "H W+H H W H W W", "Phrygian major"),
        (
            "half-whole diminished",
            "H W H W H W H W",
            "dominant diminished",
        ),
        (
            "whole-half diminished",
            "W H W H W H W H",
            "diminished scale",
        ),
        ("whole tone", "W W W W W W", ""),
        ("harmonic minor", "W H W W H W+H H", ""),
        ("super-Locrian bb7", "H W H W W H W+H", "ultra-Locrian"),
        ("Locrian natural 9", "W H W H W W W", "Locrian #2"),
        ("major pentatonic", "W W W+H W W+H", "pentatonic"),
        ("minor pentatonic", "W+H W W W+H W", ""),
        ("blues", "W+H W H H W+H W", ""),
    ] {
        let scale = scale::all().find(|s| s.name == name).unwrap();
        let found: Vec<_> = scale.steps().collect();
        assert_eq!(found.join(" "), steps, "{name}");
        assert!(also.is_empty() || scale.also.contains(&also), "{name}");
    }
}

#[test]
fn a_name_means_one_scale() {
    let mut names: HashMap<&str, &Scale> = HashMap::new();
    for scale in scale::all() {
        for name in [scale.name].iter().chain(scale.also) {
            let other = names.insert(name, scale);
            // Phrygian is spelled in two ways.
            let same = other.is_none_or(|o| semitones(o).eq(semitones(scale)));
            assert!(same, "{name} twice");
        }
    }
}

/// Every name of the table, and what a general library sounds for it. The library's name
/// for the scale stands beside the name in the table. The file names the version of the
/// library.
#[test]
fn scales_sound_as_in_a_general_library() {
    let rows = data::rows(include_str!("../data/scales-against-libraries.txt"));
    let mut missing: HashSet<&str> = scale::all()
        .flat_map(|s| [s.name].into_iter().chain(s.also.iter().copied()))
        .collect();
    let mut compared = HashSet::new();
    for [name, theirs, classes] in rows {
        let has = |s: &&Scale| s.name == name || s.also.contains(&name);
        let scale = scale::all()
            .find(has)
            .unwrap_or_else(|| panic!("no scale is called {name}"));
        missing.remove(name);
        assert_eq!(theirs == "-", classes == "-", "{name}");
        if classes != "-" {
            let ours: Vec<_> = semitones(scale).map(|n| n.to_string()).collect();
            assert_eq!(ours.join(" "), classes, "{name}");
            compared.insert(scale.name);
        }
    }
    assert!(missing.is_empty(), "not in the file: {missing:?}");
    assert!(compared.len() >= 30, "{} compared", compared.len());
}
