//! Lines through a General MIDI sound font, by FluidSynth.

use crate::common::lines::BassLine;
use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, TrackEvent, TrackEventKind};
use std::path::Path;
use std::process::Command;

/// The rate of the files, in Hz.
pub const RATE_HZ: u32 = 44_100;

/// The distance of notes that are heard alone, and how long they are held, in seconds.
const ALONE_SECONDS: (f64, f64) = (0.8, 0.25);
/// A sound begins where it first reaches this part of its highest peak within this many seconds.
const BEGUN: f32 = 0.1;
const PEAK_SECONDS: f64 = 0.15;

/// Ticks in a second: the files are written at 60 beats a minute.
const TICKS_PER_SECOND: u16 = 9600;
const DRUMS: u8 = 9;

/// An event and its time in seconds.
struct Timed(f64, u8, MidiMessage);

/// Renders a bass line on a General MIDI program, numbered from 0.
pub fn bass(line: &BassLine, program: u8, folder: &Path, font: &str) -> Vec<f32> {
    let mut events = vec![on_program(program)];
    for note in &line.notes {
        strike(
            &mut events,
            0,
            note.number,
            note.velocity,
            line.seconds(note.start_beats),
            line.seconds(note.end_beats),
        );
    }
    render(events, folder, font)
}

/// The seconds at which the sounds of a line's notes begin. The samples of a sound font begin with
/// up to 50 ms of near silence, so each note is rendered alone here.
pub fn starts(line: &BassLine, program: u8, folder: &Path, font: &str) -> Vec<f64> {
    let (apart, held) = ALONE_SECONDS;
    let mut events = vec![on_program(program)];
    let mut at = apart;
    let mut times = Vec::new();
    for note in &line.notes {
        strike(&mut events, 0, note.number, note.velocity, at, at + held);
        times.push(at);
        at += apart;
    }
    let sound = render(events, folder, font);
    let lead = |at: f64| {
        let alone = &sound[samples(at).min(sound.len())..];
        let early = &alone[..samples(PEAK_SECONDS).min(alone.len())];
        let peak = early.iter().fold(0.0_f32, |p, s| p.max(s.abs()));
        let begun = early.iter().position(|s| s.abs() >= BEGUN * peak);
        f64::from(u32::try_from(begun.unwrap_or(0)).expect("a short lead")) / f64::from(RATE_HZ)
    };
    let notes = line.notes.iter().zip(times);
    notes
        .map(|(note, at)| line.seconds(note.start_beats) + lead(at))
        .collect()
}

/// A swing beat of the length of the line: ride, hi-hat, kick and snare.
pub fn drums(line: &BassLine, seed: u64, folder: &Path, font: &str) -> Vec<f32> {
    const KICK: u8 = 36;
    const SNARE: u8 = 38;
    const PEDAL: u8 = 44;
    const RIDE: u8 = 51;
    let mut rng = fastrand::Rng::with_seed(seed);
    let mut events = Vec::new();
    let beats = line.chart.len() * 4;
    for beat in 0..beats {
        let at = f64::from(u32::try_from(beat).expect("a short line"));
        let mut hit = |key: u8, beats: f64, velocity: u8| {
            let start = line.seconds(beats);
            strike(&mut events, DRUMS, key, velocity, start, start + 0.1);
        };
        hit(RIDE, at, 90);
        hit(KICK, at, 45);
        if beat % 2 == 1 {
            hit(PEDAL, at, 85);
            hit(RIDE, at + 2.0 / 3.0, 75);
        }
        if rng.f64() < 0.25 {
            hit(SNARE, at + 2.0 / 3.0, rng.u8(50..100));
        }
        if rng.f64() < 0.15 {
            hit(KICK, at + 2.0 / 3.0, 95);
        }
    }
    render(events, folder, font)
}

fn on_program(program: u8) -> Timed {
    let program = MidiMessage::ProgramChange {
        program: u7::new(program),
    };
    Timed(0.0, 0, program)
}

fn strike(events: &mut Vec<Timed>, channel: u8, key: u8, velocity: u8, start: f64, end: f64) {
    let (key, vel) = (u7::new(key), u7::new(velocity));
    events.push(Timed(start, channel, MidiMessage::NoteOn { key, vel }));
    let vel = u7::new(0);
    events.push(Timed(end, channel, MidiMessage::NoteOff { key, vel }));
}

fn render(mut events: Vec<Timed>, folder: &Path, font: &str) -> Vec<f32> {
    events.sort_by(|a, b| a.0.total_cmp(&b.0));
    let tempo = MetaMessage::Tempo(u24::new(1_000_000));
    let mut track = vec![TrackEvent {
        delta: u28::new(0),
        kind: TrackEventKind::Meta(tempo),
    }];
    let mut before = 0;
    for Timed(seconds, channel, message) in events {
        let ticks = ticks(seconds);
        track.push(TrackEvent {
            delta: u28::new(ticks - before),
            kind: TrackEventKind::Midi {
                channel: u4::new(channel),
                message,
            },
        });
        before = ticks;
    }
    track.push(TrackEvent {
        delta: u28::new(0),
        kind: TrackEventKind::Meta(MetaMessage::EndOfTrack),
    });
    let timing = Timing::Metrical(u15::new(TICKS_PER_SECOND));
    let mut smf = Smf::new(Header::new(Format::SingleTrack, timing));
    smf.tracks.push(track);
    let (midi, wav) = (folder.join("line.mid"), folder.join("line.wav"));
    smf.save(&midi).expect("a file that can be written");
    // There is no reverb, because a bass on a side-chain is a direct signal.
    let done = Command::new("fluidsynth")
        .args(["-n", "-i", "-q", "-R", "0", "-C", "0", "-g", "0.6"])
        .args(["-o", "synth.dynamic-sample-loading=1"])
        .args(["-r", &RATE_HZ.to_string(), "-O", "float", "-T", "wav"])
        .arg("-F")
        .args([&wav])
        .arg(font)
        .arg(&midi)
        .output()
        .expect("fluidsynth (Debian package fluidsynth)");
    assert!(done.status.success(), "fluidsynth: {done:?}");
    mono(&wav)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "lines last minutes"
)]
fn ticks(seconds: f64) -> u32 {
    (seconds * f64::from(TICKS_PER_SECOND)).round() as u32
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "minutes of samples"
)]
fn samples(seconds: f64) -> usize {
    (seconds * f64::from(RATE_HZ)).round() as usize
}

/// The mean of both channels.
fn mono(wav: &Path) -> Vec<f32> {
    let mut reader = hound::WavReader::open(wav).expect("what fluidsynth wrote");
    let samples: Vec<f32> = reader.samples::<f32>().map(|s| s.expect("whole")).collect();
    samples
        .chunks_exact(2)
        .map(|pair| 0.5 * (pair[0] + pair[1]))
        .collect()
}
