//! The events that a CLAP host hands over. Every list is checked, and one with events that cannot be
//! is read through a [`Mended`], in which they are in order. Runs on the audio thread, and for
//! parameters that are flushed on the main thread; imports nothing of the crate.
//!
//! `clap/events.h`: the size in a header is that of the event with its header, and the time is an
//! offset within the block. `clap/process.h`: a host delivers events sorted by time.

use clap_sys::events::{
    CLAP_CORE_EVENT_SPACE_ID, CLAP_EVENT_MIDI_SYSEX, CLAP_EVENT_TRANSPORT, clap_event_header,
    clap_event_midi, clap_event_midi_sysex, clap_event_midi2, clap_event_note,
    clap_event_note_expression, clap_event_param_gesture, clap_event_param_mod,
    clap_event_param_value, clap_event_transport, clap_input_events, clap_output_events,
};
use std::cell::{Cell, UnsafeCell};
use std::mem::MaybeUninit;
use std::ptr;

/// The size of each kind of event of the core, by its number.
const SIZES: [usize; 13] = [
    size_of::<clap_event_note>(),
    size_of::<clap_event_note>(),
    size_of::<clap_event_note>(),
    size_of::<clap_event_note>(),
    size_of::<clap_event_note_expression>(),
    size_of::<clap_event_param_value>(),
    size_of::<clap_event_param_mod>(),
    size_of::<clap_event_param_gesture>(),
    size_of::<clap_event_param_gesture>(),
    size_of::<clap_event_transport>(),
    size_of::<clap_event_midi>(),
    size_of::<clap_event_midi_sysex>(),
    size_of::<clap_event_midi2>(),
];

/// The functions of a list; none if it has none, and counts as empty then.
type Functions = (
    unsafe extern "C" fn(*const clap_input_events) -> u32,
    unsafe extern "C" fn(*const clap_input_events, u32) -> *const clap_event_header,
);

/// # Safety
/// The list is null or a list.
unsafe fn functions(list: *const clap_input_events) -> Option<Functions> {
    // SAFETY: the caller's promise.
    let list = unsafe { list.as_ref() }?;
    list.size.zip(list.get)
}

/// The size of an event as far as it is read: a kind that the framework does not know is its header.
fn size_read(header: &clap_event_header) -> usize {
    let known = SIZES
        .get(usize::from(header.type_))
        .filter(|_| header.space_id == CLAP_CORE_EVENT_SPACE_ID);
    known.copied().unwrap_or(size_of::<clap_event_header>())
}

/// The header of an event that can be read; none if there is no event, if it is smaller than its
/// kind, or if it is system-exclusive without bytes.
///
/// # Safety
/// The event is null, or a header and as many bytes as it tells.
#[inline]
unsafe fn readable<'e>(event: *const clap_event_header) -> Option<&'e clap_event_header> {
    // SAFETY: the caller's promise.
    let header = unsafe { event.as_ref() }?;
    let size = usize::try_from(header.size).unwrap_or(usize::MAX);
    if size < size_read(header) {
        return None;
    }
    if header.type_ == CLAP_EVENT_MIDI_SYSEX && header.space_id == CLAP_CORE_EVENT_SPACE_ID {
        // SAFETY: it is of this kind, and of its size.
        let sysex = unsafe { &*event.cast::<clap_event_midi_sysex>() };
        if sysex.buffer.is_null() || sysex.size == 0 {
            return None;
        }
    }
    Some(header)
}

/// Whether the framework can take a list as it is, in a block of so many frames.
///
/// # Safety
/// The list is null or a list, and its events are null or events of the sizes that they tell.
#[inline]
pub unsafe fn are_in_order(list: *const clap_input_events, frames: u32) -> bool {
    if list.is_null() {
        return true;
    }
    // SAFETY: the caller's promise.
    let Some((size, get)) = (unsafe { functions(list) }) else {
        return false;
    };
    let mut before = 0;
    // SAFETY: these are functions of the list.
    for index in 0..unsafe { size(list) } {
        // SAFETY: as before; and the caller's promise holds for each event.
        let Some(header) = (unsafe { readable(get(list, index)) }) else {
            return false;
        };
        if header.time < before || header.time >= frames {
            return false;
        }
        before = header.time;
    }
    true
}

/// Whether the framework can take a list that it writes to. Null stands for one that takes nothing.
///
/// # Safety
/// The list is null or a list.
#[inline]
pub unsafe fn can_be_written(list: *const clap_output_events) -> bool {
    // SAFETY: the caller's promise.
    unsafe { list.as_ref() }.is_none_or(|list| list.try_push.is_some())
}

/// Room for an event of the core.
type Room = UnsafeCell<MaybeUninit<clap_event_transport>>;

/// No other event is larger than a transport.
const _: () = {
    let mut sizes: &[usize] = &SIZES;
    while let [size, rest @ ..] = sizes {
        assert!(*size <= size_of::<clap_event_transport>());
        sizes = rest;
    }
};

/// Where in a host's list an event is looked for.
#[derive(Clone, Copy, Default)]
struct Place {
    /// The number of readable events before this place.
    index: u32,
    /// The place among all events.
    at: u32,
    /// No event from here on is earlier.
    time: u32,
}

/// A host's list without the events that cannot be read. An event that is earlier than the one before
/// it comes with that one, and an event after the block comes at its last sample.
///
/// The host's list is read anew each time, so that it takes the same memory however long it is.
pub struct Mended {
    list: *const clap_input_events,
    last_time: u32,
    readable: u32,
    place: Cell<Place>,
    /// An event whose time has changed, until the next one is asked for.
    event: Room,
    /// The same for transports. The framework keeps one while it looks at the next.
    transports: [Room; 2],
    second_transport: Cell<bool>,
}

impl Mended {
    /// The events of a list, for a block of so many frames.
    ///
    /// # Safety
    /// As for [`are_in_order`], for as long as this is used.
    pub unsafe fn new(list: *const clap_input_events, frames: u32) -> Self {
        let room = || UnsafeCell::new(MaybeUninit::uninit());
        let mut mended = Self {
            list,
            last_time: frames.saturating_sub(1),
            readable: 0,
            place: Cell::default(),
            event: room(),
            transports: [room(), room()],
            second_transport: Cell::default(),
        };
        // The search for an event that there is not passes all of them.
        mended.find(u32::MAX);
        mended.readable = mended.place.take().index;
        mended
    }

    /// The list for the framework, valid while `self` is not moved.
    pub fn clap(&self) -> clap_input_events {
        clap_input_events {
            ctx: ptr::from_ref(self).cast_mut().cast(),
            size: Some(size),
            get: Some(get),
        }
    }

    /// A readable event by its number, with the time at which it comes.
    fn find(&self, index: u32) -> Option<(&clap_event_header, u32)> {
        // SAFETY: the promise of `new`.
        let (size, get) = unsafe { functions(self.list) }?;
        let mut place = self.place.get();
        if index < place.index {
            place = Place::default();
        }
        // SAFETY: these are functions of the list.
        let end = unsafe { size(self.list) };
        while place.at < end {
            // SAFETY: as before; the promise of `new` holds for each event.
            if let Some(header) = unsafe { readable(get(self.list, place.at)) } {
                if place.index == index {
                    // The same event is found here again.
                    self.place.set(place);
                    return Some((header, header.time.min(self.last_time).max(place.time)));
                }
                place.time = header.time.min(self.last_time).max(place.time);
                place.index = place.index.saturating_add(1);
            }
            place.at += 1;
        }
        self.place.set(place);
        None
    }

    /// An event by its number, at its time.
    fn event(&self, index: u32) -> *const clap_event_header {
        let Some((header, time)) = self.find(index) else {
            return ptr::null();
        };
        let event = ptr::from_ref(header);
        if header.time == time {
            return event;
        }
        let [first, second] = &self.transports;
        let room = if header.type_ != CLAP_EVENT_TRANSPORT {
            &self.event
        } else if self.second_transport.replace(!self.second_transport.get()) {
            second
        } else {
            first
        };
        let copy = room.get().cast::<u8>();
        // SAFETY: `readable` has found that the event has these bytes, and there is room for any
        // event. No reference to the copy is held.
        unsafe {
            copy.copy_from_nonoverlapping(event.cast(), size_read(header));
            let copy = copy.cast::<clap_event_header>();
            (*copy).time = time;
            copy
        }
    }
}

/// # Safety
/// The list was made by [`Mended::clap`].
unsafe extern "C" fn size(list: *const clap_input_events) -> u32 {
    // SAFETY: the caller's promise.
    unsafe { &*(*list).ctx.cast_const().cast::<Mended>() }.readable
}

/// # Safety
/// The list was made by [`Mended::clap`].
unsafe extern "C" fn get(list: *const clap_input_events, index: u32) -> *const clap_event_header {
    // SAFETY: the caller's promise.
    unsafe { &*(*list).ctx.cast_const().cast::<Mended>() }.event(index)
}

#[cfg(test)]
mod tests;
