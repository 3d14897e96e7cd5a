//! One thread for all instances, that lives on whatever happens to one of them.

use super::*;
use crate::bridge::chart::PlannedReceiver;
use crate::engine::settings::{PlanFor, Shapes};
use std::collections::HashSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::ThreadId;
use std::time::Instant;

/// A worker of the test's own.
fn worker() -> &'static Worker {
    Box::leak(Box::new(Worker::new()))
}

fn wait_until(done: impl Fn() -> bool) {
    let begun = Instant::now();
    while !done() {
        assert!(begun.elapsed() < Duration::from_secs(60), "it never comes");
        thread::sleep(Duration::from_millis(1));
    }
}

fn is_planned(cell: &ChartCell, edition: u64) -> bool {
    let latest = cell.latest();
    let planned = latest.planned.as_ref();
    latest.edition == edition && planned.is_some_and(|p| p.unplanned().is_none())
}

#[test]
fn a_hundred_instances_share_one_thread() {
    let worker = worker();
    let threads: Arc<Mutex<HashSet<ThreadId>>> = Arc::default();
    let cells: Vec<(ChartCell, PlannedReceiver)> = (0..100).map(|_| ChartCell::new()).collect();
    for (cell, _) in &cells {
        let threads = threads.clone();
        cell.look_up(move || {
            threads.lock().unwrap().insert(thread::current().id());
            (PlanFor::default(), Shapes::default())
        });
        worker.watch(cell);
        worker.watch(cell);
    }
    let edit = |(cell, _): &(ChartCell, _)| cell.set_text("| C6 |");
    let editions: Vec<u64> = cells.iter().map(edit).collect();
    for ((cell, _), edition) in cells.iter().zip(editions) {
        wait_until(|| is_planned(cell, edition));
    }
    let threads = threads.lock().unwrap();
    assert_eq!(threads.len(), 1);
    assert!(!threads.contains(&thread::current().id()));
}

#[test]
fn the_thread_ends_with_the_last_instance_and_comes_back_with_the_next() {
    let worker = worker();
    for _ in 0..3 {
        let [(one, _), (other, _)] = [ChartCell::new(), ChartCell::new()];
        worker.watch(&one);
        worker.watch(&other);
        drop(one);
        let edition = other.set_text("| C6 |");
        wait_until(|| is_planned(&other, edition));
        assert!(worker.lock().runs);
        drop(other);
        wait_until(|| !worker.lock().runs);
        assert!(worker.lock().charts.is_empty());
    }
}

#[test]
fn the_thread_lives_on_when_one_instance_fails() {
    let worker = worker();
    let [(bad, _), (good, _)] = [ChartCell::new(), ChartCell::new()];
    let failed = Arc::new(AtomicBool::new(false));
    let fails = failed.clone();
    bad.look_up(move || {
        fails.store(true, Ordering::SeqCst);
        panic!("planted");
    });
    worker.watch(&bad);
    worker.watch(&good);
    wait_until(|| failed.load(Ordering::SeqCst));
    for _ in 0..3 {
        let edition = good.set_text("| C6 |");
        wait_until(|| is_planned(&good, edition));
    }
}

/// Nobody tells the worker that a parameter has moved.
#[test]
fn a_moved_register_is_planned_for_soon() {
    let worker = worker();
    let (cell, _receiver) = ChartCell::new();
    let moved = Arc::new(AtomicBool::new(false));
    let now = moved.clone();
    cell.look_up(move || {
        let mut plan_for = PlanFor::default();
        if now.load(Ordering::SeqCst) {
            plan_for.register.edges = guidehand_theory::candidates::Edges::Hard;
        }
        (plan_for, Shapes::default())
    });
    worker.watch(&cell);
    let edition = cell.set_text("| C6 |");
    wait_until(|| is_planned(&cell, edition));
    let before = cell.latest().planned.clone().unwrap().plan_for;
    moved.store(true, Ordering::SeqCst);
    wait_until(|| cell.latest().planned.as_ref().unwrap().plan_for != before);
}

/// What an edit would make worthless is not begun.
#[test]
fn textures_that_are_not_in_use_wait_for_a_pause() {
    let worker = worker();
    let (cell, _receiver) = ChartCell::new();
    worker.watch(&cell);
    let begun = Instant::now();
    let edition = cell.set_text("| C6 |");
    wait_until(|| cell.latest().edition == edition && cell.latest().planned.is_some());
    wait_until(|| is_planned(&cell, edition));
    assert!(begun.elapsed() >= PAUSE);
}

/// Nobody tells the worker that typing has rested.
#[test]
fn a_typed_text_comes_into_force_by_the_clock() {
    let worker = worker();
    let (cell, _receiver) = ChartCell::new();
    let clock = cell.stop_clock();
    worker.watch(&cell);
    let edition = cell.type_text("| C6 |");
    wait_until(|| is_planned(&cell, edition));
    assert!(cell.latest().waits);
    clock.pass_ms(1_000);
    wait_until(|| !cell.latest().waits);
    assert!(is_planned(&cell, edition));
}

#[test]
fn a_drill_is_made_and_answers_are_recorded_although_nobody_reads() {
    use crate::bridge::practice::{PracticeCell, Surroundings};
    use crate::engine::sources::practice::PracticeSource;
    use guidehand_practice::Answered;
    let worker = worker();
    let (chart, _charts) = ChartCell::new();
    let (cell, mut receiver) = PracticeCell::new();
    let practises = Arc::new(AtomicBool::new(false));
    let told = practises.clone();
    cell.look_up(move |_| told.load(Ordering::Relaxed).then(Surroundings::default));
    worker.watch(&chart);
    worker.watch_practice(&cell);
    assert!(cell.shared_drill().is_none());
    practises.store(true, Ordering::Relaxed);
    wait_until(|| cell.shared_drill().is_some());
    let drill = cell.shared_drill().unwrap().number;
    let mut source = PracticeSource::default();
    source.put_answer(Answered {
        drill,
        ..Answered::default()
    });
    receiver.take_answers(&mut source);
    wait_until(|| cell.recorded() == 1);
}
