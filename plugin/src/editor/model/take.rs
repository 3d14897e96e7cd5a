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
    /// The numbers of the bars that are new, as they are played, ascending; 0 is a pickup.
    pub bars: Vec<usize>,
    /// Notes that are left out, because the chart no longer has their bar in its place.
    pub without_bar: usize,
    /// Notes for which there was no room.
    pub lost: u32,
}

impl Became {
    /// What there is to tell of it.
    #[must_use]
    pub fn words(&self) -> String {
        let notes = |count: usize| match count {
            1 => "1 note".to_owned(),
            count => format!("{count} notes"),
        };
        let mut words = match self.bars.as_slice() {
            [] => "Nothing was played over the chart.".to_owned(),
            [0] => "The pickup is new.".to_owned(),
            [bar] => format!("Bar {bar} is new."),
            bars => format!("Bars {} are new.", ranges(bars)),
        };
        if self.without_bar > 0 {
            let left_out = notes(self.without_bar);
            words += &format!(" The chart no longer has the bars of {left_out}.");
        }
        if let lost @ 1.. = usize::try_from(self.lost).unwrap_or(usize::MAX) {
            let lost = notes(lost);
            words += &format!(" There was no room for {lost} while the panel was closed.");
        }
        words
    }
}

/// Numbers that ascend, as ranges.
fn ranges(numbers: &[usize]) -> String {
    let runs = numbers.chunk_by(|a, b| a + 1 == *b);
    let words = runs.filter_map(|run| match (run.first()?, run.last()?) {
        (first, last) if first == last => Some(first.to_string()),
        (first, last) => Some(format!("{first} to {last}")),
    });
    words.collect::<Vec<_>>().join(", ")
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

    /// The melody of a chart with the bars of a take that is over; none while one is under way, or if
    /// nothing was played. A take waits as long as the chart or its melody cannot be read.
    pub fn ended(
        &mut self,
        chart: &Chart,
        melody: &Melody,
        outside: &mut dyn Outside,
    ) -> Option<Melody> {
        if self.stage != Stage::Ending || !outside.take_has_ended() {
            return None;
        }
        // The last notes came before it was told that they have.
        self.take_in(outside);
        let Merged {
            melody: merged,
            bars,
            without_bar,
        } = passes::merge(melody, &self.passes, chart);
        let first = usize::from(!chart.has_pickup());
        *self = Takes {
            became: Some(Became {
                notes: self.passes.count(),
                bars: bars.into_iter().map(|bar| bar + first).collect(),
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
