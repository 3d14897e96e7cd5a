//! A line of a score as it is played over the chart: a melody. Imports `line`, `found` and the
//! theory.

use super::line::{Left, LineBar, LineNote};
use crate::found::Misses;
use guidehand_theory::chart::Chart;
use guidehand_theory::melody::{MOST_NOTES, Melody, MelodyNote};

/// Where the bars of a chart stand in the score.
pub struct Places<'a> {
    /// The measure of each bar as it is written.
    pub measures: &'a [usize],
    /// The number that is printed over it.
    pub numbers: &'a [String],
}

/// The melody, and what is left out of it, told once for each measure.
pub fn play(chart: &Chart, places: &Places, mut bars: Vec<LineBar>, misses: &mut Misses) -> Melody {
    let mut singer = Singer::default();
    let mut told = vec![false; bars.len()];
    for bar in &chart.bars {
        let measure = places.measures.get(bar.written).copied();
        let Some((measure, line)) = measure.and_then(|m| Some((m, bars.get_mut(m)?))) else {
            continue;
        };
        let ticks = bar.meter.bar_ticks();
        if let Some(told @ false) = told.get_mut(measure) {
            *told = true;
            let count = line.notes.len();
            line.notes.retain(|note| note.start_ticks < ticks);
            if let Some(outside @ 1..) = count.checked_sub(line.notes.len()) {
                line.left.insert(Left::Outside, (line.at, outside));
            }
            let number = places.numbers.get(bar.written).map_or("", String::as_str);
            for (what, (at, count)) in &line.left {
                misses.tell(number, "note", Some(*at), what.words(*count));
            }
        }
        for note in &line.notes {
            singer.sing(note, bar.start_ticks, ticks);
        }
    }
    if singer.notes.len() > MOST_NOTES {
        let words = format!("it has more than {MOST_NOTES} notes; the others are left out");
        misses.tell("", "melody", None, words);
    }
    Melody::new(singer.notes)
}

/// The notes so far.
#[derive(Default)]
struct Singer {
    notes: Vec<MelodyNote>,
    /// Whether a tie leads on from the last one.
    ties_on: bool,
}

impl Singer {
    /// Adds a note of a bar, or goes on with the one that is tied to it.
    fn sing(&mut self, note: &LineNote, bar_start: u32, bar_ticks: u32) {
        let start_ticks = bar_start + note.start_ticks;
        let length_ticks = note.length_ticks.min(bar_ticks - note.start_ticks);
        let is_tied = note.is_tied && self.ties_on;
        self.ties_on = note.ties_on;
        if let Some(last) = self.notes.last_mut()
            && is_tied
            && last.note == note.note
            && last.end_ticks() == start_ticks
        {
            last.length_ticks += length_ticks;
            return;
        }
        self.notes.push(MelodyNote {
            note: note.note,
            name: Some(note.name),
            start_ticks,
            length_ticks,
        });
    }
}
