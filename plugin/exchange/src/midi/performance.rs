//! Reads what is played in a Standard MIDI File: each note with its key and its pedal, in ticks and in
//! seconds. Imports `open` and the theory.

use super::open::{self, DRUMS, MOST_EVENTS, MOST_TRACKS};
use crate::found::LARGEST_FILE;
use guidehand_theory::chart::{MOST_BARS, Meter, TICKS_PER_QUARTER};
use guidehand_theory::pitch::MidiNote;
use midly::{EventIter, MetaMessage, MidiMessage, TrackEventKind};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// A controller from here on is on (MIDI 1.0, MMA: 0 to 63 off, 64 to 127 on).
const ON: u8 = 64;
/// The sustain pedal.
const SUSTAIN: u8 = 64;
/// All sound off, and all notes off.
const ALL_OFF: [u8; 2] = [120, 123];
/// The microseconds of a quarter note where a file does not say (Standard MIDI Files 1.0).
const USUAL_QUARTER_US: u32 = 500_000;
/// The longest name of a track that is kept, in bytes.
const LONGEST_NAME: usize = 64;

/// What is played in a file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Performance {
    /// The notes in the order in which they begin, those that begin together from the lowest.
    /// Drums are left out.
    pub notes: Vec<PlayedNote>,
    /// Who plays: the tracks that have notes, in the order of the file. If there is only one, its
    /// channels.
    pub parts: Vec<PlayedPart>,
    /// The time signatures with their ticks. Empty if the file has none.
    pub meters: Vec<(u32, Meter)>,
    /// What is to be told of the file, each in one sentence.
    pub remarks: Vec<String>,
}

/// A note that is played.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlayedNote {
    /// Its part, as an index into [`Performance::parts`].
    pub part: usize,
    /// The key.
    pub note: MidiNote,
    /// When it is struck, in ticks from the start of the file.
    pub start_ticks: u32,
    /// When the key rises, in ticks from the start of the file.
    pub released_ticks: u32,
    /// When it ceases to sound: when the key has risen and the pedal too, or when the key is struck
    /// again.
    pub end_ticks: u32,
    /// When it is struck, in seconds from the start of the file.
    pub start_s: f64,
}

/// A track that has notes, or a channel of the only one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlayedPart {
    /// The name of its track; may be empty.
    pub name: String,
    /// The channel, 1 to 16, if it is a channel.
    pub channel: Option<u8>,
    /// How many notes it has.
    pub notes: usize,
}

/// Why nothing was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PerformanceError {
    /// The file is no MIDI file.
    Unknown,
    /// The file holds too much: bytes, tracks, events or time.
    TooLarge,
    /// The file is broken, or counts in seconds.
    Unreadable(String),
    /// Nothing is played in it, or drums alone.
    NoNotes,
}

impl fmt::Display for PerformanceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PerformanceError::Unknown => f.write_str("expected a MIDI file (.mid)"),
            PerformanceError::TooLarge => write!(
                f,
                "the file is larger than a performance can be; expected at most {} MiB, \
                 {MOST_TRACKS} tracks and {MOST_EVENTS} events",
                LARGEST_FILE >> 20
            ),
            PerformanceError::Unreadable(words) => {
                write!(f, "the MIDI file cannot be read: {words}")
            }
            PerformanceError::NoNotes => {
                f.write_str("nothing is played in the file; expected notes, drums aside")
            }
        }
    }
}

impl std::error::Error for PerformanceError {}

/// Reads a file.
///
/// # Errors
/// A file that is none, is broken or too large, counts in seconds, or has no notes.
pub fn read(bytes: &[u8]) -> Result<Performance, PerformanceError> {
    if bytes.len() > LARGEST_FILE {
        return Err(PerformanceError::TooLarge);
    }
    if !bytes.starts_with(b"MThd") && !bytes.starts_with(b"RIFF") {
        return Err(PerformanceError::Unknown);
    }
    let opened = open::open(bytes).map_err(PerformanceError::Unreadable)?;
    let mut file = File {
        quarter: opened.quarter,
        ..File::default()
    };
    if opened.is_sequential {
        file.remarks.push(open::SEQUENTIAL.to_owned());
    }
    for (number, track) in opened.tracks.enumerate() {
        if number == MOST_TRACKS {
            return Err(PerformanceError::TooLarge);
        }
        let unreadable = |error: midly::Error| PerformanceError::Unreadable(error.to_string());
        file.track(number, track.map_err(unreadable)?)?;
    }
    file.finish()
}

impl Performance {
    /// The tick at which a bar of the file begins, counted from 1. Until a time signature stands in
    /// the file, its bars have the given one. None if there is no such bar.
    #[must_use]
    pub fn bar_start(&self, bar: usize, meter: Meter) -> Option<u32> {
        let wanted = (1..=MOST_BARS).contains(&bar).then(|| bar - 1)?;
        let (mut bars, mut start, mut meter) = (0, 0_u32, meter);
        for (at, next) in &self.meters {
            let here = at.saturating_sub(start).div_ceil(meter.bar_ticks());
            let here = usize::try_from(here).ok()?;
            if bars + here > wanted {
                break;
            }
            // A bar that a new time signature cuts short is a bar.
            (bars, start, meter) = (bars + here, *at, *next);
        }
        let more = u32::try_from(wanted - bars).ok()?;
        start.checked_add(more.checked_mul(meter.bar_ticks())?)
    }
}

/// The contents of a file.
#[derive(Default)]
struct File {
    /// The file's ticks in a quarter note.
    quarter: u64,
    events: usize,
    /// The notes; until the end the part of each is its track.
    notes: Vec<PlayedNote>,
    /// The channel of each note.
    channels: Vec<u8>,
    /// The names of the tracks that have notes, by number.
    tracks: BTreeMap<usize, String>,
    meters: BTreeMap<u32, Meter>,
    /// The microseconds of a quarter note, by tick.
    tempi: BTreeMap<u32, u32>,
    /// Whether the pedal is down, by channel and tick.
    pedals: BTreeMap<(u8, u32), bool>,
    /// How many notes have no end.
    endless: usize,
    remarks: Vec<String>,
}

/// The keys of a track that are down, by channel and key, with the ticks at which they were struck.
type Down = BTreeMap<(u8, u8), u32>;

impl File {
    fn track(&mut self, number: usize, events: EventIter) -> Result<(), PerformanceError> {
        let (mut now, mut at) = (0_u64, 0_u32);
        let mut down = Down::new();
        let mut name = String::new();
        let before = self.notes.len();
        let mut is_whole = false;
        for event in events {
            let Ok(event) = event else { break };
            self.events += 1;
            if self.events > MOST_EVENTS {
                return Err(PerformanceError::TooLarge);
            }
            now += u64::from(event.delta.as_int());
            at = self.grid(now)?;
            match event.kind {
                TrackEventKind::Meta(MetaMessage::EndOfTrack) => is_whole = true,
                TrackEventKind::Meta(MetaMessage::TrackName(bytes)) => {
                    let bytes = bytes.get(..LONGEST_NAME).unwrap_or(bytes);
                    String::from_utf8_lossy(bytes).trim().clone_into(&mut name);
                }
                TrackEventKind::Meta(MetaMessage::Tempo(us)) => {
                    self.tempi.insert(at, us.as_int());
                }
                TrackEventKind::Meta(MetaMessage::TimeSignature(beats, power, ..)) => {
                    let unit = 1_u8.checked_shl(u32::from(power)).unwrap_or(0);
                    if let Some(meter) = Meter::new(beats, unit) {
                        self.meters.insert(at, meter);
                    }
                }
                TrackEventKind::Midi { channel, message } if channel != DRUMS => {
                    self.message(number, at, channel.as_int(), message, &mut down);
                }
                _ => {}
            }
        }
        // midly 0.5.3 ends a track without a word where it cannot read on.
        if !is_whole {
            let words = format!(
                "track {} breaks off; what comes after is left out",
                number + 1
            );
            self.remarks.push(words);
        }
        self.endless += down.len();
        for ((channel, key), start) in down {
            self.note(number, channel, key, start, at);
        }
        if self.notes.len() > before {
            self.tracks.insert(number, name);
        }
        Ok(())
    }

    /// A tick of the file on the grid of the charts, the nearest one.
    fn grid(&self, ticks: u64) -> Result<u32, PerformanceError> {
        let scaled = ticks.saturating_mul(u64::from(TICKS_PER_QUARTER));
        let nearest = scaled.saturating_add(self.quarter / 2) / self.quarter.max(1);
        u32::try_from(nearest).map_err(|_| PerformanceError::TooLarge)
    }

    fn message(
        &mut self,
        track: usize,
        at: u32,
        channel: u8,
        message: MidiMessage,
        down: &mut Down,
    ) {
        match message {
            MidiMessage::NoteOn { key, vel } if vel > 0 => {
                let key = key.as_int();
                // A key that is struck again has risen, and one that is struck twice at once is struck
                // once.
                if let Some(start) = down.insert((channel, key), at)
                    && start < at
                {
                    self.note(track, channel, key, start, at);
                }
            }
            MidiMessage::NoteOn { key, .. } | MidiMessage::NoteOff { key, .. } => {
                let key = key.as_int();
                if let Some(start) = down.remove(&(channel, key)) {
                    self.note(track, channel, key, start, at);
                }
            }
            MidiMessage::Controller { controller, value } if controller == SUSTAIN => {
                self.pedals.insert((channel, at), value >= ON);
            }
            MidiMessage::Controller { controller, .. }
                if ALL_OFF.contains(&controller.as_int()) =>
            {
                let of_channel = (channel, 0)..=(channel, u8::MAX);
                let keys: Vec<_> = down.range(of_channel).map(|(k, s)| (*k, *s)).collect();
                for ((channel, key), start) in keys {
                    down.remove(&(channel, key));
                    self.note(track, channel, key, start, at);
                }
            }
            _ => {}
        }
    }

    fn note(&mut self, track: usize, channel: u8, key: u8, start_ticks: u32, released_ticks: u32) {
        self.channels.push(channel);
        self.notes.push(PlayedNote {
            part: track,
            note: MidiNote::clamp(i32::from(key)),
            start_ticks,
            released_ticks,
            end_ticks: released_ticks,
            start_s: 0.0,
        });
    }

    fn finish(mut self) -> Result<Performance, PerformanceError> {
        if self.notes.is_empty() {
            return Err(PerformanceError::NoNotes);
        }
        if self.endless > 0 {
            let words = format!(
                "notes without an end last as long as their tracks: {}",
                self.endless
            );
            self.remarks.push(words);
        }
        self.sustain();
        let parts = self.parts();
        let tempi = Tempi::new(&self.tempi);
        for note in &mut self.notes {
            note.start_s = tempi.seconds(note.start_ticks);
        }
        self.notes.sort_by_key(|note| (note.start_ticks, note.note));
        Ok(Performance {
            notes: self.notes,
            parts,
            meters: self.meters.into_iter().collect(),
            remarks: self.remarks,
        })
    }

    /// The parts, each note put into its own.
    fn parts(&mut self) -> Vec<PlayedPart> {
        let only = self.tracks.len() < 2;
        let of = |track: usize, channel: u8| if only { usize::from(channel) } else { track };
        let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
        for (channel, note) in self.channels.iter().zip(&mut self.notes) {
            note.part = of(note.part, *channel);
            *counts.entry(note.part).or_default() += 1;
        }
        let places: BTreeMap<usize, usize> = counts.keys().copied().zip(0..).collect();
        for note in &mut self.notes {
            note.part = places.get(&note.part).copied().unwrap_or(0);
        }
        let first = self.tracks.values().next();
        let parts = counts.into_iter().map(|(key, notes)| PlayedPart {
            name: if only { first } else { self.tracks.get(&key) }
                .cloned()
                .unwrap_or_default(),
            channel: u8::try_from(key + 1).ok().filter(|_| only),
            notes,
        });
        parts.collect()
    }

    /// Lets the pedal hold notes until it rises, or until their key is struck again.
    fn sustain(&mut self) {
        let struck: BTreeSet<(u8, MidiNote, u32)> = (self.channels.iter().zip(&self.notes))
            .map(|(channel, note)| (*channel, note.note, note.start_ticks))
            .collect();
        let last = self.notes.iter().map(|note| note.released_ticks).max();
        let up = self.pedals.iter().filter(|(_, down)| !**down);
        let up: BTreeSet<(u8, u32)> = up.map(|(at, _)| *at).collect();
        for (channel, note) in self.channels.iter().zip(&mut self.notes) {
            let released = note.released_ticks;
            let until = (*channel, 0)..=(*channel, released);
            let down = self.pedals.range(until).next_back();
            if down.is_none_or(|(_, down)| !*down) {
                continue;
            }
            let key = note.note;
            let again = struck.range((*channel, key, note.start_ticks + 1)..).next();
            let again = again.filter(|(c, k, _)| (*c, *k) == (*channel, key));
            let mut later = up.range((*channel, released)..=(*channel, u32::MAX));
            let rises = later.next().map(|(_, at)| *at).or(last);
            let ends = [rises, again.map(|(_, _, at)| *at)].into_iter().flatten();
            note.end_ticks = ends.min().unwrap_or(released).max(released);
        }
    }
}

/// The tempi of a file.
struct Tempi {
    /// Ticks, the seconds until there, and the microseconds of a quarter note from there on.
    changes: Vec<(u32, f64, u32)>,
}

impl Tempi {
    fn new(tempi: &BTreeMap<u32, u32>) -> Tempi {
        let mut read = Tempi {
            changes: vec![(0, 0.0, USUAL_QUARTER_US)],
        };
        for (at, us) in tempi {
            let seconds = read.seconds(*at);
            read.changes.push((*at, seconds, *us));
        }
        read
    }

    fn seconds(&self, ticks: u32) -> f64 {
        let begun = self.changes.partition_point(|(at, ..)| *at <= ticks);
        let last = begun.checked_sub(1).and_then(|last| self.changes.get(last));
        last.map_or(0.0, |(at, seconds, us)| {
            let quarters = f64::from(ticks - at) / f64::from(TICKS_PER_QUARTER);
            seconds + quarters * f64::from(*us) / 1e6
        })
    }
}

#[cfg(test)]
mod tests;
