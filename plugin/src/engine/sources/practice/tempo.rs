//! The time in which questions fall: the host's, or a tempo of the exercise's own, which counts samples
//! from where it began. Imports `clock`, `parts` and `ticks`.

use crate::engine::clock;
use crate::engine::parts::Now;
use crate::engine::ticks::QUARTER_TICKS;

/// The tempi of its own, in quarter notes a minute.
const TEMPI_BPM: (f64, f64) = (30.0, 300.0);

/// A boundary that lies this little after a sample, in samples, belongs to the sample.
const TOLERANCE_SAMPLES: f64 = 1.0e-3;

/// A tempo of its own.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OwnTempo {
    /// In quarter notes a minute.
    bpm: f64,
    /// The sample since the last reset at which this tempo came into force.
    from_samples: f64,
    /// The position there, in ticks.
    from_ticks: f64,
    ticks_per_sample: f64,
    /// Another tempo comes into force at a position.
    then: Option<(f64, f64)>,
}

/// The time in which questions fall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Time {
    /// The host's. It runs on where the host goes back to the start of a loop.
    Host {
        /// How far it is ahead of the host's position, in ticks.
        ahead_ticks: f64,
    },
    /// A tempo of the exercise's own.
    Own(OwnTempo),
}

impl Default for Time {
    fn default() -> Time {
        Time::Host { ahead_ticks: 0.0 }
    }
}

fn ticks_per_sample(bpm: f64, now: &Now) -> f64 {
    bpm / 60.0 * QUARTER_TICKS / now.samples_of(1.0).max(1.0)
}

impl OwnTempo {
    /// A tempo that begins at this sample.
    pub fn begin(bpm: f64, now: &Now) -> OwnTempo {
        let bpm = bpm.clamp(TEMPI_BPM.0, TEMPI_BPM.1);
        OwnTempo {
            bpm,
            #[expect(clippy::cast_precision_loss, reason = "exact below 2^53")]
            from_samples: now.samples() as f64,
            from_ticks: 0.0,
            ticks_per_sample: ticks_per_sample(bpm, now),
            then: None,
        }
    }

    /// It becomes faster at a position that is still to come.
    pub fn faster_at(&mut self, at_ticks: f64, by_bpm: f64) {
        let bpm = (self.bpm + by_bpm).clamp(TEMPI_BPM.0, TEMPI_BPM.1);
        self.then = (bpm > self.bpm).then_some((at_ticks, bpm));
    }

    /// The tempo in force, in quarter notes a minute.
    pub const fn bpm(&self) -> f64 {
        self.bpm
    }

    /// Samples since the last reset at which a position is reached: the first one at or after it.
    fn sample_of(&self, at_ticks: f64) -> f64 {
        let samples = (at_ticks - self.from_ticks) / self.ticks_per_sample;
        self.from_samples + (samples - TOLERANCE_SAMPLES).ceil()
    }

    /// The position at a sample since the last reset.
    fn ticks_at(&self, samples: u64) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "exact below 2^53")]
        let passed = samples as f64 - self.from_samples;
        self.from_ticks + (passed + TOLERANCE_SAMPLES) * self.ticks_per_sample
    }
}

impl Time {
    /// Whether it is the host's.
    pub const fn is_host(&self) -> bool {
        matches!(self, Time::Host { .. })
    }

    /// The position at a sample; none while the host stands still.
    pub fn here(&self, now: &Now) -> Option<f64> {
        match self {
            Time::Host { ahead_ticks } => now.position().map(|at| at + ahead_ticks),
            Time::Own(own) => Some(own.ticks_at(now.samples())),
        }
    }

    /// The sample of this block at which a position is reached, or the first one if it has been; none if
    /// it is not reached in this block.
    pub fn due(&self, at_ticks: f64, now: &Now) -> Option<u32> {
        let frames = now.context.block.frames;
        match self {
            Time::Host { ahead_ticks } => {
                let clock = &now.context.clock;
                clock.sample_of(at_ticks - ahead_ticks, frames)
            }
            Time::Own(own) => {
                #[expect(clippy::cast_precision_loss, reason = "exact below 2^53")]
                let from = now.block_samples() as f64;
                let samples = (own.sample_of(at_ticks) - from).max(0.0);
                clock::whole(samples).filter(|samples| *samples < frames)
            }
        }
    }

    /// Ticks that pass in a sample.
    pub const fn ticks_per_sample(&self, now: &Now) -> f64 {
        match self {
            Time::Host { .. } => now.context.clock.ticks_per_sample,
            Time::Own(own) => own.ticks_per_sample,
        }
    }

    /// When another tempo comes into force, in ticks.
    pub const fn changes_at(&self) -> Option<f64> {
        match self {
            Time::Own(OwnTempo {
                then: Some((at, _)),
                ..
            }) => Some(*at),
            _ => None,
        }
    }

    /// Another tempo comes into force, where one waits for its position.
    pub fn change(&mut self, now: &Now) {
        if let Time::Own(own) = self
            && let Some((at, bpm)) = own.then.take()
        {
            *own = OwnTempo {
                bpm,
                from_samples: own.sample_of(at),
                from_ticks: at,
                ticks_per_sample: ticks_per_sample(bpm, now),
                then: None,
            };
        }
    }

    /// The tempo of its own.
    pub const fn own_bpm(&self) -> Option<f64> {
        match self {
            Time::Host { .. } => None,
            Time::Own(own) => Some(own.bpm()),
        }
    }
}
