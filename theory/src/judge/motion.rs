//! How far the hand has moved, beside the least that it could have moved. Imports `answer`,
//! `finding` and `standard`.

use super::answer::Answer;
use super::finding::Judgement;
use super::question::{Accepts, Question};
use super::standard::{Standard, classes};
use crate::candidates::Register;
use crate::degree::Degree;
use crate::pin;
use crate::pitch::{MidiNote, PitchClass};
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
/// right answer, see [`least_motion`]. A right answer is compared with good voicings of as many notes
/// as it has.
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

/// The most keys that the search for the least motion presses, so that its work is bounded. It needs
/// fewer: see the test below.
const MOST_STEPS: u32 = 25_000;

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
    let mut search = Search::new(&standard, before);
    search.run(notes);
    search.least
}

/// Keys that are pressed, from the lowest.
type Laid = ArrayVec<[MidiNote; MOST_NOTES]>;

/// What notes are laid for.
struct Goal<'a> {
    /// Classes that must sound.
    needed: [Option<PitchClass>; 2],
    /// Whether notes are right.
    fits: &'a dyn Fn(&Voicing) -> bool,
}

impl Goal<'_> {
    /// The classes that must sound and do not yet.
    fn missing(&self, laid: &Laid) -> impl Iterator<Item = PitchClass> {
        let sounds = |class: PitchClass| laid.iter().any(|note| note.class() == class);
        let needed = self.needed.into_iter().flatten();
        needed.filter(move |class| !sounds(*class))
    }
}

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

impl<'a> Search<'a> {
    fn new(standard: &'a Standard<'a>, before: &'a Voicing) -> Search<'a> {
        let exact = standard.exact().map(|right| before.motion(&right));
        Search {
            standard,
            before,
            least: exact.min().unwrap_or(0),
            steps: MOST_STEPS,
        }
    }

    /// Looks through all that is right, and good voicings of so many notes.
    fn run(&mut self, notes: Option<usize>) {
        let standard = self.standard;
        let asked = standard.asked();
        if standard.accepts >= Accepts::SameTensions {
            let (left, notes) = (classes(asked), asked.voices().len());
            let fits = |voicing: &Voicing| standard.has_same_tensions(voicing);
            let needed = [None; 2];
            let goal = Goal {
                needed,
                fits: &fits,
            };
            self.lay(&mut Laid::default(), left, notes, &goal);
        }
        if standard.accepts == Accepts::AnyGood {
            let notes = notes.unwrap_or(asked.voices().len()).min(MOST_NOTES);
            let fits = |voicing: &Voicing| standard.is_good(voicing);
            let needed = standard.guides();
            let goal = Goal {
                needed,
                fits: &fits,
            };
            self.lay(&mut Laid::default(), standard.bearable(), notes, &goal);
        }
    }

    /// Lays so many more notes, of classes of which so many are left, and keeps the least motion of
    /// those that fit.
    fn lay(&mut self, laid: &mut Laid, left: [u8; 12], notes: usize, goal: &Goal<'_>) {
        let Some(more) = notes.checked_sub(1) else {
            self.end(laid, goal);
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
            if self.is_minor_ninth(laid, note) {
                continue;
            }
            self.steps = self.steps.saturating_sub(1);
            if self.steps == 0 {
                return;
            }
            if laid.try_push(note).is_some() {
                return;
            }
            if self.at_least(laid, more, goal) < self.least {
                self.lay(laid, left, more, goal);
            }
            laid.pop();
        }
    }

    /// Whether a note lies a minor ninth above one of these, and none that bears it.
    fn is_minor_ninth(&self, laid: &Laid, note: MidiNote) -> bool {
        let root = self.standard.question.placed.chord.root.class();
        laid.iter().any(|low| {
            let apart = note.number() - low.number();
            apart > 12 && apart % 12 == 1 && low.class() != root
        })
    }

    /// Keeps the motion to these notes, if it is less and they fit.
    fn end(&mut self, laid: &Laid, goal: &Goal<'_>) {
        let chord = &self.standard.question.placed.chord;
        let mut voicing = pin::named(laid.iter().copied(), chord);
        voicing.left_hand = self.standard.register.hand.left_of_two(&voicing);
        let moved = self.before.motion(&voicing);
        if moved < self.least && (goal.fits)(&voicing) {
            self.least = moved;
        }
    }

    /// The keys from this one to the end of the room.
    fn keys(&self, from: u32) -> impl Iterator<Item = MidiNote> + use<> {
        let highest = u32::from(self.standard.room.highest.number());
        let keys = from..=highest;
        keys.filter_map(|key| MidiNote::new(u8::try_from(key).ok()?))
    }

    /// The least that the hand moves to these notes and so many more above them.
    fn at_least(&self, laid: &Laid, more: usize, goal: &Goal<'_>) -> u32 {
        if goal.missing(laid).count() > more {
            return u32::MAX;
        }
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
            let nearest = |note: MidiNote| before.clone().map(|a| apart(a, note)).min();
            // What is still missing lies in one of the places above.
            let above = |class| {
                let place = |note: &MidiNote| note.class() == class;
                self.keys(next).filter(place).filter_map(nearest).min()
            };
            let here = laid.iter().filter_map(|note| nearest(*note));
            here.chain(goal.missing(laid).filter_map(above)).sum()
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
    /// The classes of the guide tones, without which no voicing is good. A third may yield to an 11.
    fn guides(&self) -> [Option<PitchClass>; 2] {
        let chord = &self.question.placed.chord;
        let yields = chord.degrees().contains(Degree::Eleven);
        let third = chord.third().filter(|_| !yields);
        [third, chord.seventh()].map(|guide| Some(guide?.class(chord.root)))
    }

    /// The classes that a good voicing may have, each as often as it has notes: those against which
    /// nothing speaks beside the guide tones.
    fn bearable(&self) -> [u8; 12] {
        let chord = &self.question.placed.chord;
        let guides = [chord.third(), chord.seventh()].into_iter().flatten();
        let guides = guides.filter_map(|degree| MidiNote::MIN.next_of(degree.class(chord.root)));
        [60, 61, 62, 63, 64, 65, 66, 67, 68, 69, 70, 71].map(|note| {
            let note = MidiNote::clamp(note);
            let held: ArrayVec<[MidiNote; 3]> = guides.clone().chain([note]).collect();
            let voicing = Answer::of(&held).voicing(chord, self.register.hand);
            let objection = voicing
                .voices()
                .last()
                .and_then(|v| self.objection(*v, &voicing));
            let bears = objection.is_none() && !self.is_unwanted_root(note);
            if bears { u8::MAX } else { 0 }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::key::{self, Key};
    use crate::pipeline::{self, ChordInKey, Taste};
    use crate::shape::Texture;
    use crate::symbol;

    /// Every family in every texture on every root, from hands near and far.
    #[test]
    fn the_search_ends_before_its_limit() {
        let befores = [
            &[53, 57, 60, 64][..],
            &[41, 52],
            &[48, 50, 52, 53, 55, 57, 59, 60],
            &[72, 76, 79, 83, 86],
            &[96, 100, 103, 107],
            &[24, 28, 31, 35],
            &[60],
        ];
        let texts = [
            "C7",
            "C7(b9,13)",
            "C7alt",
            "C13sus4",
            "Cmaj7",
            "C6",
            "Cm7",
            "Cm11",
            "Cm6",
            "Cm7b5",
            "Cdim7",
            "C",
            "C5",
        ];
        let mut most = 0;
        for text in texts {
            for fifths in -6..6 {
                let chord = symbol::parse(text).unwrap().transposed(fifths);
                let placed = ChordInKey::new(chord, key::live(&chord, Key::C_MAJOR));
                for texture in Texture::ALL {
                    let taste = Taste {
                        texture,
                        ..Taste::default()
                    };
                    let question = Question {
                        placed,
                        voiced: pipeline::step(None, &placed, &taste),
                        either_position: true,
                    };
                    let standard = Standard::new(&question, Accepts::AnyGood, taste.register);
                    for before in befores {
                        let notes = before.iter().map(|note| MidiNote::clamp(*note));
                        let before = pin::named(notes, &chord);
                        let mut search = Search::new(&standard, &before);
                        search.run(None);
                        most = most.max(MOST_STEPS - search.steps);
                        assert!(search.steps > 0, "{text} {fifths} {texture:?} {before:?}");
                    }
                }
            }
        }
        println!("{most} of {MOST_STEPS} keys");
        assert!(most > 100);
    }
}
