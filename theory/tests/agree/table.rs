//! What yields to what, against the table by hand.

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree;
use guidehand_theory::key;
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::symbol;
use guidehand_theory::tension::{self, Above, Outcome, TensionRequests, Tensions, Yield};

const BY_HAND: &str = include_str!("../data/yields-by-hand.txt");

/// The first chord of a progression, so many fifths away.
fn first_of(progression: &str, fifths: i8) -> ChordInKey {
    let chord = |text| symbol::parse(text).unwrap().transposed(fifths);
    let chords: Vec<Option<Chord>> = progression.split(' ').map(|t| Some(chord(t))).collect();
    let functions = key::analyse(&chords, None);
    ChordInKey::new(chords[0].unwrap(), functions[0].unwrap())
}

/// The degrees as a melody above middle C.
fn above(chord: &Chord, degrees: &str) -> Above {
    let middle = MidiNote::clamp(72);
    let class = |name: &str| Degree::from_name(name).unwrap().class(chord.root);
    let notes = degrees
        .split(' ')
        .map(|name| middle.next_of(class(name)).unwrap());
    notes.collect()
}

fn told(yielded: &Yield) -> String {
    let degree = yielded.degree;
    let name = |to: Option<Degree>| to.map_or("-".to_owned(), |to| to.to_string());
    match yielded.outcome {
        Outcome::To(to) => format!("{degree}>{to}"),
        Outcome::LeftOut => format!("{degree}>-"),
        Outcome::WrittenLeftOut(to) => format!("{degree}>>{}", name(to)),
        Outcome::Stands => format!("{degree}!"),
    }
}

fn degrees(choice: &Tensions) -> String {
    let guides = choice.third.into_iter().chain(choice.seventh);
    let names = guides.chain(choice.others.into_iter().take(2));
    names.map(|d| d.to_string()).collect::<Vec<_>>().join(" ")
}

/// Common practice, no published source.
#[test]
fn what_yields_is_as_written_by_hand_in_all_keys() {
    let rows = BY_HAND
        .lines()
        .filter(|l| !l.starts_with('#') && !l.is_empty());
    let mut wrong = Vec::new();
    let mut count = 0;
    for row in rows {
        let [progression, melody, expected, yields] =
            *row.split(';').map(str::trim).collect::<Vec<_>>()
        else {
            panic!("{row}");
        };
        for fifths in -6..=5 {
            let ChordInKey {
                chord, function, ..
            } = first_of(progression, fifths);
            let choices = tension::resolve(&chord, &function, TensionRequests::default());
            let agreed = tension::agree(&choices, &chord, above(&chord, melody));
            let first = agreed.choices[0];
            let found = agreed.yields(&first).iter().map(told).collect::<Vec<_>>();
            let found = format!("{} ; {}", degrees(&first), found.join(" "));
            let expected = format!("{expected} ; {yields}");
            if found != expected && fifths == 0 {
                wrong.push(format!("{progression} ; {melody}: {found}, not {expected}"));
            } else if found != expected {
                wrong.push(format!("{fifths} fifths away: {row}"));
            }
            count += 1;
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(count, 12 * 107);
}
