//! In free time: the next question comes when this one is right.

use super::*;
use crate::engine::practising::{Stage, When};
use guidehand_practice::Help;
use guidehand_theory::judge::Finding;

fn begun() -> Rig {
    let mut rig = Rig::begun(lesson(&exercise(), 1));
    rig.run(1000, &[64]);
    assert_eq!(rig.asking().stage, Stage::Asked);
    rig
}

#[test]
fn a_key_begins_practice_and_is_no_answer() {
    let mut rig = Rig::new(lesson(&exercise(), 1));
    rig.run(1000, &[64]);
    assert_eq!(rig.asking().stage, Stage::Idle);
    assert!(rig.asking().by_key);
    rig.play_for(&[84], 200);
    assert_eq!(rig.asking().stage, Stage::Idle, "the right hand does not");
    rig.play_for(&[48], 200);
    assert_eq!(rig.asking().stage, Stage::Asked);
    assert_eq!(rig.asking().judgement, None);
    rig.ask(PracticeAsk::End);
    rig.play_for(&[48], 200);
    assert_eq!(rig.asking().stage, Stage::Idle, "the player has ended it");
    assert!(!rig.asking().by_key);
    assert!(rig.answers.is_empty());
}

#[test]
fn a_right_answer_brings_the_next_question_once_the_hand_lets_go() {
    let mut rig = begun();
    let first = rig.question();
    let keys = rig.keys_of(first);
    let at = rig.now + ms(500);
    rig.hold(&keys, at, at + ms(400));
    rig.run(ms(500) + ms(79), &[64]);
    assert_eq!(rig.asking().stage, Stage::Asked);
    rig.run(ms(2), &[64]);
    let asking = rig.asking();
    assert_eq!(
        (asking.stage, asking.question),
        (Stage::Answered, Some(first))
    );
    assert!(asking.judgement.unwrap().is_right());
    assert_eq!((asking.when, asking.rolled_ms), (When::OnTime, None));
    assert_eq!(
        asking.next, None,
        "the next item is not known before it is asked"
    );
    rig.run(ms(400), &[64]);
    let asking = rig.asking();
    assert_eq!(asking.stage, Stage::Asked);
    assert_ne!(asking.question, Some(first));
    assert_eq!(asking.judged, Some(first), "the judgement stays on show");
    let [answered] = rig.answers[..] else {
        panic!("one answer");
    };
    assert!(answered.right_first && !answered.helped && answered.right);
    assert_eq!(
        (answered.question, answered.drill),
        (first, rig.lesson.number)
    );
    assert_eq!(
        u64::from(answered.millis),
        (at + ms(1) / 2) / ms(1),
        "from the first block on"
    );
    rig.assert_nothing_hangs();
    assert!(rig.generated().is_empty());
}

#[test]
fn a_chord_that_is_held_on_brings_the_next_question_after_a_second() {
    let mut rig = begun();
    let first = rig.question();
    let keys = rig.keys_of(first);
    let at = rig.now;
    rig.hold(&keys, at, at + ms(3000));
    rig.run(ms(1000), &[64]);
    assert_eq!(rig.asking().stage, Stage::Answered);
    rig.run(ms(100), &[64]);
    assert_eq!(rig.asking().stage, Stage::Asked);
    // What is still held is no answer, and what is let go of is none either.
    rig.run(ms(2500), &[64]);
    assert_eq!(rig.answers.len(), 1);
    let second = rig.question();
    rig.play_for(&rig.keys_of(second), 200);
    assert!(rig.answers[1].right_first);
}

#[test]
fn a_wrong_note_is_told_and_counts_and_the_finger_that_mends_it_is_right() {
    let mut rig = begun();
    let question = rig.question();
    let keys = rig.keys_of(question);
    let mut wrong = keys.clone();
    wrong[1] += 1;
    let at = rig.now;
    for key in &wrong {
        rig.down(at, *key);
    }
    rig.run(ms(100), &[64]);
    let judgement = rig.asking().judgement.unwrap();
    assert!(!judgement.is_right() && !judgement.lacks_only());
    assert!(
        judgement
            .findings()
            .iter()
            .any(|finding| matches!(finding, Finding::Off { .. })),
        "{judgement:?}"
    );
    assert_eq!(rig.asking().stage, Stage::Asked);
    assert!(rig.answers.is_empty());
    let at = rig.now;
    rig.up(at + 10, wrong[1]);
    rig.down(at + 20, keys[1]);
    rig.run(ms(100), &[64]);
    assert_eq!(rig.asking().stage, Stage::Answered);
    assert_eq!(rig.asking().rolled_ms, None, "it is not rolled but mended");
    let answered = rig.answers[0];
    assert!(answered.right && !answered.right_first);
    assert_eq!((rig.asking().answered, rig.asking().right_first), (1, 0));
}

#[test]
fn a_rolled_chord_is_right_and_a_chord_that_stays_incomplete_is_a_miss() {
    let mut rig = begun();
    let question = rig.question();
    let keys = rig.keys_of(question);
    let at = rig.now;
    for (nth, key) in (0_u64..).zip(&keys) {
        rig.down(at + nth * ms(150), *key);
        rig.up(at + ms(900), *key);
    }
    rig.run(ms(300), &[64]);
    assert!(rig.asking().judgement.unwrap().lacks_only());
    rig.run(ms(700), &[64]);
    assert!(rig.answers[0].right_first);
    assert_eq!(rig.asking().rolled_ms, Some(450));

    let question = rig.question();
    let keys = rig.keys_of(question);
    rig.play_for(&keys[1..], 300);
    assert_eq!(rig.asking().stage, Stage::Asked);
    assert_eq!(rig.answers.len(), 1);
    rig.play_for(&keys, 300);
    assert!(
        !rig.answers[1].right_first,
        "it was let go of without a note"
    );
}

#[test]
fn a_short_chord_is_judged_as_it_was() {
    let mut rig = begun();
    let keys = rig.keys_of(rig.question());
    let at = rig.now;
    rig.hold(&keys, at, at + ms(30));
    rig.run(ms(40), &[64]);
    assert!(rig.answers[0].right_first);
    let keys = rig.keys_of(rig.question());
    let at = rig.now;
    rig.hold(&keys, at, at);
    rig.run(ms(40), &[64]);
    assert!(rig.answers[1].right_first, "no longer than a sample");
}

#[test]
fn keys_that_lie_too_high_are_no_part_of_an_answer() {
    let mut rig = begun();
    let keys = rig.keys_of(rig.question());
    assert!(keys.iter().any(|key| *key >= rig.settings.split));
    assert_eq!(rig.asking().below, 70, "above the register");
    let at = rig.now;
    rig.hold(&keys, at, at + ms(200));
    rig.hold(&[76, 79], at, at + ms(200));
    rig.run(ms(300), &[64]);
    assert!(rig.answers[0].right_first);
}

#[test]
fn chords_of_a_progression_may_be_played_legato() {
    let exercise = progression(Progression::TwoFiveOneMajor);
    let mut rig = Rig::begun(lesson(&exercise, 1));
    rig.run(1000, &[64]);
    let questions = rig.lesson.items[0].questions.clone();
    assert_eq!(rig.asking().question, Some(questions.start));
    let mut held: Vec<u8> = Vec::new();
    for question in questions.clone() {
        let keys = rig.keys_of(question);
        let at = rig.now;
        for key in keys.iter().filter(|key| !held.contains(key)) {
            rig.down(at + 5, *key);
        }
        // The fingers before go up late, after the chord has been judged.
        for key in held.iter().filter(|key| !keys.contains(key)) {
            rig.up(at + ms(100), *key);
        }
        rig.run(ms(200), &[64]);
        let asking = rig.asking();
        assert_eq!(asking.judged, Some(question));
        assert!(asking.judgement.unwrap().is_right(), "{question}");
        let known = (question + 1 < questions.end).then_some(question + 1);
        assert_eq!(asking.next, known);
        held = keys;
    }
    let right = rig.answers.iter().filter(|answered| answered.right_first);
    assert_eq!(right.count(), 3);
    assert_eq!(rig.answers[0].before, None);
    assert_eq!(rig.answers[2].before, Some(questions.start + 1));
}

#[test]
fn help_grows_after_its_time_and_at_a_press_and_is_told() {
    let exercise = Exercise {
        more_after_s: Some(2),
        ..exercise()
    };
    let mut rig = Rig::begun(lesson(&exercise, 1));
    rig.run(ms(1999), &[64]);
    assert_eq!(rig.asking().help, Help::Nothing);
    rig.run(ms(2), &[64]);
    assert_eq!(rig.asking().help, Help::GuideTones);
    rig.ask(PracticeAsk::More);
    rig.run(64, &[64]);
    assert_eq!(rig.asking().help, Help::Everything);
    rig.play_for(&rig.keys_of(rig.question()), 300);
    assert!(rig.answers[0].helped && rig.answers[0].right_first);
    assert_eq!(rig.asking().help, Help::Nothing, "anew for each question");
}

#[test]
fn a_question_that_is_passed_over_is_a_miss() {
    let mut rig = begun();
    let first = rig.question();
    rig.ask(PracticeAsk::Skip);
    rig.run(64, &[64]);
    assert_eq!(rig.asking().stage, Stage::Asked);
    assert_ne!(rig.question(), first);
    let answered = rig.answers[0];
    assert!(!answered.right && !answered.right_first);
    assert_eq!(answered.question, first);
}

#[test]
fn the_right_chord_sounds_after_the_answer_and_yields_to_keys() {
    let exercise = Exercise {
        answer_sounds: true,
        ..exercise()
    };
    let mut rig = Rig::begun(lesson(&exercise, 1));
    rig.run(1000, &[64]);
    let keys = rig.keys_of(rig.question());
    rig.play_for(&keys, 300);
    let generated = rig.generated();
    let released = 1000 + ms(300);
    assert!(
        generated.iter().all(|(time, _)| *time == released),
        "{generated:?}"
    );
    assert_eq!(
        generated.iter().map(|(_, key)| *key).collect::<Vec<_>>(),
        keys
    );
    rig.run(ms(1100), &[64]);
    rig.assert_nothing_hangs();
    let ended = rig.sent.last().unwrap().0;
    assert_eq!(ended, released + ms(1000), "by itself");

    let keys = rig.keys_of(rig.question());
    rig.play_for(&keys, 300);
    rig.run(ms(100), &[64]);
    let at = rig.now;
    rig.hold(&[50], at, at + ms(50));
    rig.run(ms(2), &[64]);
    let off = |(time, output): &&Sent| *time == at && matches!(output, Output::NoteOff { .. });
    assert_eq!(rig.sent.iter().filter(off).count(), keys.len());
    rig.run(ms(2000), &[64]);
    rig.assert_nothing_hangs();
    rig.ask(PracticeAsk::Skip);
    rig.run(64, &[64]);
    assert!(
        !rig.generated().is_empty(),
        "after a question that is passed over too"
    );
}

#[test]
fn a_list_comes_to_its_end_and_begins_again_when_it_is_asked_to() {
    let mut rig = begun();
    for _ in 0..200 {
        if rig.asking().stage == Stage::Over {
            break;
        }
        rig.play_for(&rig.keys_of(rig.question()), 200);
    }
    let asking = rig.asking();
    assert_eq!(asking.stage, Stage::Over);
    assert_eq!(asking.done as usize, rig.lesson.items.len());
    assert!(rig.answers.iter().all(|answered| answered.right_first));
    rig.play_for(&[50, 53], 200);
    assert_eq!(rig.asking().stage, Stage::Over);
    rig.begin_anew();
    rig.run(64, &[64]);
    assert_eq!(rig.asking().stage, Stage::Asked);
    assert_eq!((rig.asking().answered, rig.asking().done), (0, 0));
}

#[test]
fn another_drill_in_the_middle_asks_anew_and_nothing_is_counted() {
    let mut rig = begun();
    let keys = rig.keys_of(rig.question());
    for key in &keys {
        rig.down(rig.now, *key);
    }
    rig.run(ms(40), &[64]);
    let other = Exercise {
        families: vec![ShapeFamily::Dominant],
        ..exercise()
    };
    rig.teach(lesson(&other, 9), false);
    rig.run(ms(200), &[64]);
    let asking = rig.asking();
    assert_eq!((asking.stage, asking.drill), (Stage::Asked, 9));
    assert_eq!((asking.question, asking.judgement), (Some(0), None));
    assert!(rig.answers.is_empty());
}

#[test]
fn bypass_another_source_and_a_reset_end_it_and_a_moved_split_does_not() {
    let mut rig = begun();
    rig.settings.split = 40;
    rig.run(64, &[64]);
    assert_eq!(rig.asking().stage, Stage::Asked);
    let first = rig.question();
    rig.settings.bypass = true;
    rig.run(64, &[64]);
    assert_eq!(rig.asking().stage, Stage::Idle);
    let keys = rig.keys_of(first);
    rig.play_for(&keys, 200);
    assert_eq!(rig.asking().stage, Stage::Idle, "keys only pass");
    rig.settings.bypass = false;
    rig.run(64, &[64]);
    rig.play_for(&[50], 200);
    assert_eq!(rig.asking().stage, Stage::Asked);
    rig.settings.source = Source::Reading;
    rig.run(1000, &[64]);
    assert_eq!(rig.performer.snapshot().practice, None);
    rig.settings.source = Source::Practice;
    rig.run(64, &[64]);
    assert_eq!(rig.asking().stage, Stage::Idle);
    rig.play_for(&[50], 200);
    assert_eq!(rig.question(), first, "the same item is still in hand");
    rig.performer.reset();
    rig.run(64, &[64]);
    assert_eq!(rig.asking().stage, Stage::Idle);
    rig.play_for(&[50], 200);
    rig.play_for(&keys, 200);
    assert!(rig.answers[0].right_first);
    rig.assert_nothing_hangs();
}

#[test]
fn a_lesson_that_begins_waits_until_the_source_is_in_force() {
    let mut rig = Rig::new(lesson(&exercise(), 1));
    rig.settings.source = Source::Roots;
    rig.begin_anew();
    rig.run(1000, &[64]);
    rig.settings.source = Source::Practice;
    rig.run(64, &[64]);
    assert_eq!(rig.asking().stage, Stage::Asked);
}

#[test]
fn voice_leading_is_told_within_a_progression() {
    let exercise = Exercise {
        leading: true,
        ..progression(Progression::TwoFive)
    };
    let mut rig = Rig::begun(lesson(&exercise, 1));
    rig.run(1000, &[64]);
    rig.play_for(&rig.keys_of(rig.question()), 200);
    assert_eq!(rig.asking().motion, None, "it has come from nowhere");
    rig.play_for(&rig.keys_of(rig.question()), 200);
    let motion = rig.asking().motion.unwrap();
    let [before, after] = [0, 1].map(|nth| rig.lesson.questions[nth].question.voiced.voicing);
    assert_eq!(motion.moved, before.motion(&after));
}
