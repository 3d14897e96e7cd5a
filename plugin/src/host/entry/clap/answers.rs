//! The list that a CLAP host reads the plugin's events from, kept in order. The framework writes what
//! the panel has changed after the notes of a block and with the time of its start (nice-plug 0.4.2),
//! but a plugin writes its events sorted by time (`clap/process.h`). Runs on the audio thread; imports
//! nothing of the crate.

use clap_sys::events::{clap_event_header, clap_event_transport, clap_output_events};
use std::cell::Cell;
use std::mem::MaybeUninit;
use std::ptr;

/// A host's list in which no event is earlier than the one before it.
pub struct Answers {
    host: *const clap_output_events,
    /// The time of the latest event so far.
    latest: Cell<u32>,
}

impl Answers {
    /// Nothing has been written to the host's list yet.
    pub const fn new(host: *const clap_output_events) -> Answers {
        Answers {
            host,
            latest: Cell::new(0),
        }
    }

    /// The same as a list to write to, for as long as this lives where it is.
    pub const fn clap(&self) -> clap_output_events {
        clap_output_events {
            ctx: ptr::from_ref(self).cast_mut().cast(),
            try_push: Some(push),
        }
    }
}

/// Hands an event on. One that is earlier than those before it gets the time of the latest.
///
/// # Safety
/// The list is that of an [`Answers`] whose host's list can be written, and the event is a header with
/// as many bytes as it tells.
unsafe extern "C" fn push(
    list: *const clap_output_events,
    event: *const clap_event_header,
) -> bool {
    // SAFETY: the caller's promise.
    let (answers, header) = unsafe { (&*(*list).ctx.cast::<Answers>(), &*event) };
    // SAFETY: the caller's promise.
    let hand_on = |event: *const clap_event_header| unsafe {
        (*answers.host)
            .try_push
            .is_some_and(|push| push(answers.host, event))
    };
    let latest = answers.latest.get();
    if header.time >= latest {
        answers.latest.set(header.time);
        return hand_on(event);
    }
    // No event of the core is larger than a transport.
    let mut later = MaybeUninit::<clap_event_transport>::uninit();
    let size = usize::try_from(header.size).unwrap_or(usize::MAX);
    if size > size_of_val(&later) {
        return hand_on(event);
    }
    let place = later.as_mut_ptr();
    // SAFETY: the event has this size, and there is room for it. A header stands at its start.
    unsafe {
        ptr::copy_nonoverlapping(event.cast::<u8>(), place.cast::<u8>(), size);
        (*place.cast::<clap_event_header>()).time = latest;
    }
    hand_on(place.cast())
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap_sys::events::{
        CLAP_CORE_EVENT_SPACE_ID, CLAP_EVENT_NOTE_ON, CLAP_EVENT_PARAM_GESTURE_BEGIN,
        clap_event_note, clap_event_param_gesture,
    };
    use std::cell::RefCell;
    use std::ffi::c_void;

    type Seen = RefCell<Vec<(u16, u32, u32)>>;

    unsafe extern "C" fn see(
        list: *const clap_output_events,
        event: *const clap_event_header,
    ) -> bool {
        // SAFETY: the context is a list of what was seen, and the event is whole.
        let (seen, header) = unsafe { (&*(*list).ctx.cast::<Seen>(), &*event) };
        let id = match header.type_ {
            CLAP_EVENT_PARAM_GESTURE_BEGIN => {
                // SAFETY: it is of this kind.
                unsafe { (*event.cast::<clap_event_param_gesture>()).param_id }
            }
            _ => 0,
        };
        seen.borrow_mut().push((header.type_, header.time, id));
        true
    }

    fn header<T>(kind: u16, time: u32) -> clap_event_header {
        clap_event_header {
            size: u32::try_from(size_of::<T>()).unwrap(),
            time,
            space_id: CLAP_CORE_EVENT_SPACE_ID,
            type_: kind,
            flags: 0,
        }
    }

    #[test]
    fn an_event_that_comes_late_gets_the_time_of_the_latest() {
        let seen = Seen::default();
        let host = clap_output_events {
            ctx: ptr::from_ref(&seen).cast_mut().cast::<c_void>(),
            try_push: Some(see),
        };
        let answers = Answers::new(&raw const host);
        let list = answers.clap();
        let note = |time| clap_event_note {
            header: header::<clap_event_note>(CLAP_EVENT_NOTE_ON, time),
            note_id: -1,
            port_index: 0,
            channel: 0,
            key: 60,
            velocity: 1.0,
        };
        let gesture = |time| clap_event_param_gesture {
            header: header::<clap_event_param_gesture>(CLAP_EVENT_PARAM_GESTURE_BEGIN, time),
            param_id: 7,
        };
        let (first, late, last) = (note(132), gesture(0), note(200));
        for event in [
            &raw const first.header,
            &raw const late.header,
            &raw const last.header,
        ] {
            // SAFETY: the list lives, and the events are whole.
            assert!(unsafe { push(&raw const list, event) });
        }
        let expected = [
            (CLAP_EVENT_NOTE_ON, 132, 0),
            (CLAP_EVENT_PARAM_GESTURE_BEGIN, 132, 7),
            (CLAP_EVENT_NOTE_ON, 200, 0),
        ];
        assert_eq!(*seen.borrow(), expected);
        assert_eq!(late.header.time, 0, "the plugin's own stays as it is");
    }
}
