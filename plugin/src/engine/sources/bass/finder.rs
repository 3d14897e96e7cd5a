//! Finds the root of a bass, or its place in the chart, in bars of one meter. Imports `ticks` and the
//! bass crate.

use crate::engine::ticks::QUARTER_TICKS;
use guidehand_bass::roots::{Decider, Follower};
use guidehand_theory::chart::Meter;

/// Both ways to understand a bass, in bars of the same length.
#[derive(Debug)]
pub struct Finder {
    /// Finds roots without a chart.
    pub decider: Decider,
    /// Finds the place in a chart.
    pub follower: Follower,
    beats_in_bar: f64,
}

impl Default for Finder {
    fn default() -> Self {
        Finder::new(4.0)
    }
}

impl Finder {
    fn new(beats_in_bar: f64) -> Finder {
        Finder {
            decider: Decider::new(beats_in_bar),
            follower: Follower::new(beats_in_bar),
            beats_in_bar,
        }
    }

    /// Counts in bars of a meter; what is known of bars of another length is void.
    pub fn count_in(&mut self, meter: Meter) {
        let beats = f64::from(meter.bar_ticks()) / QUARTER_TICKS;
        if beats != self.beats_in_bar {
            *self = Finder::new(beats);
        }
    }

    /// The length of a bar in ticks.
    pub fn bar_ticks(&self) -> f64 {
        self.beats_in_bar * QUARTER_TICKS
    }
}
