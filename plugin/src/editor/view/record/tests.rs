//! A record in words and numbers.

use super::*;
use guidehand_practice::Answered;
use std::time::{Duration, SystemTime};

/// So many days and minutes after the third of November 2026, ten o'clock.
pub fn at(days: u64, minutes: u64) -> Time {
    let seconds = 1_793_700_000 + days * 86_400 + minutes * 60;
    (SystemTime::UNIX_EPOCH + Duration::from_secs(seconds)).into()
}

/// A grip that the record counts.
pub fn cell(family: ShapeFamily, dressing: DegreeSet, root: i32, position: Position) -> Cell {
    Cell {
        family,
        dressing,
        root: PitchClass::wrapping(root),
        position,
    }
}

/// An answer that was right after so many seconds, or at last.
pub fn answered(right_first: bool, seconds: u32) -> Answered {
    Answered {
        right: true,
        right_first,
        millis: seconds * 1_000,
        ..Answered::default()
    }
}

/// A record of so many sessions, one a day, which gets better: in each a dominant, dressed in turn in
/// every way, moves to a major seventh chord in every key.
pub fn sessions(count: u32) -> Record {
    let dressings = dressings(&[ShapeFamily::Dominant], Progression::Single);
    let mut record = Record::default();
    for day in 0..count {
        for (nth, dressing) in (0_i32..).zip(&dressings) {
            let position = [Position::Third, Position::Seventh][usize::from(nth % 2 == 0)];
            let five = cell(ShapeFamily::Dominant, *dressing, 5 * nth, position);
            let empty = DegreeSet::EMPTY;
            let one = cell(ShapeFamily::MajorSeventh, empty, 5 * nth + 5, position);
            let right = nth.unsigned_abs() < 3 + day.min(6);
            let now = at(u64::from(day), 0);
            record.add(&answered(right, 4), five, None, now).unwrap();
            let seconds = 3 + nth.unsigned_abs();
            let answered = answered(true, seconds);
            record.add(&answered, one, Some(five), now).unwrap();
        }
    }
    record
}

fn spot_of(look: &RecordLook, family: &str, root: &str) -> Spot {
    let row = look.rows.iter().find(|row| row.name == family).unwrap();
    let column = in_fourths().iter().position(|one| key_name(*one) == root);
    row.spots[column.unwrap()].clone()
}

#[test]
fn each_place_of_the_table_counts_its_own_answers() {
    let flat = DegreeSet::of(&[
        guidehand_theory::degree::Degree::Flat9,
        guidehand_theory::degree::Degree::Flat13,
    ]);
    let (third, seventh) = (Position::Third, Position::Seventh);
    let mut record = Record::default();
    for (dressing, position, right, seconds) in [
        (flat, third, true, 2),
        (flat, seventh, false, 5),
        (DegreeSet::EMPTY, third, true, 9),
    ] {
        let cell = cell(ShapeFamily::Dominant, dressing, 7, position);
        let answered = answered(right, seconds);
        record.add(&answered, cell, None, at(2, 0)).unwrap();
    }
    let place = |dressing, position| spot_of(&look(&record, dressing, position), "7", "G");
    let all = place(None, None);
    assert_eq!((all.right, all.seconds), (Some(67), Some(5.0)));
    assert_eq!(
        all.words,
        "G7: asked 3 times, 2 right at first try, right after 5.0 s, last on 5 Nov 2026"
    );
    let dressed = place(Some(flat), None);
    assert_eq!((dressed.right, dressed.seconds), (Some(50), Some(3.5)));
    let one = place(Some(flat), Some(seventh));
    assert_eq!((one.right, one.seconds), (Some(0), Some(5.0)));
    assert!(
        one.words
            .starts_with("G7: asked once, 0 right at first try")
    );
    assert_eq!(
        place(Some(DegreeSet::EMPTY), Some(seventh)),
        Spot::default()
    );
    let whole = look(&record, None, None);
    assert_eq!(spot_of(&whole, "7", "C"), Spot::default());
    assert_eq!(spot_of(&whole, "m7♭5", "G"), Spot::default());
    assert_eq!(whole.dressings, [DegreeSet::EMPTY, flat]);
    assert_eq!((whole.answers, whole.sessions), (3, 1));
    assert_eq!(whole.rows.len(), ShapeFamily::ALL.len());
}

#[test]
fn the_slowest_moves_are_named() {
    let look = look(&sessions(2), None, None);
    let first = &look.slowest[0];
    assert_eq!(first.seconds, Some(12.0));
    assert_eq!(first.words, "A9 → Dmaj7");
    assert!(look.slowest.iter().any(|one| one.words.contains("(♯9,13)")));
}

#[test]
fn many_sessions_are_a_line_of_few_points() {
    let few = look(&sessions(5), None, None);
    let right: Vec<u32> = few.course.iter().map(|point| point.right).collect();
    assert_eq!(right, [65, 70, 75, 80, 85]);
    assert_eq!(few.course[0].day, "3 Nov 2026");
    let many = look(&sessions(2_000), None, None);
    assert_eq!(many.sessions, 2_000);
    assert!((2..=MOST_POINTS).contains(&many.course.len()));
    let answers: u32 = many.course.iter().map(|point| point.answers).sum();
    assert_eq!((answers, many.answers), (40_000, 40_000));
    assert_eq!(many.course.last().unwrap().day, "24 Apr 2032");
}

#[test]
fn hundredths_are_rounded() {
    assert_eq!(percent(0, 0), None);
    assert_eq!(percent(1, 3), Some(33));
    assert_eq!(percent(2, 3), Some(67));
    assert_eq!(percent(u32::MAX, u32::MAX), Some(100));
}
