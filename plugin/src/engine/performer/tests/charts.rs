//! Charts, in time with a host.

use super::*;
use crate::engine::rhythm::Rhythm;

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
            update: if start == 0 {
                ChartUpdate::Edited
            } else {
                ChartUpdate::None
            },
            next_song: None,
            audition: None,
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
fn stopping_releases() {
    let song = song("| Dm7 |");
    let mut performer = performer();
    let mut block = Scene {
        settings: Settings::plain(Source::Chart),
        clock: clock_at(0.0),
        frames: 64,
        song: Some(&song),
        update: ChartUpdate::Edited,
        next_song: None,
        audition: None,
    };
    assert_eq!(starts(&play(&mut performer, &block, &[])).len(), 4);
    block.clock = Clock::default();
    block.update = ChartUpdate::None;
    assert_eq!(ends(&play(&mut performer, &block, &[])).len(), 4);
}

#[test]
fn a_held_key_gates_the_chart() {
    let song = song("| Dm7 | G7 |");
    let mut performer = performer();
    let mut settings = Settings::plain(Source::Chart);
    settings.chart.gate = true;
    let mut block = Scene {
        settings,
        clock: clock_at(0.0),
        frames: 96_000,
        song: Some(&song),
        update: ChartUpdate::Edited,
        next_song: None,
        audition: None,
    };
    let events = play(&mut performer, &block, &[on(500, 40), off(40_000, 40)]);
    let times = |events: Vec<(u32, u8)>| events.iter().map(|(t, _)| *t).collect::<Vec<_>>();
    assert_eq!(times(starts(&events)), [500; 4]);
    assert_eq!(times(ends(&events)), [40_000; 4]);
    // Held across the change, the next chord sounds in its place.
    block.clock = clock_at(4.0);
    block.frames = 200_000;
    block.update = ChartUpdate::None;
    let events = play(&mut performer, &block, &[on(10, 40)]);
    assert_eq!(
        times(starts(&events))[..8],
        [10, 10, 10, 10, 96_000, 96_000, 96_000, 96_000]
    );
}

/// The notes of a change of a chart.
fn of(song: &PlannedChart, change: usize) -> Vec<u8> {
    let (_, voiced) = song.voiced(change, &Taste::default()).unwrap();
    voiced.voicing.notes().map(MidiNote::number).collect()
}

/// What starts at a sample.
fn at(events: &[Event], time: u32) -> Vec<u8> {
    let starts = starts(events).into_iter();
    starts
        .filter_map(|(t, key)| (t == time).then_some(key))
        .collect()
}

/// A block in which a chart plays and another one waits, `beats` after the song's start.
fn waiting<'a>(old: &'a PlannedChart, new: &'a PlannedChart, beats: f64) -> Scene<'a> {
    Scene {
        settings: Settings::plain(Source::Chart),
        clock: clock_at(beats),
        frames: 12_000,
        song: Some(old),
        update: ChartUpdate::None,
        next_song: Some(new),
        audition: None,
    }
}

/// Begins to play a chart, half a beat before `beats`.
fn playing(old: &PlannedChart, beats: f64) -> Performer {
    let mut performer = performer();
    let mut scene = waiting(old, old, beats - 0.5);
    (scene.update, scene.next_song) = (ChartUpdate::Edited, None);
    scene.clock.jumped = true;
    assert!(!run(&mut performer, &scene, &mut Script::default()).next_song_plays);
    performer
}

/// An edited chart sounds from the next bar line on, and so does one that is tried; the chart before
/// goes on until then.
#[test]
fn a_chart_that_waits_takes_over_at_the_bar_line() {
    let (old, new) = (song("| C6 F6 | % |"), song("| Ab7 Db7 | % |"));
    for (beats, bar_line) in [(1.0, 72_000), (2.0, 48_000), (4.0, 0)] {
        let mut performer = playing(&old, beats);
        let mut scene = waiting(&old, &new, beats);
        scene.frames = bar_line + 12_000;
        let mut script = Script::default();
        let played = run(&mut performer, &scene, &mut script);
        assert!(played.next_song_plays, "{beats}");
        assert_eq!(at(&script.outputs, bar_line), of(&new, 0), "{beats}");
        let before = starts(&script.outputs).into_iter();
        let before = before.filter_map(|(time, key)| (time < bar_line).then_some(key));
        let expected = if bar_line > 0 { of(&old, 1) } else { vec![] };
        assert_eq!(before.collect::<Vec<_>>(), expected, "the old one goes on");
    }
    // Without a chart under way there is no bar line to wait for.
    let scene = Scene {
        next_song: Some(&new),
        audition: None,
        song: Some(&old),
        ..roots()
    };
    assert!(run(&mut performer(), &scene, &mut Script::default()).next_song_plays);
}

/// The bar line is that of the chart that plays, and the new chart goes on at the place where the
/// song is, whatever its own bars are.
#[test]
fn the_bar_lines_are_those_of_the_chart_that_plays() {
    let (old, new) = (song("| 3/4 C6 | F6 | C6 | F6 |"), song("| Ab7 | Db7 |"));
    let mut performer = playing(&old, 1.0);
    let mut scene = waiting(&old, &new, 1.0);
    scene.frames = 100_000;
    let mut script = Script::default();
    assert!(run(&mut performer, &scene, &mut script).next_song_plays);
    // Beat 3 of the song: the last one of the new chart's first bar.
    assert_eq!(at(&script.outputs, 48_000), of(&new, 0));
    assert_eq!(at(&script.outputs, 72_000), of(&new, 1));
    assert_eq!(
        starts(&script.outputs).len(),
        of(&new, 0).len() + of(&new, 1).len()
    );
}

/// A player who strikes the chords hears the same ones up to the bar line.
#[test]
fn a_chart_that_is_struck_by_hand_waits_for_the_bar_line_too() {
    let (old, new) = (song("| C6 | % |"), song("| Ab7 | % |"));
    let mut by_hand = Settings::plain(Source::Chart);
    by_hand.groove.rhythm = Rhythm::Played;
    let mut performer = performer();
    for (beats, next_song_plays, song) in [(2.0, false, &old), (3.6, true, &new)] {
        let mut scene = waiting(&old, &new, beats);
        scene.settings = by_hand;
        let low = 40;
        let mut script = Script {
            inputs: [on(11_000, low), off(11_900, low)].into(),
            ..Script::default()
        };
        let played = run(&mut performer, &scene, &mut script);
        assert_eq!(played.next_song_plays, next_song_plays, "{beats}");
        assert_eq!(at(&script.outputs, 11_000), of(song, 0), "{beats}");
    }
}

/// While nothing plays, and where playing begins anew, there is no bar line to wait for, and nothing
/// is heard of the chart before.
#[test]
fn a_chart_that_waits_takes_over_at_once_where_playing_begins() {
    let (old, new) = (song("| C6 F6 | % |"), song("| Ab7 Db7 | % |"));
    // The song stands still.
    let mut performer_stopped = playing(&old, 1.0);
    let mut scene = waiting(&old, &new, 1.0);
    (scene.clock.position_ticks, scene.clock.jumped) = (None, true);
    assert!(run(&mut performer_stopped, &scene, &mut Script::default()).next_song_plays);
    // The song jumps, as a loop does that holds no bar line, or starts.
    let mut jumping = playing(&old, 1.0);
    let mut scene = waiting(&old, &new, 2.5);
    scene.clock.jumped = true;
    let mut script = Script::default();
    assert!(run(&mut jumping, &scene, &mut script).next_song_plays);
    assert_eq!(at(&script.outputs, 0), of(&new, 1));
    assert_eq!(starts(&script.outputs).len(), of(&new, 1).len());
    // Keys and chords mean something else from here on.
    let mut remapped = playing(&old, 1.0);
    let mut scene = waiting(&old, &new, 1.0);
    scene.settings.chart.from_bar = 2;
    scene.clock = clock_at(5.0);
    let mut script = Script::default();
    assert!(run(&mut remapped, &scene, &mut script).next_song_plays);
    assert_eq!(
        starts(&script.outputs),
        of(&new, 0)
            .into_iter()
            .map(|key| (0, key))
            .collect::<Vec<_>>()
    );
}

/// What the panel shows tells which of the two plays.
#[test]
fn the_snapshot_tells_whose_chart_plays() {
    let (mut old, mut new) = (song("| C6 F6 | % |"), song("| Ab7 Db7 | % |"));
    (old.edition, new.edition) = (7, 8);
    let mut performer = playing(&old, 3.0);
    let song = |performer: &Performer| performer.snapshot().song;
    assert_eq!(song(&performer), Some(7));
    let scene = waiting(&old, &new, 3.0);
    assert!(!run(&mut performer, &scene, &mut Script::default()).next_song_plays);
    assert_eq!(song(&performer), Some(7));
    let mut scene = waiting(&old, &new, 3.5);
    scene.frames = 13_000;
    assert!(run(&mut performer, &scene, &mut Script::default()).next_song_plays);
    assert_eq!(song(&performer), Some(8));
    let mut scene = waiting(&new, &new, 4.0 + 1.0 / 24.0);
    (scene.next_song, scene.clock.position_ticks) = (None, None);
    run(&mut performer, &scene, &mut Script::default());
    assert_eq!(song(&performer), None, "stopped");
}
