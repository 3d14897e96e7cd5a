//! What the right hand plays: chords that yield to it and to a written melody, room that is left to it, and chords under its
//! keys. What is right where is common practice, no published source.

mod clashes;
mod random;
mod space;
mod under;
mod written;
mod yields;

use super::*;
use crate::engine::rhythm::Rhythm;
use crate::engine::settings::RightHandSettings;
use guidehand_theory::comping::Yielding;
use guidehand_theory::melody;
use guidehand_theory::under::Style;
use std::sync::Arc;

/// A quarter note in samples, at 120 bpm.
const BEAT: u32 = 24_000;

/// What happens in a session, at a sample of it.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Step {
    On(u8),
    Off(u8),
    /// All notes end on the first channel.
    Panic,
    /// The parameters move. A block begins there.
    Set(Settings),
    /// The song stands still, or plays from a beat. A block begins there.
    Stop,
    Play(f64),
}

fn chart_of(text: &str) -> PlannedChart {
    PlannedChart::plan(&chart::parse(text).unwrap(), PlanFor::default(), 0)
}

/// A chart with a melody over it, planned for chords that yield so far.
fn chart_under(text: &str, melody: &str, yielding: Yielding) -> PlannedChart {
    let chart = chart::parse(text).unwrap();
    let plan_for = PlanFor {
        yielding,
        ..PlanFor::default()
    };
    let mut song = PlannedChart::placed(&chart, plan_for, 0);
    let melody = melody::parse(melody, &chart).unwrap();
    song.take_melody(Arc::new(melody), &chart);
    song.planned()
}

/// What is played, and what is shown at the end.
#[derive(Debug, Default)]
struct Played {
    events: Vec<Event>,
    shown: Snapshot,
}

/// The keys of a sample, from the lowest.
fn keys_at(keys: &[(u32, u8)], time: u32) -> Vec<u8> {
    let at_it = keys.iter().filter(|(at, _)| *at == time);
    let mut keys: Vec<u8> = at_it.map(|(_, key)| *key).collect();
    keys.sort_unstable();
    keys
}

impl Played {
    /// The notes that start at a sample, without those that pass.
    fn starts_at(&self, time: u32) -> Vec<u8> {
        keys_at(&starts(&self.events), time)
    }

    /// The notes that we end at a sample.
    fn ends_at(&self, time: u32) -> Vec<u8> {
        keys_at(&ends(&self.events), time)
    }

    /// The times at which chords of ours start.
    fn strikes(&self) -> Vec<u32> {
        let mut times: Vec<u32> = starts(&self.events).iter().map(|(at, _)| *at).collect();
        times.dedup();
        times
    }

    /// The keys that sound after everything, each with the number of its note-ons that have no
    /// note-off.
    fn hanging(&self) -> Vec<(u8, i32)> {
        let mut held = [0_i32; 128];
        for (_, output) in &self.events {
            let (key, by) = match output {
                Output::Through(event) => match event {
                    1000.. => (u8::try_from(event - 1000).unwrap(), -1),
                    _ => (u8::try_from(*event).unwrap(), 1),
                },
                Output::NoteOn(key) => (key.key, 1),
                Output::NoteOff { key, .. } => (*key, -1),
            };
            held[usize::from(key)] += by;
        }
        let held = (0..128).zip(held).filter(|(_, count)| *count != 0);
        held.collect()
    }
}

/// A song that plays from its first beat on, over so many samples, in blocks of these sizes. Steps are
/// in the order of time.
fn play_steps(
    settings: Settings,
    song: Option<&PlannedChart>,
    steps: &[(u32, Step)],
    frames: u32,
    sizes: &[u32],
) -> Played {
    let mut performer = performer();
    let mut played = Played::default();
    let mut settings = settings;
    // Where the song was, and since which sample.
    let mut place = Some((0.0, 0));
    let mut jumped = true;
    let mut sizes = sizes.iter().copied().cycle();
    let mut steps = steps.iter().copied().peekable();
    let mut start = 0;
    while start < frames {
        while let Some((at, step)) = steps.peek()
            && *at == start
            && !matches!(step, Step::On(_) | Step::Off(_) | Step::Panic)
        {
            match step {
                Step::Set(new) => settings = *new,
                Step::Stop => place = None,
                Step::Play(beat) => (place, jumped) = (Some((*beat, start)), true),
                _ => {}
            }
            steps.next();
        }
        let mut length = sizes.next().unwrap().min(frames - start);
        let mut inputs = Vec::new();
        while let Some((at, step)) = steps.peek()
            && *at < start + length
        {
            match step {
                Step::On(key) => inputs.push(on(at - start, *key)),
                Step::Off(key) => inputs.push(off(at - start, *key)),
                Step::Panic => inputs.push(TimedInput {
                    time_samples: at - start,
                    input: Input::AllNotesOff { channel: 0 },
                    event: 127,
                }),
                _ => {
                    length = at - start;
                    break;
                }
            }
            steps.next();
        }
        let clock = place.map_or_else(Clock::default, |(beat, since)| {
            let mut clock = clock_at(beat + f64::from(start - since) / f64::from(BEAT));
            clock.jumped = jumped;
            clock
        });
        jumped = false;
        let scene = Scene {
            settings,
            clock,
            frames: length,
            song,
            update: ChartUpdate::None,
            next_song: None,
            audition: None,
        };
        let events = play(&mut performer, &scene, &inputs);
        let panic = |event: &Event| event.1 != Output::Through(127);
        let events = events.into_iter().filter(panic);
        played
            .events
            .extend(events.map(|(time, event)| (start + time, event)));
        start += length;
    }
    played.shown = *performer.snapshot();
    played
}

fn clock_at(beat: f64) -> Clock {
    Clock::new(&HostTransport {
        playing: true,
        position_beats: Some(beat),
        tempo_bpm: Some(120.0),
        sample_rate_hz: 48_000.0,
        ..HostTransport::default()
    })
}

/// A chart under a right hand, whose split lies above the register of the chords.
fn charted() -> Settings {
    Settings {
        split: 65,
        ..Settings::plain(Source::Chart)
    }
}

fn yielding(settings: Settings, to: Yielding) -> Settings {
    let mut settings = settings;
    settings.right_hand.yielding = to;
    settings
}

fn with_chords_under(settings: Settings, style: Style) -> Settings {
    let mut settings = settings;
    settings.right_hand.under = Some(style);
    settings
}

fn in_rhythm(settings: Settings, rhythm: Rhythm) -> Settings {
    let mut settings = settings;
    settings.groove.rhythm = rhythm;
    settings
}

/// The classes of keys.
fn classes(keys: &[u8]) -> Vec<u8> {
    let mut classes: Vec<u8> = keys.iter().map(|key| key % 12).collect();
    classes.sort_unstable();
    classes
}
