//! What the panel shows of the performance, worked out when it may have changed.
//! Imports `ground`, `listener`, `snapshot` and its parent.

use super::{Performer, Stage};
use crate::engine::clock;
use crate::engine::listener;
use crate::engine::settings::Source;
use crate::engine::snapshot::Snapshot;
use crate::engine::timeline::Timeline;

/// What has been shown, and until when it holds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shown {
    stale: bool,
    playing: bool,
    /// The ticks between which beat and chord of the chart stay the same.
    from_ticks: f64,
    until_ticks: f64,
}

impl Default for Shown {
    fn default() -> Self {
        Shown {
            stale: true,
            playing: false,
            from_ticks: f64::INFINITY,
            until_ticks: f64::NEG_INFINITY,
        }
    }
}

impl Shown {
    /// Something has changed that is shown.
    pub(super) const fn mark_stale(&mut self) {
        self.stale = true;
    }

    fn holds(&self, position: Option<f64>) -> bool {
        let here = position.is_none_or(|p| p >= self.from_ticks && p < self.until_ticks);
        !self.stale && self.playing == position.is_some() && here
    }
}

impl Performer {
    /// What the panel shows, as it was worked out last.
    #[must_use]
    pub const fn snapshot(&self) -> &Snapshot {
        &self.snapshot
    }

    /// Works out what the panel shows, if it may have changed; true if so.
    pub(super) fn show(&mut self, stage: &Stage) -> bool {
        let position = stage.clock.after(stage.block.frames);
        let holds = self.shown.holds(position);
        if !holds {
            self.show_anew(stage, position);
        }
        !holds
    }

    // Apart from the way of every block, which has no room for it.
    #[inline(never)]
    fn show_anew(&mut self, stage: &Stage, position: Option<f64>) {
        let mut shown = Shown {
            stale: false,
            playing: position.is_some(),
            from_ticks: f64::NEG_INFINITY,
            until_ticks: f64::INFINITY,
        };
        let by_chart = match stage.settings.source {
            Source::Chart => true,
            Source::Bass => stage.settings.bass.by_chart,
            Source::Roots | Source::Reading => false,
        };
        let shows_chart = by_chart && !stage.settings.bypass;
        let place = stage
            .song
            .zip(stage.chart())
            .zip(position)
            .filter(|_| shows_chart)
            .and_then(|((song, chart), position)| {
                let span = chart.span_at(position)?;
                let (beat, length) = beat_at(&chart, position)?;
                shown.from_ticks = span.start_ticks.max(beat);
                shown.until_ticks = span.end_ticks.min(beat + length);
                Some((song, chart, span, beat))
            });
        if place.is_none() && shows_chart && position.is_some_and(|position| position < 0.0) {
            shown.until_ticks = 0.0;
        }
        self.shown = shown;
        let next = place.as_ref().and_then(|(song, chart, span, _)| {
            let next = chart.span_after(span)?;
            song.voiced(next.change, &stage.settings.taste)
        });
        let beat_ticks = place
            .as_ref()
            .and_then(|(song, _, _, beat)| clock::whole(song.within(*beat)));
        let reads = stage.settings.source == Source::Reading;
        let heard = self.heard.map(|heard| heard.sounding);
        let held = reads && self.ledger.played_below(stage.settings.split).len() > 1;
        self.snapshot = Snapshot {
            source: stage.settings.source,
            playing: position.is_some(),
            sounding: match reads {
                true if held => heard,
                true => None,
                false => self.playing.map(|playing| playing.sounding),
            },
            last: if reads { heard } else { self.last },
            others: match self.heard {
                Some(heard) if reads => heard.others,
                _ => [None; listener::OTHERS],
            },
            next: next.map(|(placed, _)| placed),
            next_voiced: next.map(|(_, voiced)| voiced),
            held: self.held_keys(),
            beat_ticks,
            change: place.map(|(_, _, span, _)| span.change),
            bass: self.following.making,
        };
    }

    /// The keys that the player holds, ours and those that pass, one bit each.
    fn held_keys(&self) -> u128 {
        let passing = self.ledger.played();
        self.captured.iter().fold(passing, |all, keys| all | keys)
    }
}

/// Where the beat in force began, in ticks of the performance, and its length.
fn beat_at(chart: &Timeline, position: f64) -> Option<(f64, f64)> {
    let bar = chart.bar(chart.bar_at(position))?;
    let length = f64::from(bar.meter.beat_ticks());
    let beats = ((position - bar.start_ticks) / length).floor();
    Some((bar.start_ticks + beats * length, length))
}
