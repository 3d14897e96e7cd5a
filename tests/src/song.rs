//! What a host hands over of its song from block to block: how it gets from the end of a loop to the
//! start, and what it tells of the transport. Imports the transport.

use crate::transport::{SongPositions, Transport};

/// How a host gets from the end of a loop to its start.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoopWay {
    /// A block ends where the loop does.
    Splits,
    /// The loop ends within a block, and the song goes on at the start there.
    GoesOn,
    /// A block leads beyond the end of the loop, and the next block begins at the start.
    Restarts,
}

/// What a host tells of the transport.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Telling {
    /// The host hands over the transport at all; some hosts do not.
    pub transport: bool,
    /// The transport says which loop is in force.
    pub loops: bool,
    /// While a song is being loaded: the host does not hand over the transport before this sample.
    pub from_samples: u64,
    /// Before that it hands over a transport that stands still and keeps no time, rather than none.
    pub blank_before: bool,
    /// Positions are told in so many steps of a quarter note; 0 if they are exact.
    pub steps_per_beat: u32,
}

impl Telling {
    /// Everything is told.
    pub const ALL: Self = Self {
        transport: true,
        loops: true,
        from_samples: 0,
        blank_before: false,
        steps_per_beat: 0,
    };

    /// The host has no transport.
    pub const NOTHING: Self = Self {
        transport: false,
        loops: false,
        from_samples: 0,
        blank_before: false,
        steps_per_beat: 0,
    };
}

/// A song as a host plays it.
#[derive(Debug, Clone)]
pub struct HostSong {
    positions: SongPositions,
    way: LoopWay,
    telling: Telling,
    /// How far the song is behind, because blocks have led beyond the end of a loop.
    lost_samples: u64,
}

impl HostSong {
    /// A song at its start.
    #[must_use]
    pub const fn new(positions: SongPositions, way: LoopWay, telling: Telling) -> Self {
        Self {
            positions,
            way,
            telling,
            lost_samples: 0,
        }
    }

    /// Where the song is at a sample of the session.
    #[must_use]
    pub fn at(&self, at_samples: u64) -> Transport {
        let transport = self.positions.at(at_samples - self.lost_samples);
        let steps = f64::from(self.telling.steps_per_beat);
        let rounded = (transport.position_beats * steps).round() / steps;
        Transport {
            loop_beats: transport.loop_beats.filter(|_| self.telling.loops),
            position_beats: if steps > 0.0 {
                rounded
            } else {
                transport.position_beats
            },
            ..transport
        }
    }

    /// What the host hands over with the block that begins at a sample.
    #[must_use]
    pub fn told(&self, at_samples: u64) -> Option<Transport> {
        if !self.telling.transport {
            return None;
        }
        if at_samples < self.telling.from_samples {
            let blank = Transport {
                keeps_time: false,
                ..Transport::AT_THE_START
            };
            return self.telling.blank_before.then_some(blank);
        }
        Some(self.at(at_samples))
    }

    /// The first sample after this one at which the transport changes, other than by running on.
    #[must_use]
    pub fn next_change(&self, after_samples: u64) -> Option<u64> {
        let lost = self.lost_samples;
        let after = after_samples - lost;
        let splits = self.way == LoopWay::Splits;
        let turn = self.positions.next_turn(after).filter(|_| splits);
        let told = Some(self.telling.from_samples).filter(|at| *at > after_samples);
        let change = self.positions.next_change(after);
        let in_song = change
            .into_iter()
            .chain(turn)
            .map(|at| at.saturating_add(lost));
        in_song.chain(told).min()
    }

    /// A block has been played.
    pub fn played(&mut self, from_samples: u64, to_samples: u64) {
        if self.way != LoopWay::Restarts {
            return;
        }
        let lost = self.lost_samples;
        let next = |at: u64| self.positions.next_turn(at);
        let turns = std::iter::successors(next(from_samples - lost), |at| next(*at));
        if let Some(last) = turns
            .take_while(|at| at.saturating_add(lost) < to_samples)
            .last()
        {
            self.lost_samples = to_samples - last;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::transport::{Signature, TransportChange};

    fn song(way: LoopWay) -> HostSong {
        let on = TransportChange::Loop {
            range_beats: Some((1.0, 2.0)),
        };
        let positions = SongPositions::new(48_000.0, 120.0, Signature::COMMON, &[(0, on)]);
        HostSong::new(positions, way, Telling::ALL)
    }

    #[test]
    fn a_host_goes_on_within_the_block_or_restarts_with_the_next() {
        for (way, expected) in [(LoopWay::GoesOn, 1.5), (LoopWay::Restarts, 1.0)] {
            let mut song = song(way);
            assert_eq!(song.next_change(0), None);
            song.played(40_000, 60_000);
            assert_eq!(song.at(60_000).position_beats, expected);
            assert_eq!(song.at(60_000).loop_beats, Some((1.0, 2.0)));
        }
    }

    #[test]
    fn a_host_that_splits_changes_at_every_turn() {
        let song = song(LoopWay::Splits);
        assert_eq!(song.next_change(0), Some(48_000));
        assert_eq!(song.next_change(48_000), Some(72_000));
    }

    #[test]
    fn a_song_that_is_being_loaded_is_not_told() {
        let mut song = song(LoopWay::GoesOn);
        song.telling.from_samples = 1_000;
        assert_eq!((song.told(999), song.next_change(0)), (None, Some(1_000)));
        assert!(song.told(1_000).is_some());
        song.telling.blank_before = true;
        assert!(
            song.told(0)
                .is_some_and(|told| !told.keeps_time && !told.playing)
        );
    }
}
