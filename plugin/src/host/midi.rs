//! Translates between the framework's note events and the performer's. No other file names the
//! framework's note events. Runs on the audio thread; imports `engine::events` and
//! `engine::hand`.

use crate::engine::events::{Input, Output, TimedInput};
use crate::engine::hand::HeldKey;
use nice_plug::midi::{Channel, Key, NoteEvent, VoiceID, control_change};

/// The framework's event, which the engine passes through unread.
pub type HostEvent = NoteEvent<()>;

/// What an event means.
#[must_use]
pub fn read(event: HostEvent) -> TimedInput<HostEvent> {
    let input = match event {
        NoteEvent::NoteOn {
            channel,
            key: Key::Number(key @ 0..=127),
            velocity,
            ..
        } => match channel {
            Channel::Number(channel @ 0..=15) => Input::NoteOn(HeldKey {
                channel,
                key,
                velocity: velocity_in_range(velocity),
            }),
            _ => Input::Nothing,
        },
        // A key cannot go down without a number.
        NoteEvent::NoteOn { .. } => Input::Nothing,
        NoteEvent::NoteOff { channel, key, .. } | NoteEvent::Choke { channel, key, .. } => {
            Input::NoteOff {
                channel: channel.number(),
                key: key.number(),
            }
        }
        NoteEvent::MidiCC {
            channel,
            cc: control_change::ALL_NOTES_OFF | control_change::ALL_SOUND_OFF,
            ..
        } => Input::AllNotesOff { channel },
        _ => Input::Other,
    };
    TimedInput {
        time_samples: event.timing(),
        input,
        event: sendable(event),
    }
}

/// The framework cannot send a choke, so one that passes leaves as a note-off.
fn sendable(event: HostEvent) -> HostEvent {
    match event {
        NoteEvent::Choke {
            timing,
            voice_id,
            channel,
            key,
        } => NoteEvent::NoteOff {
            timing,
            voice_id,
            channel,
            key,
            velocity: 0.0,
        },
        other => other,
    }
}

fn velocity_in_range(velocity: f32) -> f32 {
    if velocity.is_finite() {
        velocity.clamp(0.0, 1.0)
    } else {
        0.0
    }
}

/// The framework's event for an output.
#[must_use]
pub fn write(time_samples: u32, output: Output<HostEvent>) -> HostEvent {
    match output {
        Output::Through(event) => event,
        Output::NoteOn(HeldKey {
            channel,
            key,
            velocity,
        }) => NoteEvent::NoteOn {
            timing: time_samples,
            voice_id: VoiceID::Wildcard,
            channel: Channel::Number(channel),
            key: Key::Number(key),
            velocity,
        },
        Output::NoteOff { channel, key } => NoteEvent::NoteOff {
            timing: time_samples,
            voice_id: VoiceID::Wildcard,
            channel: Channel::Number(channel),
            key: Key::Number(key),
            velocity: 0.0,
        },
    }
}
