//! What a record keeps, counts, merges and schedules.

mod joined;
mod schedule;

use super::*;
use crate::answered::Answered;
use crate::cell::Cell;
use crate::picker::Standing;
use chrono::{Datelike, TimeDelta, TimeZone};
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::voicing::Position;
use proptest::prelude::*;
use serde_json::{Map, Value};

fn at(day: u32, hour: u32, minute: u32) -> Time {
    Utc.with_ymd_and_hms(2026, 11, day, hour, minute, 0)
        .unwrap()
}

fn cell(text: &str) -> Cell {
    Cell::named(text).unwrap()
}

fn right(millis: u32) -> Answered {
    Answered {
        right: true,
        right_first: true,
        millis,
        ..Answered::default()
    }
}

fn missed(millis: u32) -> Answered {
    Answered {
        right_first: false,
        ..right(millis)
    }
}

fn never(millis: u32) -> Answered {
    Answered {
        right: false,
        right_first: false,
        ..right(millis)
    }
}

/// A record of these answers, one second after the other.
fn record(begin: Time, answers: &[(&str, Answered)]) -> Record {
    let mut record = Record::default();
    let mut before = None;
    for (second, (name, answered)) in answers.iter().enumerate() {
        let now = begin + TimeDelta::seconds(i64::try_from(second).unwrap());
        let cell = cell(name);
        record.add(answered, cell, before, now).unwrap();
        before = Some(cell);
    }
    record
}

/// Names as musicians write them, both ways.
#[test]
fn cells_have_the_names_of_chords() {
    let of = |family, dressing: &[Degree], root, position| Cell {
        family,
        dressing: DegreeSet::of(dressing),
        root: PitchClass::wrapping(root),
        position,
    };
    for (cell, name) in [
        (
            of(ShapeFamily::MinorSeventh, &[], 2, Position::Third),
            "Dm7, third",
        ),
        (
            of(
                ShapeFamily::Dominant,
                &[Degree::Flat9, Degree::Thirteen],
                7,
                Position::Seventh,
            ),
            "G7(b9,13), seventh",
        ),
        (
            of(ShapeFamily::SixNine, &[], 10, Position::Fourths),
            "Bb6/9, fourths",
        ),
        (
            of(ShapeFamily::MinorMajorSeventh, &[], 6, Position::AsPlayed),
            "F#m(maj7), as played",
        ),
        (
            of(ShapeFamily::HalfDiminished, &[], 11, Position::Ninth),
            "Bm7b5, ninth",
        ),
    ] {
        assert_eq!(cell.to_string(), name);
        assert_eq!(Cell::named(name), Ok(cell));
    }
    assert_eq!(Cell::named("A#7, third"), Ok(cell("Bb7, third")));
    for (wrong, told) in [
        ("G7", "expected a chord and its position"),
        (
            "G7, second",
            "there is no position \"second\": expected one of third",
        ),
        ("H7, third", "does not begin with a root"),
        (
            "G9, third",
            "there is no family \"9\": expected one of maj7",
        ),
        ("G7(b10), third", "there is no family \"7(b10)\""),
    ] {
        let error = Cell::named(wrong).unwrap_err();
        assert!(error.contains(told), "{error}");
    }
}

#[test]
fn answers_are_counted() {
    let record = record(
        at(28, 12, 0),
        &[
            ("Dm7, third", right(1200)),
            ("G7(9,13), seventh", missed(3000)),
            ("Dm7, third", right(1000)),
            ("G7(9,13), seventh", never(9000)),
            ("Dm7, third", missed(2500)),
            ("Dm7, third", right(1100)),
        ],
    );
    let count = record.count(&cell("Dm7, third"));
    assert_eq!((count.asked, count.right_first), (4, 3));
    // The mean of the middle two of 1.0, 1.1, 1.2, 2.5.
    assert_eq!(count.median_s, Some(1.15));
    assert_eq!(count.last, Some(at(28, 12, 0)));
    let count = record.count(&cell("G7(9,13), seventh"));
    assert_eq!(
        (count.asked, count.right_first, count.median_s),
        (2, 0, Some(3.0))
    );
    assert_eq!(record.count(&cell("Dm7, seventh")), CellCount::default());
    let total = record.total();
    assert_eq!(
        (total.asked, total.right_first, total.median_s),
        (6, 3, Some(1.2))
    );
    let picture = record.by_family_and_root();
    assert_eq!(picture[2][2].asked, 4);
    assert_eq!(picture[5][7].asked, 2);
    assert_eq!(
        picture.iter().flatten().map(|one| one.asked).sum::<u32>(),
        6
    );
    assert_eq!(record.by_family()[2].asked, 4);
    let positions = record.by_position();
    let positions: Vec<_> = positions
        .iter()
        .map(|(one, count)| (*one, count.asked))
        .collect();
    assert_eq!(positions, [(Position::Third, 4), (Position::Seventh, 2)]);
    assert_eq!(record.cells().len(), 2);
}

#[test]
fn the_slowest_moves_come_first() {
    let record = record(
        at(28, 12, 0),
        &[
            ("Dm7, third", right(1000)),
            ("G7(9,13), seventh", right(700)),
            ("Cmaj7, third", right(2000)),
            ("Dm7, third", never(100)),
            ("G7(9,13), seventh", right(900)),
        ],
    );
    let moves = record.slowest_moves(2);
    let told: Vec<_> = moves
        .iter()
        .map(|one| {
            format!(
                "{} to {}: {} {:?}",
                one.from, one.to, one.asked, one.median_s
            )
        })
        .collect();
    let expected = [
        "Cmaj7, third to Dm7, third: 1 None",
        "G7(9,13), seventh to Cmaj7, third: 1 Some(2.0)",
    ];
    assert_eq!(told, expected);
    assert_eq!(record.slowest_moves(9).len(), 3);
}

#[test]
fn half_an_hour_ends_a_session() {
    let mut record = Record::default();
    let dm7 = cell("Dm7, third");
    for minute in [0, 29, 58] {
        record
            .add(&right(1000), dm7, None, at(28, 12, minute))
            .unwrap();
    }
    record
        .add(&missed(2000), dm7, None, at(28, 13, 28))
        .unwrap();
    let progress = record.progress();
    let sessions: Vec<_> = progress.iter().map(|one| (one.began, one.asked)).collect();
    assert_eq!(sessions, [(at(28, 12, 0), 3), (at(28, 13, 28), 1)]);
    assert_eq!(progress[1].right_first, 0);
    // A record that is loaded goes on in a session of its own.
    let mut loaded = Record::read(record.write().as_bytes()).unwrap();
    loaded.add(&right(1000), dm7, None, at(28, 13, 29)).unwrap();
    assert_eq!(loaded.sessions().len(), 3);
    record.add(&right(1000), dm7, None, at(28, 13, 29)).unwrap();
    assert_eq!(record.sessions().len(), 2);
}

/// The example of the guide is what these answers are written as, and is read back.
#[test]
fn a_file_is_as_the_guide_says() {
    let guide = include_str!("../../../guide/practice-records.md");
    let (_, example) = guide.split_once("```json\n").unwrap();
    let (example, _) = example.split_once("```").unwrap();
    let helped = Answered {
        helped: true,
        ..right(1500)
    };
    let dm7 = cell("Dm7, third");
    let g7 = cell("G7(b9,13), seventh");
    let begin = at(28, 17, 30) + TimeDelta::nanoseconds(482_139);
    let mut record = Record::default();
    for (answered, cell, from) in [
        (right(1240), dm7, None),
        (missed(4100), g7, Some(dm7)),
        (right(980), dm7, None),
        (helped, g7, Some(dm7)),
        (never(10_000), g7, None),
    ] {
        record.add(&answered, cell, from, begin).unwrap();
    }
    assert_eq!(record.write(), example);
    assert_eq!(Record::read(example.as_bytes()), Ok(record));
}

/// What is wrong is told with its place and with what was expected.
#[test]
fn what_is_wrong_with_a_file_is_told() {
    let file = |session: &str| {
        format!("{{\"format\":\"guidehand practice\",\"version\":1,\"sessions\":[\n{session}]}}")
    };
    let row = |row: &str| {
        file(&format!(
            "{{\"began\":\"2026-11-28T17:30:00Z\",\"number\":1,\"chords\":[\n{row}]}}"
        ))
    };
    for (text, told) in [
        (
            "[]".to_owned(),
            "line 1, column 0: invalid type: sequence, expected an object with",
        ),
        (
            "{}".to_owned(),
            "line 1, column 2: the field \"format\" is missing",
        ),
        (
            "{\"format\":\"voicings\"}".to_owned(),
            "expected \"guidehand practice\", found \"voicings\"",
        ),
        (
            "{\"format\":\"guidehand practice\",\"version\":2}".to_owned(),
            "version 2; versions 1 to 1 can be read",
        ),
        (
            file("{\"number\":1}"),
            "line 2, column 12: session 1: the field \"began\" is missing",
        ),
        (
            file("{\"began\":\"yesterday\"}"),
            "session 1: \"yesterday\" is no time (premature end of input): expected a time such \
             as",
        ),
        (
            file("{\"began\":\"1903-11-28T17:30:00Z\"}"),
            "session 1: \"1903-11-28T17:30:00Z\" is not between the years 1970 and 9998",
        ),
        (
            row("{\"chord\":\"G9, third\",\"seconds\":[1]}"),
            "line 3, column 20: session 1: there is no family \"9\"",
        ),
        (
            row("{\"seconds\":[1]}"),
            "session 1: the field \"chord\" is missing",
        ),
        (
            row("{\"chord\":\"G7, third\",\"seconds\":[]}"),
            "expected those of one answer at least",
        ),
        (
            row("{\"chord\":\"G7, third\",\"seconds\":[-1]}"),
            "-1 seconds: expected 0 to 86400",
        ),
        (
            row("{\"chord\":\"G7, third\",\"seconds\":[1,2],\"missed\":[3]}"),
            "\"missed\" names the answer 3: expected one from 1 to 2",
        ),
        (
            row(
                "{\"chord\":\"G7, third\",\"seconds\":[1]},{\"chord\":\"G7, third\",\"seconds\":[1]}",
            ),
            "session 1: G7, third comes twice",
        ),
        (
            row("{\"chord\":\"G7, third\",\"chord\":\"G7, third\",\"seconds\":[1]}"),
            "the field \"chord\" comes twice",
        ),
    ] {
        let error = Record::read(text.as_bytes()).unwrap_err();
        assert!(error.to_string().contains(told), "{text}\n{error}");
    }
    let large = vec![b' '; LARGEST_RECORD + 1];
    assert_eq!(
        Record::read(&large).unwrap_err().to_string(),
        "larger than 8 MiB"
    );
}

/// What other versions have written is kept, in files and in the saved state.
#[test]
fn what_is_not_known_is_kept() {
    let text = r#"{"format":"guidehand practice","version":1,"by":"a student","sessions":[
        {"began":"2026-11-28T17:30:00Z","number":1,"mood":5,"chords":[
            {"chord":"Dm7, third","seconds":[1.5],"finger":[3]}]}]}"#;
    let record = Record::read(text.as_bytes()).unwrap();
    let fields = |text: &str| serde_json::from_str::<Value>(text).unwrap();
    assert_eq!(fields(&record.write()), fields(text));
    let later = r#"{"format":"guidehand practice","version":3,"sessions":[
        {"began":"2026-11-28T17:30:00Z","number":1,"chords":[]},
        {"began":"2026-11-29T17:30:00Z","number":1,"chords":"packed"}]}"#;
    let loaded: Record = serde_json::from_str(later).unwrap();
    assert_eq!((loaded.sessions().len(), loaded.unread()), (1, 1));
    let saved = serde_json::to_string(&loaded).unwrap();
    assert_eq!(fields(&saved), fields(later));
    assert_eq!(serde_json::from_str::<Record>(&saved).unwrap(), loaded);
    for odd in ["null", "5", "[]", "{}", r#"{"sessions":{}}"#] {
        let loaded: Record = serde_json::from_str(odd).unwrap();
        assert_eq!(loaded.sessions(), []);
    }
}

/// Whatever the clock says, what is written can be read.
#[test]
fn a_clock_that_is_wrong_does_no_harm() {
    let dm7 = cell("Dm7, third");
    for now in [
        Time::MIN_UTC,
        Time::MAX_UTC,
        Time::UNIX_EPOCH - TimeDelta::days(1),
        Utc.with_ymd_and_hms(9999, 1, 1, 0, 0, 0).unwrap(),
    ] {
        let mut record = Record::default();
        for _ in 0..2 {
            record.add(&right(1000), dm7, None, now).unwrap();
        }
        assert_eq!(record.sessions().len(), 1);
        assert_eq!(Record::read(record.write().as_bytes()), Ok(record.clone()));
        let began = record.sessions()[0].began();
        assert_eq!(record.due(began), []);
        assert_eq!(record.due(began + TimeDelta::days(3)), [dm7]);
    }
}

/// An empty record is saved as one.
#[test]
fn an_empty_record_is_read_back() {
    let empty = Record::default();
    assert!(empty.is_empty());
    assert_eq!(Record::read(empty.write().as_bytes()), Ok(empty.clone()));
    let saved = serde_json::to_string(&empty).unwrap();
    assert_eq!(serde_json::from_str::<Record>(&saved).unwrap(), empty);
    assert_eq!(empty.total(), CellCount::default());
    assert_eq!((empty.progress(), empty.slowest_moves(3)), (vec![], vec![]));
}

/// What is full is told, and nothing is lost. A session is written in many lines, so that a test can fill
/// a record with few of them.
#[test]
fn a_full_record_takes_no_more() {
    let text = format!(
        r#"{{"format":"guidehand practice","version":1,"fill":"{}","sessions":[]}}"#,
        "x".repeat(LARGEST_RECORD - 1200)
    );
    let mut record = Record::read(text.as_bytes()).unwrap();
    let dm7 = cell("Dm7, third");
    let mut count = 0;
    while record.add(&right(1000), dm7, None, at(28, 12, 0)).is_ok() {
        count += 1;
        assert!(count < 1000, "it takes more than there is room for");
    }
    assert_eq!(record.total().asked, count);
    assert_eq!(
        record.add(&right(1000), dm7, None, at(28, 12, 0)),
        Err(Full)
    );
    assert_eq!(record.bytes(), record.write().len());
    assert!(Record::read(record.write().as_bytes()).is_ok());
    let other = Record::read(text.replace("\"fill\"", "\"more\"").as_bytes()).unwrap();
    assert_eq!(record.merge(&other), Err(Full));
    assert!(Full.to_string().contains("8 MiB"));
}

fn any_cell() -> impl Strategy<Value = Cell> {
    let families = prop::sample::select(ShapeFamily::ALL.to_vec());
    (families, 0..12i32, any::<bool>(), any::<bool>()).prop_map(|(family, root, third, dressed)| {
        let dressed = dressed && family == ShapeFamily::Dominant;
        Cell {
            family,
            dressing: if dressed {
                DegreeSet::of(&[Degree::Flat9, Degree::Thirteen])
            } else {
                DegreeSet::EMPTY
            },
            root: PitchClass::wrapping(root),
            position: if third {
                Position::Third
            } else {
                Position::Seventh
            },
        }
    })
}

fn answered() -> impl Strategy<Value = Answered> {
    (any::<bool>(), any::<bool>(), any::<bool>(), any::<u32>()).prop_map(
        |(right_first, right, helped, millis)| Answered {
            right: right || right_first,
            right_first,
            helped,
            millis,
            ..Answered::default()
        },
    )
}

/// Records that share some of their sessions, at the same moments or at others.
fn any_record() -> impl Strategy<Value = Record> {
    let answers = prop::collection::vec((any_cell(), answered(), any::<bool>()), 0..6);
    let unknown = prop::collection::btree_map("[ab]", 0..3i32, 0..3);
    let sessions = prop::collection::vec((0..4i64, answers, unknown.clone()), 0..5);
    (sessions, unknown).prop_map(|(sessions, unknown)| {
        let fields = |all: std::collections::BTreeMap<String, i32>| -> Map<String, Value> {
            all.into_iter()
                .map(|(name, value)| (name, value.into()))
                .collect()
        };
        let mut record = Record {
            unknown: fields(unknown),
            ..Record::default()
        };
        for (day, answers, unknown) in sessions {
            let mut session = Record::default();
            let mut before = None;
            for (second, (cell, answered, led)) in (0..).zip(answers) {
                let now = at(1, 12, 0) + TimeDelta::days(day) + TimeDelta::seconds(second);
                let from = before.filter(|_| led);
                session.add(&answered, cell, from, now).unwrap();
                before = Some(cell);
            }
            for session in &mut session.sessions {
                session.unknown = fields(unknown.clone());
                if let Some(row) = session.chords.iter_mut().next() {
                    row.unknown = fields(unknown.clone());
                }
                session.weigh();
            }
            record = record.merge(&session).unwrap();
        }
        record
    })
}

/// How often a cell was answered in each session, of several with one id the most.
fn answers(record: &Record) -> std::collections::BTreeMap<(Time, Cell), usize> {
    let mut all = std::collections::BTreeMap::new();
    for session in &record.sessions {
        for row in session.chords.iter() {
            let count = all.entry((session.began(), row.what)).or_insert(0);
            *count = row.answers.len().max(*count);
        }
    }
    all
}

proptest! {
    /// What is written is read back, and the size that is reckoned is the size of the file.
    #[test]
    fn records_are_read_back(record in any_record()) {
        let text = record.write();
        prop_assert_eq!(record.bytes(), text.len());
        prop_assert_eq!(&Record::read(text.as_bytes()).unwrap(), &record);
        let saved = serde_json::to_string(&record).unwrap();
        prop_assert_eq!(&serde_json::from_str::<Record>(&saved).unwrap(), &record);
    }

    #[test]
    fn merging_is_a_union(a in any_record(), b in any_record(), c in any_record()) {
        let merge = |a: &Record, b: &Record| a.merge(b).unwrap();
        prop_assert_eq!(merge(&a, &a), a.clone());
        prop_assert_eq!(merge(&a, &Record::default()), a.clone());
        prop_assert_eq!(merge(&a, &b), merge(&b, &a));
        prop_assert_eq!(merge(&merge(&a, &b), &c), merge(&a, &merge(&b, &c)));
        prop_assert_eq!(merge(&merge(&a, &b), &b), merge(&a, &b));
    }

    /// Nothing is lost: every answer of either record is in both together.
    #[test]
    fn merging_loses_nothing(a in any_record(), b in any_record()) {
        let merged = a.merge(&b).unwrap();
        let all = answers(&merged);
        for (place, count) in answers(&a).into_iter().chain(answers(&b)) {
            prop_assert!(all.get(&place).is_some_and(|there| *there >= count));
        }
        for session in a.sessions().iter().chain(b.sessions()) {
            prop_assert!(merged.sessions().iter().any(|there| session.begins(there)));
        }
        for name in a.unknown.keys().chain(b.unknown.keys()) {
            prop_assert!(merged.unknown.contains_key(name));
        }
    }

    /// A session that was saved while it went on is known by its longer state.
    #[test]
    fn a_longer_session_takes_the_place_of_its_beginning(
        answers in prop::collection::vec((any_cell(), answered()), 1..20),
        cut in any::<prop::sample::Index>(),
    ) {
        let cut = cut.index(answers.len());
        let mut record = Record::default();
        let mut earlier = Record::default();
        let mut before = None;
        for (place, (cell, answered)) in answers.iter().enumerate() {
            if place == cut {
                earlier = record.clone();
            }
            record.add(answered, *cell, before, at(1, 12, 0)).unwrap();
            before = Some(*cell);
        }
        prop_assert_eq!(record.merge(&earlier).unwrap(), record.clone());
        prop_assert_eq!(earlier.merge(&record).unwrap(), record);
    }

    /// The schedule of a merged record does not depend on the order of merging, nor on how it was saved.
    #[test]
    fn a_merged_record_has_one_schedule(a in any_record(), b in any_record()) {
        let ab = a.merge(&b).unwrap();
        let ba = Record::read(b.merge(&a).unwrap().write().as_bytes()).unwrap();
        let now = at(20, 12, 0);
        prop_assert_eq!(ab.due(now), ba.due(now));
        let (one, other) = (ab.schedule(), ba.schedule());
        for (cell, _) in ab.cells() {
            prop_assert_eq!(one.due(&cell), other.due(&cell));
            prop_assert_eq!(one.standing(&cell, now), other.standing(&cell, now));
        }
    }

    /// The median against its definition: as many lie above it as below.
    #[test]
    fn the_median_is_exact(seconds in prop::collection::vec(0u32..100_000, 1..40)) {
        let answers: Vec<_> = seconds.iter().map(|s| ("Dm7, third", right(*s))).collect();
        let median = record(at(1, 12, 0), &answers).total().median_s.unwrap();
        let mut sorted = seconds.clone();
        sorted.sort_unstable();
        let (low, high) = (sorted[(sorted.len() - 1) / 2], sorted[sorted.len() / 2]);
        let exact = (f64::from(low) + f64::from(high)) / 2000.0;
        prop_assert!((f64::from(median) - exact).abs() <= exact * f64::from(f32::EPSILON));
    }
}
