//! Drills over what the record knows.

use super::*;

fn cells(made: &Made) -> Vec<crate::Cell> {
    let questions = made.drill.questions.iter();
    questions.filter_map(|asked| asked.cell).collect()
}

/// A record in which these cells were answered three times, rightly or not.
fn practised(answers: &[(crate::Cell, bool)], now: crate::Time) -> Record {
    let mut record = Record::default();
    for (cell, right) in answers {
        for _ in 0..3 {
            let answered = crate::Answered {
                right: true,
                right_first: *right,
                millis: 1000,
                ..crate::Answered::default()
            };
            record.add(&answered, *cell, None, now).unwrap();
        }
    }
    record
}

/// From the record to what is asked: a chord that was missed comes first, and three times as often as the
/// others within fifty questions. Of what is known well, one right answer is enough.
#[test]
fn the_record_says_what_comes_most_often() {
    let exercise = Exercise::default();
    let taste = Taste::default();
    let all = cells(&make(&exercise, &taste).unwrap());
    let now = DateTime::UNIX_EPOCH;
    let answers: Vec<_> = all.iter().map(|cell| (*cell, *cell != all[30])).collect();
    let record = practised(&answers[..32], now);
    let making = Making {
        number: 1,
        exercise: &exercise,
        taste: &taste,
        shapes: &[],
        record: &record,
        now,
    };
    let made = making.of_list().unwrap();
    let wanted: Vec<u8> = made.standings.iter().map(|one| one.wanted).collect();
    let mut expected = vec![1; 32];
    expected[30] = 3;
    expected.extend([2; 4]);
    assert_eq!(wanted, expected);
    let mut lesson = crate::Lesson::new(std::sync::Arc::new(made.drill), made.standings);
    let mut asked = vec![0; 36];
    for _ in 0..50 {
        let item = lesson.picker.current().unwrap();
        asked[item] += 1;
        lesson.picker.answered(item != 30);
    }
    let weak = asked.remove(30);
    assert!(
        weak >= 3 * asked.iter().max().unwrap(),
        "{weak} and {asked:?}"
    );
}

#[test]
fn only_what_is_due_or_new_is_asked() {
    let exercise = Exercise {
        which: crate::Which::Due,
        keys: [0, 5].map(PitchClass::wrapping).to_vec(),
        ..Exercise::default()
    };
    let taste = Taste::default();
    let all = cells(&make(&exercise, &taste).unwrap());
    let practise = |answers: &[(crate::Cell, bool)], days| {
        let record = practised(answers, DateTime::UNIX_EPOCH);
        Making {
            number: 1,
            exercise: &exercise,
            taste: &taste,
            shapes: &[],
            record: &record,
            now: DateTime::UNIX_EPOCH + chrono::TimeDelta::days(days),
        }
        .of_list()
        .map(|made| symbols(&made).join(" "))
    };
    let answers: Vec<_> = all.iter().map(|cell| (*cell, true)).collect();
    // Cmaj7 and Fmaj7 are new.
    assert_eq!(practise(&answers[..4], 1), Ok("Cmaj7 Fmaj7".to_owned()));
    let none = practise(&answers, 1).unwrap_err();
    assert_eq!(
        none.to_string(),
        "Nothing of this is due before 1970-01-03."
    );
    let all_due = practise(&answers, 4);
    assert_eq!(all_due, Ok("Cm7 Fm7 C7 F7 Cmaj7 Fmaj7".to_owned()));
}

/// Where an answer counts: over the grip that was asked for, or in the position that was taken where either
/// one counts.
#[test]
fn answers_count_where_they_were_given() {
    let exercise = Exercise {
        progression: Progression::TwoFiveOneMajor,
        ..Exercise::default()
    };
    let made = make(&exercise, &Taste::default()).unwrap();
    let answered = crate::Answered {
        question: 1,
        before: Some(0),
        position: Position::Seventh,
        ..crate::Answered::default()
    };
    let (cell, before) = made.drill.cells(&answered).unwrap();
    assert_eq!(cell.to_string(), "G7(9,13), seventh");
    assert!(before.unwrap().to_string().starts_with("Dm7, "));
    let other = crate::Answered {
        position: Position::Third,
        ..answered
    };
    let (cell, _) = made.drill.cells(&other).unwrap();
    assert_eq!(cell.to_string(), "G7(9,13), third");
    let asked = Exercise {
        position: AskedPosition::FormA,
        ..exercise
    };
    let made = make(&asked, &Taste::default()).unwrap();
    let (cell, _) = made.drill.cells(&other).unwrap();
    assert_eq!(cell.to_string(), "G7(9,13), seventh");
    let beyond = crate::Answered {
        question: 9999,
        ..answered
    };
    assert_eq!(made.drill.cells(&beyond), None);
}
