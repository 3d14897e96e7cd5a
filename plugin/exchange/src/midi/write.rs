//! Writes a score as a Standard MIDI File of format 1: a conductor's track with tempo, meters,
//! key and chord symbols, then a track for the melody and one for the voices of its block chords, if
//! there are any, one for the chords and one for the bass. Imports `score`.

use crate::score::{Note, Score, key_signature};
use guidehand_theory::chart::{Chart, Meter, TICKS_PER_QUARTER};
use guidehand_theory::key::Mode;
use guidehand_theory::symbol::{Sign, Symbol};
use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Timing, Track, TrackEvent, TrackEventKind};
use std::collections::BTreeMap;

/// Channel 1 for the chords, 2 for the bass, 3 for the melody, 4 for the voices below it.
const COMPING: u4 = u4::new(0);
const BASS: u4 = u4::new(1);
const MELODY: u4 = u4::new(2);
const BLOCKS: u4 = u4::new(3);

#[expect(clippy::cast_possible_truncation, reason = "it fits a header")]
const QUARTER: u15 = u15::new(TICKS_PER_QUARTER as u16);

/// An event with its tick and a rank, which orders events at one tick: ends come before
/// beginnings.
type Placed<'a> = (u32, u8, TrackEventKind<'a>);

/// The bytes of the file. The chart is written as it is played, with its symbols and letters as
/// markers. A tempo that a MIDI file cannot hold becomes the nearest possible tempo.
#[must_use]
pub fn write(score: &Score) -> Vec<u8> {
    let words: Vec<(u32, u8, String)> = markers(&score.chart).collect();
    let title = (!score.title.is_empty()).then_some(score.title.as_str());
    let mut conductor: Vec<Placed> = Vec::new();
    conductor.extend(title.map(|title| meta(0, 0, MetaMessage::TrackName(title.as_bytes()))));
    conductor.push(meta(0, 0, MetaMessage::Tempo(tempo(score.tempo_bpm))));
    let later = score.keys.iter().copied().filter(|(at, _)| *at > 0);
    let keys = std::iter::once((0, score.key_at(0))).chain(later);
    conductor.extend(keys.map(|(at, key)| {
        let minor = key.mode == Mode::Minor;
        meta(at, 0, MetaMessage::KeySignature(key_signature(key), minor))
    }));
    conductor.extend(meters(&score.chart).map(|(at, meter)| meta(at, 0, signature_of(meter))));
    let words = words.iter();
    conductor.extend(
        words.map(|(at, rank, text)| meta(*at, *rank, MetaMessage::Marker(text.as_bytes()))),
    );

    let end = score.chart.length_ticks();
    let mut tracks = vec![track(conductor, end)];
    for (name, channel, own) in [
        ("Melody", MELODY, &score.melody),
        ("Block chords", BLOCKS, &score.blocks),
    ] {
        if !own.is_empty() {
            tracks.push(track(notes(name, channel, own), end));
        }
    }
    tracks.push(track(notes("Chords", COMPING, &score.comping), end));
    tracks.push(track(notes("Bass", BASS, &score.bass), end));
    let header = Header::new(Format::Parallel, Timing::Metrical(QUARTER));
    let mut bytes = Vec::new();
    let written = midly::write_std(&header, tracks.iter().map(|track| track.iter()), &mut bytes);
    debug_assert!(written.is_ok(), "a vector takes every byte");
    bytes
}

const fn meta(at: u32, rank: u8, message: MetaMessage) -> Placed {
    (at, rank, TrackEventKind::Meta(message))
}

/// Letters before symbols, as on a page. Bare letters alone would name sections, so a chart with no
/// other symbols has them as `Cmaj`.
fn markers(chart: &Chart) -> impl Iterator<Item = (u32, u8, String)> {
    let bare = chart.changes.iter().all(|change| {
        let chord = change.chord.as_ref();
        chord.is_some_and(|chord| Symbol(chord, Sign::Ascii).to_string().len() == 1)
    });
    let letters = chart.bars.iter().filter_map(|bar| {
        let section = chart.written.get(bar.written)?.section?;
        Some((bar.start_ticks, 1, section.to_string()))
    });
    let symbols = chart.changes.iter().map(move |change| {
        let symbol = match &change.chord {
            Some(chord) if bare => format!("{}maj", chord.root),
            Some(chord) => Symbol(chord, Sign::Ascii).to_string(),
            None => "N.C.".to_owned(),
        };
        (change.start_ticks, 2, symbol)
    });
    letters.chain(symbols)
}

/// The meter at the start, and each change of meter.
fn meters(chart: &Chart) -> impl Iterator<Item = (u32, Meter)> {
    let mut before = None;
    chart.bars.iter().filter_map(move |bar| {
        let same = before.replace(bar.meter) == Some(bar.meter);
        (!same).then_some((bar.start_ticks, bar.meter))
    })
}

fn signature_of(meter: Meter) -> MetaMessage<'static> {
    let power = u8::try_from(meter.unit.ilog2()).unwrap_or(2);
    // The metronome clicks on each beat. Every file has 24 clocks in a quarter note, and 8
    // 32nds.
    MetaMessage::TimeSignature(meter.beats, power, 96 / meter.unit.max(1), 8)
}

fn tempo(bpm: f64) -> u24 {
    let microseconds = (60_000_000.0 / bpm)
        .round()
        .clamp(1.0, f64::from(0xff_ffff));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped above; not a number becomes 0"
    )]
    u24::new((microseconds as u32).max(1))
}

fn notes<'a>(name: &'a str, channel: u4, notes: &[Note]) -> Vec<Placed<'a>> {
    let mut events = vec![meta(0, 0, MetaMessage::TrackName(name.as_bytes()))];
    for note in without_overlaps(notes) {
        let key = u7::new(note.note.number());
        let vel = u7::new(note.velocity.clamp(1, 127));
        let off = MidiMessage::NoteOff {
            key,
            vel: u7::new(64),
        };
        let midi = |message| TrackEventKind::Midi { channel, message };
        events.push((note.start_ticks, 2, midi(MidiMessage::NoteOn { key, vel })));
        events.push((note.end_ticks(), 1, midi(off)));
    }
    events
}

/// A key cannot be struck twice without being released. If two notes overlap, the earlier one
/// ends when the later one starts.
fn without_overlaps(notes: &[Note]) -> Vec<Note> {
    let mut keys: BTreeMap<u8, Vec<Note>> = BTreeMap::new();
    for note in notes.iter().filter(|note| note.length_ticks > 0) {
        keys.entry(note.note.number()).or_default().push(*note);
    }
    let mut kept = Vec::with_capacity(notes.len());
    for mut of_key in keys.into_values() {
        of_key.sort_by_key(|note| note.start_ticks);
        let next: Vec<u32> = of_key.iter().skip(1).map(|n| n.start_ticks).collect();
        let next = next.into_iter().chain([u32::MAX]);
        kept.extend(of_key.into_iter().zip(next).filter_map(|(note, next)| {
            let length_ticks = note.length_ticks.min(next - note.start_ticks);
            (length_ticks > 0).then_some(Note {
                length_ticks,
                ..note
            })
        }));
    }
    kept
}

/// Sorts by tick, turns ticks into distances, and ends the track.
fn track(mut events: Vec<Placed>, end: u32) -> Track {
    events.sort_by_key(|(at, rank, _)| (*at, *rank));
    let end = events.last().map_or(end, |(at, ..)| end.max(*at));
    events.push((end, 3, TrackEventKind::Meta(MetaMessage::EndOfTrack)));
    let mut before = 0;
    let events = events.into_iter().map(|(at, _, kind)| {
        // Charts end long before the largest distance that a file can hold.
        let delta = u28::new((at - before).min(u28::max_value().as_int()));
        before = at;
        TrackEvent { delta, kind }
    });
    events.collect()
}
