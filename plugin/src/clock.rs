//! The host's transport as the performer needs it: where a block begins, in
//! ticks of the chart, and how fast it moves. Imports nothing of the crate.

use guidehand_theory::chart::TICKS_PER_QUARTER;

/// Slowest and fastest tempo that is believed, in beats a minute.
const TEMPI_BPM: std::ops::RangeInclusive<f64> = 1.0..=10_000.0;

/// Boundaries this close after a sample, in samples, belong to it: what hosts
/// round must not depend on where a block begins.
const TOLERANCE_SAMPLES: f64 = 1.0e-3;

/// A whole, non-negative number that a `u32` holds.
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

/// How far a position may be off before it counts as a jump, in ticks: a ramp of
/// the tempo is told once a block, and must not look like jumps.
const JUMP_TICKS: f64 = 30.0;

/// The transport at the start of a block.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Clock {
    /// Ticks from the start of the song, negative in a count-in; none when the
    /// host stands still or gives no position.
    pub position_ticks: Option<f64>,
    /// Ticks that pass in a sample, above 0.
    pub ticks_per_sample: f64,
}

impl Clock {
    /// From what the host says; anything that is no finite number, or out of
    /// range, counts as not said.
    #[must_use]
    pub fn new(
        playing: bool,
        position_beats: Option<f64>,
        tempo_bpm: Option<f64>,
        sample_rate_hz: f64,
    ) -> Clock {
        let ticks = f64::from(TICKS_PER_QUARTER);
        let tempo = tempo_bpm.filter(|t| TEMPI_BPM.contains(t));
        let position = position_beats.filter(|p| p.is_finite() && p.abs() < 1.0e9);
        let rate = Some(sample_rate_hz).filter(|r| *r >= 1.0 && r.is_finite());
        match (playing, position, tempo, rate) {
            (true, Some(position), Some(tempo), Some(rate)) => Clock {
                position_ticks: Some(position * ticks),
                ticks_per_sample: tempo / 60.0 * ticks / rate,
            },
            _ => Clock::default(),
        }
    }

    /// The first sample of the block at or after a position, counted from the
    /// block's start; none if it lies at or past `frames`.
    #[must_use]
    pub fn sample_of(&self, at_ticks: f64, frames: u32) -> Option<u32> {
        let from = self.position_ticks?;
        let samples = ((at_ticks - from) / self.ticks_per_sample - TOLERANCE_SAMPLES).ceil();
        whole(samples.max(0.0)).filter(|s| *s < frames)
    }

    /// The position in force at the start of the block, with the tolerance that
    /// [`Clock::sample_of`] grants.
    #[must_use]
    pub fn position_in_force(&self) -> Option<f64> {
        let tolerance = self.ticks_per_sample * TOLERANCE_SAMPLES;
        self.position_ticks.map(|p| p + tolerance)
    }

    /// Where the position will be after `frames` samples.
    #[must_use]
    pub fn after(&self, frames: u32) -> Option<f64> {
        let passed = f64::from(frames) * self.ticks_per_sample;
        self.position_ticks.map(|p| p + passed)
    }

    /// Whether the block starts elsewhere than where the last one ended.
    #[must_use]
    pub fn jumped_from(&self, expected_ticks: Option<f64>) -> bool {
        match (self.position_ticks, expected_ticks) {
            (Some(here), Some(expected)) => (here - expected).abs() > JUMP_TICKS,
            _ => true,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_boundary_falls_on_one_sample_whatever_the_blocks() {
        for tempo in [60.0, 97.3, 120.0, 140.0, 239.7] {
            for boundary in [960.0, 1280.0, 3840.0, 5555.0] {
                let mut found = Vec::new();
                for block in [1, 32, 441, 4096] {
                    let mut start = 0u32;
                    while start < 400_000 {
                        let beats = f64::from(start) / 48_000.0 * tempo / 60.0;
                        let clock = Clock::new(true, Some(beats), Some(tempo), 48_000.0);
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
            let clock = Clock::new(true, position, tempo, 48_000.0);
            assert_eq!(clock, Clock::default());
        }
    }
}
