//! Short places and what players put there, judged by hand: `data/harmonies.txt`, and
//! `data/harmonies-held.txt`, which is counted only in total.

use crate::common::{BEAT, chart};
use crate::data;
use guidehand_theory::chart::Meter;
use guidehand_theory::chord::Chord;
use guidehand_theory::key::Key;
use guidehand_theory::reharm::{self, Grid, Proposal, Span};
use guidehand_theory::symbol::{self, Sign, Symbol};
use std::ops::Range;

const OPEN: &str = include_str!("../data/harmonies.txt");
const HELD: &str = include_str!("../data/harmonies-held.txt");

/// A chord of an answer, and its beats if they count.
type Wanted = (Chord, Option<u32>);

/// A place, and what stands there with each proposal.
struct Place {
    told: String,
    answers: Vec<Vec<(Chord, u32)>>,
}

impl Place {
    fn read(key: &str, beats: &str, text: &str) -> Place {
        let begin = text.split(' ').position(|w| w.starts_with('[')).unwrap();
        let end = text.split(' ').position(|w| w.ends_with(']')).unwrap() + 1;
        let mut spans = chart(&text.replace(['[', ']'], ""), 0);
        let key = Key::parse(key).unwrap();
        reharm::analyse(&mut spans, Some(key));
        let meter = Meter::new(beats.parse().unwrap(), 4).unwrap();
        let offers = reharm::proposals(&spans, begin..end, &Grid::new(meter, 0).into(), &[]);
        assert!(offers.clashes.is_empty());
        let stands = |p: &Proposal| stands(&spans, &(begin..end), p);
        Place {
            told: format!("{key:?}: {text}"),
            answers: offers.fits.iter().map(stands).collect(),
        }
    }

    /// The first answer that meets the wish.
    fn position(&self, wish: &str) -> Option<usize> {
        let wanted = wanted(wish);
        self.answers.iter().position(|a| meets(a, &wanted))
    }
}

/// The chords between the brackets with a proposal in place.
fn stands(spans: &[Span], at: &Range<usize>, proposal: &Proposal) -> Vec<(Chord, u32)> {
    let after = reharm::apply(spans, proposal);
    let rest = spans.len() - at.end;
    let here = after[at.start..after.len() - rest].iter();
    here.map(|s| (s.chord.unwrap(), s.length_ticks)).collect()
}

fn wanted(wish: &str) -> Vec<Wanted> {
    let words = wish.split_whitespace();
    let read = |word: &str| {
        let (symbol, beats) = word.split_once(':').unwrap_or((word, ""));
        let chord = symbol::parse(symbol).unwrap_or_else(|e| panic!("{word}: {e:?}"));
        (chord, beats.parse().ok())
    };
    words.map(read).collect()
}

fn meets(answer: &[(Chord, u32)], wanted: &[Wanted]) -> bool {
    let one = |((chord, ticks), (wish, beats)): (&(Chord, u32), &Wanted)| {
        chord.root == wish.root
            && chord.bass == wish.bass
            && chord.quality == wish.quality
            && wish.written.minus(chord.written).is_empty()
            && beats.is_none_or(|beats| beats * BEAT == *ticks)
    };
    answer.len() == wanted.len() && answer.iter().zip(wanted).all(one)
}

/// How many wishes of a table are met, and what is said of those that are not.
fn judge(table: &str) -> (usize, Vec<String>) {
    let (mut met, mut faults) = (0, Vec::new());
    for [key, beats, text, offered, first, never] in data::rows::<6>(table) {
        let place = Place::read(key, beats, text);
        let best = |answers: &str| {
            let found = answers.split(" or ").filter_map(|a| place.position(a));
            found.min()
        };
        let columns = [(offered, "offered"), (first, "first"), (never, "never")];
        for (column, rule) in columns {
            for wish in split_wishes(column) {
                let found = best(wish);
                let good = match rule {
                    "offered" => found.is_some(),
                    "first" => found.is_some_and(|at| at < 3),
                    _ => found.is_none(),
                };
                if good {
                    met += 1;
                } else {
                    let head = place.answers.iter().take(3).map(|a| spelled(a));
                    let head: Vec<String> = head.collect();
                    faults.push(format!(
                        "{}: {rule} {wish}, found at {found:?}; first {head:?}",
                        place.told
                    ));
                }
            }
        }
    }
    (met, faults)
}

fn split_wishes(column: &str) -> impl Iterator<Item = &str> {
    column.split(';').map(str::trim)
}

fn spelled(answer: &[(Chord, u32)]) -> String {
    let words = answer.iter().map(|(chord, ticks)| {
        let symbol = Symbol(chord, Sign::Ascii);
        format!("{symbol}:{}", ticks / BEAT)
    });
    words.collect::<Vec<_>>().join(" ")
}

#[test]
fn players_find_what_they_reach_for() {
    let (met, faults) = judge(OPEN);
    assert!(faults.is_empty(), "{met} met; {}", faults.join("\n"));
    assert_eq!(met, 305);
}

#[test]
fn places_that_were_held_apart_agree_in_total() {
    let (met, faults) = judge(HELD);
    // Only the count is told, so that no place is mended by itself.
    let all = met + faults.len();
    assert_eq!(all, 82);
    assert!(met >= 81, "{met} of {all}");
}
