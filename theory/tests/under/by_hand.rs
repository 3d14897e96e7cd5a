//! The plan and the bars that were harmonised by hand, note for note. Common practice, no published
//! source.

use crate::domain::data;
use guidehand_theory::chart::{self, Chart, TICKS_PER_QUARTER};
use guidehand_theory::key::Key;
use guidehand_theory::melody::{Melody, MelodyNote};
use guidehand_theory::pipeline;
use guidehand_theory::pitch::{MidiNote, SpelledPitch};
use guidehand_theory::under::{self, Block, Harmony, Line, Style, Taste};

/// A note with what stands under it by hand.
struct Row {
    place: String,
    note: MelodyNote,
    styles: [Vec<MidiNote>; 3],
    rule: &'static str,
    instead: &'static str,
}

struct Piece {
    key: Key,
    chart: Chart,
    rows: Vec<Row>,
}

fn pitch(text: &str) -> MidiNote {
    SpelledPitch::parse(text)
        .and_then(SpelledPitch::midi)
        .unwrap()
}

fn ticks(quarters: &str) -> u32 {
    let halves = quarters.strip_suffix(".5");
    let whole: u32 = halves.unwrap_or(quarters).parse().unwrap();
    whole * TICKS_PER_QUARTER + u32::from(halves.is_some()) * TICKS_PER_QUARTER / 2
}

fn pieces() -> Vec<Piece> {
    let text = include_str!("../data/under-by-hand.txt");
    let mut pieces: Vec<Piece> = Vec::new();
    for line in text.lines().filter(|line| !line.starts_with('#')) {
        if let Some((key, chart)) = line.split_once(": |") {
            pieces.push(Piece {
                key: Key::parse(key).unwrap(),
                chart: chart::parse(&format!("|{chart}")).unwrap(),
                rows: Vec::new(),
            });
            continue;
        }
        let [place, length, melody, close, drop, double, rule, instead] =
            data::rows(line).next().unwrap();
        let (bar, beat) = place.split_once(' ').unwrap();
        let bar: u32 = bar.parse().unwrap();
        let notes = |text: &str| {
            let text = if text == "=" { close } else { text };
            text.split_whitespace().map(pitch).collect()
        };
        pieces.last_mut().unwrap().rows.push(Row {
            place: place.to_owned(),
            note: MelodyNote {
                note: pitch(melody),
                name: None,
                start_ticks: (bar - 1) * 4 * TICKS_PER_QUARTER + ticks(beat) - TICKS_PER_QUARTER,
                length_ticks: ticks(length),
            },
            styles: [notes(close), notes(drop), notes(double)],
            rule,
            instead,
        });
    }
    pieces
}

fn planned(piece: &Piece, style: Style) -> Vec<Block> {
    let placed = pipeline::place(&piece.chart, Some(piece.key));
    let harmonies: Vec<Option<Harmony>> =
        placed.into_iter().map(|p| p.map(Harmony::from)).collect();
    let melody = Melody::new(piece.rows.iter().map(|row| row.note));
    let line = Line {
        melody: &melody,
        chart: &piece.chart,
        harmonies: &harmonies,
        single_under_ticks: 0,
    };
    let taste = Taste {
        style,
        ..Taste::default()
    };
    let timed = under::plan(&taste, &line);
    timed.into_iter().map(|timed| timed.block).collect()
}

#[test]
fn twelve_bars_are_harmonised_as_by_hand() {
    let pieces = pieces();
    let bars: usize = pieces.iter().map(|piece| piece.chart.bars.len()).sum();
    assert_eq!(bars, 12);
    let mut differ = Vec::new();
    for piece in &pieces {
        for (style, at) in Style::ALL.into_iter().zip(0..) {
            let blocks = planned(piece, style);
            assert_eq!(blocks.len(), piece.rows.len());
            for (row, block) in piece.rows.iter().zip(&blocks) {
                let found: Vec<MidiNote> = block.voicing.notes().collect();
                let instead: Vec<String> = block.instead.iter().map(ToString::to_string).collect();
                let (rule, instead) = (block.rule.to_string(), instead.join(", "));
                let same_notes = found == row.styles[at];
                // The words are those of four-way close.
                let same_words = at > 0 || (rule == row.rule && instead == row.instead);
                if !(same_notes && same_words) {
                    let root = block.root.unwrap();
                    let spelled = block.voicing.spelled(root).map(|p| p.to_string());
                    differ.push(format!(
                        "{} {} {:?}: {:?} {rule} | {instead}",
                        piece.key,
                        row.place,
                        style,
                        spelled.collect::<Vec<_>>().join(" "),
                    ));
                }
            }
        }
    }
    assert!(differ.is_empty(), "{:#?}", differ);
}
