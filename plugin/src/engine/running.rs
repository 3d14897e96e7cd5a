//! The rhythm that runs while the song plays: where it is, and what it strikes next. Runs on the audio
//! thread; imports `block`, `comping` and `rhythm`.

use crate::engine::block::{BlockContext, ChartUpdate};
use crate::engine::comping::Comping;
use crate::engine::rhythm::{Groove, Strike};
use guidehand_theory::chart::Meter;

/// The rhythm that runs.
#[derive(Debug, Default)]
pub struct RunningRhythm {
    comping: Comping,
    runs: bool,
    /// The tempo that the current bar was worked out for.
    bpm: f64,
    /// The time signature of the host's bars, where the rhythm runs in them.
    host_meter: Option<Meter>,
    /// What the room that is left to the right hand adds to the density, in the current bar.
    room: f64,
}

/// What comes of looking for the place in the rhythm.
pub enum Located {
    /// The rhythm goes on, or none runs.
    Unmoved,
    /// The rhythm has stopped.
    Stopped,
    /// The rhythm has a new place.
    Found {
        /// What sounds there.
        strike: Option<Strike>,
        /// It is struck there.
        struck: bool,
    },
}

impl RunningRhythm {
    /// Whether a rhythm runs.
    pub const fn runs(&self) -> bool {
        self.runs
    }

    /// The place is no longer the right one; it will be found anew.
    pub const fn lose_place(&mut self) {
        self.runs = false;
    }

    /// How the rhythm is played in the current bar.
    fn groove(&self, context: &BlockContext) -> Groove {
        let groove = context.settings.groove;
        Groove {
            density: (groove.density + self.room).clamp(-1.0, 1.0),
            ..groove
        }
    }

    /// Finds the place in the rhythm when time starts, stops or jumps, and when the chart or the
    /// rhythm is new. `room` tells what is added to the density from there on, for a bar of this time
    /// signature.
    pub fn locate(
        &mut self,
        context: &BlockContext,
        groove_moved: bool,
        time: u32,
        room: impl FnOnce(Meter) -> f64,
    ) -> Located {
        let place = context.timeline.as_ref().zip(context.clock.in_force(time));
        let Some((timeline, position)) = place else {
            if std::mem::take(&mut self.runs) {
                self.comping.leave();
                return Located::Stopped;
            }
            return Located::Unmoved;
        };
        let bpm = context.clock.bpm;
        let jumped = !self.runs || context.clock.jumped && time == 0;
        let update = context.update;
        let host_meter = context.host_meter();
        let other_bars = std::mem::replace(&mut self.host_meter, host_meter) != host_meter;
        if jumped || groove_moved || other_bars || update != ChartUpdate::None {
            self.runs = true;
            self.bpm = bpm;
            // A chart that has only been planned anew leaves the bar as it is.
            if jumped || groove_moved || other_bars {
                let bar = timeline.bar(timeline.bar_at(position));
                self.room = room(bar.map_or(Meter::COMMON, |bar| bar.meter));
            }
            let groove = &self.groove(context);
            let strike = self.comping.locate(timeline, groove, bpm, position);
            // What starts at this very sample has not been struck yet.
            let begins =
                |strike: &Strike| strike.start_ticks > position - context.clock.ticks_per_sample;
            let struck = jumped || strike.as_ref().is_some_and(begins);
            if struck || context.settings.at_once || update == ChartUpdate::Edited {
                return Located::Found { strike, struck };
            }
        } else if self.bpm != bpm {
            self.bpm = bpm;
            if context.settings.groove.follows_tempo() {
                let groove = &self.groove(context);
                self.comping.renew(timeline, groove, bpm);
            }
        }
        Located::Unmoved
    }

    /// Looks for the place in the rhythm again: what sounds there. The outer option is none where
    /// there is no rhythm.
    pub fn rejoin(&mut self, context: &BlockContext, time: u32) -> Option<Option<Strike>> {
        let timeline = context.timeline.as_ref()?;
        let position = context.clock.in_force(time)?;
        let (groove, bpm) = (&self.groove(context), context.clock.bpm);
        Some(self.comping.locate(timeline, groove, bpm, position))
    }

    /// The earliest time at which something may be due, in ticks.
    pub fn due_ticks(&self) -> f64 {
        if self.runs {
            self.comping.due_ticks()
        } else {
            f64::INFINITY
        }
    }

    /// The next strike, if it may start before a position.
    pub fn next(&mut self, context: &BlockContext, until_ticks: f64) -> Option<Strike> {
        let timeline = context.timeline.as_ref().filter(|_| self.runs)?;
        if leaves_room(context) {
            return self.comping.next_of_bar();
        }
        let (groove, bpm) = (&self.groove(context), context.clock.bpm);
        self.comping.next(timeline, groove, bpm, until_ticks)
    }

    /// When the next bar is to be opened, in ticks, if that has to happen at its time: how it is played
    /// depends on what the right hand has played by then.
    pub fn opens_at(&self, context: &BlockContext) -> Option<f64> {
        let waits = self.runs && leaves_room(context) && context.timeline.is_some();
        self.comping.opens_at().filter(|_| waits)
    }

    /// Opens the next bar. `room` tells what is added to its density, from the time signature of the
    /// bar that ends.
    pub fn open_bar(&mut self, context: &BlockContext, room: impl FnOnce(Meter) -> f64) {
        if let Some((timeline, bar)) = context.timeline.as_ref().zip(self.comping.bar()) {
            self.room = room(bar.meter);
            let groove = &self.groove(context);
            self.comping.open_next(timeline, groove, context.clock.bpm);
        }
    }

    /// Counts the next strike as played.
    pub fn advance(&mut self) {
        self.comping.advance();
    }
}

/// Whether the rhythm leaves room to the right hand.
fn leaves_room(context: &BlockContext) -> bool {
    context.settings.right_hand.space > 0.0
}
