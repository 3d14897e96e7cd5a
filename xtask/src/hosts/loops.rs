//! The VST3 bundle in Ardour, which plays a loop of a chart without its window and records it, in
//! blocks of several sizes. The notes must be those that our own host gets. Imports `ardour` and
//! `build`; only `hosts` imports it. Linux only.

use std::fmt;
use std::fs::{self, File};
use std::path::Path;

use anyhow::{Context, Result, bail, ensure};
use guidehand_tests::paths::PLUGIN_ID;
use guidehand_tests::{Host, Session, TransportChange, notes, render, state};
use midly::{MidiMessage, Smf, Timing, TrackEventKind};

use super::ardour::Ardour;
use crate::build::{self, Bundles};

/// What Ardour runs.
const SCRIPT: &str = include_str!("loops.lua");

/// A chart with a chord of its own in the bar after the loop.
const CHART: &str = "| Dm7 | G7 | Cmaj7 | A7 | Em7 A7 | Fmaj7 | Fm7 Bb7 | Cmaj7 |\
    | Ebmaj7 | Abmaj7 | Dbmaj7 | G7 |";
const PRESET: &str = "Loop";
const RATE_HZ: f64 = 48_000.0;
/// No multiple of a block takes a quarter note.
const TEMPO_BPM: f64 = 130.0;
/// Bars 5 to 8, in quarter notes.
const LOOP_BEATS: (f64, f64) = (16.0, 32.0);
const TURNS: u32 = 3;
const BLOCKS: [u32; 4] = [64, 256, 480, 1024];
/// Places of notes are compared in these.
const TICKS_PER_BEAT: f64 = 480.0;
/// A tenth of a second: every chord of the chart sounds longer.
const SHORTEST_TICKS: i64 = 104;

/// A note, in ticks from the start of the first turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Note {
    start_ticks: i64,
    length_ticks: i64,
    channel: i16,
    key: i16,
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        #[expect(clippy::cast_precision_loss, reason = "a place in a short song")]
        let [start, length] = [self.start_ticks, self.length_ticks].map(|t| t as f64);
        write!(
            f,
            "key {} on channel {} at quarter note {:.3}, {:.1} ms long",
            self.key,
            self.channel + 1,
            start / TICKS_PER_BEAT,
            length / TICKS_PER_BEAT * 60_000.0 / TEMPO_BPM,
        )
    }
}

/// Ardour, and where its sessions and logs go.
struct Recorder<'a> {
    ardour: &'a Ardour<'a>,
    folder: &'a Path,
}

/// Plays loops in blocks of several sizes, with the bundle of this class. Sessions and logs go into a
/// folder of their own in `folder`.
pub fn run(ardour: &Ardour, class: &str, bundles: &Bundles, folder: &Path) -> Result<()> {
    let folder = &folder.join("ardour");
    let recorder = Recorder { ardour, folder };
    let state = state_of(&bundles.clap)?;
    recorder.save_preset(class, &state)?;
    let ours = ours(&bundles.clap, &state)?;
    build::remove(folder)?;
    fs::create_dir_all(folder)?;
    let script = folder.join("loops.lua");
    fs::write(&script, SCRIPT)?;
    let mut differ = Vec::new();
    for frames in BLOCKS {
        let theirs = recorder.recorded(&script, frames)?;
        let difference = difference(&ours, &theirs);
        if difference.is_empty() {
            let count = ours.len();
            println!("Ardour loops in blocks of {frames}: {count} notes as in our host");
        } else {
            differ.push(format!("blocks of {frames}:\n{}", difference.join("\n")));
        }
    }
    ensure!(
        differ.is_empty(),
        "Ardour's loops are not those of our host, in\n{}",
        differ.join("\n")
    );
    Ok(())
}

impl Recorder<'_> {
    /// Writes the state as a preset where Ardour looks for them. The layout is that of
    /// `public.sdk/source/vst/vstpresetfile.h` in the VST3 SDK: a header with the place of the list,
    /// the data, and the list of chunks.
    fn save_preset(&self, class: &str, state: &[u8]) -> Result<()> {
        const HEADER_BYTES: usize = 48;
        let data = state::json_of(state);
        let length = i64::try_from(data.len())?;
        let data_at = i64::try_from(HEADER_BYTES)?;
        let list_at = data_at + length;
        let mut preset = Vec::new();
        preset.extend(b"VST3");
        preset.extend(1_i32.to_le_bytes());
        preset.extend(class.as_bytes());
        preset.extend(list_at.to_le_bytes());
        ensure!(preset.len() == HEADER_BYTES, "a class of 32 signs: {class}");
        preset.extend(data);
        preset.extend(b"List");
        preset.extend(1_i32.to_le_bytes());
        preset.extend(b"Comp");
        preset.extend(data_at.to_le_bytes());
        preset.extend(length.to_le_bytes());
        let folder = self.ardour.home.join(".vst3/presets/Guidehand/Guidehand");
        fs::create_dir_all(&folder)?;
        fs::write(folder.join(PRESET).with_extension("vstpreset"), preset)?;
        Ok(())
    }

    /// What Ardour records of the loop, in blocks of this size.
    fn recorded(&self, script: &Path, frames: u32) -> Result<Vec<Note>> {
        let (from, to) = LOOP_BEATS;
        let session = self.folder.join(format!("loop-{frames}"));
        let path = session.with_extension("log");
        let log = File::create(&path)?;
        let status = self
            .ardour
            .program("luasession")
            .arg(script)
            .arg(&session)
            .args(["Guidehand", PRESET, &frames.to_string()])
            .args([TEMPO_BPM, from, to].map(|number| number.to_string()))
            .arg(TURNS.to_string())
            .stdout(log.try_clone()?)
            .stderr(log)
            .status()?;
        let said = fs::read_to_string(path)?;
        ensure!(
            status.success() && said.contains("samples recorded"),
            "Ardour recorded nothing: {status}\n{said}"
        );
        let folder = session.join("interchange/loop-").display().to_string();
        let folder = format!("{folder}{frames}/midifiles");
        let mut files = fs::read_dir(&folder).with_context(|| format!("no {folder}"))?;
        let (Some(file), None) = (files.next(), files.next()) else {
            bail!("one recorded file in {folder}, and there are none or more");
        };
        let turns = ticks(f64::from(TURNS) * (to - from));
        let mut notes = notes_in(&fs::read(file?.path())?)?;
        notes.retain(|note| note.start_ticks < turns);
        Ok(notes)
    }
}

/// A state with the chart, as the CLAP host saves it.
fn state_of(clap: &Path) -> Result<Vec<u8>> {
    let mut host = Host::open(clap, PLUGIN_ID)?;
    Ok(state::with_chart(&host.save_state()?, CHART))
}

/// What our own host gets from the same chart in the same loop.
fn ours(clap: &Path, state: &[u8]) -> Result<Vec<Note>> {
    let (from, to) = LOOP_BEATS;
    let mut session = Session::new(RATE_HZ, TEMPO_BPM, 0);
    let end = session.samples_at(f64::from(TURNS) * (to - from));
    session.length_samples = end + 1;
    for turn in 0..TURNS {
        let at = session.samples_at(f64::from(turn) * (to - from));
        session.change(at, TransportChange::Jump { to_beats: from });
    }
    session.change(end, TransportChange::Stop);
    let mut host = Host::open(clap, PLUGIN_ID)?;
    host.load_state(state)?;
    let performance = render(&mut host, &session)?;
    let pairs = notes::note_pairs(&performance.events)?;
    let note = |note: &notes::PlayedNote| {
        let ticks = |samples| ticks(session.beats_at(samples));
        Note {
            start_ticks: ticks(note.start_samples),
            length_ticks: ticks(note.end_samples) - ticks(note.start_samples),
            channel: note.channel,
            key: note.key,
        }
    };
    let ours: Vec<Note> = pairs.iter().map(note).collect();
    let short = ours.iter().find(|note| note.length_ticks < SHORTEST_TICKS);
    ensure!(short.is_none(), "our host gets a note too short: {short:?}");
    ensure!(ours.len() > 40, "our host gets {} notes only", ours.len());
    Ok(ours)
}

/// A place in ticks.
fn ticks(beats: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "a place in a short song")]
    let ticks = (beats * TICKS_PER_BEAT).round() as i64;
    ticks
}

/// The notes in a MIDI file; one that does not end is an error.
fn notes_in(file: &[u8]) -> Result<Vec<Note>> {
    let smf = Smf::parse(file)?;
    let Timing::Metrical(per_beat) = smf.header.timing else {
        bail!("a file in beats");
    };
    let mut notes = Vec::new();
    for track in smf.tracks {
        let (mut at, mut sounding) = (0, Vec::new());
        for event in track {
            at += event.delta.as_int();
            let TrackEventKind::Midi { channel, message } = event.kind else {
                continue;
            };
            let channel = i16::from(channel.as_int());
            let here = ticks(f64::from(at) / f64::from(per_beat.as_int()));
            match message {
                MidiMessage::NoteOn { key, vel } if vel > 0 => {
                    sounding.push((here, channel, i16::from(key.as_int())));
                }
                MidiMessage::NoteOn { key, .. } | MidiMessage::NoteOff { key, .. } => {
                    let key = i16::from(key.as_int());
                    let is_it = |note: &(i64, i16, i16)| (note.1, note.2) == (channel, key);
                    let first = sounding.iter().position(is_it);
                    let first = first.with_context(|| format!("{key} ends and has not begun"))?;
                    let (start_ticks, ..) = sounding.remove(first);
                    notes.push(Note {
                        start_ticks,
                        length_ticks: here - start_ticks,
                        channel,
                        key,
                    });
                }
                _ => {}
            }
        }
        ensure!(sounding.is_empty(), "notes that never end: {sounding:?}");
    }
    Ok(notes)
}

/// What one list has and the other has not, in words.
fn difference(ours: &[Note], theirs: &[Note]) -> Vec<String> {
    let (mut missing, mut too_much) = (Vec::new(), theirs.to_vec());
    for note in ours {
        match too_much.iter().position(|other| other == note) {
            Some(at) => _ = too_much.remove(at),
            None => missing.push(*note),
        }
    }
    let missing = missing.iter().map(|note| format!("  missing: {note}"));
    let too_much = too_much.iter().map(|note| format!("  too much: {note}"));
    missing.chain(too_much).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn note(start_ticks: i64, length_ticks: i64, key: i16) -> Note {
        Note {
            start_ticks,
            length_ticks,
            channel: 0,
            key,
        }
    }

    #[test]
    fn a_note_too_much_and_one_that_is_missing_are_told() {
        let ours = [note(0, 480, 60), note(480, 480, 62)];
        assert!(difference(&ours, &ours).is_empty());
        let theirs = [note(0, 480, 60), note(480, 0, 63)];
        let told = [
            "  missing: key 62 on channel 1 at quarter note 1.000, 461.5 ms long",
            "  too much: key 63 on channel 1 at quarter note 1.000, 0.0 ms long",
        ];
        assert_eq!(difference(&ours, &theirs), told);
    }

    #[test]
    fn notes_come_from_a_midi_file_with_their_lengths() {
        let header = b"MThd\0\0\0\x06\0\0\0\x01\x4b\x00";
        let on = [0, 0x90, 60, 88];
        // 19200 ticks, a quarter note.
        let off = [0x81, 0x96, 0, 0x80, 60, 64];
        let end = [0, 0xff, 0x2f, 0];
        let file = |events: &[u8]| {
            let length = u32::try_from(events.len()).unwrap().to_be_bytes();
            [&header[..], b"MTrk", &length, events].concat()
        };
        let whole = notes_in(&file(&[&on[..], &off, &end].concat())).unwrap();
        assert_eq!(whole, [note(0, 480, 60)]);
        let hangs = notes_in(&file(&[&on[..], &end].concat()));
        assert!(hangs.unwrap_err().to_string().contains("never end"));
    }
}
