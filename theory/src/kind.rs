//! Chords as the `harmony` elements of W3C MusicXML 4.0: a kind, and degrees that are added to
//! it, altered in it or taken from it. Knows nothing of XML. Imports `chord` and what is above
//! it.

mod read;
mod write;

pub use read::from_kind;
pub use write::{no_chord, to_kind};

use crate::degree::Degree;
use crate::pitch::NoteName;
use crate::quality::{Extent, Quality};
use std::fmt;

/// The values of `kind`, in the order of the standard's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "each says the standard's own name, see `name`")]
pub enum Kind {
    Major,
    Minor,
    Augmented,
    Diminished,
    Dominant,
    MajorSeventh,
    MinorSeventh,
    DiminishedSeventh,
    AugmentedSeventh,
    HalfDiminished,
    MajorMinor,
    MajorSixth,
    MinorSixth,
    DominantNinth,
    MajorNinth,
    MinorNinth,
    Dominant11th,
    Major11th,
    Minor11th,
    Dominant13th,
    Major13th,
    Minor13th,
    SuspendedSecond,
    SuspendedFourth,
    Neapolitan,
    Italian,
    French,
    German,
    Pedal,
    Power,
    Tristan,
    Other,
    None,
}

/// What a kind is by itself.
enum Meaning {
    /// This quality and extent.
    Chord(Quality, Extent),
    /// This seventh chord with an altered fifth.
    AlteredFifth(Quality, Degree),
    /// This seventh chord without its fifth.
    WithoutFifth(Quality),
    /// The root and the degrees that are added.
    RootAlone,
    /// No chord by itself.
    Nothing,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Kind; 33] = [
        Kind::Major,
        Kind::Minor,
        Kind::Augmented,
        Kind::Diminished,
        Kind::Dominant,
        Kind::MajorSeventh,
        Kind::MinorSeventh,
        Kind::DiminishedSeventh,
        Kind::AugmentedSeventh,
        Kind::HalfDiminished,
        Kind::MajorMinor,
        Kind::MajorSixth,
        Kind::MinorSixth,
        Kind::DominantNinth,
        Kind::MajorNinth,
        Kind::MinorNinth,
        Kind::Dominant11th,
        Kind::Major11th,
        Kind::Minor11th,
        Kind::Dominant13th,
        Kind::Major13th,
        Kind::Minor13th,
        Kind::SuspendedSecond,
        Kind::SuspendedFourth,
        Kind::Neapolitan,
        Kind::Italian,
        Kind::French,
        Kind::German,
        Kind::Pedal,
        Kind::Power,
        Kind::Tristan,
        Kind::Other,
        Kind::None,
    ];

    /// The standard's name: `minor-seventh`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        self.row().0
    }

    /// The kind with this name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.name() == name)
    }

    /// The name and the meaning of a kind.
    ///
    /// The augmented sixths stand on the lowered sixth degree of the key, their bass, and sound
    /// like dominant sevenths there. The Neapolitan is the major triad on its root, and the
    /// Tristan chord sounds half-diminished (common practice; the standard names them without a
    /// description).
    const fn row(self) -> (&'static str, Meaning) {
        use Extent::{Eleventh, Ninth, Plain, Thirteenth};
        use Meaning::{AlteredFifth, Chord, Nothing, RootAlone, WithoutFifth};
        match self {
            Kind::Major => ("major", Chord(Quality::Major, Plain)),
            Kind::Minor => ("minor", Chord(Quality::Minor, Plain)),
            Kind::Augmented => ("augmented", Chord(Quality::Augmented, Plain)),
            Kind::Diminished => ("diminished", Chord(Quality::Diminished, Plain)),
            Kind::Dominant => ("dominant", Chord(Quality::Dominant, Plain)),
            Kind::MajorSeventh => ("major-seventh", Chord(Quality::MajorSeventh, Plain)),
            Kind::MinorSeventh => ("minor-seventh", Chord(Quality::MinorSeventh, Plain)),
            Kind::DiminishedSeventh => (
                "diminished-seventh",
                Chord(Quality::DiminishedSeventh, Plain),
            ),
            Kind::AugmentedSeventh => (
                "augmented-seventh",
                AlteredFifth(Quality::Dominant, Degree::Sharp5),
            ),
            Kind::HalfDiminished => ("half-diminished", Chord(Quality::HalfDiminished, Plain)),
            Kind::MajorMinor => ("major-minor", Chord(Quality::MinorMajorSeventh, Plain)),
            Kind::MajorSixth => ("major-sixth", Chord(Quality::Sixth, Plain)),
            Kind::MinorSixth => ("minor-sixth", Chord(Quality::MinorSixth, Plain)),
            Kind::DominantNinth => ("dominant-ninth", Chord(Quality::Dominant, Ninth)),
            Kind::MajorNinth => ("major-ninth", Chord(Quality::MajorSeventh, Ninth)),
            Kind::MinorNinth => ("minor-ninth", Chord(Quality::MinorSeventh, Ninth)),
            Kind::Dominant11th => ("dominant-11th", Chord(Quality::Dominant, Eleventh)),
            Kind::Major11th => ("major-11th", Chord(Quality::MajorSeventh, Eleventh)),
            Kind::Minor11th => ("minor-11th", Chord(Quality::MinorSeventh, Eleventh)),
            Kind::Dominant13th => ("dominant-13th", Chord(Quality::Dominant, Thirteenth)),
            Kind::Major13th => ("major-13th", Chord(Quality::MajorSeventh, Thirteenth)),
            Kind::Minor13th => ("minor-13th", Chord(Quality::MinorSeventh, Thirteenth)),
            Kind::SuspendedSecond => ("suspended-second", Chord(Quality::SuspendedSecond, Plain)),
            Kind::SuspendedFourth => ("suspended-fourth", Chord(Quality::Suspended, Plain)),
            Kind::Neapolitan => ("Neapolitan", Chord(Quality::Major, Plain)),
            Kind::Italian => ("Italian", WithoutFifth(Quality::Dominant)),
            Kind::French => ("French", AlteredFifth(Quality::Dominant, Degree::Flat5)),
            Kind::German => ("German", Chord(Quality::Dominant, Plain)),
            Kind::Pedal => ("pedal", Nothing),
            Kind::Power => ("power", Chord(Quality::Power, Plain)),
            Kind::Tristan => ("Tristan", Chord(Quality::HalfDiminished, Plain)),
            Kind::Other => ("other", RootAlone),
            Kind::None => ("none", Nothing),
        }
    }
}

/// What a degree element does (`degree-type`).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Step {
    /// `add`: an additional note, counted as in a dominant chord on the root.
    Add,
    /// `alter`: a note of the kind is moved.
    Alter,
    /// `subtract`: a note of the kind is left out.
    Subtract,
}

impl Step {
    /// The standard's name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Step::Add => "add",
            Step::Alter => "alter",
            Step::Subtract => "subtract",
        }
    }
}

/// A `degree` element.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Change {
    /// `degree-value`: 2 to 13.
    pub value: u8,
    /// `degree-alter`, in semitones. For an added degree it counts from the major or perfect
    /// interval, or for a seventh from the minor one. For an altered degree it counts from the
    /// kind's own.
    pub alter: i8,
    /// `degree-type`
    pub step: Step,
}

impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.step.name(), self.value)?;
        if self.alter == 0 {
            Ok(())
        } else {
            write!(f, " ({:+})", self.alter)
        }
    }
}

/// A `harmony` element: root, kind, degrees, bass.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Harmony {
    /// `root`
    pub root: NoteName,
    /// `kind`
    pub kind: Kind,
    /// The `degree` elements, in order.
    pub degrees: Vec<Change>,
    /// `bass`
    pub bass: Option<NoteName>,
}

/// A harmony that is not a chord here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum KindError {
    /// A kind that is no chord of its own: `pedal`, which is a bass under the chord before.
    Kind(Kind),
    /// A degree that the kind does not hold, or that no chord symbol can say.
    Change(Change),
    /// The notes do not make a chord that a symbol can say.
    Notes,
}

impl fmt::Display for KindError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            KindError::Kind(kind) => {
                write!(
                    f,
                    "\"{}\" is no chord by itself; expected a chord",
                    kind.name()
                )
            }
            KindError::Change(change) => write!(
                f,
                "the degree \"{change}\" does not fit the kind; expected a degree that a \
                 chord symbol can write"
            ),
            KindError::Notes => f.write_str(
                "these degrees make no chord; expected a third, a fifth or a suspension",
            ),
        }
    }
}

impl std::error::Error for KindError {}

/// The changes that stand for `alt`, for which the standard has no kind: no natural fifth, and
/// every altered fifth and ninth.
const ALT: [Change; 5] = [
    change(Step::Subtract, 5, 0),
    change(Step::Add, 5, -1),
    change(Step::Add, 5, 1),
    change(Step::Add, 9, -1),
    change(Step::Add, 9, 1),
];

const fn change(step: Step, value: u8, alter: i8) -> Change {
    Change { value, alter, step }
}

/// A degree by its number and its distance in semitones from the major or perfect interval, or
/// for the seventh from the minor one. The standard counts added degrees in this way.
const fn counted(degree: Degree) -> (u8, i8) {
    match degree {
        Degree::Root => (1, 0),
        Degree::Flat9 => (9, -1),
        Degree::Two => (2, 0),
        Degree::Nine => (9, 0),
        Degree::Sharp9 => (9, 1),
        Degree::Flat3 => (3, -1),
        Degree::Three => (3, 0),
        Degree::Flat11 => (11, -1),
        Degree::Four => (4, 0),
        Degree::Eleven => (11, 0),
        Degree::Sharp11 => (11, 1),
        Degree::Flat5 => (5, -1),
        Degree::Five => (5, 0),
        Degree::Sharp5 => (5, 1),
        Degree::Flat13 => (13, -1),
        Degree::Six => (6, 0),
        Degree::Thirteen => (13, 0),
        Degree::DoubleFlat7 => (7, -1),
        Degree::Flat7 => (7, 0),
        Degree::Seven => (7, 1),
    }
}

fn degree(value: u8, alter: i8) -> Option<Degree> {
    // An altered second, fourth or sixth is called a ninth, eleventh or thirteenth.
    let (value, alter) = match (value, alter) {
        (2, -1 | 1) => (9, alter),
        (4, 1) => (11, alter),
        (6, -1) => (13, alter),
        same => same,
    };
    // A b11 belongs to scales, not to chords.
    Degree::ALL
        .into_iter()
        .filter(|d| *d != Degree::Flat11)
        .find(|d| counted(*d) == (value, alter))
}
