//! Voicings and voice leading, compared with tables, exhaustive search and set classes.

use guidehand_theory::candidates::{self, Edges, Register};
use guidehand_theory::chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::cost::Weights;
use guidehand_theory::key::{self, Key};
use guidehand_theory::pipeline::{self, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::{Ends, Setting, Voiced};
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension::{self, Choices, TensionRequests};
use guidehand_theory::voicing::{Form, Position, Voicing};

fn spelled(v: &Voicing, chord: &Chord) -> String {
    let notes: Vec<_> = v.spelled(chord.root).map(|p| p.to_string()).collect();
    notes.join(" ")
}

fn voiced(text: &str) -> Vec<(Chord, Voicing)> {
    let chart = chart::parse(text).unwrap();
    let placed = pipeline::place(&chart, None);
    let plan = pipeline::plan(&placed, Texture::FourNotes, Register::DEFAULT, Ends::Cyclic);
    placed
        .iter()
        .flatten()
        .zip(plan.iter().flatten())
        .map(|(p, v)| (p.chord, v.voicing))
        .collect()
}

fn lines(text: &str) -> Vec<String> {
    voiced(text)
        .iter()
        .map(|(c, v)| format!("{} {}", Form::of(v.position, c.quality), spelled(v, c)))
        .collect()
}

/// Common practice, no published source.
#[test]
fn check_progressions_come_out_note_for_note() {
    assert_eq!(
        lines("| Dm7 | G7 | Cmaj7 | % |"),
        ["A F3 A3 C4 E4", "A F3 A3 B3 E4", "A E3 G3 B3 D4"]
    );
    assert_eq!(
        lines("| Gm7 | C7 | Fmaj7 | % |"),
        ["B F3 A3 Bb3 D4", "B E3 A3 Bb3 D4", "B E3 G3 A3 C4"]
    );
    assert_eq!(
        lines("| G7(b9,b13) | Cm7 |"),
        ["A F3 Ab3 B3 Eb4", "A Eb3 G3 Bb3 D4"]
    );
}

/// The same, chord by chord as played live. Common practice, no published source.
#[test]
fn check_progressions_come_out_live_too() {
    for (text, expected) in [
        (
            "| Dm7 | G7 | Cmaj7 |",
            ["F3 A3 C4 E4", "F3 A3 B3 E4", "E3 G3 B3 D4"],
        ),
        (
            "| Gm7 | C7 | Fmaj7 |",
            ["F3 A3 Bb3 D4", "E3 A3 Bb3 D4", "E3 G3 A3 C4"],
        ),
    ] {
        let chart = chart::parse(text).unwrap();
        let mut before: Option<Voicing> = None;
        for (placed, expected) in pipeline::place(&chart, None).iter().flatten().zip(expected) {
            let v = pipeline::step(before.as_ref(), placed, &Taste::default()).voicing;
            assert_eq!(spelled(&v, &placed.chord), expected, "{text}");
            before = Some(v);
        }
    }
}

/// Position rows: common practice, no published source. Each is a chord, the degrees
/// of form A and of form B, from the lowest.
const FORMS: [(&str, &str, &str); 24] = [
    ("Cmaj9", "3 5 7 9", "7 9 3 5"),
    ("C6", "3 5 6 9", "6 9 3 5"),
    ("C6/9", "3 5 6 9", "6 9 3 5"),
    ("Cmaj7#11", "3 #11 7 9", "7 9 3 #11"),
    ("Cmaj7#5", "3 #5 7 9", "7 9 3 #5"),
    ("Cmaj13", "3 13 7 9", "7 9 3 13"),
    ("Cm9", "b3 5 b7 9", "b7 9 b3 5"),
    ("Cm11", "b3 11 b7 9", "b7 9 b3 11"),
    ("Cm6", "b3 5 6 9", "6 9 b3 5"),
    ("Cm(maj7)", "b3 5 7 9", "7 9 b3 5"),
    ("C13", "3 13 b7 9", "b7 9 3 13"),
    ("C7(b9,13)", "3 13 b7 b9", "b7 b9 3 13"),
    ("C7(b9,b13)", "3 b13 b7 b9", "b7 b9 3 b13"),
    ("C7(#9,b13)", "3 b13 b7 #9", "b7 #9 3 b13"),
    ("C9(b13)", "3 b13 b7 9", "b7 9 3 b13"),
    ("C9#5", "3 #5 b7 9", "b7 9 3 #5"),
    ("C7#11", "3 #11 b7 9", "b7 9 3 #11"),
    ("C13#11", "3 #11 13 b7", "b7 3 #11 13"),
    ("C9sus", "4 13 b7 9", "b7 9 4 13"),
    ("C7sus(b9)", "4 5 b7 b9", "b7 b9 4 5"),
    ("Cm7b5", "b3 b5 b7 1", "b7 1 b3 b5"),
    ("Cm9b5", "b3 b5 b7 9", "b7 9 b3 b5"),
    ("Cm11b5", "b3 11 b5 b7", "b7 b3 11 b5"),
    ("Cdim7", "b3 b5 bb7 1", "bb7 1 b3 b5"),
];

fn choices(chord: &Chord) -> Choices {
    let function = key::live(chord, Key::C_MAJOR);
    tension::resolve(chord, &function, TensionRequests::default())
}

#[test]
fn forms_hold_their_degrees_on_every_root() {
    let wide = Register::new(MidiNote::clamp(48), MidiNote::clamp(84));
    for (symbol, a, b) in FORMS {
        for fifths in -6..=6 {
            let chord = symbol::parse(symbol).unwrap().transposed(fifths);
            let tensions = choices(&chord)[0];
            let mut seen = Vec::new();
            // A register with room for both forms, whatever the root.
            for low in 48..=55 {
                let register = Register {
                    lowest: MidiNote::clamp(low),
                    ..wide
                };
                for v in candidates::of(&chord, &tensions, Texture::FourNotes, register) {
                    let degrees: Vec<_> = v.voices().iter().map(|v| v.degree.name()).collect();
                    let expected = if v.position == Position::Third { a } else { b };
                    assert_eq!(
                        degrees.join(" "),
                        expected,
                        "{symbol} {:?} {fifths}",
                        v.position
                    );
                    seen.push(v.position);
                }
            }
            assert!(
                seen.contains(&Position::Third) && seen.contains(&Position::Seventh),
                "{symbol}"
            );
        }
    }
}

/// Motion between check voicings, in all keys. Common practice, no published
/// source.
#[test]
fn check_moves_cost_what_they_should_in_all_keys() {
    let moves = [
        ("Dm9", Position::Third, "G13", Position::Seventh, 1),
        ("G13", Position::Seventh, "Cmaj9", Position::Third, 5),
        ("Gm9", Position::Seventh, "C13", Position::Third, 1),
        ("C13", Position::Third, "Fmaj9", Position::Seventh, 5),
        ("G7(b9,b13)", Position::Seventh, "Cm9", Position::Third, 5),
        ("G13", Position::Seventh, "G7(b9,13)", Position::Seventh, 1),
        (
            "G7(b9,13)",
            Position::Seventh,
            "G7(b9,b13)",
            Position::Seventh,
            1,
        ),
    ];
    let register = Register::new(MidiNote::clamp(46), MidiNote::clamp(84));
    for (from, from_form, to, to_form, semitones) in moves {
        for fifths in -6..=6 {
            let find = |symbol: &str, form: Position, near: Option<&Voicing>| {
                let chord = symbol::parse(symbol).unwrap().transposed(fifths);
                let tensions = choices(&chord)[0];
                let all = (near.map_or(46, |_| 36)..=72).flat_map(|low| {
                    let register = Register {
                        lowest: MidiNote::clamp(low),
                        ..register
                    };
                    candidates::of(&chord, &tensions, Texture::FourNotes, register)
                });
                all.filter(|v| v.position == form)
                    .min_by_key(|v| near.map_or(0, |n| n.motion(v)))
                    .unwrap()
            };
            let a = find(from, from_form, None);
            let b = find(to, to_form, Some(&a));
            assert_eq!(
                a.motion(&b),
                semitones,
                "{from} to {to}, {fifths} fifths away"
            );
        }
    }
}

/// Rootless sets by set class (Allen Forte, The Structure of Atonal Music, 1973):
/// prime forms computed here, class names from memory.
#[test]
fn rootless_voicings_have_their_set_class() {
    for (symbol, prime, class) in [
        ("Dm9", [0, 1, 5, 8], "4-20"),
        ("Cmaj9", [0, 3, 5, 8], "4-26"),
        ("G13", [0, 1, 5, 7], "4-16"),
        ("G7(b9,13)", [0, 1, 4, 7], "4-18"),
        ("G7(b9,b13)", [0, 2, 5, 8], "4-27"),
    ] {
        let chord = symbol::parse(symbol).unwrap();
        for v in candidates::of(
            &chord,
            &choices(&chord)[0],
            Texture::FourNotes,
            Register::DEFAULT,
        ) {
            let classes: Vec<u8> = v.notes().map(|n| n.class().number()).collect();
            assert_eq!(prime_form(&classes), prime, "{symbol} is {class}");
        }
    }
}

fn prime_form(classes: &[u8]) -> Vec<u8> {
    let normal = |set: Vec<u8>| -> Vec<u8> {
        (0..12u8)
            .map(|t| {
                let mut moved: Vec<u8> = set.iter().map(|c| (c + t) % 12).collect();
                moved.sort_unstable();
                moved
            })
            .filter(|m| m[0] == 0)
            .min_by_key(|m| (m[m.len() - 1], m.clone()))
            .unwrap()
    };
    let inverted = classes.iter().map(|c| (12 - c) % 12).collect();
    let (a, b) = (normal(classes.to_vec()), normal(inverted));
    a.min(b)
}

/// The same search in a slow and simple way: every combination of candidates, priced from
/// single chords and pairs of them.
fn exhaustive(setting: &Setting, chords: &[(Chord, Choices)], ends: Ends) -> u32 {
    let columns: Vec<Vec<Voiced>> = chords
        .iter()
        .map(|(c, t)| setting.candidates(c, t).map(|(_, v)| v).collect())
        .collect();
    let alone = |v: &Voiced| setting.price(&[*v], Ends::Open);
    let pairs = |from: &[Voiced], to: &[Voiced]| -> Vec<Vec<u32>> {
        let pair = |a, b| setting.price(&[a, b], Ends::Open) - alone(&a) - alone(&b);
        from.iter()
            .map(|a| to.iter().map(|b| pair(*a, *b)).collect())
            .collect()
    };
    let costs: Vec<Vec<u32>> = columns
        .iter()
        .map(|c| c.iter().map(alone).collect())
        .collect();
    let steps: Vec<Vec<Vec<u32>>> = columns.windows(2).map(|w| pairs(&w[0], &w[1])).collect();
    let closing = pairs(&columns[columns.len() - 1], &columns[0]);
    let mut best = u32::MAX;
    let mut index = vec![0; columns.len()];
    loop {
        let inner: u32 = index.iter().zip(&costs).map(|(i, c)| c[*i]).sum();
        let moved = index.windows(2).zip(&steps).map(|(w, s)| s[w[0]][w[1]]);
        let back = match ends {
            Ends::Open => 0,
            Ends::Cyclic => closing[index[index.len() - 1]][index[0]],
        };
        best = best.min(inner + moved.sum::<u32>() + back);
        let mut at = 0;
        loop {
            let Some(column) = columns.get(at) else {
                return best;
            };
            index[at] += 1;
            if index[at] < column.len() {
                break;
            }
            index[at] = 0;
            at += 1;
        }
    }
}

/// In every texture, with soft edges and hard ones, and in a register beside the
/// usual one.
#[test]
fn the_plan_is_the_cheapest_of_all_on_random_charts() {
    const QUALITIES: [&str; 10] = [
        "maj7", "m7", "7", "7b9", "m7b5", "dim7", "7sus4", "6/9", "7alt", "13#11",
    ];
    let mut state = 20260101u64;
    let mut random = |below: usize| {
        state = state
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        usize::try_from(state >> 33).unwrap() % below
    };
    let mut searched = [0; Texture::ALL.len()];
    for round in 0..3200 {
        let length = 1 + random(5);
        let chords: Vec<Option<Chord>> = (0..length)
            .map(|_| {
                let fifths = i8::try_from(random(12)).unwrap() - 6;
                let quality = QUALITIES[random(QUALITIES.len())];
                Some(
                    symbol::parse(&format!("C{quality}"))
                        .unwrap()
                        .transposed(fifths),
                )
            })
            .collect();
        let functions = key::analyse(&chords, None);
        let chords: Vec<(Chord, Choices)> = chords
            .iter()
            .flatten()
            .zip(functions.iter().flatten())
            .map(|(c, f)| (*c, tension::resolve(c, f, TensionRequests::default())))
            .collect();
        let texture = Texture::ALL[round % Texture::ALL.len()];
        let low = [50, 50, 45, 53][random(4)];
        let (low, high) = (MidiNote::clamp(low), MidiNote::clamp(low + 19));
        let register = Register {
            edges: [Edges::Soft, Edges::Soft, Edges::Hard][random(3)],
            ..Register::new(low, high)
        };
        for weights in [Weights::DEFAULT, Weights::MOTION_ONLY] {
            let setting = Setting {
                texture,
                register,
                weights,
            };
            let paths: usize = chords
                .iter()
                .map(|(c, t)| setting.candidates(c, t).count())
                .product();
            if paths > 20_000 {
                continue;
            }
            searched[round % Texture::ALL.len()] += 1;
            for ends in [Ends::Open, Ends::Cyclic] {
                let plan = setting.plan(&chords, ends);
                assert_eq!(plan.len(), chords.len());
                for (voiced, (chord, choices)) in plan.iter().zip(&chords) {
                    let mut all = setting.candidates(chord, choices);
                    assert!(all.any(|(_, v)| v == *voiced), "round {round}, {ends:?}");
                }
                let (mine, least) = (
                    setting.price(&plan, ends),
                    exhaustive(&setting, &chords, ends),
                );
                assert_eq!(mine, least, "round {round}, {ends:?}, {chords:?}");
            }
        }
    }
    // Charts with too many paths to try them all are left out. Enough remain.
    assert!(searched.iter().all(|n| *n > 300), "{searched:?}");
}

/// The search begins a cycle at one of its chords. It makes no difference which one.
#[test]
fn a_cycle_costs_the_same_wherever_it_begins() {
    let text = "| Dm7 | G7 | Cmaj7 | A7 | Gm7 C7 | Fmaj7 | Bm7b5 E7 | Am6 | Bb7 | Ab13#11 |";
    let chart = chart::parse(text).unwrap();
    let placed = pipeline::place(&chart, None);
    let chords: Vec<(Chord, Choices)> = (placed.iter().flatten())
        .map(|p| {
            (
                p.chord,
                tension::resolve(&p.chord, &p.function, TensionRequests::default()),
            )
        })
        .collect();
    for texture in Texture::ALL {
        let setting = Setting {
            texture,
            register: Register::DEFAULT,
            weights: Weights::DEFAULT,
        };
        let price = |chords: &[(Chord, Choices)]| {
            let plan = setting.plan(chords, Ends::Cyclic);
            setting.price(&plan, Ends::Cyclic)
        };
        let whole = price(&chords);
        for turn in 1..chords.len() {
            let mut turned = chords.clone();
            turned.rotate_left(turn);
            assert_eq!(price(&turned), whole, "{texture:?} from {turn}");
        }
    }
}
