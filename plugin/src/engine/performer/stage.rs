//! One block as the performer sees it: what holds for it, and what follows from that. Imports `clock`,
//! `ear`, `ground`, `rhythm`, `settings`, `song` and its siblings' words for a bass.

use super::News;
use super::bass::{Lead, Way};
use crate::engine::clock::Clock;
use crate::engine::ear::Sound;
use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::Rhythm;
use crate::engine::settings::{Settings, Source};
use crate::engine::timeline::Timeline;
use guidehand_theory::chart::Meter;

/// What holds for one block.
#[derive(Clone, Copy)]
pub struct Block<'a> {
    /// The parameters.
    pub settings: &'a Settings,
    /// They may have changed since the block before.
    pub settings_moved: bool,
    /// The transport.
    pub clock: Clock,
    /// The block's length in samples.
    pub frames: u32,
    /// The chart.
    pub song: Option<&'a PlannedChart>,
    /// What is new of the chart.
    pub news: News,
    /// A chart that takes over at the next bar line.
    pub next_song: Option<&'a PlannedChart>,
    /// What a bass does, in order.
    pub sounds: &'a [Sound],
}

impl<'a> Block<'a> {
    /// The clock as it counts for what is played: a chart may start late in the
    /// song.
    fn clock(&self, song: Option<&PlannedChart>) -> Clock {
        let by_chart = match self.settings.source {
            Source::Chart | Source::Reading => true,
            Source::Bass => self.settings.bass.by_chart,
            Source::Roots => false,
        };
        match song.filter(|_| by_chart) {
            Some(song) => {
                let bars_before = f64::from(self.settings.from_bar.saturating_sub(1));
                let bar_ticks = f64::from(song.meter().bar_ticks());
                self.clock.starting_at(bars_before * bar_ticks)
            }
            None => self.clock,
        }
    }

    /// How far a bass is from where the host has the chart, in ticks.
    fn shift_ticks(&self, song: Option<&PlannedChart>, shift_bars: i32) -> f64 {
        let Some(song) = song.filter(|_| shift_bars != 0) else {
            return 0.0;
        };
        let shift = f64::from(shift_bars) * f64::from(song.meter().bar_ticks());
        // A chart that starts again is ahead rather than before its beginning.
        if self.settings.repeats && shift < 0.0 {
            shift + song.round_ticks()
        } else {
            shift
        }
    }

    /// What a rhythm is played over, while time passes.
    fn timeline(&self, song: Option<&'a PlannedChart>, lead: Lead) -> Option<Timeline<'a>> {
        self.clock.position_ticks?;
        let rhythm = self.settings.groove.rhythm;
        let root = || Some(Timeline::Root(self.clock.meter.unwrap_or(Meter::COMMON)));
        match self.settings.source {
            _ if self.settings.bypass => None,
            Source::Chart if rhythm != Rhythm::Played => self.chart(song),
            Source::Roots if rhythm.by_pattern() => root(),
            Source::Bass if lead.alive => match Way::of(self.settings, &self.clock, song) {
                Way::Chart => self.chart(song),
                Way::Key if rhythm.by_pattern() => root(),
                _ => None,
            },
            _ => None,
        }
    }

    fn chart(&self, song: Option<&'a PlannedChart>) -> Option<Timeline<'a>> {
        song.map(|song| Timeline::Chart {
            song,
            repeats: self.settings.repeats,
        })
    }
}

/// A block and what follows from it.
pub(super) struct Stage<'a> {
    pub(super) block: &'a Block<'a>,
    pub(super) settings: &'a Settings,
    /// The chart in force.
    pub(super) song: Option<&'a PlannedChart>,
    pub(super) news: News,
    pub(super) clock: Clock,
    pub(super) timeline: Option<Timeline<'a>>,
    /// How a bass leads.
    pub(super) lead: Lead,
    /// Ticks of the clock that the bass has added.
    pub(super) shift_ticks: f64,
}

impl<'a> Stage<'a> {
    pub(super) fn new(
        block: &'a Block<'a>,
        song: Option<&'a PlannedChart>,
        news: News,
        lead: Lead,
    ) -> Stage<'a> {
        let shift_ticks = block.shift_ticks(song, lead.shift_bars);
        let mut clock = block.clock(song);
        if shift_ticks != 0.0 {
            clock = clock.starting_at(-shift_ticks);
        }
        Stage {
            block,
            settings: block.settings,
            song,
            news,
            clock,
            timeline: block.timeline(song, lead),
            lead,
            shift_ticks,
        }
    }

    /// The same block as a bass leads from now on.
    pub(super) fn led(&self, lead: Lead) -> Stage<'a> {
        Stage::new(self.block, self.song, News::None, lead)
    }

    /// The chart in force, with its repeats.
    pub(super) fn chart(&self) -> Option<Timeline<'a>> {
        self.block.chart(self.song)
    }

    /// When a chart that waits takes over: at the first bar line of the block, or
    /// at once where no chart plays.
    pub(super) fn takes_over_at(&self) -> Option<u32> {
        self.block.next_song?;
        let (Some(timeline @ Timeline::Chart { .. }), Some(here)) =
            (&self.timeline, self.clock.in_force(0))
        else {
            return Some(0);
        };
        let Some(bar) = timeline.bar(timeline.bar_at(here)) else {
            return Some(0);
        };
        if here - bar.start_ticks < self.clock.ticks_per_sample {
            return Some(0);
        }
        self.clock.sample_of(bar.end_ticks(), self.block.frames)
    }

    /// The time signature of the bars under a held root.
    pub(super) fn root_meter(&self) -> Option<Meter> {
        match self.timeline {
            Some(Timeline::Root(meter)) => Some(meter),
            _ => None,
        }
    }
}
