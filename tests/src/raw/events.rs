//! Events as CLAP has them, in a list, valid and invalid ones. Imports nothing of the crate.

use clap_sys::events::{
    CLAP_CORE_EVENT_SPACE_ID, CLAP_EVENT_MIDI, CLAP_EVENT_MIDI_SYSEX, CLAP_EVENT_MIDI2,
    CLAP_EVENT_NOTE_CHOKE, CLAP_EVENT_NOTE_END, CLAP_EVENT_NOTE_EXPRESSION, CLAP_EVENT_NOTE_OFF,
    CLAP_EVENT_NOTE_ON, CLAP_EVENT_PARAM_GESTURE_BEGIN, CLAP_EVENT_PARAM_GESTURE_END,
    CLAP_EVENT_PARAM_MOD, CLAP_EVENT_PARAM_VALUE, CLAP_EVENT_TRANSPORT, clap_event_header,
    clap_event_midi, clap_event_midi_sysex, clap_event_midi2, clap_event_note,
    clap_event_note_expression, clap_event_param_gesture, clap_event_param_mod,
    clap_event_param_value, clap_event_transport, clap_input_events, clap_output_events,
};
use std::ptr;

/// An event that no specification knows.
#[repr(C)]
#[derive(Clone, Copy, Debug)]
pub struct Unknown {
    /// The header that every event has.
    pub header: clap_event_header,
    /// Its content.
    pub payload: [u64; 6],
}

/// Any event.
#[derive(Clone, Copy, Debug)]
pub enum RawEvent {
    /// On, off, choke or end.
    Note(clap_event_note),
    /// For one note.
    Expression(clap_event_note_expression),
    /// A parameter's value.
    Value(clap_event_param_value),
    /// A parameter's modulation.
    Modulation(clap_event_param_mod),
    /// The user takes hold of a parameter, or lets go of it.
    Gesture(clap_event_param_gesture),
    /// The transport.
    Transport(clap_event_transport),
    /// Three bytes of MIDI.
    Midi(clap_event_midi),
    /// Any bytes of MIDI; they must outlive the block.
    Sysex(clap_event_midi_sysex),
    /// Four words of MIDI 2.
    Midi2(clap_event_midi2),
    /// Any other event.
    Unknown(Unknown),
}

/// A header of the core for an event of type `T`.
#[must_use]
pub fn header<T>(time: u32, kind: u16) -> clap_event_header {
    clap_event_header {
        size: u32::try_from(size_of::<T>()).unwrap_or(u32::MAX),
        time,
        space_id: CLAP_CORE_EVENT_SPACE_ID,
        type_: kind,
        flags: 0,
    }
}

/// A note event on port 0 without an id.
#[must_use]
pub fn note(kind: u16, time: u32, channel: i16, key: i16, velocity: f64) -> RawEvent {
    RawEvent::Note(clap_event_note {
        header: header::<clap_event_note>(time, kind),
        note_id: -1,
        port_index: 0,
        channel,
        key,
        velocity,
    })
}

/// A note-on on the first channel.
#[must_use]
pub fn on(time: u32, key: i16) -> RawEvent {
    note(CLAP_EVENT_NOTE_ON, time, 0, key, 0.75)
}

/// A note-off on the first channel.
#[must_use]
pub fn off(time: u32, key: i16) -> RawEvent {
    note(CLAP_EVENT_NOTE_OFF, time, 0, key, 0.0)
}

/// Three bytes of MIDI.
#[must_use]
pub fn midi(time: u32, data: [u8; 3]) -> RawEvent {
    RawEvent::Midi(clap_event_midi {
        header: header::<clap_event_midi>(time, CLAP_EVENT_MIDI),
        port_index: 0,
        data,
    })
}

/// Bytes of MIDI. Without them the pointer to them is null.
#[must_use]
pub fn sysex(time: u32, bytes: Option<&'static [u8]>, size: u32) -> RawEvent {
    RawEvent::Sysex(clap_event_midi_sysex {
        header: header::<clap_event_midi_sysex>(time, CLAP_EVENT_MIDI_SYSEX),
        port_index: 0,
        buffer: bytes.map_or(ptr::null(), <[u8]>::as_ptr),
        size,
    })
}

/// A parameter's value for everything that sounds.
#[must_use]
pub fn value(time: u32, param_id: u32, value: f64) -> RawEvent {
    RawEvent::Value(clap_event_param_value {
        header: header::<clap_event_param_value>(time, CLAP_EVENT_PARAM_VALUE),
        param_id,
        cookie: ptr::null_mut(),
        note_id: -1,
        port_index: -1,
        channel: -1,
        key: -1,
        value,
    })
}

/// A parameter's modulation for everything that sounds.
#[must_use]
pub fn modulation(time: u32, param_id: u32, amount: f64) -> RawEvent {
    RawEvent::Modulation(clap_event_param_mod {
        header: header::<clap_event_param_mod>(time, CLAP_EVENT_PARAM_MOD),
        param_id,
        cookie: ptr::null_mut(),
        note_id: -1,
        port_index: -1,
        channel: -1,
        key: -1,
        amount,
    })
}

/// The user takes hold of a parameter, or lets go of it.
#[must_use]
pub fn gesture(time: u32, param_id: u32, begins: bool) -> RawEvent {
    let kind = if begins {
        CLAP_EVENT_PARAM_GESTURE_BEGIN
    } else {
        CLAP_EVENT_PARAM_GESTURE_END
    };
    RawEvent::Gesture(clap_event_param_gesture {
        header: header::<clap_event_param_gesture>(time, kind),
        param_id,
    })
}

/// Events of which there is too little to read: smaller than their kind, or system-exclusive without
/// bytes.
#[must_use]
pub fn unreadable() -> Vec<RawEvent> {
    let bytes: &'static [u8] = &[0x90, 60, 100];
    let midi2 = RawEvent::Midi2(clap_event_midi2 {
        header: header::<clap_event_midi2>(0, CLAP_EVENT_MIDI2),
        port_index: 0,
        data: [0; 4],
    });
    vec![
        sysex(0, None, 0),
        sysex(0, None, 3),
        sysex(0, Some(bytes), 0),
        sysex(0, Some(bytes), 3).telling_size(24),
        on(0, 40).telling_size(16),
        on(0, 41).telling_size(0),
        on(0, 42).telling_size(39),
        midi(0, [0x90, 43, 100]).telling_size(19),
        midi2.telling_size(17),
        value(0, 1, f64::NAN).telling_size(40),
    ]
}

impl RawEvent {
    /// What every event begins with.
    #[must_use]
    pub fn header(&self) -> &clap_event_header {
        match self {
            Self::Note(event) => &event.header,
            Self::Expression(event) => &event.header,
            Self::Value(event) => &event.header,
            Self::Modulation(event) => &event.header,
            Self::Gesture(event) => &event.header,
            Self::Transport(event) => &event.header,
            Self::Midi(event) => &event.header,
            Self::Sysex(event) => &event.header,
            Self::Midi2(event) => &event.header,
            Self::Unknown(event) => &event.header,
        }
    }

    fn header_mut(&mut self) -> &mut clap_event_header {
        match self {
            Self::Note(event) => &mut event.header,
            Self::Expression(event) => &mut event.header,
            Self::Value(event) => &mut event.header,
            Self::Modulation(event) => &mut event.header,
            Self::Gesture(event) => &mut event.header,
            Self::Transport(event) => &mut event.header,
            Self::Midi(event) => &mut event.header,
            Self::Sysex(event) => &mut event.header,
            Self::Midi2(event) => &mut event.header,
            Self::Unknown(event) => &mut event.header,
        }
    }

    /// The same event at another sample.
    #[must_use]
    pub fn at(mut self, time: u32) -> Self {
        self.header_mut().time = time;
        self
    }

    /// The same event, which tells another size than it has.
    #[must_use]
    pub fn telling_size(mut self, size: u32) -> Self {
        self.header_mut().size = size;
        self
    }

    /// The event for the plugin. The pointer covers the whole event, not only the header.
    pub(crate) fn pointer(&self) -> *const clap_event_header {
        match self {
            Self::Note(event) => ptr::from_ref(event).cast(),
            Self::Expression(event) => ptr::from_ref(event).cast(),
            Self::Value(event) => ptr::from_ref(event).cast(),
            Self::Modulation(event) => ptr::from_ref(event).cast(),
            Self::Gesture(event) => ptr::from_ref(event).cast(),
            Self::Transport(event) => ptr::from_ref(event).cast(),
            Self::Midi(event) => ptr::from_ref(event).cast(),
            Self::Sysex(event) => ptr::from_ref(event).cast(),
            Self::Midi2(event) => ptr::from_ref(event).cast(),
            Self::Unknown(event) => ptr::from_ref(event).cast(),
        }
    }

    /// A plugin's event; none if it is of no known kind, or smaller than its kind.
    ///
    /// # Safety
    /// The header must be the start of an event of the size that it states.
    pub(crate) unsafe fn read(event: *const clap_event_header) -> Option<Self> {
        // SAFETY: the caller's promise.
        let head = unsafe { &*event };
        /// # Safety
        /// As for [`RawEvent::read`], and the event must be of `T`'s kind.
        unsafe fn of<T: Copy>(event: *const clap_event_header) -> Option<T> {
            // SAFETY: the caller's promise.
            let size = unsafe { (*event).size } as usize;
            // SAFETY: there are as many bytes as the header tells.
            (size >= size_of::<T>()).then(|| unsafe { event.cast::<T>().read_unaligned() })
        }
        if head.space_id != CLAP_CORE_EVENT_SPACE_ID {
            return None;
        }
        // SAFETY: each kind is read as its own structure.
        unsafe {
            match head.type_ {
                CLAP_EVENT_NOTE_ON
                | CLAP_EVENT_NOTE_OFF
                | CLAP_EVENT_NOTE_CHOKE
                | CLAP_EVENT_NOTE_END => of(event).map(Self::Note),
                CLAP_EVENT_NOTE_EXPRESSION => of(event).map(Self::Expression),
                CLAP_EVENT_PARAM_VALUE => of(event).map(Self::Value),
                CLAP_EVENT_PARAM_MOD => of(event).map(Self::Modulation),
                CLAP_EVENT_PARAM_GESTURE_BEGIN | CLAP_EVENT_PARAM_GESTURE_END => {
                    of(event).map(Self::Gesture)
                }
                CLAP_EVENT_TRANSPORT => of(event).map(Self::Transport),
                CLAP_EVENT_MIDI => of(event).map(Self::Midi),
                CLAP_EVENT_MIDI_SYSEX => of(event).map(Self::Sysex),
                CLAP_EVENT_MIDI2 => of(event).map(Self::Midi2),
                _ => None,
            }
        }
    }
}

/// The input of a plugin.
#[derive(Clone, Debug, Default)]
pub struct Events {
    events: Vec<RawEvent>,
    /// The list counts one event more than there are.
    counts_one_more: bool,
}

impl Events {
    /// Sorts events by time, as CLAP demands; those at one sample keep their order.
    #[must_use]
    pub fn new(mut events: Vec<RawEvent>) -> Self {
        events.sort_by_key(|event| event.header().time);
        Self::as_they_are(events)
    }

    /// Events in the order of a careless host.
    #[must_use]
    pub const fn as_they_are(events: Vec<RawEvent>) -> Self {
        Self {
            events,
            counts_one_more: false,
        }
    }

    /// The same list, which counts one event more than there are: the last is null.
    #[must_use]
    pub fn with_a_null(mut self) -> Self {
        self.counts_one_more = true;
        self
    }

    /// The list for the plugin, valid while `self` is borrowed.
    pub(super) fn clap(&self) -> clap_input_events {
        clap_input_events {
            ctx: ptr::from_ref(self).cast_mut().cast(),
            size: Some(size),
            get: Some(get),
        }
    }

    /// The events in `from..from + frames`, with times counted from `from`.
    #[must_use]
    pub fn within(&self, from: u32, frames: u32) -> Self {
        let inside = |event: &&RawEvent| {
            let time = event.header().time;
            time >= from && time - from < frames
        };
        let moved = self.events.iter().filter(inside);
        Self {
            events: moved
                .map(|event| event.at(event.header().time - from))
                .collect(),
            counts_one_more: self.counts_one_more,
        }
    }
}

unsafe extern "C" fn size(list: *const clap_input_events) -> u32 {
    // SAFETY: the list was made by `Events::clap`.
    let events = unsafe { &*(*list).ctx.cast_const().cast::<Events>() };
    let count = events.events.len() + usize::from(events.counts_one_more);
    u32::try_from(count).unwrap_or(u32::MAX)
}

unsafe extern "C" fn get(list: *const clap_input_events, index: u32) -> *const clap_event_header {
    // SAFETY: the list was made by `Events::clap`.
    let events = unsafe { &*(*list).ctx.cast_const().cast::<Events>() };
    let event = events.events.get(index as usize);
    event.map_or(ptr::null(), RawEvent::pointer)
}

/// The output of a plugin.
#[derive(Debug, Default)]
pub(super) struct Outbox {
    pub(super) events: Vec<RawEvent>,
    /// The number of invalid events.
    pub(super) odd: u32,
}

impl Outbox {
    /// The list for the plugin, valid while `self` is borrowed.
    pub(super) fn clap(&mut self) -> clap_output_events {
        clap_output_events {
            ctx: ptr::from_mut(self).cast(),
            try_push: Some(try_push),
        }
    }
}

unsafe extern "C" fn try_push(
    list: *const clap_output_events,
    event: *const clap_event_header,
) -> bool {
    // SAFETY: the list was made by `Outbox::clap`, and nothing else uses it now.
    let outbox = unsafe { &mut *(*list).ctx.cast::<Outbox>() };
    // SAFETY: plugins push events of the size that they state.
    match unsafe { RawEvent::read(event) } {
        Some(event) => outbox.events.push(event),
        None => outbox.odd += 1,
    }
    true
}
