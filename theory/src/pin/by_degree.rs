//! Notes by degree over a known chord. Imports `chord`, `voicing` and `candidates`; the folder of
//! `pin` imports it.

use crate::candidates::Hand;
use crate::chord::Chord;
use crate::degree::Degree::{
    self, DoubleFlat7, Eleven, Five, Flat3, Flat7, Flat9, Flat13, Nine, Root, Seven, Sharp11, Six,
    Thirteen, Three, Two,
};
use crate::pitch::{MidiNote, NoteName};
use crate::quality::Quality;
use crate::voicing::{MOST_NOTES, Position, Voicing};
use tinyvec::ArrayVec;

/// Why notes make no voicing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotesError {
    /// There are none.
    NoNotes,
    /// There are more than [`MOST_NOTES`], so many.
    TooMany(usize),
}

/// A set of notes as a voicing of this chord. Each note gets its degree over the chord's root. The
/// order of the notes does not matter, and neither does a note that comes twice.
///
/// A note that the chord has no place for gets its usual degree, and [`check`](super::check) tells
/// of it.
///
/// # Errors
/// There are no notes, or too many.
pub fn by_degree(notes: &[MidiNote], chord: &Chord, hand: Hand) -> Result<Voicing, NotesError> {
    let mut held = [false; 128];
    for note in notes {
        if let Some(held) = held.get_mut(usize::from(note.number())) {
            *held = true;
        }
    }
    let different = held.iter().filter(|held| **held).count();
    match different {
        0 => return Err(NotesError::NoNotes),
        count if count > MOST_NOTES => return Err(NotesError::TooMany(count)),
        _ => {}
    }
    let sounding = (0..).zip(held).filter(|(_, held)| *held);
    let sounding: ArrayVec<[MidiNote; MOST_NOTES]> = sounding
        .map(|(number, _)| MidiNote::clamp(number))
        .collect();
    let mut voicing = named(sounding.iter().copied(), chord);
    voicing.left_hand = hand.left_of_two(&voicing);
    Ok(voicing)
}

/// The notes, from the lowest, with their degrees over a chord, and in the position in which they
/// lie.
pub(crate) fn named(notes: impl Iterator<Item = MidiNote> + Clone, chord: &Chord) -> Voicing {
    let sounds = |degree: Degree| {
        let class = degree.class(chord.root);
        notes.clone().any(|note| note.class() == class)
    };
    let sixth = sixth(chord.quality).filter(|_| !sounds(Flat7) && !sounds(Seven));
    let mut voicing = Voicing::empty(Position::AsPlayed);
    for note in notes.clone() {
        let degree = match (degree(note, chord), sixth) {
            (Thirteen, Some(sixth)) => sixth,
            (Nine, _) if chord.quality == Quality::SuspendedSecond => Two,
            (degree, _) => degree,
        };
        let _pushed = voicing.push(note, degree);
    }
    let seventh = sixth.filter(|sixth| sounds(*sixth));
    voicing.position = voicing.lies(chord.third(), seventh.or(chord.seventh()));
    voicing
}

/// What the note a sixth above the root is in such a chord where no seventh sounds: the sixth of a
/// major, minor or suspended chord, and the seventh of a diminished triad.
const fn sixth(quality: Quality) -> Option<Degree> {
    match quality {
        Quality::Major
        | Quality::MajorSeventh
        | Quality::Minor
        | Quality::MinorSeventh
        | Quality::MinorMajorSeventh
        | Quality::SuspendedSecond => Some(Six),
        Quality::Diminished => Some(DoubleFlat7),
        _ => None,
    }
}

/// The degree of a note over a chord, or the usual one if the chord has no place for it.
fn degree(note: MidiNote, chord: &Chord) -> Degree {
    held(note, chord).unwrap_or_else(|| usual(note, chord.root))
}

/// The degree of a note over a chord, if the chord has a place for it. An altered dominant has none
/// for a natural tension.
pub(super) fn held(note: MidiNote, chord: &Chord) -> Option<Degree> {
    let degree = chord.name(usual(note, chord.root).over(chord.root))?;
    let natural = matches!(degree, Nine | Eleven | Thirteen);
    let unwritten = natural && !chord.degrees().contains(degree);
    (chord.quality != Quality::Altered || !unwritten).then_some(degree)
}

/// The usual degree of a note over a root.
fn usual(note: MidiNote, root: NoteName) -> Degree {
    match note.class().above(root.class()) {
        0 => Root,
        1 => Flat9,
        2 => Nine,
        3 => Flat3,
        4 => Three,
        5 => Eleven,
        6 => Sharp11,
        7 => Five,
        8 => Flat13,
        9 => Thirteen,
        10 => Flat7,
        _ => Seven,
    }
}
