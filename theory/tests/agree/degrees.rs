//! Every melody note, and every pair of them, over every chord quality and choice of tensions.

use super::oracle::{clashes, is_guide};
use crate::domain;
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree::{Five, Flat7, Root, Seven, Six, Thirteen};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::tension::{self, Above, Choices, Outcome, TensionRequests, Tensions};

/// Every choice that some place or request gives a chord, once.
fn choices_of(chord: Chord) -> Vec<Tensions> {
    let mut all: Vec<Tensions> = Vec::new();
    let asked = domain::all_asks().into_iter().chain(domain::further_asks());
    let asked: Vec<TensionRequests> = asked.collect();
    for (placed, function) in domain::placed(chord) {
        for requests in &asked {
            for choice in tension::resolve(&placed, &function, *requests) {
                let same = |c: &&Tensions| {
                    (c.third, c.seventh, c.others) == (choice.third, choice.seventh, choice.others)
                };
                if all.iter().find(same).is_none() {
                    all.push(choice);
                }
            }
        }
    }
    all
}

fn alone(choice: Tensions) -> Choices {
    std::iter::once(choice).collect()
}

fn above(chord: &Chord, melody: &[u8]) -> Above {
    let root = MidiNote::clamp(72 + i32::from(chord.root.class().number()));
    let note = |up: &u8| MidiNote::clamp(root.semitones() + i32::from(*up));
    melody.iter().map(note).collect()
}

/// Nothing, one note, or two, in semitones above the root.
fn melodies() -> Vec<Vec<u8>> {
    let ones = (0..12).map(|one| vec![one]);
    let twos = (0..12).flat_map(|one| (0..one).map(move |other| vec![other, one]));
    ones.chain(twos).collect()
}

fn chords() -> Vec<Chord> {
    let mut chords = domain::everyday();
    let more = domain::systematic();
    let new: Vec<Chord> = more.into_iter().filter(|c| !chords.contains(c)).collect();
    chords.extend(new);
    chords
}

#[test]
fn no_tension_clashes_and_only_what_clashes_yields() {
    let (mut count, mut yielded) = (0, 0);
    for chord in chords() {
        for choice in choices_of(chord) {
            for melody in melodies() {
                check(&chord, &choice, &melody, &mut yielded);
                count += 1;
            }
        }
    }
    assert!(count > 100_000, "{count}");
    assert!(yielded > 50_000, "{yielded}");
}

fn check(chord: &Chord, choice: &Tensions, melody: &[u8], yielded: &mut u32) {
    let case = || format!("{chord:?} {choice:?} under {melody:?}");
    let against = |degree| {
        let clash = |note: &&u8| clashes(chord, degree, **note);
        melody.iter().find(clash).is_some()
    };
    let agreed = tension::agree(&alone(*choice), chord, above(chord, melody));
    let [after] = *agreed.choices.as_slice() else {
        panic!("{}", case());
    };
    let yields = agreed.yields(&after);
    *yielded += u32::try_from(yields.len()).unwrap();
    // Nothing is left that clashes, but for guide tones.
    for degree in after.others.iter().filter(|d| !is_guide(**d)) {
        assert!(!against(*degree), "{degree} in {after:?}, {}", case());
    }
    // Guide tones stay, but for the exchange of a seventh.
    assert_eq!(after.third, choice.third, "{}", case());
    if after.seventh != choice.seventh {
        let seventh = choice.seventh.unwrap();
        let to_sixth = seventh == Seven && after.seventh == Some(Six) && melody.contains(&0);
        let unwritten = !chord.degrees().contains(seventh);
        assert!(to_sixth || unwritten, "{after:?}, {}", case());
        assert!(against(seventh), "{after:?}, {}", case());
        assert!(!against(after.seventh.unwrap()), "{after:?}, {}", case());
    }
    // Every degree that agrees stays, but for what an exchange of the seventh doubles.
    for degree in &choice.others {
        let stays = after.others.contains(degree) || after.seventh == Some(*degree);
        let doubled = *degree == Thirteen && after.seventh == Some(Six);
        let yields = !is_guide(*degree) && against(*degree);
        assert!(stays || yields || doubled, "{degree} {after:?}, {}", case());
    }
    // Each yield is told with its degree, and nothing else.
    for told in yields {
        let was = choice.others.contains(&told.degree) || choice.seventh == Some(told.degree);
        let put_there = yields.iter().any(|y| y.outcome == Outcome::To(told.degree));
        assert!(
            was && !put_there && against(told.degree),
            "{told:?}, {}",
            case()
        );
        if let Outcome::To(to) = told.outcome {
            let sounds = after.others.contains(&to) || after.seventh == Some(to);
            assert!(sounds && !against(to), "{told:?}, {}", case());
        }
        let written = chord.degrees().contains(told.degree) && ![Root, Five].contains(&told.degree);
        if let (true, Outcome::To(to)) = (written, told.outcome) {
            // What is written is left out, but for the exchange of the seventh.
            assert_eq!((told.degree, to), (Seven, Six), "{told:?}, {}", case());
        }
        assert_ne!(told.outcome, Outcome::Stands);
    }
    // What is new agrees, and there is as much of it as has been told.
    let new = after.others.iter().filter(|d| !choice.others.contains(d));
    let replaced = yields
        .iter()
        .filter(|y| y.degree != choice.seventh.unwrap_or(Flat7));
    assert!(new.count() <= replaced.count(), "{after:?}, {}", case());
}

#[test]
fn without_a_melody_nothing_changes() {
    for chord in chords() {
        for (placed, function) in domain::placed(chord) {
            let choices = tension::resolve(&placed, &function, TensionRequests::default());
            let agreed = tension::agree(&choices, &placed, Above::NONE);
            assert_eq!(agreed.choices, choices);
            assert!(choices.iter().all(|c| agreed.yields(c).is_empty()));
        }
    }
}

/// A melody note that agrees with a choice leaves it as it is, and the choices behind it that
/// agree too. So a chord tone that agrees adds nothing.
#[test]
fn what_agrees_stays_as_it_is() {
    let mut kept = 0;
    for chord in domain::everyday() {
        for (placed, function) in domain::placed(chord) {
            let choices = tension::resolve(&placed, &function, TensionRequests::default());
            for note in 0..12 {
                let agreed = tension::agree(&choices, &placed, above(&placed, &[note]));
                let clash = |choice: &Tensions| {
                    let guides = choice.seventh.into_iter();
                    let all = choice.others.iter().copied().filter(|d| !is_guide(*d));
                    guides.chain(all).any(|d| clashes(&placed, d, note))
                };
                if !clash(&choices[0]) {
                    let expected: Choices = choices.iter().filter(|c| !clash(c)).copied().collect();
                    let first = agreed.choices.iter().copied().filter(|c| !clash(c));
                    let found: Choices = first.collect();
                    assert_eq!(agreed.choices[0], choices[0], "{placed:?} {note}");
                    assert!(
                        expected.iter().all(|c| found.contains(c)),
                        "{placed:?} {note}"
                    );
                    kept += 1;
                }
            }
        }
    }
    assert!(kept > 5_000, "{kept}");
}

/// Behind the first choice whose slots agree, only choices whose slots agree stay: a dominant does
/// not take a mended choice where the table has one that needs no mending.
#[test]
fn no_mended_choice_stands_behind_one_that_agrees() {
    let (mut dropped, mut mended) = (0, 0);
    let several = |choices: &Choices| choices.iter().skip(1).any(|c| c.rank > 0);
    for (placed, function) in domain::everyday().into_iter().flat_map(domain::placed) {
        let choices = tension::resolve(&placed, &function, TensionRequests::default());
        if !several(&choices) {
            continue;
        }
        for note in 0..12 {
            let agrees = |choice: &Tensions| {
                let slots = choice.others.iter().take(2);
                !slots.into_iter().any(|d| clashes(&placed, *d, note))
            };
            let agreed = tension::agree(&choices, &placed, above(&placed, &[note]));
            let first = choices.iter().position(agrees).unwrap_or(choices.len());
            for (at, choice) in choices.iter().enumerate() {
                let stays = agreed.choices.iter().any(|c| c.rank == choice.rank);
                if at > first && !agrees(choice) {
                    assert!(!stays, "{placed:?} under {note}: {choice:?}");
                    dropped += 1;
                } else if at < first {
                    // It is mended, unless it then is as one before it.
                    mended += usize::from(stays);
                }
            }
        }
    }
    assert!(dropped > 200 && mended > 500, "{dropped} {mended}");
}

#[test]
fn all_twelve_keys_yield_alike() {
    for chord in chords() {
        let choices = tension::resolve(
            &chord,
            &domain::placed(chord).next().unwrap().1,
            TensionRequests::default(),
        );
        for melody in melodies() {
            let home = tension::agree(&choices, &chord, above(&chord, &melody));
            for fifths in -6..=5 {
                let moved = chord.transposed(fifths);
                let there = tension::agree(&choices, &moved, above(&moved, &melody));
                assert_eq!(there.choices, home.choices);
                for choice in &home.choices {
                    let outcomes = |agreed: &tension::Agreed| -> Vec<_> {
                        let yields = agreed.yields(choice).into_iter();
                        yields.map(|y| (y.degree, y.outcome, y.against)).collect()
                    };
                    assert_eq!(outcomes(&there), outcomes(&home), "{moved:?} {melody:?}");
                }
            }
        }
    }
}
