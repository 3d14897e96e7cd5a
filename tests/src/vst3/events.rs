//! The list in which the notes of a block go in and out, and the conversion between the tests'
//! events and those of the interface. Imports events and errors.

use super::number;
use crate::event::{ANY, ANY_NOTE, Event, NoteExpressionType, TimedEvent};
use std::cell::{Cell, RefCell};
use vst3::Class;
use vst3::Steinberg::Vst::Event_::EventTypes_;
use vst3::Steinberg::Vst::NoteExpressionTypeIDs_::{
    kBrightnessTypeID, kExpressionTypeID, kPanTypeID, kTuningTypeID, kVibratoTypeID, kVolumeTypeID,
};
use vst3::Steinberg::Vst::{
    ControllerNumbers_, DataEvent, DataEvent_, Event as RawEvent, Event__type0, IEventList,
    IEventListTrait, NoteExpressionValueEvent, NoteOffEvent, NoteOnEvent, PolyPressureEvent,
};
use vst3::Steinberg::{int32, kInvalidArgument, kResultFalse, kResultOk, tresult};

/// A list of events.
#[derive(Default)]
pub struct Events {
    events: RefCell<Vec<RawEvent>>,
    /// How many events fit; all if there is no number.
    limit: Option<usize>,
    refused: Cell<u32>,
    /// How many events are counted that are not there.
    missing: int32,
}

impl Class for Events {
    type Interfaces = (IEventList,);
}

impl Events {
    /// A list with content.
    #[must_use]
    pub fn holding(events: Vec<RawEvent>) -> Self {
        Self {
            events: RefCell::new(events),
            ..Self::default()
        }
    }

    /// A list that counts some events more than it has, and fails where it is asked for one of those.
    #[must_use]
    pub fn and_missing(self, missing: i32) -> Self {
        Self { missing, ..self }
    }

    /// An empty list that takes this many events and refuses the rest.
    #[must_use]
    pub fn with_limit(limit: Option<usize>) -> Self {
        Self {
            limit,
            ..Self::default()
        }
    }

    /// The events in the order in which they were added; times count from the start
    /// of the block.
    #[must_use]
    pub fn all(&self) -> Vec<TimedEvent> {
        self.events.borrow().iter().map(read).collect()
    }

    /// How many events were refused.
    #[must_use]
    pub fn refused(&self) -> u32 {
        self.refused.get()
    }
}

impl IEventListTrait for Events {
    unsafe fn getEventCount(&self) -> int32 {
        let there = int32::try_from(self.events.borrow().len()).unwrap_or(int32::MAX);
        there.saturating_add(self.missing)
    }

    unsafe fn getEvent(&self, index: int32, to: *mut RawEvent) -> tresult {
        let events = self.events.borrow();
        let event = usize::try_from(index).ok().and_then(|i| events.get(i));
        let Some(event) = event.filter(|_| !to.is_null()) else {
            return kInvalidArgument;
        };
        // SAFETY: it is not null, and the plugin gives a valid place.
        unsafe { to.write(*event) };
        kResultOk
    }

    unsafe fn addEvent(&self, event: *mut RawEvent) -> tresult {
        // SAFETY: the plugin gives a valid event or none.
        let Some(event) = (unsafe { event.as_ref() }) else {
            return kInvalidArgument;
        };
        let mut events = self.events.borrow_mut();
        if self.limit.is_some_and(|limit| events.len() >= limit) {
            self.refused.set(self.refused.get() + 1);
            return kResultFalse;
        }
        events.push(*event);
        kResultOk
    }
}

/// An event of the interface on its only event bus.
fn raw(at: i32, kind: impl TryInto<u16>, content: Event__type0) -> RawEvent {
    RawEvent {
        busIndex: 0,
        sampleOffset: at,
        ppqPosition: 0.0,
        flags: 0,
        r#type: number(kind),
        __field0: content,
    }
}

/// The numbers of expressions that both interfaces have.
const EXPRESSIONS: [(NoteExpressionType, Expression); 6] = [
    (NoteExpressionType::Volume, kVolumeTypeID),
    (NoteExpressionType::Pan, kPanTypeID),
    (NoteExpressionType::Tuning, kTuningTypeID),
    (NoteExpressionType::Vibrato, kVibratoTypeID),
    (NoteExpressionType::Expression, kExpressionTypeID),
    (NoteExpressionType::Brightness, kBrightnessTypeID),
];

type Expression = vst3::Steinberg::Vst::NoteExpressionTypeIDs;

/// A velocity, pressure or release velocity as the interface has it.
fn single(value: f64) -> f32 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the interface is in single precision"
    )]
    let value = value as f32;
    value
}

/// The event of the interface for one of ours, at a sample of the block. Expression values are sent
/// unchanged, because the interface has them from 0 to 1.
///
/// `None` for events that do not go through event lists, which are parameters and the controllers
/// that are parameters here, and for events that have no form at all.
#[must_use]
pub fn write(event: Event, at: i32) -> Option<RawEvent> {
    Some(match event {
        Event::NoteOn {
            channel,
            key,
            velocity,
            note_id,
        } => {
            let note = NoteOnEvent {
                channel,
                pitch: key,
                tuning: 0.0,
                velocity: single(velocity),
                length: 0,
                noteId: note_id,
            };
            let content = Event__type0 { noteOn: note };
            raw(at, EventTypes_::kNoteOnEvent, content)
        }
        Event::NoteOff {
            channel,
            key,
            velocity,
            note_id,
        } => {
            let note = NoteOffEvent {
                channel,
                pitch: key,
                velocity: single(velocity),
                noteId: note_id,
                tuning: 0.0,
            };
            let content = Event__type0 { noteOff: note };
            raw(at, EventTypes_::kNoteOffEvent, content)
        }
        Event::Expression {
            kind: NoteExpressionType::Pressure,
            channel,
            key,
            note_id,
            value,
        } => {
            let pressure = PolyPressureEvent {
                channel,
                pitch: key,
                pressure: single(value),
                noteId: note_id,
            };
            let content = Event__type0 {
                polyPressure: pressure,
            };
            raw(at, EventTypes_::kPolyPressureEvent, content)
        }
        Event::Expression {
            kind,
            note_id,
            value,
            ..
        } => {
            let (_, id) = EXPRESSIONS.iter().find(|(ours, _)| *ours == kind)?;
            let expression = NoteExpressionValueEvent {
                typeId: number(*id),
                noteId: note_id,
                value,
            };
            let content = Event__type0 {
                noteExpressionValue: expression,
            };
            raw(at, EventTypes_::kNoteExpressionValueEvent, content)
        }
        _ => return None,
    })
}

/// Data for the plugin, which has null for an address if there are no bytes.
#[must_use]
pub fn data(bytes: &'static [u8], at: i32) -> RawEvent {
    let data = DataEvent {
        size: number(bytes.len()),
        r#type: number(DataEvent_::DataTypes_::kMidiSysEx),
        bytes: if bytes.is_empty() {
            std::ptr::null()
        } else {
            bytes.as_ptr()
        },
    };
    raw(at, EventTypes_::kDataEvent, Event__type0 { data })
}

/// Reads an event that a plugin wrote. An expression has no channel or key here, only the id of its
/// note.
fn read(event: &RawEvent) -> TimedEvent {
    let at_samples = u64::try_from(event.sampleOffset).unwrap_or(u64::MAX);
    TimedEvent::new(at_samples, read_content(event))
}

fn read_content(event: &RawEvent) -> Event {
    let is = |kind| event.r#type == number::<u16>(kind);
    let content = &event.__field0;
    // SAFETY: the type says which of the contents it is, and all are plain numbers.
    unsafe {
        if is(EventTypes_::kNoteOnEvent) {
            let note = content.noteOn;
            return Event::NoteOn {
                channel: note.channel,
                key: note.pitch,
                velocity: f64::from(note.velocity),
                note_id: note.noteId,
            };
        }
        if is(EventTypes_::kNoteOffEvent) {
            let note = content.noteOff;
            return Event::NoteOff {
                channel: note.channel,
                key: note.pitch,
                velocity: f64::from(note.velocity),
                note_id: note.noteId,
            };
        }
        if is(EventTypes_::kPolyPressureEvent) {
            let pressure = content.polyPressure;
            return Event::Expression {
                kind: NoteExpressionType::Pressure,
                channel: pressure.channel,
                key: pressure.pitch,
                note_id: pressure.noteId,
                value: f64::from(pressure.pressure),
            };
        }
        if is(EventTypes_::kNoteExpressionValueEvent) {
            let expression = content.noteExpressionValue;
            let found = EXPRESSIONS
                .iter()
                .find(|(_, id)| number::<u32>(*id) == expression.typeId);
            if let Some((kind, _)) = found {
                return Event::Expression {
                    kind: *kind,
                    channel: ANY,
                    key: ANY,
                    note_id: expression.noteId,
                    value: expression.value,
                };
            }
        }
        if is(EventTypes_::kLegacyMIDICCOutEvent) {
            let out = content.midiCCOut;
            let bytes = [out.channel, out.value, out.value2].map(|byte| byte.to_ne_bytes()[0]);
            return controller(out.controlNumber, bytes);
        }
    }
    Event::Other {
        type_id: event.r#type,
        size_bytes: number(size_of::<RawEvent>()),
    }
}

fn controller(control: u8, [channel, value, value2]: [u8; 3]) -> Event {
    let control_number = u32::from(control);
    let is = |kind| control_number == number::<u32>(kind);
    if is(ControllerNumbers_::kAfterTouch) {
        Event::ChannelPressure { channel, value }
    } else if is(ControllerNumbers_::kPitchBend) {
        let value = u16::from(value2) << 7 | u16::from(value);
        Event::PitchBend { channel, value }
    } else if is(ControllerNumbers_::kCtrlProgramChange) {
        let program = value;
        Event::Program { channel, program }
    } else {
        Event::Controller {
            channel,
            number: control,
            value,
        }
    }
}

/// The same event without its note id. The two formats number notes without an id in different
/// ways.
#[must_use]
pub fn without_id(timed: &TimedEvent) -> TimedEvent {
    let mut timed = *timed;
    match &mut timed.event {
        Event::NoteOn { note_id, .. } | Event::NoteOff { note_id, .. } => *note_id = ANY_NOTE,
        _ => {}
    }
    timed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_and_expressions_go_there_and_back() {
        let events = [
            Event::note_on(3, 64, 0.75),
            Event::note_off(15, 0),
            Event::Expression {
                kind: NoteExpressionType::Pressure,
                channel: 1,
                key: 60,
                note_id: 9,
                value: 0.25,
            },
        ];
        for (at, event) in (0..).zip(events) {
            let raw = write(event, at).unwrap();
            let expected = TimedEvent::new(u64::try_from(at).unwrap(), event);
            assert_eq!(read(&raw), expected);
        }
    }

    #[test]
    fn controllers_are_no_events_on_the_way_in() {
        let bend = Event::PitchBend {
            channel: 0,
            value: 1,
        };
        assert!(write(bend, 0).is_none());
        let read = controller(129, [2, 0x7f, 0x3f]);
        let expected = Event::PitchBend {
            channel: 2,
            value: 0x1fff,
        };
        assert_eq!(read, expected);
    }
}
