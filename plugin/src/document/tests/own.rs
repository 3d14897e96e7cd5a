//! The player's own voicings: what becomes of them when they are edited, joined, saved and loaded.

use super::*;
use crate::document::{JoinError, MyVoicings, VoicingName};
use guidehand_exchange::own_voicings::{self, KeepError, OwnVoicing, OwnVoicings};
use guidehand_theory::candidates::Register;
use guidehand_theory::degree::Degree;
use guidehand_theory::own_shape::{MOST_SHAPES, OwnShape, ShapeFamily, ShapeNote};
use serde_json::json;

fn shape(family: ShapeFamily, degrees: &[&str]) -> OwnShape {
    let note = |name: &&str| ShapeNote {
        degree: Degree::from_name(name).unwrap(),
        octaves: 0,
    };
    let notes: Vec<ShapeNote> = degrees.iter().map(note).collect();
    OwnShape::new(family, &notes).unwrap()
}

fn minor(degrees: &[&str]) -> OwnShape {
    shape(ShapeFamily::MinorSeventh, degrees)
}

fn names(own: &MyVoicings) -> Vec<(&str, &str)> {
    let voicings = own.voicings().iter();
    voicings
        .map(|one| (one.shape.family().name(), one.name.as_str()))
        .collect()
}

fn which(family: ShapeFamily, name: &str) -> VoicingName {
    VoicingName {
        family,
        name: name.to_owned(),
    }
}

/// Two voicings for m7, and one for dominants that has the name of the first.
fn three() -> MyVoicings {
    let own = MyVoicings::default();
    let own = own.with("Wide", minor(&["b7", "9", "b3", "5", "9"]));
    let own = own.unwrap().with("Fourth", minor(&["b3", "11", "b7"]));
    let seventh = shape(ShapeFamily::Dominant, &["b7", "3", "13"]);
    own.unwrap().with("Wide", seventh).unwrap()
}

#[test]
fn voicings_are_kept_renamed_and_taken_away() {
    let own = three();
    let expected = [("m7", "Wide"), ("m7", "Fourth"), ("7", "Wide")];
    assert_eq!(names(&own), expected);
    assert_eq!(own.shapes().len(), 3);
    let minor = ShapeFamily::MinorSeventh;
    let wide = which(minor, "Wide");
    let renamed = own.renamed(&wide, " Doubled ninth ").unwrap();
    assert_eq!(
        names(&renamed),
        [("m7", "Doubled ninth"), ("m7", "Fourth"), ("7", "Wide")]
    );
    assert_eq!(renamed.shapes(), own.shapes());
    let taken = own.renamed(&wide, "Fourth");
    assert_eq!(taken, Err(KeepError::NameTaken(minor)));
    assert_eq!(own.renamed(&wide, " "), Err(KeepError::NoName));
    assert_eq!(own.renamed(&wide, "Wide").unwrap(), own);
    let nobody = which(minor, "Nobody");
    assert_eq!(own.renamed(&nobody, "Somebody").unwrap(), own);
    let rest = own.without(&wide);
    assert_eq!(names(&rest), [("m7", "Fourth"), ("7", "Wide")]);
    assert_eq!(own.without(&nobody), own);
    let again = own.with("Fourth", own.shapes()[0]);
    assert_eq!(again, Err(KeepError::NameTaken(minor)));
}

#[test]
fn there_are_no_more_than_a_plan_takes() {
    let mut own = MyVoicings::default();
    for number in 0..MOST_SHAPES {
        let name = format!("Number {number}");
        own = own.with(&name, minor(&["b3", "b7"])).unwrap();
    }
    let more = own.with("One more", minor(&["b3", "b7"]));
    assert_eq!(more, Err(KeepError::TooMany));
    let mut file = OwnVoicings::default();
    let other = OwnVoicing::new("Another", minor(&["b7", "b3"])).unwrap();
    file.keep(other).unwrap();
    let joined = own.joined(&file);
    assert_eq!(joined, Err(JoinError::TooMany(MOST_SHAPES + 1)));
    let known = own.joined(own.list()).unwrap();
    assert_eq!((known.new, known.known), (0, MOST_SHAPES));
    assert_eq!(known.voicings, own);
}

/// What the player has stays, and nothing of the file is lost.
#[test]
fn the_voicings_of_a_file_join_those_of_the_player() {
    let own = three();
    let mut file = own.list().clone();
    file.voicings[0].shape = minor(&["b7", "b3", "5"]);
    let new = OwnVoicing::new("Low", minor(&["b3", "b7"])).unwrap();
    file.keep(new).unwrap();
    file.unknown.insert("by".to_owned(), json!("a friend"));
    let joined = own.joined(&file).unwrap();
    let expected = [
        ("m7", "Wide"),
        ("m7", "Fourth"),
        ("7", "Wide"),
        ("m7", "Wide 2"),
        ("m7", "Low"),
    ];
    assert_eq!(names(&joined.voicings), expected);
    assert_eq!((joined.new, joined.known), (2, 2));
    let renamed = ("Wide".to_owned(), "Wide 2".to_owned());
    assert_eq!(joined.renamed, [renamed]);
    assert_eq!(joined.voicings.shapes()[..3], own.shapes()[..]);
    let written = own_voicings::write(joined.voicings.list());
    assert!(written.contains("\"by\": \"a friend\""), "{written}");
    assert_eq!(
        own_voicings::read(written.as_bytes()).unwrap(),
        *joined.voicings.list()
    );
    // A second time they are all there.
    let again = joined.voicings.joined(&file).unwrap();
    assert_eq!((again.new, again.known), (0, 4));
    assert_eq!(again.voicings, joined.voicings);
    // Yet another one has a number more.
    file.voicings[0].shape = minor(&["b7", "5"]);
    let again = joined.voicings.joined(&file).unwrap();
    assert_eq!(names(&again.voicings)[5..], [("m7", "Wide 3")]);
    // A long name is cut, so that its number has room.
    let long = "x".repeat(own_voicings::LONGEST_NAME);
    let mine = MyVoicings::default()
        .with(&long, minor(&["b3", "b7"]))
        .unwrap();
    let other = MyVoicings::default()
        .with(&long, minor(&["b7", "b3"]))
        .unwrap();
    let joined = mine.joined(other.list()).unwrap();
    let numbered = &joined.voicings.voicings()[1].name;
    assert_eq!(*numbered, format!("{} 2", &long[2..]));
}

#[test]
fn a_file_may_not_grow_beyond_what_is_read_again() {
    let mut file = OwnVoicings::default();
    let filler = "x".repeat(own_voicings::LARGEST_FILE / 2);
    file.unknown.insert("first".to_owned(), json!(filler));
    let own = MyVoicings::default().joined(&file).unwrap().voicings;
    assert!(own.bytes() > own_voicings::LARGEST_FILE / 2);
    let mut file = OwnVoicings::default();
    file.unknown.insert("second".to_owned(), json!(filler));
    assert_eq!(own.joined(&file), Err(JoinError::TooLarge));
}

#[test]
fn own_voicings_are_saved_with_a_version_and_read_back() {
    let own = three();
    let expected = json!({
        "version": 1,
        "voicings": [
            {"name": "Wide", "family": "m7", "degrees": ["b7", "9", "b3", "5", "9"]},
            {"name": "Fourth", "family": "m7", "degrees": ["b3", "11", "b7"]},
            {"name": "Wide", "family": "7", "degrees": ["b7", "3", "13"]},
        ],
    });
    assert_eq!(own.saved(), Some(expected.clone()));
    assert_eq!(
        MyVoicings::loaded(Some(expected)).voicings(),
        own.voicings()
    );
    assert_eq!(MyVoicings::default().saved(), None);
    assert_eq!(MyVoicings::loaded(None), MyVoicings::default());
    // A whole file is one, too.
    let file: serde_json::Value = serde_json::from_str(&own_voicings::write(own.list())).unwrap();
    assert_eq!(MyVoicings::loaded(Some(file)).list(), own.list());
}

/// What a later version adds is kept, and so is what cannot be read.
#[test]
fn nothing_of_later_voicings_is_lost() {
    let saved = json!({
        "version": 7,
        "voicings": [
            {"name": "Low", "family": "m7", "degrees": ["b3", "b7"], "finger": 3},
            {"name": "Low", "family": "m7", "degrees": ["b7", "b3"]},
            {"name": "Odd", "family": "m9", "degrees": ["b3", "b7"]},
            "Low",
        ],
        "sorted": true,
    });
    let own = MyVoicings::loaded(Some(saved.clone()));
    assert_eq!(names(&own), [("m7", "Low")]);
    assert_eq!(own.saved(), Some(saved));
    let more = own.with("High", minor(&["b7", "b3"])).unwrap();
    let saved = more.saved().unwrap();
    assert_eq!(saved["version"], 7);
    assert_eq!(saved["voicings"].as_array().unwrap().len(), 5);
    assert_eq!(saved["voicings"][0]["finger"], 3);
    assert_eq!(saved["sorted"], true);
    // What is no list at all.
    for odd in [
        json!(5),
        json!("Low"),
        json!([1, 2]),
        json!({"voicings": 5}),
    ] {
        let own = MyVoicings::loaded(Some(odd));
        assert_eq!(names(&own), []);
        let saved = own.saved();
        assert!(saved.is_some());
        assert_eq!(MyVoicings::loaded(saved.clone()).saved(), saved);
    }
}

#[test]
fn own_voicings_outlast_every_edit_of_the_text() {
    let own = std::sync::Arc::new(three());
    let document = pinned("| Dm7 | G7 |", 1, &G13).with_own(own.clone());
    let kept = [
        document.edited("| Am7 |", ENGLISH, None).document,
        document.renamed(NoteNames::German).document,
        document
            .transposed("| Ebm7 | Ab7 |", 1, ENGLISH, &Register::DEFAULT)
            .document,
        document.with(Picks::default()),
        Document::from("| Dm7 |")
            .with_own(own.clone())
            .edited("", ENGLISH, None)
            .document,
    ];
    for document in kept {
        assert_eq!(document.own, own);
    }
    let renamed = own.renamed(&VoicingName::of(&own.voicings()[0]), "Else");
    let renamed = document.with_own(std::sync::Arc::new(renamed.unwrap()));
    assert!(renamed.plays_as(&document) && renamed != document);
    let other = document.with_own(std::sync::Arc::default());
    assert!(!other.plays_as(&document));
}
