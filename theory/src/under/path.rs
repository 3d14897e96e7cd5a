//! The cheapest block chords under a whole melody, found exactly by dynamic programming. Imports
//! `line`, `offers`, `passing` and `cost`.

use super::block::Block;
use super::cost;
use super::lay::Laid;
use super::line::{Case, Head, Line};
use super::offers::{offers, rank_price};
use super::passing::{approach, diminished};
use super::rule::{Rule, Why};
use super::style::Taste;

/// A block that may stand under a note of a melody.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// The block.
    pub block: Block,
    /// What it costs by itself, without its dressing.
    pub alone: u32,
    /// What its dressing costs, once for each chord.
    pub dressing: u32,
    /// The change in force, as an index into the chart's.
    pub change: Option<usize>,
    /// Its number among the blocks of its note. Candidates of one number differ only in the
    /// dressing of the chord around them.
    pub number: usize,
    /// The number of the next note's block that it approaches.
    pub leads_to: Option<usize>,
}

/// A block in time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TimedBlock {
    /// The note of the melody on top, as an index into its notes.
    pub note: usize,
    /// Ticks from the start of the chart. A block that starts later than its note comes with a
    /// chord into which the note is held.
    pub start_ticks: u32,
    /// Its length in ticks.
    pub length_ticks: u32,
    /// The block.
    pub block: Block,
}

/// The blocks under each note of a melody, and under each part of a note that is held into another
/// chord. Notes that are struck again over one chord are left out.
#[must_use]
pub fn candidates(taste: &Taste, line: &Line<'_>) -> Vec<Vec<Candidate>> {
    let heads = line.heads(&line.parts(), taste);
    columns(taste, line, &heads)
}

/// What it costs to go from one block to the next. None if they do not go together: the dressing of
/// a chord stays, and an approach leads to the block that it was made from.
#[must_use]
pub fn price(taste: &Taste, from: Option<&Candidate>, to: &Candidate) -> Option<u32> {
    let Some(from) = from else {
        return Some(to.alone + to.dressing);
    };
    let same_chord = from.change == to.change;
    let redressed = same_chord && from.block.dressing != to.block.dressing;
    let astray = from.leads_to.is_some_and(|number| number != to.number);
    if redressed || astray {
        return None;
    }
    let dressing = if same_chord { 0 } else { to.dressing };
    Some(
        cost::between(&from.block.voicing, &to.block.voicing, &taste.weights) + to.alone + dressing,
    )
}

/// The cheapest path through the candidates, or the first one of equally cheap ones.
#[must_use]
pub fn cheapest(taste: &Taste, columns: &[Vec<Candidate>]) -> Vec<Candidate> {
    // For each candidate of the last column: the price of the cheapest way there.
    let mut prices: Vec<Option<u32>> = Vec::new();
    // For each column: the candidate before, for every candidate.
    let mut came_from: Vec<Vec<usize>> = Vec::with_capacity(columns.len());
    let mut before: &[Candidate] = &[];
    for (at, column) in columns.iter().enumerate() {
        let mut back = Vec::with_capacity(column.len());
        let reached = column.iter().map(|to| {
            if at == 0 {
                back.push(0);
                return price(taste, None, to);
            }
            let ways = before.iter().zip(&prices).zip(0..);
            let ways = ways.filter_map(|((from, so_far), i): (_, usize)| {
                Some(((*so_far)? + price(taste, Some(from), to)?, i))
            });
            let cheapest = ways.min();
            back.push(cheapest.map_or(0, |(_, i)| i));
            cheapest.map(|(price, _)| price)
        });
        prices = reached.collect();
        came_from.push(back);
        before = column;
    }
    let ends = prices.iter().zip(0..);
    let ends = ends.filter_map(|(price, i): (_, usize)| Some(((*price)?, i)));
    let mut at = ends.min().map_or(0, |(_, i)| i);
    let mut path = Vec::with_capacity(columns.len());
    for (column, back) in columns.iter().zip(&came_from).rev() {
        path.extend(column.get(at).copied());
        at = back.get(at).copied().unwrap_or(0);
    }
    path.reverse();
    path
}

/// The blocks under a melody, the cheapest ones together: one for each note, and one for each chord
/// into which a note is held for a beat or longer. A dominant keeps its dressing as long as it
/// lasts. Passing notes are told by the notes around them, and approaches by the next note.
#[must_use]
pub fn plan(taste: &Taste, line: &Line<'_>) -> Vec<TimedBlock> {
    let parts = line.parts();
    let heads = line.heads(&parts, taste);
    let path = cheapest(taste, &columns(taste, line, &heads));
    let blocks = heads.iter().zip(path).flat_map(|(head, candidate)| {
        let block = candidate.block;
        let again = match block.rule {
            Rule::Single(_) => block,
            _ => Block {
                rule: Rule::Repeated,
                ..block
            },
        };
        std::iter::once(block).chain(std::iter::repeat_n(again, head.count - 1))
    });
    let timed = parts.iter().zip(blocks).map(|(part, block)| TimedBlock {
        note: part.index,
        start_ticks: part.start_ticks,
        length_ticks: part.end_ticks - part.start_ticks,
        block,
    });
    timed.collect()
}

fn columns(taste: &Taste, line: &Line<'_>, heads: &[Head<'_>]) -> Vec<Vec<Candidate>> {
    let cases = line.cases(heads);
    let mut columns: Vec<Vec<Candidate>> = Vec::with_capacity(heads.len());
    for (head, case) in heads.iter().zip(cases).rev() {
        let next = columns.last().map_or(&[][..], Vec::as_slice);
        columns.push(column(taste, head, case, next));
    }
    columns.reverse();
    columns
}

/// The candidates of a note. An approach needs those of the next one.
fn column(taste: &Taste, head: &Head, case: Case, next: &[Candidate]) -> Vec<Candidate> {
    let note = head.note;
    let Some(harmony) = head.harmony else {
        let block = Block::single(note, Why::NoChord, None);
        return vec![bare(head, block, 0, taste)];
    };
    let placed = &harmony.placed;
    let mut found = Vec::new();
    match case {
        Case::Chord => {
            for offer in offers(taste, harmony, note) {
                found.push(Candidate {
                    alone: offer.alone,
                    dressing: offer.dressing,
                    ..bare(head, offer.block, found.len(), taste)
                });
            }
        }
        Case::Approach(side) => {
            for target in next {
                let known = found
                    .iter()
                    .any(|c: &Candidate| c.leads_to == Some(target.number));
                if !known && let Some(block) = approach(&target.block, side, placed) {
                    found.push(Candidate {
                        leads_to: Some(target.number),
                        ..bare(head, block, found.len(), taste)
                    });
                }
            }
        }
        Case::Single(why) => {
            let block = Block::single(note, why, Some(&placed.chord));
            found.push(bare(head, block, 0, taste));
        }
        Case::Diminished => {}
    }
    if found.is_empty() {
        let block = diminished(taste.style, placed, note);
        found.push(bare(head, block, 0, taste));
    }
    if case == Case::Chord {
        return found;
    }
    // What passes leaves the dressing of the chord around it open.
    let choices = harmony.choices(taste);
    let dressed = found.into_iter().flat_map(|candidate| {
        (0_u8..)
            .zip(choices)
            .map(move |(choice, tensions)| Candidate {
                block: Block {
                    dressing: Some(choice),
                    ..candidate.block
                },
                dressing: rank_price(&tensions, &taste.weights),
                ..candidate
            })
    });
    dressed.collect()
}

/// A candidate without a dressing.
fn bare(head: &Head, block: Block, number: usize, taste: &Taste) -> Candidate {
    let laid = Laid {
        voicing: block.voicing,
        style: block.style,
        left_out: block.left_out,
    };
    Candidate {
        block,
        alone: cost::of_notes(&laid, block.asked, &taste.weights),
        dressing: 0,
        change: head.change,
        number,
        leads_to: None,
    }
}
