//! Chords from a bass that is heard: the project's own plucked string at the audio inputs, and what
//! the plugin comps to it. The result is judged as a listener hears it: by the notes that sound a
//! sixteenth after each strong beat.

#[path = "../../plugin/bass/tests/common/lines.rs"]
#[allow(dead_code, missing_docs, reason = "shared with the tests of the ear")]
pub mod lines;
#[path = "../../plugin/bass/tests/common/pluck.rs"]
#[allow(dead_code, missing_docs, reason = "shared with the tests of the ear")]
mod pluck;

use crate::plugin::{RATE_HZ, load_chart, mute, notes, planned, play, set, set_key, sounding};
use guidehand_tests::{
    BlockSizes, Event, Host, Performance, Session, TimedEvent, TransportChange, hanging, render,
};
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pitch::PitchClass;
use lines::{BassBar, BassLine, BassNote, FOUR_STRINGS, Feel, Material};
use std::collections::BTreeMap;

pub const TEMPO_BPM: f64 = 160.0;
pub const BARS: usize = 24;
/// The time after a beat at which the chord is judged, in beats. The ear needs about 40 ms for a
/// low note.
pub const JUDGED_BEATS: f64 = 0.25;
/// The channel on which the plugin sends the root.
pub const ROOT_CHANNEL: i16 = 1;

/// A mute instance that follows a bass.
fn follower() -> Host {
    let mut host = mute();
    set(&mut host, "Chords from", "Heard bass");
    host
}

/// The same with the chart of a line.
pub fn with_chart_of(line: &BassLine) -> Host {
    let mut host = follower();
    load_chart(&mut host, &chart_of(line));
    host
}

/// The same in the key of a line, with the roots on a channel of their own.
pub fn in_key_of(line: &BassLine) -> Host {
    let mut host = follower();
    set(&mut host, "Bass follows", "Key");
    set_key(&mut host, line.key, Mode::Major);
    set(&mut host, "Bass note", "On");
    host
}

/// A line's chords as text.
pub fn chart_of(line: &BassLine) -> String {
    let key = Key::usual(PitchClass::wrapping(line.key.into()), Mode::Major);
    let symbol = |bar: &BassBar| {
        let root = key.name(PitchClass::wrapping(bar.root.into()));
        let quality = match bar.tones {
            [4, 7, 11] => "maj7",
            [4, 7, 10] => "7",
            [3, 7, 10] => "m7",
            [3, 6, 10] => "m7b5",
            other => panic!("{other:?}"),
        };
        format!("{root}{quality}")
    };
    let bars: Vec<String> = line.chart.iter().map(symbol).collect();
    format!("| {} |", bars.join(" | "))
}

pub fn walking(seed: u64, material: Material) -> BassLine {
    BassLine::of(seed, material, Feel::Walking, FOUR_STRINGS, TEMPO_BPM, BARS)
}

/// A line with other notes.
fn with_notes(line: &BassLine, notes: Vec<BassNote>) -> BassLine {
    BassLine {
        notes,
        ..line.clone()
    }
}

pub fn sound_of(line: &BassLine, rate_hz: f64) -> Vec<f32> {
    pluck::play(line, pluck::FINGERED, rate_hz, 440.0)
}

/// A session as long as a sound. The line's first beat is the song's first beat, with a second of
/// rest before it.
pub fn session(sound: &[f32], rate_hz: f64) -> Session {
    let mut session = Session::new(rate_hz, TEMPO_BPM, sound.len() as u64);
    let to_beats = -TEMPO_BPM / 60.0;
    session.change(0, TransportChange::Jump { to_beats });
    session
}

/// The sample of a beat of the line.
pub fn sample(line: &BassLine, beats: f64, rate_hz: f64) -> u64 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "minutes of samples"
    )]
    let sample = (line.seconds(beats) * rate_hz).round() as u64;
    sample
}

/// Plays a line at the side-chain.
pub fn perform(host: &mut Host, line: &BassLine, rate_hz: f64) -> Performance {
    let sound = sound_of(line, rate_hz);
    let session = session(&sound, rate_hz);
    host.hear(vec![vec![sound]]);
    let performance = play(host, &session);
    check_ends(&performance.events);
    performance
}

/// No note starts twice, and only the end of the session may cut a note off.
fn check_ends(events: &[TimedEvent]) {
    let mut events = events.to_vec();
    let last = events.last().map_or(0, |event| event.at_samples);
    for (channel, key) in hanging(&events) {
        let event = Event::note_off(channel, key);
        events.push(TimedEvent::new(last, event));
    }
    notes(&events);
}

/// Strong beats with the bar that each lies in.
pub fn strong_beats() -> impl Iterator<Item = (f64, usize)> {
    (0..BARS).flat_map(|bar| {
        let start = 4.0 * f64::from(u32::try_from(bar).unwrap());
        [(start, bar), (start + 2.0, bar)]
    })
}

/// The number of strong beats on which the chart's own voicing sounds, and of all strong beats.
fn right_by_chart(line: &BassLine, performance: &Performance, rate_hz: f64) -> (u32, u32) {
    let plan = planned(&chart_of(line));
    let (mut right, mut all) = (0, 0);
    for (beat, bar) in strong_beats() {
        let at = sample(line, beat + JUDGED_BEATS, rate_hz);
        all += 1;
        right += u32::from(sounding(&performance.events, at) == plan[bar].keys);
    }
    (right, all)
}

/// The number of strong beats on which the line's root sounds, and of all strong beats.
fn right_by_root(line: &BassLine, performance: &Performance) -> (u32, u32) {
    let (mut right, mut all) = (0, 0);
    for (beat, bar) in strong_beats() {
        let at = sample(line, beat + JUDGED_BEATS, RATE_HZ);
        let until = performance.events.partition_point(|e| e.at_samples <= at);
        let roots: Vec<i16> = hanging(&performance.events[..until])
            .into_iter()
            .filter(|(channel, _)| *channel == ROOT_CHANNEL)
            .map(|(_, key)| key % 12)
            .collect();
        all += 1;
        right += u32::from(roots == [i16::from(line.chart[bar].root)]);
    }
    (right, all)
}

#[test]
fn by_the_chart_95_of_100_strong_beats_have_their_chord() {
    let (mut right, mut all) = (0, 0);
    for seed in 300..304 {
        for material in [Material::Own, Material::Borrowed] {
            let line = walking(seed, material);
            let performance = perform(&mut with_chart_of(&line), &line, RATE_HZ);
            let (r, a) = right_by_chart(&line, &performance, RATE_HZ);
            (right, all) = (right + r, all + a);
        }
    }
    println!("by the chart: {right} of {all}");
    assert!(right * 100 >= all * 95, "{right} of {all}");
}

#[test]
fn in_the_key_95_of_100_strong_beats_have_their_root() {
    // The seeds begin at 0, as in the tests that decide roots from written notes.
    let (mut right, mut all) = (0, 0);
    for seed in (0..20).chain(300..312) {
        let line = walking(seed, Material::Own);
        let performance = perform(&mut in_key_of(&line), &line, RATE_HZ);
        let (r, a) = right_by_root(&line, &performance);
        (right, all) = (right + r, all + a);
    }
    println!("in the key: {right} of {all}");
    assert!(right * 100 >= all * 95, "{right} of {all}");
}

#[test]
fn blocks_of_any_size_give_the_same() {
    let line = walking(320, Material::Own);
    let short = with_notes(&line, line.notes[..20].to_vec());
    let sound = sound_of(&short, RATE_HZ);
    for by in ["Chart", "Key"] {
        for rhythm in ["Sustained", "Charleston"] {
            let mut told: Option<Vec<TimedEvent>> = None;
            for blocks in [
                BlockSizes::Fixed(4096),
                BlockSizes::Fixed(1),
                BlockSizes::Fixed(64),
                BlockSizes::Fixed(441),
                BlockSizes::Random {
                    seed: 5,
                    max_frames: 2048,
                },
            ] {
                let mut host = with_chart_of(&line);
                set(&mut host, "Bass follows", by);
                set(&mut host, "Rhythm", rhythm);
                host.hear(vec![vec![sound.clone()]]);
                let mut session = session(&sound, RATE_HZ);
                session.blocks = blocks;
                let events = play(&mut host, &session).events;
                assert!(events.len() > 12, "{by} {rhythm}: {}", events.len());
                let told = told.get_or_insert_with(|| events.clone());
                assert_eq!(*told, events, "{by}, {rhythm}, {blocks:?}");
            }
        }
    }
}

#[test]
fn every_rate_will_do() {
    let line = walking(330, Material::Own);
    // There is one instance, so that its rate changes too.
    let mut host = with_chart_of(&line);
    for rate_hz in [44_100.0, 192_000.0, 96_000.0] {
        // Four seconds of rest follow, so that nothing sounds into the next rate.
        let mut sound = sound_of(&line, rate_hz);
        sound.resize(sound.len() + 800_000, 0.0);
        let session = session(&sound, rate_hz);
        host.hear(vec![vec![sound]]);
        let performance = play(&mut host, &session);
        notes(&performance.events);
        let (right, all) = right_by_chart(&line, &performance, rate_hz);
        assert!(right * 100 >= all * 95, "{rate_hz}: {right} of {all}");
    }
}

/// Sounds without a bass, two seconds of each.
fn no_basses() -> BTreeMap<&'static str, Vec<f32>> {
    let count = 96_000;
    let steady = |value: f32| vec![value; count];
    let alternating = |a: f32, b: f32| [a, b].into_iter().cycle().take(count).collect::<Vec<_>>();
    BTreeMap::from([
        ("silence", steady(0.0)),
        ("noise", pluck::noise(3, count)),
        ("a constant", steady(0.7)),
        ("a square far too loud", alternating(1e9, -1e9)),
        ("denormals", alternating(1e-40, -1e-41)),
        ("no numbers", alternating(f32::NAN, f32::INFINITY)),
        ("the largest numbers", alternating(f32::MAX, f32::MIN)),
    ])
}

#[test]
fn what_is_no_bass_gives_no_note_and_an_output_of_silence() {
    for (name, sound) in no_basses() {
        for by in ["Chart", "Key"] {
            let mut host = follower();
            set(&mut host, "Audition tone", "On");
            set(&mut host, "Bass follows", by);
            let session = session(&sound, RATE_HZ);
            host.hear(vec![vec![sound.clone()]]);
            let performance = play(&mut host, &session);
            assert_eq!(performance.events, [], "{name}, by the {by}");
            assert!(performance.left.iter().all(|s| *s == 0.0), "{name}");
        }
    }
}

#[test]
fn a_bass_is_heard_after_the_worst_of_sounds() {
    let line = walking(340, Material::Own);
    let short = with_notes(&line, line.notes[..16].to_vec());
    for (name, before) in no_basses() {
        // The rest before the line is long enough for the ear to forget the sound.
        let mut sound = before;
        sound.extend(sound_of(&short, RATE_HZ));
        let mut session = Session::new(RATE_HZ, TEMPO_BPM, sound.len() as u64);
        let to_beats = -3.0 * TEMPO_BPM / 60.0;
        session.change(0, TransportChange::Jump { to_beats });
        let mut host = with_chart_of(&line);
        host.hear(vec![vec![sound]]);
        let events = play(&mut host, &session).events;
        assert!(events.len() > 8, "after {name}: {}", events.len());
    }
}

#[test]
fn what_passes_through_is_untouched() {
    let line = walking(350, Material::Own);
    let left = sound_of(&line, RATE_HZ)[..480_000].to_vec();
    let mut right = pluck::noise(9, left.len());
    right[1_000..1_004].copy_from_slice(&[f32::NAN, f32::INFINITY, 1e-41, -0.0]);
    let mut host = with_chart_of(&line);
    host.select_layout(1).unwrap();
    assert_eq!(host.ports().audio_inputs.len(), 2);
    host.hear(vec![vec![left.clone(), right.clone()]]);
    let session = session(&left, RATE_HZ);
    let performance = render(&mut host, &session).unwrap();
    let bits = |samples: &[f32]| samples.iter().map(|s| s.to_bits()).collect::<Vec<_>>();
    // All but what is fainter than -300 dBFS, which goes out as silence.
    right[1_002] = 0.0;
    assert!(bits(&performance.left) == bits(&left));
    assert!(bits(&performance.right) == bits(&right));
}

#[test]
fn a_bass_on_its_own_track_is_followed_and_the_tone_comes_on_top() {
    let line = walking(351, Material::Own);
    let sound = sound_of(&line, RATE_HZ);
    let mut host = with_chart_of(&line);
    host.select_layout(1).unwrap();
    set(&mut host, "Audition tone", "On");
    host.hear(vec![vec![sound.clone()]]);
    let performance = render(&mut host, &session(&sound, RATE_HZ)).unwrap();
    let (right, all) = right_by_chart(&line, &performance, RATE_HZ);
    assert!(right * 100 >= all * 95, "{right} of {all}");
    let pairs = performance.left.iter().zip(&sound);
    let tone: Vec<f32> = pairs.map(|(out, through)| out - through).collect();
    assert!(tone[..40_000].iter().all(|s| *s == 0.0));
    let peak = tone.iter().fold(0.0_f32, |peak, s| peak.max(s.abs()));
    assert!((0.01..0.502).contains(&peak), "{peak}");
}

#[test]
fn chords_end_with_the_bass_with_the_song_and_with_the_source() {
    let line = walking(380, Material::Own);
    let short = with_notes(&line, line.notes[..16].to_vec());
    let mut sound = sound_of(&short, RATE_HZ);
    let over = sound.len() as u64;
    sound.extend(vec![0.0; 480_000]);
    for by in ["Chart", "Key"] {
        for rhythm in ["Sustained", "Charleston"] {
            let mut host = with_chart_of(&line);
            set(&mut host, "Bass follows", by);
            set(&mut host, "Rhythm", rhythm);
            host.hear(vec![vec![sound.clone()]]);
            let ended = play(&mut host, &session(&sound, RATE_HZ)).events;
            let last = notes(&ended).iter().map(|n| n.end_samples).max().unwrap();
            // Two bars are three seconds.
            assert!(last < over + 160_000, "{by} {rhythm}: {last} {over}");
            let at = sample(&line, 9.6, RATE_HZ);
            let mut stopped = session(&sound, RATE_HZ);
            stopped.change(at, TransportChange::Stop);
            let ended = play(&mut host, &stopped).events;
            assert!(ended.iter().any(|event| event.at_samples == at));
            assert!(sounding(&ended, at).is_empty(), "{by} {rhythm}");
            let mut elsewhere = session(&sound, RATE_HZ);
            let source = crate::plugin::id(&host, "Chords from");
            let roots = crate::plugin::value(&mut host, "Chords from", "Roots");
            elsewhere.param(at, source, roots);
            let ended = play(&mut host, &elsewhere).events;
            notes(&ended);
            assert!(sounding(&ended, at).is_empty(), "{by} {rhythm}");
            set(&mut host, "Chords from", "Heard bass");
        }
    }
}

#[test]
fn keys_pass_beside_the_bass() {
    let line = walking(390, Material::Own);
    let mut host = with_chart_of(&line);
    let sound = sound_of(&line, RATE_HZ);
    let mut session = session(&sound, RATE_HZ);
    // One key is below the split, the other above it.
    session.note(1_000, 30_000, 40).note(2_000, 31_000, 84);
    host.hear(vec![vec![sound]]);
    let events = play(&mut host, &session).events;
    let of = |key: i16| -> Vec<(u64, u64)> {
        let mut ended = events.clone();
        let last = ended.last().unwrap().at_samples;
        for (channel, key) in hanging(&events) {
            ended.push(TimedEvent::new(last, Event::note_off(channel, key)));
        }
        let all = notes(&ended).into_iter().filter(|n| n.key == key);
        all.map(|n| (n.start_samples, n.end_samples)).collect()
    };
    assert_eq!(of(40), [(1_000, 30_000)]);
    assert_eq!(of(84), [(2_000, 31_000)]);
}
