//! Every voicing of a chord that fits the register and the hand. The voicings come one by one,
//! their number is bounded, and nothing allocates. Imports `shape`, `own_shape` and what is above
//! them.

use crate::chord::Chord;
use crate::degree::Degree;
use crate::own_shape::OwnShape;
use crate::pitch::MidiNote;
use crate::shape::{Leeway, Shape, Slot, Slots, Spacing, Texture};
use crate::tension::Tensions;
use crate::voicing::Voicing;
use tinyvec::ArrayVec;

/// How far one hand reaches.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Hand {
    /// The widest span that the hand takes at ease, in semitones, 12 to 17.
    pub at_ease: u8,
    /// The widest span of all, in semitones, 12 to 17. It is at least `at_ease`.
    pub at_most: u8,
}

impl Hand {
    /// The narrowest span, in semitones: an octave.
    pub const NARROWEST: u8 = 12;
    /// The widest span, in semitones: an eleventh.
    pub const WIDEST: u8 = 17;

    /// A ninth at ease and a tenth at most (common practice, no published source).
    pub const DEFAULT: Hand = Hand {
        at_ease: 14,
        at_most: 16,
    };

    /// A hand from its spans in semitones. Values out of range become the nearest value in
    /// range, and `at_most` becomes at least `at_ease`.
    #[must_use]
    pub fn new(at_ease: u8, at_most: u8) -> Hand {
        let at_ease = at_ease.clamp(Hand::NARROWEST, Hand::WIDEST);
        Hand {
            at_ease,
            at_most: at_most.clamp(at_ease, Hand::WIDEST),
        }
    }

    /// How many notes of a voicing, from the lowest, the left hand takes: all of them if one hand
    /// reaches them. Otherwise the hands part where the wider one spans least, at the lowest of
    /// such places.
    #[must_use]
    pub fn left_of_two(self, voicing: &Voicing) -> u8 {
        let count = u8::try_from(voicing.voices().len()).unwrap_or(u8::MAX);
        if voicing.span() <= self.at_most {
            return count;
        }
        let wider = |left: &u8| {
            let mut parted = *voicing;
            parted.left_hand = *left;
            parted.left_span().max(parted.right_span())
        };
        (1..count).min_by_key(wider).unwrap_or(count)
    }
}

impl Default for Hand {
    fn default() -> Self {
        Hand::DEFAULT
    }
}

/// What the ends of the register allow.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Edges {
    /// A note may lie up to a third beyond an end, and costs more the farther it lies. Below
    /// the lower end it must still sound clear with the note above it.
    #[default]
    Soft,
    /// No note lies beyond an end.
    Hard,
}

impl Edges {
    /// Semitones that a note may lie beyond a soft edge: a third.
    pub const BEYOND: u8 = 4;

    /// Semitones that a note may lie beyond an edge.
    #[must_use]
    pub const fn beyond(self) -> u8 {
        match self {
            Edges::Soft => Edges::BEYOND,
            Edges::Hard => 0,
        }
    }
}

/// Where voicings lie, and how far a hand reaches there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Register {
    /// The lowest note lies here, or higher by up to [`Texture::room`].
    pub lowest: MidiNote,
    /// The highest note lies here or lower. The headroom of the texture is added.
    pub highest: MidiNote,
    /// Semitones that the lowest note may lie above the bottom, if that is more than the
    /// texture's own room.
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

    /// The left hand around middle C. The lowest note is D3 to A3, the highest is A4 at most
    /// (common practice, no published source).
    pub const DEFAULT: Register = Register {
        lowest: MidiNote::clamp(50),
        highest: MidiNote::clamp(69),
        room: 0,
        edges: Edges::Soft,
        hand: Hand::DEFAULT,
    };

    /// A register from its ends. If they are too close, the upper end is raised to
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

    /// The edges for a texture, as MIDI note numbers: the lowest note, the highest place of the
    /// lowest note, and the highest note.
    #[must_use]
    pub fn edges_for(self, texture: Texture) -> (i32, i32, i32) {
        self.edges_with(texture.leeway())
    }

    /// As [`Register::edges_for`], for voicings that may leave the register so far.
    #[must_use]
    pub fn edges_with(self, leeway: Leeway) -> (i32, i32, i32) {
        let lowest = self.lowest.semitones();
        let highest_start = lowest + i32::from(leeway.room.max(self.room));
        let highest = self.highest.semitones() + i32::from(leeway.headroom);
        (lowest, highest_start, highest)
    }

    /// The lowest note of all: the bottom, or so far below it as a soft edge lets notes lie.
    fn from(self) -> MidiNote {
        MidiNote::clamp(self.lowest.semitones() - i32::from(self.edges.beyond()))
    }

    /// The places that the register has for a voicing that lies as low as it may: this one, and
    /// the next octave if it lies below the bottom. Within hard edges each shape has one place.
    fn places(
        self,
        lowest: Option<Voicing>,
        leeway: Leeway,
    ) -> impl Iterator<Item = Voicing> + use<> {
        let below = lowest.filter(|v| v.lowest().is_some_and(|low| low < self.lowest));
        let higher = below.and_then(|v| v.octave_higher());
        let places = [lowest, higher].into_iter().flatten();
        places.filter(move |voicing| self.admits(voicing, leeway))
    }

    /// Whether a voicing lies within the edges, or so far beyond soft ones as it may.
    fn admits(self, voicing: &Voicing, leeway: Leeway) -> bool {
        let (Some(low), Some(high)) = (voicing.lowest(), voicing.highest()) else {
            return false;
        };
        let beyond = i32::from(self.edges.beyond());
        let (lowest, highest_start, highest) = self.edges_with(leeway);
        let inside =
            low.semitones() <= highest_start + beyond && high.semitones() <= highest + beyond;
        let clear = low.semitones() >= lowest || voicing.low_intervals() == 0;
        inside && clear
    }
}

/// The most voicings that a chord with given tensions has in any texture.
pub const MOST: usize = 32;

/// The voicings of one chord.
type Voicings = ArrayVec<[Voicing; MOST]>;

/// Every voicing of a chord in a texture that fits the register and the hand. If nothing fits
/// the register, the nearest voicings above its bottom are taken. So there is at least one for
/// every register that starts at or below MIDI note 96, and perhaps none above. No voicing is
/// wider than the hand's reach.
pub fn of(
    chord: &Chord,
    tensions: &Tensions,
    texture: Texture,
    register: Register,
) -> impl Iterator<Item = Voicing> + use<> {
    let slots = Slots::fill(chord, tensions);
    let widest = register.hand.at_most;
    let texture = slots.texture(texture, chord, widest);
    let mut found = Voicings::default();
    for shape in slots.shapes(texture, chord, widest) {
        fitting(&mut found, shape, &slots, chord, texture, register);
    }
    if found.is_empty() {
        for shape in slots.shapes(texture, chord, widest) {
            for octave in octaves(shape) {
                let laid = lay(shape, &slots, chord, register.lowest, octave, widest);
                found.extend(laid.into_iter().take(MOST - found.len()));
            }
        }
    }
    found.into_iter()
}

/// The voicings of a chord in the player's own shape that fit the register and the hand: none if
/// the shape does not serve the chord with these tensions, if it is too wide for two hands, or if
/// it has no place.
pub fn of_own(
    shape: &OwnShape,
    chord: &Chord,
    tensions: &Tensions,
    register: Register,
) -> impl Iterator<Item = (Voicing, Leeway)> + use<> {
    let widest = register.hand.at_most;
    let lowest = shape.degrees(chord, tensions).and_then(|degrees| {
        let mut voicing = shape.lay(chord, tensions, &degrees, register.from())?;
        voicing.left_hand = register.hand.left_of_two(&voicing);
        (voicing.left_span() <= widest && voicing.right_span() <= widest).then_some(voicing)
    });
    let leeway = OwnShape::leeway(lowest.is_some_and(|v| v.right_hand() > 0));
    let places = register.places(lowest, leeway);
    places.map(move |voicing| (voicing, leeway))
}

/// The octaves in which the right hand of a shape may lie above the left one.
fn octaves(shape: &Shape) -> core::ops::RangeInclusive<u8> {
    // With one hand there is one octave. The right hand of two may also lie an octave higher.
    0..=u8::from(!shape.right.is_empty())
}

/// Adds the voicings of one shape that fit, octave by octave from the lowest note that the
/// register admits.
fn fitting(
    found: &mut Voicings,
    shape: &Shape,
    slots: &Slots,
    chord: &Chord,
    texture: Texture,
    register: Register,
) {
    let leeway = texture.leeway();
    let from = register.from();
    for octave in octaves(shape) {
        let laid = lay(shape, slots, chord, from, octave, register.hand.at_most);
        for voicing in register.places(laid, leeway) {
            let _full = found.try_push(voicing);
        }
    }
}

/// Lays a shape out with its lowest note next above `lowest`. None if a hand cannot reach it,
/// or if it lies above the highest MIDI note.
fn lay(
    shape: &Shape,
    slots: &Slots,
    chord: &Chord,
    lowest: MidiNote,
    right_octave: u8,
    widest: u8,
) -> Option<Voicing> {
    let mut notes = hand(shape.left, slots, chord, lowest, shape.spacing)?;
    if shape.spacing == Spacing::DropTwo {
        notes = drop_two(notes, lowest)?;
    }
    let left_hand = u8::try_from(notes.len()).ok()?;
    if !shape.right.is_empty() {
        let top = notes.last()?.0;
        let from = MidiNote::new(top.number() + 1 + 12 * right_octave)?;
        for note in hand(shape.right, slots, chord, from, Spacing::Close)? {
            notes.try_push(note).map_or(Some(()), |_| None)?;
        }
    }
    let mut voicing = Voicing::empty(shape.position);
    for (note, degree) in notes {
        if !voicing.push(note, degree) {
            return None;
        }
    }
    voicing.left_hand = left_hand;
    if shape.spacing == Spacing::DropTwo && voicing.span() > widest {
        // The right hand takes the top note.
        voicing.left_hand = left_hand.saturating_sub(1);
    }
    (voicing.left_span() <= widest && voicing.right_span() <= widest).then_some(voicing)
}

type Notes = ArrayVec<[(MidiNote, Degree); 6]>;

/// The notes of one hand from `from` upwards. Empty slots and doubled pitches are left out.
fn hand(
    slots: &[Slot],
    filled: &Slots,
    chord: &Chord,
    from: MidiNote,
    spacing: Spacing,
) -> Option<Notes> {
    let mut notes = Notes::default();
    let mut floor = from;
    for degree in slots.iter().filter_map(|s| filled.get(*s)) {
        let class = degree.class(chord.root);
        if notes.iter().any(|(n, _)| n.class() == class) {
            continue;
        }
        let note = floor.next_of(class)?;
        // Close notes are all counted from the lowest note, stacked ones from the note before.
        if notes.is_empty() || spacing == Spacing::Stacked {
            floor = note;
        }
        notes.try_push((note, degree)).map_or(Some(()), |_| None)?;
    }
    notes.sort_unstable_by_key(|(note, _)| *note);
    (!notes.is_empty()).then_some(notes)
}

/// Moves the second note from the top an octave down, then raises all notes by octaves until
/// the lowest lies next above `lowest`.
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
