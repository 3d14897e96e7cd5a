//! What the panel shows of the performance, worked out when it may have changed. Runs on the audio
//! thread; imports `block`, `clock`, `parts`, `snapshot` and `timeline`.

use crate::engine::block::BlockContext;
use crate::engine::clock;
use crate::engine::parts::Parts;
use crate::engine::snapshot::Snapshot;
use crate::engine::timeline::Timeline;

/// What is shown, and how long it holds.
#[derive(Debug)]
pub struct Shown {
    snapshot: Snapshot,
    stale: bool,
    playing: bool,
    /// The ticks between which beat and chord of the chart stay the same.
    from_ticks: f64,
    until_ticks: f64,
}

impl Default for Shown {
    fn default() -> Self {
        Shown {
            snapshot: Snapshot::default(),
            stale: true,
            playing: false,
            from_ticks: f64::INFINITY,
            until_ticks: f64::NEG_INFINITY,
        }
    }
}

impl Shown {
    /// What the panel shows, as it was worked out last.
    pub const fn snapshot(&self) -> &Snapshot {
        &self.snapshot
    }

    /// Something that is shown has changed.
    pub const fn mark_stale(&mut self) {
        self.stale = true;
    }

    /// Whether what is shown still holds at a position.
    pub fn holds(&self, position: Option<f64>) -> bool {
        let here = position.is_none_or(|p| p >= self.from_ticks && p < self.until_ticks);
        !self.stale && self.playing == position.is_some() && here
    }

    /// Works out what all sources have in common. The source in force adds its own to what is
    /// returned. `shows_chart` tells whether the place in the chart is shown.
    pub fn renew(
        &mut self,
        context: &BlockContext,
        parts: &Parts,
        position: Option<f64>,
        shows_chart: bool,
    ) -> &mut Snapshot {
        self.stale = false;
        self.playing = position.is_some();
        self.from_ticks = f64::NEG_INFINITY;
        self.until_ticks = f64::INFINITY;
        let shows_chart = shows_chart && !context.settings.bypass;
        let place = context
            .song
            .zip(context.chart())
            .zip(position)
            .filter(|_| shows_chart)
            .and_then(|((song, chart), position)| {
                let span = chart.span_at(position)?;
                let (beat, length) = beat_at(&chart, position)?;
                self.from_ticks = span.start_ticks.max(beat);
                self.until_ticks = span.end_ticks.min(beat + length);
                Some((song, chart, span, beat))
            });
        if place.is_none() && shows_chart && position.is_some_and(|position| position < 0.0) {
            self.until_ticks = 0.0;
        }
        let next = place.as_ref().and_then(|(song, chart, span, _)| {
            let next = chart.span_after(span)?;
            song.voiced(next.change, &context.settings.taste)
        });
        let beat_ticks = place
            .as_ref()
            .and_then(|(song, _, _, beat)| clock::whole(song.within(*beat)));
        self.snapshot = Snapshot {
            source: context.settings.source,
            playing: position.is_some(),
            sounding: parts.notes.sounding().copied(),
            last: parts.notes.last(),
            yielded: parts.notes.yielded(),
            next: next.map(|(placed, _)| placed),
            next_voiced: next.map(|(_, voiced)| voiced),
            held: parts.held.all() | parts.notes.passing(),
            song: place.as_ref().map(|(song, ..)| song.edition),
            beat_ticks,
            change: place.map(|(_, _, span, _)| span.change),
            ..Snapshot::default()
        };
        &mut self.snapshot
    }
}

/// Where the beat in force began, in ticks of the performance, and its length.
fn beat_at(chart: &Timeline, position: f64) -> Option<(f64, f64)> {
    let bar = chart.bar(chart.bar_at(position))?;
    let length = f64::from(bar.meter.beat_ticks());
    let beats = ((position - bar.start_ticks) / length).floor();
    Some((bar.start_ticks + beats * length, length))
}
