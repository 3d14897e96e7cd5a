//! The other voicings of a chord in its place.

use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::degree::Degree;
use guidehand_theory::other_voicings::{Motion, OtherVoicing, Place};
use guidehand_theory::own_shape::{Own, OwnShape, ShapeFamily, ShapeNote};
use guidehand_theory::pin;
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::{MidiNote, SpelledPitch};
use guidehand_theory::plan::{Ends, Origin, Voiced};
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::TensionRequests;
use guidehand_theory::voicing::{Form, Voicing};
use std::collections::HashSet;

/// A chart in its keys, planned in four notes.
fn planned(text: &str) -> Vec<(ChordInKey, Voiced)> {
    let chart = chart::parse(text).unwrap();
    let placed = pipeline::place(&chart, None);
    let (texture, register) = (Texture::FourNotes, Register::DEFAULT);
    let plan = pipeline::plan(&placed, texture, register, Ends::Cyclic);
    let both = placed.into_iter().flatten().zip(plan.into_iter().flatten());
    both.collect()
}

/// The others of the chord at an index, between its neighbours.
fn others(
    plan: &[(ChordInKey, Voiced)],
    at: usize,
    taste: &Taste,
    own: Own<'_>,
) -> Vec<OtherVoicing> {
    let voicing = |at: usize| plan.get(at).map(|(_, v)| v.voicing);
    let place = Place {
        before: at.checked_sub(1).and_then(voicing),
        now: voicing(at),
        after: voicing(at + 1),
    };
    pipeline::other_voicings(&plan[at].0, taste, own, &place)
}

fn spelled(placed: &ChordInKey, voicing: &Voicing) -> String {
    let notes: Vec<String> = voicing
        .spelled(placed.chord.root)
        .map(|n| n.to_string())
        .collect();
    notes.join(" ")
}

fn notes(text: &str) -> Vec<MidiNote> {
    let pitches = text.split_whitespace().map(SpelledPitch::parse);
    pitches.map(|p| p.unwrap().midi().unwrap()).collect()
}

/// The moves are counted by hand. Common practice, no published source.
#[test]
fn rows_tell_texture_form_and_motion() {
    let plan = planned("| Dm7 | G7 | Cmaj7 | % |");
    let rows = others(&plan, 1, &Taste::default(), Own::NONE);
    let find = |text: &str| {
        let same = |row: &&OtherVoicing| spelled(&plan[1].0, &row.voiced.voicing) == text;
        rows.iter().find(same)
    };
    // F3 A3 B3 E4 sounds, between F3 A3 C4 E4 and E3 G3 B3 D4.
    assert_eq!(find("F3 A3 B3 E4"), None);
    let motion = |semitones, voices| Some(Motion { semitones, voices });
    let four = Origin::Texture(Texture::FourNotes);
    for (text, origin, form, motion_in, motion_out) in [
        ("F3 Ab3 B3 E4", four, Form::A, motion(2, 2), motion(4, 3)),
        ("F3 Ab3 B3 Eb4", four, Form::A, motion(3, 3), motion(3, 3)),
        ("B3 E4 F4 A4", four, Form::B, motion(23, 4), motion(29, 4)),
        (
            "F3 B3",
            Origin::Texture(Texture::GuideTones),
            Form::A,
            // In: A3 and C4 and E4 to B3. Out: E3 and G3 from F3, D4 from B3.
            motion(8, 3),
            motion(6, 3),
        ),
        (
            "F3 B3 E4",
            Origin::Texture(Texture::ThreeNotes),
            Form::A,
            motion(3, 2),
            motion(5, 3),
        ),
        (
            "F3 B3 E4 A4",
            Origin::Texture(Texture::Fourths),
            Form::Fourths,
            motion(11, 3),
            motion(17, 4),
        ),
    ] {
        let row = find(text).unwrap_or_else(|| panic!("{text} is missing"));
        assert_eq!((row.origin, row.form), (origin, form), "{text}");
        assert_eq!(row.motion_in, motion_in, "{text}, in");
        assert_eq!(row.motion_out, motion_out, "{text}, out");
    }
}

/// In twelve keys, in every texture in use and for every chord of a cadence: in order of cost, no
/// notes twice, every candidate of every texture among them.
#[test]
fn every_candidate_comes_once_in_order_of_cost() {
    let requests = TensionRequests::default();
    let mut counts = Vec::new();
    for fifths in -6..6 {
        for text in [
            "Dm7 G7 Cmaj7",
            "Dm7b5 G7alt Cm6",
            "C7 F7 C#dim7",
            "Dm7/G Db7#11 C",
        ] {
            let chords = text.split(' ').map(|symbol| {
                let chord = guidehand_theory::symbol::parse(symbol).unwrap();
                let sign = guidehand_theory::symbol::Sign::Ascii;
                let there = chord.transposed(fifths);
                guidehand_theory::symbol::Symbol(&there, sign).to_string()
            });
            let text = format!("| {} |", chords.collect::<Vec<_>>().join(" | "));
            let plan = planned(&text);
            for (at, texture) in (0..3).flat_map(|at| Texture::ALL.map(|t| (at, t))) {
                let taste = Taste {
                    texture,
                    ..Taste::default()
                };
                let rows = others(&plan, at, &taste, Own::NONE);
                assert!(rows.is_sorted_by_key(|row| row.cost), "{text}, {texture:?}");
                let mut sounds = HashSet::new();
                for row in &rows {
                    let notes: Vec<MidiNote> = row.voiced.voicing.notes().collect();
                    assert_ne!(notes, plan[at].1.voicing.notes().collect::<Vec<_>>());
                    assert!(
                        sounds.insert(notes),
                        "{text}, {texture:?}: {row:?} comes twice"
                    );
                    let is_in = Motion::between;
                    let before = at.checked_sub(1).map(|i| plan[i].1.voicing);
                    let after = plan.get(at + 1).map(|(_, v)| v.voicing);
                    let voicing = &row.voiced.voicing;
                    assert_eq!(row.motion_in, before.map(|b| is_in(&b, voicing)));
                    assert_eq!(row.motion_out, after.map(|a| is_in(voicing, &a)));
                }
                let placed = &plan[at].0;
                let chord = &placed.chord;
                let choices = guidehand_theory::tension::resolve(chord, &placed.function, requests);
                for (tensions, other) in choices
                    .iter()
                    .flat_map(|t| Texture::ALL.map(|other| (t, other)))
                {
                    let all =
                        guidehand_theory::candidates::of(chord, tensions, other, Register::DEFAULT);
                    for voicing in all {
                        let notes: Vec<MidiNote> = voicing.notes().collect();
                        let now = plan[at].1.voicing.notes().eq(notes.iter().copied());
                        assert!(now || sounds.contains(&notes), "{text}, {texture:?}");
                    }
                }
                counts.push(rows.len());
            }
        }
    }
    assert!(
        counts.iter().all(|count| (10..200).contains(count)),
        "{counts:?}"
    );
}

/// Notes that two textures share are named by the texture in use, or else by the first one.
#[test]
fn the_same_notes_have_the_first_name() {
    let plan = planned("| Dm7 | G7 | Cmaj7 | % |");
    for (texture, text, expected) in [
        (Texture::GuideTones, "B3 F4 A4", Texture::ThreeNotes),
        (Texture::FourNotes, "B3 E4 F4 A4", Texture::FourNotes),
        (Texture::Open, "B3 E4 F4 A4", Texture::FourNotes),
        (Texture::AnyRotation, "B3 E4 F4 A4", Texture::AnyRotation),
        (Texture::Fourths, "B3 F4 A4", Texture::ThreeNotes),
    ] {
        let taste = Taste {
            texture,
            ..Taste::default()
        };
        let rows = others(&plan, 1, &taste, Own::NONE);
        let row = rows
            .iter()
            .find(|row| spelled(&plan[1].0, &row.voiced.voicing) == text);
        assert_eq!(
            row.unwrap().origin,
            Origin::Texture(expected),
            "{texture:?}"
        );
    }
}

/// The cost is that of the plan: the cheapest voicing in its place is the planned one.
#[test]
fn nothing_is_cheaper_than_the_plan() {
    let plan = planned("| Dm7 | G7 | Cmaj7 | A7 | Dm7 | G7 | C6 | % |");
    for at in 1..plan.len() - 1 {
        let place = Place {
            before: Some(plan[at - 1].1.voicing),
            now: None,
            after: Some(plan[at + 1].1.voicing),
        };
        let taste = Taste::default();
        let rows = pipeline::other_voicings(&plan[at].0, &taste, Own::NONE, &place);
        let in_use = |row: &&OtherVoicing| row.origin == Origin::Texture(Texture::FourNotes);
        let best = rows.iter().find(in_use).unwrap();
        assert_eq!(best.voiced.voicing, plan[at].1.voicing);
    }
}

/// Without neighbours the cost is that of the voicing alone, and there is no motion.
#[test]
fn the_ends_may_be_unknown() {
    let plan = planned("| Dm7 | G7 | Cmaj7 | % |");
    let place = Place::default();
    let rows = pipeline::other_voicings(&plan[1].0, &Taste::default(), Own::NONE, &place);
    assert!(
        rows.iter()
            .all(|row| row.motion_in.is_none() && row.motion_out.is_none())
    );
    assert!(rows.is_sorted_by_key(|row| row.cost));
}

/// Own shapes are among the others, by their number.
#[test]
fn own_shapes_are_among_the_others() {
    let plan = planned("| Dm7 | G7 | Cmaj7 | % |");
    let notes_of = |degrees: [Degree; 4]| degrees.map(|degree| ShapeNote { degree, octaves: 0 });
    let shapes = [
        OwnShape::new(
            ShapeFamily::MinorSeventh,
            &notes_of([Degree::Flat7, Degree::Nine, Degree::Flat3, Degree::Five]),
        ),
        OwnShape::new(
            ShapeFamily::Dominant,
            &notes_of([
                Degree::Flat7,
                Degree::Three,
                Degree::Thirteen,
                Degree::Flat7,
            ]),
        ),
    ];
    let shapes = shapes.map(Result::unwrap);
    let rows = others(&plan, 1, &Taste::default(), Own::instead(&shapes));
    let own: Vec<String> = rows
        .iter()
        .filter(|row| row.origin == Origin::Own(1))
        .map(|row| spelled(&plan[1].0, &row.voiced.voicing))
        .collect();
    assert_eq!(own, ["F3 B3 E4 F4"]);
    let four = |row: &OtherVoicing| row.origin == Origin::Texture(Texture::FourNotes);
    assert!(rows.iter().any(four), "the texture in use stays among them");
}

/// A pin that is in no texture is a neighbour like any other.
#[test]
fn a_pin_is_a_neighbour() {
    let plan = planned("| Dm7 | G7 | Cmaj7 | % |");
    let (two, five) = (&plan[0].0, &plan[1].0);
    let hand = Register::DEFAULT.hand;
    let pinned = pin::by_degree(&notes("C4 E4 F4 A4 E5"), &two.chord, hand).unwrap();
    let place = Place {
        before: Some(pinned),
        ..Place::default()
    };
    let rows = pipeline::other_voicings(five, &Taste::default(), Own::NONE, &place);
    let row = rows
        .iter()
        .find(|row| spelled(five, &row.voiced.voicing) == "B3 E4 F4 A4");
    let motion = row.unwrap().motion_in.unwrap();
    // C4 to B3, and E5 to its nearest note A4.
    assert_eq!((motion.semitones, motion.voices), (8, 2));
}

/// Each own shape comes in its place of the list, as cheap as it can be there: also if it is what
/// sounds, or a shape of the texture.
#[test]
fn each_own_shape_is_laid_where_it_is_cheapest() {
    use Degree::{Eleven, Five, Flat3, Flat7, Nine, Three};
    let shape = |family, degrees: &[Degree]| {
        let note = |degree: &Degree| ShapeNote {
            degree: *degree,
            octaves: 0,
        };
        OwnShape::new(family, &degrees.iter().map(note).collect::<Vec<_>>()).unwrap()
    };
    let shapes = [
        shape(ShapeFamily::MinorSeventh, &[Flat3, Eleven, Flat7]),
        shape(ShapeFamily::Dominant, &[Flat7, Three]),
        shape(ShapeFamily::MinorSeventh, &[Flat3, Five, Flat7, Nine]),
        shape(ShapeFamily::MinorSeventh, &[Flat3, Flat7]),
    ];
    let plan = planned("| Cmaj7 | Dm7 | G7 | % |");
    let voicing = |at: usize| plan.get(at).map(|(_, v)| v.voicing);
    let place = Place {
        before: voicing(0),
        now: voicing(1),
        after: voicing(2),
    };
    let taste = Taste::default();
    let placed = &plan[1].0;
    let found = pipeline::own_voicings(placed, &taste, Own::instead(&shapes), &place);
    let spelled_all: Vec<Option<String>> = found
        .iter()
        .map(|one| one.map(|one| spelled(placed, &one.voiced.voicing)))
        .collect();
    // What sounds is F3 A3 C4 E4.
    assert_eq!(spelled_all[0].as_deref(), Some("F3 G3 C4"));
    assert_eq!(spelled_all[1], None, "it is for dominants");
    assert_eq!(spelled_all[2].as_deref(), Some("F3 A3 C4 E4"));
    for (number, one) in found.iter().enumerate() {
        let Some(one) = one else { continue };
        assert_eq!(one.origin, Origin::Own(u8::try_from(number).unwrap()));
        // By themselves, and beside nothing that sounds, the cheapest of the others is the same one.
        let alone = Own::instead(&shapes[number..=number]);
        let rows = pipeline::other_voicings(placed, &taste, alone, &Place { now: None, ..place });
        let same = |row: &&OtherVoicing| row.voiced.voicing.notes().eq(one.voiced.voicing.notes());
        let row = rows.iter().find(same).unwrap();
        assert_eq!(row.motion_in, one.motion_in);
        // Notes that the texture has, too, have its price there.
        if row.origin == Origin::Own(0) {
            assert_eq!(row.cost, one.cost);
        }
        let own = rows.iter().filter(|row| row.origin == Origin::Own(0));
        assert!(own.into_iter().all(|row| row.cost >= one.cost));
    }
}
