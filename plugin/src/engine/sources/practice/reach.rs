//! Which keys are part of an answer. Imports `lesson`, `open` and the parts of the engine.

use super::lesson::Taught;
use super::open::Open;
use crate::engine::ledger::Keys;
use crate::engine::parts::Now;
use guidehand_theory::pitch::MidiNote;

/// Which keys are part of an answer. Those above, up to an octave, are while the chord lacks notes: a
/// finger may be a half step or an octave too high. Otherwise they are the right hand's.
#[derive(Clone, Copy, Debug)]
pub struct Reach {
    /// Keys below this one are part of an answer, 0 to 127.
    pub below: u8,
}

impl Reach {
    /// The reach for these open questions: below the split, or as high as the register and the chords
    /// that are asked for reach.
    pub fn of(taught: &Taught, open: &[Open], now: &Now) -> Reach {
        let asked = open.iter().filter_map(|open| taught.asked(open.question));
        let tops = asked.filter_map(|asked| asked.question.voiced.voicing.highest());
        let asked = tops.map(MidiNote::number).max().unwrap_or(0);
        let settings = now.settings();
        let register = settings.taste.register.highest.number();
        let top = register.max(asked).saturating_add(1);
        Reach {
            below: settings.split.max(top).min(127),
        }
    }

    /// The keys below.
    pub const fn lower(self) -> Keys {
        (1 << self.below) - 1
    }

    /// The keys above, up to an octave.
    pub const fn upper(self) -> Keys {
        0xFFF << self.below
    }
}
