//! What sounds in a bar of a staff, moment by moment. Imports `rhythm`, `score` and
//! `sheet`.

use super::rhythm::Grid;
use crate::score::Note;
use crate::sheet::SheetBar;
use guidehand_theory::pitch::{MidiNote, NoteName};
use std::collections::BTreeMap;

/// The notes of a staff on the grids of the page, by their start.
pub struct Line {
    notes: Vec<Note>,
    /// The latest end of the notes up to each one, so that a bar finds its notes without a look at
    /// all that came before.
    ends: Vec<u32>,
}

impl Line {
    /// The notes.
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }

    /// The notes that sound between two ticks.
    fn heard(&self, from: u32, to: u32) -> Vec<&Note> {
        let first = self.ends.partition_point(|end| *end <= from);
        let near = self.notes.get(first..).unwrap_or_default().iter();
        let begun = near.take_while(|note| note.start_ticks < to);
        begun.filter(|note| note.end_ticks() > from).collect()
    }
}

/// A stretch of a bar in which nothing begins or ends.
#[derive(Debug)]
pub struct Moment {
    /// Ticks from the start of the bar.
    pub from: u32,
    /// Ticks from the start of the bar.
    pub to: u32,
    /// The notes that sound, from the lowest. A rest has none.
    pub notes: Vec<Sounding>,
}

/// A note in a moment.
#[derive(Clone, Copy, Debug)]
pub struct Sounding {
    /// The key.
    pub note: MidiNote,
    /// Its name.
    pub name: NoteName,
    /// Whether it began before this moment, in this bar or the one that is played before it.
    pub from_before: bool,
    /// Whether it continues in the next moment, in this bar or the next one on the page.
    pub goes_on: bool,
}

/// The grid of each bar of the page, from the places of its chords and of the notes that begin or
/// end in it.
pub fn grids<'a>(bars: &[SheetBar], notes: impl Iterator<Item = &'a Note>) -> Vec<Grid> {
    let mut ticks: Vec<u32> = notes.flat_map(|n| [n.start_ticks, n.end_ticks()]).collect();
    ticks.sort_unstable();
    ticks.dedup();
    let grids = bars.iter().map(|bar| {
        let window = bar.window();
        let from = ticks.partition_point(|t| *t < window.start);
        let inside = ticks.get(from..).unwrap_or_default().iter();
        let inside = inside
            .take_while(|t| **t < window.end)
            .map(|t| t - window.start);
        let places = bar.places.iter().map(|place| place.at_ticks);
        let points: Vec<u32> = inside.chain(places).collect();
        Grid::fit(bar.meter, &points)
    });
    grids.collect()
}

/// Notes on the grids of the page. A note that is shorter than its grid lasts until the next place
/// on it. If two notes of one key overlap, the earlier one ends. A note that begins where the page
/// shows another time is kept if it goes on into a bar of the page, as into a second ending.
pub fn on_grid(notes: &[Note], bars: &[SheetBar], grids: &[Grid]) -> Line {
    let windows: BTreeMap<u32, (&SheetBar, &Grid)> = bars
        .iter()
        .zip(grids)
        .map(|(bar, grid)| (bar.start_ticks, (bar, grid)))
        .collect();
    let window_of = |at: u32| {
        let (start, (bar, grid)) = windows.range(..=at).next_back()?;
        (at < bar.window().end).then_some((*start, *grid))
    };
    let mut placed: Vec<Note> = notes
        .iter()
        .filter(|note| note.length_ticks > 0)
        .filter_map(|note| {
            let end = note.end_ticks();
            let from = match window_of(note.start_ticks) {
                Some((start, grid)) => start + grid.snap(note.start_ticks - start),
                None => {
                    windows.range(note.start_ticks..end).next()?;
                    note.start_ticks
                }
            };
            let to = match window_of(end - 1) {
                Some((start, grid)) => start + grid.snap(end - start),
                None => end,
            };
            let to = if to > from {
                to
            } else {
                let (start, grid) = window_of(from)?;
                start + grid.next(from - start)
            };
            Some(Note {
                start_ticks: from,
                length_ticks: to - from,
                ..*note
            })
        })
        .collect();
    placed.sort_by_key(|note| (note.start_ticks, note.note));
    placed.dedup_by_key(|note| (note.start_ticks, note.note));
    let mut next: BTreeMap<MidiNote, u32> = BTreeMap::new();
    for note in placed.iter_mut().rev() {
        if let Some(next) = next.insert(note.note, note.start_ticks) {
            note.length_ticks = note.length_ticks.min(next - note.start_ticks);
        }
    }
    let ends = placed.iter().scan(0, |latest, note| {
        *latest = note.end_ticks().max(*latest);
        Some(*latest)
    });
    Line {
        ends: ends.collect(),
        notes: placed,
    }
}

/// The moments of a bar of the page. `cuts` are further places in the bar, in ticks from its start.
pub fn moments(bars: &[SheetBar], index: usize, line: &Line, cuts: &[u32]) -> Vec<Moment> {
    let Some(bar) = bars.get(index) else {
        return Vec::new();
    };
    let window = bar.window();
    let joined_after = bars
        .get(index + 1)
        .is_some_and(|b| b.start_ticks == window.end);
    let inside = line.heard(window.start, window.end);
    let mut places: Vec<u32> = cuts.to_vec();
    let bar_ticks = bar.meter.bar_ticks();
    for note in &inside {
        places.extend([note.start_ticks.saturating_sub(window.start)]);
        places.extend([(note.end_ticks() - window.start).min(bar_ticks)]);
    }
    places.extend([0, bar_ticks]);
    places.sort_unstable();
    places.dedup();
    let pairs = places.iter().zip(places.iter().skip(1));
    let moments = pairs.map(|(from, to)| {
        let (start, end) = (window.start + from, window.start + to);
        let sounding = inside
            .iter()
            .filter(|n| n.start_ticks <= start && n.end_ticks() >= end);
        let mut notes: Vec<Sounding> = sounding
            .map(|n| Sounding {
                note: n.note,
                name: n.name,
                from_before: n.start_ticks < start,
                goes_on: n.end_ticks() > end && (*to < bar_ticks || joined_after),
            })
            .collect();
        notes.sort_by_key(|sounding| sounding.note);
        Moment {
            from: *from,
            to: *to,
            notes,
        }
    });
    moments.collect()
}
