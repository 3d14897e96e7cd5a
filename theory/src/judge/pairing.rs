//! Which note that was played stands for which that was asked for. Imports `standard`.

use super::standard::Standard;
use crate::pitch::MidiNote;
use crate::shape::Slot;
use crate::voicing::{MOST_NOTES, Voice, Voicing};
use tinyvec::ArrayVec;

/// The price of a note that is missing, and of one that stands for none.
const ALONE: u16 = 100;
/// The price of a right note in another octave, and of each octave that it is off.
const OTHER_OCTAVE: (u16, u16) = (55, 10);
/// The price of another note for the same slot, and of each half step that it is off.
const SAME_SLOT: (u16, u16) = (40, 10);
/// The price of a neighbouring note, and of each half step that it is off.
const NEIGHBOUR: (u16, u16) = (60, 15);
/// The most half steps that a note for the same slot is off, and a neighbouring one: a third, a
/// whole step.
const FARTHEST: (u16, u16) = (4, 2);
/// The most octaves between a note and the one that it stands for.
const MOST_OCTAVES: u16 = 2;

/// The index of no note.
const NONE: u8 = u8::MAX;

/// The number of sets of notes.
const SETS: usize = 1 << MOST_NOTES;

/// Notes that were played in the places of notes that were asked for.
#[derive(Clone, Copy)]
pub(super) struct Pairing {
    /// For each note that was asked for, the index of the one that stands for it.
    pub stands: ArrayVec<[Option<usize>; MOST_NOTES]>,
    /// What it costs. The cheapest pairing tells best what the hand has done.
    pub price: u16,
}

impl Pairing {
    /// The cheapest pairing of these notes with those of `asked`. Each note stands for one at most.
    /// Of equally cheap ones it is the one that takes the lower notes.
    pub fn cheapest(standard: &Standard<'_>, asked: &Voicing, played: &Voicing) -> Pairing {
        let notes = played.voices().len();
        let sets = 1_usize << notes;
        let mut prices = [u16::MAX; SETS];
        if let Some(none) = prices.first_mut() {
            *none = 0;
        }
        // For each note that was asked for and each set of notes that are taken, the last taken.
        let mut taken = [[NONE; SETS]; MOST_NOTES];
        for (voice, taken) in asked.voices().iter().zip(&mut taken) {
            let mut next = [u16::MAX; SETS];
            let costs = Costs::of(standard, *voice, played);
            for (set, price) in prices.iter().enumerate().take(sets) {
                if *price == u16::MAX {
                    continue;
                }
                offer(&mut next, taken, set, *price + ALONE, NONE);
                for (cost, at) in costs.0.iter().zip(0..) {
                    let with = set | 1 << at;
                    if let Some(cost) = cost.filter(|_| with != set) {
                        offer(&mut next, taken, with, price + cost, at);
                    }
                }
            }
            prices = next;
        }
        let left_over = |set: usize| u16::try_from(notes).unwrap_or(0) - ones(set);
        let reached = prices.iter().enumerate().take(sets);
        let reached = reached.filter(|(_, price)| **price != u16::MAX);
        let ends = reached.map(|(set, price)| (price + ALONE * left_over(set), set));
        let (price, mut set) = ends.min().unwrap_or_default();
        let mut stands = ArrayVec::default();
        for row in taken.iter().take(asked.voices().len()).rev() {
            let at = row.get(set).copied().filter(|at| *at != NONE);
            stands.insert(0, at.map(usize::from));
            set &= at.map_or(usize::MAX, |at| !(1 << at));
        }
        Pairing { stands, price }
    }
}

/// The number of notes in a set.
fn ones(set: usize) -> u16 {
    u16::try_from(set.count_ones()).unwrap_or(0)
}

/// Takes over a price if it is lower than the one that is known.
fn offer(prices: &mut [u16; SETS], taken: &mut [u8; SETS], set: usize, price: u16, at: u8) {
    if let (Some(known), Some(taken)) = (prices.get_mut(set), taken.get_mut(set))
        && price < *known
    {
        *known = price;
        *taken = at;
    }
}

/// What it costs each note that was played to stand for one that was asked for; none if it cannot.
struct Costs(ArrayVec<[Option<u16>; MOST_NOTES]>);

impl Costs {
    fn of(standard: &Standard<'_>, asked: Voice, played: &Voicing) -> Costs {
        let cost = |note: MidiNote| cost(standard, asked, note);
        Costs(played.notes().map(cost).collect())
    }
}

/// What it costs a note to stand for one that was asked for: nothing if it is the same, little if
/// only the octave differs, more if it is another note for the same slot or a neighbouring one.
fn cost(standard: &Standard<'_>, asked: Voice, note: MidiNote) -> Option<u16> {
    if standard.is_unwanted_root(note) {
        return None;
    }
    let apart = note.semitones() - asked.note.semitones();
    let folded = folded(apart);
    let octaves = u16::try_from((apart - folded).unsigned_abs() / 12).ok()?;
    let steps = u16::try_from(folded.unsigned_abs()).ok()?;
    let any_octave = standard.any_octave();
    if octaves > MOST_OCTAVES && !any_octave {
        return None;
    }
    // Where any octave counts, the nearest one still comes first.
    let nearest = octaves.min(MOST_OCTAVES);
    if steps == 0 {
        let (once, each) = OTHER_OCTAVE;
        let off = if octaves == 0 {
            0
        } else {
            once + each * octaves
        };
        return Some(if any_octave { nearest } else { off });
    }
    let (same_slot, neighbour) = FARTHEST;
    let (price, each) = if fills_slot(standard, asked, note) && steps <= same_slot {
        SAME_SLOT
    } else if steps <= neighbour && (octaves == 0 || any_octave) {
        NEIGHBOUR
    } else {
        return None;
    };
    let far = if any_octave {
        nearest
    } else {
        OTHER_OCTAVE.0 * octaves
    };
    let cost = price + each * steps + far;
    (cost < 2 * ALONE).then_some(cost)
}

/// Whether a note fills the slot of one that was asked for, and is not itself asked for.
fn fills_slot(standard: &Standard<'_>, asked: Voice, note: MidiNote) -> bool {
    let mut notes = standard.asked().notes();
    if notes.any(|other| other.class() == note.class()) {
        return false;
    }
    let root = standard.question.placed.chord.root.class();
    let above = note.class().above(root);
    match standard.question.slot(asked.degree) {
        Slot::Third => matches!(above, 3..=5),
        Slot::Seventh => matches!(above, 9..=11),
        Slot::Ninth => matches!(above, 1..=3),
        _ => matches!(above, 5..=9),
    }
}

/// The distance within an octave that leads to the same pitch class, -6 to 5.
pub(super) const fn folded(apart: i32) -> i32 {
    (apart + 6).rem_euclid(12) - 6
}
