//! Chords under the keys of the right hand.

use super::*;
use guidehand_theory::degree::Degree;
use guidehand_theory::shape::Texture;
use guidehand_theory::under::{Rule, Why};

/// A chart that is known and silent: the left hand rests.
fn silent_chart() -> Settings {
    Settings {
        comps: false,
        ..with_chords_under(charted(), Style::FourWayClose)
    }
}

const C: &str = "| C6 | G7 |";

fn play_over(text: &str, settings: Settings, steps: &[(u32, Step)]) -> Played {
    play_steps(settings, Some(&chart_of(text)), steps, 8 * BEAT, &[512])
}

/// The melody passes by itself, and the other notes of the chord start and end with it, with its
/// velocity and on its channel. Under G over C6 lie E, C and A in four-way close, and C an octave
/// lower in drop 2; double lead adds the melody an octave lower.
#[test]
fn a_key_has_its_chord_from_its_own_sample_to_its_end() {
    for (style, below) in [
        (Style::FourWayClose, vec![69, 72, 76]),
        (Style::DropTwo, vec![64, 69, 72]),
        (Style::DoubleLead, vec![67, 69, 72, 76]),
    ] {
        let mut settings = silent_chart();
        settings.right_hand.under = Some(style);
        let steps = [(700, Step::On(79)), (9001, Step::Off(79))];
        let played = play_over(C, settings, &steps);
        assert_eq!(played.starts_at(700), below, "{style:?}");
        assert_eq!(played.ends_at(9001), below, "{style:?}");
        let passes = |at: u32, event: u32| played.events.contains(&(at, Output::Through(event)));
        assert!(passes(700, 79) && passes(9001, 1079));
        assert_eq!(
            played.events.len(),
            2 + 2 * below.len(),
            "{:?}",
            played.events
        );
        let velocities = played.events.iter().filter_map(|(_, output)| match output {
            Output::NoteOn(key) => Some((key.channel, key.velocity)),
            _ => None,
        });
        assert!(velocities.into_iter().all(|found| found == (0, 0.5)));
    }
}

/// A key that goes down where the chord changes has the new one, also at the sample of the change.
#[test]
fn the_chord_in_force_is_that_of_the_same_sample() {
    for settings in [
        silent_chart(),
        with_chords_under(charted(), Style::FourWayClose),
    ] {
        let steps = [(4 * BEAT, Step::On(83))];
        let played = play_over("| F#m7 | G7 |", settings, &steps);
        let voices = played.starts_at(4 * BEAT);
        // The seventh of G7, which F#m7 does not have.
        assert!(classes(&voices).contains(&5), "{voices:?}");
        assert_eq!(
            played.shown.under.unwrap().block.root.unwrap().to_string(),
            "G"
        );
    }
    // Where the song starts.
    let steps = [(0, Step::On(79))];
    let played = play_over(C, silent_chart(), &steps);
    assert_eq!(played.starts_at(0), [69, 72, 76]);
}

/// Between the strikes of a rhythm the chart's chord is in force, and an eighth before a change the
/// coming one.
#[test]
fn the_chart_is_in_force_where_nothing_sounds() {
    let settings = with_chords_under(charted(), Style::FourWayClose);
    let settings = in_rhythm(settings, Rhythm::TwoAndFour);
    let root = |settings: Settings, at: u32, ahead: bool| {
        let mut settings = settings;
        settings.groove.ahead = ahead;
        let song = chart_of("| F6 | G7 |");
        let steps = [(at, Step::On(83))];
        let played = play_steps(settings, Some(&song), &steps, at + 1, &[512]);
        let block = played.shown.under.unwrap().block;
        block.chord.unwrap().root.to_string()
    };
    assert_eq!(root(settings, 700, true), "F");
    assert_eq!(root(settings, 4 * BEAT + 700, true), "G");
    let mut silent = settings;
    silent.comps = false;
    silent.chart.gate = true;
    let near = 4 * BEAT - BEAT / 4;
    assert_eq!(root(silent, near, true), "G");
    assert_eq!(root(silent, near, false), "F");
}

/// A player can try the chords of a place while the song stands still.
#[test]
fn the_chart_is_in_force_while_the_song_stands_still() {
    let song = chart_of(C);
    let mut clock = clock_at(4.5);
    clock.position_ticks = None;
    let scene = Scene {
        settings: silent_chart(),
        clock,
        frames: 512,
        song: Some(&song),
        update: ChartUpdate::None,
        next_song: None,
        audition: None,
    };
    let mut performer = performer();
    let events = play(&mut performer, &scene, &[on(9, 83)]);
    assert_eq!(starts(&events).len(), 3);
    let chord = performer.snapshot().under.unwrap().block.chord.unwrap();
    assert_eq!(chord.root.to_string(), "G");
}

/// Without a chord the melody passes alone: outside the chart, where it is silent, without a root.
#[test]
fn a_melody_without_a_chord_passes_alone() {
    let steps = [(700, Step::On(79)), (900, Step::Off(79))];
    for (text, settings) in [
        ("| N.C. | G7 |", silent_chart()),
        (
            C,
            with_chords_under(Settings::plain(Source::Roots), Style::DropTwo),
        ),
        (
            C,
            with_chords_under(Settings::plain(Source::Bass), Style::DropTwo),
        ),
        (
            C,
            with_chords_under(Settings::plain(Source::Reading), Style::DropTwo),
        ),
        (
            C,
            with_chords_under(Settings::plain(Source::Practice), Style::DropTwo),
        ),
    ] {
        let played = play_steps(settings, Some(&chart_of(text)), &steps, 1024, &[512]);
        assert_eq!(played.events.len(), 2, "{text}, {:?}", settings.source);
        let shown = played.shown.under.map(|under| under.block.rule);
        let expected = settings
            .makes_chords()
            .then_some(Rule::Single(Why::NoChord));
        assert_eq!(shown, expected, "{text}");
    }
}

/// A played root is in force while it is held, whether it sounds or the left hand is silent.
#[test]
fn a_held_root_is_in_force() {
    for comps in [true, false] {
        let mut settings = with_chords_under(Settings::plain(Source::Roots), Style::FourWayClose);
        settings.comps = comps;
        let steps = [
            (10, Step::On(43)),
            (700, Step::On(83)),
            (900, Step::Off(83)),
            (5000, Step::Off(43)),
            (9000, Step::On(83)),
        ];
        let played = play_steps(settings, None, &steps, 10_000, &[512]);
        assert_eq!(played.starts_at(10).is_empty(), !comps);
        assert_eq!(played.starts_at(700).len(), 3);
        assert_eq!(played.starts_at(9000).len(), 0);
    }
}

/// A note that is struck again keeps its chord. A line that is faster than the player wants is single
/// from its second note on.
#[test]
fn repeated_notes_keep_their_chord_and_fast_ones_are_single() {
    let mut settings = silent_chart();
    let mut steps = Vec::new();
    for n in 0..4_u32 {
        let at = 1000 + n * 5000;
        steps.extend([(at, Step::On(79)), (at + 4000, Step::Off(79))]);
    }
    let played = play_over(C, settings, &steps);
    let first = played.starts_at(1000);
    assert_eq!(first.len(), 3);
    for n in 1..4 {
        assert_eq!(played.starts_at(1000 + n * 5000), first);
    }
    // Some 104 milliseconds apart.
    settings.right_hand.single_under_ms = 105;
    let played = play_over(C, settings, &steps);
    assert_eq!(played.starts_at(1000), first);
    for n in 1..4 {
        assert!(played.starts_at(1000 + n * 5000).is_empty());
    }
    assert_eq!(
        played.shown.under.unwrap().block.rule,
        Rule::Single(Why::Fast)
    );
    assert!(played.hanging().is_empty());
}

/// Of keys at one sample the highest has the chord. So it has where they come one after the other in
/// one gesture; none waits for another.
#[test]
fn of_keys_together_the_highest_has_the_chord() {
    for (low, high) in [(1000, 1000), (1000, 1700), (1700, 1000)] {
        let mut steps = [(low, Step::On(72)), (high, Step::On(79))];
        steps.sort_by_key(|(at, _)| *at);
        let steps = [
            steps[0],
            steps[1],
            (9000, Step::Off(72)),
            (9500, Step::Off(79)),
        ];
        let played = play_over(C, silent_chart(), &steps);
        // C is held by a finger, and the chord joins it, or is struck by it.
        let voices = played.starts_at(high);
        assert!(
            voices.contains(&69) && voices.contains(&76),
            "{low} {high}: {voices:?}"
        );
        assert_eq!(voices.contains(&72), low > high);
        // The key below has had its own chord until then, if it came first.
        assert_eq!(played.ends_at(high).is_empty(), low >= high);
        assert_eq!(played.ends_at(9000), [] as [u8; 0]);
        assert_eq!(played.ends_at(9500), [69, 72, 76], "{low} {high}");
        assert!(played.hanging().is_empty());
    }
    // More than a gesture apart each has its own. The later one strikes the A that both have anew.
    let steps = [(1000, Step::On(72)), (6000, Step::On(79))];
    let played = play_over(C, silent_chart(), &steps);
    assert_eq!(played.starts_at(1000), [64, 67, 69]);
    assert_eq!(
        (played.starts_at(6000), played.ends_at(6000)),
        (vec![69, 76], vec![69])
    );
}

/// A line that is played legato: a voice that two keys have ends with the later one, and is struck with
/// each.
#[test]
fn overlapping_keys_share_voices() {
    let steps = [
        (1000, Step::On(79)),
        (9000, Step::On(81)),
        (9500, Step::Off(79)),
        (20_000, Step::Off(81)),
    ];
    let played = play_over(C, silent_chart(), &steps);
    let (first, second) = (played.starts_at(1000), played.starts_at(9000));
    let shared: Vec<u8> = first
        .iter()
        .copied()
        .filter(|k| second.contains(k))
        .collect();
    assert!(!shared.is_empty(), "{first:?} {second:?}");
    assert_eq!(played.ends_at(9000), shared, "struck anew");
    for key in played.ends_at(9500) {
        assert!(!shared.contains(&key));
    }
    // G was joined while a finger was on it.
    assert_eq!(played.ends_at(20_000), [second, vec![79]].concat());
    assert!(played.hanging().is_empty());
}

/// A voice that the chord of the left hand holds too is struck, but not twice at one sample, and ends
/// with the last of both.
#[test]
fn a_voice_is_shared_with_the_chord() {
    let mut settings = with_chords_under(charted(), Style::FourWayClose);
    settings.split = 60;
    settings.groove.length = 0.5;
    for at in [0, 5000] {
        let steps = [(at, Step::On(67)), (6 * BEAT, Step::Off(67))];
        let played = play_over("| C6 |", settings, &steps);
        let chord = starts(&played.events)[..4].to_vec();
        assert!(chord.iter().all(|(time, _)| *time == 0));
        let mut counts = [0; 128];
        for (_, key) in starts(&played.events)
            .iter()
            .filter(|(time, _)| *time <= at)
        {
            counts[usize::from(*key)] += 1;
        }
        let shared: Vec<u8> = (0..128)
            .filter(|key| counts[usize::from(*key)] > 1)
            .collect();
        assert_eq!(shared.is_empty(), at == 0, "{:?}", played.events);
        let off = |time| played.ends_at(time);
        for key in shared {
            assert!(
                off(at).contains(&key) && off(6 * BEAT).contains(&key),
                "{key}"
            );
        }
    }
}

/// Whatever is done to keys that are held, no note hangs.
#[test]
fn chords_end_whatever_is_done_to_their_keys() {
    let on = silent_chart();
    let set = |change: fn(&mut Settings)| {
        let mut settings = on;
        change(&mut settings);
        Step::Set(settings)
    };
    for (name, step, ends_there) in [
        ("split", set(|s| s.split = 90), true),
        ("bypass", set(|s| s.bypass = true), true),
        ("source", set(|s| s.source = Source::Roots), true),
        (
            "style",
            set(|s| s.right_hand.under = Some(Style::DropTwo)),
            false,
        ),
        ("texture", set(|s| s.taste.texture = Texture::Open), false),
        ("off", set(|s| s.right_hand.under = None), false),
        ("left hand", set(|s| s.comps = true), false),
        ("stop", Step::Stop, false),
        ("jump", Step::Play(4.0), false),
        ("panic", Step::Panic, true),
        ("struck again", Step::On(79), true),
    ] {
        let steps = [
            (1000, Step::On(79)),
            (5000, step),
            (20_000, Step::Off(79)),
            (8 * BEAT - 20, Step::Stop),
        ];
        let played = play_over(C, on, &steps);
        let voices = played.starts_at(1000);
        assert_eq!(voices.len(), 3, "{name}");
        let ended = played.ends_at(if ends_there { 5000 } else { 20_000 });
        assert!(
            voices.iter().all(|key| ended.contains(key)),
            "{name}: {:?}",
            played.events
        );
        // A key that is struck again while it sounds has two note-ons, and a note-off between them.
        assert_eq!(played.hanging(), [], "{name}: {:?}", played.events);
    }
}

#[test]
fn a_reset_and_a_full_queue_leave_no_note() {
    let song = chart_of(C);
    let scene = |beat, jumped| {
        let mut clock = clock_at(beat);
        clock.jumped = jumped;
        Scene {
            settings: silent_chart(),
            clock,
            frames: 512,
            song: Some(&song),
            update: ChartUpdate::None,
            next_song: None,
            audition: None,
        }
    };
    let mut performer = performer();
    play(&mut performer, &scene(0.0, true), &[on(5, 79)]);
    performer.reset();
    let events = play(&mut performer, &scene(0.1, false), &[off(5, 79)]);
    assert_eq!(ends(&events).len(), 4);
    assert_eq!(performer.snapshot().under, None);

    let mut performer = self::performer();
    let mut script = Script {
        inputs: [on(5, 79)].into(),
        room: Some(2),
        ..Script::default()
    };
    run(&mut performer, &scene(0.0, true), &mut script);
    assert_eq!(script.outputs.len(), 2, "the melody and one voice");
    let late = play(&mut performer, &scene(0.1, false), &[]);
    assert_eq!(starts(&late).len(), 2);
    let mut script = Script {
        inputs: [off(5, 79)].into(),
        room: Some(1),
        ..Script::default()
    };
    run(&mut performer, &scene(0.2, false), &mut script);
    let late = play(&mut performer, &scene(0.3, false), &[]);
    assert_eq!(ends(&late).len() + script.outputs.len(), 4);
}

/// A key that lies past the last frame of a block, where a host has cut it, belongs to the first sample
/// of the next one.
#[test]
fn a_key_at_the_cut_of_a_block_has_the_chord_of_the_next_sample() {
    let song = chart_of("| Fm7 | G7 |");
    let mut performer = performer();
    let frames = 512;
    let scene = |beat, jumped| {
        let mut clock = clock_at(beat);
        clock.jumped = jumped;
        Scene {
            settings: silent_chart(),
            clock,
            frames,
            song: Some(&song),
            update: ChartUpdate::None,
            next_song: None,
            audition: None,
        }
    };
    let before = f64::from(frames) / f64::from(BEAT);
    let events = play(
        &mut performer,
        &scene(4.0 - before, true),
        &[on(frames, 83)],
    );
    assert_eq!(events.last(), Some(&(frames, Output::Through(83))));
    assert!(starts(&events).iter().all(|(at, _)| *at < frames));
    let events = play(&mut performer, &scene(4.0, false), &[]);
    assert_eq!(starts(&events).len(), 3);
    let block = performer.snapshot().under.unwrap().block;
    assert_eq!(block.chord.unwrap().root.to_string(), "G");
    assert_eq!(block.voicing.voices().last().unwrap().degree, Degree::Three);
}
