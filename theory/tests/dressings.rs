//! Ways to dress a chord, against tables that were written by hand, and the laws that every
//! dressing keeps.

#[path = "data/mod.rs"]
mod data;
#[path = "dressings/laws.rs"]
mod laws;
#[path = "dressings/moves.rs"]
mod moves;
#[path = "dressings/places.rs"]
mod places;

use guidehand_theory::chord::Chord;
use guidehand_theory::dressing::{Around, Dressing, Place, Step, dressings};
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::symbol::{self, Sign, Symbol};
use guidehand_theory::voicing::{Form, Voicing};

const OF_DOMINANTS: &str = include_str!("data/dressings-of-dominants.txt");
const OF_OTHERS: &str = include_str!("data/dressings-of-other-chords.txt");

fn chord(text: &str) -> Chord {
    symbol::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn form(text: &str) -> Option<Form> {
    match text {
        "A" => Some(Form::A),
        "B" => Some(Form::B),
        _ => None,
    }
}

/// A place from the words of a table: chord, chord before, chord after, key, form.
fn place(words: [&str; 5]) -> Place {
    let [here, before, after, key, letter] = words;
    let near = |text: &str| (!text.is_empty()).then(|| chord(text));
    let around = Around {
        before: near(before),
        after: near(after),
        key: Key::parse(key),
    };
    let place = Place::among(chord(here), &around, form(letter), &Taste::default());
    place.unwrap_or_else(|| panic!("{words:?}"))
}

fn notes(place: &Place, voicing: &Voicing) -> String {
    let notes: Vec<String> = voicing
        .spelled(place.placed.chord.root)
        .map(|n| n.to_string())
        .collect();
    notes.join(" ")
}

fn symbol_of(step: &Step) -> String {
    Symbol(step.symbol(), Sign::Ascii).to_string()
}

fn of<'a>(all: &'a [Dressing], name: &str) -> &'a Dressing {
    let found = all.iter().find(|d| d.name.to_string() == name);
    found.unwrap_or_else(|| {
        let names: Vec<String> = all.iter().map(|d| d.name.to_string()).collect();
        panic!("{name:?} is not among {names:?}")
    })
}

/// Every place of both tables, in a key by fifths away from the table's.
fn all_places(fifths: i8) -> Vec<Place> {
    let rows = [OF_DOMINANTS, OF_OTHERS].map(data::rows::<7>);
    let heads = rows.into_iter().flatten();
    let heads = heads.filter_map(|[first, rest @ ..]| Some((first.strip_prefix('=')?, rest)));
    heads
        .map(|(here, [before, after, key, letter, ..])| {
            let near = |text: &str| (!text.is_empty()).then(|| chord(text).transposed(fifths));
            let key = Key::parse(key).map(|key| Key {
                tonic: key.tonic.along_fifths(fifths),
                ..key
            });
            let around = Around {
                before: near(before),
                after: near(after),
                key,
            };
            let here = chord(here.trim()).transposed(fifths);
            Place::among(here, &around, form(letter), &Taste::default()).unwrap()
        })
        .collect()
}

fn dressed(words: [&str; 5]) -> (Place, Vec<Dressing>) {
    let place = place(words);
    let all = dressings(&place);
    (place, all)
}
