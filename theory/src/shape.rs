//! Textures, and the forms of each as rows of slots. Imports `voicing` and what
//! is above it.

use crate::chord::Chord;
use crate::degree::Degree::{
    self, Eleven, Flat9, Flat13, Nine, Root, Sharp5, Sharp9, Six, Thirteen,
};
use crate::degree::DegreeSet;
use crate::quality::Quality;
use crate::tension::Tensions;
use crate::voicing::Form;

/// How many notes a chord gets, and how they lie.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Texture {
    /// Third and seventh.
    GuideTones,
    /// Guide tones and one more.
    ThreeNotes,
    /// The four-note rootless voicing.
    #[default]
    FourNotes,
    /// Stacked fourths; three notes where a chord has none.
    Fourths,
    /// Four notes with the second from the top an octave down.
    Open,
    /// Guide tones in the left hand, three more notes in the right.
    TwoHands,
}

impl Texture {
    /// Every texture.
    pub const ALL: [Texture; 6] = [
        Texture::GuideTones,
        Texture::ThreeNotes,
        Texture::FourNotes,
        Texture::Fourths,
        Texture::Open,
        Texture::TwoHands,
    ];

    /// The name in plain words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Texture::GuideTones => "guide tones",
            Texture::ThreeNotes => "three notes",
            Texture::FourNotes => "four notes",
            Texture::Fourths => "fourths",
            Texture::Open => "open",
            Texture::TwoHands => "two hands",
        }
    }

    /// Semitones that the highest note may lie above the register: the right
    /// hand of two, and the top of an open voicing, lie higher.
    #[must_use]
    pub const fn headroom(self) -> u8 {
        match self {
            Texture::Open => 5,
            Texture::TwoHands => 10,
            Texture::Fourths => 3,
            _ => 0,
        }
    }

    /// Semitones that the lowest note may lie above the bottom of the register,
    /// so that every root has a shape that fits. Two forms a tritone apart need
    /// seven; a stack of fourths, with its one shape, needs the whole octave.
    #[must_use]
    pub const fn room(self) -> u8 {
        match self {
            Texture::Fourths => 11,
            _ => 7,
        }
    }

    /// The texture that a chord really gets: fourths need a chord that has them,
    /// an open voicing needs a seventh to spread around.
    #[must_use]
    pub const fn for_chord(self, chord: &Chord) -> Texture {
        use Quality::{
            Augmented, Diminished, DiminishedSeventh, DominantSuspended, Power, Suspended,
            SuspendedSecond,
        };
        match (self, chord.quality) {
            (
                Texture::Fourths,
                Diminished | DiminishedSeventh | Power | Suspended | DominantSuspended
                | SuspendedSecond,
            ) => Texture::ThreeNotes,
            (Texture::Open, Augmented | Power | SuspendedSecond) => Texture::FourNotes,
            (texture, _) => texture,
        }
    }
}

/// A place in a shape that a degree fills.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slot {
    /// The third, or what stands for it.
    Third,
    /// The seventh, or what stands for it.
    Seventh,
    /// The ninth, or what stands for it.
    Ninth,
    /// The fifth, or the eleventh or thirteenth that stands for it.
    Fifth,
    /// One more, for five notes.
    Fifth2,
    /// The thirteenth of a stack of fourths.
    Sixth,
    /// The eleventh of a stack of fourths.
    Fourth,
}

/// How the notes of a shape lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lie {
    /// As close above the first slot as they can.
    Close,
    /// Each one next above the one before, in the order of the slots.
    InOrder,
    /// Close, then the second from the top an octave down.
    DropTwo,
}

/// A row: one way to lay out a texture.
#[derive(Debug)]
pub struct Shape {
    /// The texture it belongs to.
    pub texture: Texture,
    /// The form it is.
    pub form: Form,
    /// The left hand's slots; the first one lies lowest.
    pub left: &'static [Slot],
    /// The right hand's slots; the first one lies lowest.
    pub right: &'static [Slot],
    /// How the notes lie.
    pub lie: Lie,
    /// Whether it is for minor chords, for others, or for all (fourths differ).
    pub minor: Option<bool>,
}

impl Shape {
    const fn new(texture: Texture, form: Form, left: &'static [Slot]) -> Shape {
        Shape {
            texture,
            form,
            left,
            right: &[],
            lie: Lie::Close,
            minor: None,
        }
    }
}

use Slot::{Fifth, Fifth2, Fourth, Ninth, Seventh, Sixth, Third};

/// All shapes. Forms A and B after John Mehegan, Jazz Improvisation, vol. 4
/// (1965), from memory; the other textures are common practice.
pub static TABLE: [Shape; 16] = [
    Shape::new(Texture::GuideTones, Form::A, &[Third, Seventh]),
    Shape::new(Texture::GuideTones, Form::B, &[Seventh, Third]),
    Shape::new(Texture::ThreeNotes, Form::A, &[Third, Seventh, Ninth]),
    Shape::new(Texture::ThreeNotes, Form::B, &[Seventh, Third, Fifth]),
    Shape::new(Texture::FourNotes, Form::A, &[Third, Fifth, Seventh, Ninth]),
    Shape::new(Texture::FourNotes, Form::B, &[Seventh, Ninth, Third, Fifth]),
    Shape {
        lie: Lie::InOrder,
        minor: Some(false),
        ..Shape::new(Texture::Fourths, Form::Fourths, &[Third, Sixth, Ninth])
    },
    Shape {
        lie: Lie::InOrder,
        minor: Some(true),
        ..Shape::new(Texture::Fourths, Form::Fourths, &[Fourth, Seventh, Third])
    },
    Shape {
        lie: Lie::DropTwo,
        ..Shape::new(Texture::Open, Form::A, &[Third, Fifth, Seventh, Ninth])
    },
    Shape {
        lie: Lie::DropTwo,
        ..Shape::new(Texture::Open, Form::B, &[Seventh, Ninth, Third, Fifth])
    },
    two_hands(Form::A, &[Third, Seventh], &[Ninth, Fifth, Fifth2]),
    two_hands(Form::A, &[Third, Seventh], &[Fifth, Fifth2, Ninth]),
    two_hands(Form::A, &[Third, Seventh], &[Fifth2, Ninth, Fifth]),
    two_hands(Form::B, &[Seventh, Third], &[Ninth, Fifth, Fifth2]),
    two_hands(Form::B, &[Seventh, Third], &[Fifth, Fifth2, Ninth]),
    two_hands(Form::B, &[Seventh, Third], &[Fifth2, Ninth, Fifth]),
];

const fn two_hands(form: Form, left: &'static [Slot], right: &'static [Slot]) -> Shape {
    Shape {
        right,
        ..Shape::new(Texture::TwoHands, form, left)
    }
}

/// The degrees that fill the slots of a chord.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Slots {
    third: Option<Degree>,
    seventh: Option<Degree>,
    ninth: Option<Degree>,
    fifth: Option<Degree>,
    more: Option<Degree>,
    sixth: Option<Degree>,
}

impl Slots {
    /// Fills the slots by rank: the two most needed degrees share the ninth and
    /// fifth slots, the next one is the fifth note.
    #[must_use]
    pub fn fill(tensions: &Tensions) -> Slots {
        const NINTHS: DegreeSet = DegreeSet::of(&[Flat9, Nine, Sharp9, Root]);
        const SIXTHS: DegreeSet = DegreeSet::of(&[Thirteen, Flat13, Sharp5]);
        let mut others = tensions.others.iter().copied();
        let (first, second, more) = (others.next(), others.next(), others.next());
        let first_is_ninth = first.is_some_and(|d| NINTHS.has(d));
        let (ninth, fifth) = if first_is_ninth {
            (first, second)
        } else {
            (second, first)
        };
        let others = tensions.others.iter().copied();
        let sixth = others.clone().take(3).find(|d| SIXTHS.has(*d)).or(
            // A sixth chord has its sixth in the seventh's slot.
            if tensions.seventh == Some(Six) {
                Some(Six)
            } else {
                Some(Thirteen)
            },
        );
        Slots {
            third: tensions.third,
            seventh: tensions.seventh,
            ninth,
            fifth,
            more,
            sixth,
        }
    }

    /// The degree in a slot.
    #[must_use]
    pub const fn get(&self, slot: Slot) -> Option<Degree> {
        match slot {
            Slot::Third => self.third,
            Slot::Seventh => self.seventh,
            Slot::Ninth => self.ninth,
            Slot::Fifth => self.fifth,
            Slot::Fifth2 => self.more,
            Slot::Sixth => self.sixth,
            Slot::Fourth => Some(Eleven),
        }
    }
}
