//! The judgement of an answer. Imports `answer`, `finding`, `standard` and `pairing`.

use super::answer::Answer;
use super::finding::{Finding, Judgement};
use super::pairing::{Pairing, folded};
use super::question::{Accepts, Question, same_shape};
use super::standard::{Standard, same_classes};
use crate::candidates::Register;
use crate::chord::Chord;
use crate::degree::Degree::{self, DoubleFlat7, Flat7, Flat11, Four, Seven, Six};
use crate::pin::{self, Misfit, Verdict};
use crate::pitch::MidiNote;
use crate::quality::Quality;
use crate::shape::Slot;
use crate::voicing::{MOST_NOTES, Position, Voice, Voicing};

/// The most octaves that a whole hand is looked for above or below its place: as many as the keys
/// of MIDI have.
const MOST_OCTAVES: i8 = 10;

/// The most octaves that a hand with something wrong in it is looked for above or below its place.
const MOST_OCTAVES_WITH_MISTAKES: i8 = 2;

/// More than one note in another octave costs, and less than two: what it costs to take the whole
/// hand for an octave off.
const WHOLE_HAND: u16 = 100;

/// Judges notes that are held together, in any order. The work is bounded and nothing allocates.
///
/// Enharmonic names make no difference, for keys are compared. The register and its hand count
/// where more than the voicing itself is right ([`Accepts`]), and for the other position.
///
/// What is wrong is told slot by slot, from the pairing of the notes that needs the fewest and
/// smallest mistakes. If the whole hand is an octave off, or lies in another position, this is told
/// once and not for each note. Where the notes are right and only lie badly, it is told why.
#[must_use]
pub fn judge(
    question: &Question,
    notes: &[MidiNote],
    accepts: Accepts,
    register: Register,
) -> Judgement {
    let standard = Standard::new(question, accepts, register);
    let answer = Answer::of(notes);
    let played = answer.voicing(&question.placed.chord, register.hand);
    let mut judgement = Judgement::new(played, false);
    if let Some(count) = too_many(answer) {
        judgement.tell(Finding::TooMany(count));
        standard.tell_of_many(answer, &mut judgement);
    } else if standard.is_right(&played) {
        judgement = Judgement::new(played, true);
        standard.tell_right(&played, &mut judgement);
    } else if let Some(finding) = standard.whole_hand(&played) {
        judgement.tell(finding);
    } else if standard.accepts == Accepts::AnyGood {
        standard.tell_what_is_not_good(&played, &mut judgement);
    } else if standard.any_octave() && same_classes(&played, standard.asked()) {
        standard.tell_right(&played, &mut judgement);
        standard.tell_where(&played, &mut judgement);
    } else {
        standard.tell_mistakes(&played, &mut judgement);
    }
    judgement
}

/// How many keys are held, if they are more than a voicing holds.
fn too_many(answer: Answer) -> Option<u8> {
    let count = u8::try_from(answer.count()).unwrap_or(u8::MAX);
    (usize::from(count) > MOST_NOTES).then_some(count)
}

impl Standard<'_> {
    /// Whether each note counts in any octave.
    pub(super) fn any_octave(&self) -> bool {
        self.accepts != Accepts::Exact
    }

    const fn chord(&self) -> &Chord {
        &self.question.placed.chord
    }

    /// A note of the answer by the degree that was asked for, if it is one of those.
    fn as_asked(&self, voice: Voice) -> Voice {
        let same = |asked: &&Voice| asked.note.class() == voice.note.class();
        let asked = self.asked().voices().iter().find(same);
        Voice {
            degree: asked.map_or(voice.degree, |asked| asked.degree),
            ..voice
        }
    }

    /// Every note is right.
    fn tell_right(&self, played: &Voicing, judgement: &mut Judgement) {
        for voice in played.voices() {
            judgement.tell(Finding::Right(self.as_asked(*voice)));
        }
    }

    /// What there is to tell of more notes than a voicing holds: each that was asked for.
    fn tell_of_many(&self, answer: Answer, judgement: &mut Judgement) {
        for asked in self.asked().voices() {
            let apart = |note: &MidiNote| note.number().abs_diff(asked.note.number());
            let same = answer.notes().filter(|n| n.class() == asked.note.class());
            let nearest = same.min_by_key(apart);
            judgement.tell(match nearest {
                Some(note) if note == asked.note || self.any_octave() => {
                    Finding::Right(Voice { note, ..*asked })
                }
                Some(played) => Finding::OtherOctave {
                    asked: *asked,
                    played,
                },
                None => Finding::Missing(*asked),
            });
        }
    }

    /// What there is to tell of an answer whose notes are right among each other: that all of it
    /// lies some octaves off, or in another position.
    fn whole_hand(&self, played: &Voicing) -> Option<Finding> {
        let off = |octaves: &i8| {
            let there = played.transposed(-12 * octaves);
            there.is_some_and(|there| self.is_right(&there))
        };
        // Ten octaves in half steps still fit into eight bits.
        let mut octaves = (1..=MOST_OCTAVES).flat_map(|octaves| [octaves, -octaves]);
        if let Some(octaves) = octaves.find(off) {
            return Some(Finding::OctaveOff(octaves));
        }
        if self.any_octave() || !same_classes(played, self.asked()) {
            return None;
        }
        let asked = self.asked().position;
        let played = self.position(played)?;
        (played != asked).then_some(Finding::OtherPosition { asked, played })
    }

    /// The position in which the notes that are asked for are played: that of the voicing of the
    /// texture that they are, or the slot that is lowest of those within an octave.
    fn position(&self, played: &Voicing) -> Option<Position> {
        if same_shape(played, self.asked()) {
            return Some(self.asked().position);
        }
        let mut others = self.other_positions();
        let other = others.find(|voicing| same_shape(voicing, played));
        let close = played.span() < 12 && played.position != Position::AsPlayed;
        other
            .map(|voicing| voicing.position)
            .or(close.then_some(played.position))
    }

    /// Why right notes lie badly.
    fn tell_where(&self, played: &Voicing, judgement: &mut Judgement) {
        let (room, root) = (&self.room, self.chord().root);
        if let Some(span) = room.too_wide(played) {
            let at_most = room.at_most;
            judgement.tell(Finding::NotGood(if room.two_hands {
                Verdict::TooWide { span, at_most }
            } else {
                Verdict::TwoHands { span, at_most }
            }));
        }
        let spelled = |voice: Voice| self.as_asked(voice).degree.over(root).at(voice.note);
        for (low, high) in played.low_pairs() {
            let (low, high) = (spelled(low), spelled(high));
            judgement.tell(Finding::NotGood(Verdict::LowInterval { low, high }));
        }
        for verdict in pin::minor_ninths(played, self.chord()) {
            judgement.tell(Finding::NotGood(verdict));
        }
        for voice in played.voices() {
            if let Some(edge) = room.beyond(voice.note) {
                let note = spelled(*voice);
                judgement.tell(Finding::NotGood(Verdict::OutOfRegister { note, edge }));
            }
        }
    }

    /// What is wrong, slot by slot: against the voicing that is asked for, or against the one that
    /// counts as well and needs fewer mistakes.
    fn tell_mistakes(&self, played: &Voicing, judgement: &mut Judgement) {
        let mut best: Option<(u16, Voicing, i8)> = None;
        let shifts = if self.any_octave() {
            0..=0
        } else {
            -MOST_OCTAVES_WITH_MISTAKES..=MOST_OCTAVES_WITH_MISTAKES
        };
        for target in self.exact() {
            for octaves in shifts.clone() {
                let Some(moved) = target.transposed(12 * octaves) else {
                    continue;
                };
                let Some(price) = self.price(&moved, played, octaves) else {
                    continue;
                };
                if best.is_none_or(|(known, _, off)| (price, octaves.abs()) < (known, off.abs())) {
                    best = Some((price, moved, octaves));
                }
            }
        }
        let Some((_, target, octaves)) = best else {
            return;
        };
        if octaves != 0 {
            judgement.tell(Finding::OctaveOff(octaves));
        }
        let pairing = Pairing::cheapest(self, &target, played);
        for (asked, at) in target.voices().iter().zip(pairing.stands) {
            let played = at.and_then(|at| played.voices().get(at));
            judgement.tell(self.slot(*asked, played.copied()));
        }
        self.tell_others(&target, &pairing, played, judgement);
    }

    /// What it costs to take an answer for this target. None if the target is some octaves off and
    /// the answer is not: a note of it lies in another octave again, or fewer than two are right.
    fn price(&self, target: &Voicing, played: &Voicing, octaves: i8) -> Option<u16> {
        let pairing = Pairing::cheapest(self, target, played);
        if octaves == 0 {
            return Some(pairing.price);
        }
        let pairs = target.voices().iter().zip(pairing.stands);
        let apart = pairs.filter_map(|(asked, at)| {
            let note = played.voices().get(at?)?.note;
            Some(note.semitones() - asked.note.semitones())
        });
        let (mut right, mut again) = (0, 0);
        for apart in apart {
            right += u8::from(apart == 0);
            again += u8::from(apart.abs() > 6);
        }
        let each = u16::from(octaves.unsigned_abs() - 1);
        (right >= 2 && again == 0).then_some(pairing.price + WHOLE_HAND + each)
    }

    /// What there is to tell of one note that was asked for, and of the one that stands for it.
    fn slot(&self, asked: Voice, played: Option<Voice>) -> Finding {
        let Some(played) = played else {
            return Finding::Missing(asked);
        };
        let apart = played.note.semitones() - asked.note.semitones();
        if folded(apart) != 0 {
            let near = played.note.semitones() - folded(apart);
            let near = MidiNote::clamp(near);
            let note = if self.any_octave() { near } else { asked.note };
            let degree = in_the_place_of(asked.degree, played, self);
            return Finding::Off {
                asked: Voice { note, ..asked },
                played: Voice { degree, ..played },
            };
        }
        if apart == 0 || self.any_octave() {
            Finding::Right(Voice {
                note: played.note,
                ..asked
            })
        } else {
            let played = played.note;
            Finding::OtherOctave { asked, played }
        }
    }

    /// What there is to tell of the notes that stand for none that was asked for.
    fn tell_others(
        &self,
        target: &Voicing,
        pairing: &Pairing,
        played: &Voicing,
        judgement: &mut Judgement,
    ) {
        for (at, voice) in played.voices().iter().enumerate() {
            if !pairing.stands.contains(&Some(at)) {
                judgement.tell(self.too_much(*voice, target, pairing, played));
            }
        }
    }

    /// What there is to tell of a note that stands for none that was asked for.
    fn too_much(
        &self,
        voice: Voice,
        target: &Voicing,
        pairing: &Pairing,
        played: &Voicing,
    ) -> Finding {
        if self.is_unwanted_root(voice.note) {
            return Finding::RootPlayed(voice.note);
        }
        let pairs = target.voices().iter().zip(pairing.stands);
        let mut twice = pairs.filter_map(|(asked, at)| {
            let note = played.voices().get(at?)?.note;
            let same = note.class() == voice.note.class();
            same.then_some(Voice { note, ..*asked })
        });
        if let Some(kept) = twice.next() {
            let played = voice.note;
            return Finding::Doubled { kept, played };
        }
        if self.has_no_place(voice, played) {
            Finding::NoPlace(voice)
        } else {
            Finding::NotAsked(voice)
        }
    }

    /// Whether the chord has no place for a note, or has another seventh.
    fn has_no_place(&self, voice: Voice, played: &Voicing) -> bool {
        let seventh = self.chord().seventh();
        match self.objection(voice, played) {
            Some(Verdict::Misfit(Misfit::NoPlace(_))) => true,
            Some(Verdict::Misfit(Misfit::Against { written, .. })) => Some(written) == seventh,
            _ => false,
        }
    }

    /// What keeps an answer from being a good voicing. A note that is not as asked is right if
    /// nothing speaks against it, and a note that was asked for may be missing unless it is a guide
    /// tone. If every note is right, it is told what they do to each other and where they lie.
    fn tell_what_is_not_good(&self, played: &Voicing, judgement: &mut Judgement) {
        let asked = self.asked();
        let pairing = Pairing::cheapest(self, asked, played);
        let mut wrong = false;
        let mut tell = |finding: Finding| {
            wrong |= !finding.is_right();
            judgement.tell(finding);
        };
        for (asked, at) in asked.voices().iter().zip(pairing.stands) {
            let voice = at.and_then(|at| played.voices().get(at)).copied();
            let finding = self.slot(*asked, voice);
            let needed = self.is_guide_tone(asked.degree);
            match (finding, voice) {
                (Finding::Missing(_), _) if !needed => {}
                (Finding::Off { .. }, Some(voice))
                    if !needed && self.objection(voice, played).is_none() =>
                {
                    tell(Finding::Right(voice));
                }
                (finding, _) => tell(finding),
            }
        }
        for (at, voice) in played.voices().iter().enumerate() {
            if !pairing.stands.contains(&Some(at)) {
                tell(match self.objection(*voice, played) {
                    _ if self.is_unwanted_root(voice.note) => Finding::RootPlayed(voice.note),
                    Some(_) if self.has_no_place(*voice, played) => Finding::NoPlace(*voice),
                    Some(verdict) => Finding::NotGood(verdict),
                    None => Finding::Right(*voice),
                });
            }
        }
        if wrong {
            return;
        }
        let before = judgement.findings().len();
        for verdict in self.objections(played) {
            judgement.tell(Finding::NotGood(verdict));
        }
        self.tell_where(played, judgement);
        if judgement.findings().len() == before {
            // Too few notes, and none of them wrong.
            for (asked, at) in asked.voices().iter().zip(pairing.stands) {
                if at.is_none() {
                    judgement.tell(Finding::Missing(*asked));
                }
            }
        }
    }
}

/// The degree of a note that stands in the place of another: the one with the same number, if there
/// is one. In the place of a third it is a fourth rather than an eleventh, and in the place of a
/// seventh a sixth rather than a thirteenth. A degree that the symbol states keeps its name.
fn in_the_place_of(asked: Degree, played: Voice, standard: &Standard<'_>) -> Degree {
    let usual = played.degree;
    let chord = standard.chord();
    if chord.degrees().contains(usual) {
        return usual;
    }
    let (place, same) = (asked.interval().steps, usual.interval());
    if standard.question.slot(asked) == Slot::Third && same.semitones == Four.interval().semitones {
        return Four;
    }
    let diminished = chord.quality == Quality::DiminishedSeventh;
    let sixth = matches!(asked, Flat7 | Seven) && same.semitones == Six.interval().semitones;
    if sixth && !diminished {
        return Six;
    }
    if same.steps == place {
        return usual;
    }
    let fits = |degree: &Degree| {
        let interval = degree.interval();
        let rare = matches!(degree, Flat11 | DoubleFlat7);
        interval.semitones == same.semitones && interval.steps == place && !rare
    };
    Degree::ALL.into_iter().find(fits).unwrap_or(usual)
}
