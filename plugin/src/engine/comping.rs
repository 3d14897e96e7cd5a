//! The place in the rhythm: which strikes are over, and which one is next. Runs on the audio thread,
//! and in the panel when a score is written. Imports `rhythm`, `ticks` and `timeline`.

use crate::engine::rhythm::{Groove, LONGEST_TICKS, PlayedBar, Strike, Strikes};
use crate::engine::ticks::EIGHTH_TICKS;
use crate::engine::timeline::Timeline;

/// The strikes of the current bar.
#[derive(Debug, Default)]
pub struct Comping {
    bar: Option<PlayedBar>,
    strikes: Strikes,
    /// The strike that comes next.
    next: usize,
}

impl Comping {
    /// Goes to a position, and returns the strike that sounds there. The work is bounded, and
    /// nothing is allocated.
    pub fn locate(
        &mut self,
        timeline: &Timeline,
        groove: &Groove,
        bpm: f64,
        position_ticks: f64,
    ) -> Option<Strike> {
        let here = self.bar_of(timeline, position_ticks);
        let sounding = self.sounding_before(timeline, groove, bpm, position_ticks, here);
        self.open(timeline, groove, bpm, here);
        if self.bar.is_none() && here < 0 {
            // During a count-in the first bar is next.
            self.open(timeline, groove, bpm, 0);
        }
        let strikes = self.strikes.as_slice().iter();
        let started = strikes.filter(|strike| strike.start_ticks <= position_ticks);
        self.next = started.count();
        sounding
    }

    /// Works out the current bar again, and keeps the place in it.
    pub fn renew(&mut self, timeline: &Timeline, groove: &Groove, bpm: f64) {
        if let Some(bar) = self.bar {
            self.strikes
                .work_out(&bar, &timeline.spans(&bar), groove, bpm);
        }
    }

    /// Gives up the place.
    pub fn leave(&mut self) {
        self.bar = None;
        self.strikes.clear();
    }

    /// The next strike, if it may start before a position. Goes on to later bars in search of it.
    pub fn next(
        &mut self,
        timeline: &Timeline,
        groove: &Groove,
        bpm: f64,
        until_ticks: f64,
    ) -> Option<Strike> {
        loop {
            if let Some(strike) = self.next_of_bar() {
                return Some(strike);
            }
            if self.opens_at()? >= until_ticks {
                return None;
            }
            self.open_next(timeline, groove, bpm);
        }
    }

    /// The next strike of the current bar.
    #[must_use]
    pub fn next_of_bar(&self) -> Option<Strike> {
        self.strikes.as_slice().get(self.next).copied()
    }

    /// When the next bar begins to matter, in ticks. None while strikes of this one are left, and
    /// where there is no bar.
    #[must_use]
    pub fn opens_at(&self) -> Option<f64> {
        // A strike may come before its bar, by as much as the lead.
        let bar = self.bar.filter(|_| self.next_of_bar().is_none())?;
        Some(bar.end_ticks() - bar.lead_ticks)
    }

    /// Goes on to the next bar.
    pub fn open_next(&mut self, timeline: &Timeline, groove: &Groove, bpm: f64) {
        if let Some(bar) = self.bar {
            self.open(timeline, groove, bpm, bar.number.saturating_add(1));
        }
    }

    /// The bar whose strikes come next.
    #[must_use]
    pub const fn bar(&self) -> Option<&PlayedBar> {
        self.bar.as_ref()
    }

    /// Counts the next strike as played.
    pub fn advance(&mut self) {
        self.next += 1;
    }

    /// The earliest time at which something may be due, in ticks.
    #[must_use]
    pub fn due_ticks(&self) -> f64 {
        let strike = self.next_of_bar().map(|strike| strike.start_ticks);
        strike.or_else(|| self.opens_at()).unwrap_or(f64::INFINITY)
    }

    /// The bar whose strikes may sound, or come next, at a position.
    fn bar_of(&self, timeline: &Timeline, position_ticks: f64) -> i64 {
        let here = timeline.bar_at(position_ticks);
        let coming = timeline.bar(here.saturating_add(1));
        let early = coming.is_some_and(|bar| position_ticks >= bar.start_ticks - bar.lead_ticks);
        here.saturating_add(i64::from(early))
    }

    fn open(&mut self, timeline: &Timeline, groove: &Groove, bpm: f64, number: i64) {
        self.bar = timeline.bar(number);
        self.next = 0;
        self.strikes.clear();
        self.renew(timeline, groove, bpm);
    }

    /// The strike that sounds at a position. It may belong to an earlier bar.
    fn sounding_before(
        &mut self,
        timeline: &Timeline,
        groove: &Groove,
        bpm: f64,
        position_ticks: f64,
        here: i64,
    ) -> Option<Strike> {
        if groove.rhythm.by_changes() {
            let starts = timeline.span_at(position_ticks)?.start_ticks;
            let places = [position_ticks - EIGHTH_TICKS, starts, starts - EIGHTH_TICKS];
            let bars = std::iter::once(here).chain(places.map(|place| timeline.bar_at(place)));
            return bars
                .filter_map(|bar| self.last_in(timeline, groove, bpm, position_ticks, bar))
                .max_by(|a, b| a.start_ticks.total_cmp(&b.start_ticks))
                .filter(|strike| strike.end_ticks > position_ticks);
        }
        let mut number = here;
        loop {
            let bar = timeline.bar(number)?;
            if bar.end_ticks() <= position_ticks - LONGEST_TICKS {
                return None;
            }
            if let Some(strike) = self.last_in(timeline, groove, bpm, position_ticks, number) {
                return Some(strike).filter(|strike| strike.end_ticks > position_ticks);
            }
            number = number.checked_sub(1)?;
        }
    }

    /// The last strike of a bar that has started by a position.
    fn last_in(
        &mut self,
        timeline: &Timeline,
        groove: &Groove,
        bpm: f64,
        position_ticks: f64,
        number: i64,
    ) -> Option<Strike> {
        self.open(timeline, groove, bpm, number);
        let strikes = self.strikes.as_slice().iter().rev();
        let mut started = strikes.filter(|strike| strike.start_ticks <= position_ticks);
        started.find(|strike| strike.sounds()).copied()
    }
}
