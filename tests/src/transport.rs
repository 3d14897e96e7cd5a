//! The host's transport: where the song is at an absolute sample. A position depends on the sample
//! alone, never on how the session was cut into blocks, so a plugin gets the same in two renders of
//! a session. Imports no other module.

use clack_host::events::event_types::{TransportEvent, TransportFlags};
use clack_host::events::{EventFlags, EventHeader};
use clack_host::utils::{BeatTime, SecondsTime};

/// A time signature. Any numbers may be sent; musical ones are from 1, with a
/// power of two below.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signature {
    /// Beats in a bar.
    pub numerator: u16,
    /// The note value of a beat: 4 for a quarter.
    pub denominator: u16,
}

impl Signature {
    /// 4/4.
    pub const COMMON: Self = Self {
        numerator: 4,
        denominator: 4,
    };
}

/// What a plugin learns about the transport at the first sample of a block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transport {
    /// Whether the song moves.
    pub playing: bool,
    /// Song position in quarter notes; negative in a count-in.
    pub position_beats: f64,
    /// Song position in seconds.
    pub position_seconds: f64,
    /// Quarter notes a minute.
    pub tempo_bpm: f64,
    /// The signature in force. Bars count as if it held from the start of the song.
    pub signature: Signature,
    /// Start and end of the loop in force, in quarter notes, as the plugin is told.
    pub loop_beats: Option<(f64, f64)>,
    /// Whether the host knows the tempo and the position. If not, it tells only whether the song moves.
    pub keeps_time: bool,
}

impl Transport {
    /// A song that stands at its start.
    pub const AT_THE_START: Self = Self {
        playing: false,
        position_beats: 0.0,
        position_seconds: 0.0,
        tempo_bpm: 120.0,
        signature: Signature::COMMON,
        loop_beats: None,
        keeps_time: true,
    };

    /// The transport as a plugin reads it, `time` samples into the block; 0 for the block's own
    /// transport.
    pub(crate) fn to_clap(self, time: u32) -> TransportEvent {
        let position = BeatTime::from_float(self.position_beats);
        let (bar_start, bar_number) = bar_at(position, self.signature);
        let mut flags = TransportFlags::empty();
        if self.keeps_time {
            flags |= TransportFlags::HAS_TEMPO
                | TransportFlags::HAS_BEATS_TIMELINE
                | TransportFlags::HAS_SECONDS_TIMELINE
                | TransportFlags::HAS_TIME_SIGNATURE;
        }
        flags.set(TransportFlags::IS_PLAYING, self.playing);
        // `clap_event_transport` of clap/events.h: the loop's ends count while the loop is active.
        flags.set(TransportFlags::IS_LOOP_ACTIVE, self.loop_beats.is_some());
        let (loop_start, loop_end) = self.loop_beats.unwrap_or_default();
        let seconds = |beats: f64| SecondsTime::from_float(beats * 60.0 / self.tempo_bpm);
        TransportEvent {
            header: EventHeader::new_core(time, EventFlags::empty()),
            flags,
            song_pos_beats: position,
            song_pos_seconds: SecondsTime::from_float(self.position_seconds),
            tempo: self.tempo_bpm,
            tempo_inc: 0.0,
            loop_start_beats: BeatTime::from_float(loop_start),
            loop_end_beats: BeatTime::from_float(loop_end),
            loop_start_seconds: seconds(loop_start),
            loop_end_seconds: seconds(loop_end),
            bar_start,
            bar_number,
            time_signature_numerator: self.signature.numerator,
            time_signature_denominator: self.signature.denominator,
        }
    }
}

/// Start and number of the bar that holds a position. It uses fixed point, so that a position on a
/// bar line is never a bar too early. An unmusical signature has only bar 0.
fn bar_at(position: BeatTime, signature: Signature) -> (BeatTime, i32) {
    let bar_length = (BeatTime::FACTOR * 4 * i64::from(signature.numerator))
        .checked_div(i64::from(signature.denominator))
        .unwrap_or(0);
    let number = position
        .to_bits()
        .checked_div_euclid(bar_length)
        .unwrap_or(0);
    let start = BeatTime::from_bits(number * bar_length);
    (start, i32::try_from(number).unwrap_or(i32::MAX))
}

/// Something that a user does to the transport.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TransportChange {
    /// The song starts to move from where it is.
    Play,
    /// The song stands still where it is.
    Stop,
    /// The song jumps. It keeps moving if it moved before.
    Jump {
        /// New song position in quarter notes.
        to_beats: f64,
    },
    /// The tempo changes, the position does not.
    Tempo {
        /// Quarter notes a minute.
        bpm: f64,
    },
    /// The time signature changes, the position does not.
    Signature {
        /// The new signature. Bars count as if it had held from the start.
        signature: Signature,
    },
    /// A loop is switched on, off, or somewhere else. A song that is past its end plays on.
    Loop {
        /// Start and end in quarter notes.
        range_beats: Option<(f64, f64)>,
    },
}

/// A position so little before the end of a loop counts as the end, in quarter notes.
const AT_THE_END_BEATS: f64 = 1.0e-9;

/// The song position for every sample of a session.
#[derive(Debug, Clone, PartialEq)]
pub struct SongPositions {
    sample_rate_hz: f64,
    /// Never empty, ascending by `from_samples`; the first starts at 0.
    sections: Vec<EvenStretch>,
}

/// A stretch of time in which the transport runs evenly.
#[derive(Debug, Clone, Copy, PartialEq)]
struct EvenStretch {
    from_samples: u64,
    at_start: Transport,
}

impl EvenStretch {
    /// Quarter notes from the start of the stretch to the end of its loop, if it comes there.
    fn beats_before_end(&self) -> Option<f64> {
        let (start, end) = self.at_start.loop_beats?;
        Some(end - self.at_start.position_beats).filter(|beats| *beats > 0.0 && start < end)
    }

    fn loop_length(&self) -> f64 {
        self.at_start
            .loop_beats
            .map_or(0.0, |(start, end)| end - start)
    }

    /// How often the loop has started again after so many quarter notes.
    fn turns_after(&self, passed_beats: f64) -> f64 {
        self.beats_before_end()
            .map_or(0.0, |first| {
                let past = passed_beats + AT_THE_END_BEATS - first;
                (past / self.loop_length()).floor() + 1.0
            })
            .max(0.0)
    }
}

impl SongPositions {
    /// A song that plays from beat 0 at sample 0, changed by a script. Changes
    /// at the same sample apply in the order given.
    #[must_use]
    pub fn new(
        sample_rate_hz: f64,
        tempo_bpm: f64,
        signature: Signature,
        script: &[(u64, TransportChange)],
    ) -> Self {
        let start = Transport {
            playing: true,
            position_beats: 0.0,
            position_seconds: 0.0,
            tempo_bpm,
            signature,
            ..Transport::AT_THE_START
        };
        let mut timeline = Self {
            sample_rate_hz,
            sections: vec![EvenStretch {
                from_samples: 0,
                at_start: start,
            }],
        };
        let mut script = script.to_vec();
        script.sort_by_key(|(at_samples, _)| *at_samples);
        for (at_samples, change) in script {
            timeline.apply(at_samples, change);
        }
        timeline
    }

    fn apply(&mut self, at_samples: u64, change: TransportChange) {
        let mut at_start = self.at(at_samples);
        match change {
            TransportChange::Play => at_start.playing = true,
            TransportChange::Stop => at_start.playing = false,
            TransportChange::Tempo { bpm } => at_start.tempo_bpm = bpm,
            TransportChange::Signature { signature } => at_start.signature = signature,
            TransportChange::Loop { range_beats } => at_start.loop_beats = range_beats,
            TransportChange::Jump { to_beats } => {
                at_start.position_beats = to_beats;
                at_start.position_seconds = to_beats * 60.0 / at_start.tempo_bpm;
            }
        }
        self.sections.push(EvenStretch {
            from_samples: at_samples,
            at_start,
        });
    }

    /// The transport at an absolute sample.
    #[must_use]
    pub fn at(&self, at_samples: u64) -> Transport {
        let after = self
            .sections
            .partition_point(|section| section.from_samples <= at_samples);
        let section = self.sections[after - 1];
        let mut transport = section.at_start;
        if transport.playing {
            let seconds = as_f64(at_samples - section.from_samples) / self.sample_rate_hz;
            let passed = seconds * transport.tempo_bpm / 60.0;
            let back = section.turns_after(passed) * section.loop_length();
            transport.position_beats += passed - back;
            transport.position_seconds += seconds - back * 60.0 / transport.tempo_bpm;
        }
        transport
    }

    /// The first sample after this one at which a loop starts again, before the script changes
    /// something.
    #[must_use]
    pub fn next_turn(&self, after_samples: u64) -> Option<u64> {
        let after = self
            .sections
            .partition_point(|section| section.from_samples <= after_samples);
        let section = self.sections[after - 1];
        let beats_a_sample = section.at_start.tempo_bpm / 60.0 / self.sample_rate_hz;
        let passed = as_f64(after_samples - section.from_samples) * beats_a_sample;
        let first = section
            .beats_before_end()
            .filter(|_| section.at_start.playing)?;
        let beats = first + section.turns_after(passed) * section.loop_length() - AT_THE_END_BEATS;
        let samples = (beats / beats_a_sample).ceil();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "not negative, and saturates"
        )]
        let turn = section.from_samples.saturating_add(samples as u64);
        let ends = self.sections.get(after).map(|next| next.from_samples);
        Some(turn).filter(|turn| *turn > after_samples && ends.is_none_or(|end| *turn < end))
    }

    /// The first sample after this one at which the script changes something.
    #[must_use]
    pub fn next_change(&self, after_samples: u64) -> Option<u64> {
        self.sections
            .iter()
            .map(|section| section.from_samples)
            .find(|from_samples| *from_samples > after_samples)
    }
}

/// A count of samples as a float.
#[expect(
    clippy::cast_precision_loss,
    reason = "exact below 2^53 samples, some thousands of years"
)]
pub(crate) fn as_f64(samples: u64) -> f64 {
    samples as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE_HZ: f64 = 48_000.0;

    fn timeline(script: &[(u64, TransportChange)]) -> SongPositions {
        SongPositions::new(RATE_HZ, 120.0, Signature::COMMON, script)
    }

    #[test]
    fn a_beat_lasts_half_a_second_at_120() {
        let at = timeline(&[]).at(24_000);
        assert_eq!((at.position_beats, at.position_seconds), (1.0, 0.5));
    }

    #[test]
    fn a_script_moves_the_song() {
        let script = [
            (24_000, TransportChange::Stop),
            (48_000, TransportChange::Jump { to_beats: 8.0 }),
            (72_000, TransportChange::Play),
            (96_000, TransportChange::Tempo { bpm: 60.0 }),
        ];
        let beats: Vec<f64> = (0..6)
            .map(|half| timeline(&script).at(half * 24_000).position_beats)
            .collect();
        assert_eq!(beats, [0.0, 1.0, 8.0, 8.0, 9.0, 9.5]);
    }

    #[test]
    fn changes_at_one_sample_apply_in_order() {
        let there = TransportChange::Jump { to_beats: 4.0 };
        let back = TransportChange::Jump { to_beats: 2.0 };
        assert_eq!(timeline(&[(5, there), (5, back)]).at(5).position_beats, 2.0);
        assert_eq!(timeline(&[(5, back), (5, there)]).at(5).position_beats, 4.0);
    }

    #[test]
    fn the_next_change_is_strictly_later() {
        let timeline = timeline(&[(10, TransportChange::Stop), (20, TransportChange::Play)]);
        assert_eq!(timeline.next_change(0), Some(10));
        assert_eq!(timeline.next_change(10), Some(20));
        assert_eq!(timeline.next_change(20), None);
    }

    #[test]
    fn a_loop_starts_again_until_it_is_switched_off() {
        let on = TransportChange::Loop {
            range_beats: Some((1.0, 2.0)),
        };
        let off = TransportChange::Loop { range_beats: None };
        let looped = timeline(&[(0, on), (100_000, off)]);
        let beats: Vec<f64> = (0..12)
            .map(|half| looped.at(half * 12_000).position_beats)
            .collect();
        let expected = [0.0, 0.5, 1.0, 1.5, 1.0, 1.5, 1.0, 1.5, 1.0];
        assert_eq!(beats[..9], expected);
        assert!((beats[11] - 2.5).abs() < 1e-9, "{beats:?}");
        let turns: Vec<u64> =
            std::iter::successors(looped.next_turn(0), |at| looped.next_turn(*at)).collect();
        assert_eq!(turns, [48_000, 72_000, 96_000]);
        assert!((looped.at(72_000).position_seconds - 0.5).abs() < 1e-9);
        // A song that is past the end plays on.
        let past = timeline(&[(0, TransportChange::Jump { to_beats: 2.0 }), (0, on)]);
        assert_eq!(
            (past.at(48_000).position_beats, past.next_turn(0)),
            (4.0, None)
        );
    }

    #[test]
    fn a_plugin_is_told_the_position_in_fixed_point() {
        let mut transport = timeline(&[]).at(36_000);
        let told = transport.to_clap(0);
        assert_eq!(told.song_pos_beats.to_bits(), 3 << 30);
        assert_eq!(told.song_pos_seconds.to_bits(), 3 << 29);
        assert_eq!(told.tempo, 120.0);
        assert!(told.flags.contains(TransportFlags::IS_PLAYING));
        transport.playing = false;
        assert!(
            !transport
                .to_clap(0)
                .flags
                .contains(TransportFlags::IS_PLAYING)
        );
    }

    #[test]
    fn bars_follow_the_signature() {
        let waltz = Signature {
            numerator: 3,
            denominator: 4,
        };
        let bar = |beats: f64| {
            let (start, number) = bar_at(BeatTime::from_float(beats), waltz);
            (start.to_float(), number)
        };
        assert_eq!(bar(0.0), (0.0, 0));
        assert_eq!(bar(2.999), (0.0, 0));
        assert_eq!(bar(3.0), (3.0, 1));
        assert_eq!(bar(-0.5), (-3.0, -1));
    }

    #[test]
    fn a_new_signature_moves_nothing_but_the_bars() {
        let signature = Signature {
            numerator: 3,
            denominator: 4,
        };
        let timeline = timeline(&[(96_000, TransportChange::Signature { signature })]);
        let (before, after) = (timeline.at(95_999), timeline.at(120_000));
        assert_eq!(before.signature, Signature::COMMON);
        assert_eq!((after.signature, after.position_beats), (signature, 5.0));
        assert_eq!(after.to_clap(0).bar_number, 1);
        assert_eq!(after.to_clap(0).bar_start, BeatTime::from_int(3));
    }

    #[test]
    fn an_unmusical_signature_has_one_bar() {
        for (numerator, denominator) in [(0, 4), (4, 0)] {
            let signature = Signature {
                numerator,
                denominator,
            };
            let (start, number) = bar_at(BeatTime::from_int(9), signature);
            assert_eq!((start.to_bits(), number), (0, 0));
        }
    }
}
