//! Every voicing of a chord that fits the register and the hand: lazy, bounded,
//! without allocation. Imports `shape` and what is above it.

use crate::chord::Chord;
use crate::degree::Degree;
use crate::pitch::MidiNote;
use crate::shape::{Lie, Shape, Slot, Slots, TABLE, Texture};
use crate::tension::Tensions;
use crate::voicing::Voicing;
use tinyvec::ArrayVec;

/// How far one hand reaches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Hand {
    /// The widest span that the hand takes at ease, in semitones, 12 to 17.
    pub at_ease: u8,
    /// The widest span of all, in semitones, 12 to 17; not below `at_ease`.
    pub at_most: u8,
}

impl Hand {
    /// The narrowest span, in semitones: an octave.
    pub const NARROWEST: u8 = 12;
    /// The widest span, in semitones: an eleventh.
    pub const WIDEST: u8 = 17;

    /// A ninth at ease, a tenth at most (common practice, no published source).
    pub const DEFAULT: Hand = Hand {
        at_ease: 14,
        at_most: 16,
    };

    /// A hand from its spans in semitones. Values out of range become the nearest
    /// in range; `at_most` is at least `at_ease`.
    #[must_use]
    pub fn new(at_ease: u8, at_most: u8) -> Hand {
        let at_ease = at_ease.clamp(Hand::NARROWEST, Hand::WIDEST);
        Hand {
            at_ease,
            at_most: at_most.clamp(at_ease, Hand::WIDEST),
        }
    }
}

impl Default for Hand {
    fn default() -> Self {
        Hand::DEFAULT
    }
}

/// What the ends of the register mean.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Edges {
    /// A note beyond an end costs more the farther it lies.
    #[default]
    Soft,
    /// No note lies beyond an end.
    Hard,
}

/// Where voicings lie, and how far a hand reaches there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Register {
    /// The lowest note lies here, or above by as much as [`Texture::room`] says.
    pub lowest: MidiNote,
    /// The highest note lies here or below, with the texture's headroom.
    pub highest: MidiNote,
    /// Semitones that the lowest note may lie above the bottom, where that is
    /// more than the texture's own room.
    pub room: u8,
    /// Whether a note may lie beyond the ends.
    pub edges: Edges,
    /// How far one hand reaches.
    pub hand: Hand,
}

impl Register {
    /// The fewest semitones from the bottom to the top that leave room for every
    /// chord.
    pub const NARROWEST: u8 = 19;

    /// The left hand around middle C: lowest note D3 to A3, highest A4 at most
    /// (common practice, no published source).
    pub const DEFAULT: Register = Register {
        lowest: MidiNote::clamp(50),
        highest: MidiNote::clamp(69),
        room: 0,
        edges: Edges::Soft,
        hand: Hand::DEFAULT,
    };

    /// A register from its ends; too narrow a one grows upwards to
    /// [`Register::NARROWEST`].
    #[must_use]
    pub fn new(lowest: MidiNote, highest: MidiNote) -> Register {
        let top = lowest.semitones() + i32::from(Register::NARROWEST);
        Register {
            lowest,
            highest: MidiNote::clamp(highest.semitones().max(top)),
            room: 0,
            edges: Edges::Soft,
            hand: Hand::DEFAULT,
        }
    }

    /// Twice the centre of the register, in semitones.
    #[must_use]
    pub const fn centre_doubled(self) -> i32 {
        self.lowest.semitones() + self.highest.semitones()
    }
}

/// The widest span of one hand, in semitones: a major tenth (common practice,
/// no published source).
pub const WIDEST_HAND: u8 = 16;

/// Every voicing of a chord in a texture that fits register and hand. Where
/// nothing fits, the nearest above the register counts: there is at least one for
/// every register that starts at or below MIDI note 96, and perhaps none above.
pub fn of(
    chord: &Chord,
    tensions: &Tensions,
    texture: Texture,
    register: Register,
) -> impl Iterator<Item = Voicing> + use<> {
    let room = texture.for_chord(chord).room().max(register.room);
    let fitting = lying(*chord, *tensions, texture, register, room, true);
    let any_fits = fitting.clone().next().is_some();
    let relaxed = lying(*chord, *tensions, texture, register, 11, false);
    fitting.chain(relaxed.take(if any_fits { 0 } else { usize::MAX }))
}

/// Voicings with the lowest note within `room` of the register's bottom.
fn lying(
    chord: Chord,
    tensions: Tensions,
    texture: Texture,
    register: Register,
    room: u8,
    strict: bool,
) -> impl Iterator<Item = Voicing> + Clone + use<> {
    let slots = Slots::fill(&chord, &tensions);
    let texture = match texture.for_chord(&chord) {
        // Nothing to build on the guide tones: two hands, as they come.
        Texture::UpperStructure if slots.get(Slot::Triad1).is_none() => Texture::TwoHands,
        texture => texture,
    };
    let minor = chord.quality.is_minor();
    let top = MidiNote::clamp(register.highest.semitones() + i32::from(texture.headroom()));
    TABLE
        .iter()
        .filter(move |s| s.texture == texture && s.minor.is_none_or(|m| m == minor))
        .flat_map(move |shape| layouts(shape, &slots, &chord, register.lowest, room))
        .filter(move |v| {
            let one_hand = usize::from(v.left_hand) == v.voices().len();
            let reachable = v.left_span() <= WIDEST_HAND || shape_is_open(texture);
            !strict || v.highest().is_some_and(|h| h <= top) && (!one_hand || reachable)
        })
}

/// Open voicings are rolled or shared between the hands.
const fn shape_is_open(texture: Texture) -> bool {
    matches!(texture, Texture::Open)
}

/// The octaves of one shape: the lowest note within `room` above `lowest`.
fn layouts(
    shape: &Shape,
    slots: &Slots,
    chord: &Chord,
    lowest: MidiNote,
    room: u8,
) -> impl Iterator<Item = Voicing> + Clone + use<> {
    // The left hand has one octave, the right hand of two may have two.
    let octaves = if shape.right.is_empty() { 1 } else { 2 };
    let first = lay(shape, slots, chord, lowest, 0);
    let second = if octaves == 2 {
        lay(shape, slots, chord, lowest, 1)
    } else {
        None
    };
    let highest_start = lowest.semitones() + i32::from(room);
    [first, second]
        .into_iter()
        .flatten()
        .filter(move |v| v.lowest().is_some_and(|l| l.semitones() <= highest_start))
}

/// Lays a shape out with its lowest note next above `lowest`.
fn lay(
    shape: &Shape,
    slots: &Slots,
    chord: &Chord,
    lowest: MidiNote,
    right_octave: u8,
) -> Option<Voicing> {
    let mut notes = hand(shape.left, slots, chord, lowest, shape.lie)?;
    if shape.lie == Lie::DropTwo {
        notes = drop_two(notes, lowest)?;
    }
    let left_hand = u8::try_from(notes.len()).ok()?;
    if !shape.right.is_empty() {
        let top = notes.last()?.0;
        let from = MidiNote::new(top.number() + 1 + 12 * right_octave)?;
        for note in hand(shape.right, slots, chord, from, Lie::Close)? {
            notes.try_push(note).map_or(Some(()), |_| None)?;
        }
    }
    let mut voicing = Voicing::empty(shape.form);
    for (note, degree) in notes {
        if !voicing.push(note, degree) {
            return None;
        }
    }
    voicing.left_hand = left_hand;
    Some(voicing)
}

type Notes = ArrayVec<[(MidiNote, Degree); 6]>;

/// The notes of one hand from `from` upwards, without empty slots and without
/// doubled pitches.
fn hand(slots: &[Slot], filled: &Slots, chord: &Chord, from: MidiNote, lie: Lie) -> Option<Notes> {
    let mut notes = Notes::default();
    let mut floor = from;
    for degree in slots.iter().filter_map(|s| filled.get(*s)) {
        let class = degree.class(chord.root);
        if notes.iter().any(|(n, _)| n.class() == class) {
            continue;
        }
        let note = floor.next_of(class)?;
        // Close notes are all counted from the lowest, stacked ones from the last.
        if notes.is_empty() || lie == Lie::InOrder {
            floor = note;
        }
        notes.try_push((note, degree)).map_or(Some(()), |_| None)?;
    }
    notes.sort_unstable_by_key(|(note, _)| *note);
    (!notes.is_empty()).then_some(notes)
}

/// Takes the second note from the top an octave down, then lifts all by octaves
/// until the lowest lies next above `lowest`.
fn drop_two(notes: Notes, lowest: MidiNote) -> Option<Notes> {
    let dropped = notes.len().checked_sub(2)?;
    let class = notes.get(dropped)?.0.class();
    let new_lowest = lowest.next_of(class)?;
    let shift = new_lowest.semitones() - (notes.get(dropped)?.0.semitones() - 12);
    let mut open = Notes::default();
    for (i, (note, degree)) in notes.iter().enumerate() {
        let octave = if i == dropped { 12 } else { 0 };
        let moved = note.semitones() - octave + shift;
        let moved = MidiNote::new(u8::try_from(moved).ok()?)?;
        open.try_push((moved, *degree)).map_or(Some(()), |_| None)?;
    }
    open.sort_unstable_by_key(|(note, _)| *note);
    Some(open)
}
