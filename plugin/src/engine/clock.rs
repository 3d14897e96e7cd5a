//! The host's transport as the performer needs it: where a block begins, in ticks, how fast time
//! moves, and where it turns within the block. Runs on the audio thread; imports nothing of the crate.

use guidehand_theory::chart::{Meter, TICKS_PER_QUARTER};

/// The slowest and the fastest tempo that is accepted, in beats a minute.
const TEMPI_BPM: std::ops::RangeInclusive<f64> = 1.0..=10_000.0;

/// Positions reach this far, in quarter notes.
const MOST_BEATS: f64 = 1.0e9;

/// A boundary that lies this little after a sample, in samples, belongs to the sample. Hosts round
/// positions, and the result must not depend on where a block begins.
const TOLERANCE_SAMPLES: f64 = 1.0e-3;

/// The whole part of a number; none if it is negative, too large for a `u32`, or not a number.
#[must_use]
pub fn whole(number: f64) -> Option<u32> {
    if !(number >= 0.0 && number <= f64::from(u32::MAX)) {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "checked to be in range"
    )]
    Some(number as u32)
}

/// What the host reports of its transport.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct HostTransport {
    /// The song plays.
    pub playing: bool,
    /// Quarter notes from the start of the song.
    pub position_beats: Option<f64>,
    /// Quarter notes a minute.
    pub tempo_bpm: Option<f64>,
    /// The time signature: beats, and the note value of one.
    pub signature: Option<(i32, i32)>,
    /// Start and end of the loop in force, in quarter notes.
    pub loop_beats: Option<(f64, f64)>,
    /// The host has handed over a transport, whatever that says.
    pub given: bool,
    /// In Hz.
    pub sample_rate_hz: f64,
    /// How many samples of the host's block come before this part of it.
    pub into_block_samples: u32,
    /// The host may report its transport within a block, as in CLAP.
    pub within_blocks: bool,
}

/// A loop, in ticks from the start of the song. It ends after its start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoopRange {
    /// Where it starts.
    pub start_ticks: f64,
    /// Where it ends: the first place that is no longer played.
    pub end_ticks: f64,
}

impl LoopRange {
    /// Its length, above 0.
    #[must_use]
    pub fn length_ticks(&self) -> f64 {
        self.end_ticks - self.start_ticks
    }

    /// The same loop, counted from a later start than that of the song.
    fn starting_at(self, start_ticks: f64) -> LoopRange {
        LoopRange {
            start_ticks: self.start_ticks - start_ticks,
            end_ticks: self.end_ticks - start_ticks,
        }
    }
}

/// Where time does not run on evenly.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Ahead {
    /// It runs on evenly.
    #[default]
    Nothing,
    /// It goes from the end of a loop to its start.
    Turn(LoopRange),
    /// It waits at the end of a loop until the next block, which tells where the host goes on.
    Wait(LoopRange),
    /// It begins at 0 after so many samples, at least one.
    Begin(u32),
}

impl HostTransport {
    /// The loop in force. One that does not end after its start counts as none.
    #[must_use]
    pub fn told_loop(&self) -> Option<LoopRange> {
        let ticks = |beats: f64| beats * f64::from(TICKS_PER_QUARTER);
        let (start, end) = self.loop_beats?;
        let possible = start < end && start.abs() < MOST_BEATS && end.abs() < MOST_BEATS;
        possible.then_some(LoopRange {
            start_ticks: ticks(start),
            end_ticks: ticks(end),
        })
    }
}

/// The transport at the start of a block.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Clock {
    /// Ticks from the start of the song, negative in a count-in. None while the song stands still or
    /// has no position.
    pub position_ticks: Option<f64>,
    /// The same position, whether or not the song plays.
    pub standing_ticks: Option<f64>,
    /// Ticks that pass in a sample while it plays, above 0.
    pub ticks_per_sample: f64,
    /// The tempo, in quarter notes a minute.
    pub bpm: f64,
    /// The host's time signature, if it reports one.
    pub meter: Option<Meter>,
    /// The block does not begin where the last one ended.
    pub jumped: bool,
    /// The host keeps no time, so this is our own clock. Its bars mean nothing to others.
    pub ours: bool,
    /// What comes of time later in the block.
    pub ahead: Ahead,
}

impl Clock {
    /// From what the host reports. A value that is not finite or out of range counts as not reported.
    #[must_use]
    pub fn new(told: &HostTransport) -> Clock {
        let ticks = f64::from(TICKS_PER_QUARTER);
        let tempo = told.tempo_bpm.filter(|t| TEMPI_BPM.contains(t));
        let position = told
            .position_beats
            .filter(|p| p.is_finite() && p.abs() < MOST_BEATS);
        let rate = Some(told.sample_rate_hz).filter(|r| *r >= 1.0 && r.is_finite());
        let meter = told.signature.and_then(|(beats, unit)| {
            Meter::new(u8::try_from(beats).ok()?, u8::try_from(unit).ok()?)
        });
        let standing_ticks = position.map(|p| p * ticks);
        match (tempo, rate) {
            (Some(bpm), Some(rate)) => Clock {
                position_ticks: standing_ticks.filter(|_| told.playing),
                standing_ticks,
                ticks_per_sample: bpm / 60.0 * ticks / rate,
                bpm,
                meter,
                ..Clock::default()
            },
            _ => Clock {
                standing_ticks,
                meter,
                ..Clock::default()
            },
        }
    }

    /// The same clock, counted from a later start than that of the song.
    #[must_use]
    pub fn starting_at(self, start_ticks: f64) -> Clock {
        Clock {
            position_ticks: self.position_ticks.map(|p| p - start_ticks),
            standing_ticks: self.standing_ticks.map(|p| p - start_ticks),
            ahead: match self.ahead {
                Ahead::Turn(range) => Ahead::Turn(range.starting_at(start_ticks)),
                Ahead::Wait(range) => Ahead::Wait(range.starting_at(start_ticks)),
                ahead @ (Ahead::Nothing | Ahead::Begin(_)) => ahead,
            },
            ..self
        }
    }

    /// The first sample of the block at or after a position, counted from the start of the block. None
    /// if it lies at or past `frames`, or if time does not come there in this block.
    #[must_use]
    pub fn sample_of(&self, at_ticks: f64, frames: u32) -> Option<u32> {
        let from = self.position_ticks?;
        if let Ahead::Wait(range) = self.ahead
            && at_ticks >= range.end_ticks - self.tolerance_ticks()
        {
            return None;
        }
        let samples = ((at_ticks - from) / self.ticks_per_sample - TOLERANCE_SAMPLES).ceil();
        whole(samples.max(0.0)).filter(|s| *s < frames)
    }

    /// The position in force at a sample of the block, with the tolerance that [`Clock::sample_of`]
    /// grants. None while the song stands still.
    #[must_use]
    pub fn in_force(&self, time_samples: u32) -> Option<f64> {
        let tolerance = self.tolerance_ticks();
        let position = self.after(time_samples).map(|p| p + tolerance);
        match self.ahead {
            Ahead::Wait(range) => position.map(|p| p.min(range.end_ticks - 2.0 * tolerance)),
            _ => position,
        }
    }

    /// The position after `frames` samples of even time. None while the song stands still.
    #[must_use]
    pub fn after(&self, frames: u32) -> Option<f64> {
        let passed = f64::from(frames) * self.ticks_per_sample;
        self.position_ticks.map(|p| p + passed)
    }

    /// The clock after `frames` samples, where the next block is expected to begin.
    #[must_use]
    pub fn ended(&self, frames: u32) -> Clock {
        let (last, rest) = self.last_piece(frames);
        let position_ticks = last.after(rest);
        Clock {
            position_ticks,
            standing_ticks: position_ticks.or(last.standing_ticks),
            jumped: false,
            ahead: match last.ahead {
                Ahead::Begin(_) => Ahead::Nothing,
                ahead => ahead,
            },
            ..last
        }
    }

    /// Whether time runs on evenly, or stops: it never turns.
    #[must_use]
    #[inline]
    pub const fn is_even(&self) -> bool {
        matches!(self.ahead, Ahead::Nothing | Ahead::Wait(_))
    }

    /// How much of the next `frames` samples passes evenly, and the clock after that; none if all of
    /// it does. The first part is never empty.
    #[must_use]
    pub fn piece(&self, frames: u32) -> (u32, Option<Clock>) {
        match self.ahead {
            Ahead::Nothing | Ahead::Wait(_) => (frames, None),
            Ahead::Turn(range) => self.piece_to_turn(range, frames),
            Ahead::Begin(after) if after < frames => {
                let begun = Clock {
                    position_ticks: Some(0.0),
                    standing_ticks: Some(0.0),
                    jumped: true,
                    ahead: Ahead::Nothing,
                    ..*self
                };
                (after, Some(begun))
            }
            Ahead::Begin(_) => (frames, None),
        }
    }

    fn piece_to_turn(&self, range: LoopRange, frames: u32) -> (u32, Option<Clock>) {
        let end = self.sample_of(range.end_ticks, frames);
        match end.filter(|samples| *samples > 0) {
            Some(samples) => (samples, Some(self.turned(range, samples))),
            None => (frames, None),
        }
    }

    /// The clock at the start of a loop, at the sample at which it has come to the end.
    #[must_use]
    pub fn turned(&self, range: LoopRange, samples: u32) -> Clock {
        let position = self.after(samples).map(|p| p - range.length_ticks());
        Clock {
            position_ticks: position,
            standing_ticks: position,
            jumped: true,
            ..*self
        }
    }

    /// The clock of the last piece of a block, and the length of that piece.
    #[must_use]
    pub fn last_piece(&self, frames: u32) -> (Clock, u32) {
        let (mut clock, mut rest) = (*self, frames);
        while let (samples, Some(next)) = clock.piece(rest) {
            clock = next;
            rest = rest.saturating_sub(samples);
        }
        (clock, rest)
    }

    /// What [`TOLERANCE_SAMPLES`] is in ticks.
    #[must_use]
    pub fn tolerance_ticks(&self) -> f64 {
        self.ticks_per_sample * TOLERANCE_SAMPLES
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(position_beats: f64, tempo_bpm: f64) -> HostTransport {
        HostTransport {
            playing: true,
            position_beats: Some(position_beats),
            tempo_bpm: Some(tempo_bpm),
            sample_rate_hz: 48_000.0,
            given: true,
            ..HostTransport::default()
        }
    }

    #[test]
    fn a_boundary_falls_on_one_sample_whatever_the_blocks() {
        for tempo in [60.0, 97.3, 120.0, 140.0, 239.7] {
            for boundary in [960.0, 1280.0, 3840.0, 5555.0] {
                let mut found = Vec::new();
                for block in [1, 32, 441, 4096] {
                    let mut start = 0u32;
                    while start < 400_000 {
                        let beats = f64::from(start) / 48_000.0 * tempo / 60.0;
                        let clock = Clock::new(&told(beats, tempo));
                        if let Some(sample) = clock.sample_of(boundary, block) {
                            found.push(start + sample);
                            break;
                        }
                        start += block;
                    }
                }
                assert_eq!(found.len(), 4);
                assert!(found.windows(2).all(|w| w[0] == w[1]), "{tempo} {found:?}");
            }
        }
    }

    #[test]
    fn nonsense_counts_as_no_position() {
        for (position, tempo) in [
            (Some(f64::NAN), Some(120.0)),
            (Some(0.0), Some(0.0)),
            (Some(0.0), Some(f64::INFINITY)),
            (None, Some(120.0)),
            (Some(1.0), None),
        ] {
            let clock = Clock::new(&HostTransport {
                position_beats: position,
                tempo_bpm: tempo,
                ..told(0.0, 120.0)
            });
            assert_eq!(clock.position_ticks, None);
        }
    }
}
