//! The host's transport from block to block: jumps, loops, what it says within a block, and a clock of
//! our own where it says nothing. Runs on the audio thread; imports `clock` and `loops`.

use crate::engine::clock::{self, Ahead, Clock, HostTransport};
use crate::engine::loops::Loops;

/// How far a position may be off before it counts as a jump, in ticks. Hosts report the tempo once a
/// block, so a gradual change of the tempo must not look like jumps.
const JUMP_TICKS: f64 = 30.0;

/// How close a position has to be to the expected one to confirm it, in ticks.
const GUESS_TICKS: f64 = 0.5;

/// A host that has handed over no transport for so long has none, in seconds of its audio. While a song
/// loads, some hosts process a few blocks before they hand over the first.
const UNTOLD_SECONDS: f64 = 1.0;

/// Reads the host's transport from block to block, and keeps time if the host does not.
#[derive(Clone, Copy, Debug, Default)]
pub struct Timekeeper {
    /// Where the next block is expected to begin, whether the song plays or stands still.
    expected_ticks: Option<f64>,
    moved: bool,
    /// Where in its block the host has reported its transport, as far as is known.
    told_at_samples: u32,
    loops: Loops,
    own: OwnTime,
}

impl Timekeeper {
    /// Starts afresh, but for what is known of the host.
    pub fn reset(&mut self) {
        let mut loops = self.loops;
        loops.reset();
        *self = Timekeeper {
            loops,
            own: OwnTime {
                host_has_transport: self.own.host_has_transport,
                ..OwnTime::default()
            },
            ..Timekeeper::default()
        };
    }

    /// The clock for a block of `frames` samples. `own_bpm` is the tempo for hosts that report neither
    /// tempo nor position.
    pub fn clock(&mut self, told: &HostTransport, own_bpm: f64, frames: u32) -> Clock {
        if told.into_block_samples == 0 {
            self.told_at_samples = 0;
        }
        let own = self.own.clock(told, own_bpm, frames);
        let clock = own.unwrap_or_else(|| Clock::new(told));
        let (mut clock, told_at_samples) = self.corrected(clock, told);
        self.told_at_samples = told_at_samples;
        let moves = clock.position_ticks.is_some();
        clock.jumped = !(self.moved && moves && self.expects(&clock, JUMP_TICKS));
        // A host that hands over one buffer in blocks of its own may go elsewhere between them.
        let is_part = told.into_block_samples > 0 && self.expects(&clock, GUESS_TICKS);
        let looped = told.told_loop();
        if !is_part {
            self.loops.arrive(&mut clock, looped, self.expected_ticks);
        }
        let turns_at_once = self.loops.look_ahead(&mut clock, looped, is_part);
        let (last, rest) = if clock.is_even() {
            (clock, frames)
        } else {
            clock.last_piece(frames)
        };
        let ended = last.after(rest);
        let turned = turns_at_once || rest < frames;
        self.loops.leave(&clock, is_part, ended, turned);
        self.moved = ended.is_some();
        self.expected_ticks = ended.or(last.standing_ticks);
        clock
    }

    /// Corrects a position that the host has reported within its block. Such a position is right as it
    /// is, but the framework adds the samples before this part of the block to it. They are taken off
    /// again in two cases: if that leads to the expected position, and if neither reading does, because
    /// then the host has reported a jump at this part. The framework knows of no loop either, so its
    /// positions lead beyond the end of one. Also returns where in the block the host has reported it.
    fn corrected(&self, clock: Clock, told: &HostTransport) -> (Clock, u32) {
        let less = |samples: u32| clock.starting_at(f64::from(samples) * clock.ticks_per_sample);
        let into = told.into_block_samples;
        if into == 0 || self.expects(&clock, GUESS_TICKS) {
            return (clock, self.told_at_samples);
        }
        for (added, told_at) in [
            (0, self.told_at_samples),
            (self.told_at_samples, self.told_at_samples),
            (into, into),
        ] {
            let read = less(added);
            let in_loop = self.loops.within_block(&read, self.expected_ticks);
            for reading in [Some(read), in_loop].into_iter().flatten() {
                if self.expects(&reading, GUESS_TICKS) {
                    return (reading, told_at);
                }
            }
        }
        if told.within_blocks && !self.expects(&clock, JUMP_TICKS) {
            return (less(into), into);
        }
        (clock, self.told_at_samples)
    }

    #[cfg(test)]
    const fn loops_restart(&self) -> bool {
        self.loops.restarts()
    }

    /// Whether the song is where the last block has left it, within some ticks.
    fn expects(&self, clock: &Clock, within_ticks: f64) -> bool {
        let here = clock.standing_ticks.zip(self.expected_ticks);
        here.is_some_and(|(here, expected)| (here - expected).abs() <= within_ticks)
    }
}

/// A clock of our own, for hosts that keep no time. It does not depend on the sizes of the blocks.
#[derive(Clone, Copy, Debug, Default)]
struct OwnTime {
    /// The host has handed over a transport. It will again, so that from then on silence means that
    /// the song stands still.
    host_has_transport: bool,
    /// How long the host has handed over none.
    untold_samples: u32,
    /// The position at which the tempo came into force.
    base_ticks: f64,
    /// Samples since then.
    samples: f64,
    bpm: f64,
}

impl OwnTime {
    /// The clock for a block of a host that keeps no time: one that says that it plays, but neither
    /// where nor how fast, and one that has said nothing for [`UNTOLD_SECONDS`].
    fn clock(&mut self, told: &HostTransport, own_bpm: f64, frames: u32) -> Option<Clock> {
        self.host_has_transport |= told.given;
        let timeless = told.tempo_bpm.is_none() && told.position_beats.is_none();
        let runs = timeless && (told.playing || !self.host_has_transport);
        if !runs {
            self.base_ticks = 0.0;
            self.samples = 0.0;
            return None;
        }
        let waits = if told.playing {
            0
        } else {
            let all = clock::whole((told.sample_rate_hz * UNTOLD_SECONDS).ceil()).unwrap_or(0);
            let waits = all.saturating_sub(self.untold_samples);
            self.untold_samples = self.untold_samples.saturating_add(frames);
            waits
        };
        if self.bpm != own_bpm {
            self.base_ticks += self.samples * own_clock(told, self.bpm).ticks_per_sample;
            self.samples = 0.0;
            self.bpm = own_bpm;
        }
        let begun = own_clock(told, self.bpm);
        if waits > 0 {
            self.samples += f64::from(frames.saturating_sub(waits));
            return Some(Clock {
                position_ticks: None,
                standing_ticks: None,
                ahead: Ahead::Begin(waits),
                ..begun
            });
        }
        let position = self.base_ticks + self.samples * begun.ticks_per_sample;
        self.samples += f64::from(frames);
        Some(begun.starting_at(-position))
    }
}

/// Our own clock at its start.
fn own_clock(told: &HostTransport, bpm: f64) -> Clock {
    Clock {
        ours: true,
        ..Clock::new(&HostTransport {
            playing: true,
            position_beats: Some(0.0),
            tempo_bpm: Some(bpm),
            ..*told
        })
    }
}

#[cfg(test)]
mod tests;
