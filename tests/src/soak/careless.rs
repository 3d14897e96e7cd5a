//! Careless sessions: a host that leaves out audio, and sends events that cannot be. Whatever it does,
//! its notes are paired and its audio is finite. Imported by `soak` and the tests; plays on the raw
//! host, for the other one is too careful.

use super::check::{self, Fault};
use super::stock::{Counts, RATE_HZ, chart, one_of};
use crate::call;
use crate::error::HostError;
use crate::event::{Event, TimedEvent};
use crate::generator::{Generator, Manners};
use crate::library::Library;
use crate::paths::PLUGIN_ID;
use crate::raw::params::{self, ParamInfo};
use crate::raw::stream::{self, Manner};
use crate::raw::{
    Events, Given, Hands, Instance, Knows, Lists, ProcessedBlock, Processor, RawEvent, events, info,
};
use crate::state;
use crate::translate;
use crate::transport::{Signature, Transport};
use clack_host::events::UnknownEvent;
use clack_host::events::io::EventBuffer;
use clap_sys::ext::params::CLAP_PARAM_IS_STEPPED;
use clap_sys::process::CLAP_PROCESS_ERROR;
use fastrand::Rng;
use std::ffi::CString;

/// The longest block.
const MOST_FRAMES: u32 = 300;

/// How many blocks are careless, before all keys go up.
const BLOCKS: u32 = 400;

fn fault(what: &str) -> Fault {
    Fault::Host(HostError::Protocol(what.to_owned()))
}

/// An event as CLAP has it.
fn raw(event: Event) -> Option<RawEvent> {
    let mut buffer = EventBuffer::new();
    translate::push(event, 0, &mut buffer)?;
    let event = buffer.get(0)?;
    // SAFETY: it is an event of the size that it tells.
    unsafe { RawEvent::read(event.as_raw()) }
}

/// A plugin's event.
fn heard(event: &RawEvent) -> TimedEvent {
    // SAFETY: it is an event of the size that it tells.
    let unknown = unsafe { UnknownEvent::from_raw(event.pointer()) };
    TimedEvent::new(event.header().time.into(), translate::read(unknown))
}

/// A parameter at a random value.
fn random_param(params: &[ParamInfo], rng: &mut Rng) -> RawEvent {
    let param = &params[rng.usize(0..params.len())];
    let value = param.min + rng.f64() * (param.max - param.min);
    let whole = param.has(CLAP_PARAM_IS_STEPPED);
    events::value(0, param.id, if whole { value.round() } else { value })
}

/// The song anywhere, playing or not, in a loop or not.
fn random_transport(rng: &mut Rng) -> Transport {
    let loop_start = rng.f64() * 64.0;
    let length = one_of(&[0.0, 1e-5, 0.01, 1.0, 16.0], rng);
    Transport {
        playing: rng.u8(0..4) > 0,
        position_beats: rng.f64() * 64.0 - 4.0,
        position_seconds: 0.0,
        tempo_bpm: 30.0 + rng.f64() * 2_000.0,
        signature: Signature::COMMON,
        loop_beats: rng.bool().then_some((loop_start, loop_start + length)),
        keeps_time: rng.u8(0..8) > 0,
    }
}

/// The events of a block: those of the generator, parameters, transports, and such as cannot be read.
fn random_events(frames: u32, params: &[ParamInfo], rng: &mut Rng) -> Events {
    let count = one_of(&[0, 0, 1, 2, 5, 20], rng);
    let mut generator = Generator::new(rng.u64(..), Manners::Careless);
    let keys = generator.events(count, u64::from(frames.max(2)));
    let keys = keys.into_iter().filter_map(|timed| {
        let time = u32::try_from(timed.at_samples).unwrap_or(u32::MAX);
        raw(timed.event).map(|event| event.at(time))
    });
    let mut list: Vec<RawEvent> = keys.collect();
    let unreadable = events::unreadable();
    for _ in 0..one_of(&[0, 0, 1, 3], rng) {
        let event = match rng.u8(0..3) {
            0 => random_param(params, rng),
            1 => RawEvent::Transport(*random_transport(rng).to_clap(0).as_raw()),
            _ => one_of(&unreadable, rng),
        };
        let time = one_of(
            &[rng.u32(0..=frames), rng.u32(0..=frames), rng.u32(..)],
            rng,
        );
        list.insert(rng.usize(0..=list.len()), event.at(time));
    }
    let list = match rng.u8(0..3) {
        0 => Events::new(list),
        _ => Events::as_they_are(list),
    };
    if rng.u8(0..8) == 0 {
        list.with_a_null()
    } else {
        list
    }
}

fn random_hands(rng: &mut Rng) -> Hands {
    let given = |rng: &mut Rng| match rng.u8(0..3) {
        0 => Given::Whole,
        _ => one_of(&Given::ALL, rng),
    };
    let list = |rng: &mut Rng| match rng.u8(0..12) {
        0 => one_of(&Lists::ALL, rng),
        _ => Lists::Whole,
    };
    Hands {
        inputs: given(rng),
        outputs: given(rng),
        events: list(rng),
        answers: list(rng),
    }
}

/// What came of the blocks.
#[derive(Default)]
struct Played {
    events: Vec<TimedEvent>,
    samples: u64,
    blocks: u64,
}

impl Played {
    /// Takes in a block and checks it.
    fn take(&mut self, block: &ProcessedBlock, of: &Processor, frames: u32) -> Result<(), Fault> {
        if block.status == CLAP_PROCESS_ERROR || block.odd_events > 0 {
            return Err(fault("refuses a block, or answers with odd events"));
        }
        let events: Vec<TimedEvent> = block.events.iter().map(heard).collect();
        call::check_times(&events, frames.max(1).into())?;
        let (singles, doubles) = of.outputs().handed_over(frames);
        let doubles = doubles.into_iter().flatten().copied();
        if doubles.into_iter().any(|sample| sample != 0.0) {
            return Err(fault("leaves channels of 64 bits as they were"));
        }
        check::samples(singles.into_iter().flatten())?;
        let later =
            |timed: &TimedEvent| TimedEvent::new(timed.at_samples + self.samples, timed.event);
        self.events.extend(events.iter().map(later));
        self.samples += u64::from(frames);
        self.blocks += 1;
        Ok(())
    }
}

/// An instance with any ports, any chart and any settings.
fn prepared(library: &Library, rng: &mut Rng) -> Result<Instance, Fault> {
    let id = CString::new(PLUGIN_ID).map_err(|_| fault("has no id"))?;
    let instance =
        Instance::new(library, &id, Knows::All).ok_or_else(|| fault("does not start"))?;
    let layouts = info::layout_count(&instance);
    let layout = info::layout(&instance, rng.u32(0..layouts));
    if !layout.is_some_and(|layout| info::select_layout(&instance, layout.id)) {
        return Err(fault("refuses a layout that it offers"));
    }
    let saved = stream::save(&instance, Manner::WHOLE).ok_or_else(|| fault("saves no state"))?;
    let state = state::with_chart(&saved, chart(rng));
    if !stream::load(&instance, &state, Manner::WHOLE) {
        return Err(fault("loads no state"));
    }
    let bypass = params::named(&instance, "Bypass").id;
    let mut turned = Vec::new();
    for param in params::all(&instance) {
        if param.id != bypass && rng.bool() {
            turned.push(random_param(&[param], rng));
        }
    }
    params::flush(&instance, &Events::as_they_are(turned));
    Ok(instance)
}

/// A session in which a host does nothing right.
///
/// # Errors
/// [`Fault`], the first that is found.
pub fn survive(library: &Library, seed: u64) -> Result<Counts, Fault> {
    let mut rng = Rng::with_seed(seed);
    let instance = prepared(library, &mut rng)?;
    let params = params::all(&instance);
    let bypass = params::named(&instance, "Bypass").id;
    let processor = instance.activate(RATE_HZ, (1, MOST_FRAMES));
    let mut processor = processor.ok_or_else(|| fault("is not activated"))?;
    if !processor.start() {
        return Err(fault("does not start to process"));
    }
    let mut played = Played::default();
    let tells_transport = rng.bool();
    for _ in 0..BLOCKS {
        let frames = one_of(&[0, 1, rng.u32(1..=64), rng.u32(1..=MOST_FRAMES)], &mut rng);
        let list = random_events(frames, &params, &mut rng);
        let transport = random_transport(&mut rng).to_clap(0);
        let transport = tells_transport.then(|| transport.as_raw());
        let block = processor.process_in(random_hands(&mut rng), frames, &list, transport);
        played.take(&block, &processor, frames)?;
        match rng.u8(0..60) {
            0 => processor.reset(),
            1 => {
                processor.flush(&random_events(frames, &params, &mut rng));
            }
            2 if processor.process_nothing() != CLAP_PROCESS_ERROR => {
                return Err(fault("plays a block that is not there"));
            }
            _ => instance.idle(),
        }
    }
    // The end is whole: it is bypassed, the keys of a channel go up in each block, and time passes.
    let still = params
        .iter()
        .map(|param| events::modulation(0, param.id, 0.0));
    let still = still.chain([events::value(0, bypass, 1.0)]).collect();
    let keys_up = (0..16).map(|channel| {
        let up = |key| raw(Event::note_off(channel, key));
        (0..128).filter_map(up).collect()
    });
    for list in [still].into_iter().chain(keys_up).chain([Vec::new()]) {
        let block = processor.process(64, &Events::as_they_are(list), None);
        played.take(&block, &processor, 64)?;
    }
    match instance.calls().wrong_thread() {
        0 => {}
        calls => return Err(Fault::WrongThread(calls)),
    }
    Ok(Counts {
        sessions: 1,
        blocks: played.blocks,
        notes: check::notes(&played.events)?.len() as u64,
        careless: played.blocks,
        ..Counts::default()
    })
}
