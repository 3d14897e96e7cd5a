//! A bass beside the chart: how many bars it is ahead, and which chord it has moved off its beat.
//! Imports `struck`, `intent`, `parts`, `rhythm`, `ticks` and the bass crate.

use super::super::struck::{Playing, Struck};
use crate::engine::intent::{ChordEvent, Intent, chart_key};
use crate::engine::parts::Now;
use crate::engine::rhythm::{ChordSpan, Strike};
use crate::engine::ticks::EIGHTH_TICKS;
use guidehand_bass::roots::{Place, Standing};

/// A late bass delays its chord by at most so much, in ticks.
const LATE_TICKS: f64 = 2.25 * EIGHTH_TICKS;

/// A chord that the bass has moved off its beat.
#[derive(Clone, Copy, Debug)]
struct Moved {
    change: usize,
    /// Until then it sounds in place of the chart's, in ticks.
    until_ticks: f64,
    early: bool,
}

/// What follows a bass through the chart.
#[derive(Debug, Default)]
pub struct InChart {
    /// Bars that the bass is ahead of the host.
    ahead_bars: i32,
    moved: Option<Moved>,
    /// The change that was struck last.
    struck: Option<usize>,
}

impl InChart {
    /// Bars that the bass is ahead of the host.
    pub const fn ahead_bars(&self) -> i32 {
        self.ahead_bars
    }

    /// The bass is ahead by another number of bars, and no chord is moved.
    pub const fn lead_by(&mut self, ahead_bars: i32) {
        self.ahead_bars = ahead_bars;
        self.moved = None;
    }

    /// No chord is moved any more.
    pub const fn put_back(&mut self) {
        self.moved = None;
    }

    /// When a chord that the bass has delayed is due after all, in ticks.
    pub fn late_until_ticks(&self) -> Option<f64> {
        let late = self.moved.filter(|moved| !moved.early);
        late.map(|moved| moved.until_ticks)
    }

    /// The bass is early, late, or on time, and the chord goes with it.
    pub(super) fn move_chord(&mut self, place: &Place, by: &mut Struck, now: &Now) -> Intent {
        let chart = now.context.chart().zip(now.position());
        let Some(here) = chart.and_then(|(chart, position)| chart.span_at(position)) else {
            return Intent::Hold;
        };
        let standing = if place.change == here.change {
            // It was early, and by now the chart is there too.
            Standing::OnTime
        } else {
            place.standing
        };
        let held = now.settings().groove.rhythm.by_changes();
        match standing {
            Standing::OnTime => {
                let late = self.moved.take().is_some_and(|moved| !moved.early);
                if late && self.struck != Some(here.change) {
                    return Intent::Rejoin { struck: true };
                }
            }
            Standing::Early => {
                self.moved = Some(Moved {
                    change: place.change,
                    until_ticks: here.end_ticks,
                    early: true,
                });
                if held && now.sounds() && self.struck != Some(place.change) {
                    let playing = Playing::of_span(here.end_ticks);
                    return self.sound_change((playing, place.change), by, now);
                }
            }
            Standing::Late => {
                self.moved = Some(Moved {
                    change: place.change,
                    until_ticks: here.start_ticks + LATE_TICKS,
                    early: false,
                });
                if now.sounds() && self.struck == Some(here.change) {
                    return Intent::Rejoin { struck: true };
                }
            }
            Standing::Lost => self.moved = None,
        }
        Intent::Hold
    }

    /// Strikes a chord of the chart before its time. The strike on its time finds it sounding.
    fn sound_change(&mut self, of: (Playing, usize), by: &mut Struck, now: &Now) -> Intent {
        match by.charted(of, true, now) {
            Some(chord) => {
                self.struck = Some(of.1);
                Intent::Sound(ChordEvent::held(chord, chart_key(now.settings()), true))
            }
            None => Intent::Hold,
        }
    }

    /// The change that is played at a position in ticks, where the chart has this span.
    pub fn change_at(&self, at_ticks: f64, span: &ChordSpan) -> usize {
        let moved = self.moved.filter(|moved| at_ticks < moved.until_ticks);
        moved.map_or(span.change, |moved| moved.change)
    }

    /// Whether a strike only goes on with what the bass has struck early.
    pub fn goes_on(&mut self, strike: &Strike, change: usize, now: &Now) -> bool {
        let same = self.struck.replace(change) == Some(change);
        let early = self.moved.is_some_and(|moved| moved.early);
        let begins = early && strike.span.change == change;
        if begins {
            self.moved = None;
        }
        begins && same && now.settings().groove.rhythm.by_changes() && now.sounds()
    }
}
