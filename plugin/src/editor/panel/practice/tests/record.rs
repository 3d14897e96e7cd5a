//! The record on the page of practice.

use super::*;

/// A panel that shows a record.
fn shows_record(record: Record) -> Bench {
    let (mut bench, _) = practises(&dominants());
    bench.params().practice.set_record(record);
    bench.settle();
    bench.click("Page: Record");
    bench.settle();
    bench
}

fn reads(bench: &Bench, words: &str) -> bool {
    bench.harness.query_by_label(words).is_some()
}

#[test]
fn the_record_tells_its_numbers_to_one_who_does_not_see_it() {
    let mut bench = shows_record(sessions(3));
    let place = "G7: asked 3 times, 0 right at first try, right after 4.0 s, last on 5 Nov 2026";
    assert!(!reads(&bench, place), "G is the twelfth in fourths");
    let place = "A7: asked 3 times, 0 right at first try, right after 4.0 s, last on 5 Nov 2026";
    assert!(reads(&bench, place));
    assert!(reads(&bench, "A9 → Dmaj7: 12.0 s"));
    let progress = "Right at first try: 3 Nov 2026: 65 % of 20; 4 Nov 2026: 70 % of 20; \
                    5 Nov 2026: 75 % of 20";
    assert!(reads(&bench, progress));
    assert!(says(&mut bench, "3 sessions, 3 Nov 2026 to 5 Nov 2026"));
    bench.click("Numbers shown: seconds");
    assert!(says(&mut bench, "4.0") && says(&mut bench, "above 4 s"));
    bench.click("Position shown: third");
    bench.settle();
    assert!(!reads(&bench, place) || says(&mut bench, "4.0"));
    bench.click("Dressing shown");
    bench.settle();
    bench.click("♭9 ♭13");
    bench.settle();
    let dominants = bench.harness.query_all_by_role(Role::Label);
    let asked =
        dominants.filter(|node| node.value().is_some_and(|words| words.contains(": asked")));
    assert_eq!(asked.count(), 0, "it was asked with the seventh lowest");
    bench.click("Position shown: both");
    bench.settle();
    let dominants = bench.harness.query_all_by_role(Role::Label);
    let asked =
        dominants.filter(|node| node.value().is_some_and(|words| words.contains(": asked")));
    assert_eq!(asked.count(), 1);
}

#[test]
fn the_record_is_reset_and_brought_back_by_the_same_button() {
    let mut bench = shows_record(sessions(3));
    let at = bench.control("Reset the record").rect();
    bench.click("Reset the record");
    assert!(says(&mut bench, "Nothing has been practised yet."));
    let back = bench.control("Bring the record back").rect();
    assert!((back.left() - at.left()).abs() < 1.0);
    bench.click("Bring the record back");
    bench.settle();
    assert_eq!(bench.params().practice.read().record.sessions().len(), 3);
    bench.control("Reset the record");
}

#[test]
fn the_record_has_room_for_the_worst() {
    for count in [0, 1, 2, 2_000] {
        let mut bench = shows_record(sessions(count));
        for number in ["Numbers shown: seconds", "Numbers shown: right %"] {
            bench.click(number);
            for large_print in [false, true] {
                let panel = SavedPanel {
                    large_print,
                    ..SavedPanel::default()
                };
                for size in [panel.smallest(), panel.first_size(), [1600.0, 1000.0]] {
                    bench.load_panel(panel.sized(size));
                    bench.resize(size);
                    check(&bench.settle(), size);
                }
            }
            bench.resize(PANEL_SIZE);
            bench.load_panel(SavedPanel::default());
            bench.settle();
        }
    }
}
