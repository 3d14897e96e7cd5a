//! Every reason is true of the chords that it names, counted by plain arithmetic. Common
//! practice, no published source.

use crate::common::{KEYS, all, in_key, motions, root, stated, tones};
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree;
use guidehand_theory::quality::{ChordFamily, Quality};
use guidehand_theory::reharm::{Fall, Proposal, Reason, Span};

/// Semitones of the root up from one chord to the next.
fn rise(from: &Chord, to: &Chord) -> u8 {
    (root(to) + 12 - root(from)) % 12
}

fn is_minor(chord: &Chord) -> bool {
    matches!(
        chord.quality.family(),
        ChordFamily::Minor | ChordFamily::HalfDiminished
    )
}

fn guides(chord: &Chord) -> Vec<u8> {
    let tones = tones(chord);
    let guides = [Degree::Three, Degree::Flat7].map(|d| d.class(chord.root).number());
    let mut found: Vec<u8> = guides.into_iter().filter(|g| tones.contains(g)).collect();
    found.sort_unstable();
    found
}

/// Whether the chord's notes are those of the suspended dominant, with the ninth that its fifth
/// is.
fn is_held_by(chord: &Chord, sus: &Chord) -> bool {
    let ninths = [1, 2].map(|up| (root(sus) + up) % 12);
    let held = stated(sus);
    stated(chord)
        .iter()
        .all(|t| held.contains(t) || ninths.contains(t))
}

/// What the reason claims, of the chords in place and the one after them. None if the reason
/// makes no claim that notes or roots can show.
fn holds(proposal: &Proposal, old: &[Span], after: &Chord) -> Option<bool> {
    let new: Vec<Chord> = proposal.chords.iter().map(|p| p.chord).collect();
    let (first, last) = (*new.first()?, *new.last()?);
    let was: Vec<Chord> = old.iter().filter_map(|s| s.chord).collect();
    Some(match proposal.reason {
        Reason::BearsTensions { five, fall } | Reason::MayBeAltered { five, fall } => {
            five.root == last.root
                && match fall {
                    Fall::Fifth => rise(&five, after) == 5 && !is_minor(after),
                    Fall::FifthToMinor => rise(&five, after) == 5 && is_minor(after),
                    Fall::HalfStep => rise(&five, after) == 11,
                }
        }
        Reason::StepsUp { new, next } => new == last && next == *after && rise(&new, after) == 2,
        Reason::PreparesStepUp { before, new, next } => {
            (before, new) == (first, last) && next == *after && rise(&new, after) == 2
        }
        Reason::EachLeads { next } => {
            let moved = motions(proposal, root(after));
            next == *after && moved[1..].iter().all(|up| [5, 11].contains(up))
        }
        Reason::RootsFallByFifths { next } => {
            next == *after && motions(proposal, root(after)).iter().all(|up| *up == 5)
        }
        Reason::RootsFallByHalfSteps { next } => {
            next == *after && motions(proposal, root(after)).iter().all(|up| *up == 11)
        }
        Reason::PromisesTonic { before, tonic } => {
            before.quality.is_dominant() && [5, 11].contains(&rise(&before, &tonic))
        }
        Reason::TonicComesLate {
            first: other,
            tonic,
        } => other == first && tonic == last,
        Reason::WithoutRoot { new, five } => {
            let mut without = stated(&five);
            without.retain(|t| *t != root(&five));
            new == last && tones(&new) == without && rise(&five, &was[0]) == 0
        }
        Reason::RisesToFifth { new, next } => {
            let fifth = Degree::Five.class(next.root);
            new == last && next == *after && fifth.above(new.root.class()) == 1
        }
        Reason::HalfStepBeside { new, next } => {
            new == last
                && next == *after
                && [1, 11].contains(&rise(&new, &next))
                && new.quality == next.quality
        }
        Reason::BassByHalfSteps { next } => {
            let moved = motions(proposal, root(after));
            let bare = new.iter().chain([after]).all(|c| c.bass.is_none());
            next == *after && bare && (moved == [1, 1] || moved == [11, 11])
        }
        Reason::FallsHalfStep { new, next } => {
            new == last && next == *after && rise(&new, &next) == 11
        }
        Reason::FallsFifth { new, next } => new == last && next == *after && rise(&new, &next) == 5,
        Reason::SharesRoot { new, old } => old == was[0] && rise(&new, &old) == 0,
        Reason::StaysInBass { bass } => new
            .iter()
            .all(|c| c.bass.unwrap_or(c.root).class() == bass.class()),
        Reason::TritoneAway { two, five, next } => {
            next == *after
                && rise(&two, &first) == 6
                && rise(&five, &last) == 6
                && rise(&last, &next) == 11
        }
        Reason::Prepares { new, five } => (new, five) == (first, last) && rise(&new, &five) == 5,
        Reason::SubstituteWithTwo { five, next } => {
            rise(&five, &last) == 6 && rise(&first, &last) == 5 && rise(&last, &next) == 11
        }
        Reason::SharesNotes { new, old, count } => {
            let own = stated(&new);
            let shared = own.iter().filter(|t| stated(&old).contains(t)).count();
            old == was[0] && new == first && shared == usize::from(count) && shared >= 2
        }
        Reason::LeadsTo { new, next } => new == last && next == *after && rise(&new, &next) == 5,
        Reason::TwoFiveLeads { two, five, next } => {
            five == last && next == *after && rise(&two, &five) == 5 && rise(&five, &next) == 5
        }
        Reason::BesideKey { two, five } => {
            let beside = |a: &Chord, b: &Chord| [1, 11].contains(&rise(a, b));
            beside(&was[0], &two) && beside(&was[1], &five) && rise(&two, &five) == 5
        }
        Reason::AboveAndBack { new } => rise(&first, &new) == 1 && first == last,
        Reason::HoldsOver { sus, two, five } => {
            sus == first && sus.root == five.root && is_held_by(&two, &sus)
        }
        Reason::SoundsAs { slash, sus } => {
            slash == first && slash.bass == Some(sus.root) && is_held_by(&slash, &sus)
        }
        Reason::FourthFallsToThirdOf { sus, five } => {
            (sus, five) == (first, last) && sus.root == five.root
        }
        Reason::FourthFalls { sus } => {
            sus == first && last.quality.family() == ChordFamily::Dominant
        }
        Reason::KeepsThirdOpen { sus } => {
            sus == last && !tones(&sus).contains(&((root(&sus) + 4) % 12))
        }
        Reason::SameGuideTones { new, five, next } => {
            new == last
                && next == *after
                && guides(&new) == guides(&five)
                && rise(&new, &next) == 11
        }
        Reason::BassFalls { triad } => {
            let bass = new.iter().map(|c| c.bass.unwrap_or(c.root).class());
            let up = bass.map(|b| b.above(triad.root.class()));
            up.eq([0, 11, 10, 9]) && new.iter().all(|c| tones(c) == tones(&triad))
        }
        Reason::LineFalls { triad } => new.iter().all(|c| c.root == triad.root),
        Reason::LineRises { triad } => new.iter().all(|c| c.root == triad.root),
        Reason::StepsThroughKey { next } => {
            let moved = motions(proposal, root(after));
            next == *after && moved.iter().all(|up| [1, 2, 10, 11].contains(up))
        }
        Reason::SlidesTo { six, next } => {
            let moved = motions(proposal, root(after));
            six == last && next == *after && moved == [11, 11, 11, 5]
        }
        Reason::LeadBack { next } | Reason::RoadHome { next } => next == *after,
        Reason::LeadRound { tonic } => {
            let visited = new.iter().filter(|c| c.quality == Quality::MajorSeventh);
            let mut ups = visited.map(|c| rise(&tonic, c));
            ups.all(|up| [0, 4, 8].contains(&up))
        }
        // Keys and modes: what is lent, and what the blues goes to, is checked elsewhere.
        Reason::ComesFrom { .. } | Reason::ThirdFalls { .. } | Reason::OutAndBackHome { .. } => {
            return None;
        }
    })
}

const CHARTS: [(&str, &str); 8] = [
    (
        "Cmaj7:4 Am7:4 Dm7:4 G7:4 Em7:4 A7:4 Fmaj7:4 Fm6:4 Cmaj7:8 Cmaj7:4",
        "C",
    ),
    (
        "C:4 C7:4 F:4 G13:4 C6:4 G7alt:4 Em:4 Am6:4 Dm6:2 G9:2 C:4",
        "C",
    ),
    (
        "C6:4 G7b9:4 Cmaj9:4 E7/G#:2 Am7/G:2 D9:4 G13sus4:4 Db7:4 C6:8",
        "C",
    ),
    (
        "F/A:4 G7/B:4 C/E:4 Dm7/C:4 G7#11:4 Cmaj7:4 Dm9:2 G7alt:2 C6/9:4",
        "C",
    ),
    (
        "Cm7:4 Fm7:4 Dm7b5:4 G7:4 Cm6:4 Abmaj7:4 Ebmaj7:4 G7alt:4",
        "Cm",
    ),
    (
        "Cm:8 C7alt:4 Fm6:4 Dm7b5:2 G7b9:2 Cm(maj7):4 G7#9:4 Cm7:4",
        "Cm",
    ),
    (
        "C7:4 F7:4 C7:4 C7:4 F7:4 F7:4 C7:4 C7:4 Dm7:4 G7:4 C7:4 G7:4",
        "C blues",
    ),
    (
        "C7:4 C7:4 C9:4 C13:4 F7:4 F9:4 C7:4 C7:4 G7:4 F7:4 C7:4 G7#9:4",
        "C blues",
    ),
];

#[test]
fn reasons_are_true() {
    let (mut claims, mut seen) = (0, Vec::new());
    for (text, key) in CHARTS {
        for fifths in KEYS {
            let spans = in_key(text, key, fifths);
            for proposal in all(&spans, 0..spans.len()) {
                let after = spans[proposal.span.end % spans.len()].chord.unwrap();
                let old = &spans[proposal.span.clone()];
                if let Some(true_of_it) = holds(&proposal, old, &after) {
                    assert!(true_of_it, "{text}: {} {:?}", proposal.reason, proposal);
                    claims += 1;
                    let kind = std::mem::discriminant(&proposal.reason);
                    if !seen.contains(&kind) {
                        seen.push(kind);
                    }
                }
            }
        }
    }
    assert!(claims > 8_000, "{claims}");
    // Every kind of reason that can be counted is met.
    assert_eq!(seen.len(), 39);
}
