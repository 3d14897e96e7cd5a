//! Shapes that a player has made: degrees from the lowest note up, for one family of chords. They
//! are `Copy` and of fixed size, so that the audio thread can lay them out: nothing here
//! allocates. Imports `shape`, `tension` and what is above them.

use crate::chord::Chord;
use crate::degree::Degree::{
    self, DoubleFlat7, Eleven, Five, Flat3, Flat5, Flat7, Flat9, Four, Nine, Root, Seven, Sharp5,
    Sharp9, Sharp11, Six, Thirteen, Three,
};
use crate::degree::DegreeSet;
use crate::pitch::{MidiNote, NoteName};
use crate::quality::Quality;
use crate::shape::{Leeway, Need, Needs};
use crate::tension::{self, Tensions};
use crate::voicing::{MOST_NOTES, Position, Voicing};
use tinyvec::ArrayVec;

/// The most own shapes that are looked at.
pub const MOST_SHAPES: usize = 64;

/// The most octaves that lie empty below a note of an own shape.
pub const MOST_OCTAVES: u8 = 3;

/// The family of chords that an own shape is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ShapeFamily {
    /// Major chords with their seventh.
    #[default]
    MajorSeventh,
    /// Major chords with their sixth.
    SixNine,
    /// Minor chords with the minor seventh.
    MinorSeventh,
    /// Minor chords with their sixth.
    MinorSixth,
    /// Minor chords with the major seventh.
    MinorMajorSeventh,
    /// Dominants.
    Dominant,
    /// Suspended dominants.
    Suspended,
    /// Half-diminished chords.
    HalfDiminished,
    /// Diminished chords.
    DiminishedSeventh,
    /// Dominants whose tensions are all altered.
    Altered,
}

impl ShapeFamily {
    /// Every family.
    pub const ALL: [ShapeFamily; 10] = [
        ShapeFamily::MajorSeventh,
        ShapeFamily::SixNine,
        ShapeFamily::MinorSeventh,
        ShapeFamily::MinorSixth,
        ShapeFamily::MinorMajorSeventh,
        ShapeFamily::Dominant,
        ShapeFamily::Suspended,
        ShapeFamily::HalfDiminished,
        ShapeFamily::DiminishedSeventh,
        ShapeFamily::Altered,
    ];

    /// The name, as in the symbols of its chords: `maj7`, `6/9`, `m7`, `sus`, `alt`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            ShapeFamily::MajorSeventh => "maj7",
            ShapeFamily::SixNine => "6/9",
            ShapeFamily::MinorSeventh => "m7",
            ShapeFamily::MinorSixth => "m6",
            ShapeFamily::MinorMajorSeventh => "m(maj7)",
            ShapeFamily::Dominant => "7",
            ShapeFamily::Suspended => "sus",
            ShapeFamily::HalfDiminished => "m7b5",
            ShapeFamily::DiminishedSeventh => "dim7",
            ShapeFamily::Altered => "alt",
        }
    }

    /// The family with this name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<ShapeFamily> {
        ShapeFamily::ALL.into_iter().find(|f| f.name() == name)
    }

    /// The third and the seventh of its chords.
    #[must_use]
    pub const fn guide_tones(self) -> [Degree; 2] {
        match self {
            ShapeFamily::MajorSeventh => [Three, Seven],
            ShapeFamily::SixNine => [Three, Six],
            ShapeFamily::MinorSeventh | ShapeFamily::HalfDiminished => [Flat3, Flat7],
            ShapeFamily::MinorSixth => [Flat3, Six],
            ShapeFamily::MinorMajorSeventh => [Flat3, Seven],
            ShapeFamily::Dominant | ShapeFamily::Altered => [Three, Flat7],
            ShapeFamily::Suspended => [Four, Flat7],
            ShapeFamily::DiminishedSeventh => [Flat3, DoubleFlat7],
        }
    }

    const fn is_dominant(self) -> bool {
        matches!(self, ShapeFamily::Dominant | ShapeFamily::Altered)
    }

    /// A chord of the family on this root, with nothing written.
    #[must_use]
    pub const fn chord(self, root: NoteName) -> Chord {
        let quality = match self {
            ShapeFamily::MajorSeventh => Quality::MajorSeventh,
            ShapeFamily::SixNine => Quality::Sixth,
            ShapeFamily::MinorSeventh => Quality::MinorSeventh,
            ShapeFamily::MinorSixth => Quality::MinorSixth,
            ShapeFamily::MinorMajorSeventh => Quality::MinorMajorSeventh,
            ShapeFamily::Dominant => Quality::Dominant,
            ShapeFamily::Suspended => Quality::DominantSuspended,
            ShapeFamily::HalfDiminished => Quality::HalfDiminished,
            ShapeFamily::DiminishedSeventh => Quality::DiminishedSeventh,
            ShapeFamily::Altered => Quality::Altered,
        };
        Chord::new(root, quality)
    }

    /// The family of a chord over which these degrees sound. The third and the seventh decide, as
    /// the chord states them or as they sound in their place. None for chords of no family, such
    /// as a bare fifth.
    #[must_use]
    pub fn of(chord: &Chord, degrees: DegreeSet) -> Option<ShapeFamily> {
        if chord.quality == Quality::Altered {
            return Some(ShapeFamily::Altered);
        }
        Some(match tension::sounding(chord, degrees).quality {
            Quality::Major | Quality::MajorSeventh => ShapeFamily::MajorSeventh,
            Quality::Sixth => ShapeFamily::SixNine,
            Quality::Minor | Quality::MinorSeventh => ShapeFamily::MinorSeventh,
            Quality::MinorSixth => ShapeFamily::MinorSixth,
            Quality::MinorMajorSeventh => ShapeFamily::MinorMajorSeventh,
            Quality::Dominant => ShapeFamily::Dominant,
            Quality::Altered => ShapeFamily::Altered,
            Quality::DominantSuspended | Quality::Suspended => ShapeFamily::Suspended,
            Quality::HalfDiminished => ShapeFamily::HalfDiminished,
            Quality::Diminished | Quality::DiminishedSeventh => ShapeFamily::DiminishedSeventh,
            Quality::SuspendedSecond | Quality::Augmented | Quality::Power => return None,
        })
    }

    /// Whether a shape of this family may sound over a chord with these tensions. Shapes for
    /// dominants serve altered ones too, if their degrees do, and the other way round.
    fn takes(self, chord: &Chord, tensions: &Tensions) -> bool {
        let guides = [tensions.third, tensions.seventh];
        let sounding: DegreeSet = guides.into_iter().flatten().collect();
        let natural = |d: &Degree| matches!(d, Nine | Eleven | Thirteen | Five);
        let altered = |d: &Degree| matches!(d, Flat9 | Sharp9);
        let dark = tensions.others.iter().any(altered) && !tensions.others.iter().any(natural);
        match ShapeFamily::of(chord, sounding) {
            Some(ShapeFamily::Dominant) if dark => self.is_dominant(),
            Some(ShapeFamily::Altered) => self.is_dominant(),
            family => family == Some(self),
        }
    }
}

/// A note of an own shape.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct ShapeNote {
    /// The degree.
    pub degree: Degree,
    /// The note lies next above the one before, or so many octaves higher.
    pub octaves: u8,
}

/// What can be wrong with a shape that a player makes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShapeError {
    /// It has no notes, or only one.
    TooFewNotes,
    /// It has more than [`MOST_NOTES`].
    TooManyNotes,
    /// The note at this place, from 0, lies more than [`MOST_OCTAVES`] above its next place.
    TooHigh(usize),
    /// The degree at this place, from 0, does not belong to the family.
    NotOfFamily {
        /// The place.
        at: usize,
        /// The degree.
        degree: Degree,
        /// The family.
        family: ShapeFamily,
    },
    /// The shape spans more than the keys of a piano.
    TooWide,
    /// The chord is of no family, such as a bare fifth.
    NoFamily,
}

/// A shape of the player's own: degrees from the lowest note up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct OwnShape {
    family: ShapeFamily,
    notes: ArrayVec<[ShapeNote; MOST_NOTES]>,
}

/// The widest own shape, in semitones: from the lowest key of a piano to the highest.
const WIDEST: i32 = 87;

impl OwnShape {
    /// A shape for a family, from its lowest note up.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn new(family: ShapeFamily, notes: &[ShapeNote]) -> Result<OwnShape, ShapeError> {
        if notes.len() < 2 {
            return Err(ShapeError::TooFewNotes);
        }
        let mut shape = OwnShape {
            family,
            notes: ArrayVec::default(),
        };
        for (at, note) in notes.iter().enumerate() {
            let degree = note.degree;
            if note.octaves > MOST_OCTAVES {
                return Err(ShapeError::TooHigh(at));
            }
            if !belongs(degree, family) {
                return Err(ShapeError::NotOfFamily { at, degree, family });
            }
            if shape.notes.try_push(*note).is_some() {
                return Err(ShapeError::TooManyNotes);
            }
        }
        if shape.span() > WIDEST {
            return Err(ShapeError::TooWide);
        }
        Ok(shape)
    }

    /// The shape in which a voicing lies over its chord.
    ///
    /// # Errors
    /// The chord is of no family, or a note has no place in its family.
    pub fn of(voicing: &Voicing, chord: &Chord) -> Result<OwnShape, ShapeError> {
        let family = ShapeFamily::of(chord, voicing.degrees()).ok_or(ShapeError::NoFamily)?;
        let mut notes = ArrayVec::<[ShapeNote; MOST_NOTES]>::default();
        let mut before: Option<MidiNote> = None;
        for voice in voicing.voices() {
            let gap = before.map_or(1, |low| voice.note.number() - low.number());
            before = Some(voice.note);
            let degree = in_family(voice.degree, family);
            let octaves = gap.saturating_sub(1) / 12;
            let _full = notes.try_push(ShapeNote { degree, octaves });
        }
        OwnShape::new(family, &notes)
    }

    /// The family of chords that it is for.
    #[must_use]
    pub const fn family(&self) -> ShapeFamily {
        self.family
    }

    /// The notes, from the lowest.
    #[must_use]
    pub fn notes(&self) -> &[ShapeNote] {
        &self.notes
    }

    /// Each note in semitones above the lowest one.
    fn heights(&self) -> impl Iterator<Item = (i32, Degree)> + '_ {
        let mut top: Option<(i32, i8)> = None;
        self.notes.iter().map(move |note| {
            let place = note.degree.interval().semitones;
            let height = top.map_or(0, |(height, below)| {
                let step = (i32::from(place) - i32::from(below) - 1).rem_euclid(12) + 1;
                height + step + 12 * i32::from(note.octaves)
            });
            top = Some((height, place));
            (height, note.degree)
        })
    }

    /// Semitones from the lowest note to the highest.
    #[must_use]
    pub fn span(&self) -> i32 {
        self.heights().last().map_or(0, |(height, _)| height)
    }

    /// The degrees that the shape gets over a chord with these tensions, from the lowest. None if
    /// it does not serve them: if the chord is of another family, if the shape holds what is not
    /// to sound, or if it leaves out what the chord needs more than what it holds, such as a
    /// written ninth for a fifth.
    #[must_use]
    pub fn degrees(&self, chord: &Chord, tensions: &Tensions) -> Option<ArrayVec<Names>> {
        if !self.family.takes(chord, tensions) {
            return None;
        }
        let mut names = ArrayVec::<Names>::default();
        for note in &self.notes {
            let _full = names.try_push(sounds_as(note.degree, chord, tensions)?);
        }
        let guides = [tensions.third, tensions.seventh];
        let needs = Needs::of(chord);
        let need = |degree: &Degree| needs.need(*degree);
        let others = names.iter().filter(|d| !guides.contains(&Some(**d)));
        let held = others.map(need).max();
        let left_out = tensions.others.iter().filter(|d| !names.contains(d));
        let left_out = left_out.map(need).min().unwrap_or(Need::Unwritten);
        held.is_none_or(|held| held <= left_out).then_some(names)
    }

    /// Lays the shape out over a chord, with its lowest note next above `lowest` and with these
    /// degrees, which come from [`OwnShape::degrees`]. All notes are in the left hand. None if a
    /// note leaves the range of MIDI.
    #[must_use]
    pub fn lay(
        &self,
        chord: &Chord,
        tensions: &Tensions,
        degrees: &[Degree],
        lowest: MidiNote,
    ) -> Option<Voicing> {
        let first = lowest.next_of(degrees.first()?.class(chord.root))?;
        let mut voicing = Voicing::empty(Position::AsPlayed);
        for ((height, _), degree) in self.heights().zip(degrees) {
            let note = u8::try_from(first.semitones() + height).ok()?;
            if !voicing.push(MidiNote::new(note)?, *degree) {
                return None;
            }
        }
        voicing.left_hand = u8::try_from(voicing.voices().len()).ok()?;
        voicing.position = voicing.lies(tensions.third, tensions.seventh);
        Some(voicing)
    }

    /// How far it may leave the register. It has one form, so it needs the whole octave above the
    /// bottom. Two hands lie higher.
    #[must_use]
    pub const fn leeway(two_hands: bool) -> Leeway {
        Leeway {
            room: 11,
            headroom: if two_hands { 10 } else { 3 },
            stands_out: false,
        }
    }
}

/// The names of the notes of an own shape.
pub type Names = [Degree; MOST_NOTES];

/// The player's own shapes as a plan uses them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Own<'a> {
    shapes: &'a [OwnShape],
    /// Whether the shapes of the texture are used too where an own shape serves.
    pub beside: bool,
}

impl<'a> Own<'a> {
    /// No own shapes.
    pub const NONE: Own<'static> = Own {
        shapes: &[],
        beside: false,
    };

    /// Own shapes that take the place of the texture's wherever one of them serves a chord. Only
    /// the first [`MOST_SHAPES`] are used.
    #[must_use]
    pub fn instead(shapes: &'a [OwnShape]) -> Own<'a> {
        Own {
            shapes: shapes.get(..MOST_SHAPES).unwrap_or(shapes),
            beside: false,
        }
    }

    /// Own shapes beside those of the texture.
    #[must_use]
    pub fn beside(shapes: &'a [OwnShape]) -> Own<'a> {
        Own {
            beside: true,
            ..Own::instead(shapes)
        }
    }

    /// The shapes that are used, in their order.
    #[must_use]
    pub const fn shapes(&self) -> &'a [OwnShape] {
        self.shapes
    }
}

/// The name under which a degree of a shape sounds with these tensions: the name that the choice
/// has for its key. As in an upper structure, a #11 may join a natural ninth and thirteenth, and the
/// root an altered dominant. None if the degree is not to sound.
fn sounds_as(degree: Degree, chord: &Chord, tensions: &Tensions) -> Option<Degree> {
    let guides = [tensions.third, tensions.seventh];
    let others = &tensions.others;
    let key = |degree: Degree| degree.interval().semitones;
    let mut choice = guides.into_iter().flatten().chain(others.iter().copied());
    let bright = guides == [Some(Three), Some(Flat7)]
        && others.contains(&Nine)
        && others.contains(&Thirteen);
    let joins = [
        bright.then_some(Sharp11),
        (chord.quality == Quality::Altered).then_some(Root),
    ];
    let mut joins = joins.into_iter().flatten();
    let same = |d: &Degree| key(*d) == key(degree);
    choice.find(same).or_else(|| joins.find(same))
}

/// Whether a degree can sound over chords of a family. What cannot is another third or seventh, and
/// in an altered dominant a natural fifth, ninth or thirteenth.
fn belongs(degree: Degree, family: ShapeFamily) -> bool {
    let chord = family.chord(NoteName::from_fifths(0));
    let fifths = matches!(degree, Flat5 | Sharp5) && !chord.quality.is_minor();
    if chord.name(degree.over(chord.root)).is_none() && !fifths {
        return false;
    }
    let never: &[Degree] = match family {
        ShapeFamily::SixNine | ShapeFamily::MinorSixth => &[Flat7, Seven],
        ShapeFamily::Altered => &[Nine, Thirteen],
        _ => &[],
    };
    let key = degree.interval().semitones;
    never.iter().all(|d| d.interval().semitones != key)
}

/// The name of a degree among the chords of a family. Over a C triad, A may be the 13; among sixth
/// chords it is the 6.
fn in_family(degree: Degree, family: ShapeFamily) -> Degree {
    let chord = family.chord(NoteName::from_fifths(0));
    match degree {
        Sharp5 | Flat5 => degree,
        _ => chord.name(degree.over(chord.root)).unwrap_or(degree),
    }
}
