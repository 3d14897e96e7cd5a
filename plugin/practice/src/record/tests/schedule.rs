//! When grips are due, and how well they are known.

use super::*;

/// The first intervals of FSRS-5 at its own weights: a card that is right is stable for 3.1 days, one that
/// is missed for 0.4 (the weights w0 and w2 of the crate rs-fsrs). At a retention of 0.9 the interval is the
/// stability, rounded, and a longer one for a better answer.
#[test]
fn grips_are_due_by_how_they_were_answered() {
    let due_in = |answered: Answered| {
        let record = record(at(1, 12, 0), &[("Dm7, third", answered)]);
        let due = record.schedule().due(&cell("Dm7, third")).unwrap();
        // Half a day early.
        (due + TimeDelta::hours(12) - at(1, 12, 0)).num_days()
    };
    assert_eq!(due_in(right(1000)), 3);
    assert_eq!(
        due_in(Answered {
            helped: true,
            ..right(1000)
        }),
        2
    );
    assert_eq!(due_in(missed(1000)), 1);
    assert_eq!(due_in(never(1000)), 1);
}

#[test]
fn only_the_first_answer_of_a_session_is_a_review() {
    let once = record(at(1, 12, 0), &[("Dm7, third", missed(1000))]);
    let again = record(
        at(1, 12, 0),
        &[
            ("Dm7, third", missed(1000)),
            ("Dm7, third", right(1000)),
            ("Dm7, third", right(900)),
        ],
    );
    let due = |record: &Record| record.schedule().due(&cell("Dm7, third"));
    assert_eq!(due(&once), due(&again));
}

/// Right from day to day, a grip comes less and less often, and once a year at least. What is practised in
/// the evening counts as a day later if it comes again the next afternoon.
#[test]
fn intervals_grow_and_end_at_a_year() {
    let mut record = Record::default();
    let dm7 = cell("Dm7, third");
    let mut now = at(1, 20, 0);
    let mut before = 0;
    for _ in 0..12 {
        record.add(&right(1000), dm7, None, now).unwrap();
        let due = record.schedule().due(&dm7).unwrap();
        assert_eq!(record.due(due - TimeDelta::seconds(1)), []);
        assert_eq!(record.due(due), [dm7]);
        let days = (due + TimeDelta::hours(12) - now).num_days();
        assert!(days > before || days == 365, "{days} after {before}");
        before = days;
        // A few hours earlier in the day.
        now = due + TimeDelta::hours(9);
    }
    assert_eq!(before, 365);
    assert!(now.year() > 2027);
}

/// A thousand misses in a day do not spoil what is reckoned of the days after.
#[test]
fn many_misses_can_be_made_good() {
    let mut record = Record::default();
    let dm7 = cell("Dm7, third");
    for session in 0..3000 {
        let now = at(1, 0, 0) + TimeDelta::seconds(session);
        record.open = None;
        record.add(&missed(1000), dm7, None, now).unwrap();
    }
    assert_eq!(record.sessions().len(), 3000);
    let mut days = Vec::new();
    for day in [3, 6, 9, 12, 15, 20, 28] {
        record.add(&right(1000), dm7, None, at(day, 12, 0)).unwrap();
        let due = record.schedule().due(&dm7).unwrap();
        days.push((due + TimeDelta::hours(12) - at(day, 12, 0)).num_days());
    }
    assert!(
        days.is_sorted() && days.iter().all(|one| *one >= 3),
        "{days:?}"
    );
    assert!(days.last().is_some_and(|last| *last >= 10), "{days:?}");
}

#[test]
fn the_record_knows_how_well_a_grip_is_known() {
    let dm7 = cell("Dm7, third");
    let standing = |answers: &[Answered], now| {
        let answers: Vec<_> = answers.iter().map(|one| ("Dm7, third", *one)).collect();
        record(at(1, 12, 0), &answers)
            .schedule()
            .standing(&dm7, now)
    };
    let now = at(1, 13, 0);
    assert_eq!(standing(&[], now), Standing::NEW);
    assert_eq!(standing(&[missed(1)], now), Standing::WEAK);
    assert_eq!(standing(&[right(1)], now), Standing::NEW);
    assert_eq!(standing(&[right(1); 3], now), Standing::KNOWN);
    // What is due is no longer known well.
    assert_eq!(standing(&[right(1); 3], at(5, 12, 0)), Standing::NEW);
    let learnt = [missed(1), right(1), right(1), right(1)];
    assert_eq!(standing(&learnt, now), Standing::NEW);
    let forgotten = [right(1), right(1), missed(1), missed(1), missed(1)];
    assert_eq!(standing(&forgotten, now), Standing::WEAK);
}

/// From one evening to the next afternoon is a day.
#[test]
fn days_are_counted_to_the_nearest_one() {
    let interval = |hours| {
        let begin = at(1, 20, 0);
        let again = begin + TimeDelta::hours(hours);
        let dm7 = cell("Dm7, third");
        let mut record = record(begin, &[("Dm7, third", right(1000))]);
        record.add(&right(1000), dm7, None, again).unwrap();
        let due = record.schedule().due(&dm7).unwrap();
        (due + TimeDelta::hours(12) - again).num_days()
    };
    assert_eq!(interval(21), interval(24));
    assert_eq!(interval(72), interval(79));
    assert!(interval(21) > interval(1), "{}", interval(1));
}
