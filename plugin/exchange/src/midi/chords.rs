//! Finds chords in notes: what sounds in each beat, joined where it continues, and read by the
//! theory in its context. Imports `found` and `sheet`.

use crate::found::{Heard, ImportError, Misses};
use crate::sheet::{Place, SheetBar};
use guidehand_theory::chart::MOST_CHANGES;
use guidehand_theory::chord::Chord;
use guidehand_theory::key::{self, Key, Mode};
use guidehand_theory::pitch::{MidiNote, PitchClass};
use guidehand_theory::read::{self, Context, Reading};
use guidehand_theory::symbol::{Sign, Symbol};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// The bass lies below this note (C3).
const BASS_BELOW: MidiNote = MidiNote::clamp(48);

/// A note as it was played.
#[derive(Clone, Copy, Debug)]
pub struct Played {
    /// The track, from 0.
    pub track: usize,
    /// Ticks from the start.
    pub start_ticks: u32,
    /// Ticks from the start; later than the note's start.
    pub end_ticks: u32,
    /// The key.
    pub note: MidiNote,
}

/// A stretch in which one chord sounds.
#[derive(Debug)]
struct Stretch {
    /// The bar, as an index.
    bar: usize,
    at_ticks: u32,
    /// The notes above the bass.
    notes: BTreeSet<MidiNote>,
    /// The first bass note.
    bass: Option<MidiNote>,
}

impl Stretch {
    fn all(&self) -> Vec<MidiNote> {
        self.bass
            .into_iter()
            .chain(self.notes.iter().copied())
            .collect()
    }
}

/// Reads the notes and puts each chord into its bar.
///
/// # Errors
/// More chords than a chart can hold.
pub fn hear(
    notes: &[Played],
    bars: &mut [SheetBar],
    misses: &mut Misses,
) -> Result<Vec<Heard>, ImportError> {
    let stretches = stretches(notes, bars);
    if stretches.len() > MOST_CHANGES {
        return Err(ImportError::TooLarge);
    }
    // First each chord is read by itself and by what came before, then in the keys that follow from
    // that.
    let first = readings(&stretches, None);
    let chords: Vec<Option<Chord>> = first.iter().map(|r| r.map(|r| r.chord)).collect();
    let functions = key::analyse(&chords, None);
    let keys: Vec<Option<Key>> = functions.iter().map(|f| f.map(|f| f.key)).collect();
    let second = readings(&stretches, Some((&chords, &keys)));
    let mut heard = Vec::new();
    let mut before = None;
    for (stretch, reading) in stretches.iter().zip(second) {
        let Some(reading) = reading else {
            let names: Vec<String> = stretch.all().iter().map(|n| spelled(*n)).collect();
            let words = format!("{} make no chord that has a name", names.join(" "));
            misses.tell(&(stretch.bar + 1).to_string(), "notes", None, words);
            continue;
        };
        let chord = over_bass(reading.chord, stretch.bass);
        if before.replace(chord) == Some(chord) {
            continue;
        }
        if let Some(bar) = bars.get_mut(stretch.bar) {
            bar.places.push(Place {
                at_ticks: stretch.at_ticks,
                chord: Some(chord),
            });
        }
        heard.push(Heard {
            bar: stretch.bar + 1,
            at_ticks: stretch.at_ticks,
            symbol: Symbol(&chord, Sign::Ascii).to_string(),
            confidence: reading.confidence,
            reason: reading.reason,
        });
    }
    Ok(heard)
}

type Around<'a> = (&'a [Option<Chord>], &'a [Option<Key>]);

fn readings(stretches: &[Stretch], around: Option<Around>) -> Vec<Option<Reading>> {
    let mut before = None;
    let each = stretches.iter().enumerate().map(|(index, stretch)| {
        let context = Context {
            key: around.and_then(|(_, keys)| keys.get(index).copied().flatten()),
            before,
            after: around.and_then(|(chords, _)| chords.get(index + 1).copied().flatten()),
            charted: None,
            bass: stretch.bass.map(MidiNote::class),
        };
        let best = |notes: &[MidiNote]| read::read(notes, &context).first().copied();
        let all = stretch.all();
        // A note that does not fit may be a melody over the chord.
        let without_top = || all.split_last().and_then(|(_, rest)| best(rest));
        let reading = best(&all).or_else(without_top);
        before = reading.map(|r| r.chord).or(before);
        reading
    });
    each.collect()
}

/// The chord over the bass, if the bass is not its root.
fn over_bass(mut chord: Chord, bass: Option<MidiNote>) -> Chord {
    let bass = bass
        .map(MidiNote::class)
        .filter(|class| *class != chord.root.class());
    chord.bass = bass.map(|class: PitchClass| {
        let degree = chord
            .degrees()
            .iter()
            .find(|d| d.class(chord.root) == class);
        let everyday = || Key::usual(class, Mode::Major).tonic;
        degree.map_or_else(everyday, |d| d.over(chord.root))
    });
    chord
}

fn spelled(note: MidiNote) -> String {
    Key::usual(note.class(), Mode::Major)
        .tonic
        .at(note)
        .to_string()
}

/// The last note of each key.
#[derive(Clone, Copy)]
struct Last {
    start: u32,
    end: u32,
    bass: bool,
}

impl Last {
    /// The beat that a note belongs to: the beat in which it begins. A note that begins in the
    /// second half of a beat and sounds into the next beat belongs to the next one, played early.
    fn of(played: &Played, beat: &Range<u32>, in_bass: bool) -> Last {
        let sixteenth = (beat.end - beat.start) / 16;
        let late = beat.start + 7 * sixteenth;
        let early = played.start_ticks >= late && played.end_ticks > beat.end + sixteenth;
        Last {
            start: if early { beat.end } else { played.start_ticks },
            end: played.end_ticks,
            bass: in_bass || played.note < BASS_BELOW,
        }
    }

    /// Whether a tenth of the beat sounds, or the whole of a shorter note.
    fn sounds(&self, beat: &Range<u32>) -> bool {
        let until = self.end.min(beat.end);
        let overlap = until.saturating_sub(self.start.max(beat.start));
        let whole = self.start >= beat.start && self.end <= beat.end;
        overlap > 0 && (whole || overlap * 10 >= beat.end - beat.start)
    }
}

fn stretches(notes: &[Played], bars: &[SheetBar]) -> Vec<Stretch> {
    let bass_tracks = bass_tracks(notes);
    let mut notes: Vec<Played> = notes.to_vec();
    notes.sort_by_key(|note| note.start_ticks);
    let mut coming = notes.iter().peekable();
    let mut keys: BTreeMap<MidiNote, Last> = BTreeMap::new();
    let mut stretches = Vec::new();
    for (index, bar) in bars.iter().enumerate() {
        let ticks = bar.meter.beat_ticks();
        for nth in 0..u32::from(bar.meter.beats) {
            let from = bar.start_ticks + nth * ticks;
            let beat = from..from + ticks;
            while let Some(note) = coming.next_if(|n| n.start_ticks < beat.end) {
                let in_bass = bass_tracks.contains(&note.track);
                keys.insert(note.note, Last::of(note, &beat, in_bass));
            }
            keys.retain(|_, last| last.end > from);
            let sounding = || keys.iter().filter(|(_, last)| last.sounds(&beat));
            let upper = || sounding().filter(|(_, last)| !last.bass);
            let here = Stretch {
                bar: index,
                at_ticks: nth * ticks,
                notes: upper().map(|(note, _)| *note).collect(),
                bass: sounding()
                    .find(|(_, last)| last.bass)
                    .map(|(note, _)| *note),
            };
            let struck = upper().any(|(_, last)| last.start >= from);
            if !here.notes.is_empty() {
                go_on(&mut stretches, here, nth == 0 && struck);
            }
        }
    }
    stretches
}

/// Adds a beat to the stretch before it, or begins a new stretch: at a bar that begins with a note,
/// or where enough new notes sound together.
fn go_on(stretches: &mut Vec<Stretch>, here: Stretch, struck: bool) {
    let goes_on = match stretches.last_mut() {
        Some(last) if !struck => {
            let new = here.notes.difference(&last.notes).count();
            // A broken chord, of which only the first notes have sounded.
            let builds_up = last.notes.len() < 3 && last.notes.is_subset(&here.notes);
            let few = here.notes.len() < 3 || builds_up;
            let joins = new == 0 || (few && last.bar == here.bar);
            if joins {
                last.notes.extend(&here.notes);
                last.bass = last.bass.or(here.bass);
            }
            joins
        }
        _ => false,
    };
    if !goes_on {
        stretches.push(here);
    }
}

/// The tracks that have only one low note at a time.
fn bass_tracks(notes: &[Played]) -> BTreeSet<usize> {
    let mut tracks: BTreeMap<usize, Vec<Played>> = BTreeMap::new();
    for note in notes {
        tracks.entry(note.track).or_default().push(*note);
    }
    let low = tracks.into_iter().filter(|(_, notes)| {
        let sum: u64 = notes.iter().map(|n| u64::from(n.note.number())).sum();
        let count = u64::try_from(notes.len()).unwrap_or(u64::MAX).max(1);
        let mut by_start = notes.clone();
        by_start.sort_by_key(|n| n.start_ticks);
        let pairs = by_start.iter().zip(by_start.iter().skip(1));
        sum / count < 52
            && pairs
                .into_iter()
                .all(|(a, b)| a.end_ticks <= b.start_ticks + 60)
    });
    low.map(|(track, _)| track).collect()
}
