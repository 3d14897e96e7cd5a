//! Writes events as a Standard MIDI File of format 1: a conductor track and one track for each
//! channel in use. The golden performances are written with it. It is kept apart from the writer of
//! `guidehand-exchange` on purpose and shares nothing with it. That one writes scores: it orders
//! events, cuts notes that overlap and limits velocities. A record of what the plugin plays must
//! not correct the plugin. Imports events and sessions.

use crate::event::{Event, TimedEvent};
use crate::session::Session;
use crate::transport::Signature;
use guidehand_theory::chart::TICKS_PER_QUARTER;
use midly::live::LiveEvent;
use midly::num::{u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent};
use midly::{TrackEventKind, num::u4};
use std::collections::BTreeMap;
use std::error::Error;
use std::path::Path;
use std::{fmt, io};

/// Ticks in a quarter note.
#[expect(clippy::cast_possible_truncation, reason = "it fits a header")]
pub const TICKS_PER_BEAT: u16 = TICKS_PER_QUARTER as u16;

/// The contents of a MIDI file, with positions in quarter notes.
#[derive(Debug, Clone, PartialEq)]
pub struct MidiFile {
    /// Quarter notes a minute, from about 3.6.
    pub tempo_bpm: f64,
    /// The time signature; the denominator is a power of two.
    pub signature: Signature,
    /// Where the tracks end, in quarter notes; later events extend them.
    pub length_beats: f64,
    /// Markers: words at a position in quarter notes, from 0.
    pub markers: Vec<(f64, String)>,
    /// Events at a position in quarter notes, from 0. Events at the same place
    /// are written in the order given.
    pub events: Vec<(f64, Event)>,
}

impl MidiFile {
    /// The events of a session or a performance, in the session's own tempo and
    /// signature.
    #[must_use]
    pub fn of(session: &Session, events: &[TimedEvent]) -> Self {
        Self {
            tempo_bpm: session.tempo_bpm,
            signature: session.signature,
            length_beats: session.beats_at(session.length_samples),
            markers: Vec::new(),
            events: events
                .iter()
                .map(|timed| (session.beats_at(timed.at_samples), timed.event))
                .collect(),
        }
    }
}

/// Why a file cannot be written.
#[derive(Debug)]
pub enum MidiFileError {
    /// A MIDI file has no such event. Leave it out of the score.
    NoMidi(Event),
    /// A position is negative, not a number, or too late for a MIDI file.
    Position(f64),
    /// The tempo does not fit into a MIDI file.
    Tempo(f64),
    /// The signature does not fit into a MIDI file.
    Signature(Signature),
    /// The file could not be written.
    Io(io::Error),
}

impl fmt::Display for MidiFileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoMidi(event) => write!(f, "a MIDI file cannot hold {event:?}"),
            Self::Position(beats) => write!(f, "a MIDI file has no position {beats}"),
            Self::Tempo(bpm) => write!(f, "a MIDI file cannot hold the tempo {bpm}"),
            Self::Signature(signature) => write!(f, "a MIDI file cannot hold {signature:?}"),
            Self::Io(error) => write!(f, "cannot write the MIDI file: {error}"),
        }
    }
}

impl Error for MidiFileError {}

impl From<io::Error> for MidiFileError {
    fn from(error: io::Error) -> Self {
        Self::Io(error)
    }
}

/// Writes a MIDI file.
///
/// # Errors
/// [`MidiFileError`]; nothing is written unless everything fits.
pub fn write(path: &Path, score: &MidiFile) -> Result<(), MidiFileError> {
    Ok(std::fs::write(path, bytes(score)?)?)
}

/// The bytes of a MIDI file.
///
/// # Errors
/// [`MidiFileError`] if a part of the contents does not fit.
pub fn bytes(score: &MidiFile) -> Result<Vec<u8>, MidiFileError> {
    let end = ticks(score.length_beats)?;
    let mut smf = Smf::new(Header::new(
        Format::Parallel,
        Timing::Metrical(u15::new(TICKS_PER_BEAT)),
    ));
    smf.tracks.push(track(conductor(score)?, end)?);
    for events in channels(score)?.into_values() {
        smf.tracks.push(track(events, end)?);
    }
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes)?;
    Ok(bytes)
}

/// Events with their position in ticks.
type TimedMessages<'a> = Vec<(u32, TrackEventKind<'a>)>;

fn conductor(score: &MidiFile) -> Result<TimedMessages<'_>, MidiFileError> {
    let mut events = vec![
        (0, TrackEventKind::Meta(tempo(score.tempo_bpm)?)),
        (0, TrackEventKind::Meta(signature(score.signature)?)),
    ];
    for (beats, words) in &score.markers {
        let marker = MetaMessage::Marker(words.as_bytes());
        events.push((ticks(*beats)?, TrackEventKind::Meta(marker)));
    }
    Ok(events)
}

fn channels(score: &MidiFile) -> Result<BTreeMap<u4, TimedMessages<'_>>, MidiFileError> {
    let mut tracks: BTreeMap<u4, TimedMessages<'_>> = BTreeMap::new();
    for (beats, event) in &score.events {
        let (channel, message) = message(*event).ok_or(MidiFileError::NoMidi(*event))?;
        let kind = TrackEventKind::Midi { channel, message };
        tracks
            .entry(channel)
            .or_default()
            .push((ticks(*beats)?, kind));
    }
    Ok(tracks)
}

fn message(event: Event) -> Option<(u4, MidiMessage)> {
    let bytes = event.to_midi()?;
    // Program changes and channel pressure have a single data byte.
    let length = if matches!(bytes[0] & 0xf0, 0xc0 | 0xd0) {
        2
    } else {
        3
    };
    match LiveEvent::parse(&bytes[..length]).ok()? {
        LiveEvent::Midi { channel, message } => Some((channel, message)),
        _ => None,
    }
}

/// Sorts by position, turns positions into distances, and ends the track.
fn track(mut events: TimedMessages<'_>, end: u32) -> Result<Track<'_>, MidiFileError> {
    events.sort_by_key(|(at_ticks, _)| *at_ticks);
    let end = events.last().map_or(end, |(last, _)| end.max(*last));
    events.push((end, TrackEventKind::Meta(MetaMessage::EndOfTrack)));
    let mut before = 0;
    events
        .into_iter()
        .map(|(at_ticks, kind)| {
            let delta = u28::try_from(at_ticks - before)
                .ok_or_else(|| MidiFileError::Position(beats(at_ticks)))?;
            before = at_ticks;
            Ok(TrackEvent { delta, kind })
        })
        .collect()
}

fn tempo(bpm: f64) -> Result<MetaMessage<'static>, MidiFileError> {
    whole(60_000_000.0 / bpm)
        .filter(|microseconds| *microseconds > 0)
        .and_then(u24::try_from)
        .map(MetaMessage::Tempo)
        .ok_or(MidiFileError::Tempo(bpm))
}

fn signature(signature: Signature) -> Result<MetaMessage<'static>, MidiFileError> {
    let fail = || MidiFileError::Signature(signature);
    let numerator = u8::try_from(signature.numerator).map_err(|_| fail())?;
    let denominator = u8::try_from(signature.denominator).map_err(|_| fail())?;
    if numerator == 0 || !denominator.is_power_of_two() || denominator > 64 {
        return Err(fail());
    }
    // The metronome clicks on each beat; there are 24 clocks in a quarter note,
    // and 8 32nds, in every file.
    let clocks = (96 / denominator).max(1);
    let power = denominator.ilog2().try_into().map_err(|_| fail())?;
    Ok(MetaMessage::TimeSignature(numerator, power, clocks, 8))
}

fn ticks(beats: f64) -> Result<u32, MidiFileError> {
    whole(beats * f64::from(TICKS_PER_BEAT)).ok_or(MidiFileError::Position(beats))
}

fn beats(ticks: u32) -> f64 {
    f64::from(ticks) / f64::from(TICKS_PER_BEAT)
}

/// The nearest whole number, if there is one from 0.
fn whole(number: f64) -> Option<u32> {
    let rounded = number.round();
    if !(0.0..=f64::from(u32::MAX)).contains(&rounded) {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the range is checked above"
    )]
    let whole = rounded as u32;
    Some(whole)
}
