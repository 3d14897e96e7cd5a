//! The performer alone, with scripted events and a host that can be full.

use super::*;
use crate::engine::clock::{Clock, HostTransport};
use crate::engine::planned::PlannedChart;
use crate::engine::settings::{PlanFor, Source};
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
}

/// What a block is made of.
#[derive(Clone, Copy)]
struct Scene<'a> {
    settings: Settings,
    clock: Clock,
    frames: u32,
    song: Option<&'a PlannedChart>,
    news: News,
    next_song: Option<&'a PlannedChart>,
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
        news: News::None,
        next_song: None,
    }
}

fn run(performer: &mut Performer, scene: &Scene, script: &mut Script) -> Played {
    let block = Block {
        settings: &scene.settings,
        settings_moved: true,
        clock: scene.clock,
        frames: scene.frames,
        song: scene.song,
        news: scene.news,
        next_song: scene.next_song,
        sounds: &[],
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
        let chord = performer.last.unwrap().placed.chord;
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
fn a_reset_owes_the_note_offs() {
    let mut performer = performer();
    play(&mut performer, &roots(), &[on(0, 38), on(0, 72)]);
    performer.reset();
    let events = play(&mut performer, &roots(), &[]);
    assert_eq!(ends(&events).len(), 5);
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

fn song(text: &str) -> PlannedChart {
    PlannedChart::plan(&chart::parse(text).unwrap(), PlanFor::default(), 0)
}

/// Plays a chart from a beat on for so many samples, in blocks, at 120 bpm.
fn play_chart(song: &PlannedChart, from_beat: f64, frames: u32, block: u32) -> Vec<Event> {
    comp(
        Settings::plain(Source::Chart),
        song,
        from_beat,
        frames,
        block,
    )
}

fn clock_at(beat: f64) -> Clock {
    Clock::new(&HostTransport {
        playing: true,
        position_beats: Some(beat),
        tempo_bpm: Some(120.0),
        signature: None,
        sample_rate_hz: 48_000.0,
        ..HostTransport::default()
    })
}

fn comp(
    settings: Settings,
    song: &PlannedChart,
    from_beat: f64,
    frames: u32,
    block: u32,
) -> Vec<Event> {
    let mut performer = performer();
    let mut all = Vec::new();
    let mut start = 0;
    while start < frames {
        let length = block.min(frames - start);
        let beat = from_beat + f64::from(start) / 24_000.0;
        let mut clock = clock_at(beat);
        clock.jumped = start == 0;
        let block = Scene {
            settings,
            clock,
            frames: length,
            song: Some(song),
            news: if start == 0 { News::Edited } else { News::None },
            next_song: None,
        };
        let events = play(&mut performer, &block, &[]);
        all.extend(events.into_iter().map(|(time, e)| (start + time, e)));
        start += length;
    }
    all
}

#[test]
fn the_chart_plays_on_its_beats_in_any_block_size() {
    let song = song("| Dm7 G7 | Cmaj7 |");
    let whole = play_chart(&song, 0.0, 400_000, 400_000);
    let times: Vec<u32> = starts(&whole).iter().map(|(t, _)| *t).collect();
    let fours = |t: u32| [t; 4];
    let expected = [0, 48_000, 96_000, 192_000, 240_000, 288_000, 384_000].map(fours);
    assert_eq!(times, expected.concat());
    for block in [1, 32, 64, 441, 4096] {
        if block == 1 {
            assert_eq!(
                play_chart(&song, 1.9, 9_000, 1),
                play_chart(&song, 1.9, 9_000, 9_000)
            );
        } else {
            assert_eq!(play_chart(&song, 0.0, 400_000, block), whole, "{block}");
        }
    }
}

#[test]
fn starting_in_the_middle_gives_the_same_chords() {
    let song = song("| Dm7 | G7 | Cmaj7 | A7 |");
    let whole = starts(&play_chart(&song, 0.0, 800_000, 512));
    let late = starts(&play_chart(&song, 5.0, 680_000, 512));
    let keys = |events: &[(u32, u8)]| events.iter().map(|(_, k)| *k).collect::<Vec<_>>();
    assert_eq!(keys(&whole)[4..], keys(&late));
}

#[test]
fn a_count_in_and_a_silent_bar_are_silent() {
    let song = song("| N.C. | Dm7 |");
    let events = play_chart(&song, -4.0, 48_000 * 5, 512);
    assert_eq!(starts(&events).first(), Some(&(48_000 * 4, 53)));
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

#[test]
fn stopping_releases() {
    let song = song("| Dm7 |");
    let mut performer = performer();
    let mut block = Scene {
        settings: Settings::plain(Source::Chart),
        clock: clock_at(0.0),
        frames: 64,
        song: Some(&song),
        news: News::Edited,
        next_song: None,
    };
    assert_eq!(starts(&play(&mut performer, &block, &[])).len(), 4);
    block.clock = Clock::default();
    block.news = News::None;
    assert_eq!(ends(&play(&mut performer, &block, &[])).len(), 4);
}

#[test]
fn a_held_key_gates_the_chart() {
    let song = song("| Dm7 | G7 |");
    let mut performer = performer();
    let mut block = Scene {
        settings: Settings {
            gate: true,
            ..Settings::plain(Source::Chart)
        },
        clock: clock_at(0.0),
        frames: 96_000,
        song: Some(&song),
        news: News::Edited,
        next_song: None,
    };
    let events = play(&mut performer, &block, &[on(500, 40), off(40_000, 40)]);
    let times = |events: Vec<(u32, u8)>| events.iter().map(|(t, _)| *t).collect::<Vec<_>>();
    assert_eq!(times(starts(&events)), [500; 4]);
    assert_eq!(times(ends(&events)), [40_000; 4]);
    // Held across the change, the next chord sounds in its place.
    block.clock = clock_at(4.0);
    block.frames = 200_000;
    block.news = News::None;
    let events = play(&mut performer, &block, &[on(10, 40)]);
    assert_eq!(
        times(starts(&events))[..8],
        [10, 10, 10, 10, 96_000, 96_000, 96_000, 96_000]
    );
}

/// What is tried sounds from the next bar line on, and the chart that it stands
/// for goes on until then.
#[test]
fn a_chart_that_waits_takes_over_at_the_bar_line() {
    let (old, new) = (song("| C6 F6 | % |"), song("| Ab7 Db7 | % |"));
    for (from_beat, bar_line) in [(0.5, 84_000), (2.0, 48_000), (4.0, 0)] {
        let mut performer = performer();
        let mut scene = Scene {
            settings: Settings::plain(Source::Chart),
            clock: clock_at(from_beat),
            frames: 90_000,
            song: Some(&old),
            news: News::Edited,
            next_song: Some(&new),
        };
        scene.clock.jumped = true;
        let mut script = Script::default();
        let played = run(&mut performer, &scene, &mut script);
        assert!(played.next_song_plays, "{from_beat}");
        let of = |song: &PlannedChart| -> Vec<u8> {
            let taste = Taste::default();
            let (_, voiced) = song.voiced(0, &taste).unwrap();
            voiced.voicing.notes().map(MidiNote::number).collect()
        };
        let from_the_bar = starts(&script.outputs);
        let keys = from_the_bar.iter().filter(|(time, _)| *time == bar_line);
        let keys: Vec<u8> = keys.map(|(_, key)| *key).collect();
        assert!(keys.ends_with(&of(&new)), "{from_beat}: {keys:?}");
        let before = from_the_bar.iter().filter(|(time, _)| *time < bar_line);
        assert_eq!(before.count() > 0, bar_line > 0, "the old one goes on");
        assert!(
            !keys
                .iter()
                .any(|key| bar_line > 0 && of(&old).contains(key) && !of(&new).contains(key))
        );
    }
    // Without a chart under way there is no bar line to wait for.
    let scene = Scene {
        next_song: Some(&new),
        song: Some(&old),
        ..roots()
    };
    assert!(run(&mut performer(), &scene, &mut Script::default()).next_song_plays);
}
