//! The recording of the right hand: a take that the player begins and ends, and what has come of it so
//! far. The panel's thread; `pages` keeps it, and `apply` and `state` change it. Imports `outside` and
//! `passes`.

use crate::editor::model::outside::Outside;
use crate::editor::model::passes::{self, Merged, Passes};
use crate::engine::taken::Taken;
use guidehand_theory::chart::Chart;
use guidehand_theory::melody::Melody;

/// What a player asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TakeAction {
    /// A take begins.
    Begin,
    /// It ends, and becomes the melody of the bars that were played.
    End,
}

/// How far a take has come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Stage {
    /// None is recorded.
    #[default]
    Idle,
    /// It is recorded.
    On,
    /// The player has ended it. It waits for the last notes, and for a text that can be read.
    Ending,
}

/// What a take has become.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Became {
    /// The notes that were played.
    pub notes: usize,
    /// The bars that are new, as indices into [`Chart::bars`], ascending.
    pub bars: Vec<usize>,
    /// Notes that are left out, because the chart no longer has their bar in its place.
    pub without_bar: usize,
    /// Notes for which there was no room.
    pub lost: u32,
}

/// The recording of the right hand.
#[derive(Debug, Default)]
pub struct Takes {
    stage: Stage,
    /// The number of the take.
    number: u32,
    /// The audio thread has begun it.
    begun: bool,
    passes: Passes,
    /// What the take before has become.
    became: Option<Became>,
}

impl Takes {
    /// How far a take has come.
    #[must_use]
    pub const fn stage(&self) -> Stage {
        self.stage
    }

    /// How many notes of it have come so far.
    #[must_use]
    pub const fn notes(&self) -> usize {
        self.passes.count()
    }

    /// What the last take has become.
    #[must_use]
    pub const fn became(&self) -> Option<&Became> {
        self.became.as_ref()
    }

    /// Carries out what the player asked for.
    pub fn apply(&mut self, action: TakeAction, outside: &mut dyn Outside) {
        match (action, self.stage) {
            (TakeAction::Begin, Stage::Idle) => {
                *self = Takes {
                    stage: Stage::On,
                    number: outside.begin_take(),
                    ..Takes::default()
                };
            }
            (TakeAction::End, Stage::On) => {
                outside.end_take();
                self.stage = Stage::Ending;
            }
            _ => {}
        }
    }

    /// Takes in what has come. Once a frame.
    pub fn take_in(&mut self, outside: &mut dyn Outside) {
        // What comes of a take after its end does not count.
        let on = self.stage != Stage::Idle;
        let Takes {
            number,
            begun,
            passes,
            ..
        } = self;
        outside.take_in(&mut |taken| match taken {
            Taken::Begun(other) => *begun = on && other == *number,
            taken if *begun => passes.put(taken),
            _ => {}
        });
    }

    /// The melody with the bars of a take that is over; none while one is under way. `read` is the chart
    /// with its melody, as far as both can be read. Until then the take waits.
    pub fn ended(
        &mut self,
        read: Option<(&Chart, &Melody)>,
        outside: &mut dyn Outside,
    ) -> Option<Melody> {
        let (chart, melody) = read.filter(|_| self.stage == Stage::Ending)?;
        if !outside.take_has_ended() {
            return None;
        }
        // The last notes came before it was told that they have.
        self.take_in(outside);
        let Merged {
            melody: merged,
            bars,
            without_bar,
        } = passes::merge(melody, &self.passes, chart);
        *self = Takes {
            became: Some(Became {
                notes: self.passes.count(),
                bars,
                without_bar,
                lost: outside.lost_of_take(),
            }),
            ..Takes::default()
        };
        (merged != *melody).then_some(merged)
    }
}

#[cfg(test)]
mod tests;
