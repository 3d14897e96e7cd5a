//! The transport of the program that needs no host, in the place of a host's. It counts samples from
//! the start of playing, so it does not drift and does not depend on the sizes of the blocks. Runs on
//! the audio thread; imports `clock`. Only `host` imports it.

use crate::engine::clock::HostTransport;

/// How long before the first start the program begins to count. Sound servers connect its ports
/// meanwhile; what is sent before is lost.
const LEAD_SECONDS: f64 = 0.5;

/// The transport from block to block.
#[derive(Clone, Copy, Debug, Default)]
pub struct OwnTransport {
    /// The start that it plays from; none while it stands still.
    start: Option<u32>,
    /// Where the tempo came into force, in quarter notes from the start.
    base_beats: f64,
    /// Samples since then.
    samples: f64,
    bpm: f64,
}

impl OwnTransport {
    /// The transport for a block of `frames` samples. `start` is the number of the start that is in
    /// force, none if the player has stopped; another number plays from the beginning again, and 0 is
    /// the start of the program. The rest comes from what the framework tells.
    pub fn block(
        &mut self,
        start: Option<u32>,
        bpm: f64,
        frames: u32,
        told: &HostTransport,
    ) -> HostTransport {
        if start.is_some() && start != self.start {
            let lead_seconds = if start == Some(0) { LEAD_SECONDS } else { 0.0 };
            *self = OwnTransport {
                samples: -(lead_seconds * told.sample_rate_hz).round(),
                bpm,
                ..OwnTransport::default()
            };
        }
        self.start = start;
        let rate_hz = told.sample_rate_hz;
        if self.bpm != bpm {
            self.base_beats = self.position_beats(rate_hz);
            self.samples = 0.0;
            self.bpm = bpm;
        }
        let position_beats = self.position_beats(rate_hz);
        if start.is_some() {
            self.samples += f64::from(frames);
        }
        HostTransport {
            playing: start.is_some(),
            position_beats: Some(position_beats),
            tempo_bpm: Some(bpm),
            loop_beats: None,
            given: true,
            ..*told
        }
    }

    fn position_beats(&self, rate_hz: f64) -> f64 {
        self.base_beats + self.samples * self.bpm / (60.0 * rate_hz)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the framework tells under a sound server whose transport stands still.
    fn told() -> HostTransport {
        HostTransport {
            position_beats: Some(77.0),
            tempo_bpm: Some(50.0),
            signature: Some((3, 4)),
            sample_rate_hz: 48_000.0,
            ..HostTransport::default()
        }
    }

    #[test]
    fn it_plays_from_the_start_whatever_is_told() {
        let mut own = OwnTransport::default();
        let first = own.block(Some(0), 120.0, 24_000, &told());
        let expected = HostTransport {
            playing: true,
            position_beats: Some(-1.0),
            tempo_bpm: Some(120.0),
            given: true,
            ..told()
        };
        assert_eq!(first, expected, "half a second ahead");
        let second = own.block(Some(0), 120.0, 24_000, &told());
        assert_eq!(second.position_beats, Some(0.0));
    }

    #[test]
    fn it_is_the_same_in_any_blocks_and_does_not_drift() {
        let hour = 48_000 * 3_600;
        let end = |block: u32| {
            let mut own = OwnTransport::default();
            for _ in 0..hour / block {
                own.block(Some(1), 97.3, block, &told());
            }
            own.block(Some(1), 97.3, 1, &told()).position_beats
        };
        assert_eq!(end(100), end(480));
        assert_eq!(end(100), end(4_800));
        assert!((end(100).unwrap() - 97.3 * 60.0).abs() < 1.0e-9);
    }

    #[test]
    fn another_tempo_goes_on_from_where_it_is() {
        let mut own = OwnTransport::default();
        own.block(Some(1), 60.0, 48_000, &told());
        let turned = own.block(Some(1), 240.0, 48_000, &told());
        assert_eq!(turned.position_beats, Some(1.0));
        let after = own.block(Some(1), 240.0, 1, &told());
        assert_eq!(after.position_beats, Some(5.0));
    }

    #[test]
    fn it_stands_where_it_was_stopped_and_starts_from_the_beginning() {
        let mut own = OwnTransport::default();
        own.block(Some(1), 60.0, 48_000, &told());
        for _ in 0..2 {
            let stands = own.block(None, 60.0, 48_000, &told());
            assert!(!stands.playing);
            assert_eq!(stands.position_beats, Some(1.0));
        }
        let again = own.block(Some(2), 60.0, 48_000, &told());
        assert!(again.playing);
        assert_eq!(again.position_beats, Some(0.0));
        // Stop and play within one block start from the beginning, too.
        assert_eq!(
            own.block(Some(3), 60.0, 1, &told()).position_beats,
            Some(0.0)
        );
    }
}
