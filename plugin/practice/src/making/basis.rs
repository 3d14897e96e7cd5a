//! What a drill is made from, and the drill that is made of its items. Imports `lay`.

use super::lay::{self, Laid};
use crate::drill::{Drill, Item};
use crate::exercise::Exercise;
use crate::picker::Standing;
use crate::record::{Record, Time};
use crate::told::{self, NoDrill, Told};
use guidehand_theory::chart::Meter;
use guidehand_theory::own_shape::OwnShape;
use guidehand_theory::pipeline::Taste;

/// The most questions of a drill.
pub const MOST_QUESTIONS: usize = 4096;

/// What a drill is made from.
#[derive(Clone, Copy, Debug)]
pub struct Making<'a> {
    /// The number that it gets.
    pub number: u64,
    /// What the player has chosen.
    pub exercise: &'a Exercise,
    /// How the player voices chords.
    pub taste: &'a Taste,
    /// The player's own shapes, used if the taste asks for them.
    pub shapes: &'a [OwnShape],
    /// What has been asked and answered so far.
    pub record: &'a Record,
    /// Now.
    pub now: Time,
}

/// A drill with what goes with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Made {
    /// The drill. It has at least one question.
    pub drill: Drill,
    /// How well each item is known, for the picker.
    pub standings: Vec<Standing>,
    /// What of the exercise cannot be asked, or asks for care.
    pub told: Vec<Told>,
}

impl Made {
    /// What there is to tell, one sentence after the other; none if there is nothing.
    #[must_use]
    pub fn told(&self) -> Option<String> {
        (!self.told.is_empty()).then(|| told::sentences(&self.told))
    }
}

impl Making<'_> {
    /// The drill of these items, cut if they are too many.
    pub(super) fn made(
        &self,
        meter: Meter,
        laid: impl IntoIterator<Item = (Laid, Standing)>,
        mut told: Vec<Told>,
    ) -> Result<Made, NoDrill> {
        let mut drill = Drill {
            number: self.number,
            exercise: self.exercise.clone(),
            meter,
            questions: Vec::new(),
            items: Vec::new(),
        };
        let mut standings = Vec::new();
        for (mut laid, standing) in laid {
            let room = MOST_QUESTIONS - drill.questions.len();
            if laid.questions.len() > room {
                // What is asked in one go is cut only if it does not fit by itself.
                laid.questions
                    .truncate(if drill.items.is_empty() { room } else { 0 });
                let kept = drill.questions.len() + laid.questions.len();
                told.push(Told::Cut { kept });
            }
            let index = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
            let from = index(drill.questions.len());
            if laid.questions.is_empty() {
                break;
            }
            drill.questions.extend(laid.questions);
            drill.items.push(Item {
                questions: from..index(drill.questions.len()),
                key: laid.key,
                start_ticks: laid.start_ticks,
                length_ticks: laid.length_ticks,
            });
            standings.push(standing);
        }
        if drill.items.is_empty() {
            return Err(NoDrill::NothingLeft(told));
        }
        let register = &self.taste.register;
        told.extend(lay::wide(&drill.questions, register.hand));
        Ok(Made {
            drill,
            standings,
            told,
        })
    }
}
