//! The melody of a MIDI file: which track it is, and where its notes are meant to stand. Imports
//! `open`, `performance`, `found`, `line_choice`, `melodies`, `played` and `sheet`.

use super::open::SEQUENTIAL;
use super::performance::{self, Performance, PerformanceError, PlayedNote};
use crate::found::{ImportError, Misses};
use crate::line_choice;
use crate::melodies::{FoundMelody, Line, straight};
use crate::played::{self, Beat};
use crate::sheet::{Place, SheetBar};
use guidehand_theory::chart::TICKS_PER_QUARTER;
use guidehand_theory::melody::{Melody, MelodyNote};
use guidehand_theory::pitch::MidiNote;
use std::collections::{BTreeMap, BTreeSet};

/// A melody, and which of the tracks with notes it is.
pub struct Sung {
    /// The melody.
    pub found: FoundMelody,
    /// Its place among the tracks that have notes, where it is a track of its own.
    pub track: Option<usize>,
    /// What was done, each in one sentence.
    pub remarks: Vec<String>,
}

/// Finds the melody of a file whose quarter note has so many ticks. A file without notes has none,
/// which is told.
///
/// # Errors
/// No track has this name.
pub fn find(
    bytes: &[u8],
    quarter: u64,
    name: Option<&str>,
    misses: &mut Misses,
) -> Result<Option<Sung>, ImportError> {
    let performance = match performance::read(bytes) {
        Ok(performance) => performance,
        Err(PerformanceError::NoNotes) => {
            let words = ImportError::NoMelody.to_string();
            misses.tell("", "melody", None, words);
            return Ok(None);
        }
        Err(PerformanceError::TooLarge) => return Err(ImportError::TooLarge),
        Err(error) => return Err(ImportError::Midi(error.to_string())),
    };
    let mut lines = lines(&performance);
    let (chosen, remark) = line_choice::choose(&mut lines, name)?;
    // The reader of the chords tells of such a file.
    let others = performance.remarks.iter().filter(|r| *r != SEQUENTIAL);
    let mut remarks: Vec<String> = remark.into_iter().chain(others.cloned()).collect();
    let notes = performance.notes.iter().filter(|note| note.part == chosen);
    let notes: Vec<MelodyNote> = notes.map(of_melody).collect();
    let melody = on_time(played::highest(&notes), quarter, &mut remarks);
    if let Some(left @ 1..) = notes.len().checked_sub(melody.notes().len()) {
        let words = format!("notes below the highest line are left out: {left}");
        misses.tell("", "melody", None, words);
    }
    let is_track = performance.parts.len() > 1;
    let is_track = is_track && performance.parts.iter().all(|part| part.channel.is_none());
    Ok(Some(Sung {
        found: FoundMelody { melody, lines },
        track: is_track.then_some(chosen),
        remarks,
    }))
}

/// The tracks or channels with notes. No two have the same name.
fn lines(performance: &Performance) -> Vec<Line> {
    let mut taken = BTreeSet::new();
    let mut lines: Vec<Line> = Vec::new();
    for (part, number) in performance.parts.iter().zip(1..) {
        let own = match part.channel {
            Some(channel) if performance.parts.len() > 1 => format!("Channel {channel}"),
            _ if part.name.is_empty() => format!("Track {number}"),
            _ => part.name.clone(),
        };
        let names = (1..).map(|again: usize| match again {
            1 => own.clone(),
            again => format!("{own} ({again})"),
        });
        let mut names = names.filter(|name| taken.insert(name.to_lowercase()));
        lines.push(Line {
            name: names.next().unwrap_or_default(),
            ..Line::default()
        });
    }
    let mut tops: BTreeMap<(usize, u32), MidiNote> = BTreeMap::new();
    // From the highest, so that every other one of a tick lies below.
    let mut notes: Vec<&PlayedNote> = performance.notes.iter().collect();
    notes.sort_by_key(|note| std::cmp::Reverse(note.note));
    for note in notes {
        let Some(line) = lines.get_mut(note.part) else {
            continue;
        };
        line.notes += 1;
        line.keys += u64::from(note.note.number());
        let above = tops.insert((note.part, note.start_ticks), note.note);
        line.below += usize::from(above.is_some());
    }
    lines
}

const fn of_melody(note: &PlayedNote) -> MelodyNote {
    MelodyNote {
        note: note.note,
        name: None,
        start_ticks: note.start_ticks,
        length_ticks: note.released_ticks - note.start_ticks,
    }
}

/// A file whose quarter note is a multiple of this holds sixty-fourths and triplets exactly.
const EXACT: u64 = 48;

/// The melody with its notes where they are meant to be. Where most notes begin on the grid of the
/// note values, the file was written: those that are off by the rounding of the file alone are put
/// there, and the others keep their ticks. Otherwise it was played, and every note begins and ends
/// on a sixteenth, or on an eighth of a triplet where the notes of its beat are nearer to that.
fn on_time(mut notes: Vec<MelodyNote>, quarter: u64, remarks: &mut Vec<String>) -> Melody {
    let is_exact = quarter.is_multiple_of(EXACT);
    let place = |ticks: u32| straight(ticks).filter(|place| !is_exact || *place == ticks);
    let written = notes.iter().filter(|n| place(n.start_ticks).is_some());
    let (written, all) = (written.count(), notes.len());
    if written * 4 >= all * 3 {
        for note in &mut notes {
            let ends = [note.start_ticks, note.end_ticks()];
            let [start, end] = ends.map(|ticks| place(ticks).unwrap_or(ticks));
            note.start_ticks = start;
            note.length_ticks = end.saturating_sub(start);
        }
        if written < all {
            remarks.push(format!(
                "Notes of the melody that stand between the note values keep their ticks: {}.",
                all - written
            ));
        }
        return Melody::new(notes);
    }
    let (notes, furthest) = played::as_meant(&notes, Beat::straight_at);
    remarks.push(format!(
        "The melody was played freely: its notes are moved to the nearest sixteenth or triplet, by \
         {furthest} of {TICKS_PER_QUARTER} ticks of a quarter note at most."
    ));
    Melody::new(notes)
}

/// The bars of a file, silent.
pub fn silent(bars: &mut [SheetBar]) {
    for (index, bar) in bars.iter_mut().enumerate() {
        bar.places.clear();
        if index == 0 {
            bar.places.push(Place {
                at_ticks: 0,
                chord: None,
            });
        }
    }
}
