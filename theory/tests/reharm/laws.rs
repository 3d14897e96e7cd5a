//! What holds for every proposal, on random charts and in every key.

use crate::common::{BEAT, KEYS, all, chart, in_key, named, root, roots};
use guidehand_theory::candidates::{Edges, Hand, Register};
use guidehand_theory::chord::Chord;
use guidehand_theory::cost::Weights;
use guidehand_theory::plan::{Ends, Setting};
use guidehand_theory::reharm::{self, Name, Part, Proposal, Span, Substitution};
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{self, TensionRequests};

const SUFFIXES: [&str; 12] = [
    "maj7", "m7", "7", "7", "m7b5", "dim7", "7sus4", "6", "7alt", "m6", "13", "",
];
const ROOTS: [&str; 7] = ["C", "D", "E", "F", "G", "A", "Bb"];

/// Charts of up to eight chords, of one to eight beats each.
fn charts() -> Vec<String> {
    let mut random = fastrand::Rng::with_seed(1995);
    (0..120)
        .map(|_| {
            let words: Vec<String> = (0..random.usize(1..=8))
                .map(|_| {
                    let (root, suffix) = (ROOTS[random.usize(..7)], SUFFIXES[random.usize(..12)]);
                    format!("{root}{suffix}:{}", random.u32(1..=8))
                })
                .collect();
            words.join(" ")
        })
        .collect()
}

fn analysed(text: &str) -> Vec<Span> {
    let mut spans = chart(text, 0);
    reharm::analyse(&mut spans, None);
    spans
}

#[test]
fn lengths_add_up_and_the_rest_is_untouched() {
    let mut kinds = Vec::new();
    for text in charts() {
        let spans = analysed(&text);
        for proposal in all(&spans, 0..spans.len()) {
            let old = &spans[proposal.span.clone()];
            let length: u32 = proposal.chords.iter().map(|p| p.length_ticks).sum();
            assert_eq!(length, old.iter().map(|s| s.length_ticks).sum::<u32>());
            assert!(proposal.chords.iter().all(|p| p.length_ticks >= BEAT));
            let new = reharm::apply(&spans, &proposal);
            let (before, after) = (proposal.span.start, spans.len() - proposal.span.end);
            assert_eq!(new[..before], spans[..before]);
            assert_eq!(new[new.len() - after..], spans[proposal.span.end..]);
            let follows = |p: &[Span]| p[0].start_ticks + p[0].length_ticks == p[1].start_ticks;
            assert!(new.windows(2).all(follows), "{text}: {proposal:?}");
            let reason = proposal.reason.to_string();
            assert!(!reason.is_empty() && !reason.contains('\n'));
            if !kinds.contains(&proposal.substitution) {
                kinds.push(proposal.substitution);
            }
        }
    }
    kinds.sort_unstable();
    assert_eq!(kinds, Substitution::ALL, "every family is met");
}

#[test]
fn ranks_are_fixed_and_nothing_is_offered_twice() {
    for text in charts() {
        let spans = analysed(&text);
        let offers = all(&spans, 0..spans.len());
        assert!(offers.is_sorted_by_key(|p| (
            p.rank,
            p.distance,
            p.span.start,
            p.span.end,
            p.substitution
        )));
        assert_eq!(offers, all(&spans, 0..spans.len()));
        for (i, a) in offers.iter().enumerate() {
            let same = |b: &&Proposal| a.span == b.span && a.chords == b.chords;
            assert!(!offers[i + 1..].iter().any(|b| same(&b)), "{text}: {a:?}");
            let written: Vec<_> = spans[a.span.clone()].iter().map(|s| s.chord).collect();
            let new: Vec<_> = a.chords.iter().map(|p| Some(p.chord)).collect();
            assert_ne!(written, new, "{text}");
        }
    }
}

/// The measure, counted by hand.
#[test]
fn distances_are_what_they_say() {
    let spans = in_key("Dm7:4 G7:4 Cmaj7:4", "C", 0);
    for (at, name, distance) in [
        // Two new notes, a new bass, bII7 with a strangeness of 2.
        (1..2, "tritone substitute", 2 * 6 + 4 + 2 * 3),
        // Half of that, a tritone in the bass, a chord more.
        (
            1..2,
            "dominant, then its tritone substitute",
            22 / 2 + 3 * 2 + 2,
        ),
        // For a quarter of the time three new notes and a strangeness of 3, which
        // is 27 / 4 to the nearest; two chords more.
        (2..3, "common-tone diminished, out and back", 7 + 2 * 2),
        // b9 and 13.
        (1..2, "b9 and 13", 2 * 6),
        // Another bass for two thirds of the time, 8 / 3 to the nearest.
        (0..3, "tonic pedal", 3),
    ] {
        assert_eq!(named(&spans, at, name).distance, distance, "{name}");
    }
}

/// A selection offers what its parts offer, and a pedal under all of it.
#[test]
fn a_single_chord_offers_what_the_chart_offers_there() {
    let spans = in_key("Cmaj7:4 Am7:4 Dm7:4 G7:4", "C", 0);
    let whole = all(&spans, 0..4);
    for at in 0..4 {
        let here = whole.iter().filter(|p| p.span == (at..at + 1));
        let alone = all(&spans, at..at + 1);
        assert!(here.eq(alone.iter()));
    }
}

/// Every key has the same offers, with the same distances and lengths, and with its roots
/// moved along.
#[test]
fn transposing_the_chart_transposes_the_offers() {
    for (i, text) in charts().iter().enumerate() {
        // It is chance which of two keys holds that fit a random chart equally well.
        let key = ["C", "Cm"][i % 2];
        let here = all(&in_key(text, key, 0), 0..8);
        for fifths in [-5, -2, 1, 4] {
            let there = all(&in_key(text, key, fifths), 0..8);
            assert_eq!(here.len(), there.len(), "{text} by {fifths}");
            let by = u8::try_from((i32::from(fifths) * 7).rem_euclid(12)).unwrap();
            for (a, b) in here.iter().zip(&there) {
                assert_eq!(
                    (a.substitution, a.name, a.distance),
                    (b.substitution, b.name, b.distance)
                );
                let moved: Vec<u8> = roots(a).iter().map(|r| (r + by) % 12).collect();
                assert_eq!(moved, roots(b), "{text} by {fifths}: {a:?}");
            }
        }
    }
}

/// Every proposal can be played: each of its chords fits the register and the hand, in
/// all keys.
#[test]
fn every_proposal_can_be_voiced() {
    let setting = Setting {
        texture: Texture::FourNotes,
        register: Register::DEFAULT,
        weights: Weights::DEFAULT,
    };
    let mut voiced = 0;
    for fifths in KEYS {
        for (text, key) in [
            ("Cmaj7:8 Dm7:4 G7:4 Cmaj7:8", "C"),
            ("Cm7:4 Dm7b5:4 G7:4 Cm6:8", "Cm"),
            ("Em7:4 Am7:4 Dm7:4 G7:4 Fmaj7:4", "C"),
        ] {
            let spans = in_key(text, key, fifths);
            for proposal in all(&spans, 0..spans.len()) {
                let mut new = reharm::apply(&spans, &proposal);
                reharm::analyse(&mut new, None);
                let chords: Vec<_> = new
                    .iter()
                    .map(|s| (s.chord.unwrap(), s.function.unwrap()))
                    .map(|(c, f)| (c, tension::resolve(&c, &f, TensionRequests::default())))
                    .collect();
                let plan = setting.plan(&chords, Ends::Open);
                assert_eq!(plan.len(), new.len());
                for (v, (chord, _)) in plan.iter().zip(&chords) {
                    let texture = Texture::FourNotes.for_chord(chord);
                    let (low, high) = (v.voicing.lowest().unwrap(), v.voicing.highest().unwrap());
                    // The register's edges are soft: a third beyond them is possible.
                    let beyond = Edges::BEYOND;
                    let room = 50 - beyond..=50 + texture.room() + beyond;
                    let top = 69 + texture.headroom() + beyond;
                    assert!(room.contains(&low.number()), "{proposal:?}");
                    assert!(high.number() <= top, "{proposal:?}");
                    assert!(
                        v.voicing.left_span() <= Hand::DEFAULT.at_most,
                        "{proposal:?}"
                    );
                    voiced += 1;
                }
            }
        }
    }
    assert!(voiced > 5_000, "{voiced}");
}

/// Nothing leads to what comes next anyway, and the list has its parts in order.
#[test]
fn no_proposal_says_the_next_chord_and_parts_follow_each_other() {
    let mut parts = Vec::new();
    for text in charts() {
        let spans = analysed(&text);
        let offers = all(&spans, 0..spans.len());
        assert!(offers.is_sorted_by_key(|p| p.rank.part));
        for proposal in offers {
            let after = &spans[proposal.span.end % spans.len()];
            let (old, new) = (
                spans[proposal.span.end - 1].chord.unwrap(),
                proposal.chords.last().unwrap().chord,
            );
            let next = after.chord.unwrap();
            let same =
                |c: &Chord| root(c) == root(&next) && c.quality.family() == next.quality.family();
            assert!(!same(&new) || same(&old), "{text}: {proposal:?}");
            if !parts.contains(&proposal.rank.part) {
                parts.push(proposal.rank.part);
            }
        }
    }
    parts.sort_unstable();
    assert_eq!(parts, Part::ALL);
}

/// A pedal never comes before what changes the chords, and never holds V under a last tonic.
#[test]
fn pedals_know_their_place() {
    for fifths in KEYS {
        for text in [
            "Dm7:4 G7:4 Cmaj7:8",
            "Cmaj7:4 Fmaj7:4 G7:4 Cmaj7:4",
            "Dm7:2 G7:2 Cmaj7:4",
        ] {
            let spans = in_key(text, "C", fifths);
            for at in [0..2, 0..spans.len()] {
                let offers = all(&spans, at.clone());
                let pedal = |p: &Proposal| p.substitution == Substitution::Pedal;
                assert!(offers.iter().any(pedal));
                assert!(!offers.iter().take(6).any(pedal), "{text}");
                for offer in offers.iter().filter(|p| p.name == Name::DominantPedal) {
                    let last = offer.chords.last().unwrap().chord;
                    assert_ne!(
                        root(&last),
                        root(&in_key("C:4", "C", fifths)[0].chord.unwrap())
                    );
                }
            }
        }
    }
}
