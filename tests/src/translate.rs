//! Converts events to CLAP and back. No event of a plugin is dropped: an event without a name
//! becomes [`Event::Other`]. May be imported by the host only; imports [`Event`].

use crate::event::{Event, NoteExpressionType};
use clack_host::events::event_types::{
    MidiEvent, NoteChokeEvent, NoteEndEvent, NoteExpressionEvent, NoteOffEvent, NoteOnEvent,
    ParamGestureBeginEvent, ParamGestureEndEvent, ParamValueEvent,
};
use clack_host::events::io::EventBuffer;
use clack_host::events::spaces::CoreEventSpace;
use clack_host::events::{Pckn, UnknownEvent};
use clack_host::utils::ClapId;

/// All events go to the first note port, because MIDI effects have one.
const PORT: u16 = 0;

/// Adds an event to what a plugin will read, `time` samples into the block. Notes and expressions
/// are sent as CLAP events. What only MIDI has is sent as MIDI events.
///
/// `None` if the event has no form in CLAP: an [`Event::Other`], a MIDI number
/// out of range, or the one parameter id that CLAP reserves.
pub(crate) fn push(event: Event, time: u32, to: &mut EventBuffer) -> Option<()> {
    match event {
        Event::NoteOn {
            channel,
            key,
            velocity,
            note_id,
        } => to.push(&NoteOnEvent::new(
            time,
            address(channel, key, note_id),
            velocity,
        )),
        Event::NoteOff {
            channel,
            key,
            velocity,
            note_id,
        } => to.push(&NoteOffEvent::new(
            time,
            address(channel, key, note_id),
            velocity,
        )),
        Event::Choke {
            channel,
            key,
            note_id,
        } => to.push(&NoteChokeEvent::new(time, address(channel, key, note_id))),
        Event::VoiceEnd {
            channel,
            key,
            note_id,
        } => to.push(&NoteEndEvent::new(time, address(channel, key, note_id))),
        Event::Expression {
            kind,
            channel,
            key,
            note_id,
            value,
        } => to.push(&NoteExpressionEvent::new(
            time,
            address(channel, key, note_id),
            kind,
            value,
        )),
        Event::Param { id, value } => {
            let id = ClapId::from_raw(id)?;
            to.push(&ParamValueEvent::new(time, id, Pckn::match_all(), value));
        }
        Event::Transport(transport) => to.push(&transport.to_clap(time)),
        Event::GestureBegin { id } => {
            to.push(&ParamGestureBeginEvent::new(time, ClapId::from_raw(id)?));
        }
        Event::GestureEnd { id } => {
            to.push(&ParamGestureEndEvent::new(time, ClapId::from_raw(id)?));
        }
        Event::Controller { .. }
        | Event::Program { .. }
        | Event::ChannelPressure { .. }
        | Event::PitchBend { .. }
        | Event::Midi(_) => to.push(&MidiEvent::new(time, PORT, event.to_midi()?)),
        Event::Other { .. } => return None,
    }
    Some(())
}

/// Reads an event that a plugin wrote.
pub(crate) fn read(event: &UnknownEvent) -> Event {
    event
        .as_core_event()
        .and_then(|core| read_core(&core))
        .unwrap_or(Event::Other {
            type_id: event.header().type_id(),
            size_bytes: event.header().size(),
        })
}

fn read_core(event: &CoreEventSpace<'_>) -> Option<Event> {
    Some(match event {
        CoreEventSpace::NoteOn(e) => Event::NoteOn {
            channel: e.pckn().raw_channel(),
            key: e.pckn().raw_key(),
            velocity: e.velocity(),
            note_id: e.pckn().raw_note_id(),
        },
        CoreEventSpace::NoteOff(e) => Event::NoteOff {
            channel: e.pckn().raw_channel(),
            key: e.pckn().raw_key(),
            velocity: e.velocity(),
            note_id: e.pckn().raw_note_id(),
        },
        CoreEventSpace::NoteChoke(e) => Event::Choke {
            channel: e.pckn().raw_channel(),
            key: e.pckn().raw_key(),
            note_id: e.pckn().raw_note_id(),
        },
        CoreEventSpace::NoteEnd(e) => Event::VoiceEnd {
            channel: e.pckn().raw_channel(),
            key: e.pckn().raw_key(),
            note_id: e.pckn().raw_note_id(),
        },
        CoreEventSpace::NoteExpression(e) => Event::Expression {
            kind: expression_kind(e)?,
            channel: e.pckn().raw_channel(),
            key: e.pckn().raw_key(),
            note_id: e.pckn().raw_note_id(),
            value: e.value(),
        },
        CoreEventSpace::ParamValue(e) => Event::Param {
            id: e.param_id()?.get(),
            value: e.value(),
        },
        CoreEventSpace::ParamGestureBegin(e) => Event::GestureBegin {
            id: e.param_id()?.get(),
        },
        CoreEventSpace::ParamGestureEnd(e) => Event::GestureEnd {
            id: e.param_id()?.get(),
        },
        CoreEventSpace::Midi(e) => Event::from_midi(e.data()),
        _ => return None,
    })
}

/// The kind of an expression event. The library does not read `Expression` back from its number, so
/// an event of an unknown kind is compared with an event of that kind.
fn expression_kind(event: &NoteExpressionEvent) -> Option<NoteExpressionType> {
    let missed = NoteExpressionType::Expression;
    let is_missed = *event == event.with_expression_type(missed);
    event.expression_type().or(is_missed.then_some(missed))
}

fn address(channel: i16, key: i16, note_id: i32) -> Pckn {
    Pckn::from_raw(0, channel, key, note_id)
}
