//! Bytes as the record of practice, and as what a project saves of practice. Imports the theory and the
//! practice crate.

use guidehand_practice::{ChartToAsk, Exercise, Made, Making, Picker, Record, Time};
use guidehand_theory::pipeline::Taste;
use guidehand_theory::{chart, pitch::NoteName};
use serde_json::Value;

/// A chart with most of what charts can hold.
const CHART: &str = "|: Dm7 G7 | Cmaj7 :| N.C. | F#m7b5 | B7b9 C/E | F5 |";

/// More questions than a drill without misses can ask.
const MOST_ASKED: usize = 3 * 4096;

/// A record as a file, and a record and an exercise as a project saves them.
///
/// # Panics
/// If what is read does not come back, if a file is refused without a reason or at a place that it does
/// not have, or if an exercise makes a drill that does not hold together.
pub fn practice(bytes: &[u8]) {
    match Record::read(bytes) {
        Ok(record) => {
            let written = record.write();
            assert_eq!(written.len(), record.bytes(), "{written}");
            let again = Record::read(written.as_bytes());
            assert_eq!(again.as_ref(), Ok(&record), "{written}");
            told(&record);
        }
        Err(error) => {
            let lines = bytes.split(|byte| *byte == b'\n').count();
            assert!(error.line <= lines, "{error}");
            assert!(!error.problem.is_empty(), "{error}");
        }
    }
    let Ok(saved) = serde_json::from_slice::<Value>(bytes) else {
        return;
    };
    let record: Record = loaded(&saved);
    assert_eq!(loaded::<Record>(&json(&record)), record);
    told(&record);
    let exercise: Exercise = loaded(&saved);
    assert_eq!(loaded::<Exercise>(&json(&exercise)), exercise);
    assert_eq!(exercise.clone().limited(), exercise);
    drilled(&exercise, &record);
}

fn loaded<T: serde::de::DeserializeOwned>(saved: &Value) -> T {
    serde_json::from_value(saved.clone()).unwrap_or_else(|error| panic!("{saved}: {error}"))
}

fn json(value: &impl serde::Serialize) -> Value {
    serde_json::to_value(value).unwrap_or_else(|error| panic!("{error}"))
}

/// Whatever a record says adds up.
fn told(record: &Record) {
    let total = record.total().asked;
    let by_root = record.by_family_and_root();
    let by_root: u32 = by_root.iter().flatten().map(|one| one.asked).sum();
    let by_session: u32 = record.progress().iter().map(|one| one.asked).sum();
    assert_eq!((by_root, by_session), (total, total));
    for (cell, count) in record.cells() {
        assert!(
            count.right_first <= count.asked && count.asked > 0,
            "{cell}"
        );
        assert!(record.schedule().due(&cell).is_some(), "{cell}");
    }
    assert_eq!(
        &record.merge(record).unwrap_or_else(|full| panic!("{full}")),
        record
    );
    for slow in record.slowest_moves(3) {
        assert!(slow.asked > 0);
    }
}

/// Whatever an exercise says, its drill holds together, or there is a sentence why there is none.
fn drilled(exercise: &Exercise, record: &Record) {
    let taste = Taste::default();
    let making = Making {
        number: 1,
        exercise,
        taste: &taste,
        shapes: &[],
        record,
        now: Time::default(),
    };
    let chart = chart::parse(CHART).unwrap_or_else(|errors| panic!("{errors:?}"));
    let chart = ChartToAsk {
        chart: &chart,
        key: None,
        pins: &[],
    };
    for made in [making.of_list(), making.of_chart(&chart)] {
        match made {
            Ok(made) => holds_together(&made),
            Err(none) => assert!(!none.to_string().is_empty()),
        }
    }
}

fn holds_together(made: &Made) {
    let drill = &made.drill;
    assert_eq!(made.standings.len(), drill.items.len());
    let mut next = 0;
    for item in &drill.items {
        assert_eq!(item.questions.start, next);
        assert!(item.questions.end > next);
        for index in item.questions.clone() {
            let asked = drill
                .question(index)
                .unwrap_or_else(|| panic!("no question {index}"));
            assert!(!asked.question.voiced.voicing.voices().is_empty());
            assert!(asked.start_ticks >= item.start_ticks);
            let end = asked.start_ticks + asked.length_ticks;
            assert!(end <= item.start_ticks + item.length_ticks);
            let root: NoteName = asked.question.placed.chord.root;
            assert!(root.accidental.abs() < 2, "{root:?}");
        }
        next = item.questions.end;
    }
    assert_eq!(
        drill.questions.len(),
        usize::try_from(next).unwrap_or(usize::MAX)
    );
    let mut picker = Picker::new(made.standings.clone(), false, drill.exercise.seed);
    let mut asked = 0;
    while picker.answered(true).is_some() {
        asked += 1;
        assert!(asked <= MOST_ASKED, "the drill does not come to an end");
    }
}
