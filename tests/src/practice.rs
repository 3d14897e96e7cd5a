//! A player who practises, and makes mistakes on purpose. The player knows the exercise and its seed, and
//! so every question; what the plugin has recorded afterwards is held against what the player knows.
//! Imports the session, the saved state and the practice crate, which the plugin makes its drills with;
//! when questions are asked and fall is worked out here, apart from the plugin.

use crate::session::Session;
use crate::state;
use fastrand::Rng;
use guidehand_practice::{Answered, Drill, Exercise, Lesson, Making, Pace, Record, Tempo, Time};
use guidehand_theory::candidates::Register;
use guidehand_theory::judge::{self, Judgement};
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::MidiNote;
use serde_json::{Value, json};

/// The sample rate of every session.
pub const RATE_HZ: f64 = 48_000.0;

/// Samples of a millisecond.
const MS: u64 = 48;

/// Keys below this one are part of an answer, if the split is not above it: the register ends at A4.
const BELOW: u8 = 70;

/// When the key is struck that begins practice, and how long it is held.
const BEGINS: u64 = 1_000;

/// What a player does with a question.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plan {
    /// Plays the chord.
    Right,
    /// Plays it from the lowest note to the highest, over half a second.
    Rolled,
    /// A finger is a half step off.
    HalfStep,
    /// A finger is an octave off.
    Octave,
    /// A note is missing.
    Missing,
    /// There is a note too many.
    Extra,
    /// The root is there.
    Root,
    /// The notes lie in another inversion.
    OtherPosition,
    /// In time: the chord comes half a beat early.
    Early,
    /// In time: the chord comes a beat late.
    Late,
    /// In time: nothing is played.
    Nothing,
}

impl Plan {
    /// What can be planned in free time.
    pub const FREE: [Plan; 8] = [
        Plan::Right,
        Plan::Rolled,
        Plan::HalfStep,
        Plan::Octave,
        Plan::Missing,
        Plan::Extra,
        Plan::Root,
        Plan::OtherPosition,
    ];

    /// What can be planned in time.
    pub const TIMED: [Plan; 11] = [
        Plan::Right,
        Plan::Rolled,
        Plan::HalfStep,
        Plan::Octave,
        Plan::Missing,
        Plan::Extra,
        Plan::Root,
        Plan::OtherPosition,
        Plan::Early,
        Plan::Late,
        Plan::Nothing,
    ];

    /// Whether it counts as right at the first try.
    #[must_use]
    pub const fn is_right(self) -> bool {
        matches!(self, Plan::Right | Plan::Rolled)
    }
}

/// A session with a player in it, and what is to be recorded of it.
pub struct Practised {
    /// The keys that are played.
    pub session: Session,
    /// What is to be recorded.
    pub record: Record,
    /// What was answered, in order.
    pub answers: Vec<Answered>,
    /// What was planned for each answer.
    pub plans: Vec<Plan>,
}

/// The state of an instance, with an exercise to be practised.
///
/// # Panics
/// If the bytes are not a state of the plugin.
#[must_use]
pub fn with_exercise(state: &[u8], exercise: &Exercise) -> Vec<u8> {
    let practice = json!({ "version": 1, "exercise": exercise });
    state::with_field(state, "practice", &practice)
}

/// The record in a saved state.
///
/// # Panics
/// If the bytes are not a state of the plugin.
#[must_use]
pub fn recorded(state: &[u8]) -> Record {
    let json: Value = serde_json::from_slice(state::json_of(state)).expect("a state is JSON");
    let practice = json["fields"]["practice"].as_str().expect("practice");
    let practice: Value = serde_json::from_str(practice).expect("a field is JSON");
    serde_json::from_value(practice["record"].clone()).expect("a record")
}

/// What a record says of each grip, but for the day.
#[must_use]
pub fn told(record: &Record) -> Vec<String> {
    let cells = record.cells().into_iter();
    let cells = cells.map(|(cell, count)| {
        let (asked, right, median) = (count.asked, count.right_first, count.median_s);
        format!("{cell}: {asked} asked, {right} right at first, {median:?} s")
    });
    let moves = record.slowest_moves(usize::MAX).into_iter();
    let moves = moves.map(|one| format!("{} to {}: {}", one.from, one.to, one.asked));
    cells.chain(moves).collect()
}

fn lesson(exercise: &Exercise) -> Lesson {
    let making = Making {
        number: 1,
        exercise,
        taste: &Taste::default(),
        shapes: &[],
        record: &Record::default(),
        now: Time::UNIX_EPOCH,
    };
    let made = making.of_list().unwrap_or_else(|none| panic!("{none}"));
    Lesson::new(made.drill.into(), made.standings)
}

fn notes(keys: &[u8]) -> Vec<MidiNote> {
    let mut notes: Vec<_> = keys.iter().copied().filter_map(MidiNote::new).collect();
    notes.sort_unstable();
    notes
}

/// What keys are as an answer to a question.
fn judged(drill: &Drill, question: u32, keys: &[u8]) -> Judgement {
    let asked = drill.question(question).expect("a question");
    judge::judge(
        &asked.question,
        &notes(keys),
        drill.exercise.accepts,
        Register::DEFAULT,
    )
}

fn right_keys(drill: &Drill, question: u32) -> Vec<u8> {
    let asked = drill.question(question).expect("a question");
    let voicing = &asked.question.voiced.voicing;
    voicing.notes().map(MidiNote::number).collect()
}

/// Keys with a mistake in them; none if this question leaves no room for it.
fn wrong_keys(drill: &Drill, question: u32, plan: Plan, rng: &mut Rng) -> Option<Vec<u8>> {
    let right = right_keys(drill, question);
    let root = drill.question(question)?.question.placed.chord.root;
    let finger = rng.usize(..right.len());
    let with = |mut keys: Vec<u8>, at: usize, key: u8| {
        keys[at] = key;
        keys
    };
    let by = |steps: i8| right[finger].checked_add_signed(steps);
    let candidates: Vec<Vec<u8>> = match plan {
        Plan::HalfStep => [by(1), by(-1)]
            .into_iter()
            .flatten()
            .map(|key| with(right.clone(), finger, key))
            .collect(),
        Plan::Octave => [by(-12), by(12)]
            .into_iter()
            .flatten()
            .map(|key| with(right.clone(), finger, key))
            .collect(),
        Plan::Missing => {
            let mut keys = right.clone();
            keys.remove(finger);
            vec![keys]
        }
        Plan::Extra => (45..BELOW)
            .map(|key| [&right[..], &[key]].concat())
            .collect(),
        Plan::Root => (40..BELOW)
            .filter(|key| MidiNote::new(*key).is_some_and(|note| note.class() == root.class()))
            .map(|key| [&right[..], &[key]].concat())
            .collect(),
        Plan::OtherPosition => {
            let up = right[1..].iter().copied().chain([right[0] + 12]);
            let last = right[right.len() - 1];
            let down = [last.saturating_sub(12)].into_iter();
            let down = down.chain(right[..right.len() - 1].iter().copied());
            vec![up.collect(), down.collect()]
        }
        _ => return None,
    };
    let mut fitting: Vec<Vec<u8>> = candidates
        .into_iter()
        .filter(|keys| {
            let mut once = keys.clone();
            once.sort_unstable();
            once.dedup();
            let in_reach = keys.iter().all(|key| (30..BELOW).contains(key));
            in_reach && once.len() == keys.len() && !judged(drill, question, keys).is_right()
        })
        .collect();
    (!fitting.is_empty()).then(|| fitting.swap_remove(rng.usize(..fitting.len())))
}

/// The keys of an answer with their times, from its beginning.
fn touch(keys: &[u8], plan: Plan) -> Vec<(u64, u8)> {
    let apart = if plan == Plan::Rolled { 110 * MS } else { 90 };
    (0_u64..)
        .zip(keys)
        .map(|(nth, key)| (nth * apart, *key))
        .collect()
}

impl Practised {
    fn new(length: u64) -> Practised {
        Practised {
            session: Session::new(RATE_HZ, 120.0, length),
            record: Record::default(),
            answers: Vec::new(),
            plans: Vec::new(),
        }
    }

    /// Plays keys from a sample on, and lets go of them a third of a second after the last. Returns when
    /// the last of them went down, and when they went up.
    fn play(&mut self, at: u64, keys: &[(u64, u8)]) -> (u64, u64) {
        let last = at + keys.iter().map(|(after, _)| *after).max().unwrap_or(0);
        let up = last + 330 * MS;
        for (after, key) in keys {
            self.session.note(at + after, up, i16::from(*key));
        }
        (last, up)
    }

    /// A question has been answered.
    fn answer(&mut self, drill: &Drill, answered: Answered, plan: Plan) {
        if let Some((cell, from)) = drill.cells(&answered) {
            let added = self.record.add(&answered, cell, from, Time::UNIX_EPOCH);
            added.unwrap_or_else(|full| panic!("{full}"));
        }
        self.answers.push(answered);
        self.plans.push(plan);
    }
}

fn millis(samples: u64) -> u32 {
    let rounded = (samples + MS / 2) / MS;
    u32::try_from(rounded).unwrap_or(u32::MAX)
}

/// A session in free time, with some mistakes of every kind, until the list is done or so many questions
/// are answered.
///
/// # Panics
/// If nothing can be asked.
#[must_use]
pub fn in_free_time(exercise: &Exercise, most: usize, mistakes: f64, seed: u64) -> Practised {
    let mut lesson = lesson(exercise);
    let drill = lesson.drill.clone();
    let mut rng = Rng::with_seed(seed);
    let mut done = Practised::new(0);
    done.session.note(BEGINS, BEGINS + 50, 40);
    let mut asked_at = BEGINS;
    while let Some(item) = lesson.picker.current() {
        let mut all_right = true;
        let questions = drill.items[item].questions.clone();
        for question in questions.clone() {
            let plan = plan(&Plan::FREE, mistakes, &mut rng);
            let right = right_keys(&drill, question);
            let mut at = asked_at + 50 + rng.u64(100 * MS..500 * MS);
            let wrong = wrong_keys(&drill, question, plan, &mut rng);
            let plan = if wrong.is_some() || plan.is_right() {
                plan
            } else {
                Plan::Right
            };
            if let Some(wrong) = wrong {
                let (_, up) = done.play(at, &touch(&wrong, plan));
                at = up + rng.u64(50 * MS..200 * MS);
            }
            let (last, up) = done.play(at, &touch(&right, plan));
            all_right &= plan.is_right();
            let answered = Answered {
                drill: drill.number,
                question,
                before: (question > questions.start).then(|| question - 1),
                right: true,
                right_first: plan.is_right(),
                helped: false,
                millis: millis(last - asked_at),
                position: judged(&drill, question, &right).played().position,
            };
            done.answer(&drill, answered, plan);
            asked_at = up;
        }
        if lesson.picker.answered(all_right).is_none() || done.answers.len() >= most {
            break;
        }
    }
    done.session.length_samples = asked_at + 48_000;
    done
}

/// What is planned, with this share of mistakes.
fn plan(all: &[Plan], mistakes: f64, rng: &mut Rng) -> Plan {
    let (right, wrong): (Vec<Plan>, Vec<Plan>) = all.iter().partition(|plan| plan.is_right());
    let some = if rng.f64() < mistakes { wrong } else { right };
    some[rng.usize(..some.len())]
}

/// A session in time, at a tempo of the exercise's own that does not grow and in which a beat is a whole
/// number of samples, over so many questions.
///
/// # Panics
/// If nothing can be asked, or the exercise is not in time.
#[must_use]
pub fn in_time(exercise: &Exercise, most: usize, mistakes: f64, seed: u64) -> Practised {
    let Pace::InTime {
        tempo: Tempo::Own { bpm, .. },
        beats_ahead,
        count_in_bars,
    } = exercise.pace
    else {
        panic!("the exercise is not in a time of its own");
    };
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a whole number"
    )]
    let beat = (RATE_HZ * 60.0 / bpm).round() as u64;
    let samples = |ticks: u32| u64::from(ticks) * beat / 960;
    let (bar, ahead) = (4 * beat, u64::from(beats_ahead) * beat);
    let mut lesson = lesson(exercise);
    let drill = lesson.drill.clone();
    let mut rng = Rng::with_seed(seed);
    let mut done = Practised::new(0);
    done.session.note(BEGINS, BEGINS + 50, 40);
    let first = BEGINS + u64::from(count_in_bars) * bar;
    let mut base = first;
    let mut over = first;
    while let Some(item) = lesson.picker.current() {
        let item = &drill.items[item];
        let mut all_right = true;
        let mut last_falls = base;
        for question in item.questions.clone() {
            let asked = drill.question(question).expect("a question");
            let falls = base + samples(asked.start_ticks);
            let ends = falls + samples(asked.length_ticks);
            let asked_at = falls.saturating_sub(ahead).max(BEGINS);
            let mut plan = plan(&Plan::TIMED, mistakes, &mut rng);
            if ends - falls < 2 * beat {
                // There is no room to roll or to be late.
                plan = if plan.is_right() {
                    Plan::Right
                } else {
                    Plan::HalfStep
                };
            }
            let right = right_keys(&drill, question);
            let wrong = wrong_keys(&drill, question, plan, &mut rng);
            let (keys, at) = match plan {
                Plan::Nothing => (Vec::new(), falls),
                Plan::Early => (right.clone(), falls - beat / 2),
                Plan::Late => (right.clone(), falls + beat),
                Plan::Rolled => (right.clone(), falls - 100 * MS),
                _ => (
                    wrong.clone().unwrap_or_else(|| right.clone()),
                    (falls + rng.u64(..80 * MS)) - 40 * MS,
                ),
            };
            if wrong.is_none() && !matches!(plan, Plan::Nothing | Plan::Early | Plan::Late) {
                plan = if plan == Plan::Rolled {
                    plan
                } else {
                    Plan::Right
                };
            }
            let last = if keys.is_empty() {
                ends
            } else {
                done.play(at, &touch(&keys, plan)).0
            };
            let is_right = wrong.is_none() && plan != Plan::Nothing;
            last_falls = falls;
            over = ends;
            all_right &= plan.is_right();
            let answered = Answered {
                drill: drill.number,
                question,
                before: (question > item.questions.start).then(|| question - 1),
                right: is_right,
                right_first: plan.is_right(),
                helped: false,
                millis: millis(if is_right { last } else { ends } - asked_at),
                position: if is_right {
                    judged(&drill, question, &right).played().position
                } else {
                    asked.question.voiced.voicing.position
                },
            };
            done.answer(&drill, answered, plan);
        }
        // The next item begins on a bar line, when this one is over and its result has been known for
        // long enough to ask ahead.
        let known = last_falls + beat + ahead;
        let earliest = known.max(base + samples(item.length_ticks));
        base = first + (earliest - first).div_ceil(bar) * bar;
        if lesson.picker.answered(all_right).is_none() || done.answers.len() >= most {
            break;
        }
    }
    done.session.length_samples = over + 10;
    done
}
