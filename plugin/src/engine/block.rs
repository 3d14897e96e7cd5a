//! One block: what the host's glue hands to the performer, and what follows from it under the source
//! in force. Used on the audio thread; imports `bass_input`, `clock`, `planned`, `settings`, `timeline`
//! and `trial`.

use crate::engine::bass_input::BassEvent;
use crate::engine::clock::Clock;
use crate::engine::planned::PlannedChart;
use crate::engine::settings::Settings;
use crate::engine::timeline::Timeline;
use crate::engine::trial::Ask;
use guidehand_theory::chart::Meter;

/// How the chart of a block differs from the one before.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ChartUpdate {
    /// The chart is as before.
    #[default]
    None,
    /// It has been planned anew; the text is the same.
    Planned,
    /// It is another one.
    Edited,
}

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
    /// Whether that chart is new.
    pub update: ChartUpdate,
    /// A chart that takes over at the next bar line.
    pub next_song: Option<&'a PlannedChart>,
    /// What a bass does, in order.
    pub bass_events: &'a [BassEvent],
    /// Where this block begins in the time of those.
    pub bass_from_samples: u32,
    /// What the panel asks to hear, if it has asked since the block before.
    pub audition: Option<&'a Ask>,
}

/// What has come of a block.
#[derive(Clone, Copy, Debug, Default)]
pub struct BlockOutcome {
    /// What the panel shows may have changed.
    pub shows_anew: bool,
    /// The chart that waited has taken over.
    pub next_song_plays: bool,
}

/// The bars that a source lets a rhythm run in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum RhythmBars {
    /// No rhythm runs.
    #[default]
    None,
    /// The bars of the chart.
    Chart,
    /// The bars of the host, over one chord without end.
    Host,
}

/// How a source counts time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Timing {
    /// Positions count from where the chart starts, which may be later than the song.
    pub counts_from_chart: bool,
    /// The bars in which a rhythm runs while the song plays.
    pub bars: RhythmBars,
    /// Bars that the source is ahead of the host.
    pub ahead_bars: i32,
}

impl<'a> Block<'a> {
    /// What a bass does next in this block, after so much that it has done.
    pub fn bass_event(&self, after: usize) -> Option<BassEvent> {
        let event = self.bass_events.get(after)?;
        let time_samples = event.time_samples.saturating_sub(self.bass_from_samples);
        (time_samples < self.frames).then_some(BassEvent {
            time_samples,
            ..*event
        })
    }

    /// The clock as the source counts.
    fn clock(&self, song: Option<&PlannedChart>, timing: Timing) -> Clock {
        match song.filter(|_| timing.counts_from_chart) {
            Some(song) => {
                let bars_before = f64::from(self.settings.chart.from_bar.saturating_sub(1));
                let bar_ticks = f64::from(song.meter().bar_ticks());
                self.clock.starting_at(bars_before * bar_ticks)
            }
            None => self.clock,
        }
    }

    /// How far the source is ahead of the host, in ticks.
    fn shift_ticks(&self, song: Option<&PlannedChart>, ahead_bars: i32) -> f64 {
        let Some(song) = song.filter(|_| ahead_bars != 0) else {
            return 0.0;
        };
        let shift = f64::from(ahead_bars) * f64::from(song.meter().bar_ticks());
        // In a chart that repeats, a source that is behind counts as ahead by the rest of the
        // chart: it must not fall before the beginning.
        if self.settings.chart.repeats && shift < 0.0 {
            shift + song.round_ticks()
        } else {
            shift
        }
    }

    /// What a rhythm runs over, while the song plays.
    fn timeline(&self, song: Option<&'a PlannedChart>, bars: RhythmBars) -> Option<Timeline<'a>> {
        self.clock.position_ticks?;
        match bars {
            _ if self.settings.bypass => None,
            RhythmBars::None => None,
            RhythmBars::Chart => self.chart(song),
            RhythmBars::Host => Some(Timeline::Root(self.clock.meter.unwrap_or(Meter::COMMON))),
        }
    }

    fn chart(&self, song: Option<&'a PlannedChart>) -> Option<Timeline<'a>> {
        song.map(|song| Timeline::Chart {
            song,
            repeats: self.settings.chart.repeats,
        })
    }
}

/// A block under the source in force.
pub struct BlockContext<'a> {
    /// The block itself.
    pub block: &'a Block<'a>,
    /// Its parameters.
    pub settings: &'a Settings,
    /// The chart in force.
    pub song: Option<&'a PlannedChart>,
    /// Whether that chart is new.
    pub update: ChartUpdate,
    /// How the source counts time.
    pub timing: Timing,
    /// The transport as the source counts it.
    pub clock: Clock,
    /// What a rhythm runs over.
    pub timeline: Option<Timeline<'a>>,
    /// Ticks that the clock is ahead of the host.
    pub shift_ticks: f64,
}

impl<'a> BlockContext<'a> {
    /// A block with a chart, under a source that counts time in this way.
    pub fn new(
        block: &'a Block<'a>,
        song: Option<&'a PlannedChart>,
        update: ChartUpdate,
        timing: Timing,
    ) -> BlockContext<'a> {
        let shift_ticks = block.shift_ticks(song, timing.ahead_bars);
        let mut clock = block.clock(song, timing);
        if shift_ticks != 0.0 {
            clock = clock.starting_at(-shift_ticks);
        }
        BlockContext {
            block,
            settings: block.settings,
            song,
            update,
            timing,
            clock,
            timeline: block.timeline(song, timing.bars),
            shift_ticks,
        }
    }

    /// The chart in force, with its repeats, whether or not a rhythm runs over it.
    pub fn chart(&self) -> Option<Timeline<'a>> {
        self.block.chart(self.song)
    }

    /// When a chart that waits takes over: at the first bar line of the block, or at once where no
    /// chart plays, or where the song starts or jumps.
    pub fn takes_over_at(&self) -> Option<u32> {
        self.block.next_song?;
        if self.clock.jumped {
            return Some(0);
        }
        let plays_chart = self.timing.counts_from_chart && !self.settings.bypass;
        let timeline = self.chart().filter(|_| plays_chart);
        let (Some(timeline), Some(here)) = (timeline, self.clock.in_force(0)) else {
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

    /// Whether the song plays. A clock of our own never stops, so it counts only where a rhythm runs
    /// by it.
    pub const fn song_plays(&self) -> bool {
        let clock_runs = !self.clock.ours || self.timeline.is_some();
        self.clock.position_ticks.is_some() && clock_runs
    }

    /// The time signature of the host's bars, if the rhythm runs in them.
    pub fn host_meter(&self) -> Option<Meter> {
        match self.timeline {
            Some(Timeline::Root(meter)) => Some(meter),
            _ => None,
        }
    }
}
