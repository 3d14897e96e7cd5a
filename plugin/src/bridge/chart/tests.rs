//! What the cell promises: which text sounds, when it enters, that nobody waits, and that
//! nothing late replaces what is newer.

mod melody;
mod own;
mod pins;
mod typed;

use super::*;
use crate::engine::planned::{Enters, PlannedChart};
use crate::engine::settings::{PlanFor, Shapes};
use guidehand_theory::candidates::Register;
use guidehand_theory::pipeline::{self, Taste};
use guidehand_theory::pitch::{MidiNote, NoteNames};
use guidehand_theory::plan::{Ends, Voiced};
use guidehand_theory::shape::Texture;
use std::collections::HashSet;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

/// A cell whose worker is the test: an edit only puts the text in its place.
fn by_hand() -> (ChartCell, ChartWork, PlannedReceiver) {
    let (cell, receiver) = ChartCell::new();
    cell.on_edit(|| true);
    let work = cell.work();
    (cell, work, receiver)
}

#[test]
fn a_text_with_errors_is_kept_and_the_last_good_one_sounds() {
    let (cell, mut receiver) = ChartCell::new();
    assert!(receiver.take().is_some());
    cell.set_text("| C6 | F6 |");
    cell.set_text("| C6 | H7 |");
    assert_eq!(cell.errors().len(), 1);
    assert_eq!(cell.text(), "| C6 | H7 |");
    assert_eq!(receiver.take().map(|s| s.changes.len()), Some(2));
    let saved = cell.saved();
    assert_eq!(saved.sounding.as_deref(), Some("| C6 | F6 |"));

    let (other, mut receiver) = ChartCell::new();
    other.load(saved);
    assert_eq!(other.text(), "| C6 | H7 |");
    assert_eq!(receiver.take().map(|s| s.changes.len()), Some(2));
}

#[test]
fn another_harmony_is_tried_kept_and_taken_back() {
    let (cell, mut receiver) = ChartCell::new();
    let entered = |receiver: &mut PlannedReceiver| {
        let chart = receiver.take()?;
        Some((chart.changes.len(), chart.enters))
    };
    assert_eq!(entered(&mut receiver), Some((16, Enters::AtOnce)));
    cell.set_text("| Dm7 | G7 |");
    assert_eq!(entered(&mut receiver), Some((2, Enters::AtTheBarLine)));
    cell.try_out(Some("| Dm7 | Db7 | C6 |"));
    assert_eq!(entered(&mut receiver), Some((3, Enters::AtTheBarLine)));
    assert_eq!(cell.text(), "| Dm7 | G7 |", "no commitment yet");
    cell.try_out(None);
    assert_eq!(entered(&mut receiver), Some((2, Enters::AtTheBarLine)));
    cell.try_out(Some("| H |"));
    assert_eq!((cell.tried(), entered(&mut receiver)), (None, None));

    cell.try_out(Some("| Dm7 | Db7 |"));
    cell.keep();
    cell.try_out(Some("| Abm7 | Db7 |"));
    cell.keep();
    assert_eq!(cell.text(), "| Abm7 | Db7 |");
    assert_eq!(cell.original().as_deref(), Some("| Dm7 | G7 |"));
    let (other, _charts) = ChartCell::new();
    other.load(cell.saved());
    other.restore();
    assert_eq!(other.text(), "| Dm7 | G7 |");
    assert_eq!(other.original(), None);
}

/// B is B flat in German, and H is B natural (common practice, no published
/// source).
#[test]
fn a_text_is_read_in_english_or_in_german() {
    fn roots(receiver: &mut PlannedReceiver) -> Vec<String> {
        let chart = receiver.take().unwrap();
        let placed = chart.changes.iter().filter_map(|change| change.placed);
        placed.map(|p| p.chord.root.to_string()).collect()
    }
    let (cell, mut receiver) = ChartCell::new();
    cell.set_text("| B7 | Es6 |");
    assert_eq!(cell.errors().len(), 1, "no English note");
    cell.set_names(NoteNames::German);
    assert_eq!((cell.errors(), cell.names()), (vec![], NoteNames::German));
    assert_eq!(roots(&mut receiver), ["Bb", "Eb"]);
    cell.set_text("| Hm7 | E7 |");
    assert_eq!(roots(&mut receiver), ["B", "E"]);
    cell.try_out(Some("| Hm7 | B7 |"));
    assert_eq!(roots(&mut receiver), ["B", "Bb"]);
    cell.keep();

    let saved = serde_json::to_string(&cell.saved()).unwrap();
    let (other, mut receiver) = ChartCell::new();
    other.load(serde_json::from_str(&saved).unwrap());
    assert_eq!(roots(&mut receiver), ["B", "Bb"]);
    other.restore();
    assert_eq!(roots(&mut receiver), ["B", "E"], "{saved}");
    other.load(serde_json::from_str(r#"{"text":"| B7 |"}"#).unwrap());
    assert_eq!(roots(&mut receiver), ["B"], "older songs are in English");
    other.load(serde_json::from_str(r#"{"text":"| B7 |","names":"x"}"#).unwrap());
    assert_eq!(roots(&mut receiver), ["B"]);
    let kept = other.saved().names;
    assert_eq!(kept.as_deref(), Some("x"), "of a later version");
}

#[test]
fn a_flood_of_edits_arrives_as_the_last_one() {
    let (cell, mut receiver) = ChartCell::new();
    for bars in 1..=50 {
        cell.set_text(&"| C6 ".repeat(bars));
    }
    let first = receiver.take();
    cell.settle();
    let chart = receiver.take().or(first);
    assert_eq!(chart.map(|s| s.changes.len()), Some(50));
}

#[test]
fn of_texts_that_nobody_has_read_the_last_good_one_sounds() {
    let (cell, work, mut receiver) = by_hand();
    for text in ["| C6 | F6 |", "| C6 | F6 | G7 |", "| C6 | H7 |", "| H7 |"] {
        cell.set_text(text);
    }
    while work.step(Depth::All) {}
    assert_eq!(receiver.take().map(|chart| chart.changes.len()), Some(3));
    let saved = cell.saved();
    assert_eq!(saved.text, "| H7 |");
    assert_eq!(saved.sounding.as_deref(), Some("| C6 | F6 | G7 |"));
    // It goes on sounding, and is neither planned nor sent again.
    cell.set_text("| H7 | H7 |");
    assert!(work.step(Depth::All));
    assert!(receiver.take().is_none());
    assert!(!work.step(Depth::All));
}

/// What the audio thread takes: the number of changes, and when the chart enters.
fn taken(receiver: &mut PlannedReceiver) -> Option<(usize, Enters)> {
    let chart = receiver.take()?;
    Some((chart.changes.len(), chart.enters))
}

#[test]
fn what_is_in_use_is_published_first_and_the_rest_soon() {
    let (cell, work, mut receiver) = by_hand();
    cell.look_up(|| (PlanFor::default(), Texture::TwoHands.into()));
    assert!(receiver.take().is_some());
    let edition = cell.set_text("| Dm7 | G7 |");
    assert!(cell.latest().edition < edition, "nobody has read it");
    assert!(work.step(Depth::InUse));
    let read = cell.latest();
    assert_eq!((read.edition, &*read.text), (edition, "| Dm7 | G7 |"));
    assert!(read.chart.is_ok() && read.planned.is_none());

    assert!(work.step(Depth::InUse));
    let first = receiver.take().unwrap();
    let shown = cell.latest().planned.clone().unwrap();
    assert!(Arc::ptr_eq(&first, &shown), "the panel has the same");
    assert!(first.plan_of(Texture::TwoHands).is_some());
    assert!(first.plan_of(Texture::FourNotes).is_none());
    assert!(!work.step(Depth::InUse));

    while work.step(Depth::All) {}
    let whole = receiver.take().unwrap();
    assert_eq!((whole.edition, whole.unplanned()), (edition, None));
    let plan = |chart: &PlannedChart| chart.plan_of(Texture::TwoHands).cloned().unwrap();
    assert!(Arc::ptr_eq(&plan(&first), &plan(&whole)), "not copied");
}

/// While a texture has not been planned, another one's plan serves: its nearest voicing.
#[test]
fn another_textures_plan_serves_meanwhile() {
    let (cell, work, mut receiver) = by_hand();
    cell.set_text("| Dm7 | G7 | N.C. | C6 |");
    assert!(work.step(Depth::InUse) && work.step(Depth::InUse));
    let chart = receiver.take().unwrap();
    let taste = |texture| Taste {
        texture,
        ..Taste::default()
    };
    let wanted = taste(Texture::TwoHands);
    for change in 0..4 {
        let planned = chart.voiced(change, &taste(Texture::default()));
        let nearest = planned.map(|(placed, voiced)| {
            let voiced = pipeline::adapt(&voiced, &placed, &wanted);
            assert!(!voiced.voicing.voices().is_empty());
            (placed, voiced)
        });
        assert_eq!(chart.voiced(change, &wanted), nearest, "{change}");
    }
}

#[test]
fn a_moved_register_is_planned_for_and_a_tried_harmony_with_it() {
    let (cell, work, mut receiver) = by_hand();
    let register = Arc::new(Mutex::new(Register::DEFAULT));
    let looked_up = register.clone();
    cell.look_up(move || {
        let plan_for = PlanFor {
            register: *looked_up.lock().unwrap(),
            ..PlanFor::default()
        };
        (plan_for, Shapes::default())
    });
    cell.set_text("| Dm7 | G7 |");
    cell.try_out(Some("| Dm7 | Db7 | C6 |"));
    while work.step(Depth::All) {}
    assert_eq!(
        receiver.take().map(|c| c.enters),
        Some(Enters::AtTheBarLine)
    );
    let higher = Register::new(MidiNote::clamp(55), MidiNote::clamp(74));
    *register.lock().unwrap() = higher;
    while work.step(Depth::All) {}
    let tried = receiver.take().unwrap();
    let enters = Enters::AtTheBarLine;
    assert_eq!((tried.changes.len(), tried.enters), (3, enters), "it waits");
    assert_eq!(tried.plan_for.register, higher);
    let shown = cell.latest().planned.clone().unwrap();
    assert_eq!((shown.changes.len(), shown.plan_for.register), (2, higher));
    // The chart itself is ready for the way back.
    cell.try_out(None);
    let back = receiver.take().unwrap();
    assert_eq!((back.changes.len(), back.enters), (2, Enters::AtTheBarLine));
    assert_eq!((back.plan_for.register, back.unplanned()), (higher, None));
}

#[test]
fn what_is_kept_is_what_the_panel_shows() {
    let (cell, work, _receiver) = by_hand();
    let before = cell.set_text("| Dm7 | G7 |");
    cell.try_out(Some("| Dm7 | Db7 |"));
    while work.step(Depth::All) {}
    assert_eq!(cell.latest().edition, before);
    cell.keep();
    let kept = cell.latest();
    assert!(kept.edition > before);
    assert_eq!(&*kept.text, "| Dm7 | Db7 |");
    let planned = kept.planned.clone().unwrap();
    assert_eq!((planned.edition, planned.unplanned()), (kept.edition, None));
    assert!(!work.step(Depth::All), "nothing is read or planned again");
}

/// A cell whose planning waits to be let go, texture by texture.
struct Slow {
    cell: ChartCell,
    receiver: PlannedReceiver,
    begun: Receiver<usize>,
    go: Sender<()>,
}

/// Charts of this many changes are planned slowly.
const SLOW: usize = 5;

fn slow() -> Slow {
    let (began, begun) = channel();
    let (go, let_go) = channel();
    let let_go = Mutex::new(let_go);
    let planner = move |planned: &PlannedChart, shapes: Shapes| {
        if planned.changes.len() == SLOW {
            began.send(planned.changes.len()).unwrap();
            // The test may be over.
            let _over = let_go.lock().unwrap().recv();
        }
        planned.plan_in(shapes)
    };
    let (cell, receiver) = ChartCell::planned_by(Box::new(planner));
    cell.on_edit(|| true);
    Slow {
        cell,
        receiver,
        begun,
        go,
    }
}

#[test]
fn nobody_waits_for_a_plan_and_a_late_one_is_dropped() {
    let mut slow = slow();
    assert!(slow.receiver.take().is_some());
    slow.cell.set_text(&"| C6 ".repeat(SLOW));
    let work = slow.cell.work();
    let worker = thread::spawn(move || while work.step(Depth::All) {});
    slow.begun.recv().unwrap();
    // All of this would hang if the lock were held meanwhile.
    assert_eq!(slow.cell.text(), "| C6 ".repeat(SLOW));
    assert!(slow.cell.latest().chart.is_ok());
    let newest = slow.cell.set_text("| F6 | G7 |");
    assert_eq!(slow.cell.text(), "| F6 | G7 |");
    assert_eq!(slow.cell.errors(), []);
    assert_eq!(slow.cell.saved().text, "| F6 | G7 |");
    assert_eq!(slow.cell.latest().edition, newest, "it is read meanwhile");
    assert!(slow.cell.latest().planned.is_none());

    slow.go.send(()).unwrap();
    worker.join().unwrap();
    let taken = slow.receiver.take().unwrap();
    assert_eq!((taken.edition, taken.changes.len()), (newest, 2));
    assert!(slow.receiver.take().is_none());
    let shown = slow.cell.latest();
    assert_eq!(shown.planned.as_ref().map(|p| p.edition), Some(newest));
}

/// A reading that comes after another one of a newer text, and after one of the same text.
#[test]
fn a_late_reading_is_dropped() {
    let (cell, _work, _receiver) = by_hand();
    for newer in ["| F6 | G7 |", "| H7 |"] {
        cell.set_text("| C6 |");
        let late = cell.reading_under_way().unwrap();
        cell.set_text(newer);
        cell.settle();
        let before = cell.latest();
        cell.put_reading(&late);
        assert!(Arc::ptr_eq(&before, &cell.latest()));
        assert_eq!(cell.saved().text, newer);
    }
    cell.set_text("| C6 |");
    let late = cell.reading_under_way().unwrap();
    cell.settle();
    let before = cell.latest();
    cell.put_reading(&late);
    assert!(Arc::ptr_eq(&before, &cell.latest()), "its plan is kept");
}

#[test]
fn to_settle_is_to_wait_for_whoever_plans() {
    let mut slow = slow();
    slow.cell.set_text(&"| C6 ".repeat(SLOW));
    let work = slow.cell.work();
    let worker = thread::spawn(move || {
        work.step(Depth::InUse);
        work.step(Depth::InUse);
    });
    slow.begun.recv().unwrap();
    (0..Texture::ALL.len()).for_each(|_| slow.go.send(()).unwrap());
    slow.cell.settle();
    worker.join().unwrap();
    let chart = slow.receiver.take().unwrap();
    assert_eq!((chart.changes.len(), chart.unplanned()), (SLOW, None));
    let more = slow.begun.try_iter().count();
    assert_eq!(more + 1, Texture::ALL.len(), "each texture is planned once");
}

#[test]
fn a_saved_chart_is_planned_in_all_textures_when_it_has_been_loaded() {
    let (cell, _work, mut receiver) = by_hand();
    let saved = SavedChart {
        text: "| C6 | F6 | G7 |".to_owned(),
        ..SavedChart::default()
    };
    cell.load(saved);
    let chart = receiver.take().unwrap();
    assert_eq!((chart.changes.len(), chart.unplanned()), (3, None));
    let shown = cell.latest().planned.clone().unwrap();
    assert!(Arc::ptr_eq(&chart, &shown));
}

#[test]
fn a_chart_that_cannot_be_planned_costs_no_other() {
    let planner = |planned: &PlannedChart, shapes: Shapes| {
        assert_ne!(planned.changes.len(), 3, "planted");
        planned.plan_in(shapes)
    };
    let (cell, mut receiver) = ChartCell::planned_by(Box::new(planner));
    assert!(receiver.take().is_some());
    cell.set_text("| C6 | F6 | G7 |");
    assert!(receiver.take().is_none(), "the one before goes on sounding");
    assert!(cell.latest().chart.is_ok());
    cell.set_text("| C6 | F6 |");
    assert_eq!(receiver.take().map(|chart| chart.changes.len()), Some(2));
}

#[test]
fn an_instance_that_goes_away_ends_its_work() {
    let slow = slow();
    slow.cell.set_text(&"| C6 ".repeat(SLOW));
    let work = slow.cell.work();
    let there = work.clone();
    let worker = thread::spawn(move || while work.step(Depth::All) {});
    slow.begun.recv().unwrap();
    drop(slow.cell);
    slow.go.send(()).unwrap();
    worker.join().unwrap();
    assert!(there.is_gone());
    assert_eq!(slow.begun.try_iter().count(), 0, "no further texture");
}

/// The caller of an edit does not pay for its chart, however long that is.
#[test]
fn an_edit_costs_its_caller_next_to_nothing() {
    let (cell, work, _receiver) = by_hand();
    let long = "| Dm7 | G7 | Cmaj7 | A7 |\n".repeat(250);
    let fastest = |edit: &dyn Fn()| {
        let times = (0..20).map(|_| {
            let begun = Instant::now();
            edit();
            begun.elapsed()
        });
        times.min().unwrap()
    };
    let edit = fastest(&|| {
        cell.set_text(&long);
    });
    let begun = Instant::now();
    assert!(work.step(Depth::InUse) && work.step(Depth::InUse));
    let worked = begun.elapsed();
    assert!(edit < Duration::from_millis(1), "{edit:?}");
    assert!(edit * 20 < worked, "{edit:?} of {worked:?}");
}

#[test]
fn numbers_of_texts_rise() {
    let (cell, _work, _receiver) = by_hand();
    let numbers: HashSet<u64> = (0..10).map(|_| cell.set_text("| C6 |")).collect();
    assert_eq!(numbers.len(), 10);
    assert_eq!(numbers.into_iter().max(), Some(cell.set_text("| C6 |") - 1));
}

/// The panel lets go of a chart in a frame, which has no time to free a long one.
#[test]
fn an_older_chart_is_freed_by_whoever_reads_the_next() {
    let (cell, _charts) = ChartCell::new();
    cell.set_text("| C6 |");
    let shown = cell.latest();
    let chart = Arc::downgrade(shown.chart.as_ref().unwrap());
    cell.set_text("| F6 |");
    drop(shown);
    assert!(chart.upgrade().is_some());
    cell.set_text("| G6 |");
    assert!(chart.upgrade().is_none());
}
