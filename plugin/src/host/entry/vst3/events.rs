//! A host's list of events as the framework can read it: every event lies within the block, and what is
//! none is passed over. Runs on the audio thread; imports nothing of the crate.

use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::{
    DataEvent, Event, Event_::EventTypes_, Event__type0, IEventList, IEventListTrait,
};
use nice_plug::wrapper::vst3::vst3::Steinberg::{
    int32, kInvalidArgument, kNotImplemented, kResultOk, tresult,
};
use nice_plug::wrapper::vst3::vst3::{Class, ComRef};

/// `kDataEvent` of `ivstevents.h`, whose type in the bindings differs from platform to platform.
const DATA_EVENT: u16 = 2;
const _: () = assert!(EventTypes_::kDataEvent == 2);
/// A type of event that `ivstevents.h` does not have, which the framework passes over.
const NO_EVENT: u16 = 0xfffe;

/// The events that came while no audio was due, and then the host's.
pub struct Events<'a> {
    /// Null if the host passes no list.
    host: *mut IEventList,
    waiting: &'a [Event],
    /// The last sample of the block.
    last: i32,
}

impl<'a> Events<'a> {
    /// # Safety
    /// The host's list is null or valid for as long as this is used.
    pub unsafe fn new(host: *mut IEventList, waiting: &'a [Event], last: i32) -> Self {
        Self {
            host,
            waiting,
            last,
        }
    }

    fn host(&self) -> Option<ComRef<'_, IEventList>> {
        // SAFETY: whoever made this promised it.
        unsafe { ComRef::from_raw(self.host) }
    }

    fn host_count(&self) -> int32 {
        // SAFETY: the list is valid.
        let count = self.host().map(|list| unsafe { list.getEventCount() });
        count.unwrap_or(0).max(0)
    }

    pub fn is_empty(&self) -> bool {
        self.waiting.is_empty() && self.host_count() == 0
    }

    /// The host's events that can be kept beyond the block.
    pub fn to_keep(&self) -> impl Iterator<Item = Event> {
        let events = (0..self.host_count()).map(|index| self.of_host(index));
        // Data lies in the host's memory.
        events.filter(|event| ![DATA_EVENT, NO_EVENT].contains(&event.r#type))
    }

    /// An event of the host's.
    fn of_host(&self, index: int32) -> Event {
        let mut event = nothing();
        // SAFETY: the place is valid.
        unsafe { self.read(index, &mut event) };
        event
    }

    /// Has the host write an event, and makes it one that the framework can read. The framework does not
    /// ask whether a list failed, which leaves the place as it was. Data of no bytes is null, which the
    /// framework does not expect.
    ///
    /// # Safety
    /// The place is valid for writes.
    unsafe fn read(&self, index: int32, place: *mut Event) {
        // SAFETY: the list is valid, and so is the place.
        let result = self
            .host()
            .map(|list| unsafe { list.getEvent(index, place) });
        if result != Some(kResultOk) {
            // SAFETY: the place is valid.
            unsafe { place.write(nothing()) };
            return;
        }
        // SAFETY: the place is valid, and the host has written an event.
        let event = unsafe { &mut *place };
        event.sampleOffset = event.sampleOffset.clamp(0, self.last);
        if is_empty_data(event) {
            event.r#type = NO_EVENT;
        }
    }
}

/// An event that the framework passes over.
fn nothing() -> Event {
    let data = DataEvent {
        size: 0,
        r#type: 0,
        bytes: std::ptr::null(),
    };
    Event {
        busIndex: 0,
        sampleOffset: 0,
        ppqPosition: 0.0,
        flags: 0,
        r#type: NO_EVENT,
        __field0: Event__type0 { data },
    }
}

fn is_empty_data(event: &Event) -> bool {
    if event.r#type != DATA_EVENT {
        return false;
    }
    // SAFETY: the type says that it is data, and any bits are valid numbers and pointers.
    let data = unsafe { event.__field0.data };
    data.bytes.is_null() || data.size == 0
}

impl Class for Events<'_> {
    type Interfaces = (IEventList,);
}

impl IEventListTrait for Events<'_> {
    unsafe fn getEventCount(&self) -> int32 {
        let waiting = int32::try_from(self.waiting.len()).unwrap_or(0);
        waiting.saturating_add(self.host_count())
    }

    unsafe fn getEvent(&self, index: int32, event: *mut Event) -> tresult {
        if event.is_null() {
            return kInvalidArgument;
        }
        let waiting = usize::try_from(index)
            .ok()
            .and_then(|i| self.waiting.get(i));
        // SAFETY: it is not null, and the caller gives a valid place.
        unsafe {
            match waiting {
                Some(waiting) => event.write(*waiting),
                None => {
                    let waiting = int32::try_from(self.waiting.len()).unwrap_or(0);
                    self.read(index.saturating_sub(waiting), event);
                }
            }
        }
        kResultOk
    }

    /// Nobody adds to what came in.
    unsafe fn addEvent(&self, _event: *mut Event) -> tresult {
        kNotImplemented
    }
}
