//! Textures, and the forms of each as rows of slots. Imports `voicing` and what
//! is above it.

use crate::chord::Chord;
use crate::degree::Degree::{
    self, Eleven, Flat9, Flat13, Nine, Root, Sharp5, Sharp9, Sharp11, Six, Thirteen,
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
    /// Two hands, with a triad in the right one where a dominant has one.
    UpperStructure,
    /// Four notes with any of them lowest.
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
            Texture::UpperStructure => "upper structure",
            Texture::AnyRotation => "any rotation",
        }
    }

    /// Semitones that the highest note may lie above the register: the right
    /// hand of two, and the top of an open voicing, lie higher.
    #[must_use]
    pub const fn headroom(self) -> u8 {
        match self {
            Texture::Open => 5,
            Texture::TwoHands | Texture::UpperStructure => 10,
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
            (Texture::UpperStructure, Quality::Dominant | Quality::Altered) => {
                Texture::UpperStructure
            }
            (Texture::UpperStructure, _) => Texture::TwoHands,
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
    /// The root of an upper-structure triad.
    Triad1,
    /// Its third.
    Triad2,
    /// Its fifth.
    Triad3,
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

use Slot::{Fifth, Fifth2, Fourth, Ninth, Seventh, Sixth, Third, Triad1, Triad2, Triad3};

/// All shapes. Forms A and B after John Mehegan, Jazz Improvisation, vol. 4
/// (1965), from memory; the other textures are common practice.
pub static TABLE: [Shape; 26] = [
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
    upper(Form::A, &[Third, Seventh], &[Triad1, Triad2, Triad3]),
    upper(Form::A, &[Third, Seventh], &[Triad2, Triad3, Triad1]),
    upper(Form::A, &[Third, Seventh], &[Triad3, Triad1, Triad2]),
    upper(Form::B, &[Seventh, Third], &[Triad1, Triad2, Triad3]),
    upper(Form::B, &[Seventh, Third], &[Triad2, Triad3, Triad1]),
    upper(Form::B, &[Seventh, Third], &[Triad3, Triad1, Triad2]),
    Shape::new(
        Texture::AnyRotation,
        Form::A,
        &[Third, Fifth, Seventh, Ninth],
    ),
    Shape::new(
        Texture::AnyRotation,
        Form::OnFifth,
        &[Fifth, Seventh, Ninth, Third],
    ),
    Shape::new(
        Texture::AnyRotation,
        Form::B,
        &[Seventh, Ninth, Third, Fifth],
    ),
    Shape::new(
        Texture::AnyRotation,
        Form::OnNinth,
        &[Ninth, Third, Fifth, Seventh],
    ),
];

const fn two_hands(form: Form, left: &'static [Slot], right: &'static [Slot]) -> Shape {
    Shape {
        right,
        ..Shape::new(Texture::TwoHands, form, left)
    }
}

const fn upper(form: Form, left: &'static [Slot], right: &'static [Slot]) -> Shape {
    Shape {
        right,
        ..Shape::new(Texture::UpperStructure, form, left)
    }
}

/// Upper-structure triads over a dominant, as degrees from the triad's root: over
/// C7 D, A, A flat, G flat and E flat major, F sharp and D flat minor (common
/// practice, no published source).
static TRIADS: [[Degree; 3]; 7] = [
    [Nine, Sharp11, Thirteen],
    [Thirteen, Flat9, Degree::Three],
    [Flat13, Root, Sharp9],
    [Flat9, Degree::Three, Flat13],
    [Sharp11, Degree::Flat7, Flat9],
    [Sharp9, Degree::Five, Degree::Flat7],
    [Sharp11, Thirteen, Flat9],
];

/// The triad that holds the most of what a dominant is to sound, and no tension
/// that speaks against it. A #11 may join a natural ninth and thirteenth.
fn triad(chord: &Chord, tensions: &Tensions) -> Option<[Degree; 3]> {
    if !matches!(chord.quality, Quality::Dominant | Quality::Altered) {
        return None;
    }
    let wanted: DegreeSet = tensions.others.iter().copied().collect();
    let bright = wanted.has(Nine) && wanted.has(Thirteen) && tensions.third == Some(Degree::Three);
    let tones = DegreeSet::of(&[Root, Degree::Three, Degree::Five, Degree::Flat7]);
    let agrees = |degree: &Degree| match degree {
        Sharp11 => wanted.has(Sharp11) || bright,
        Degree::Five => wanted.has(Degree::Five),
        tone if tones.has(*tone) => true,
        tension => wanted.has(*tension),
    };
    // The first two of the others are what must sound.
    let needed: DegreeSet = tensions.others.iter().copied().take(2).collect();
    let holds = |triad: &[Degree; 3]| {
        let held: DegreeSet = triad.iter().copied().collect();
        let missed = needed.minus(held);
        (
            missed.minus(DegreeSet::of(&[Degree::Five, Root])).len(),
            3 - held.intersection(wanted).len(),
        )
    };
    TRIADS
        .iter()
        .filter(|triad| triad.iter().all(agrees) && holds(triad).0 == 0)
        .min_by_key(|triad| holds(triad))
        .copied()
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
    fourth: Option<Degree>,
    triad: Option<[Degree; 3]>,
}

impl Slots {
    /// Fills the slots by rank: the two most needed degrees share the ninth and
    /// fifth slots, the next one is the fifth note.
    #[must_use]
    pub fn fill(chord: &Chord, tensions: &Tensions) -> Slots {
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
        let fourth = others.clone().find(|d| *d == Sharp11).unwrap_or(Eleven);
        Slots {
            third: tensions.third,
            seventh: tensions.seventh,
            ninth,
            fifth,
            more,
            sixth,
            fourth: Some(fourth),
            triad: triad(chord, tensions),
        }
    }

    /// The degree in a slot.
    #[must_use]
    pub fn get(&self, slot: Slot) -> Option<Degree> {
        match slot {
            Slot::Third => self.third,
            Slot::Seventh => self.seventh,
            Slot::Ninth => self.ninth,
            Slot::Fifth => self.fifth,
            Slot::Fifth2 => self.more,
            Slot::Sixth => self.sixth,
            Slot::Fourth => self.fourth,
            Slot::Triad1 => self.triad.map(|[root, _, _]| root),
            Slot::Triad2 => self.triad.map(|[_, third, _]| third),
            Slot::Triad3 => self.triad.map(|[_, _, fifth]| fifth),
        }
    }
}
