//! Records what the right hand plays over the chart: keys by their place in the chart as it is played,
//! pass by pass. A pass ends where time goes to another place of the chart. Runs on the audio thread;
//! imports `block`, `clock`, `events`, `ledger` and `taken`.

use crate::engine::block::BlockContext;
use crate::engine::clock::{self, Ahead};
use crate::engine::events::Port;
use crate::engine::ledger::Keys;
use crate::engine::taken::{Taken, TakenBar, TakenNote};

/// Time that is further off than this has gone to another place, in ticks. Hosts that change the tempo
/// are less far off.
const TURN_TICKS: f64 = 60.0;

/// A key that goes down so much before the chart starts is meant for its start, in ticks: half of an
/// eighth of a triplet.
const EARLY_TICKS: f64 = 160.0;

/// The keys of MIDI.
const KEYS: usize = 128;

/// Where a key went down.
#[derive(Clone, Copy, Debug, Default)]
struct Start {
    ticks: u32,
    pass: u32,
    off_beat: f32,
    bar: TakenBar,
}

/// A place in the chart at a sample.
#[derive(Clone, Copy, Debug)]
struct Here {
    /// Since the last reset.
    samples: u64,
    /// In the performance, in ticks.
    position: f64,
    /// In the chart, in ticks.
    place: f64,
    /// How often the chart has started again.
    round: f64,
    /// The chart.
    edition: u64,
    /// Its length, and the place where it starts again.
    length_ticks: u32,
    pickup_ticks: u32,
}

/// The recording of the right hand.
#[derive(Debug)]
pub struct Recording {
    /// The take that the player wants; 0 is none.
    wanted: u32,
    /// The take under way; 0 is none.
    number: u32,
    pass: u32,
    /// A key has been down in this pass.
    played: bool,
    /// None while the chart does not play.
    here: Option<Here>,
    /// Where a reset has ended what was held.
    interrupted: Option<u32>,
    /// The keys that are down, one bit each.
    down: Keys,
    starts: [Start; KEYS],
}

impl Default for Recording {
    fn default() -> Self {
        Recording {
            wanted: 0,
            number: 0,
            pass: 0,
            played: false,
            here: None,
            interrupted: None,
            down: 0,
            starts: [Start::default(); KEYS],
        }
    }
}

/// A tick as a whole number.
fn whole(ticks: f64) -> u32 {
    clock::whole(ticks.max(0.0).round()).unwrap_or(u32::MAX)
}

impl Here {
    /// The place in the chart at a sample of the block; none while the chart does not play.
    fn at(context: &BlockContext, time: u32, samples: u64) -> Option<Here> {
        Here::of(context, context.clock.in_force(time)?, samples)
    }

    /// The place that a block has come to at its end. Where the chart or a loop ends there, it is the end:
    /// what comes after it belongs to the next block.
    fn at_end(context: &BlockContext, samples: u64) -> Option<Here> {
        let clock = &context.clock;
        let position = clock.in_force(context.block.frames)?;
        Here::of(context, position - 2.0 * clock.tolerance_ticks(), samples)
    }

    fn of(context: &BlockContext, position: f64, samples: u64) -> Option<Here> {
        let settings = context.settings;
        if settings.bypass || !settings.plays_chart() || !context.timing.counts_from_chart {
            return None;
        }
        let (song, chart) = context.song.zip(context.chart())?;
        let within = if (-EARLY_TICKS..0.0).contains(&position) {
            0.0
        } else {
            position
        };
        chart.holds(within).then(|| Here {
            samples,
            position,
            place: song.within(within),
            round: song.round_at(within),
            edition: song.edition,
            length_ticks: song.length_ticks,
            pickup_ticks: song.pickup_ticks,
        })
    }

    /// The ticks that have passed until another sample.
    fn passed(&self, context: &BlockContext, samples: u64) -> f64 {
        let passed = samples.saturating_sub(self.samples);
        #[expect(clippy::cast_precision_loss, reason = "exact below 2^53")]
        let passed = passed as f64 * context.clock.ticks_per_sample;
        match context.clock.ahead {
            // Time waits at the end of a loop.
            Ahead::Wait(range) => passed.min((range.end_ticks - self.position).max(0.0)),
            _ => passed,
        }
    }

    /// Whether time has passed evenly from this place to another one, also where the chart has started
    /// again on the way.
    fn leads_to(&self, next: &Here, passed: f64) -> bool {
        let near = |expected: f64, place: f64| (place - expected).abs() <= TURN_TICKS;
        let same_chart = self.edition == next.edition
            || self.round == next.round && near(self.place + passed, next.place);
        near(self.position + passed, next.position) && same_chart
    }

    /// Where time has left the chart or gone to another place of it.
    fn left(&self, passed: f64) -> u32 {
        whole(self.place + passed).min(self.length_ticks)
    }
}

impl Recording {
    /// The player wants this take to be recorded, from the next block on; 0 is none.
    pub const fn record(&mut self, number: u32) {
        self.wanted = number;
    }

    /// The take that is recorded; 0 is none.
    pub const fn number(&self) -> u32 {
        self.number
    }

    /// Whether one is recorded.
    pub const fn is_on(&self) -> bool {
        self.number != 0
    }

    /// Whether a block has to begin with [`Recording::begin_block`].
    pub const fn is_due(&self) -> bool {
        self.number != 0 || self.wanted != 0
    }

    /// Whether a key is down that is recorded.
    pub const fn holds(&self, key: u8) -> bool {
        self.down >> (key & 127) & 1 != 0
    }

    /// Samples are counted anew, and time begins anew. What is held ends here.
    pub fn reset(&mut self) {
        let here = self.here.take();
        if self.down != 0 {
            self.interrupted = here.map(|here| here.left(0.0));
        }
    }

    /// A block begins.
    pub fn begin_block<E>(
        &mut self,
        context: &BlockContext,
        samples: u64,
        port: &mut impl Port<E>,
    ) {
        if let Some(left) = self.interrupted.take() {
            self.close_all(left, port);
        }
        if self.wanted != self.number {
            let here = self.here.take();
            self.close_all(here.map_or(0, |here| here.left(0.0)), port);
            self.number = self.wanted;
            self.pass = self.pass.wrapping_add(1);
            self.played = false;
            if self.is_on() {
                port.took(Taken::Begun(self.number));
            }
        }
        self.follow(context, 0, samples, port);
    }

    /// Follows the time to a sample of the block.
    #[inline(never)]
    pub fn follow<E>(
        &mut self,
        context: &BlockContext,
        time: u32,
        samples: u64,
        port: &mut impl Port<E>,
    ) {
        if self.is_on() {
            self.go_to(Here::at(context, time, samples), context, samples, port);
        }
    }

    /// A block ends at this sample. Where time goes from there the next one tells.
    pub fn end_block<E>(&mut self, context: &BlockContext, samples: u64, port: &mut impl Port<E>) {
        self.go_to(Here::at_end(context, samples), context, samples, port);
    }

    fn go_to<E>(
        &mut self,
        mut next: Option<Here>,
        context: &BlockContext,
        samples: u64,
        port: &mut impl Port<E>,
    ) {
        let Some(here) = self.here else {
            if next.is_some() {
                self.next_pass();
            }
            self.here = next;
            return;
        };
        let passed = here.passed(context, samples);
        match &mut next {
            None => self.close_all(here.left(passed), port),
            Some(next) if here.leads_to(next, passed) => {
                if next.round < here.round && next.edition == here.edition {
                    // The host has rounded its position, and the chart starts again only once.
                    next.round = here.round;
                    next.place = f64::from(here.pickup_ticks);
                }
                let mut round = here.round;
                while round < next.round && self.played {
                    self.turn(here.length_ticks, here.pickup_ticks, port);
                    round += 1.0;
                }
            }
            Some(next) => self.turn(here.left(passed), whole(next.place), port),
        }
        self.here = next;
    }

    /// Time goes to another place of the chart.
    fn turn<E>(&mut self, left_ticks: u32, arrived_ticks: u32, port: &mut impl Port<E>) {
        if !self.played {
            return;
        }
        self.next_pass();
        port.took(Taken::Turned {
            pass: self.pass,
            left_ticks,
            arrived_ticks,
        });
    }

    const fn next_pass(&mut self) {
        if self.played {
            self.pass = self.pass.wrapping_add(1);
            self.played = self.down != 0;
        }
    }

    /// A key of the right hand goes down.
    pub fn press<E>(
        &mut self,
        key: u8,
        context: &BlockContext,
        (time, samples): (u32, u64),
        port: &mut impl Port<E>,
    ) {
        self.follow(context, time, samples, port);
        let Some((here, song)) = self.here.zip(context.song) else {
            return;
        };
        let ticks = whole(here.place);
        if self.holds(key) {
            self.close(key, ticks, port);
        }
        let bar = song.bars.get(song.bar_at(here.place));
        let bar = bar.map_or(TakenBar::default(), |bar| TakenBar {
            start_ticks: bar.start_ticks,
            length_ticks: bar.meter.bar_ticks(),
        });
        #[expect(clippy::cast_possible_truncation, reason = "0.5 to 0.75")]
        let off_beat = context.settings.groove.off_beat(context.clock.bpm) as f32;
        if let Some(start) = self.starts.get_mut(usize::from(key)) {
            *start = Start {
                ticks,
                pass: self.pass,
                off_beat,
                bar,
            };
            self.down |= 1 << (key & 127);
            self.played = true;
        }
    }

    /// A key that is recorded goes up.
    pub fn lift<E>(
        &mut self,
        key: u8,
        context: &BlockContext,
        (time, samples): (u32, u64),
        port: &mut impl Port<E>,
    ) {
        self.follow(context, time, samples, port);
        if let Some(here) = self.here.filter(|_| self.holds(key)) {
            self.close(key, whole(here.place), port);
        }
    }

    fn close<E>(&mut self, key: u8, end_ticks: u32, port: &mut impl Port<E>) {
        self.down &= !(1 << (key & 127));
        if let Some(start) = self.starts.get(usize::from(key)) {
            port.took(Taken::Note(TakenNote {
                key,
                pass: start.pass,
                start_ticks: start.ticks,
                ended_pass: self.pass,
                end_ticks,
                off_beat: start.off_beat,
                bar: start.bar,
            }));
        }
    }

    fn close_all<E>(&mut self, end_ticks: u32, port: &mut impl Port<E>) {
        for key in 0..128 {
            if self.holds(key) {
                self.close(key, end_ticks, port);
            }
        }
    }
}
