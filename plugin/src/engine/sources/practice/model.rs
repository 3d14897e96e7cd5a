//! The right chord after an answer. Imports `lesson` and the parts of the engine.

use super::lesson::Taught;
use crate::engine::intent::{ChordEvent, Intent, chart_key};
use crate::engine::ledger::Keys;
use crate::engine::parts::Now;

/// It sounds for so many seconds.
const SOUNDS_SECONDS: f64 = 1.0;

/// The right chord after an answer.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Model {
    /// None is to sound.
    #[default]
    None,
    /// That of a question sounds once no key is down.
    Waits(u32),
    /// It sounds until then, in samples since the last reset.
    Sounds(u64),
}

impl Model {
    /// It is not to sound, unless it does already.
    pub const fn forget(&mut self) {
        if let Model::Waits(_) = self {
            *self = Model::None;
        }
    }

    /// It sounds, once these keys, which are down, are none.
    pub fn sound(&mut self, held: Keys, taught: &Taught, now: &Now) -> Intent {
        let Model::Waits(question) = *self else {
            return Intent::Hold;
        };
        if held != 0 {
            return Intent::Hold;
        }
        let Some(asked) = taught.asked(question) else {
            *self = Model::None;
            return Intent::Hold;
        };
        *self = Model::Sounds(now.after(SOUNDS_SECONDS));
        let chord = (asked.question.placed, asked.question.voiced.into());
        Intent::Sound(ChordEvent::held(chord, chart_key(now.settings()), true))
    }

    /// It ends, or is not to sound any longer.
    pub const fn silence(&mut self) -> Intent {
        match std::mem::replace(self, Model::None) {
            Model::Sounds(_) => Intent::Release,
            Model::None | Model::Waits(_) => Intent::Hold,
        }
    }
}
