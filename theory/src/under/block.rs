//! A block chord: the melody and the voices below it. It is `Copy` and of fixed size. Imports
//! `rule` and `style`.

use super::rule::{Low, Replacement, Rule, Why};
use super::style::Style;
use crate::chord::Chord;
use crate::degree::Degree;
use crate::pitch::{MidiNote, NoteName};
use crate::voicing::{Position, Voicing};
use tinyvec::ArrayVec;

/// A melody note with the voices below it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Block {
    /// The notes with their degrees, from the lowest. The highest one is the melody. The left hand
    /// takes as many as it says.
    pub voicing: Voicing,
    /// The root that the degrees count from: that of the chord in force, of a passing chord, or of
    /// a chord a half step off. None if there is no chord.
    pub root: Option<NoteName>,
    /// The style in which it lies. It is four-way close where the style that was asked for lies too
    /// low to sound clear.
    pub style: Style,
    /// The style that was asked for.
    pub asked: Style,
    /// Why the melody has this chord.
    pub rule: Rule,
    /// What else stands in the place of a chord tone, or of a tension that the symbol writes.
    pub instead: ArrayVec<[Replacement; 4]>,
    /// How many voices are left out because they would lie too low to sound clear.
    pub left_out: u8,
    /// The chord in force.
    pub chord: Option<Chord>,
    /// Its choice of tensions, by the place in the list of choices. A passing chord has the one of
    /// the chord around it, if that is known.
    pub dressing: Option<u8>,
}

impl Block {
    /// The melody alone.
    #[must_use]
    pub fn single(melody: MidiNote, why: Why, chord: Option<&Chord>) -> Block {
        let root = chord.map(|c| c.root);
        let above = |root: NoteName| melody.class().above(root.class());
        let degree = root.map_or(Degree::Root, |root| plain_name(above(root)));
        let mut voicing = Voicing::empty(Position::AsPlayed);
        voicing.push(melody, degree);
        Block {
            voicing,
            root,
            rule: Rule::Single(why),
            chord: chord.copied(),
            ..Block::default()
        }
    }

    /// The melody.
    #[must_use]
    pub fn melody(&self) -> Option<MidiNote> {
        self.voicing.highest()
    }

    /// How it yields to a melody that lies low.
    pub fn low(&self) -> impl Iterator<Item = Low> {
        // With two voices there is none to drop.
        let voices = self.voicing.voices().len() + usize::from(self.left_out);
        let close = self.style != self.asked && !self.is_single() && voices > 2;
        let close = close.then_some(Low::CloseInsteadOf(self.asked));
        let without = (self.left_out > 0).then_some(Low::Without(self.left_out));
        close.into_iter().chain(without)
    }

    /// Whether the melody sounds alone.
    #[must_use]
    pub fn is_single(&self) -> bool {
        self.voicing.voices().len() < 2
    }
}

/// The name of a note over a root of which nothing is known.
pub(super) fn plain_name(semitones: u8) -> Degree {
    const NAMES: [Degree; 12] = [
        Degree::Root,
        Degree::Flat9,
        Degree::Nine,
        Degree::Sharp9,
        Degree::Three,
        Degree::Eleven,
        Degree::Sharp11,
        Degree::Five,
        Degree::Flat13,
        Degree::Thirteen,
        Degree::Flat7,
        Degree::Seven,
    ];
    let name = NAMES.get(usize::from(semitones % 12));
    name.copied().unwrap_or(Degree::Root)
}
