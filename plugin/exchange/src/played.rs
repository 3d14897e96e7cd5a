//! A line that was played: its highest notes, and where they are meant to stand. Imports the theory.

use guidehand_theory::chart::TICKS_PER_QUARTER;
use guidehand_theory::melody::MelodyNote;
use std::collections::{BTreeMap, BTreeSet};

/// A quarter note, or less at the end of a bar: notes in it are moved together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beat {
    /// Where it starts.
    pub start_ticks: u32,
    /// Where its off-beat eighth is played, in quarter notes: 0.5, or later where it swings.
    pub off_beat: f64,
}

impl Beat {
    /// The straight quarter note at a tick, where quarters count from 0.
    #[must_use]
    pub const fn straight_at(ticks: u32) -> Beat {
        Beat {
            start_ticks: ticks / TICKS_PER_QUARTER * TICKS_PER_QUARTER,
            off_beat: 0.5,
        }
    }

    fn swings(&self) -> bool {
        self.off_beat > 0.5 && self.off_beat < 1.0
    }

    /// The eighth that is near to a place of the beat: on the beat, off it, or on the next one.
    fn eighth(&self, into_ticks: u32) -> Option<u32> {
        let off_beat = ticks_of(self.off_beat);
        let eighths = [
            (0, 0),
            (off_beat, TICKS_PER_QUARTER / 2),
            (TICKS_PER_QUARTER, TICKS_PER_QUARTER),
        ];
        let near = |played: u32| played.abs_diff(into_ticks) < NEAR_EIGHTH;
        let found = eighths.into_iter().find(|(played, _)| near(*played));
        found.map(|(_, written)| written)
    }

    /// A place of the beat without its swing.
    fn straightened(&self, into_ticks: u32) -> u32 {
        if !self.swings() {
            return into_ticks;
        }
        let into = f64::from(into_ticks) / f64::from(TICKS_PER_QUARTER);
        ticks_of(if into < self.off_beat {
            into * 0.5 / self.off_beat
        } else {
            0.5 + (into - self.off_beat) * 0.5 / (1.0 - self.off_beat)
        })
    }
}

/// Quarter notes in ticks.
fn ticks_of(quarters: f64) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "saturates, and is not negative"
    )]
    {
        (quarters * f64::from(TICKS_PER_QUARTER)).round() as u32
    }
}

const SIXTEENTH: u32 = TICKS_PER_QUARTER / 4;
const OF_TRIPLET: u32 = TICKS_PER_QUARTER / 3;

/// A note that is less far from a swung eighth is one.
const NEAR_EIGHTH: u32 = SIXTEENTH / 2;

/// What the notes of a beat are nearest to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Grid {
    Sixteenths,
    Triplets,
    /// Swung eighths. What is not near to one goes to a swung sixteenth.
    SwungEighths,
    SwungSixteenths,
}

impl Grid {
    /// The nearest place to a tick of a beat.
    fn place(self, beat: &Beat, ticks: u32) -> u32 {
        let into = ticks.saturating_sub(beat.start_ticks);
        let swung = || rounded(beat.straightened(into), SIXTEENTH);
        let place = match self {
            Grid::Sixteenths => rounded(into, SIXTEENTH),
            Grid::Triplets => rounded(into, OF_TRIPLET),
            Grid::SwungEighths => beat.eighth(into).unwrap_or_else(swung),
            Grid::SwungSixteenths => swung(),
        };
        beat.start_ticks.saturating_add(place)
    }

    /// How many notes of a beat have a place of their own.
    fn apart(self, beat: &Beat, starts: &[u32]) -> usize {
        let places = starts.iter().map(|ticks| self.place(beat, *ticks));
        places.collect::<BTreeSet<u32>>().len()
    }

    /// The grid of a beat whose notes start at these ticks.
    ///
    /// Where it swings, notes that are near to the beat and to its off-beat are swung eighths. Other
    /// notes are triplets or straight sixteenths there too, as players have them, unless notes only
    /// stay apart as swung sixteenths (common practice, no published source).
    fn of(beat: &Beat, starts: &[u32]) -> Grid {
        let off = |grid: Grid| -> u32 {
            let off = |ticks: &u32| grid.place(beat, *ticks).abs_diff(*ticks);
            starts.iter().map(off).sum()
        };
        let straight = if off(Grid::Triplets) < off(Grid::Sixteenths) {
            Grid::Triplets
        } else {
            Grid::Sixteenths
        };
        if !beat.swings() {
            return straight;
        }
        let apart = |grid: Grid| grid.apart(beat, starts);
        let is_eighth = |ticks: &u32| {
            let into = ticks.saturating_sub(beat.start_ticks);
            beat.eighth(into).is_some()
        };
        let eighths = starts.iter().all(is_eighth);
        if eighths && apart(Grid::SwungEighths) >= apart(straight) {
            Grid::SwungEighths
        } else if apart(Grid::SwungSixteenths) > apart(straight) {
            Grid::SwungSixteenths
        } else {
            straight
        }
    }
}

const fn rounded(ticks: u32, step: u32) -> u32 {
    ticks.saturating_add(step / 2) / step * step
}

/// Notes where they are meant to stand, and how far the start of one was moved at most, in ticks.
/// Every note begins and ends on a sixteenth, or on an eighth of a triplet where the notes of its beat
/// are nearer to that. Where a beat swings, swung eighths become plain ones. `beat_at` tells the beat at
/// a tick.
#[must_use]
pub fn as_meant(notes: &[MelodyNote], beat_at: impl Fn(u32) -> Beat) -> (Vec<MelodyNote>, u32) {
    let mut beats: BTreeMap<u32, (Beat, Vec<u32>)> = BTreeMap::new();
    for note in notes {
        let beat = beat_at(note.start_ticks);
        let (_, starts) = beats.entry(beat.start_ticks).or_insert((beat, Vec::new()));
        starts.push(note.start_ticks);
    }
    let grids: BTreeMap<u32, (Beat, Grid)> = beats
        .into_iter()
        .map(|(start, (beat, starts))| (start, (beat, Grid::of(&beat, &starts))))
        .collect();
    let nearest = |ticks: u32| {
        let beat = beat_at(ticks);
        let (beat, grid) = grids
            .get(&beat.start_ticks)
            .copied()
            .unwrap_or_else(|| (beat, Grid::of(&beat, &[])));
        grid.place(&beat, ticks)
    };
    let mut furthest = 0;
    let moved = notes.iter().map(|note| {
        let (start, end) = (nearest(note.start_ticks), nearest(note.end_ticks()));
        furthest = furthest.max(start.abs_diff(note.start_ticks));
        MelodyNote {
            start_ticks: start,
            length_ticks: end.saturating_sub(start).max(SIXTEENTH),
            ..*note
        }
    });
    (moved.collect(), furthest)
}

/// The highest line of notes that are in the order of their starts: without those that sound only
/// while a higher one does.
#[must_use]
pub fn highest(notes: &[MelodyNote]) -> Vec<MelodyNote> {
    let mut above: Vec<&MelodyNote> = Vec::new();
    let mut line = Vec::new();
    for note in notes {
        above.retain(|other| other.end_ticks() > note.start_ticks);
        let is_below = above
            .iter()
            .any(|other| other.note > note.note && other.end_ticks() >= note.end_ticks());
        if !is_below {
            line.push(*note);
        }
        above.push(note);
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::pitch::MidiNote;

    /// Starts and ends of notes that are played at these ticks, where the off-beat lies so.
    fn meant(off_beat: f64, played: &[(u32, u32)]) -> Vec<(u32, u32)> {
        let note = |(start, end): &(u32, u32)| MelodyNote {
            note: MidiNote::clamp(72),
            name: None,
            start_ticks: *start,
            length_ticks: end - start,
        };
        let notes: Vec<MelodyNote> = played.iter().map(note).collect();
        let beat_at = |ticks| Beat {
            off_beat,
            ..Beat::straight_at(ticks)
        };
        let (notes, _) = as_meant(&notes, beat_at);
        let ends = notes
            .iter()
            .map(|note| (note.start_ticks, note.end_ticks()));
        ends.collect()
    }

    const STARTS: [u32; 7] = [0, 480, 960, 1440, 1920, 2400, 2880];

    /// Pairs of eighths, legato, are plain eighths at every swing that can be set, also where the
    /// player is early, late, or straighter or harder than the chart.
    #[test]
    fn swung_eighths_are_plain_ones() {
        for off_beat in [0.5, 0.54, 0.58, 0.62, 2.0 / 3.0, 0.7, 0.75] {
            for player in [off_beat - 0.04, off_beat, off_beat + 0.04] {
                for late in [0, 40] {
                    let at = |eighth: u32| {
                        let beat = f64::from(eighth / 2);
                        let into = if eighth % 2 == 1 { player } else { 0.0 };
                        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                        let ticks = ((beat + into) * 960.0).round() as u32;
                        ticks + late
                    };
                    let played: Vec<_> = (0..7).map(|n| (at(n), at(n + 1) - 10)).collect();
                    let expected: Vec<_> = STARTS.map(|start| (start, start + 480)).into();
                    assert_eq!(
                        meant(off_beat, &played),
                        expected,
                        "{off_beat} {player} {late}"
                    );
                }
            }
        }
    }

    /// Triplets and sixteenths are what they are where the chart swings.
    #[test]
    fn triplets_and_sixteenths_are_played_as_they_are_written() {
        let starts = |off_beat, played: &[u32]| -> Vec<u32> {
            let notes: Vec<_> = played.iter().map(|at| (*at, at + 100)).collect();
            let meant = meant(off_beat, &notes);
            meant.into_iter().map(|(start, _)| start).collect()
        };
        for off_beat in [0.5, 0.6, 2.0 / 3.0, 0.72] {
            let triplet = starts(off_beat, &[10, 315, 650, 960]);
            assert_eq!(triplet, [0, 320, 640, 960], "{off_beat}");
            let sixteenths = starts(off_beat, &[0, 235, 470, 725]);
            assert_eq!(sixteenths, [0, 240, 480, 720], "{off_beat}");
        }
        // An eighth and two sixteenths, swung: no other grid keeps the last two apart.
        assert_eq!(starts(2.0 / 3.0, &[0, 640, 800]), [0, 480, 720]);
        // Where nothing swings, an off-beat two thirds into the beat is one of a triplet.
        assert_eq!(starts(0.5, &[0, 640]), [0, 640]);
    }

    /// A bar may end within a beat. Nothing is moved beyond it.
    #[test]
    fn a_short_beat_ends_with_its_bar() {
        for length in [240, 480, 720] {
            let beat = Beat::straight_at(0);
            for (first, second) in (0..length).flat_map(|a| [(a, a), (a, length - 1)]) {
                let grid = Grid::of(&beat, &[first, second]);
                for ticks in [first, second] {
                    assert!(
                        grid.place(&beat, ticks) <= length,
                        "{length} {first} {second}"
                    );
                }
            }
        }
    }
}
