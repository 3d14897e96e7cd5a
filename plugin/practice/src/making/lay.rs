//! Where the notes of asked chords lie: the cheapest way through an item, in the position that is asked
//! for. Imports `cell`, `choice`, `drill`, `told` and the theory.

use crate::cell::Cell;
use crate::choice::AskedPosition;
use crate::drill::Asked;
use crate::told::{LeftOut, Told};
use guidehand_theory::candidates::{Hand, Register};
use guidehand_theory::dressing::StockDressing;
use guidehand_theory::judge::Question;
use guidehand_theory::key::Key;
use guidehand_theory::own_shape::Own;
use guidehand_theory::pipeline::{ChordInKey, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::{Ends, Offer, Origin, Voiced};
use guidehand_theory::quality::Quality;
use guidehand_theory::tension::{self, Choices};
use guidehand_theory::voicing::{Form, Voicing};

/// A chord that is to be asked for.
#[derive(Clone, Copy, Debug)]
pub(super) struct ToLay {
    /// The chord in its key.
    pub placed: ChordInKey,
    /// What it is dressed in, if the player has chosen that.
    pub dressing: Option<StockDressing>,
    /// Only the first choice of tensions counts, so that a progression sounds alike in all keys.
    pub first_choice: bool,
    /// The voicing that the player has placed.
    pub pinned: Option<Voicing>,
    /// When it falls.
    pub start_ticks: u32,
    /// How long it lasts.
    pub length_ticks: u32,
    /// The chart's change.
    pub change: Option<usize>,
}

/// What is asked in one go, with its notes.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    /// The questions.
    pub questions: Vec<Asked>,
    /// The key.
    pub key: Key,
    /// Where it starts.
    pub start_ticks: u32,
    /// How long it lasts.
    pub length_ticks: u32,
}

/// How chords are laid.
#[derive(Clone, Copy, Debug)]
pub(super) struct Layer<'a> {
    /// Texture, register, hand and requests.
    pub taste: &'a Taste,
    /// The own shapes in force.
    pub own: Own<'a>,
    /// The position.
    pub position: AskedPosition,
}

impl AskedPosition {
    /// Whether a voicing of a chord of this quality lies so.
    fn admits(self, voicing: &Voicing, quality: Quality) -> bool {
        use guidehand_theory::voicing::Position;
        let form = || Form::of(voicing.position, quality);
        match self {
            AskedPosition::Either => true,
            AskedPosition::Third => voicing.position == Position::Third,
            AskedPosition::Seventh => voicing.position == Position::Seventh,
            AskedPosition::FormA => form() == Form::A,
            AskedPosition::FormB => form() == Form::B,
        }
    }
}

impl Layer<'_> {
    /// The questions for chords in a row, led from one to the next, and those of the chords that have no
    /// place, with the reason.
    pub fn lay(&self, chords: &[ToLay], ends: Ends) -> (Vec<Asked>, Vec<(ToLay, LeftOut)>) {
        let mut left_out = Vec::new();
        let mut asked = Vec::new();
        let mut lists = Vec::new();
        for one in chords {
            match self.voicings(one) {
                Ok(list) => {
                    asked.push(one);
                    lists.push(list);
                }
                Err(why) => left_out.push((*one, why)),
            }
        }
        let path = self.taste.setting().path(lists, ends);
        let questions = asked.into_iter().zip(path);
        let questions = questions.map(|(one, voiced)| self.asked(one, voiced));
        (questions.collect(), left_out)
    }

    fn asked(&self, one: &ToLay, voiced: Voiced) -> Asked {
        let cell = Cell::of(&one.placed, &voiced.voicing);
        Asked {
            question: Question {
                placed: one.placed,
                voiced,
                either_position: self.position == AskedPosition::Either,
            },
            cell: cell.map(|cell| match one.dressing {
                Some(dressing) => Cell {
                    dressing: dressing.degrees(),
                    ..cell
                },
                None => cell,
            }),
            start_ticks: one.start_ticks,
            length_ticks: one.length_ticks,
            change: one.change,
        }
    }

    /// The voicings that a chord may be asked in, with their prices.
    fn voicings(&self, one: &ToLay) -> Result<Vec<(u32, Voiced)>, LeftOut> {
        let chord = &one.placed.chord;
        if let Some(pinned) = one.pinned
            && self.position.admits(&pinned, chord.quality)
        {
            return Ok(vec![(
                0,
                guidehand_theory::pipeline::pinned(&one.placed, &pinned),
            )]);
        }
        let register = self.taste.register;
        let fits = |offer: &Offer| match offer.origin {
            // Where nothing fits the register, the texture gives what lies above its bottom.
            Origin::Texture(texture) => {
                let (lowest, start, highest) = register.edges_for(texture);
                let beyond = i32::from(register.edges.beyond());
                let voicing = &offer.voiced.voicing;
                let ends = voicing.lowest().zip(voicing.highest());
                ends.is_some_and(|(low, high)| {
                    let (low, high) = (low.semitones(), high.semitones());
                    low >= lowest - beyond && low <= start + beyond && high <= highest + beyond
                })
            }
            Origin::Own(_) => true,
        };
        let found = self.offers(one, register);
        let found: Vec<_> = found.filter(fits).map(|o| (o.alone, o.voiced)).collect();
        if !found.is_empty() {
            return Ok(found);
        }
        let anywhere = Register {
            lowest: MidiNote::clamp(36),
            highest: MidiNote::clamp(108),
            room: 36,
            ..register
        };
        let any_hand = Register {
            hand: Hand {
                at_ease: u8::MAX,
                at_most: u8::MAX,
            },
            ..anywhere
        };
        Err(if self.offers(one, anywhere).next().is_some() {
            LeftOut::Register
        } else if self.offers(one, any_hand).next().is_some() {
            LeftOut::Span
        } else {
            LeftOut::Position
        })
    }

    /// The voicings in the position that is asked for.
    fn offers(&self, one: &ToLay, register: Register) -> impl Iterator<Item = Offer> + use<> {
        let chord = one.placed.chord;
        let mut choices: Choices = match one.dressing {
            Some(dressing) => [dressing.tensions()].into_iter().collect(),
            None => tension::resolve(&chord, &one.placed.function, self.taste.requests),
        };
        if one.first_choice {
            choices.retain(|choice| choice.rank == 0);
        }
        let setting = guidehand_theory::plan::Setting {
            register,
            ..self.taste.setting()
        };
        let position = self.position;
        let all: Vec<Offer> = setting
            .with_own(self.own)
            .offers(&chord, &choices)
            .collect();
        let lies = move |o: &Offer| position.admits(&o.voiced.voicing, chord.quality);
        all.into_iter().filter(lies)
    }
}

/// What there is to tell of chords that are left out, once for each reason.
pub(super) fn left_out(all: &[(ToLay, LeftOut)]) -> Vec<Told> {
    let reasons = [LeftOut::Span, LeftOut::Register, LeftOut::Position];
    let of_reason = |why: LeftOut| {
        let mut chords = all.iter().filter(|(_, reason)| *reason == why);
        let count = chords.clone().count();
        let (first, _) = chords.next()?;
        Some(Told::LeftOut {
            why,
            count,
            first: first.placed.written,
        })
    };
    reasons.into_iter().filter_map(of_reason).collect()
}

/// A word of care if a hand spans more than it takes at ease.
pub(super) fn wide(questions: &[Asked], hand: Hand) -> Option<Told> {
    let spans = questions.iter().map(|asked| {
        let voicing = &asked.question.voiced.voicing;
        voicing.left_span().max(voicing.right_span())
    });
    let wide: Vec<u8> = spans.filter(|span| *span > hand.at_ease).collect();
    let span = wide.iter().copied().max()?;
    Some(Told::Wide {
        count: wide.len(),
        span,
    })
}
