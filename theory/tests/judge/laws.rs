//! Laws that every judgement keeps, over every set of up to five keys within an octave and a half.

use crate::asked::{four, judged, question};
use guidehand_theory::candidates::{Hand, Register};
use guidehand_theory::degree::{Degree, Family};
use guidehand_theory::judge::{Accepts, Finding, Judgement, Question, judge};
use guidehand_theory::pin::{self, Verdict};
use guidehand_theory::pipeline;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::voicing::{Position, Voice, Voicing};

const ALL: [Accepts; 3] = [Accepts::Exact, Accepts::SameTensions, Accepts::AnyGood];

/// Questions of several families and textures.
fn questions() -> Vec<Question> {
    let of = |text: &str, texture, position| {
        let chord = symbol::parse(text).unwrap();
        question(chord, texture, position).unwrap_or_else(|| panic!("{text} {texture:?}"))
    };
    let mut either = four("G7(#9,b13)", Position::Third);
    either.either_position = true;
    vec![
        four("G7(b9,13)", Position::Seventh),
        four("G7", Position::Seventh),
        either,
        four("Cmaj7", Position::Third),
        four("C6/9", Position::Third),
        four("Bm7b5", Position::Third),
        four("Bdim7", Position::Third),
        four("C", Position::Third),
        of("Dm7", Texture::ThreeNotes, Position::Third),
        of("Dm7", Texture::GuideTones, Position::Seventh),
        of("G7sus4", Texture::Fourths, Position::Fourths),
        of("C5", Texture::FourNotes, Position::Third),
    ]
}

/// Every set of up to so many keys.
fn sets(keys: &[MidiNote], most: usize, visit: &mut dyn FnMut(&[MidiNote])) {
    fn go(
        rest: &[MidiNote],
        most: usize,
        held: &mut Vec<MidiNote>,
        visit: &mut dyn FnMut(&[MidiNote]),
    ) {
        visit(held);
        if most == 0 {
            return;
        }
        for (at, key) in rest.iter().enumerate() {
            held.push(*key);
            go(&rest[at + 1..], most - 1, held, visit);
            held.pop();
        }
    }
    go(keys, most, &mut Vec::new(), visit);
}

/// The keys of an octave and a half around the hand.
fn around(question: &Question) -> Vec<MidiNote> {
    let lowest = question.voiced.voicing.lowest().unwrap().semitones();
    (lowest - 3..lowest + 15).map(MidiNote::clamp).collect()
}

fn alone(judgement: &Judgement) -> bool {
    matches!(
        judgement.findings(),
        [Finding::OctaveOff(_) | Finding::OtherPosition { .. }]
    )
}

#[test]
fn each_note_is_told_once_and_each_standard_accepts_what_a_stricter_one_does() {
    for question in questions() {
        let asked: Vec<Degree> = question
            .voiced
            .voicing
            .voices()
            .iter()
            .map(|v| v.degree)
            .collect();
        let (mut judged_sets, mut right) = (0, [0; 3]);
        sets(&around(&question), 5, &mut |keys| {
            let judgements = ALL.map(|accepts| judged(&question, keys, accepts));
            let [exact, same, good] = judgements.map(|judgement| judgement.is_right());
            assert!(!exact || same, "{keys:?}");
            assert!(!same || good, "{keys:?}");
            for (judgement, count) in judgements.iter().zip(&mut right) {
                let findings = judgement.findings();
                let all_right = findings.iter().all(Finding::is_right);
                assert_eq!(
                    judgement.is_right(),
                    all_right && !findings.is_empty(),
                    "{keys:?}"
                );
                assert!(judgement.played().notes().eq(keys.iter().copied()));
                *count += u32::from(judgement.is_right());
            }
            for judgement in judgements.iter().take(2).filter(|j| !alone(j)) {
                let played = judgement.findings().iter().filter_map(Finding::played);
                let mut played: Vec<MidiNote> = played.collect();
                played.sort_unstable();
                assert_eq!(played, keys, "{judgement:?}");
                let told = judgement.findings().iter().filter_map(Finding::asked);
                let mut told: Vec<Degree> = told.map(|voice| voice.degree).collect();
                let mut asked = asked.clone();
                let target_is_asked = !question.either_position;
                if target_is_asked {
                    told.sort_unstable();
                    asked.sort_unstable();
                    assert_eq!(told, asked, "{keys:?}");
                }
            }
            judged_sets += 1;
        });
        assert_eq!(judged_sets, 1 + 18 + 153 + 816 + 3060 + 8568);
        // There is one right answer note for note; more where either position counts.
        assert!(
            right[0] >= 1 && (question.either_position || right[0] == 1),
            "{right:?}"
        );
        assert!(right[1] >= right[0] && right[2] >= right[1], "{right:?}");
    }
}

/// Arrangers' tables, from memory.
const LOW_LIMITS: [(i32, i32); 4] = [(1, 52), (2, 51), (3, 48), (4, 46)];

/// Whether keys lie where one hand of four notes can lie: a third beyond the left hand's register at
/// most, within a tenth, no neighbours too low, no minor ninth.
fn lies_well(keys: &[MidiNote]) -> bool {
    let keys: Vec<i32> = keys.iter().map(|key| key.semitones()).collect();
    let inside = keys.iter().all(|key| (46..=73).contains(key));
    let reached = keys[keys.len() - 1] - keys[0] <= 16;
    let clear = keys.windows(2).all(|pair| {
        let muddy = |(gap, lowest)| pair[1] - pair[0] == gap && pair[0] < lowest;
        !LOW_LIMITS.into_iter().any(muddy)
    });
    let ninth = |low: &i32| {
        keys.iter()
            .any(|high| high - low > 12 && (high - low) % 12 == 1)
    };
    inside && reached && clear && !keys.iter().any(ninth)
}

/// The same degrees, wherever the hand can lie, against the definition in plain words.
#[test]
fn the_same_tensions_are_those_degrees_and_nothing_else() {
    for question in [
        four("G7(b9,13)", Position::Seventh),
        four("Cmaj7", Position::Third),
        four("Bm7b5", Position::Third),
    ] {
        let classes = |keys: &[MidiNote]| {
            let mut classes: Vec<u8> = keys.iter().map(|key| key.class().number()).collect();
            classes.sort_unstable();
            classes
        };
        let asked: Vec<MidiNote> = question.voiced.voicing.notes().collect();
        let keys: Vec<MidiNote> = (40..80).map(MidiNote::clamp).collect();
        let keys: Vec<MidiNote> = keys
            .into_iter()
            .filter(|key| asked.iter().any(|note| note.class() == key.class()))
            .collect();
        let (mut right, mut wrong) = (0, 0);
        sets(&keys, 5, &mut |keys| {
            if keys.is_empty() {
                return;
            }
            let expected = classes(keys) == classes(&asked) && lies_well(keys);
            let judgement = judged(&question, keys, Accepts::SameTensions);
            assert_eq!(judgement.is_right(), expected, "{keys:?} {judgement:?}");
            if expected {
                right += 1;
            } else {
                wrong += 1;
            }
        });
        assert!(right > 5 && wrong > 1000, "{right} {wrong}");
    }
}

/// Any good voicing, against what there is to tell of pinned voicings.
#[test]
fn any_good_voicing_is_one_of_which_there_is_nothing_to_tell() {
    for question in [
        four("G7", Position::Seventh),
        four("Cmaj7", Position::Third),
        four("Dm7", Position::Third),
        four("Bm7b5", Position::Third),
    ] {
        let chord = question.placed.chord;
        let (mut right, mut wrong) = (0, 0);
        sets(&around(&question), 5, &mut |keys| {
            if keys.len() < 2 {
                return;
            }
            let voicing = pin::by_degree(keys, &chord, Hand::DEFAULT).unwrap();
            let told = pin::check(&voicing, &chord, Register::DEFAULT);
            let nothing = told.iter().all(|verdict| {
                matches!(
                    verdict,
                    Verdict::SharpNineInside
                        | Verdict::Stretch { .. }
                        | Verdict::OutOfRegister { .. }
                )
            });
            let families = [Family::Ninth, Family::Eleventh, Family::Thirteenth];
            let mixed = families.into_iter().any(|family| {
                let members = voicing.degrees();
                let members = members.iter().filter(|d| d.family() == Some(family));
                let altered: Vec<bool> = members.map(Degree::is_altered).collect();
                altered.contains(&true) && altered.contains(&false)
            });
            let expected = nothing && !mixed && lies_well(keys);
            let judgement = judged(&question, keys, Accepts::AnyGood);
            assert_eq!(
                judgement.is_right(),
                expected,
                "{keys:?}: {judgement:?} {told:?}"
            );
            if expected {
                right += 1;
            } else {
                wrong += 1;
            }
        });
        assert!(right > 5 && wrong > 1000, "{right} {wrong}");
    }
}

/// A question, an answer and the register, so many fifths and half steps away.
fn moved(question: &Question, fifths: i8, half_steps: i8) -> Question {
    let mut moved = *question;
    moved.placed.chord = moved.placed.chord.transposed(fifths);
    moved.placed.written = moved.placed.written.transposed(fifths);
    moved.voiced.voicing = moved.voiced.voicing.transposed(half_steps).unwrap();
    moved
}

/// A finding without the key in which it is: half steps count from a note.
fn without_key(judgement: &Judgement, half_steps: i8) -> Vec<String> {
    let lower = |note: MidiNote| MidiNote::clamp(note.semitones() - i32::from(half_steps));
    let voice = |voice: Voice| Voice {
        note: lower(voice.note),
        ..voice
    };
    let plain = |finding: &Finding| match *finding {
        Finding::Right(v) => Finding::Right(voice(v)),
        Finding::OtherOctave { asked, played } => Finding::OtherOctave {
            asked: voice(asked),
            played: lower(played),
        },
        Finding::Off { asked, played } => Finding::Off {
            asked: voice(asked),
            played: voice(played),
        },
        Finding::Missing(v) => Finding::Missing(voice(v)),
        Finding::NotAsked(v) => Finding::NotAsked(voice(v)),
        Finding::NoPlace(v) => Finding::NoPlace(voice(v)),
        Finding::Doubled { kept, played } => Finding::Doubled {
            kept: voice(kept),
            played: lower(played),
        },
        Finding::RootPlayed(note) => Finding::RootPlayed(lower(note)),
        other => other,
    };
    let told = |finding: &Finding| match plain(finding) {
        // Notes in verdicts are spelled.
        Finding::NotGood(verdict) => format!("{:?}", std::mem::discriminant(&verdict)),
        finding => format!("{finding:?}"),
    };
    judgement.findings().iter().map(told).collect()
}

/// Twelve keys are judged alike. The register moves along, above all low intervals.
#[test]
fn twelve_keys_agree() {
    let register = |half_steps: i8| {
        let end = |note: i32| MidiNote::clamp(note + i32::from(half_steps));
        Register::new(end(60), end(79))
    };
    let mut count = 0;
    for question in questions() {
        let question = moved(&question, 0, 12);
        let wide = around(&question);
        sets(&wide[2..14], 4, &mut |keys| {
            let here = ALL.map(|accepts| judge(&question, keys, accepts, register(0)));
            for fifths in -6_i8..6 {
                let half_steps = (7 * fifths).rem_euclid(12);
                let there = moved(&question, fifths, half_steps);
                let keys: Vec<MidiNote> = keys
                    .iter()
                    .map(|key| MidiNote::clamp(key.semitones() + i32::from(half_steps)))
                    .collect();
                for (accepts, here) in ALL.into_iter().zip(&here) {
                    let moved = judge(&there, &keys, accepts, register(half_steps));
                    assert_eq!(moved.is_right(), here.is_right());
                    assert_eq!(without_key(&moved, half_steps), without_key(here, 0));
                    count += 1;
                }
            }
        });
    }
    assert!(count > 100_000, "{count}");
}

/// The voicing that is asked for is right by every standard, whatever register is set, and without
/// being held against itself it is a good one in its texture.
#[test]
fn what_is_asked_is_right_in_any_register() {
    let registers = [
        Register::DEFAULT,
        Register::new(MidiNote::clamp(30), MidiNote::clamp(49)),
        Register::new(MidiNote::clamp(90), MidiNote::MAX),
    ];
    for question in questions() {
        let asked: Vec<MidiNote> = question.voiced.voicing.notes().collect();
        for register in registers {
            for accepts in ALL {
                let judgement = judge(&question, &asked, accepts, register);
                assert!(judgement.is_right(), "{:?}", question.placed.chord);
            }
        }
    }
    // As many notes as a voicing holds, placed by hand.
    let placed = questions()[0].placed;
    let keys = [41, 47, 53, 56, 59, 64, 68, 71].map(MidiNote::clamp);
    let voicing = pin::by_degree(&keys, &placed.chord, Hand::DEFAULT).unwrap();
    let own = Question {
        placed,
        voiced: pipeline::pinned(&placed, &voicing),
        either_position: true,
    };
    for accepts in ALL {
        assert!(judge(&own, &keys, accepts, Register::DEFAULT).is_right());
        let judgement = judge(&own, &keys[1..], accepts, Register::DEFAULT);
        // Where any good voicing counts, seven of the eight may be one.
        assert!(!judgement.is_right() || accepts == Accepts::AnyGood);
    }
    // Without a voicing nothing is right, and nothing breaks.
    let nothing = Question {
        voiced: guidehand_theory::plan::Voiced {
            voicing: Voicing::default(),
            ..questions()[0].voiced
        },
        ..questions()[0]
    };
    for accepts in ALL {
        for keys in [&[][..], &[MidiNote::MIN, MidiNote::MAX]] {
            let judgement = judge(&nothing, keys, accepts, Register::DEFAULT);
            assert!(judgement.findings().len() <= 2);
        }
    }
}
