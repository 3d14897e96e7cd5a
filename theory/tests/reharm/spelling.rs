//! How the chords of proposals are spelled, in every key. Common practice, no published source.

use crate::common::{KEYS, all, in_key, root};
use guidehand_theory::chord::Chord;
use guidehand_theory::pitch::NoteName;
use guidehand_theory::quality::{ChordFamily, Quality};
use guidehand_theory::reharm::{Name, Proposal, Span, Substitution};
use std::ops::{Range, RangeInclusive};

/// A chord by the key of its root.
type Heard = (u8, Quality);
/// What a chord leads to.
type Goal = (u8, ChordFamily);

/// Spelling moves along with the key, as long as no root would lie beyond Gb (Db for a minor chord)
/// or A#. What visits another key is spelled as that key reads best.
#[test]
fn spelling_moves_with_the_key() {
    let visits = |p: &Proposal| {
        matches!(
            p.substitution,
            Substitution::SideSlip | Substitution::ThirdsCycle | Substitution::Approach
        ) || p.name == Name::SubstituteTwoFive
    };
    let mut compared = 0;
    for (text, key, moves) in [
        (
            "Cmaj7:4 Am7:4 Dm7:4 G7:4 Em7:4 A7:4 Fmaj7:4 G7:4",
            "C",
            KEYS,
        ),
        (
            "Cm7:4 Fm7:4 Dm7b5:4 G7:4 Cm6:8 Abmaj7:4 G7:4",
            "Cm",
            // From Eb minor to G# minor.
            -3..=8,
        ),
    ] {
        let spans = in_key(text, key, 0);
        let here = all(&spans, 0..spans.len());
        for fifths in moves {
            let there = all(&in_key(text, key, fifths), 0..spans.len());
            for (a, b) in here.iter().zip(&there).filter(|(a, _)| !visits(a)) {
                for (a, b) in a.chords.iter().zip(&b.chords) {
                    let moved = a.chord.transposed(fifths);
                    let lowest = if moved.quality.is_minor() { -5 } else { -6 };
                    let plain = moved.bass.is_none_or(|bass| bass.accidental.abs() < 2);
                    if (lowest..=10).contains(&moved.root.fifths()) && plain {
                        assert_eq!(moved, b.chord, "{text} by {fifths}");
                        compared += 1;
                    }
                    assert!((-7..=10).contains(&b.chord.root.fifths()));
                }
            }
        }
    }
    assert!(compared > 3_000, "{compared}");
}

/// Charts with every kind of place, their keys, and the moves along the line of fifths that lead
/// to keys with at most six signs.
fn places() -> [(&'static str, &'static str, RangeInclusive<i8>); 3] {
    [
        (
            "Cmaj7:4 Am7:4 Dm7:4 G7:4 Em7:4 A7:4 Dm7:2 G7:2 Cmaj7:8 Cmaj7:4 C7:4 Fmaj7:4 Fm6:4 \
             Cmaj7:8 Dm7:4 G7:4 Am7:4 G7:4",
            "C",
            KEYS,
        ),
        (
            "Cm7:8 Cm7:4 C7:4 Fm7:4 Dm7b5:4 G7:4 Cm6:4 Abmaj7:4 Ab7:4 G7:4 Ebmaj7:4 Dm7b5:2 G7:2 \
             Cm6:8",
            "Cm",
            // From Eb minor to G# minor.
            -3..=8,
        ),
        (
            "C7:4 C7:4 C7:4 C7:4 F7:4 F7:4 C7:8 Dm7:4 G7:4 C7:4 A7:4 Dm7:4 G7:4 F7:4 C7:8",
            "C blues",
            KEYS,
        ),
    ]
}

/// What the player wrote keeps its name.
fn is_written(spans: &[Span], chord: &Chord) -> bool {
    let same = |c: Chord| (c.root, c.quality) == (chord.root, chord.quality);
    spans.iter().any(|span| span.chord.is_some_and(same))
}

/// One name for one chord within the list for a chord, or for two that lead home, but for diminished sevenths, which are
/// spelled as they move, and for the thirds cycle, whose keys are spelled for themselves.
#[test]
fn a_chord_has_one_name_in_a_list() {
    let mut compared = 0;
    for (text, key, moves) in places() {
        for fifths in moves {
            let spans = in_key(text, key, fifths);
            let goes_home = |at: &Range<usize>| {
                let next = spans[at.end % spans.len()].chord.unwrap();
                at.len() == 1 || root(&next) == root(&spans[0].chord.unwrap())
            };
            let pairs = (2..=spans.len()).map(|end| end - 2..end);
            let ones = (0..spans.len()).map(|at| at..at + 1);
            for at in ones.chain(pairs).filter(goes_home) {
                let mut names: Vec<(Heard, NoteName)> = Vec::new();
                let offers = all(&spans, at).into_iter();
                for proposal in offers.filter(|p| p.substitution != Substitution::ThirdsCycle) {
                    for chord in proposal.chords.iter().map(|p| p.chord) {
                        if chord.quality == Quality::DiminishedSeventh || is_written(&spans, &chord)
                        {
                            continue;
                        }
                        let heard = (root(&chord), chord.quality);
                        match names.iter().find(|(known, _)| *known == heard) {
                            Some((_, name)) => {
                                assert_eq!(*name, chord.root, "{key} by {fifths}: {proposal:?}");
                                compared += 1;
                            }
                            None => names.push((heard, chord.root)),
                        }
                    }
                }
            }
        }
    }
    assert!(compared > 5_000, "{compared}");
}

/// One name for one chord with one goal within a chart, wherever it is offered: the same
/// dominant before the same chord, the same diminished chord on the same way.
#[test]
fn a_chord_with_one_goal_has_one_name_in_a_chart() {
    let mut compared = 0;
    for (text, key, moves) in places() {
        for fifths in moves {
            let spans = in_key(text, key, fifths);
            let heard = |chord: &Chord| (root(chord), chord.quality);
            let mut names: Vec<(Heard, Goal, NoteName)> = Vec::new();
            for proposal in all(&spans, 0..spans.len()) {
                let after = spans[proposal.span.end % spans.len()].chord.unwrap();
                let chords = proposal.chords.iter().map(|p| p.chord);
                let goals = chords.clone().skip(1).chain([after]);
                for (chord, goal) in chords.zip(goals) {
                    if is_written(&spans, &chord) {
                        continue;
                    }
                    let goal = (root(&goal), goal.quality.family());
                    let known = names.iter().find(|n| (n.0, n.1) == (heard(&chord), goal));
                    match known {
                        Some((_, _, name)) => {
                            assert_eq!(*name, chord.root, "{key} by {fifths}: {proposal:?}");
                            compared += 1;
                        }
                        None => names.push((heard(&chord), goal, chord.root)),
                    }
                }
            }
        }
    }
    assert!(compared > 5_000, "{compared}");
}
