//! What the document promises: picks go with their chords, are told of where they are dropped, and
//! are saved and read back whole.

mod own;

use super::pick::{ChosenScale, Pin};
use super::place::{chords_of, symbol};
use super::remark::Picked;
use super::*;
use guidehand_theory::candidates::{Hand, Register};
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::pin::NotesError;
use guidehand_theory::pipeline;
use guidehand_theory::pitch::{MidiNote, NoteNames};
use guidehand_theory::symbol as symbols;
use proptest::prelude::*;
use std::num::NonZeroU16;

const ENGLISH: NoteNames = NoteNames::English;

fn notes(keys: &[u8]) -> PinNotes {
    PinNotes::new(keys.iter().map(|key| MidiNote::new(*key).unwrap())).unwrap()
}

fn keys(notes: &PinNotes) -> Vec<u8> {
    notes.notes().iter().map(|note| note.number()).collect()
}

/// The n-th chord of a text.
fn at(text: &str, index: usize) -> ChordAt {
    ChordAt {
        index,
        symbol: symbol(&chords_of(text, ENGLISH)[index].unwrap()),
    }
}

fn only(pass: u16) -> Pass {
    Pass::Only(NonZeroU16::new(pass).unwrap())
}

/// A text with one voicing pinned every time.
fn pinned(text: &str, index: usize, keys: &[u8]) -> Document {
    let document = Document::from(text);
    let picks = document
        .picks
        .pin(at(text, index), Pass::Every, notes(keys));
    document.with(picks)
}

/// Where its pins are.
fn pins(document: &Document) -> Vec<(usize, &str)> {
    let pins = document.picks.pins().iter();
    pins.map(|pin| (pin.at.index, pin.at.symbol.as_str()))
        .collect()
}

/// The A form of G13: F A B E.
const G13: [u8; 4] = [53, 57, 59, 64];

#[test]
fn a_pin_goes_with_its_chord() {
    let document = pinned("| Dm7 | G7 | Cmaj7 | A7 |", 1, &G13);
    for (text, expected) in [
        ("| Dm7 | G7 | Cmaj7 | % |", vec![(1, "G7")]),
        ("| Am7 | Dm7 | G7 | Cmaj7 | A7 |", vec![(2, "G7")]),
        ("| Am7 D7 | Bb7 | Dm7 | G7 | Cmaj7 |", vec![(4, "G7")]),
        ("|: G7 | Cmaj7 | A7 :|", vec![(0, "G7")]),
        ("[A] | Dm7 | / G7 / / | Cmaj7 | A7 |", vec![(1, "G7")]),
        ("| Dm7 | N.C. | G7 | Cmaj7 | A7 |", vec![(1, "G7")]),
        // The same chord by another spelling.
        ("| D-7 | Gdom7 | CM7 | A7 |", vec![(1, "G7")]),
        // Chords that the notes fit.
        ("| Dm7 | G13 | Cmaj7 | A7 |", vec![(1, "G13")]),
        ("| Dm7 | Db7 | Cmaj7 | A7 |", vec![(1, "Db7")]),
        // Chords that they do not fit.
        ("| Dm7 | Gm7 | Cmaj7 | A7 |", vec![]),
        ("| Dm7 | G7b9 | Cmaj7 | A7 |", vec![]),
        ("| Dm7 | Cmaj7 | A7 |", vec![]),
        ("", vec![]),
        // A word that cannot be read is on its way to a chord.
        ("| Dm7 | G7( | Cmaj7 | A7 |", vec![(1, "G7")]),
    ] {
        let followed = document.edited(text, ENGLISH, None);
        assert_eq!(pins(&followed.document), expected, "{text}");
        assert_eq!(&*followed.document.text, text);
        let told = usize::from(expected.is_empty());
        assert_eq!(followed.dropped.len(), told, "{text}");
        let mut kept = followed.document.picks.pins().iter();
        assert!(kept.all(|pin| keys(&pin.notes) == G13), "{text}");
    }
}

#[test]
fn what_is_dropped_is_told() {
    let text = "| Dm7 | G7 | Cmaj7 |";
    let document = pinned(text, 1, &G13);
    let altered = ScaleName {
        name: "altered".to_owned(),
        above: 0,
    };
    let document = document.with(document.picks.choose(at(text, 1), Some(altered)));
    let changed = document.edited("| Dm7 | Gmaj7 | Cmaj7 |", ENGLISH, None);
    let told: Vec<String> = changed.dropped.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "The pinned voicing of G7 is dropped: it does not fit Gmaj7.",
            "The scale chosen for G7 is dropped: it does not fit Gmaj7."
        ]
    );
    let gone = document.edited("| Dm7 | Cmaj7 |", ENGLISH, None);
    let told: Vec<String> = gone.dropped.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "The pinned voicing of G7 is gone with it.",
            "The scale chosen for G7 is gone with it."
        ]
    );
    assert!(gone.document.picks.is_empty());
    let what = |dropped: &[Dropped]| dropped.iter().map(|d| d.what).collect::<Vec<_>>();
    assert_eq!(what(&gone.dropped), [Picked::Voicing, Picked::Scale]);
}

/// Typing the same chord in front of a pinned one leaves the pin where it was.
#[test]
fn what_lies_behind_the_cursor_stays() {
    let document = pinned("| Dm7 | G7 |", 0, &[53, 57, 60, 64]);
    let text = "| Dm7 | Dm7 | G7 |";
    let cursor = "| Dm7 | ".len();
    let typed = document.edited(text, ENGLISH, Some(cursor));
    assert_eq!(pins(&typed.document), [(1, "Dm7")]);
    let behind = document.edited(text, ENGLISH, Some("| Dm7 | Dm7".len()));
    assert_eq!(pins(&behind.document), [(0, "Dm7")]);
    // A place beyond the text and one within a letter say nothing.
    for cursor in [1000, "| Dm7 | G7 |".len() + 1] {
        let text = "| Dm7 | G7 | Ø";
        let typed = document.edited(text, ENGLISH, Some(cursor));
        assert_eq!(pins(&typed.document), [(0, "Dm7")]);
    }
}

/// Scales that are played over a chord in some key (common practice, no published source).
#[test]
fn a_scale_stays_as_long_as_it_is_suggested() {
    let scale = |name: &str, above| ScaleName {
        name: name.to_owned(),
        above,
    };
    for (name, above, chord, fits) in [
        ("Mixolydian", 0, "G7", true),
        ("Mixolydian", 0, "G13", true),
        ("Mixolydian", 0, "G7b9", false),
        ("altered", 0, "G7", true),
        ("altered", 0, "G7alt", true),
        ("altered", 0, "G13", false),
        ("Lydian", 0, "Cmaj7", true),
        ("Lydian", 0, "Cm7", false),
        ("Dorian", 0, "Dm7", true),
        ("Dorian", 0, "Dm7b5", false),
        // The blues scale of the key of F7 as IV7 lies a fifth above.
        ("blues", 7, "F7", true),
        ("blues", 6, "F7", false),
        ("Mixolydian", 3, "G7", false),
        ("no such scale", 0, "G7", false),
    ] {
        let written = symbols::parse(chord).unwrap();
        let found = scale(name, above).fits(&written);
        assert_eq!(found, fits, "{name} over {chord}");
    }
}

#[test]
fn picks_move_with_the_key_and_stay_in_the_register() {
    let text = "| Dm7 | G7 |";
    let register = Register::DEFAULT;
    let document = pinned(text, 1, &G13);
    let up = document.transposed("| Ebm7 | Ab7 |", 1, ENGLISH, &register);
    assert_eq!(up.dropped, []);
    assert_eq!(pins(&up.document), [(1, "Ab7")]);
    assert_eq!(keys(&up.document.picks.pins()[0].notes), [54, 58, 60, 65]);
    let down = up.document.transposed(text, -1, ENGLISH, &register);
    assert_eq!(down.document, document);
    // A half step below D3.
    let far = document.transposed("| Bbm7 | Eb7 |", -4, ENGLISH, &register);
    assert_eq!(keys(&far.document.picks.pins()[0].notes), [49, 53, 55, 60]);
    let far = document.transposed("| F#m7 | B7 |", -8, ENGLISH, &register);
    assert_eq!(keys(&far.document.picks.pins()[0].notes), [57, 61, 63, 68]);
}

#[test]
fn a_pin_that_finds_no_place_in_the_new_key_is_told_of() {
    let document = pinned("| Dm7 | G7 |", 1, &[0, 127]);
    let up = document.transposed("| Ebm7 | Ab7 |", 1, ENGLISH, &Register::DEFAULT);
    assert!(up.document.picks.is_empty());
    let told: Vec<String> = up.dropped.iter().map(ToString::to_string).collect();
    let expected = "The pinned voicing of G7 is dropped: MIDI has no place for its notes over Ab7.";
    assert_eq!(told, [expected]);
}

#[test]
fn notes_are_sorted_and_counted() {
    let note = |key| MidiNote::new(key).unwrap();
    let sorted = PinNotes::new([note(64), note(53), note(64)]).unwrap();
    assert_eq!(keys(&sorted), [53, 64]);
    assert_eq!(PinNotes::new([]), Err(NotesError::NoNotes));
    let nine = PinNotes::new((60..69).map(note));
    assert_eq!(nine, Err(NotesError::TooMany(9)));
}

fn read(text: &str) -> Chart {
    chart::parse(text).unwrap_or_else(|e| panic!("{text}: {e:?}"))
}

/// The index and the pass of each change.
fn played(text: &str) -> Vec<Option<(usize, u16, u16)>> {
    let played = ChordPlayed::of(&read(text)).into_iter();
    played
        .map(|one| one.map(|p| (p.index, p.pass, p.passes)))
        .collect()
}

#[test]
fn a_chord_is_counted_each_time_it_is_played() {
    let some = |index, pass, passes| Some((index, pass, passes));
    assert_eq!(
        played("|: Dm7 G7 | % :| N.C. | C6 |"),
        [
            some(0, 1, 4),
            some(1, 1, 4),
            some(0, 2, 4),
            some(1, 2, 4),
            some(0, 3, 4),
            some(1, 3, 4),
            some(0, 4, 4),
            some(1, 4, 4),
            None,
            some(2, 1, 1),
        ]
    );
    assert_eq!(
        played("|: C6 |1. F6 :|2. G7 |"),
        [some(0, 1, 2), some(1, 1, 1), some(0, 2, 2), some(2, 1, 1)]
    );
}

/// A pin for one time comes before the one for every time, and one for every time ends the others.
#[test]
fn a_pin_holds_every_time_or_once() {
    let text = "|: Dm7 | G7 :|";
    let chart = read(text);
    let placed = pipeline::place(&chart, None);
    let sounding = |document: &Document| -> Vec<(usize, Vec<u8>)> {
        let pinned = document
            .picks
            .pinned(&chart, &placed, Hand::DEFAULT)
            .into_iter();
        let keys = pinned.map(|(at, voiced)| {
            let notes = voiced.voicing.notes();
            (at, notes.map(MidiNote::number).collect())
        });
        keys.collect()
    };
    let low = [41, 45, 47, 52];
    let every = pinned(text, 1, &G13);
    assert_eq!(sounding(&every), [(1, G13.to_vec()), (3, G13.to_vec())]);
    let once = every.with(every.picks.pin(at(text, 1), only(2), notes(&low)));
    assert_eq!(sounding(&once), [(1, G13.to_vec()), (3, low.to_vec())]);
    let not_once = once.with(once.picks.unpin(&at(text, 1), only(2), 2));
    assert_eq!(sounding(&not_once), [(1, G13.to_vec())]);
    let first_gone = every.with(every.picks.unpin(&at(text, 1), only(1), 2));
    assert_eq!(sounding(&first_gone), [(3, G13.to_vec())]);
    let again = once.with(once.picks.pin(at(text, 1), Pass::Every, notes(&low)));
    assert_eq!(sounding(&again), [(1, low.to_vec()), (3, low.to_vec())]);
    let gone = once.with(once.picks.unpin(&at(text, 1), Pass::Every, 2));
    assert_eq!(gone, Document::from(text));
}

/// A state of another making may hold pins for chords that its text does not have.
#[test]
fn a_pin_for_another_chord_does_not_sound() {
    let pin = Pin {
        at: ChordAt {
            index: 1,
            symbol: "Gm7".to_owned(),
        },
        pass: Pass::Every,
        notes: notes(&G13),
        later: Unknown::new(),
    };
    let chart = read("| Dm7 | G7 |");
    let placed = pipeline::place(&chart, None);
    let picks = Picks::new(vec![pin], Vec::new());
    assert_eq!(picks.pinned(&chart, &placed, Hand::DEFAULT), []);
}

#[test]
fn picks_are_saved_as_json_and_read_back() {
    let text = "|: Dm7 | G7 :|";
    let document = pinned(text, 1, &G13);
    let blues = ScaleName {
        name: "blues".to_owned(),
        above: 7,
    };
    let picks = document.picks.pin(at(text, 0), only(2), notes(&[53, 60]));
    let document = document.with(picks.choose(at(text, 1), Some(blues)));
    let saved = SavedPicks::of(&document.picks);
    let json = serde_json::to_value(&saved).unwrap();
    let expected = serde_json::json!({
        "pins": [
            {"chord": 0, "symbol": "Dm7", "pass": 2, "notes": [53, 60]},
            {"chord": 1, "symbol": "G7", "notes": [53, 57, 59, 64]},
        ],
        "scales": [{"chord": 1, "symbol": "G7", "scale": "blues", "above": 7}],
    });
    assert_eq!(json, expected);
    assert_eq!(saved.document(text), document);
    let none = serde_json::to_value(SavedPicks::of(&Picks::default())).unwrap();
    assert_eq!(none, serde_json::json!({}));
}

/// What a later version adds is kept, and so is what cannot be read.
#[test]
fn nothing_that_was_saved_is_lost() {
    let json = serde_json::json!({
        "pins": [
            {"chord": 1, "symbol": "G7", "notes": [53, 57], "finger": 3},
            {"chord": 0, "symbol": "Dm7", "notes": []},
            {"chord": 0, "symbol": "Dm7", "notes": [53, 200]},
            {"chord": 0, "symbol": "Dm7", "notes": [1, 2, 3, 4, 5, 6, 7, 8, 9]},
            {"chord": 0, "symbol": "Dm7", "pass": 0, "notes": [53]},
            {"chord": -1, "symbol": "Dm7", "notes": [53]},
            "Dm7",
        ],
        "scales": [{"chord": 1, "symbol": "G7", "scale": "Altered", "above": 12}, 5],
    });
    let saved: SavedPicks = serde_json::from_value(json.clone()).unwrap();
    let document = saved.document("| Dm7 | G7 |");
    assert_eq!(pins(&document), [(1, "G7")]);
    assert_eq!(
        serde_json::to_value(SavedPicks::of(&document.picks)).unwrap(),
        json
    );
    let edited = document
        .edited("| Am7 | Dm7 | G7 |", ENGLISH, None)
        .document;
    let saved = serde_json::to_value(SavedPicks::of(&edited.picks)).unwrap();
    assert_eq!(saved["pins"][0]["finger"], 3);
    assert_eq!(saved["pins"].as_array().unwrap().len(), 7);
    let odd: SavedPicks = serde_json::from_value(serde_json::json!({"pins": 5})).unwrap();
    assert_eq!(odd.pins, [5]);
}

/// A chord that is the only one of its kind is the same one wherever it stands.
#[test]
fn a_chord_that_changes_places_takes_its_pin_along() {
    let document = pinned("| Dm7 | G7 | Cmaj7 | Am7 |", 1, &G13);
    for (text, index) in [
        ("| G7 | Dm7 | Cmaj7 | Am7 |", 0),
        ("| Dm7 | Cmaj7 | Am7 | G7 |", 3),
        ("| Am7 | Db7 | Cmaj7 | G7 | Dm7 |", 3),
    ] {
        let followed = document.edited(text, ENGLISH, None);
        assert_eq!(pins(&followed.document), [(index, "G7")], "{text}");
    }
}

/// Two texts with nothing in common, longer than is compared chord by chord.
#[test]
fn a_long_text_may_become_another_long_one() {
    let long = |chord: &str, other: &str| format!("| {chord} {other} ").repeat(1500);
    let document = pinned(&long("Dm7", "G7"), 1, &G13);
    let other = long("Em7", "Gmaj7");
    let followed = document.edited(&other, ENGLISH, None);
    assert_eq!(pins(&followed.document), []);
    let same_roots = document.edited(&long("Fm7", "Db7"), ENGLISH, None);
    assert_eq!(pins(&same_roots.document), [(1, "Db7")]);
}

/// Chords that stand in random texts, with signs between them.
fn texts() -> impl Strategy<Value = Vec<&'static str>> {
    let word = prop::sample::select(vec![
        "Dm7", "G7", "Cmaj7", "A7", "F/G", "N.C.", "% |", "/", "| [B]", "C7 b9", "Bb6",
    ]);
    prop::collection::vec(word, 1..24)
}

fn text_of(words: &[&str]) -> String {
    let words: Vec<String> = words.iter().map(|word| format!("| {word} ")).collect();
    format!("|: Ebm7 {} :|", words.concat())
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Both ways to count the chords of a text agree: by its words, and by what its chart plays.
    #[test]
    fn the_words_and_the_chart_count_the_same_chords(words in texts()) {
        let text = text_of(&words);
        if let Ok(chart) = chart::parse(&text) {
            let by_words = chords_of(&text, ENGLISH);
            let played = ChordPlayed::of(&chart);
            for one in played.iter().flatten() {
                prop_assert_eq!(by_words.get(one.index), Some(&Some(one.chord)), "{}", text);
                prop_assert!(Document::from(&text).has(&one.at(), ENGLISH));
            }
            let mut indices: Vec<usize> = played.iter().flatten().map(|p| p.index).collect();
            indices.sort_unstable();
            indices.dedup();
            prop_assert_eq!(indices.len(), by_words.len(), "{}", text);
        }
    }

    /// A chord that is the only one of its kind keeps its pin, whatever comes and goes around it.
    #[test]
    fn a_pin_outlasts_edits_elsewhere(before in texts(), after in texts(), put in texts()) {
        let around = |words: &[&str]| {
            let (first, last) = words.split_at(words.len() / 2);
            format!("{} | F#m7 | {}", text_of(first), text_of(last))
        };
        let text = around(&before);
        let is_it = |chord: &Option<_>| chord.is_some_and(|c| symbol(&c) == "F#m7");
        let index = |text: &str| chords_of(text, ENGLISH).iter().position(is_it).unwrap();
        let mut document = pinned(&text, index(&text), &[57, 61, 64, 68]);
        for words in [&after, &put, &before] {
            let text = around(words);
            let followed = document.edited(&text, ENGLISH, None);
            prop_assert_eq!(&followed.dropped, &[]);
            document = followed.document;
            prop_assert_eq!(pins(&document), [(index(&text), "F#m7")]);
        }
    }

    /// Picks are the same after they have been saved.
    #[test]
    fn random_picks_come_back(
        picked in prop::collection::vec((0_usize..9, 0_u16..4, prop::collection::btree_set(0_u8..128, 1..=6)), 0..9),
        scales in prop::collection::vec((0_usize..9, 0_u8..12), 0..9),
    ) {
        let chord = |index| ChordAt { index, symbol: "Dm7".to_owned() };
        let pins = picked.into_iter().map(|(index, pass, keys)| Pin {
            at: chord(index),
            pass: NonZeroU16::new(pass).map_or(Pass::Every, Pass::Only),
            notes: notes(&keys.into_iter().collect::<Vec<_>>()),
            later: Unknown::new(),
        });
        let scales = scales.into_iter().map(|(index, above)| ChosenScale {
            at: chord(index),
            scale: ScaleName { name: "Dorian".to_owned(), above },
            later: Unknown::new(),
        });
        let picks = Picks::new(pins.collect(), scales.collect());
        let json = serde_json::to_string(&SavedPicks::of(&picks)).unwrap();
        let saved: SavedPicks = serde_json::from_str(&json).unwrap();
        let back = saved.document("");
        prop_assert_eq!(&*back.picks, &picks);
        let again = serde_json::to_string(&SavedPicks::of(&back.picks)).unwrap();
        prop_assert_eq!(again, json);
    }
}
