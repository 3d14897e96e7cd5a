//! The planner under short melodies, against an exhaustive search, and what every plan keeps to.

use crate::domain::data;
use crate::laws::assert_laws;
use guidehand_theory::chart::{self, Chart, TICKS_PER_QUARTER};
use guidehand_theory::melody::{self, Melody, MelodyNote};
use guidehand_theory::pipeline;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::under::{
    self, Block, Candidate, Harmony, Line, Rule, Side, Style, Taste, TimedBlock, Weights, Why,
};

const CHARTS: [&str; 6] = [
    "| Dm7 G7 | Cmaj7 A7 |",
    "| G7 | C6 |",
    "| C7 F7 | C7 Gm7 |",
    "| Dm7b5 G7b9 | Cm N.C. |",
    "| Dm7 G7alt | Em7 Ebdim7 |",
    "| Cmaj7 Dm7/G | Caug Fmaj7 |",
];

fn harmonies(chart: &Chart) -> Vec<Option<Harmony>> {
    let placed = pipeline::place(chart, None);
    placed.into_iter().map(|p| p.map(Harmony::from)).collect()
}

/// A melody that mostly moves by step, in eighths and quarters, with a rest now and then.
fn random_melody(rng: &mut fastrand::Rng, notes: usize, from: u32) -> Melody {
    let mut at = from;
    let mut key = rng.u8(50..80);
    let mut line = Vec::new();
    for _ in 0..notes {
        let length = TICKS_PER_QUARTER / 2 * rng.u32(1..=3);
        line.push(MelodyNote {
            note: MidiNote::new(key).unwrap(),
            name: None,
            start_ticks: at,
            length_ticks: length,
        });
        at += length + TICKS_PER_QUARTER * u32::from(rng.u8(0..8) == 0);
        let step = rng.i8(-2..=2) * if rng.u8(0..5) == 0 { 3 } else { 1 };
        key = key.saturating_add_signed(step).clamp(46, 90);
    }
    Melody::new(line)
}

/// The price of a path, added up on its own: what blocks cost alone, the motion of the voices below
/// the melody, and each dressing once for each chord. None for a path that is no path.
fn added_up(path: &[&Candidate], weights: &Weights) -> Option<u32> {
    let mut sum = 0;
    for (at, here) in path.iter().enumerate() {
        let before = at.checked_sub(1).map(|i| path[i]);
        sum += here.alone;
        let Some(before) = before else {
            sum += here.dressing;
            continue;
        };
        if before.change != here.change {
            sum += here.dressing;
        } else if before.block.dressing != here.block.dressing {
            return None;
        }
        if before.leads_to.is_some_and(|number| number != here.number) {
            return None;
        }
        sum += weights.motion * motion(&before.block, &here.block);
    }
    Some(sum)
}

fn motion(from: &Block, to: &Block) -> u32 {
    let below = |block: &Block| {
        let mut notes: Vec<u8> = block.voicing.notes().map(MidiNote::number).collect();
        notes.pop();
        notes
    };
    let (mut small, mut large) = (below(from), below(to));
    if small.len() > large.len() {
        std::mem::swap(&mut small, &mut large);
    }
    if small.is_empty() {
        return 0;
    }
    let apart = |a: u8, b: u8| u32::from(a.abs_diff(b));
    if small.len() == large.len() {
        return small.iter().zip(&large).map(|(a, b)| apart(*a, *b)).sum();
    }
    let nearest = |a: &u8| small.iter().map(|b| apart(*a, *b)).min().unwrap();
    large.iter().map(nearest).sum()
}

/// The least price of all paths.
fn exhaustive(columns: &[Vec<Candidate>], weights: &Weights) -> Option<u32> {
    fn go<'a>(
        columns: &'a [Vec<Candidate>],
        path: &mut Vec<&'a Candidate>,
        weights: &Weights,
    ) -> Option<u32> {
        let Some((column, rest)) = columns.split_first() else {
            return added_up(path, weights);
        };
        let ways = column.iter().filter_map(|candidate| {
            path.push(candidate);
            let least = go(rest, path, weights);
            path.pop();
            least
        });
        ways.min()
    }
    go(columns, &mut Vec::new(), weights)
}

#[test]
fn no_path_is_cheaper_than_the_plan() {
    let mut rng = fastrand::Rng::with_seed(7);
    let (mut searched, mut approaches, mut paths) = (0, 0, 0);
    for text in CHARTS {
        let chart = chart::parse(text).unwrap();
        let harmonies = harmonies(&chart);
        for round in 0..120 {
            let from = TICKS_PER_QUARTER / 2 * rng.u32(0..10);
            let melody = random_melody(&mut rng, 4, from);
            let line = Line {
                melody: &melody,
                chart: &chart,
                harmonies: &harmonies,
                single_under_ticks: 0,
            };
            let taste = Taste {
                style: Style::ALL[round % 3],
                ..Taste::default()
            };
            let columns = under::candidates(&taste, &line);
            let count: usize = columns.iter().map(Vec::len).product();
            if count > 200_000 {
                continue;
            }
            let path = under::cheapest(&taste, &columns);
            let path: Vec<&Candidate> = path.iter().collect();
            let found = added_up(&path, &taste.weights);
            let least = exhaustive(&columns, &taste.weights);
            assert!(found.is_some() && found == least, "{text} {melody:?}");
            searched += 1;
            paths += usize::from(count > 100);
            approaches += path.iter().filter(|c| c.leads_to.is_some()).count();
        }
    }
    let met = searched > 500 && paths > 100 && approaches > 20;
    assert!(met, "{searched} {paths} {approaches}");
}

#[test]
fn every_plan_keeps_to_its_rules() {
    let mut rng = fastrand::Rng::with_seed(11);
    let mut met = std::collections::HashSet::new();
    for text in CHARTS {
        let chart = chart::parse(text).unwrap();
        let harmonies = harmonies(&chart);
        for round in 0..300 {
            let melody = random_melody(&mut rng, 9, 0);
            let line = Line {
                melody: &melody,
                chart: &chart,
                harmonies: &harmonies,
                single_under_ticks: TICKS_PER_QUARTER / 2 + u32::from(round % 4 == 0),
            };
            let taste = Taste {
                style: Style::ALL[round % 3],
                ..Taste::default()
            };
            let timed = under::plan(&taste, &line);
            let notes = melody.notes();
            assert!(
                notes
                    .iter()
                    .zip(0..)
                    .all(|(note, i)| covers(note, i, &timed))
            );
            let blocks: Vec<Block> = timed.iter().map(|timed| timed.block).collect();
            for (i, (timed, block)) in timed.iter().zip(&blocks).enumerate() {
                let note = &notes[timed.note];
                assert_eq!(block.melody(), Some(note.note));
                assert_eq!(block.voicing.low_intervals(), 0);
                let next = blocks.get(i + 1);
                met.insert(std::mem::discriminant(&block.rule));
                match block.rule {
                    Rule::Approach(side) => {
                        let mut later = blocks.iter().skip(i + 1);
                        let next = later.find(|b| b.rule != Rule::Repeated).unwrap();
                        let placed = harmonies[0].unwrap().placed;
                        let expected = under::approach(next, side, &placed).unwrap();
                        assert_eq!(notes_of(block), notes_of(&expected), "{text} {melody:?}");
                        let up = i32::from(side == Side::Below) * 2 - 1;
                        let there = next.melody().unwrap().semitones();
                        assert_eq!(note.note.semitones() + up, there);
                    }
                    Rule::Repeated => {
                        let before = &blocks[i - 1];
                        assert_eq!(before.voicing, block.voicing);
                        assert_eq!(before.chord, block.chord);
                    }
                    Rule::Single(Why::Fast) => {
                        assert!(block.is_single());
                        assert!(note.length_ticks < line.single_under_ticks);
                    }
                    Rule::Single(Why::NoChord) => assert_eq!(block.chord, None),
                    _ => assert!(block.chord.is_some()),
                }
                if let (Some(next), Some(_)) = (next, block.chord)
                    && next.chord == block.chord
                    && chart
                        .changes
                        .iter()
                        .filter(|c| c.chord == block.chord)
                        .count()
                        == 1
                {
                    assert_eq!(next.dressing, block.dressing, "{text} {melody:?}");
                }
            }
        }
    }
    assert!(met.len() >= 7, "{met:?}");
}

/// Any keys at any time, over every everyday symbol and several meters.
#[test]
fn any_melody_over_any_chart_keeps_to_the_laws() {
    let rows = data::rows(include_str!("../data/everyday-symbols.txt"));
    // A few of them stand for something else in a chart, or need more than a word.
    let word = |symbol: &&str| chart::parse(&format!("| {symbol} |")).is_ok();
    let symbols = rows
        .map(|[symbol, _degrees, _libraries]| symbol)
        .filter(word);
    let symbols: Vec<&str> = symbols.collect();
    assert!(symbols.len() > 200);
    let mut rng = fastrand::Rng::with_seed(3);
    for (at, meter) in ["4/4", "3/4", "6/8", "5/4"]
        .iter()
        .cycle()
        .take(120)
        .enumerate()
    {
        let chords: Vec<&str> = (0..6)
            .map(|i| symbols[(at * 5 + i) % symbols.len()])
            .collect();
        let text = format!(
            "{meter} | {} | N.C. | {} |",
            chords[..3].join(" "),
            chords[3..].join(" | ")
        );
        let chart = chart::parse(&text).unwrap();
        let harmonies = harmonies(&chart);
        let notes = (0..60).map(|_| MelodyNote {
            note: MidiNote::clamp(rng.i32(0..128)),
            name: None,
            start_ticks: rng.u32(0..chart.length_ticks() + 4 * TICKS_PER_QUARTER),
            length_ticks: rng.u32(1..4 * TICKS_PER_QUARTER),
        });
        let melody = Melody::new(notes);
        let line = Line {
            melody: &melody,
            chart: &chart,
            harmonies: &harmonies,
            single_under_ticks: rng.u32(0..TICKS_PER_QUARTER),
        };
        for style in Style::ALL {
            let taste = Taste {
                style,
                ..Taste::default()
            };
            let timed = under::plan(&taste, &line);
            assert!(
                melody
                    .notes()
                    .iter()
                    .zip(0..)
                    .all(|(note, i)| covers(note, i, &timed))
            );
            for timed in &timed {
                let note = melody.notes()[timed.note].note;
                assert_laws(&timed.block, note, style, &text);
            }
        }
    }
}

/// Whether the blocks of a note sound as long as it does, one after the other.
fn covers(note: &MelodyNote, index: usize, timed: &[TimedBlock]) -> bool {
    let mut now = note.start_ticks;
    for block in timed.iter().filter(|block| block.note == index) {
        assert_eq!(block.start_ticks, now);
        assert!(block.length_ticks > 0);
        now += block.length_ticks;
    }
    now == note.end_ticks()
}

fn notes_of(block: &Block) -> Vec<MidiNote> {
    block.voicing.notes().collect()
}

/// What written notes are, told by the notes around them and their place. Each row: the chart, the
/// melody in the language of melodies, and the rules.
#[test]
fn passing_notes_and_approaches_are_told_by_the_notes_around_them() {
    const DIM: &str = "passing diminished, of the key's dominant";
    const OWN: &str = "passing diminished, of the chord's own dominant";
    const OFF: &str = "passing diminished, a half step off";
    const TONE: &str = "chord tone";
    const BELOW: &str = "half step from below";
    const ABOVE: &str = "half step from above";
    for (bars, text, rules) in [
        // Up the scale: chord tones and passing notes take turns.
        (
            "| C6 |",
            "| C5/8 D5 E5 F5 G5/4 r |",
            &[TONE, DIM, TONE, DIM, TONE][..],
        ),
        // On the beat, and for longer than a beat, a tension has its own chord.
        (
            "| C6 |",
            "| r/8 C5 D5 E5 F5/2 |",
            &[TONE, "9 for 1", TONE, DIM],
        ),
        (
            "| C6 |",
            "| E5/4 D5/4. E5/8 C5/4 |",
            &[TONE, "9 for 1", TONE, TONE],
        ),
        // It does not pass if it leaps on, or rests.
        ("| C6 |", "| C5/8 D5 G5/4 r/2 |", &[TONE, "9 for 1", TONE]),
        ("| C6 |", "| C5/8 D5 r/4 E5/2 |", &[TONE, "9 for 1", TONE]),
        // A foreign note that a leap reaches approaches the next one.
        ("| C6 |", "| G4/8 D#5 E5/4 r/2 |", &[TONE, BELOW, TONE]),
        ("| C6 |", "| G4/8 Bb5 A5/4 r/2 |", &[TONE, ABOVE, TONE]),
        // Two half steps in a row lead to the same note.
        (
            "| C6 |",
            "| G4/8 Db5 D5 r E5/2 |",
            &[TONE, BELOW, "9 for 1", TONE],
        ),
        // One that leads nowhere.
        ("| C6 |", "| C#5/4 r r/2 |", &[OFF]),
        // The passing note of a ii, on the way to the next chord.
        (
            "| Dm7 G7 | C6 |",
            "| A4/4 G4 F4/2 | E4/1 |",
            &[TONE, OWN, TONE, TONE],
        ),
        // With its chord it does not pass.
        ("| C6 G7 |", "| G4/2 A4/4 G4 |", &[TONE, "9 for 1", TONE]),
        // An eighth before the next chord it belongs to that one, if it is held.
        (
            "| Dm7 G7 | C6 |",
            "| A4/2 F4/4. E4/8~ | E4/1 |",
            &[TONE, TONE, TONE],
        ),
        // Held into the next chord it gets that as well, unless it ends at once.
        ("| G7 | C6 |", "| r/2 G4/2~ | G4/2 |", &[TONE, TONE]),
        ("| G7 | C6 |", "| r/2 G4/2~ | G4/8 |", &[TONE]),
        (
            "| G7 | C6 |",
            "| F4/2. r/8 E4 | D4/1 |",
            &[TONE, "13 for 5", "9 for 1"],
        ),
    ] {
        let chart = chart::parse(bars).unwrap();
        let melody = melody::parse(text, &chart).unwrap();
        let harmonies = harmonies(&chart);
        let line = Line {
            melody: &melody,
            chart: &chart,
            harmonies: &harmonies,
            single_under_ticks: 0,
        };
        let timed = under::plan(&Taste::default(), &line);
        let found: Vec<String> = timed.iter().map(|t| t.block.rule.to_string()).collect();
        assert_eq!(found, rules, "{text} over {bars}");
    }
}
