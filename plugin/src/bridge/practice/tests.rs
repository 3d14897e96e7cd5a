//! The cell of practice: what a drill is made from and when, answers on their way to the record, and what
//! is saved.

use super::*;
use crate::engine::sources::practice::PracticeSource;
use guidehand_practice::{Answered, Exercise, KeyOrder, Lesson, Origin, Record, Time};
use guidehand_theory::chart;
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::shape::Texture;
use guidehand_theory::voicing::Position;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::{Arc, Mutex, mpsc};
use std::thread;
use std::time::Duration;

/// An instance with what surrounds its cell, and a source that takes its lessons.
struct Instance {
    cell: PracticeCell,
    receiver: LessonReceiver,
    source: PracticeSource,
    here: Arc<Mutex<Surroundings>>,
    practises: Arc<AtomicBool>,
    looked: Arc<AtomicU32>,
}

fn instance() -> Instance {
    let (cell, receiver) = PracticeCell::new();
    let here = Arc::new(Mutex::new(Surroundings::default()));
    let practises = Arc::new(AtomicBool::new(true));
    let looked = Arc::new(AtomicU32::new(0));
    let (surroundings, in_force, looks) = (here.clone(), practises.clone(), looked.clone());
    cell.look_up(move |wanted| {
        looks.fetch_add(1, Ordering::Relaxed);
        let needed = wanted || in_force.load(Ordering::Relaxed);
        needed.then(|| surroundings.lock().unwrap().clone())
    });
    cell.set_calendar(|| Time::UNIX_EPOCH);
    Instance {
        cell,
        receiver,
        source: PracticeSource::default(),
        here,
        practises,
        looked,
    }
}

impl Instance {
    /// A block is played.
    fn play(&mut self) {
        self.receiver.hand_over(&mut self.source, true);
        self.receiver.take_answers(&mut self.source);
    }

    /// The number of the drill that is read.
    fn number(&self) -> Option<u64> {
        self.cell.read().drill.map(|drill| drill.number)
    }

    /// An answer to a question of a drill comes from the audio thread.
    fn answer(&mut self, drill: u64, question: u32) {
        self.source.put_answer(Answered {
            drill,
            question,
            right: true,
            right_first: true,
            millis: 1500,
            position: Position::Third,
            ..Answered::default()
        });
        self.play();
    }
}

fn chart_now(text: &str, edition: u64) -> ChartNow {
    ChartNow {
        edition,
        chart: Arc::new(chart::parse(text).unwrap()),
        pins: Vec::new(),
    }
}

/// A host renders right after a state is loaded. The worker may be at work on the exercise before.
#[test]
fn a_drill_that_is_being_made_is_waited_for() {
    let (cell, _receiver) = PracticeCell::new();
    cell.look_up(|_| Some(Surroundings::default()));
    let (at_work, is_at_work) = mpsc::channel();
    let (go_on, may_go_on) = mpsc::channel::<()>();
    let (at_work, may_go_on) = (Mutex::new(at_work), Mutex::new(may_go_on));
    // The first drill is made once it may be.
    cell.set_calendar(move || {
        if at_work.lock().unwrap().send(()).is_ok() {
            let _over = may_go_on.lock().unwrap().recv();
        }
        Time::UNIX_EPOCH
    });
    let exercise = Exercise {
        seed: 2,
        ..Exercise::default()
    };
    let saved = SavedPractice {
        exercise: exercise.clone(),
        ..SavedPractice::default()
    };
    let work = cell.work();
    thread::scope(|scope| {
        scope.spawn(|| work.step());
        is_at_work.recv().unwrap();
        let loads = scope.spawn(|| cell.load(saved));
        // Without waiting it returns at once.
        thread::sleep(Duration::from_millis(50));
        drop((go_on, is_at_work));
        loads.join().unwrap();
        assert_eq!(cell.shared_drill().unwrap().exercise, exercise);
    });
}

#[test]
fn no_drill_is_made_before_somebody_practises() {
    let instance = instance();
    instance.practises.store(false, Ordering::Relaxed);
    let work = instance.cell.work();
    assert!(!work.step());
    instance.cell.set_exercise(Exercise {
        seed: 2,
        ..Exercise::default()
    });
    assert!(!work.step());
    assert!(instance.cell.shared_drill().is_none());
    instance.practises.store(true, Ordering::Relaxed);
    assert!(work.step());
    assert!(instance.cell.shared_drill().is_some());
    assert!(!work.step(), "once");
}

#[test]
fn an_open_page_wants_a_drill_and_gets_it() {
    let instance = instance();
    instance.practises.store(false, Ordering::Relaxed);
    assert!(instance.cell.read().drill.is_none());
    let read = instance.cell.read();
    assert_eq!(read.told, None);
    assert!(!read.drill.unwrap().questions.is_empty());
}

#[test]
fn a_change_of_the_record_knows_every_answer_before_it() {
    let mut instance = instance();
    assert!(instance.cell.work().step());
    instance.play();
    let drill = instance.number().unwrap();
    instance.answer(drill, 0);
    assert_eq!(instance.cell.change_record(|_| None), None);
    instance.answer(drill, 0);
    let (before, after) = instance
        .cell
        .change_record(|_| Some(Record::default()))
        .unwrap();
    assert_eq!(before.total().asked, 2);
    assert!(after.is_empty());
    assert!(instance.cell.read().record.is_empty());
}

#[test]
fn a_drill_is_made_anew_for_what_it_depends_on_and_for_nothing_else() {
    let mut instance = instance();
    let work = instance.cell.work();
    assert!(work.step());
    let first = instance.number().unwrap();
    instance.play();
    instance.answer(first, 0);
    assert!(!work.step(), "an answer makes no other drill");
    instance.cell.set_record(Record::default());
    assert!(!work.step(), "neither does another record");
    instance.here.lock().unwrap().chart = Some(chart_now("| C6 |", 1));
    assert!(!work.step(), "a list does not depend on the chart");
    instance.here.lock().unwrap().taste.texture = Texture::GuideTones;
    assert!(work.step(), "another texture");
    instance.cell.set_exercise(Exercise {
        order: KeyOrder::HalfStepsDown,
        ..Exercise::default()
    });
    assert!(instance.number().unwrap() > first + 1, "another exercise");
    assert!(!work.step());
    instance.cell.set_exercise(Exercise {
        origin: Origin::Chart,
        ..Exercise::default()
    });
    let over_c = instance.number().unwrap();
    assert!(!work.step());
    instance.here.lock().unwrap().chart = Some(chart_now("| Dm7 | G7 |", 2));
    assert!(work.step(), "another chart");
    instance.here.lock().unwrap().chart = None;
    assert!(!work.step(), "a chart that is still being typed");
    assert_eq!(instance.number(), Some(over_c + 1));
}

#[test]
fn what_cannot_be_asked_is_told_in_a_sentence() {
    let instance = instance();
    instance.cell.set_exercise(Exercise {
        families: Vec::new(),
        ..Exercise::default()
    });
    let read = instance.cell.read();
    assert!(read.drill.is_none());
    assert!(read.told.unwrap().ends_with('.'));
}

#[test]
fn lessons_travel_and_old_ones_come_back_to_be_freed() {
    let mut instance = instance();
    let mut drills = Vec::new();
    for seed in 0..20 {
        instance.cell.set_exercise(Exercise {
            seed,
            ..Exercise::default()
        });
        let drill = instance.cell.read().drill.unwrap();
        drills.push(Arc::downgrade(&drill));
        if seed % 3 == 0 {
            instance.play();
        }
    }
    instance.play();
    // The cell remembers the last few; the audio thread holds one of them.
    let _read = instance.cell.read();
    let living = drills.iter().filter(|drill| drill.strong_count() > 0);
    assert!(living.count() <= 4);
}

#[test]
fn practice_begins_with_a_drill_of_its_own() {
    let mut instance = instance();
    let first = {
        instance.cell.settle();
        instance.number().unwrap()
    };
    instance.play();
    let woken = Arc::new(AtomicBool::new(false));
    let wakes = woken.clone();
    instance
        .cell
        .set_wake(crate::bridge::wake::Wake::new(move || {
            wakes.store(true, Ordering::Relaxed);
        }));
    instance.cell.ask(PracticeAsk::Begin);
    assert_eq!(instance.number(), Some(first + 1));
    assert!(
        woken.load(Ordering::Relaxed),
        "the host is asked to process"
    );
}

#[test]
fn answers_come_into_the_record_with_the_read_and_the_save() {
    let mut instance = instance();
    instance.cell.settle();
    let drill = instance.cell.read().drill.unwrap();
    instance.play();
    instance.answer(drill.number, 0);
    let (edition, record) = {
        let read = instance.cell.read();
        (read.edition, read.record)
    };
    let (cell, _) = drill
        .cells(&Answered {
            position: Position::Third,
            ..Answered::default()
        })
        .unwrap();
    assert_eq!(record.count(&cell).asked, 1);
    assert_eq!(record.count(&cell).right_first, 1);
    instance.answer(drill.number, 0);
    let saved = instance.cell.saved();
    assert_eq!(saved.record.count(&cell).asked, 2, "before a save");
    assert!(instance.cell.read().edition > edition);
    // An answer to a drill that nobody remembers counts nowhere.
    instance.answer(drill.number + 100, 0);
    assert_eq!(instance.cell.read().record.total().asked, 2);
}

#[test]
fn late_answers_find_the_drill_that_they_belong_to() {
    let mut instance = instance();
    instance.cell.settle();
    let before = instance.cell.read().drill.unwrap();
    instance.cell.set_exercise(Exercise {
        families: vec![ShapeFamily::Dominant],
        ..Exercise::default()
    });
    assert_ne!(instance.number(), Some(before.number));
    instance.answer(before.number, 0);
    let record = instance.cell.read().record;
    let cells = record.cells();
    assert_eq!(cells.len(), 1);
    assert_eq!(
        Some(cells[0].0.family),
        before.questions[0].cell.map(|cell| cell.family)
    );
}

#[test]
fn answers_wait_for_room_and_none_is_lost() {
    let mut instance = instance();
    instance.cell.settle();
    let drill = instance.number().unwrap();
    for _ in 0..1050 {
        instance.answer(drill, 0);
    }
    assert_eq!(instance.cell.read().record.total().asked, 1024);
    instance.play();
    assert_eq!(instance.cell.read().record.total().asked, 1050);
}

#[test]
fn what_is_asked_counts_only_while_practice_is_in_force() {
    let mut instance = instance();
    instance.cell.ask(PracticeAsk::Skip);
    instance.receiver.hand_over(&mut instance.source, false);
    assert_eq!(instance.source.asks(), 0);
    instance.cell.ask(PracticeAsk::Skip);
    instance.receiver.hand_over(&mut instance.source, true);
    assert_eq!(instance.source.asks(), 1);
    (0..100).for_each(|_| instance.cell.ask(PracticeAsk::More));
}

fn loaded(json: &str) -> PracticeCell {
    let cell = PracticeCell::default();
    cell.load(serde_json::from_str(json).unwrap());
    cell
}

fn written(cell: &PracticeCell) -> serde_json::Value {
    serde_json::to_value(cell.saved()).unwrap()
}

#[test]
fn practice_goes_through_its_saved_form() {
    let mut instance = instance();
    instance.cell.set_exercise(Exercise {
        seed: 77,
        answer_sounds: true,
        ..Exercise::default()
    });
    let drill = instance.number().unwrap();
    instance.answer(drill, 3);
    let saved = instance.cell.saved();
    assert_eq!(saved.version, 1);
    let again = loaded(&serde_json::to_string(&saved).unwrap());
    assert_eq!(*again.read().exercise, *instance.cell.read().exercise);
    assert_eq!(*again.read().record, *instance.cell.read().record);
    assert_eq!(written(&again), written(&instance.cell));
}

#[test]
fn what_a_later_version_has_saved_is_kept() {
    let json = r#"{"version":7,"exercise":{"seed":5,"mood":"blue"},"record":{},"teacher":[1]}"#;
    let cell = loaded(json);
    assert_eq!(cell.read().exercise.seed, 5);
    let again = written(&cell);
    assert_eq!(again["version"], 7);
    assert_eq!(again["exercise"]["mood"], "blue");
    assert_eq!(again["teacher"], serde_json::json!([1]));
    assert_eq!(written(&loaded(&again.to_string())), again);
}

#[test]
fn anything_can_be_loaded() {
    for json in [
        "{}",
        r#"{"exercise":3,"record":[],"version":1}"#,
        r#"{"exercise":{"seed":"x","pace":7},"record":{"sessions":{"a":1}}}"#,
    ] {
        let cell = loaded(json);
        assert_eq!(cell.read().exercise.families, Exercise::default().families);
    }
}

#[test]
fn a_loaded_state_is_ready_before_the_load_returns() {
    let instance = instance();
    let saved = SavedPractice {
        exercise: Exercise {
            seed: 99,
            ..Exercise::default()
        },
        ..SavedPractice::default()
    };
    instance.cell.load(saved);
    let drill = instance.cell.shared_drill().unwrap();
    assert_eq!(drill.exercise.seed, 99);
    assert!(instance.looked.load(Ordering::Relaxed) > 0);
}

#[test]
fn a_lesson_can_be_sent() {
    const fn sends<T: Send>() {}
    sends::<Box<Lesson>>();
    sends::<LessonReceiver>();
}
