//! Events of any kind, with bytes that fit their structures: known and unknown events, with
//! arbitrary ids, ports, keys and values.

use super::{OutputCheck, all_up, instance, on_roots, started};
use clap_sys::events::{
    CLAP_EVENT_MIDI, CLAP_EVENT_MIDI_SYSEX, CLAP_EVENT_MIDI2, CLAP_EVENT_NOTE_CHOKE,
    CLAP_EVENT_NOTE_END, CLAP_EVENT_NOTE_EXPRESSION, CLAP_EVENT_NOTE_OFF, CLAP_EVENT_NOTE_ON,
    clap_event_header, clap_event_midi, clap_event_midi_sysex, clap_event_midi2,
    clap_event_note_expression,
};
use clap_sys::id::CLAP_INVALID_ID;
use fastrand::Rng;
use guidehand_tests::raw::events::{Unknown, gesture, header, modulation, note, on, value};
use guidehand_tests::raw::params::{self, ParamInfo};
use guidehand_tests::raw::{Events, Instance, RawEvent};

/// System-exclusive bytes: whole, cut short, and none.
static SYSEX: [&[u8]; 4] = [
    &[0xf0, 0x7e, 0x7f, 0x09, 0x01, 0xf7],
    &[0xf0],
    &[0x00, 0xff, 0x80],
    &[],
];

fn any_number(rng: &mut Rng, most: i16) -> i16 {
    [
        rng.i16(0..most),
        rng.i16(0..most),
        rng.i16(0..most),
        -1,
        most,
        i16::MIN,
        rng.i16(..),
    ][rng.usize(0..7)]
}

fn any_value(rng: &mut Rng) -> f64 {
    [
        rng.f64(),
        rng.f64(),
        f64::NAN,
        f64::INFINITY,
        -1.0,
        1e300,
        f64::from_bits(rng.u64(..)),
    ][rng.usize(0..7)]
}

fn any_id(params: &[ParamInfo], rng: &mut Rng) -> u32 {
    match rng.u8(0..8) {
        0 => rng.u32(..),
        1 => CLAP_INVALID_ID,
        _ => params[rng.usize(0..params.len())].id,
    }
}

fn any_note(rng: &mut Rng) -> RawEvent {
    let kinds = [
        CLAP_EVENT_NOTE_ON,
        CLAP_EVENT_NOTE_ON,
        CLAP_EVENT_NOTE_OFF,
        CLAP_EVENT_NOTE_OFF,
        CLAP_EVENT_NOTE_CHOKE,
        CLAP_EVENT_NOTE_END,
    ];
    let kind = kinds[rng.usize(0..kinds.len())];
    let (channel, key) = (any_number(rng, 16), any_number(rng, 128));
    let event = note(kind, 0, channel, key, any_value(rng));
    match event {
        RawEvent::Note(mut note) => {
            note.note_id = [-1, rng.i32(0..4), rng.i32(..)][rng.usize(0..3)];
            note.port_index = any_number(rng, 1);
            RawEvent::Note(note)
        }
        other => other,
    }
}

fn any_expression(rng: &mut Rng) -> RawEvent {
    RawEvent::Expression(clap_event_note_expression {
        header: header::<clap_event_note_expression>(0, CLAP_EVENT_NOTE_EXPRESSION),
        expression_id: [rng.i32(0..7), -1, rng.i32(..)][rng.usize(0..3)],
        note_id: rng.i32(-1..4),
        port_index: any_number(rng, 1),
        channel: any_number(rng, 16),
        key: any_number(rng, 128),
        value: any_value(rng),
    })
}

/// Any bytes that a cable can carry: complete messages of any status, and nonsense.
fn any_midi(rng: &mut Rng) -> RawEvent {
    let data = [rng.u8(..), rng.u8(..), rng.u8(..)];
    let data = if rng.bool() {
        [data[0] | 0x80, data[1] & 0x7f, data[2] & 0x7f]
    } else {
        data
    };
    RawEvent::Midi(clap_event_midi {
        header: header::<clap_event_midi>(0, CLAP_EVENT_MIDI),
        port_index: [0, 0, 1, u16::MAX][rng.usize(0..4)],
        data,
    })
}

fn any_sysex(rng: &mut Rng) -> RawEvent {
    let bytes = SYSEX[rng.usize(0..SYSEX.len())];
    RawEvent::Sysex(clap_event_midi_sysex {
        header: header::<clap_event_midi_sysex>(0, CLAP_EVENT_MIDI_SYSEX),
        port_index: 0,
        buffer: bytes.as_ptr(),
        size: u32::try_from(bytes.len()).unwrap(),
    })
}

/// Events of another space, of a future kind, or live events that are not to be recorded.
fn any_unknown(rng: &mut Rng) -> RawEvent {
    let core = rng.bool();
    RawEvent::Unknown(Unknown {
        header: clap_event_header {
            space_id: if core { 0 } else { rng.u16(1..) },
            type_: if core { rng.u16(13..) } else { rng.u16(..) },
            flags: rng.u32(..),
            ..header::<Unknown>(0, 0)
        },
        payload: [rng.u64(..); 6],
    })
}

fn any_event(params: &[ParamInfo], rng: &mut Rng) -> RawEvent {
    match rng.u8(0..12) {
        0..=3 => any_note(rng),
        4 => any_expression(rng),
        5 => value(0, any_id(params, rng), any_value(rng)),
        6 => modulation(0, any_id(params, rng), any_value(rng)),
        7 => gesture(0, any_id(params, rng), rng.bool()),
        8 => any_midi(rng),
        9 => any_sysex(rng),
        10 => RawEvent::Midi2(clap_event_midi2 {
            header: header::<clap_event_midi2>(0, CLAP_EVENT_MIDI2),
            port_index: 0,
            data: [rng.u32(..); 4],
        }),
        _ => any_unknown(rng),
    }
}

/// Ends a run: with the plugin bypassed and all keys up, everything must be silent.
fn expect_silence(
    instance: &Instance,
    ear: &mut OutputCheck,
    mut hear: impl FnMut(&Events, &mut OutputCheck),
) {
    let bypass = params::named(instance, "Bypass").id;
    let still = params::all(instance)
        .into_iter()
        .map(|param| modulation(0, param.id, 0.0))
        .chain([value(0, bypass, 1.0)]);
    hear(&Events::new(still.collect()), ear);
    hear(&all_up(), ear);
    hear(&Events::default(), ear);
    ear.expect_silence();
}

#[test]
fn any_events_do_no_harm() {
    let mut notes = 0;
    for seed in 0..12 {
        let mut rng = Rng::with_seed(seed);
        let instance = if rng.bool() { instance() } else { on_roots() };
        let params = params::all(&instance);
        let mut processor = started(&instance, 512);
        let mut ear = OutputCheck {
            any_velocity: true,
            ..OutputCheck::default()
        };
        for _ in 0..300 {
            let frames = rng.u32(1..=512);
            let mut events = Vec::new();
            for _ in 0..rng.usize(0..20) {
                events.push(any_event(&params, &mut rng).at(rng.u32(0..frames)));
            }
            ear.hear(
                &processor.process(frames, &Events::new(events), None),
                frames,
            );
            instance.idle();
        }
        expect_silence(&instance, &mut ear, |events, ear| {
            ear.hear(&processor.process(64, events, None), 64);
        });
        assert_eq!(instance.calls().wrong_thread(), 0, "seed {seed}");
        notes += ear.note_ons;
    }
    assert!(notes > 500, "{notes} notes are too few");
}

/// A list with only unknown events has no effect.
#[test]
fn unknown_events_change_nothing() {
    let mut rng = Rng::with_seed(7);
    let instance = on_roots();
    let mut processor = started(&instance, 256);
    let mut events: Vec<RawEvent> = (0..200)
        .map(|time| any_unknown(&mut rng).at(time))
        .collect();
    events.push(on(100, 50));
    let mut ear = OutputCheck::default();
    let played = processor.process(256, &Events::new(events), None);
    ear.hear(&played, 256);
    assert!(played.events.iter().all(|event| event.header().time == 100));
    assert_eq!(ear.sounding(), 4);
    expect_silence(&instance, &mut ear, |events, ear| {
        ear.hear(&processor.process(64, events, None), 64);
    });
}

/// As many events as the framework has room for, at one sample.
#[test]
fn thousands_of_events_at_one_sample_are_played() {
    let instance = on_roots();
    let mut processor = started(&instance, 32);
    let mut ear = OutputCheck::default();
    let many = (0..4_000).map(|index| {
        let kind = if index % 2 == 0 {
            CLAP_EVENT_NOTE_ON
        } else {
            CLAP_EVENT_NOTE_OFF
        };
        note(kind, 9, 0, 36 + index / 2 % 60, 0.5)
    });
    ear.hear(
        &processor.process(32, &Events::new(many.collect()), None),
        32,
    );
    ear.hear(&processor.process(32, &all_up(), None), 32);
    ear.expect_silence();
}
