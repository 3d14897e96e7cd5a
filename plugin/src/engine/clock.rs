//! The host's transport as the performer needs it: where a block begins, in ticks, and how fast time
//! moves. If the host keeps no time, a clock of our own does. Runs on the audio thread; imports
//! nothing of the crate.

use guidehand_theory::chart::{Meter, TICKS_PER_QUARTER};

/// The slowest and the fastest tempo that is accepted, in beats a minute.
const TEMPI_BPM: std::ops::RangeInclusive<f64> = 1.0..=10_000.0;

/// A boundary that lies this little after a sample, in samples, belongs to the sample. Hosts round
/// positions, and the result must not depend on where a block begins.
const TOLERANCE_SAMPLES: f64 = 1.0e-3;

/// How far a position may be off before it counts as a jump, in ticks. Hosts report the tempo once a
/// block, so a gradual change of the tempo must not look like jumps.
const JUMP_TICKS: f64 = 30.0;

/// How close a position has to be to the expected one to confirm it, in ticks.
const GUESS_TICKS: f64 = 0.5;

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
    /// In Hz.
    pub sample_rate_hz: f64,
    /// How many samples of the host's block come before this part of it.
    pub into_block_samples: u32,
    /// The host may report its transport within a block, as in CLAP.
    pub within_blocks: bool,
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
}

impl Clock {
    /// From what the host reports. A value that is not finite or out of range counts as not reported.
    #[must_use]
    pub fn new(told: &HostTransport) -> Clock {
        let ticks = f64::from(TICKS_PER_QUARTER);
        let tempo = told.tempo_bpm.filter(|t| TEMPI_BPM.contains(t));
        let position = told
            .position_beats
            .filter(|p| p.is_finite() && p.abs() < 1.0e9);
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
                jumped: false,
                ours: false,
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
            ..self
        }
    }

    /// The first sample of the block at or after a position, counted from the start of the block. None
    /// if it lies at or past `frames`.
    #[must_use]
    pub fn sample_of(&self, at_ticks: f64, frames: u32) -> Option<u32> {
        let from = self.position_ticks?;
        let samples = ((at_ticks - from) / self.ticks_per_sample - TOLERANCE_SAMPLES).ceil();
        whole(samples.max(0.0)).filter(|s| *s < frames)
    }

    /// The position in force at a sample of the block, with the tolerance that [`Clock::sample_of`]
    /// grants. None while the song stands still.
    #[must_use]
    pub fn in_force(&self, time_samples: u32) -> Option<f64> {
        let tolerance = self.ticks_per_sample * TOLERANCE_SAMPLES;
        self.after(time_samples).map(|p| p + tolerance)
    }

    /// The position after `frames` samples. None while the song stands still.
    #[must_use]
    pub fn after(&self, frames: u32) -> Option<f64> {
        let passed = f64::from(frames) * self.ticks_per_sample;
        self.position_ticks.map(|p| p + passed)
    }

    /// The clock after `frames` samples, where the next block is expected to begin.
    #[must_use]
    pub fn ended(self, frames: u32) -> Clock {
        let position_ticks = self.after(frames);
        Clock {
            position_ticks,
            standing_ticks: position_ticks.or(self.standing_ticks),
            jumped: false,
            ..self
        }
    }
}

/// Reads the host's transport from block to block, and keeps time if the host does not.
#[derive(Clone, Copy, Debug, Default)]
pub struct Timekeeper {
    /// Where the next block is expected to begin, whether the song plays or stands still.
    expected_ticks: Option<f64>,
    moved: bool,
    /// Where in its block the host has reported its transport, as far as is known.
    told_at_samples: u32,
    /// Our own time: the position at which its tempo came into force.
    base_ticks: f64,
    /// Samples since then.
    samples: f64,
    bpm: f64,
}

impl Timekeeper {
    /// The clock for a block of `frames` samples. `own_bpm` is the tempo for hosts that report neither
    /// tempo nor position.
    pub fn clock(&mut self, told: &HostTransport, own_bpm: f64, frames: u32) -> Clock {
        let silent = told.tempo_bpm.is_none() && told.position_beats.is_none();
        let mut clock = if silent {
            self.own(told, own_bpm, frames)
        } else {
            Clock::new(told)
        };
        if told.into_block_samples == 0 {
            self.told_at_samples = 0;
        }
        let (found, told_at_samples) = self.corrected(clock, told);
        self.told_at_samples = told_at_samples;
        clock = found;
        let moves = clock.position_ticks.is_some();
        clock.jumped = !(self.moved && moves && self.expects(&clock, JUMP_TICKS));
        self.moved = moves;
        self.expected_ticks = clock.after(frames).or(clock.standing_ticks);
        clock
    }

    /// Corrects a position that the host has reported within its block. Such a position is right as it
    /// is, but the framework adds the samples before this part of the block to it. They are taken off
    /// again in two cases: if that leads to the expected position, and if neither reading does, because
    /// then the host has reported a jump at this part. Also returns where in the block the host has
    /// reported it.
    fn corrected(&self, clock: Clock, told: &HostTransport) -> (Clock, u32) {
        let less = |samples: u32| clock.starting_at(f64::from(samples) * clock.ticks_per_sample);
        if self.expects(&clock, GUESS_TICKS) {
            return (clock, self.told_at_samples);
        }
        for added in [self.told_at_samples, told.into_block_samples] {
            if self.expects(&less(added), GUESS_TICKS) {
                return (less(added), added);
            }
        }
        if told.within_blocks && !self.expects(&clock, JUMP_TICKS) {
            return (less(told.into_block_samples), told.into_block_samples);
        }
        (clock, self.told_at_samples)
    }

    /// Our own time. It runs from the last reset, and does not depend on the sizes of the blocks.
    fn own(&mut self, told: &HostTransport, own_bpm: f64, frames: u32) -> Clock {
        let at = |keeper: &Timekeeper| HostTransport {
            playing: true,
            position_beats: Some(0.0),
            tempo_bpm: Some(keeper.bpm),
            ..*told
        };
        if self.bpm != own_bpm {
            self.base_ticks += self.samples * Clock::new(&at(self)).ticks_per_sample;
            self.samples = 0.0;
            self.bpm = own_bpm;
        }
        let clock = Clock::new(&at(self));
        let position = self.base_ticks + self.samples * clock.ticks_per_sample;
        self.samples += f64::from(frames);
        Clock {
            ours: true,
            ..clock.starting_at(-position)
        }
    }

    /// Whether the song is where the last block has left it, within some ticks.
    fn expects(&self, clock: &Clock, within_ticks: f64) -> bool {
        let here = clock.standing_ticks.zip(self.expected_ticks);
        here.is_some_and(|(here, expected)| (here - expected).abs() <= within_ticks)
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
            signature: None,
            sample_rate_hz: 48_000.0,
            into_block_samples: 0,
            within_blocks: true,
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

    #[test]
    fn our_own_time_is_the_same_in_any_blocks() {
        let untold = HostTransport {
            playing: false,
            position_beats: None,
            tempo_bpm: None,
            ..told(0.0, 0.0)
        };
        let end = |block: u32| {
            let mut keeper = Timekeeper::default();
            let mut passed = 0;
            let mut jumps = 0;
            while passed < 96_000 {
                let bpm = if passed < 48_000 { 97.3 } else { 211.9 };
                let clock = keeper.clock(&untold, bpm, block);
                jumps += u32::from(clock.jumped);
                passed += block;
            }
            assert_eq!(jumps, 1, "only at the start");
            keeper.clock(&untold, 211.9, 1).position_ticks
        };
        assert_eq!(end(1), end(96));
        assert_eq!(end(1), end(4_000));
        let ticks = (97.3 + 211.9) / 60.0 * 960.0;
        assert!((end(1).unwrap() - ticks).abs() < 1e-6);
    }

    #[test]
    fn a_tempo_told_within_a_block_is_no_jump() {
        let mut keeper = Timekeeper::default();
        keeper.clock(&told(4.0, 120.0), 0.0, 400);
        let beats = 4.0 + 400.0 / 48_000.0 * 2.0;
        let shift = 400.0 / 48_000.0 * 3.0;
        let within = HostTransport {
            into_block_samples: 400,
            ..told(beats + shift, 180.0)
        };
        let clock = keeper.clock(&within, 0.0, 600);
        assert!(!clock.jumped);
        assert!((clock.position_ticks.unwrap() - beats * 960.0).abs() < 1e-9);
        // A later part of the same block carries the same error.
        let later = beats + 600.0 / 48_000.0 * 3.0;
        let after = HostTransport {
            into_block_samples: 1_000,
            ..told(later + shift, 180.0)
        };
        let clock = keeper.clock(&after, 0.0, 24);
        assert!((clock.position_ticks.unwrap() - later * 960.0).abs() < 1e-9);
    }

    /// A position that a host has reported within its block, as the framework passes it on.
    fn told_within(into_block_samples: u32, position_beats: f64) -> HostTransport {
        let shift = f64::from(into_block_samples) / 48_000.0 * 2.0;
        HostTransport {
            into_block_samples,
            ..told(position_beats + shift, 120.0)
        }
    }

    #[test]
    fn a_jump_told_within_a_block_leads_where_it_says() {
        let mut keeper = Timekeeper::default();
        keeper.clock(&told(4.0, 120.0), 0.0, 400);
        let clock = keeper.clock(&told_within(400, 17.0), 0.0, 600);
        assert!(clock.jumped);
        assert!((clock.position_ticks.unwrap() - 17.0 * 960.0).abs() < 1e-9);
        // A later part of the block, and the block after it, go on from there.
        let beats = 17.0 + 600.0 / 48_000.0 * 2.0;
        let clock = keeper.clock(&told_within(1_000, 17.0), 0.0, 24);
        assert!(!clock.jumped);
        assert!((clock.position_ticks.unwrap() - beats * 960.0).abs() < 1e-9);
        let beats = beats + 24.0 / 48_000.0 * 2.0;
        assert!(!keeper.clock(&told(beats, 120.0), 0.0, 512).jumped);
    }

    #[test]
    fn a_start_told_within_a_block_is_where_the_song_stood() {
        let mut keeper = Timekeeper::default();
        let stands = HostTransport {
            playing: false,
            ..told(4.0, 120.0)
        };
        keeper.clock(&stands, 0.0, 400);
        let clock = keeper.clock(&told_within(400, 4.0), 0.0, 112);
        assert!(clock.jumped, "it begins to move");
        assert!((clock.position_ticks.unwrap() - 4.0 * 960.0).abs() < 1e-9);
        let beats = 4.0 + 112.0 / 48_000.0 * 2.0;
        assert!(!keeper.clock(&told(beats, 120.0), 0.0, 512).jumped);
    }

    /// Some hosts hand over one buffer in parts, each as a block of its own. A part then only seems to
    /// lie within a block.
    #[test]
    fn blocks_that_lie_side_by_side_are_told_as_they_are() {
        let mut keeper = Timekeeper::default();
        let part = |into_block_samples, beats, playing| HostTransport {
            into_block_samples,
            playing,
            within_blocks: false,
            ..told(beats, 120.0)
        };
        keeper.clock(&part(0, 4.0, false), 0.0, 400);
        for (into, beats) in [(400, 4.0), (424, 4.0 + 24.0 / 24_000.0), (512, 9.0)] {
            let clock = keeper.clock(&part(into, beats, true), 0.0, 24);
            assert!((clock.position_ticks.unwrap() - beats * 960.0).abs() < 1e-9);
        }
    }
}
