//! The event type of all tests, and its form in MIDI bytes. May be imported by every module of this
//! crate; imports [`Transport`] only.

use crate::transport::Transport;

pub use clack_host::events::event_types::NoteExpressionType;

/// Stands for all channels or all keys.
pub const ANY: i16 = -1;

/// Stands for any note id.
pub const ANY_NOTE: i32 = -1;

/// An event with its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimedEvent {
    /// Samples from the start of the session, or of the block where a function
    /// says so.
    pub at_samples: u64,
    /// What happens.
    pub event: Event,
}

impl TimedEvent {
    /// An event at a time in samples.
    #[must_use]
    pub const fn new(at_samples: u64, event: Event) -> Self {
        Self { at_samples, event }
    }
}

/// What goes into a plugin or comes out of it.
///
/// Channels count from 0 to 15, keys from 0 to 127 with middle C at 60; both may be [`ANY`], and a
/// rude test may send any other number. Velocities and expression values are plain CLAP values,
/// normally 0 to 1. CLAP has them in double precision, plugin frameworks often in single: a test
/// that compares a value exactly uses one that is exact in both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// A note starts.
    NoteOn {
        /// 0 to 15, or [`ANY`].
        channel: i16,
        /// 0 to 127, or [`ANY`].
        key: i16,
        /// 0 to 1.
        velocity: f64,
        /// From 0, or [`ANY_NOTE`].
        note_id: i32,
    },
    /// A note ends.
    NoteOff {
        /// 0 to 15, or [`ANY`].
        channel: i16,
        /// 0 to 127, or [`ANY`].
        key: i16,
        /// Release velocity, 0 to 1.
        velocity: f64,
        /// From 0, or [`ANY_NOTE`].
        note_id: i32,
    },
    /// A note is silenced at once.
    Choke {
        /// 0 to 15, or [`ANY`].
        channel: i16,
        /// 0 to 127, or [`ANY`].
        key: i16,
        /// From 0, or [`ANY_NOTE`].
        note_id: i32,
    },
    /// The plugin tells the host that a voice has ended. Not a note-off.
    VoiceEnd {
        /// 0 to 15, or [`ANY`].
        channel: i16,
        /// 0 to 127, or [`ANY`].
        key: i16,
        /// From 0, or [`ANY_NOTE`].
        note_id: i32,
    },
    /// A note expression; polyphonic pressure is the kind `Pressure`.
    Expression {
        /// Which expression.
        kind: NoteExpressionType,
        /// 0 to 15, or [`ANY`].
        channel: i16,
        /// 0 to 127, or [`ANY`].
        key: i16,
        /// From 0, or [`ANY_NOTE`].
        note_id: i32,
        /// In the range of the kind.
        value: f64,
    },
    /// A MIDI control change.
    Controller {
        /// 0 to 15.
        channel: u8,
        /// 0 to 127.
        number: u8,
        /// 0 to 127.
        value: u8,
    },
    /// A MIDI program change.
    Program {
        /// 0 to 15.
        channel: u8,
        /// 0 to 127.
        program: u8,
    },
    /// MIDI pressure on a whole channel.
    ChannelPressure {
        /// 0 to 15.
        channel: u8,
        /// 0 to 127.
        value: u8,
    },
    /// A MIDI pitch bend.
    PitchBend {
        /// 0 to 15.
        channel: u8,
        /// 0 to 16383; 8192 is the centre.
        value: u16,
    },
    /// Three raw MIDI bytes. The output has them only for messages that [`Event::from_midi`] cannot
    /// name.
    Midi([u8; 3]),
    /// A parameter gets a value.
    Param {
        /// The parameter's CLAP id.
        id: u32,
        /// A plain CLAP value (integer parameters run from 0).
        value: f64,
    },
    /// The transport changes from here on. The event can only go in.
    Transport(Transport),
    /// The user takes hold of a parameter in the editor.
    GestureBegin {
        /// The parameter's CLAP id.
        id: u32,
    },
    /// The user lets go of a parameter.
    GestureEnd {
        /// The parameter's CLAP id.
        id: u32,
    },
    /// An event that this host has no name for; it can only come out.
    Other {
        /// The CLAP event type.
        type_id: u16,
        /// The size of the event in bytes.
        size_bytes: u32,
    },
}

impl Event {
    /// A note-on without a note id.
    #[must_use]
    pub const fn note_on(channel: i16, key: i16, velocity: f64) -> Self {
        Self::NoteOn {
            channel,
            key,
            velocity,
            note_id: ANY_NOTE,
        }
    }

    /// A note-off without a note id, release velocity 0.
    #[must_use]
    pub const fn note_off(channel: i16, key: i16) -> Self {
        Self::NoteOff {
            channel,
            key,
            velocity: 0.0,
            note_id: ANY_NOTE,
        }
    }

    /// Names a raw MIDI message. Values become fractions of 127 in single precision, as plugin
    /// frameworks compute them; a note-on with velocity 0 is a note-off. A message that is no
    /// channel message, or has a data byte above 127, stays [`Event::Midi`].
    #[must_use]
    pub fn from_midi(bytes: [u8; 3]) -> Self {
        let [status, first, second] = bytes;
        if first > 127 || second > 127 {
            return Self::Midi(bytes);
        }
        let channel = status & 0x0f;
        let key = i16::from(first);
        let value = f64::from(f32::from(second) / 127.0);
        match status & 0xf0 {
            0x80 => Self::midi_off(channel, key, value),
            0x90 if second == 0 => Self::midi_off(channel, key, 0.0),
            0x90 => Self::note_on(channel.into(), key, value),
            0xa0 => Self::Expression {
                kind: NoteExpressionType::Pressure,
                channel: channel.into(),
                key,
                note_id: ANY_NOTE,
                value,
            },
            0xb0 => Self::Controller {
                channel,
                number: first,
                value: second,
            },
            0xc0 => Self::Program {
                channel,
                program: first,
            },
            0xd0 => Self::ChannelPressure {
                channel,
                value: first,
            },
            0xe0 => Self::PitchBend {
                channel,
                value: u16::from(second) << 7 | u16::from(first),
            },
            _ => Self::Midi(bytes),
        }
    }

    fn midi_off(channel: u8, key: i16, velocity: f64) -> Self {
        Self::NoteOff {
            channel: channel.into(),
            key,
            velocity,
            note_id: ANY_NOTE,
        }
    }

    /// The event as a MIDI message. A message of two bytes has a zero at the end. A note-on never
    /// rounds to velocity 0, which would make it a note-off.
    ///
    /// `None` if MIDI has no such message, or for a number out of its range.
    #[must_use]
    pub fn to_midi(self) -> Option<[u8; 3]> {
        match self {
            Self::NoteOn {
                channel,
                key,
                velocity,
                ..
            } => {
                let velocity = seven_bits(velocity)?.max(1);
                Some([status(0x90, channel)?, data(key)?, velocity])
            }
            Self::NoteOff {
                channel,
                key,
                velocity,
                ..
            } => Some([status(0x80, channel)?, data(key)?, seven_bits(velocity)?]),
            Self::Expression {
                kind: NoteExpressionType::Pressure,
                channel,
                key,
                value,
                ..
            } => Some([status(0xa0, channel)?, data(key)?, seven_bits(value)?]),
            Self::Controller {
                channel,
                number,
                value,
            } => Some([status(0xb0, channel)?, data(number)?, data(value)?]),
            Self::Program { channel, program } => Some([status(0xc0, channel)?, data(program)?, 0]),
            Self::ChannelPressure { channel, value } => {
                Some([status(0xd0, channel)?, data(value)?, 0])
            }
            Self::PitchBend { channel, value } => {
                let (low, high) = (value % 128, value / 128);
                Some([status(0xe0, channel)?, data(low)?, data(high)?])
            }
            Self::Midi(bytes) => Some(bytes),
            Self::Expression { .. }
            | Self::Choke { .. }
            | Self::VoiceEnd { .. }
            | Self::Param { .. }
            | Self::Transport(_)
            | Self::GestureBegin { .. }
            | Self::GestureEnd { .. }
            | Self::Other { .. } => None,
        }
    }
}

fn status(kind: u8, channel: impl TryInto<u8>) -> Option<u8> {
    let channel = channel.try_into().ok()?;
    (channel < 16).then_some(kind | channel)
}

fn data(number: impl TryInto<u8>) -> Option<u8> {
    number.try_into().ok().filter(|byte| *byte < 128)
}

/// A fraction from 0 to 1 as 0 to 127.
fn seven_bits(fraction: f64) -> Option<u8> {
    if !(0.0..=1.0).contains(&fraction) {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the range is checked above"
    )]
    let byte = (fraction * 127.0).round() as u8;
    Some(byte)
}
