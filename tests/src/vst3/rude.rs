//! A random host that passes what the interface allows and others do not expect, and what it does not
//! allow: audio in every way of [`Passing`], events and points outside of their block, data without
//! bytes, lists that fail, samples of another size, blocks of no length. The tests run a few hundred
//! blocks of it, `cargo xtask soak` more. Imports the instance and the checks of the soak.

use super::changes::Changes;
use super::events::{self, Events};
use super::instance::Instance;
use super::module::Module;
use super::number;
use super::passing::Passing;
use crate::error::HostError;
use crate::event::{Event, TimedEvent};
use crate::session::Performance;
use crate::soak::check::{self, Fault};
use fastrand::Rng;
use vst3::Steinberg::Vst::Event as RawEvent;

const RATE_HZ: f64 = 48_000.0;
const MAX_FRAMES: u32 = 512;

/// Plays this many blocks on an instance of the module's first class, and returns how many notes came
/// out.
///
/// # Errors
/// [`Fault`] if the plugin refuses, writes what can hurt, or leaves a note behind.
pub fn survive(module: &Module, seed: u64, blocks: u32) -> Result<usize, Fault> {
    let mut rng = Rng::with_seed(seed);
    let mut instance = first_instance(module)?;
    if rng.bool() {
        instance.offer_speakers(&[0b11, 0b11], &[0b11])?;
    }
    instance.start(RATE_HZ, MAX_FRAMES)?;
    let mut heard = Vec::new();
    let mut now = 0;
    for _ in 0..blocks {
        interrupt(&mut instance, &mut rng)?;
        let frames = match rng.u32(..12) {
            0 => 0,
            1 => rng.i32(..0),
            // Half of the longest block, for samples may be twice as long.
            _ => rng.i32(1..=number(MAX_FRAMES / 2)),
        };
        instance.inputs_passed = passing(&mut rng);
        instance.outputs_passed = passing(&mut rng);
        instance.has_long_samples = rng.u32(..20) == 0;
        let (notes, changes) = lists(&instance, &mut rng, frames);
        let block = instance.process_lists(frames, notes, changes, None)?;
        let is_heard = instance.outputs_passed == Passing::Whole && frames > 0;
        if is_heard {
            check::audio(&Performance {
                left: block.left,
                right: block.right,
                ..Performance::default()
            })?;
        }
        let at = |event: TimedEvent| TimedEvent::new(now + event.at_samples, event.event);
        heard.extend(block.events.into_iter().map(at));
        now += u64::from(MAX_FRAMES);
    }
    let end = release(&mut instance)?;
    let at = |event: TimedEvent| TimedEvent::new(now + event.at_samples, event.event);
    heard.extend(end.into_iter().map(at));
    Ok(check::notes(&heard)?.len())
}

fn first_instance(module: &Module) -> Result<Instance, HostError> {
    let classes = module.classes()?;
    let class = classes.first().ok_or(HostError::Refused("have a class"))?;
    Instance::load(module, &class.id)
}

/// Stops and starts now and then.
fn interrupt(instance: &mut Instance, rng: &mut Rng) -> Result<(), HostError> {
    if rng.u32(..50) == 0 {
        instance.set_processing(false)?;
        instance.set_processing(true)?;
    }
    if rng.u32(..80) == 0 {
        instance.has_long_samples = false;
        instance.start(RATE_HZ, MAX_FRAMES)?;
    }
    Ok(())
}

fn passing(rng: &mut Rng) -> Passing {
    let rude = rng.choice(Passing::ALL).filter(|_| rng.bool());
    rude.unwrap_or_default()
}

fn lists(instance: &Instance, rng: &mut Rng, frames: i32) -> (Option<Events>, Option<Changes>) {
    let count = rng.choice([0, 0, 1, 5, 40]).unwrap_or(0);
    let notes = (0..count).map(|_| event(rng, frames)).collect();
    let notes = Events::holding(notes).and_missing(rng.choice([0, 0, 2]).unwrap_or(0));
    let notes = Some(notes).filter(|_| rng.u32(..8) > 0);
    let changes = changes(instance, rng, frames);
    (notes, Some(changes).filter(|_| rng.u32(..8) > 0))
}

/// A sample that mostly lies in the block.
fn time(rng: &mut Rng, frames: i32) -> i32 {
    match rng.u32(..10) {
        0 => rng.i32(..),
        1 => -1,
        2 => frames,
        _ => rng.i32(0..frames.max(1)),
    }
}

fn event(rng: &mut Rng, frames: i32) -> RawEvent {
    let at = time(rng, frames);
    let (channel, key) = (rng.i16(-1..17), rng.i16(-1..129));
    let velocity = rng.choice([0.5, 1.0, f64::NAN, -3.0]).unwrap_or(1.0);
    let note = match rng.u32(..12) {
        0 => return events::data(&[], at),
        1 => return events::data(&[0xf0, 0x7e, 0xf7], at),
        2 => return events::data(&[0x90], at),
        3..8 => Event::note_off(channel, key),
        _ => Event::note_on(channel, key, velocity),
    };
    events::write(note, at).unwrap_or_else(|| events::data(&[], at))
}

fn changes(instance: &Instance, rng: &mut Rng, frames: i32) -> Changes {
    let changes = Changes::default().and_missing(rng.choice([0, 0, 0, 2]).unwrap_or(0));
    for _ in 0..rng.u32(..6) {
        // Most are controllers; the plugin's own come first.
        let known = rng.choice(instance.params());
        let own = rng.choice(instance.params().iter().take(40));
        let id = match rng.u32(..4) {
            0 => None,
            1 => own.map(|param| param.id),
            _ => known.map(|param| param.id),
        };
        let value = match rng.u32(..12) {
            0 => f64::NAN,
            1 => f64::NEG_INFINITY,
            2 => 7.0,
            _ => rng.f64(),
        };
        let id = id.unwrap_or_else(|| rng.u32(..));
        changes.add(id, time(rng, frames), value);
    }
    changes
}

/// Releases every key and switches the plugin to its bypass, politely.
fn release(instance: &mut Instance) -> Result<Vec<TimedEvent>, HostError> {
    instance.has_long_samples = false;
    (instance.inputs_passed, instance.outputs_passed) = Default::default();
    let bypass = instance.param_by_name("Bypass")?.id;
    let changes = Changes::default();
    changes.add(bypass, 0, 1.0);
    let keys = (0..16).flat_map(|channel| (0..128).map(move |key| (channel, key)));
    let offs = keys.filter_map(|(channel, key)| events::write(Event::note_off(channel, key), 0));
    let offs = Events::holding(offs.collect());
    let frames = number(MAX_FRAMES);
    let block = instance.process_lists(frames, Some(offs), Some(changes), None)?;
    Ok(block.events)
}
