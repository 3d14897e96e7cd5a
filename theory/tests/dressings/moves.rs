//! The moves that everybody plays, by rows of the table, in twelve keys and both forms. Common
//! practice, no published source, unless a test says otherwise.

use super::{chord, dressed, form, notes, of, symbol_of};
use guidehand_theory::degree::Degree::{
    self, Five, Flat9, Flat13, Four, Nine, Sharp9, Thirteen, Three,
};
use guidehand_theory::dressing::{Around, Dressing, Finger, Place, dressings};
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::symbol::{Sign, Symbol};
use guidehand_theory::voicing::{Form, Position, Voicing};

/// A chord between its neighbours in each of twelve keys, in both forms.
fn everywhere(here: &str, before: &str, after: &str, key: &str) -> Vec<(Form, Place)> {
    let mut places = Vec::new();
    for fifths in -6..=5 {
        for letter in ["A", "B"] {
            let moved = |text: &str| chord(text).transposed(fifths);
            let key = Key::parse(key).unwrap();
            let around = Around {
                before: Some(moved(before)),
                after: Some(moved(after)),
                key: Some(Key {
                    tonic: key.tonic.along_fifths(fifths),
                    ..key
                }),
            };
            let form = form(letter).unwrap();
            let place = Place::among(moved(here), &around, Some(form), &Taste::default());
            places.push((form, place.unwrap()));
        }
    }
    places
}

/// Each finger of a step: the degree that it leaves, the one that it goes to, the half steps.
fn fingers(fingers: &[Finger]) -> Vec<(Degree, Degree, i32)> {
    let degree = |voice: Option<guidehand_theory::voicing::Voice>| voice.unwrap().degree;
    let said = fingers
        .iter()
        .map(|f| (degree(f.from), degree(f.to), f.half_steps().unwrap()));
    said.collect()
}

fn steps(dressing: &Dressing) -> Vec<Vec<(Degree, Degree, i32)>> {
    let steps = dressing.steps.iter();
    steps.map(|step| fingers(&step.fingers)).collect()
}

/// The same place where this dressing sounds.
fn in_place_of(place: &Place, dressing: &Dressing) -> Place {
    Place {
        now: dressing.steps[0].voicing,
        ..*place
    }
}

#[test]
fn a_dominant_dresses_up_by_half_steps() {
    for (_, place) in everywhere("G7", "Dm7", "Cmaj7", "C") {
        let natural = dressings(&place);
        let place = in_place_of(&place, of(&natural, "9 13"));
        let all = dressings(&place);
        let says = notes(&place, &place.now);
        let flat9 = of(&all, "b9 13");
        assert_eq!(steps(flat9), [[(Nine, Flat9, -1)]], "{says}");
        let both = of(&all, "b9 b13");
        assert_eq!(both.fingers, 2);
        let mut moves = steps(both).concat();
        moves.sort_unstable();
        let expected = [(Flat9, Nine), (Flat13, Thirteen)].map(|(to, from)| (from, to, -1));
        let mut expected = expected.to_vec();
        expected.sort_unstable();
        assert_eq!(moves, expected, "{says}");
        let then = dressings(&in_place_of(&place, flat9));
        assert_eq!(steps(of(&then, "b9 b13")), [[(Thirteen, Flat13, -1)]]);
    }
}

#[test]
fn an_altered_dominant_is_the_ninth_chord_a_tritone_away() {
    for (form, place) in everywhere("C7", "Gm7", "Fmaj7", "F") {
        let all = dressings(&place);
        let step = &of(&all, "b9 b13").steps[0];
        let other = step.substitute.unwrap();
        let key = place.placed.function.key;
        let root = key.name(place.placed.chord.root.class().up(6));
        let symbol = Symbol(&other, Sign::Ascii).to_string();
        assert_eq!(symbol, format!("{root}9"), "{}", symbol_of(step));
        // The substitute has the same slots with the other one lowest, so the letter changes.
        let around = Around {
            before: place.before,
            after: place.after,
            key: Some(key),
        };
        let swapped = if form == Form::A { Form::B } else { Form::A };
        let there = Place::among(other, &around, Some(swapped), &Taste::default()).unwrap();
        let its = dressings(&there);
        let its = &of(&its, "9 5").steps[0];
        assert_eq!(least_motion(&step.voicing, &its.voicing), 0, "{symbol}");
    }
    let (_, all) = dressed(["C7", "", "Fm7", "F minor", "B"]);
    let step = &of(&all, "b9 b13").steps[0];
    assert_eq!(
        Symbol(&step.substitute.unwrap(), Sign::Ascii).to_string(),
        "Gb9"
    );
    let (_, all) = dressed(["C7", "G7", "G7", "C blues", "B"]);
    let other = of(&all, "b9 b13").steps[0].substitute.unwrap();
    assert_eq!(Symbol(&other, Sign::Ascii).to_string(), "Gb9");
    // Its root would sound.
    assert_eq!(of(&all, "9 #11").steps[0].substitute, None);
    assert_eq!(of(&all, "plain").steps[0].substitute, None);
}

#[test]
fn inner_lines_lead_on_to_the_next_chord() {
    for (after, key) in [("Cmaj7", "C"), ("Cm7", "C minor")] {
        for (_, place) in everywhere("G7", "Dm7", after, key) {
            let all = dressings(&place);
            let next = place.after.unwrap().root;
            for (name, line, half_steps, arrives) in [
                ("#9 then b9", (Sharp9, Flat9), -2, Five),
                ("13 then b13", (Thirteen, Flat13), -1, Nine),
                ("9 then b9", (Nine, Flat9), -1, Five),
            ] {
                let line_of = of(&all, name);
                let moves = steps(line_of);
                assert_eq!(moves[1], [(line.0, line.1, half_steps)], "{name}");
                let end = line_of.steps[1].fingers[0].to.unwrap().note;
                assert_eq!(end.class().up(-1), arrives.class(next), "{name}");
            }
            let moves = steps(of(&all, "4 then 3"));
            assert_eq!(moves[1], [(Four, Three, -1)]);
        }
    }
    // They are for dominants that fall a fifth.
    let (_, all) = dressed(["Db7", "Dm7", "Cmaj7", "C", "B"]);
    let lines = all.iter().filter(|d| d.steps.len() > 1);
    let names: Vec<String> = lines.map(|d| d.name.to_string()).collect();
    assert_eq!(names, ["4 then 3"]);
}

#[test]
fn a_sharp_nine_lies_well_on_top_and_badly_inside() {
    for (form, place) in everywhere("G7", "Dm7b5", "Cm7", "C minor") {
        let all = dressings(&place);
        let step = &of(&all, "#9 b13").steps[0];
        assert_eq!(step.form(), form);
        assert_eq!(step.sharp_nine_inside(), form == Form::A);
        let other = step.clear_of_the_third.map(|v| v.position);
        assert_eq!(other, (form == Form::A).then_some(Position::Third));
    }
}

/// The least motion between two voicings, wherever the second lies.
fn least_motion(from: &Voicing, to: &Voicing) -> u32 {
    let higher = to.octave_higher().unwrap();
    let lower = from.octave_higher().unwrap();
    let motions = [from.motion(to), from.motion(&higher), lower.motion(to)];
    motions.into_iter().min().unwrap()
}

#[test]
fn cadences_move_as_far_as_they_should() {
    let voicings = |[here, before, after]: [&str; 3], key: &str, name: &str| -> Vec<Voicing> {
        let places = everywhere(here, before, after, key);
        let voicing = |(_, place): &(Form, Place)| of(&dressings(place), name).steps[0].voicing;
        places.iter().map(voicing).collect()
    };
    let two = voicings(["Dm7", "Cmaj7", "G7"], "C", "9");
    let five = voicings(["G7", "Dm7", "Cmaj7"], "C", "9 13");
    let one = voicings(["Cmaj7", "G7", "Dm7"], "C", "9");
    let altered = voicings(["G7", "Dm7b5", "Cm7"], "C minor", "b9 b13");
    let minor = voicings(["Cm7", "G7", "Fm7"], "C minor", "9");
    for (from, to, semitones) in [(&two, &five, 1), (&five, &one, 5), (&altered, &minor, 5)] {
        assert_eq!(from.len(), 24);
        for (a, b) in from.iter().zip(to) {
            assert_eq!(least_motion(a, b), semitones, "{a:?} {b:?}");
        }
    }
}

/// The same rows note for note: a chord in its place and form, how it is dressed, and the chord that
/// it goes to.
#[test]
fn cadences_are_played_note_for_note() {
    type Row<'a> = ([&'a str; 5], &'a str, &'a str);
    let rows: [(Row, Row, u32); 5] = [
        (
            (["Dm7", "Cmaj7", "G7", "C", "A"], "9", "F3 A3 C4 E4"),
            (["G7", "Dm7", "Cmaj7", "C", "A"], "9 13", "F3 A3 B3 E4"),
            1,
        ),
        (
            (["G7", "Dm7", "Cmaj7", "C", "A"], "9 13", "F3 A3 B3 E4"),
            (["Cmaj7", "G7", "Dm7", "C", "A"], "9", "E3 G3 B3 D4"),
            5,
        ),
        (
            (["Gm7", "Fmaj7", "C7", "F", "B"], "9", "F3 A3 Bb3 D4"),
            (["C7", "Gm7", "Fmaj7", "F", "B"], "9 13", "E3 A3 Bb3 D4"),
            1,
        ),
        (
            (["C7", "Gm7", "Fmaj7", "F", "B"], "9 13", "E3 A3 Bb3 D4"),
            (["Fmaj7", "C7", "Gm7", "F", "B"], "9", "E3 G3 A3 C4"),
            5,
        ),
        (
            (
                ["G7", "Dm7b5", "Cm7", "C minor", "A"],
                "b9 b13",
                "F3 Ab3 B3 Eb4",
            ),
            (["Cm7", "G7", "Fm7", "C minor", "A"], "9", "Eb3 G3 Bb3 D4"),
            5,
        ),
    ];
    for (from, to, semitones) in rows {
        let [from, to] = [from, to].map(|(words, name, expected)| {
            let (place, all) = dressed(words);
            let voicing = of(&all, name).steps[0].voicing;
            assert_eq!(notes(&place, &voicing), expected, "{words:?} {name}");
            voicing
        });
        assert_eq!(from.motion(&to), semitones, "{from:?} {to:?}");
    }
}
