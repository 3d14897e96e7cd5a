//! Which notes of a melody the chord under them must agree with. Imports `line`, and `chart`.

use super::line::{Melody, MelodyNote};
use crate::chart::{Chart, Meter};
use std::ops::Range;

impl Melody {
    /// The notes that matter to a chord that sounds within these ticks, in their order.
    ///
    /// A note matters if it sounds when the chord is struck, if it sounds over the chord for a beat
    /// or longer, or if it begins on a strong beat: the first of a bar, and the one that halves a
    /// bar of four beats or more. There the ear takes a note for harmony. A shorter note elsewhere
    /// passes: it goes by before its half step against a chord tone is heard as a clash, and
    /// players do not change a chord for it (common practice, no published source). A beat of 6/8,
    /// 9/8 and 12/8 is a dotted quarter.
    pub fn that_matter<'a>(
        &'a self,
        chart: &'a Chart,
        chord: Range<u32>,
    ) -> impl Iterator<Item = &'a MelodyNote> + use<'a> {
        let notes = self.within(&chord).iter();
        notes.filter(move |note| matters(note, chart, &chord))
    }

    /// The notes that matter to the chords of the chart, each once.
    pub fn without_passing(&self, chart: &Chart) -> Melody {
        let mut notes: Vec<MelodyNote> = Vec::new();
        for change in &chart.changes {
            let ticks = change.start_ticks..change.start_ticks + change.length_ticks;
            for note in self.that_matter(chart, ticks) {
                if notes.last() != Some(note) {
                    notes.push(*note);
                }
            }
        }
        Melody::new(notes)
    }
}

fn matters(note: &MelodyNote, chart: &Chart, chord: &Range<u32>) -> bool {
    let struck = note.ticks().contains(&chord.start);
    let from = note.start_ticks.max(chord.start);
    let until = note.end_ticks().min(chord.end);
    let Some(bar) = chart.bars.get(chart.bar_at(from)) else {
        return struck;
    };
    let long = until.saturating_sub(from) >= felt_beat(bar.meter);
    let place = note.start_ticks.saturating_sub(bar.start_ticks);
    let strong = chord.contains(&note.start_ticks) && is_strong(bar.meter, place);
    struck || long || strong
}

/// The ticks of a beat as players feel it, which is dotted in 6/8, 9/8 and 12/8.
const fn felt_beat(meter: Meter) -> u32 {
    if meter.is_compound() {
        meter.beat_ticks() * 3
    } else {
        meter.beat_ticks()
    }
}

/// Whether a strong beat begins so many ticks after the start of a bar.
fn is_strong(meter: Meter, ticks: u32) -> bool {
    let beats = meter.bar_ticks() / felt_beat(meter);
    let halves = beats >= 4 && meter.shares(2).nth(1) == Some(ticks);
    ticks == 0 || halves
}
