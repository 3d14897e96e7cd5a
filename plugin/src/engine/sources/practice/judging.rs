//! Which question an answer is for, and what there is to tell of it. Imports `course`, `hand`, `lesson`,
//! `open` and the parts of the engine.
//!
//! In time an answer belongs to the open question for which it is right, the nearest if there are
//! several. A wrong one counts against the question whose chord has fallen last, or falls in a moment:
//! nothing is said of what is played long before, unless it is held until the chord has fallen. Who
//! plays the chord of the last answer again while it lasts is not wrong.

use super::course::Course;
use super::hand::Hand;
use super::lesson::Taught;
use super::open::Open;
use crate::engine::ledger::{Keys, MOST_PLAYED, keys};
use crate::engine::parts::Now;
use crate::engine::practising::When;
use guidehand_practice::Asked;
use guidehand_theory::judge::{self, Finding, Judgement, Motion};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::voicing::Voicing;
use tinyvec::ArrayVec;

/// What there is to tell of an answer.
#[derive(Clone, Copy, Debug, Default)]
pub struct Told {
    /// The question that it is about.
    pub judged: Option<u32>,
    /// What was right and wrong.
    pub judgement: Option<Judgement>,
    /// When it came.
    pub when: When,
    /// Its notes were spread over so many milliseconds, if that is more than one gesture.
    pub rolled_ms: Option<u16>,
    /// How far the hand has moved.
    pub motion: Option<Motion>,
}

/// An answer to an open question.
#[derive(Clone, Copy, Debug)]
pub struct Heard {
    /// The place of the question among the open ones.
    pub slot: usize,
    /// What was right and wrong.
    pub judgement: Judgement,
    /// When it came.
    pub when: When,
}

/// A question that was answered last, in time.
#[derive(Clone, Copy, Debug)]
pub struct Closed {
    /// Its index in the drill.
    pub question: u32,
    /// It was answered rightly.
    pub right: bool,
    /// When its chord is over, in ticks.
    pub until_ticks: f64,
}

/// What an answer is judged by.
#[derive(Clone, Copy)]
pub struct Ear<'a> {
    /// The lesson.
    pub taught: &'a Taught,
    /// The keys.
    pub hand: &'a Hand,
    /// The questions that wait for an answer, in the order in which their chords fall.
    pub open: &'a [Open],
    /// The question that was answered last.
    pub closed: Option<&'a Closed>,
    /// The time, if there is one.
    pub course: Option<&'a Course>,
}

fn notes(set: Keys) -> ArrayVec<[MidiNote; MOST_PLAYED]> {
    let notes = keys(set).filter_map(MidiNote::new);
    notes.take(MOST_PLAYED).collect()
}

fn of_voicing(voicing: &Voicing) -> Keys {
    voicing
        .notes()
        .fold(0, |keys, note| keys | 1 << note.number())
}

/// How far off an answer may be and is still on time, in ticks.
fn on_time(course: &Course, now: &Now) -> f64 {
    course.on_time_ticks() + course.tolerance(now)
}

/// When an answer came that is so many ticks off.
fn when(off: f64, course: &Course, now: &Now) -> When {
    if off.abs() <= on_time(course, now) {
        When::OnTime
    } else if off < 0.0 {
        When::Early(course.beats(-off))
    } else {
        When::Late(course.beats(off))
    }
}

impl Ear<'_> {
    /// What keys are as an answer to a question. Keys that are on their way up from the answer before
    /// do not count against it.
    pub fn judge(&self, asked: &Asked, held: Keys, now: &Now) -> Judgement {
        let register = now.settings().taste.register;
        let accepts = self.taught.accepts();
        let of = |keys| judge::judge(&asked.question, &notes(keys), accepts, register);
        let all = of(held);
        let old = held & self.hand.old();
        let wanted = of_voicing(&asked.question.voiced.voicing);
        let fresh = held & !(old & !wanted);
        if all.is_right() || fresh == held || fresh == old & wanted {
            return all;
        }
        let without = of(fresh);
        if without.is_right() || without.lacks_only() {
            without
        } else {
            all
        }
    }

    /// How many ticks after the chord has fallen the keys of the answer went down; negative before.
    fn off_ticks(&self, open: &Open) -> f64 {
        let (first, last) = self.hand.moments();
        let (first, last) = (first.ticks - open.falls, last.ticks - open.falls);
        if first > 0.0 {
            first
        } else if last < 0.0 {
            last
        } else {
            0.0
        }
    }

    /// The open question that is answered by what is held; none if nothing is said of it. Keys above
    /// count where the chord lacks as many notes.
    pub fn choose(&self, held: Keys, above: Keys, now: &Now) -> Option<Heard> {
        let heard = self.choose_below(held, now)?;
        let findings = heard.judgement.findings().iter();
        let missing = findings.filter(|one| matches!(one, Finding::Missing(_)));
        let fingers = usize::try_from(above.count_ones()).unwrap_or(usize::MAX);
        if above == 0 || fingers > missing.count() {
            return Some(heard);
        }
        let reached = self.choose_below(held | above, now);
        reached
            .filter(|reached| reached.slot == heard.slot)
            .or(Some(heard))
    }

    fn choose_below(&self, held: Keys, now: &Now) -> Option<Heard> {
        let Some(course) = self.course else {
            return self.hear(0, When::OnTime, held, now);
        };
        let (on_time, tolerance) = (on_time(course, now), course.tolerance(now));
        let mut right: Option<(f64, Heard)> = None;
        let mut wrong: Option<(f64, Heard)> = None;
        for (slot, open) in self.open.iter().enumerate() {
            let off = self.off_ticks(open);
            if off < -open.length || off >= open.length.max(on_time) {
                continue;
            }
            let Some(heard) = self.hear(slot, when(off, course, now), held, now) else {
                continue;
            };
            let best = if heard.judgement.is_right() {
                &mut right
            } else if off >= -course.anticipated_ticks() - tolerance {
                &mut wrong
            } else {
                continue;
            };
            if best.is_none_or(|(other, _)| off.abs() < other) {
                *best = Some((off.abs(), heard));
            }
        }
        match right {
            Some((_, heard)) => Some(heard),
            None if self.repeats(held, now) => None,
            None => wrong.map(|(_, heard)| heard),
        }
    }

    /// What is held a moment after the chord of an open question has fallen, as an answer to it. Who holds
    /// the right chord from before has it in time, and who holds a wrong one that was struck for it has
    /// struck it early. None if nothing is said of it.
    pub fn hear_held(&self, slot: usize, now: &Now) -> Option<Heard> {
        let (course, held) = (self.course?, self.hand.held());
        let heard = self.hear(slot, When::OnTime, held, now)?;
        if heard.judgement.is_right() {
            return Some(heard);
        }
        let is_struck = self.hand.old() != held;
        let off = self.off_ticks(self.open.get(slot)?);
        is_struck.then_some(Heard {
            when: when(off, course, now),
            ..heard
        })
    }

    /// What keys are as an answer to an open question.
    pub fn hear(&self, slot: usize, when: When, held: Keys, now: &Now) -> Option<Heard> {
        let asked = self.taught.asked(self.open.get(slot)?.question)?;
        Some(Heard {
            slot,
            judgement: self.judge(asked, held, now),
            when,
        })
    }

    /// Whether the chord of the last answer is played again while it lasts.
    fn repeats(&self, held: Keys, now: &Now) -> bool {
        let (_, last) = self.hand.moments();
        let closed = self.closed.filter(|closed| closed.right);
        let closed = closed.filter(|closed| last.ticks < closed.until_ticks);
        let asked = closed.and_then(|closed| self.taught.asked(closed.question));
        asked.is_some_and(|asked| {
            let judgement = self.judge(asked, held, now);
            judgement.is_right() || judgement.lacks_only()
        })
    }

    /// What there is to tell of an answer. `from` is the voicing from which the hand has moved.
    pub fn tell(&self, heard: &Heard, from: Option<&Voicing>, now: &Now) -> Told {
        let open = self.open.get(heard.slot);
        let asked = open.and_then(|open| self.taught.asked(open.question));
        let (first, last) = self.hand.moments();
        let spread = last.samples.saturating_sub(first.samples);
        let rolled = spread > now.together_samples() && heard.judgement.is_right();
        let rolled = rolled && open.is_some_and(|open| !open.missed);
        let from = from.filter(|_| self.taught.leading() && heard.judgement.is_right());
        Told {
            judged: open.map(|open| open.question),
            judgement: Some(heard.judgement),
            when: heard.when,
            rolled_ms: rolled.then(|| u16::try_from(now.millis_of(spread)).unwrap_or(u16::MAX)),
            motion: from.zip(asked).map(|(from, asked)| {
                judge::motion(
                    from,
                    &asked.question,
                    &heard.judgement,
                    self.taught.accepts(),
                    now.settings().taste.register,
                )
            }),
        }
    }
}
