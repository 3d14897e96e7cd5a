//! Every reason is true of the chords that it names, counted by plain arithmetic. Common
//! practice, no published source.

use crate::common::{KEYS, all, in_key, motions, root, stated, tones};
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree;
use guidehand_theory::quality::{ChordFamily, Quality};
use guidehand_theory::reharm::{Fall, Lender, Name, Proposal, Reason, Span};

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

/// The tensions that a name promises.
fn promised(name: Name) -> &'static [Degree] {
    match name {
        Name::Flat9And13 => &[Degree::Flat9, Degree::Thirteen],
        Name::Flat9AndFlat13 => &[Degree::Flat9, Degree::Flat13],
        Name::Sharp9AndFlat13 => &[Degree::Sharp9, Degree::Flat13],
        Name::Sharp11 => &[Degree::Sharp11],
        _ => &[],
    }
}

/// The keys of a voice besides root, third and fifth, as semitones over the root; the root
/// itself in a triad.
fn inner_voice(chords: &[Chord]) -> Vec<u8> {
    let over_root = |chord: &Chord| {
        let ups = tones(chord)
            .into_iter()
            .map(|t| (t + 12 - root(chord)) % 12);
        let mut voices = ups.filter(|up| ![0, 3, 7].contains(up));
        voices.next().unwrap_or(12)
    };
    chords.iter().map(over_root).collect()
}

/// The fifth of a major triad that gives way, or what has been added to it.
fn rising_voice(chords: &[Chord]) -> Vec<u8> {
    let over_root = |chord: &Chord| {
        let ups = tones(chord)
            .into_iter()
            .map(|t| (t + 12 - root(chord)) % 12);
        ups.max().unwrap_or(0)
    };
    chords.iter().map(over_root).collect()
}

/// Semitones over the tonic of the scale that a chord is borrowed from.
fn scale_of(lender: Lender) -> [u8; 7] {
    match lender {
        Lender::Major => [0, 2, 4, 5, 7, 9, 11],
        Lender::Minor => [0, 2, 3, 5, 7, 8, 10],
        Lender::Dorian => [0, 2, 3, 5, 7, 9, 10],
        Lender::Phrygian => [0, 1, 3, 5, 7, 8, 10],
    }
}

/// What the reason claims, of the chords in place and the one after them.
fn holds(proposal: &Proposal, old: &[Span], after: &Chord) -> bool {
    let new: Vec<Chord> = proposal.chords.iter().map(|p| p.chord).collect();
    let (first, last) = (new[0], *new.last().unwrap());
    let was: Vec<Chord> = old.iter().filter_map(|s| s.chord).collect();
    let key = old[0].function.unwrap().key;
    let over_tonic = |chord: &Chord| (root(chord) + 12 - key.tonic.class().number()) % 12;
    match proposal.reason {
        Reason::BearsTensions { five, fall } | Reason::MayBeAltered { five, fall } => {
            five.root == last.root
                && promised(proposal.name)
                    .iter()
                    .all(|d| last.degrees().contains(*d))
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
            next == *after
                && moved[1..].iter().all(|up| [5, 11].contains(up))
                && new[1..].iter().all(|c| c.quality.is_dominant())
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
            sus == first && last.root == sus.root && last.quality.degrees().contains(Degree::Three)
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
        Reason::LineFalls { triad } => {
            new.iter().all(|c| c.root == triad.root) && inner_voice(&new) == [12, 11, 10, 9]
        }
        Reason::LineRises { triad } => {
            let line = rising_voice(&new);
            new.iter().all(|c| c.root == triad.root)
                && (line == [7, 8, 9, 10] || line == [7, 8, 9, 8])
        }
        Reason::StepsThroughKey { next } => {
            let moved = motions(proposal, root(after));
            next == *after && moved.iter().all(|up| [1, 2, 10, 11].contains(up))
        }
        Reason::SlidesTo { six, next } => {
            let moved = motions(proposal, root(after));
            six == last && next == *after && moved == [11, 11, 11, 5]
        }
        Reason::TwoFivesDown { next } => {
            let twos = [new[0], new[2], next];
            let fall = twos.windows(2).all(|pair| rise(&pair[0], &pair[1]) == 11);
            next == *after && fall && twos.iter().all(is_minor)
        }
        Reason::LeadBack { next } => new.len() == 4 && next == *after && over_tonic(&next) == 0,
        Reason::RoadHome { next } => new.len() == 2 && next == *after && over_tonic(&next) == 0,
        Reason::LeadRound { tonic } => {
            let visited = new.iter().filter(|c| c.quality == Quality::MajorSeventh);
            let ups: Vec<u8> = visited
                .map(|c| rise(&tonic, c))
                .filter(|up| *up != 0)
                .collect();
            ups == [8, 4]
        }
        Reason::ComesFrom { new, lender } => {
            let scale = scale_of(lender);
            let tonic = key.tonic.class().number();
            new == first
                && tones(&new)
                    .iter()
                    .all(|t| scale.contains(&((t + 12 - tonic) % 12)))
        }
        Reason::ThirdFalls { new } => {
            let tonic = key.tonic.class().number();
            let scale = scale_of(Lender::Minor);
            (first, new) == (was[0], last)
                && first.root == new.root
                && first.quality.degrees().contains(Degree::Three)
                && new.quality.degrees().contains(Degree::Flat3)
                && tones(&new)
                    .iter()
                    .all(|t| scale.contains(&((t + 12 - tonic) % 12)))
        }
        Reason::OutAndBackHome { new: four } => {
            let back = new
                .iter()
                .skip_while(|c| **c != four)
                .nth(1)
                .unwrap_or(after);
            new.contains(&four) && over_tonic(&four) == 5 && over_tonic(back) == 0
        }
    }
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
                let true_of_it = holds(&proposal, old, &after);
                assert!(true_of_it, "{text}: {} {:?}", proposal.reason, proposal);
                claims += 1;
                let kind = std::mem::discriminant(&proposal.reason);
                if !seen.contains(&kind) {
                    seen.push(kind);
                }
            }
        }
    }
    assert!(claims > 8_000, "{claims}");
    // Every kind of reason is met.
    assert_eq!(seen.len(), 43);
}
