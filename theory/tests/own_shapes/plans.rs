//! Plans with own shapes are the cheapest of all, by exhaustive search over small charts.

use super::shape;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::cost::Weights;
use guidehand_theory::degree::Degree;
use guidehand_theory::own_shape::{MOST_SHAPES, Own, OwnShape, ShapeFamily, ShapeNote};
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::{Ends, Offer, Origin, Planner, Setting, Voiced};
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{self, Choices, TensionRequests};
use guidehand_theory::voicing::Voicing;
use proptest::collection::vec;
use proptest::prelude::*;

const SYMBOLS: [&str; 12] = [
    "Cmaj7", "Dm7", "G7", "Bb7(b9)", "F#m7b5", "Abdim7", "Eb7sus4", "A6/9", "Db7alt", "E13#11",
    "Am6", "Gm(maj7)",
];

/// Any shape at all of any family, as far as its degrees belong there.
fn any_shape() -> impl Strategy<Value = OwnShape> {
    let family = prop::sample::select(ShapeFamily::ALL.to_vec());
    let degrees = vec((0..Degree::ALL.len(), 0u8..2), 0..6);
    (family, degrees).prop_map(|(family, others)| {
        let [third, seventh] = family.guide_tones();
        let note = |degree, octaves| ShapeNote { degree, octaves };
        let mut notes = vec![note(third, 0), note(seventh, 0)];
        for (degree, octaves) in others {
            let more = note(Degree::ALL[degree], octaves);
            notes.push(more);
            if OwnShape::new(family, &notes).is_err() {
                notes.pop();
            }
        }
        OwnShape::new(family, &notes).unwrap()
    })
}

fn chords(placed: &[Option<ChordInKey>]) -> Vec<(ChordInKey, Choices)> {
    let choices =
        |p: &ChordInKey| tension::resolve(&p.chord, &p.function, TensionRequests::default());
    placed.iter().flatten().map(|p| (*p, choices(p))).collect()
}

fn price(setting: &Setting, path: &[(u32, Voicing)], ends: Ends) -> u32 {
    let alone: u32 = path.iter().map(|(cost, _)| cost).sum();
    let between = |a: &(u32, Voicing), b: &(u32, Voicing)| setting.price_between(&a.1, &b.1);
    let moves: u32 = path.windows(2).map(|w| between(&w[0], &w[1])).sum();
    let back = match ends {
        Ends::Open => 0,
        Ends::Cyclic => between(&path[path.len() - 1], &path[0]),
    };
    alone + moves + back
}

/// The cheapest path by trying every one.
fn least(setting: &Setting, columns: &[Vec<Offer>], ends: Ends) -> u32 {
    let mut paths: Vec<Vec<(u32, Voicing)>> = vec![Vec::new()];
    for column in columns {
        paths = paths
            .iter()
            .flat_map(|path| {
                column.iter().map(|offer| {
                    let mut longer = path.clone();
                    longer.push((offer.alone, offer.voiced.voicing));
                    longer
                })
            })
            .collect();
    }
    paths
        .iter()
        .map(|path| price(setting, path, ends))
        .min()
        .unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn the_plan_with_own_shapes_is_the_cheapest_of_all(
        symbols in vec(0..SYMBOLS.len(), 1..=3),
        shapes in vec(any_shape(), 0..10),
        beside in any::<bool>(),
        narrow in any::<bool>(),
        lowest in 45i32..56,
    ) {
        let text: Vec<&str> = symbols.iter().map(|symbol| SYMBOLS[*symbol]).collect();
        let chart = chart::parse(&format!("| {} |", text.join(" | "))).unwrap();
        let placed = pipeline::place(&chart, None);
        let (low, high) = (MidiNote::clamp(lowest), MidiNote::clamp(lowest + 19));
        let register = Register::new(low, high);
        let texture = if narrow { Texture::GuideTones } else { Texture::FourNotes };
        let setting = Setting { texture, register, weights: Weights::DEFAULT };
        let own = if beside { Own::beside(&shapes) } else { Own::instead(&shapes) };
        let planner = setting.with_own(own);
        let columns: Vec<Vec<Offer>> = chords(&placed).iter()
            .map(|(p, choices)| planner.offers(&p.chord, choices).collect())
            .collect();
        prop_assume!(columns.iter().map(Vec::len).product::<usize>() < 30_000);
        for ends in [Ends::Open, Ends::Cyclic] {
            let plan = pipeline::plan_with(&placed, texture, register, ends, &[], own);
            prop_assert_eq!(&plan,
                &pipeline::plan_with(&placed, texture, register, ends, &[], own));
            let path: Vec<(u32, Voicing)> = plan.iter().flatten().zip(&columns)
                .map(|(voiced, column)| {
                    let same = column.iter().filter(|o| o.voiced.voicing == voiced.voicing);
                    (same.map(|o| o.alone).min().unwrap(), voiced.voicing)
                })
                .collect();
            prop_assert_eq!(
                price(&setting, &path, ends),
                least(&setting, &columns, ends)
            );
        }
        // Where an own shape serves, it takes the place of the texture or stands beside it.
        for ((p, choices), offers) in chords(&placed).iter().zip(&columns) {
            let is_own = |offer: &&Offer| matches!(offer.origin, Origin::Own(_));
            let (mine, all) = (offers.iter().filter(is_own).count(), offers.len());
            let texture = setting.candidates(&p.chord, choices).count();
            let expected = if mine > 0 && !beside { 0 } else { texture };
            prop_assert_eq!(all - mine, expected);
        }
    }
}

fn notes(plan: &[Option<Voiced>], placed: &[Option<ChordInKey>]) -> Vec<String> {
    let both = placed.iter().flatten().zip(plan.iter().flatten());
    both.map(|(p, v)| super::spelled(&v.voicing, p.chord.root))
        .collect()
}

/// Where no own shape serves, the texture does.
#[test]
fn four_notes_serve_where_no_own_shape_does() {
    let shapes = [shape("m7", "b3 5 b7"), shape("7", "b7 3 13")];
    let plan = |text: &str, own: Own<'_>| {
        let placed = pipeline::place(&chart::parse(text).unwrap(), None);
        let (texture, register) = (Texture::FourNotes, Register::DEFAULT);
        let plan = pipeline::plan_with(&placed, texture, register, Ends::Cyclic, &[], own);
        notes(&plan, &placed)
    };
    let text = "| Dm7 | G7 | Cmaj7 | % |";
    assert_eq!(plan(text, Own::NONE), plan(text, Own::instead(&[])));
    assert_eq!(
        plan(text, Own::instead(&shapes)),
        ["F3 A3 C4", "F3 B3 E4", "E3 G3 B3 D4"]
    );
    // The tensions that the context chooses stay in force: no natural 13 before a minor chord.
    assert_eq!(
        plan("| G7 | Cm7 |", Own::instead(&shapes[1..])),
        plan("| G7 | Cm7 |", Own::NONE)
    );
}

/// A step and a planned chord under another taste take own shapes as the plan does.
#[test]
fn own_shapes_are_played_live() {
    let shapes = [shape("m7", "b7 9 b3 5 9"), shape("7", "3 b7 9 13")];
    let own = Own::instead(&shapes);
    let placed = pipeline::place(&chart::parse("| Gm7 | C7 | Fmaj7 |").unwrap(), None);
    let taste = Taste::default();
    let mut before: Option<Voicing> = None;
    let mut played = Vec::new();
    for p in placed.iter().flatten() {
        let voiced = pipeline::step_with(before.as_ref(), p, &taste, own);
        played.push(super::spelled(&voiced.voicing, p.chord.root));
        let adapted = pipeline::adapt_with(&voiced, p, &taste, own);
        assert_eq!(adapted.voicing, voiced.voicing);
        before = Some(voiced.voicing);
    }
    assert_eq!(played, ["F3 A3 Bb3 D4 A4", "E3 Bb3 D4 A4", "A3 C4 E4 G4"]);
}

/// Only so many shapes are looked at, so that the work is bounded.
#[test]
fn only_the_first_shapes_are_used() {
    let mut shapes = vec![shape("dim7", "b3 bb7"); MOST_SHAPES];
    shapes.push(shape("m7", "b3 b7"));
    let placed = pipeline::place(&chart::parse("| Dm7 | G7 |").unwrap(), None);
    let two = placed[0].unwrap();
    let count = |own: Own<'_>| {
        let setting = Setting {
            texture: Texture::FourNotes,
            register: Register::DEFAULT,
            weights: Weights::DEFAULT,
        };
        let planner: Planner<'_> = setting.with_own(own);
        let choices = tension::resolve(&two.chord, &two.function, TensionRequests::default());
        let own = |offer: &Offer| matches!(offer.origin, Origin::Own(_));
        planner.offers(&two.chord, &choices).filter(own).count()
    };
    assert_eq!(count(Own::instead(&shapes)), 0);
    assert!(count(Own::instead(&shapes[1..])) > 0);
}
