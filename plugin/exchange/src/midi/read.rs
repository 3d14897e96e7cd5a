//! Reads a Standard MIDI File as a sheet: with chord symbols from its markers, texts or lyrics, or,
//! if there are none, with chords read from its notes. Imports `open`, `chords`, `melody`, `found` and
//! `sheet`.

use super::chords::{self, Played};
use super::melody::{self, Sung};
use super::open::{self, DRUMS, MOST_EVENTS, MOST_TRACKS};
use crate::found::{self, Heard, ImportError, Imported, Misses};
use crate::sheet::{self, Place, Sheet, SheetBar};
use guidehand_theory::chart::{self, MOST_BARS, Meter, Section, TICKS_PER_QUARTER};
use guidehand_theory::chord::Chord;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::symbol;
use midly::{EventIter, MetaMessage, MidiMessage, TrackEventKind};
use std::collections::{BTreeMap, BTreeSet};

/// The longest text that can be a symbol or a letter, in bytes.
const LONGEST_WORD: usize = 64;
/// If a file ends at most this late in a bar, the bar does not count, in ticks.
const RELEASE: u32 = 60;

/// Reads a file, with its melody if it is asked for, perhaps by its name.
///
/// # Errors
/// A file that is broken or too large, counts in seconds, or has no chords or no such melody.
pub fn read(bytes: &[u8], melody: Option<Option<&str>>) -> Result<Imported, ImportError> {
    let mut file = open(bytes)?;
    let sung = match melody {
        None => None,
        Some(name) => file.sung(bytes, name)?,
    };
    file.finish(sung, melody.flatten().is_some())
}

/// Reads the melody of a file that need not have chords. The chart of the result is silent.
///
/// # Errors
/// A file that is broken or too large, counts in seconds, or has no such melody.
pub fn melody(bytes: &[u8], name: Option<&str>) -> Result<Imported, ImportError> {
    let mut file = open(bytes)?;
    let sung = file.sung(bytes, name)?.ok_or(ImportError::NoMelody)?;
    let mut bars = file.bars()?;
    melody::silent(&mut bars);
    file.sheet(bars, Vec::new(), Some(sung), BTreeSet::new())
}

fn open(bytes: &[u8]) -> Result<File, ImportError> {
    let opened = open::open(bytes).map_err(ImportError::Midi)?;
    let mut file = File {
        quarter: opened.quarter,
        ..File::default()
    };
    if opened.is_sequential {
        let words = open::SEQUENTIAL.to_owned();
        file.misses.tell("1", "format", None, words);
    }
    for (number, track) in opened.tracks.enumerate() {
        if number == MOST_TRACKS {
            return Err(ImportError::TooLarge);
        }
        let track = track.map_err(|error| ImportError::Midi(error.to_string()))?;
        file.track(number, track)?;
    }
    file.words.sort_by_key(|word| word.at_ticks);
    Ok(file)
}

/// The kind of event that a text stands in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum TextEvent {
    Marker,
    Text,
    Lyric,
    Cue,
}

impl TextEvent {
    const fn name(self) -> &'static str {
        match self {
            TextEvent::Marker => "marker",
            TextEvent::Text => "text",
            TextEvent::Lyric => "lyric",
            TextEvent::Cue => "cue point",
        }
    }
}

/// A text and what it can be.
struct Word {
    at_ticks: u32,
    kind: TextEvent,
    text: String,
    says: Says,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Says {
    Chord(Option<Chord>),
    Section(Section),
    Nothing,
}

/// The contents of a file.
#[derive(Default)]
struct File {
    /// The file's ticks in a quarter note.
    quarter: u64,
    events: usize,
    signatures: BTreeMap<u32, Meter>,
    words: Vec<Word>,
    notes: Vec<Played>,
    end_ticks: u32,
    /// The name of the sequence.
    title: String,
    has_tempo: bool,
    misses: Misses,
}

impl File {
    fn track(&mut self, number: usize, events: EventIter) -> Result<(), ImportError> {
        let mut now = 0_u64;
        let mut sounding: BTreeMap<(u8, u8), u32> = BTreeMap::new();
        let mut is_whole = false;
        for event in events {
            let Ok(event) = event else { break };
            self.events += 1;
            if self.events > MOST_EVENTS {
                return Err(ImportError::TooLarge);
            }
            now += u64::from(event.delta.as_int());
            let at = u32::try_from(now * u64::from(TICKS_PER_QUARTER) / self.quarter)
                .map_err(|_| ImportError::TooLarge)?;
            self.end_ticks = self.end_ticks.max(at);
            match event.kind {
                TrackEventKind::Meta(MetaMessage::TrackName(name)) if number == 0 => {
                    let name = name.get(..LONGEST_WORD).unwrap_or(name);
                    String::from_utf8_lossy(name)
                        .trim()
                        .clone_into(&mut self.title);
                }
                TrackEventKind::Meta(MetaMessage::EndOfTrack) => is_whole = true,
                TrackEventKind::Meta(message) => self.meta(at, message),
                TrackEventKind::Midi { channel, message } => {
                    let channel = channel.as_int();
                    let (key, on) = match message {
                        MidiMessage::NoteOn { key, vel } => (key.as_int(), vel > 0),
                        MidiMessage::NoteOff { key, .. } => (key.as_int(), false),
                        _ => continue,
                    };
                    if channel == DRUMS {
                        continue;
                    }
                    if let Some(start) = sounding.remove(&(channel, key)) {
                        self.note(number, start, at, key);
                    }
                    if on {
                        sounding.insert((channel, key), at);
                    }
                }
                _ => {}
            }
        }
        // midly 0.5.3 ends a track without a word where it cannot read on.
        if !is_whole {
            let words = "the track breaks off; what comes after is left out".to_owned();
            self.misses
                .tell("1", &format!("track {}", number + 1), None, words);
        }
        for ((_, key), start) in sounding {
            self.note(number, start, self.end_ticks, key);
        }
        // The first track names the sequence (Standard MIDI Files 1.0, FF 03), but one with notes is
        // named after an instrument.
        if number == 0 && !self.notes.is_empty() {
            self.title.clear();
        }
        Ok(())
    }

    fn note(&mut self, track: usize, start_ticks: u32, end_ticks: u32, key: u8) {
        let note = MidiNote::clamp(i32::from(key));
        if end_ticks > start_ticks {
            self.notes.push(Played {
                track,
                start_ticks,
                end_ticks,
                note,
            });
        }
    }

    fn meta(&mut self, at: u32, message: MetaMessage) {
        let (kind, bytes) = match message {
            MetaMessage::Marker(bytes) => (TextEvent::Marker, bytes),
            MetaMessage::Text(bytes) => (TextEvent::Text, bytes),
            MetaMessage::Lyric(bytes) => (TextEvent::Lyric, bytes),
            MetaMessage::CuePoint(bytes) => (TextEvent::Cue, bytes),
            MetaMessage::TimeSignature(beats, power, ..) => {
                let unit = 1_u8.checked_shl(u32::from(power)).unwrap_or(0);
                match Meter::new(beats, unit) {
                    Some(meter) => drop(self.signatures.insert(at, meter)),
                    None => {
                        let words = "a time signature that no chart can hold is passed over";
                        self.misses
                            .tell("1", "time signature", None, words.to_owned());
                    }
                }
                return;
            }
            MetaMessage::Tempo(_) => {
                self.has_tempo = true;
                return;
            }
            _ => return,
        };
        if bytes.len() > LONGEST_WORD {
            return;
        }
        let text = String::from_utf8_lossy(bytes).trim().to_owned();
        if !text.is_empty() {
            self.words.push(Word {
                at_ticks: at,
                kind,
                says: says(&text),
                text,
            });
        }
    }

    fn sung(&mut self, bytes: &[u8], name: Option<&str>) -> Result<Option<Sung>, ImportError> {
        melody::find(bytes, self.quarter, name, &mut self.misses)
    }

    /// Takes the notes of the melody away from those that chords are read from. Returns false if no
    /// others are left.
    fn sets_apart(&mut self, sung: &Sung) -> bool {
        let tracks: BTreeSet<usize> = self.notes.iter().map(|note| note.track).collect();
        let is_all = tracks.len() == sung.found.lines.len();
        let own = sung.track.and_then(|nth| tracks.into_iter().nth(nth));
        match own.filter(|_| is_all) {
            Some(own) => self.notes.retain(|note| note.track != own),
            None => return false,
        }
        true
    }

    /// `by_name` says that the melody was asked for by its name.
    fn finish(mut self, sung: Option<Sung>, by_name: bool) -> Result<Imported, ImportError> {
        let mut sung = sung;
        let mut bars = self.bars()?;
        let mut heard = Vec::new();
        let mut passed = BTreeSet::new();
        match self.symbols() {
            Some(kind) => {
                self.place_words(kind, &mut bars);
                let others = sung.as_ref().is_none_or(|sung| sung.found.lines.len() > 1);
                passed.extend((!self.notes.is_empty() && others).then_some("notes"));
            }
            None => {
                let apart = sung.as_ref().is_some_and(|sung| self.sets_apart(sung));
                if !apart && !by_name && sung.take().is_some() {
                    let words = "the chords are read from its notes; expected a track of its own";
                    self.misses.tell("", "melody", None, words.to_owned());
                }
                heard = chords::hear(&self.notes, &mut bars, &mut self.misses)?;
                self.place_words_beside(&mut bars);
            }
        }
        if bars.iter().all(|bar| bar.places.is_empty()) {
            return Err(ImportError::NoChords);
        }
        self.sheet(bars, heard, sung, passed)
    }

    /// The bars as a chart.
    fn sheet(
        self,
        mut bars: Vec<SheetBar>,
        heard: Vec<Heard>,
        sung: Option<Sung>,
        mut passed: BTreeSet<&'static str>,
    ) -> Result<Imported, ImportError> {
        bars.iter_mut().for_each(found::straighten);
        let numbers: Vec<String> = (1..=bars.len()).map(|n| n.to_string()).collect();
        passed.extend(self.has_tempo.then_some("the tempo"));
        let title = self.title;
        let imported = found::finish(Sheet { title, bars }, &numbers, self.misses, heard)?;
        let (melody, remarks) = sung.map(|sung| (sung.found, sung.remarks)).unzip();
        let mut remarks: Vec<String> = remarks.unwrap_or_default();
        remarks.extend(found::passed_over(&passed));
        Ok(Imported {
            remarks,
            melody,
            ..imported
        })
    }

    /// The bars up to the end of the file. A bar that a new meter cuts short keeps its actual
    /// length.
    fn bars(&mut self) -> Result<Vec<SheetBar>, ImportError> {
        let begun = self
            .words
            .last()
            .map_or(0, |word| word.at_ticks.saturating_add(1 + found::HAIR));
        let end = begun.max(self.end_ticks.saturating_sub(RELEASE)).max(1);
        let mut bars = Vec::new();
        let mut meter = Meter::COMMON;
        let mut now = 0_u32;
        while now < end {
            if bars.len() == MOST_BARS {
                return Err(ImportError::TooLarge);
            }
            if let Some((_, said)) = self.signatures.range(..=now).next_back() {
                meter = *said;
            }
            let full = now.saturating_add(meter.bar_ticks());
            let cut = self.signatures.range(now + 1..full).next();
            let own = cut.map(|(at, _)| sheet::meter_of_length(at - now));
            if own == Some(None) {
                let words = "a meter that changes in a bar is taken at the next bar line";
                self.misses.tell(
                    &(bars.len() + 1).to_string(),
                    "time signature",
                    None,
                    words.to_owned(),
                );
            }
            let bar = SheetBar::empty(own.flatten().unwrap_or(meter), now);
            now = bar.window().end;
            bars.push(bar);
        }
        Ok(bars)
    }

    /// The kind of event that holds the chord symbols: the kind with the most symbols, if they are
    /// at least half of its texts, and not all of them are bare letters, which name sections.
    fn symbols(&self) -> Option<TextEvent> {
        let kinds = [
            TextEvent::Marker,
            TextEvent::Text,
            TextEvent::Lyric,
            TextEvent::Cue,
        ]
        .into_iter();
        let counted = kinds.filter_map(|kind| {
            let words = || self.words.iter().filter(|word| word.kind == kind);
            let chords = words().filter(|w| matches!(w.says, Says::Chord(_))).count();
            let others = words().filter(|w| w.says == Says::Nothing).count();
            let more = words().any(|w| matches!(w.says, Says::Chord(_)) && w.text.len() > 1);
            (chords >= others && chords > 0 && more).then_some((chords, kind))
        });
        counted
            .max_by_key(|(chords, kind)| (*chords, std::cmp::Reverse(*kind)))
            .map(|(_, kind)| kind)
    }

    fn place_words(&mut self, kind: TextEvent, bars: &mut [SheetBar]) {
        for word in &self.words {
            let Some((number, bar)) = bar_at(bars, word.at_ticks) else {
                continue;
            };
            let at_ticks = word.at_ticks.saturating_sub(bar.start_ticks);
            match word.says {
                Says::Chord(_) if word.kind != kind => {}
                Says::Chord(_) if bar.places.last().is_some_and(|p| p.at_ticks == at_ticks) => {
                    let words = format!(
                        "\"{}\" stands where another chord does, and is left out",
                        word.text
                    );
                    self.misses
                        .tell(&number.to_string(), kind.name(), None, words);
                }
                Says::Chord(chord) => bar.places.push(Place { at_ticks, chord }),
                Says::Section(section) => bar.section = Some(section),
                Says::Nothing if word.kind == kind => {
                    let words = format!("\"{}\" is not a chord", word.text);
                    self.misses
                        .tell(&number.to_string(), kind.name(), None, words);
                }
                Says::Nothing => {}
            }
        }
    }

    /// The letters of sections if the chords were read from notes. A bare letter counts too.
    fn place_words_beside(&self, bars: &mut [SheetBar]) {
        for word in self
            .words
            .iter()
            .filter(|word| word.kind == TextEvent::Marker)
        {
            let bare = || section(&format!("[{}]", word.text));
            let section = match word.says {
                Says::Section(section) => Some(section),
                _ => bare(),
            };
            if let (Some(section), Some((_, bar))) = (section, bar_at(bars, word.at_ticks)) {
                bar.section = Some(section);
            }
        }
    }
}

fn says(text: &str) -> Says {
    if let Some(section) = section(text) {
        return Says::Section(section);
    }
    if chart::is_silence(text) {
        return Says::Chord(None);
    }
    symbol::parse(text).map_or(Says::Nothing, |chord| Says::Chord(Some(chord)))
}

/// The longest name of a section with its brackets, in bytes.
const LONGEST_SECTION: usize = 20;

/// A section's name in its brackets.
fn section(text: &str) -> Option<Section> {
    if text.len() > LONGEST_SECTION || !text.starts_with('[') {
        return None;
    }
    let chart = chart::parse(&format!("{text} C")).ok()?;
    chart.written.first()?.section
}

/// The bar at a tick, or the bar that begins just after it, with its number from 1.
fn bar_at(bars: &mut [SheetBar], at: u32) -> Option<(usize, &mut SheetBar)> {
    let number = bars.partition_point(|bar| bar.start_ticks <= at.saturating_add(found::HAIR));
    Some((number, bars.get_mut(number.checked_sub(1)?)?))
}
