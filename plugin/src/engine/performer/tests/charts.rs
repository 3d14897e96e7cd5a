//! Charts, in time with a host.

use super::*;

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
            update: ChartUpdate::Edited,
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
