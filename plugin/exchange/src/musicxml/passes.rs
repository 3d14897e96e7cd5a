//! Whether a bar that is played several times looks the same each time. Imports `staff`, `score` and
//! `sheet`.

use super::staff;
use crate::score::Note;
use crate::sheet::Sheet;
use guidehand_theory::chart::Chart;
use guidehand_theory::pitch::MidiNote;
use std::collections::BTreeMap;

/// What sounds of a note in a bar: its start and its end in ticks from the start of the bar, which
/// may lie outside of it, and its key.
type Sounding = (i64, i64, MidiNote);

/// Whether all bars that stand once on the page look alike each time that they are played. Each
/// stave has its own notes.
pub fn are_alike(chart: &Chart, staves: &[Vec<Note>]) -> bool {
    let page = Sheet::played(chart).bars;
    staves.iter().all(|notes| {
        // Times that differ by less than the page shows are alike.
        let grids = staff::grids(&page, notes.iter());
        let line = staff::on_grid(notes, &page, &grids);
        stave_is_alike(chart, line.notes())
    })
}

fn stave_is_alike(chart: &Chart, notes: &[Note]) -> bool {
    let mut in_bars: Vec<Vec<Sounding>> = vec![Vec::new(); chart.bars.len()];
    for note in notes {
        let after = |at: u32| chart.bars.partition_point(|bar| bar.start_ticks <= at);
        let first = after(note.start_ticks).saturating_sub(1);
        let bars = first..after(note.end_ticks() - 1);
        let sounding = in_bars.get_mut(bars.clone()).unwrap_or_default();
        let bars = chart.bars.get(bars).unwrap_or_default();
        for (bar, sounding) in bars.iter().zip(sounding) {
            let from = |at: u32| i64::from(at) - i64::from(bar.start_ticks);
            let end = i64::from(bar.meter.bar_ticks());
            let ends = from(note.end_ticks()).min(end + 1);
            sounding.push((from(note.start_ticks).max(-1), ends, note.note));
        }
    }
    // A sign for two bars is one written bar, so the bars count from the first one.
    let mut shown: BTreeMap<(usize, usize), &[Sounding]> = BTreeMap::new();
    let mut before = None;
    let mut nth = 0;
    in_bars
        .iter_mut()
        .for_each(|sounding| sounding.sort_unstable());
    for (bar, sounding) in chart.bars.iter().zip(&in_bars) {
        let two = chart.written.get(bar.written).is_some_and(|w| w.two_bars);
        nth = if two && before == Some(bar.written) {
            1 - nth
        } else {
            0
        };
        before = Some(bar.written);
        let first = shown.entry((bar.written, nth)).or_insert(sounding);
        if *first != sounding.as_slice() {
            return false;
        }
    }
    true
}
