//! Textures, and the forms of each as rows of slots. Imports `voicing` and what
//! is above it.

mod slots;

pub(crate) use slots::Needs;
pub use slots::{Need, Slots};

use crate::chord::Chord;
use crate::degree::Degree::{
    self, Eleven, Five, Flat3, Flat13, Nine, Root, Sharp5, Sharp9, Sharp11, Six, Thirteen,
};
use crate::quality::Quality;
use crate::voicing::Position;

/// The number of notes that a chord gets, and how they lie.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Texture {
    /// Third and seventh.
    GuideTones,
    /// Guide tones and one more.
    ThreeNotes,
    /// The four-note rootless voicing.
    #[default]
    FourNotes,
    /// Stacked fourths of three or four notes. A chord that has no such stack gets
    /// [`Texture::ThreeNotes`].
    Fourths,
    /// Four notes with the second from the top an octave down.
    Open,
    /// Guide tones in the left hand, and three more notes in the right.
    TwoHands,
    /// Two hands, with a triad in the right one if a dominant has one.
    UpperStructure,
    /// Four notes, any of which may be lowest.
    AnyRotation,
}

impl Texture {
    /// Every texture.
    pub const ALL: [Texture; 8] = [
        Texture::GuideTones,
        Texture::ThreeNotes,
        Texture::FourNotes,
        Texture::Fourths,
        Texture::Open,
        Texture::TwoHands,
        Texture::UpperStructure,
        Texture::AnyRotation,
    ];

    /// Semitones that the highest note may lie above the register. The right hand of two and
    /// the top of an open voicing lie higher.
    #[must_use]
    pub const fn headroom(self) -> u8 {
        match self {
            Texture::Open => 5,
            Texture::TwoHands | Texture::UpperStructure => 10,
            Texture::Fourths => 3,
            _ => 0,
        }
    }

    /// Semitones that the lowest note may lie above the bottom of the register, so that every
    /// root has a shape that fits. Two forms a tritone apart need seven. A stack of fourths has
    /// one shape and needs the whole octave.
    #[must_use]
    pub const fn room(self) -> u8 {
        match self {
            Texture::Fourths => 11,
            _ => 7,
        }
    }

    /// Room and headroom, and whether its tensions stand out.
    #[must_use]
    pub const fn leeway(self) -> Leeway {
        Leeway {
            room: self.room(),
            headroom: self.headroom(),
            stands_out: matches!(
                self,
                Texture::Fourths | Texture::TwoHands | Texture::UpperStructure
            ),
        }
    }

    /// The texture that the chord's quality allows. An open voicing needs a seventh, and an
    /// upper structure needs a dominant. The texture that a chord finally gets depends on its
    /// tensions too, see [`Slots::texture`].
    #[must_use]
    pub const fn for_chord(self, chord: &Chord) -> Texture {
        use Quality::{Augmented, Power, SuspendedSecond};
        match (self, chord.quality) {
            (Texture::Open, Augmented | Power | SuspendedSecond) => Texture::FourNotes,
            (Texture::UpperStructure, Quality::Dominant | Quality::Altered) => {
                Texture::UpperStructure
            }
            (Texture::UpperStructure, _) => Texture::TwoHands,
            (texture, _) => texture,
        }
    }
}

/// How far a kind of voicing may leave the register, in semitones.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Leeway {
    /// How far the lowest note may lie above the bottom.
    pub room: u8,
    /// How far the highest note may lie above the top.
    pub headroom: u8,
    /// Its tensions stand out, so that it matters more which ones they are.
    pub stands_out: bool,
}

/// A place in a shape that a degree fills.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slot {
    /// The third, or the degree in its place.
    Third,
    /// The seventh, or the degree in its place.
    Seventh,
    /// The ninth, or the degree in its place.
    Ninth,
    /// The fifth, or the eleventh or thirteenth in its place.
    Fifth,
    /// The one note beside the guide tones if the third is lowest.
    OneMoreOnThird,
    /// The one note beside the guide tones if the seventh is lowest.
    OneMoreOnSeventh,
    /// The first of three notes in the right hand.
    Right1,
    /// The second of them.
    Right2,
    /// The third of them.
    Right3,
    /// This degree and no other.
    Just(Degree),
    /// The root of an upper-structure triad.
    Triad1,
    /// Its third.
    Triad2,
    /// Its fifth.
    Triad3,
}

/// How the notes of a shape lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spacing {
    /// As close above the first slot as possible.
    Close,
    /// Each note next above the one before, in the order of the slots.
    Stacked,
    /// Close, then with the second note from the top an octave lower.
    DropTwo,
}

/// A row: one way to lay out a texture.
#[derive(Debug)]
pub struct Shape {
    /// The texture it belongs to.
    pub texture: Texture,
    /// The position it is.
    pub position: Position,
    /// The left hand's slots. The first one lies lowest.
    pub left: &'static [Slot],
    /// The right hand's slots. The first one lies lowest.
    pub right: &'static [Slot],
    /// How the notes lie.
    pub spacing: Spacing,
}

impl Shape {
    const fn new(texture: Texture, position: Position, left: &'static [Slot]) -> Shape {
        Shape {
            texture,
            position,
            left,
            right: &[],
            spacing: Spacing::Close,
        }
    }
}

use Slot::{
    Fifth, Just, Ninth, OneMoreOnSeventh, OneMoreOnThird, Right1, Right2, Right3, Seventh, Third,
    Triad1, Triad2, Triad3,
};

/// All shapes. Forms A and B are after John Mehegan, Jazz Improvisation, vol. 4 (1965), from
/// memory. The other textures are common practice, no published source. A stack of fourths
/// serves every chord over which each of its notes really lies a fourth or a tritone above the
/// last, see [`Slots::stacks`].
pub static TABLE: [Shape; 36] = [
    Shape::new(Texture::GuideTones, Position::Third, &[Third, Seventh]),
    Shape::new(Texture::GuideTones, Position::Seventh, &[Seventh, Third]),
    Shape::new(
        Texture::ThreeNotes,
        Position::Third,
        &[Third, Seventh, OneMoreOnThird],
    ),
    Shape::new(
        Texture::ThreeNotes,
        Position::Seventh,
        &[Seventh, Third, OneMoreOnSeventh],
    ),
    Shape::new(
        Texture::FourNotes,
        Position::Third,
        &[Third, Fifth, Seventh, Ninth],
    ),
    Shape::new(
        Texture::FourNotes,
        Position::Seventh,
        &[Seventh, Ninth, Third, Fifth],
    ),
    // maj7: 7 3 6; dominants: b7 3 13.
    fourths(&[Seventh, Third, Just(Thirteen)]),
    fourths(&[Seventh, Third, Just(Thirteen), Just(Nine)]),
    // 6/9: 3 6 9; tonic m6: b3 6 9.
    fourths(&[Third, Seventh, Just(Nine)]),
    fourths(&[Just(Flat3), Just(Six), Just(Nine), Just(Five)]),
    // maj7#11.
    fourths(&[Just(Sharp11), Just(Degree::Seven), Third]),
    // Altered dominants.
    fourths(&[Third, Seventh, Just(Sharp9)]),
    fourths(&[Third, Seventh, Just(Sharp9), Just(Flat13)]),
    fourths(&[Third, Seventh, Just(Sharp9), Just(Sharp5)]),
    // Suspended dominants.
    fourths(&[Just(Root), Third, Just(Degree::Flat7)]),
    fourths(&[Just(Five), Just(Root), Third, Just(Degree::Flat7)]),
    // m7.
    fourths(&[Just(Eleven), Just(Degree::Flat7), Just(Flat3)]),
    fourths(&[Just(Root), Just(Eleven), Just(Degree::Flat7), Just(Flat3)]),
    Shape {
        spacing: Spacing::DropTwo,
        ..Shape::new(
            Texture::Open,
            Position::Third,
            &[Third, Fifth, Seventh, Ninth],
        )
    },
    Shape {
        spacing: Spacing::DropTwo,
        ..Shape::new(
            Texture::Open,
            Position::Seventh,
            &[Seventh, Ninth, Third, Fifth],
        )
    },
    two_hands(
        Position::Third,
        &[Third, Seventh],
        &[Right1, Right2, Right3],
    ),
    two_hands(
        Position::Third,
        &[Third, Seventh],
        &[Right2, Right3, Right1],
    ),
    two_hands(
        Position::Third,
        &[Third, Seventh],
        &[Right3, Right1, Right2],
    ),
    two_hands(
        Position::Seventh,
        &[Seventh, Third],
        &[Right1, Right2, Right3],
    ),
    two_hands(
        Position::Seventh,
        &[Seventh, Third],
        &[Right2, Right3, Right1],
    ),
    two_hands(
        Position::Seventh,
        &[Seventh, Third],
        &[Right3, Right1, Right2],
    ),
    upper(
        Position::Third,
        &[Third, Seventh],
        &[Triad1, Triad2, Triad3],
    ),
    upper(
        Position::Third,
        &[Third, Seventh],
        &[Triad2, Triad3, Triad1],
    ),
    upper(
        Position::Third,
        &[Third, Seventh],
        &[Triad3, Triad1, Triad2],
    ),
    upper(
        Position::Seventh,
        &[Seventh, Third],
        &[Triad1, Triad2, Triad3],
    ),
    upper(
        Position::Seventh,
        &[Seventh, Third],
        &[Triad2, Triad3, Triad1],
    ),
    upper(
        Position::Seventh,
        &[Seventh, Third],
        &[Triad3, Triad1, Triad2],
    ),
    Shape::new(
        Texture::AnyRotation,
        Position::Third,
        &[Third, Fifth, Seventh, Ninth],
    ),
    Shape::new(
        Texture::AnyRotation,
        Position::Fifth,
        &[Fifth, Seventh, Ninth, Third],
    ),
    Shape::new(
        Texture::AnyRotation,
        Position::Seventh,
        &[Seventh, Ninth, Third, Fifth],
    ),
    Shape::new(
        Texture::AnyRotation,
        Position::Ninth,
        &[Ninth, Third, Fifth, Seventh],
    ),
];

const fn fourths(left: &'static [Slot]) -> Shape {
    Shape {
        spacing: Spacing::Stacked,
        ..Shape::new(Texture::Fourths, Position::Fourths, left)
    }
}

const fn two_hands(position: Position, left: &'static [Slot], right: &'static [Slot]) -> Shape {
    Shape {
        right,
        ..Shape::new(Texture::TwoHands, position, left)
    }
}

const fn upper(position: Position, left: &'static [Slot], right: &'static [Slot]) -> Shape {
    Shape {
        right,
        ..Shape::new(Texture::UpperStructure, position, left)
    }
}
