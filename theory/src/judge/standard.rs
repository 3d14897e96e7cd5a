//! What counts as right for one question. Imports `question`.

use super::question::{Accepts, Question};
use crate::candidates::Register;
use crate::chord::Chord;
use crate::degree::Degree::{self, Root};
use crate::degree::Family;
use crate::own_shape::OwnShape;
use crate::pin::{self, Edge, Misfit, Verdict};
use crate::pitch::{MidiNote, PitchClass};
use crate::shape::Texture;
use crate::voicing::{Voice, Voicing};

/// What counts as right for one question.
pub(super) struct Standard<'a> {
    pub question: &'a Question,
    pub accepts: Accepts,
    pub register: Register,
    /// The texture that is asked for, if it is one of the table.
    pub texture: Option<Texture>,
    pub room: Room,
}

/// Where an answer may lie.
#[derive(Clone, Copy)]
pub(super) struct Room {
    /// The lowest and the highest key.
    pub lowest: MidiNote,
    pub highest: MidiNote,
    /// The semitones that one hand spans.
    pub at_most: u8,
    /// Whether two hands play.
    pub two_hands: bool,
}

impl Room {
    /// The register with what its edges and the texture allow beyond it, and in any case the place
    /// of the voicing that is asked for.
    fn new(asked: &Voicing, register: Register, texture: Option<Texture>) -> Room {
        let at_most = register.hand.at_most;
        let two_hands = asked.right_hand() > 0 || asked.span() > at_most;
        let own = || OwnShape::leeway(two_hands).headroom;
        let headroom = texture.map_or_else(own, Texture::headroom);
        let beyond = i32::from(register.edges.beyond());
        let lowest = MidiNote::clamp(register.lowest.semitones() - beyond);
        let highest = register.highest.semitones() + i32::from(headroom) + beyond;
        let highest = MidiNote::clamp(highest);
        Room {
            lowest: asked.lowest().map_or(lowest, |low| low.min(lowest)),
            highest: asked.highest().map_or(highest, |high| high.max(highest)),
            at_most,
            two_hands,
        }
    }

    /// The end of the register beyond which a note lies.
    pub fn beyond(&self, note: MidiNote) -> Option<Edge> {
        if note < self.lowest {
            Some(Edge::Bottom)
        } else if note > self.highest {
            Some(Edge::Top)
        } else {
            None
        }
    }

    /// The semitones that the hands span, if that is more than they reach.
    pub fn too_wide(&self, voicing: &Voicing) -> Option<u8> {
        let span = if self.two_hands {
            voicing.left_span().max(voicing.right_span())
        } else {
            voicing.span()
        };
        (span > self.at_most).then_some(span)
    }

    /// Whether a voicing lies within the register and the reach of the hands, and sounds clear.
    pub fn holds(&self, voicing: &Voicing) -> bool {
        let inside = voicing.notes().all(|note| self.beyond(note).is_none());
        inside && self.too_wide(voicing).is_none() && voicing.low_intervals() == 0
    }
}

impl<'a> Standard<'a> {
    pub fn new(question: &'a Question, accepts: Accepts, register: Register) -> Standard<'a> {
        let texture = question.texture(register);
        Standard {
            question,
            accepts,
            register,
            texture,
            room: Room::new(&question.voiced.voicing, register, texture),
        }
    }

    /// The voicing that is asked for.
    pub const fn asked(&self) -> &'a Voicing {
        &self.question.voiced.voicing
    }

    /// The voicings that are right note for note: the one that is asked for, then those in other
    /// positions, if they count.
    pub fn exact(&self) -> impl Iterator<Item = Voicing> + use<> {
        let either = self.question.either_position;
        let others = either.then(|| self.other_positions());
        core::iter::once(*self.asked()).chain(others.into_iter().flatten())
    }

    /// The voicings of the texture in other positions than the one that is asked for.
    pub fn other_positions(&self) -> impl Iterator<Item = Voicing> + use<> {
        let position = self.asked().position;
        let laid = self.texture.map(|t| self.question.laid(t, self.register));
        let laid = laid.into_iter().flatten();
        laid.filter(move |voicing| voicing.position != position)
    }

    /// Whether these notes, read by degree, are right.
    pub fn is_right(&self, voicing: &Voicing) -> bool {
        let exact = || self.exact().any(|right| right.notes().eq(voicing.notes()));
        match self.accepts {
            Accepts::Exact => exact(),
            Accepts::SameTensions => self.has_same_tensions(voicing) || exact(),
            Accepts::AnyGood => self.has_same_tensions(voicing) || self.is_good(voicing) || exact(),
        }
    }

    /// Whether these are the degrees that are asked for, in a place where the hand can lie.
    pub fn has_same_tensions(&self, voicing: &Voicing) -> bool {
        same_classes(voicing, self.asked()) && self.lies_well(voicing)
    }

    /// Whether a voicing lies in the room, with no minor ninth.
    fn lies_well(&self, voicing: &Voicing) -> bool {
        let chord = &self.question.placed.chord;
        self.room.holds(voicing) && pin::minor_ninths(voicing, chord).next().is_none()
    }

    /// Whether this is a good voicing of the chord, whatever was asked for.
    pub fn is_good(&self, voicing: &Voicing) -> bool {
        voicing.voices().len() >= 2
            && self.lies_well(voicing)
            && self.objections(voicing).next().is_none()
    }

    /// Whether a verdict takes nothing from a good voicing, or is about where it lies, which
    /// [`Standard::lies_well`] judges.
    fn is_borne(&self, verdict: &Verdict) -> bool {
        match verdict {
            Verdict::SharpNineInside
            | Verdict::Stretch { .. }
            | Verdict::TwoHands { .. }
            | Verdict::TooWide { .. }
            | Verdict::LowInterval { .. }
            | Verdict::MinorNinth { .. }
            | Verdict::OutOfRegister { .. } => true,
            Verdict::RootSounds => self.asks_for_the_root(),
            Verdict::Misfit(_) | Verdict::Clash { .. } => false,
        }
    }

    /// Whether the root is among what is asked for.
    fn asks_for_the_root(&self) -> bool {
        self.asked().degrees().contains(Root)
    }

    /// Whether this is the root of a chord that is to be without it.
    pub fn is_unwanted_root(&self, note: MidiNote) -> bool {
        let chord = &self.question.placed.chord;
        note.class() == chord.root.class() && !self.asks_for_the_root() && !pin::keeps_root(chord)
    }

    /// What speaks against a note in a voicing, whatever the other notes do to it: it has no place
    /// in the chord, contradicts it, or clashes.
    pub fn objection(&self, voice: Voice, voicing: &Voicing) -> Option<Verdict> {
        let chord = &self.question.placed.chord;
        let about = |verdict: &Verdict| match verdict {
            Verdict::Misfit(Misfit::NoPlace(note) | Misfit::Against { note, .. })
            | Verdict::Clash { note, .. } => note.midi() == Some(voice.note),
            _ => false,
        };
        pin::verdicts(voicing, chord, self.register).find(about)
    }

    /// What speaks against the notes of a voicing together, wherever they lie.
    pub fn objections(&self, voicing: &Voicing) -> impl Iterator<Item = Verdict> {
        let chord = &self.question.placed.chord;
        let verdicts = pin::verdicts(voicing, chord, self.register);
        let verdicts = verdicts.filter(|verdict| !self.is_borne(verdict));
        verdicts.chain(mixed(voicing, chord))
    }

    /// Whether the chord needs this degree: it is one of its guide tones.
    pub fn is_guide_tone(&self, degree: Degree) -> bool {
        let chord = &self.question.placed.chord;
        [chord.third(), chord.seventh()].contains(&Some(degree))
    }
}

/// Whether two voicings have the same pitch classes, each as often.
pub(super) fn same_classes(one: &Voicing, other: &Voicing) -> bool {
    classes(one) == classes(other)
}

/// How often each pitch class sounds.
pub(super) fn classes(voicing: &Voicing) -> [u8; 12] {
    let count = |class: i32| {
        let class = PitchClass::wrapping(class);
        let notes = voicing.notes().filter(|note| note.class() == class);
        notes.map(|_| 1).sum()
    };
    [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11].map(count)
}

/// A natural tension that sounds together with an altered one of its family, which no good voicing
/// has (common practice, no published source).
fn mixed(voicing: &Voicing, chord: &Chord) -> Option<Verdict> {
    let families = [Family::Ninth, Family::Eleventh, Family::Thirteenth];
    families.into_iter().find_map(|family| {
        let member = |altered: bool| {
            let fits = |d: Degree| d.family() == Some(family) && d.is_altered() == altered;
            voicing.voices().iter().find(|voice| fits(voice.degree))
        };
        let (natural, altered) = (member(false)?, member(true)?);
        Some(Verdict::Clash {
            note: natural.degree.over(chord.root).at(natural.note),
            degree: natural.degree,
            against: altered.degree,
        })
    })
}
