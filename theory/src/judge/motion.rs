//! How far the hand has moved, beside the least that it could have moved. Imports `answer`,
//! `finding` and `standard`.

use super::finding::Judgement;
use super::question::{Accepts, Question};
use super::standard::{Standard, classes};
use crate::candidates::Register;
use crate::pin;
use crate::pitch::MidiNote;
use crate::voicing::{MOST_NOTES, Voicing};
use tinyvec::ArrayVec;

/// How far a hand has moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Motion {
    /// The semitones that all voices have moved together.
    pub moved: u32,
    /// The least that they could have moved to a right answer.
    pub least: u32,
}

/// How far the hand has moved from the answer before, and the least that it could have moved to a
/// right answer, see [`least_motion`]. A good voicing is compared with those of as many notes.
#[must_use]
pub fn motion(
    before: &Voicing,
    question: &Question,
    judgement: &Judgement,
    accepts: Accepts,
    register: Register,
) -> Motion {
    let played = judgement.played();
    let moved = before.motion(played);
    let right = judgement.is_right();
    let notes = right.then(|| played.voices().len());
    let most = if right { moved } else { u32::MAX };
    let least = least_motion(before, question, accepts, register, notes);
    Motion {
        moved,
        least: least.min(most),
    }
}

/// The most keys that the search for the least motion presses.
const MOST_STEPS: u32 = 20_000;

/// The least that the hand can move from the answer before to a right answer, as
/// [`Voicing::motion`] counts it. The work is bounded and nothing allocates.
///
/// - Under [`Accepts::Exact`] it is over the voicing that is asked for and, if either position
///   counts, over those of its texture and tensions in other positions that the register has.
/// - Under [`Accepts::SameTensions`] it is over these, and over all ways to lay the same degrees
///   within the register and the reach of the hand.
/// - Under [`Accepts::AnyGood`] it is over these, and over all good voicings of so many notes: of as
///   many as are asked for, if no number is given.
#[must_use]
pub fn least_motion(
    before: &Voicing,
    question: &Question,
    accepts: Accepts,
    register: Register,
    notes: Option<usize>,
) -> u32 {
    let standard = Standard::new(question, accepts, register);
    let exact = standard.exact().map(|right| before.motion(&right));
    let mut search = Search {
        standard: &standard,
        before,
        least: exact.min().unwrap_or(0),
        steps: MOST_STEPS,
    };
    let asked = standard.asked();
    if accepts >= Accepts::SameTensions {
        let (left, notes) = (classes(asked), asked.voices().len());
        let fits = |voicing: &Voicing| standard.has_same_tensions(voicing);
        search.lay(&mut Laid::default(), left, notes, &fits);
    }
    if accepts == Accepts::AnyGood {
        let notes = notes.unwrap_or(asked.voices().len()).min(MOST_NOTES);
        let fits = |voicing: &Voicing| standard.is_good(voicing);
        search.lay(&mut Laid::default(), standard.bearable(), notes, &fits);
    }
    search.least
}

/// Keys that are pressed, from the lowest.
type Laid = ArrayVec<[MidiNote; MOST_NOTES]>;

/// The search for the nearest right answer: it lays notes from the lowest up, and turns back where
/// they have already moved as far as the nearest that it knows.
struct Search<'a> {
    standard: &'a Standard<'a>,
    before: &'a Voicing,
    /// The least motion so far.
    least: u32,
    /// How many keys it may still press.
    steps: u32,
}

impl Search<'_> {
    /// Lays so many more notes, of classes of which so many are left, and keeps the least motion of
    /// those that fit.
    fn lay(
        &mut self,
        laid: &mut Laid,
        left: [u8; 12],
        notes: usize,
        fits: &dyn Fn(&Voicing) -> bool,
    ) {
        let Some(more) = notes.checked_sub(1) else {
            self.end(laid, fits);
            return;
        };
        let room = &self.standard.room;
        let from = laid
            .last()
            .map_or(room.lowest.number(), |top| top.number() + 1);
        let reach = laid.first().filter(|_| !room.two_hands);
        let reach = reach.map_or(u8::MAX, |low| low.number() + room.at_most);
        for note in (from..=room.highest.number().min(reach)).filter_map(MidiNote::new) {
            let mut left = left;
            let class = left.get_mut(usize::from(note.class().number()));
            let Some(class) = class.filter(|left| **left > 0) else {
                continue;
            };
            *class -= 1;
            self.steps = self.steps.saturating_sub(1);
            if self.steps == 0 {
                return;
            }
            if laid.try_push(note).is_some() {
                return;
            }
            if self.at_least(laid, more) < self.least {
                self.lay(laid, left, more, fits);
            }
            laid.pop();
        }
    }

    /// Keeps the motion to these notes, if it is less and they fit.
    fn end(&mut self, laid: &Laid, fits: &dyn Fn(&Voicing) -> bool) {
        let chord = &self.standard.question.placed.chord;
        let mut voicing = pin::named(laid.iter().copied(), chord);
        voicing.left_hand = self.standard.register.hand.left_of_two(&voicing);
        let moved = self.before.motion(&voicing);
        if moved < self.least && fits(&voicing) {
            self.least = moved;
        }
    }

    /// The least that the hand moves to these notes and so many more above them.
    fn at_least(&self, laid: &Laid, more: usize) -> u32 {
        let apart = |a: MidiNote, b: MidiNote| u32::from(a.number().abs_diff(b.number()));
        let before = self.before.notes();
        let (size, now) = (before.len(), laid.len() + more);
        let next = laid.last().map_or(0, |top| u32::from(top.number()) + 1);
        let to_next = |note: MidiNote| next.saturating_sub(u32::from(note.number()));
        if size == now {
            let laid_out = before.clone().zip(laid).map(|(a, b)| apart(a, *b));
            let above = before.skip(laid.len()).map(to_next);
            laid_out.chain(above).sum()
        } else if size < now {
            let nearest = |note: &MidiNote| before.clone().map(|a| apart(a, *note)).min();
            laid.iter().filter_map(nearest).sum()
        } else {
            // A note moves to one of these, or up to one above them.
            let above = |note: MidiNote| (more > 0).then(|| to_next(note));
            let nearest = |note: MidiNote| {
                let here = laid.iter().map(|at| apart(*at, note));
                here.chain(above(note)).min()
            };
            before.filter_map(nearest).sum()
        }
    }
}

impl Standard<'_> {
    /// The classes that a good voicing may have, each as often as it has notes.
    fn bearable(&self) -> [u8; 12] {
        let chord = &self.question.placed.chord;
        [60, 61, 62, 63, 64, 65, 66, 67, 68, 69, 70, 71].map(|note| {
            let note = MidiNote::clamp(note);
            let fits = pin::held(note, chord).is_some() && !self.is_unwanted_root(note);
            if fits { u8::MAX } else { 0 }
        })
    }
}
