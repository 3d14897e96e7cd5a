//! The plan around pins is the cheapest of all, by exhaustive search over small charts.

use guidehand_theory::candidates::{Edges, Hand, Register};
use guidehand_theory::chart;
use guidehand_theory::cost::Weights;
use guidehand_theory::pin;
use guidehand_theory::pipeline::{self, ChordInKey};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::{Ends, Setting, Voiced};
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{self, TensionRequests};
use guidehand_theory::voicing::Voicing;
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;

const SYMBOLS: [&str; 12] = [
    "Cmaj7", "Dm7", "G7", "Bb7(b9)", "F#m7b5", "Abdim7", "Eb7sus4", "A6/9", "Db7alt", "E13#11",
    "B", "N.C.",
];

/// The notes of a pin: any at all, so that it is in no texture, out of register, or bare.
fn pin() -> impl Strategy<Value = Vec<MidiNote>> {
    vec((20u8..110).prop_map(|n| MidiNote::clamp(n.into())), 1..=8)
}

/// The voicings of one change, with what each costs by itself.
type Column = Vec<(u32, Voicing)>;

fn columns(setting: &Setting, placed: &[ChordInKey], pins: &[Option<Voicing>]) -> Vec<Column> {
    let column = |(p, pin): (&ChordInKey, &Option<Voicing>)| match pin {
        Some(pin) => vec![(0, *pin)],
        None => {
            let choices = tension::resolve(&p.chord, &p.function, TensionRequests::default());
            let all = setting.candidates(&p.chord, &choices);
            all.map(|(cost, v)| (cost, v.voicing)).collect()
        }
    };
    placed.iter().zip(pins).map(column).collect()
}

/// The least that any combination of voicings costs.
fn least(setting: &Setting, columns: &[Column], ends: Ends) -> u32 {
    let mut best = u32::MAX;
    let mut path = vec![0; columns.len()];
    loop {
        let voicings: Vec<(u32, Voicing)> = path
            .iter()
            .zip(columns)
            .map(|(i, column)| column[*i])
            .collect();
        best = best.min(price(setting, &voicings, ends));
        let mut at = 0;
        loop {
            let Some(column) = columns.get(at) else {
                return best;
            };
            path[at] += 1;
            if path[at] < column.len() {
                break;
            }
            path[at] = 0;
            at += 1;
        }
    }
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

/// What the plan itself costs, counted the same way.
fn price_of(setting: &Setting, plan: &[Voiced], columns: &[Column], ends: Ends) -> u32 {
    let find = |(voiced, column): (&Voiced, &Column)| {
        let same = column.iter().filter(|(_, v)| *v == voiced.voicing);
        *same.min_by_key(|(cost, _)| *cost).unwrap()
    };
    let path: Vec<(u32, Voicing)> = plan.iter().zip(columns).map(find).collect();
    price(setting, &path, ends)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// In every texture, open and cyclic, with silences among the chords.
    #[test]
    fn the_plan_around_pins_is_the_cheapest_of_all(
        changes in vec((0..SYMBOLS.len(), option::of(pin())), 1..=5),
        texture in 0..Texture::ALL.len(),
        lowest in 45i32..56,
        hard in any::<bool>(),
    ) {
        let text: Vec<&str> = changes.iter().map(|(symbol, _)| SYMBOLS[*symbol]).collect();
        let text = format!("| {} |", text.join(" | "));
        let chart = chart::parse(&text).unwrap();
        let placed = pipeline::place(&chart, None);
        let edges = if hard { Edges::Hard } else { Edges::Soft };
        let (low, high) = (MidiNote::clamp(lowest), MidiNote::clamp(lowest + 19));
        let register = Register { edges, ..Register::new(low, high) };
        let texture = Texture::ALL[texture];
        // So few chords are left free that every combination can be tried.
        let mut free = 2;
        let mut pins: Vec<(usize, Voicing)> = Vec::new();
        for (at, (p, (_, notes))) in placed.iter().zip(&changes).enumerate() {
            let Some(p) = p else {
                // A pin on silence is passed over.
                let silent = notes.as_ref().and_then(|_| Some((at, pins.first()?.1)));
                pins.extend(silent);
                continue;
            };
            match notes {
                None if free > 0 => free -= 1,
                _ => {
                    let usual = vec![MidiNote::clamp(50), MidiNote::clamp(61)];
                    let notes = notes.as_ref().unwrap_or(&usual);
                    pins.push((at, pin::by_degree(notes, &p.chord, Hand::DEFAULT).unwrap()));
                }
            }
        }
        let setting = Setting { texture, register, weights: Weights::DEFAULT };
        let chords: Vec<ChordInKey> = placed.iter().flatten().copied().collect();
        let pinned: Vec<Option<Voicing>> = placed.iter().enumerate().filter(|(_, p)| p.is_some())
            .map(|(at, _)| pins.iter().find(|(pin, _)| *pin == at).map(|(_, v)| *v))
            .collect();
        let columns = columns(&setting, &chords, &pinned);
        for ends in [Ends::Open, Ends::Cyclic] {
            let plan = pipeline::plan_around(&placed, texture, register, ends, &pins);
            let silent: Vec<bool> = plan.iter().map(Option::is_none).collect();
            let expected: Vec<bool> = placed.iter().map(Option::is_none).collect();
            prop_assert_eq!(silent, expected);
            let plan: Vec<Voiced> = plan.into_iter().flatten().collect();
            for (voiced, pin) in plan.iter().zip(&pinned) {
                if let Some(pin) = pin {
                    prop_assert_eq!(voiced.voicing, *pin);
                    prop_assert_eq!(voiced.tensions.reason, tension::Reason::Pinned);
                }
            }
            if plan.is_empty() {
                continue;
            }
            let mine = price_of(&setting, &plan, &columns, ends);
            prop_assert_eq!(mine, least(&setting, &columns, ends), "{}", text);
        }
    }
}

/// A pin moves its neighbours: without it the plan is another one.
#[test]
fn the_plan_bends_around_a_pin() {
    let chart = chart::parse("| Dm7 | G7 | Cmaj7 | % |").unwrap();
    let placed = pipeline::place(&chart, None);
    let plan = |pins: &[(usize, Voicing)]| {
        let texture = Texture::FourNotes;
        let plan = pipeline::plan_around(&placed, texture, Register::DEFAULT, Ends::Cyclic, pins);
        let notes = |(p, v): (&Option<ChordInKey>, &Option<Voiced>)| {
            let (root, voicing) = (p.unwrap().chord.root, v.unwrap().voicing);
            let notes: Vec<String> = voicing.spelled(root).map(|n| n.to_string()).collect();
            notes.join(" ")
        };
        placed.iter().zip(&plan).map(notes).collect::<Vec<_>>()
    };
    assert_eq!(plan(&[]), ["F3 A3 C4 E4", "F3 A3 B3 E4", "E3 G3 B3 D4"]);
    let g7 = placed[1].unwrap().chord;
    let high = super::voicing("B3 E4 F4 A4", &g7);
    let around = plan(&[(1, high)]);
    assert_eq!(around, ["C4 E4 F4 A4", "B3 E4 F4 A4", "B3 D4 E4 G4"]);
}
