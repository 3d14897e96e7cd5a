//! What of a list reaches the framework, against a plain reading of the whole list.

use super::*;
use clap_sys::events::{CLAP_EVENT_NOTE_ON, CLAP_EVENT_PARAM_VALUE};
use fastrand::Rng;

/// An event of any kind.
#[repr(C)]
#[derive(Clone, Copy)]
union Any {
    header: clap_event_header,
    sysex: clap_event_midi_sysex,
    whole: clap_event_transport,
}

fn event(kind: u16, time: u32, size: usize) -> Any {
    // SAFETY: plain data, for which zeros are a valid value.
    let mut event: Any = unsafe { std::mem::zeroed() };
    event.header = clap_event_header {
        size: u32::try_from(size).unwrap(),
        time,
        space_id: CLAP_CORE_EVENT_SPACE_ID,
        type_: kind,
        flags: 0,
    };
    event
}

fn note(time: u32) -> Any {
    event(CLAP_EVENT_NOTE_ON, time, size_of::<clap_event_note>())
}

fn transport(time: u32) -> Any {
    event(
        CLAP_EVENT_TRANSPORT,
        time,
        size_of::<clap_event_transport>(),
    )
}

fn header(event: &Any) -> &clap_event_header {
    // SAFETY: every event begins with it.
    unsafe { &event.header }
}

/// A host's list. An event that is not there is null.
struct List(Vec<Option<Any>>);

impl List {
    fn clap(&self) -> clap_input_events {
        clap_input_events {
            ctx: ptr::from_ref(self).cast_mut().cast(),
            size: Some(count),
            get: Some(nth),
        }
    }
}

unsafe extern "C" fn count(list: *const clap_input_events) -> u32 {
    // SAFETY: the list was made by `List::clap`.
    let list = unsafe { &*(*list).ctx.cast_const().cast::<List>() };
    u32::try_from(list.0.len()).unwrap()
}

unsafe extern "C" fn nth(list: *const clap_input_events, index: u32) -> *const clap_event_header {
    // SAFETY: the list was made by `List::clap`.
    let list = unsafe { &*(*list).ctx.cast_const().cast::<List>() };
    let event = list.0.get(index as usize).and_then(Option::as_ref);
    event.map_or(ptr::null(), |event| ptr::from_ref(event).cast())
}

fn in_order(events: Vec<Option<Any>>, frames: u32) -> bool {
    let list = List(events);
    let list = list.clap();
    // SAFETY: these are events of at least the sizes that they tell, or tell too little.
    unsafe { are_in_order(&raw const list, frames) }
}

#[test]
fn lists_in_order_are_found_so() {
    assert!(in_order(Vec::new(), 0));
    assert!(in_order(
        vec![Some(note(0)), Some(note(63)), Some(note(63))],
        64
    ));
    assert!(in_order(vec![Some(event(4_000, 5, 16))], 64));
    // SAFETY: a null list is an empty one.
    assert!(unsafe { are_in_order(ptr::null(), 64) });
}

#[test]
fn whatever_is_out_of_order_is_found() {
    assert!(!in_order(vec![Some(note(64))], 64));
    assert!(!in_order(vec![Some(note(0))], 0));
    assert!(!in_order(vec![Some(note(5)), Some(note(4))], 64));
    assert!(!in_order(vec![None], 64));
    assert!(!in_order(vec![Some(event(CLAP_EVENT_NOTE_ON, 0, 39))], 64));
    assert!(!in_order(vec![Some(event(4_000, 0, 15))], 64));
    for (kind, size) in (0..).zip(SIZES) {
        assert!(!in_order(vec![Some(event(kind, 0, size - 1))], 64));
    }
    let sysex = size_of::<clap_event_midi_sysex>();
    assert!(!in_order(
        vec![Some(event(CLAP_EVENT_MIDI_SYSEX, 0, sysex))],
        64
    ));
    let no_functions = clap_input_events {
        ctx: ptr::null_mut(),
        size: None,
        get: None,
    };
    // SAFETY: nothing is called.
    assert!(!unsafe { are_in_order(&raw const no_functions, 64) });
}

static BYTES: [u8; 3] = [0xf0, 0x01, 0xf7];

fn any_event(rng: &mut Rng) -> Option<Any> {
    let kind = [rng.u16(0..13), rng.u16(0..13), CLAP_EVENT_PARAM_VALUE, 700][rng.usize(0..4)];
    let whole = SIZES.get(usize::from(kind)).copied().unwrap_or(16);
    let size = [whole, whole, whole, whole + 8, rng.usize(0..whole)][rng.usize(0..5)];
    let time = [rng.u32(0..64), rng.u32(0..64), rng.u32(0..80), u32::MAX][rng.usize(0..4)];
    let mut event = event(kind, time, size);
    if kind == CLAP_EVENT_MIDI_SYSEX && rng.bool() {
        event.sysex.buffer = BYTES.as_ptr();
        event.sysex.size = rng.u32(0..=3);
    }
    (rng.u8(0..8) > 0).then_some(event)
}

/// What has to come of a list: the place of each event and its time.
fn expected(list: &List, frames: u32) -> Vec<(usize, u32)> {
    let mut latest = 0;
    let mut expected = Vec::new();
    for (index, event) in list.0.iter().enumerate() {
        let Some(event) = event else { continue };
        let head = header(event);
        let whole = SIZES.get(usize::from(head.type_)).copied().unwrap_or(16);
        // SAFETY: plain data.
        let empty = unsafe { event.sysex.buffer.is_null() || event.sysex.size == 0 };
        if (head.size as usize) < whole || (head.type_ == CLAP_EVENT_MIDI_SYSEX && empty) {
            continue;
        }
        latest = head.time.min(frames - 1).max(latest);
        expected.push((index, latest));
    }
    expected
}

#[test]
fn any_list_is_mended() {
    let mut rng = Rng::with_seed(2);
    for _ in 0..2_000 {
        let list = List((0..rng.usize(0..12)).map(|_| any_event(&mut rng)).collect());
        let clap = list.clap();
        let expected = expected(&list, 64);
        // SAFETY: these are events of at least the sizes that they tell, or tell too little.
        let mended = unsafe { Mended::new(&raw const clap, 64) };
        let clap = mended.clap();
        // SAFETY: the list is one.
        assert_eq!(unsafe { size(&raw const clap) } as usize, expected.len());
        // As the framework reads: on and on, some again, and at times from the start.
        for _ in 0..40 {
            let index = rng.usize(0..=expected.len());
            for index in [index, index, index.saturating_sub(1), index + 1] {
                // SAFETY: the list is one.
                let found = unsafe { get(&raw const clap, u32::try_from(index).unwrap()) };
                let Some((place, time)) = expected.get(index) else {
                    assert!(found.is_null());
                    continue;
                };
                let given = header(list.0[*place].as_ref().unwrap());
                // SAFETY: it is an event.
                let found = unsafe { &*found };
                assert_eq!((found.type_, found.time), (given.type_, *time));
                assert_eq!(found.size, given.size);
                // An event whose time is right is the host's own.
                assert_eq!(ptr::eq(found, given), given.time == *time);
            }
        }
    }
}

/// The framework holds on to the transport in force, and reads on until the next one.
#[test]
fn a_transport_stays_while_others_are_looked_at() {
    let events = [Some(transport(70)), Some(note(70)), Some(transport(70))];
    let mut list = List(events.to_vec());
    for (number, event) in list.0.iter_mut().flatten().enumerate() {
        event.whole.tempo = f64::from(u8::try_from(number).unwrap());
    }
    let clap = list.clap();
    // SAFETY: these are events.
    let mended = unsafe { Mended::new(&raw const clap, 64) };
    let first = mended.event(0).cast::<clap_event_transport>();
    mended.event(1);
    mended.event(2);
    // SAFETY: it is a transport.
    let first = unsafe { &*first };
    assert_eq!((first.header.time, first.tempo), (63, 0.0));
}

#[test]
fn lists_without_functions_are_empty() {
    let clap = clap_input_events {
        ctx: ptr::null_mut(),
        size: None,
        get: None,
    };
    for list in [ptr::null(), &raw const clap] {
        // SAFETY: the list is null or a list.
        let mended = unsafe { Mended::new(list, 64) };
        assert_eq!(mended.readable, 0);
        assert!(mended.event(0).is_null());
    }
    let nothing = clap_output_events {
        ctx: ptr::null_mut(),
        try_push: None,
    };
    // SAFETY: the list is null or a list.
    unsafe {
        assert!(can_be_written(ptr::null()));
        assert!(!can_be_written(&raw const nothing));
    }
}
