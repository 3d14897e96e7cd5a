//! The performer alone, with scripted events and a host that can be full.

mod auditions;
mod charts;
mod practice;
mod recording;
mod right_hand;

use super::*;
use crate::engine::block::{Block, BlockOutcome};
use crate::engine::clock::{Clock, HostTransport};
use crate::engine::events::{Input, Output, TimedInput};
use crate::engine::hand::HeldKey;
use crate::engine::planned::PlannedChart;
use crate::engine::settings::{PlanFor, Source};
use crate::engine::taken::Taken;
use crate::engine::trial::Ask;
use guidehand_theory::chart;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::MidiNote;

type Event = (u32, Output<u32>);

/// A host made of two lists.
#[derive(Default)]
struct Script {
    inputs: std::collections::VecDeque<TimedInput<u32>>,
    outputs: Vec<Event>,
    room: Option<usize>,
    taken: Vec<Taken>,
}

impl Port<u32> for Script {
    fn next(&mut self) -> Option<TimedInput<u32>> {
        self.inputs.pop_front()
    }

    fn send(&mut self, time: u32, output: Output<u32>) -> bool {
        if self.room == Some(0) {
            return false;
        }
        self.room = self.room.map(|r| r - 1);
        self.outputs.push((time, output));
        true
    }

    fn took(&mut self, taken: Taken) {
        self.taken.push(taken);
    }
}

/// What a block is made of.
#[derive(Clone, Copy)]
struct Scene<'a> {
    settings: Settings,
    clock: Clock,
    frames: u32,
    song: Option<&'a PlannedChart>,
    update: ChartUpdate,
    next_song: Option<&'a PlannedChart>,
    audition: Option<&'a Ask>,
}

fn key(key: u8) -> HeldKey {
    HeldKey {
        channel: 0,
        key,
        velocity: 0.5,
    }
}

fn on(time_samples: u32, number: u8) -> TimedInput<u32> {
    TimedInput {
        time_samples,
        input: Input::NoteOn(key(number)),
        event: u32::from(number),
    }
}

fn off(time_samples: u32, number: u8) -> TimedInput<u32> {
    TimedInput {
        time_samples,
        input: Input::NoteOff {
            channel: Some(0),
            key: Some(number),
        },
        event: 1000 + u32::from(number),
    }
}

fn roots() -> Scene<'static> {
    Scene {
        settings: Settings::plain(Source::Roots),
        clock: Clock::default(),
        frames: 10_000,
        song: None,
        update: ChartUpdate::None,
        next_song: None,
        audition: None,
    }
}

fn run(performer: &mut Performer, scene: &Scene, script: &mut Script) -> BlockOutcome {
    let block = Block {
        settings: &scene.settings,
        settings_moved: true,
        clock: scene.clock,
        frames: scene.frames,
        song: scene.song,
        update: scene.update,
        next_song: scene.next_song,
        bass_events: &[],
        bass_from_samples: 0,
        audition: scene.audition,
    };
    performer.process(&block, script)
}

fn performer() -> Performer {
    let mut performer = Performer::default();
    performer.set_sample_rate(48_000.0);
    performer
}

fn play_and_show(
    performer: &mut Performer,
    scene: &Scene,
    inputs: &[TimedInput<u32>],
) -> (Vec<Event>, Option<Snapshot>) {
    let mut script = Script {
        inputs: inputs.iter().copied().collect(),
        ..Script::default()
    };
    let shown = run(performer, scene, &mut script).shows_anew;
    let shown = shown.then(|| *performer.snapshot());
    (script.outputs, shown)
}

fn play(performer: &mut Performer, scene: &Scene, inputs: &[TimedInput<u32>]) -> Vec<Event> {
    play_and_show(performer, scene, inputs).0
}

/// Keys that start and keys that end, with their times.
fn starts(events: &[Event]) -> Vec<(u32, u8)> {
    let starts = events.iter().filter_map(|(time, e)| match e {
        Output::NoteOn(key) => Some((*time, key.key)),
        _ => None,
    });
    starts.collect()
}

fn ends(events: &[Event]) -> Vec<(u32, u8)> {
    let ends = events.iter().filter_map(|(time, e)| match e {
        Output::NoteOff { key, .. } => Some((*time, *key)),
        _ => None,
    });
    ends.collect()
}

#[test]
fn roots_become_voice_led_chords() {
    let events = play(
        &mut performer(),
        &roots(),
        &[on(10, 38), off(5000, 38), on(5000, 43), off(9000, 43)],
    );
    // Dm9 and G13 in form A: one voice moves a half step.
    let chord = |time, keys: [u8; 4]| keys.map(|k| (time, k)).to_vec();
    let expected = [chord(10, [53, 57, 60, 64]), chord(5000, [53, 57, 59, 64])].concat();
    assert_eq!(starts(&events), expected);
    let expected = [chord(5000, [53, 57, 60, 64]), chord(9000, [53, 57, 59, 64])].concat();
    assert_eq!(ends(&events), expected);
}

#[test]
fn the_right_hand_passes_untouched() {
    let events = play(&mut performer(), &roots(), &[on(3, 72), off(9, 72)]);
    assert_eq!(
        events,
        [(3, Output::Through(72)), (9, Output::Through(1072))]
    );
}

#[test]
fn keys_together_override_and_legato_keys_do_not() {
    let shown = |inputs: &[TimedInput<u32>]| {
        let mut performer = performer();
        play(&mut performer, &roots(), inputs);
        let chord = performer.parts.notes.last().unwrap().placed.chord;
        (chord.root.to_string(), chord.quality)
    };
    use guidehand_theory::quality::Quality;
    let dm = ("D".to_owned(), Quality::MinorSeventh);
    assert_eq!(shown(&[on(0, 38)]), dm);
    let maj = ("D".to_owned(), Quality::MajorSeventh);
    assert_eq!(shown(&[on(0, 38), on(100, 42)]), maj);
    assert_eq!(shown(&[on(0, 42), on(100, 38)]), maj);
    let g = ("G".to_owned(), Quality::Dominant);
    assert_eq!(shown(&[on(0, 38), on(9000, 43), off(9500, 38)]), g);
}

#[test]
fn a_key_shared_with_the_chord_ends_once() {
    // The chord holds E4; the player strikes it and lets go before the chord ends.
    let mut block = roots();
    block.settings.split = 50;
    let events = play(
        &mut performer(),
        &block,
        &[on(0, 38), on(100, 64), off(200, 64), off(300, 38)],
    );
    let e4: Vec<_> = events
        .iter()
        .filter(|(_, e)| match e {
            Output::Through(event) => *event == 64 || *event == 1064,
            Output::NoteOn(k) => k.key == 64,
            Output::NoteOff { key, .. } => *key == 64,
        })
        .map(|(time, _)| *time)
        .collect();
    assert_eq!(e4, [0, 100, 100, 300]);
}

#[test]
fn note_offs_survive_a_full_queue() {
    let mut performer = performer();
    play(&mut performer, &roots(), &[on(0, 38)]);
    let mut script = Script {
        inputs: [off(5, 38)].into(),
        room: Some(1),
        ..Script::default()
    };
    run(&mut performer, &roots(), &mut script);
    assert_eq!(ends(&script.outputs).len(), 1);
    let late = play(&mut performer, &roots(), &[]);
    assert_eq!(ends(&late), [(0, 57), (0, 60), (0, 64)]);
    assert!(play(&mut performer, &roots(), &[]).is_empty());
}

#[test]
fn a_note_that_a_full_queue_refuses_comes_late() {
    let mut performer = performer();
    let mut script = Script {
        inputs: [on(5, 38), on(6, 72)].into(),
        room: Some(2),
        ..Script::default()
    };
    run(&mut performer, &roots(), &mut script);
    assert_eq!(starts(&script.outputs), [(5, 53), (5, 57)]);
    // The rest of the chord, and the player's key, as far as there is room.
    script = Script {
        room: Some(1),
        ..Script::default()
    };
    run(&mut performer, &roots(), &mut script);
    assert_eq!(starts(&script.outputs), [(0, 60)]);
    let late = play(&mut performer, &roots(), &[]);
    assert_eq!(starts(&late), [(0, 64), (0, 72)]);
    assert!(play(&mut performer, &roots(), &[]).is_empty());
    let ended = play(&mut performer, &roots(), &[off(3, 38), off(4, 72)]);
    assert_eq!(ends(&ended).len(), 4);
    assert_eq!(ended.len(), 5);
}

#[test]
fn a_note_that_was_refused_is_not_struck_after_its_end() {
    let mut performer = performer();
    let mut script = Script {
        inputs: [on(5, 38), on(6, 72), off(7, 38), off(8, 72)].into(),
        room: Some(0),
        ..Script::default()
    };
    run(&mut performer, &roots(), &mut script);
    assert!(play(&mut performer, &roots(), &[]).is_empty());
}

#[test]
fn a_reset_owes_the_note_offs() {
    let mut performer = performer();
    play(&mut performer, &roots(), &[on(0, 38), on(0, 72)]);
    performer.reset();
    let events = play(&mut performer, &roots(), &[]);
    assert_eq!(ends(&events).len(), 5);
}

#[test]
fn an_end_sends_every_note_off_as_the_queue_takes_them() {
    let mut performer = performer();
    play(&mut performer, &roots(), &[on(0, 38), on(0, 72)]);
    let mut script = Script {
        room: Some(2),
        ..Script::default()
    };
    assert!(!performer.end_all(&mut script));
    script.room = None;
    assert!(performer.end_all(&mut script));
    assert_eq!(ends(&script.outputs).len(), 5);
    assert_eq!(script.outputs.len(), 5);
    assert!(performer.end_all(&mut script), "nothing is left");
    assert_eq!(script.outputs.len(), 5);
}

#[test]
fn parameters_that_remap_let_go_of_what_sounds() {
    for change in [
        |s: &mut Settings| s.bypass = true,
        |s: &mut Settings| s.source = Source::Chart,
        |s: &mut Settings| s.split = 20,
    ] {
        let mut performer = performer();
        play(&mut performer, &roots(), &[on(0, 38)]);
        let mut block = roots();
        change(&mut block.settings);
        let events = play(&mut performer, &block, &[off(7, 38)]);
        assert_eq!(ends(&events).len(), 4);
        assert_eq!(events.len(), 4, "the key that was held ends without a word");
    }
}

#[test]
fn a_tension_is_changed_while_the_chord_sounds() {
    use guidehand_theory::tension::NinthRequest;
    let mut performer = performer();
    play(
        &mut performer,
        &roots(),
        &[on(0, 38), off(9, 38), on(9, 43)],
    );
    let mut block = roots();
    block.settings.taste.requests.ninth = NinthRequest::Flat9;
    assert!(
        play(&mut performer, &block, &[]).is_empty(),
        "not before the next chord"
    );
    block.settings.taste.requests.ninth = NinthRequest::ByContext;
    play(&mut performer, &block, &[]);
    block.settings.at_once = true;
    block.settings.taste.requests.ninth = NinthRequest::Flat9;
    let events = play(&mut performer, &block, &[]);
    assert_eq!(starts(&events), [(0, 53), (0, 56), (0, 59), (0, 64)]);
    assert_eq!(ends(&events).len(), 4);
}

#[test]
fn what_is_played_passes_and_is_read() {
    let mut performer = performer();
    let mut block = roots();
    block.settings.source = Source::Reading;
    let inputs = [
        on(0, 38),
        on(0, 53),
        on(0, 57),
        on(5, 59),
        on(9, 52),
        on(9, 72),
    ];
    let (events, shown) = play_and_show(&mut performer, &block, &inputs);
    assert_eq!(events.len(), inputs.len(), "everything passes");
    let shown = shown.unwrap().sounding.unwrap();
    assert_eq!(shown.voiced.voicing.notes().count(), 5);

    let set = [on(0, 53), on(0, 57), on(0, 59), on(0, 52)];
    let mut other = self::performer();
    let (_, snapshot) = play_and_show(&mut other, &block, &set);
    let snapshot = snapshot.unwrap();
    let read = snapshot.sounding.unwrap().placed.chord;
    assert_eq!(read.root.to_string(), "G");
    assert!(
        snapshot
            .others
            .iter()
            .flatten()
            .any(|c| c.root.to_string() == "F")
    );
    let offs = [off(0, 53), off(0, 57), off(0, 59), off(0, 52)];
    let (_, released) = play_and_show(&mut other, &block, &offs);
    let released = released.unwrap();
    assert_eq!((released.sounding, released.last.is_some()), (None, true));
}
