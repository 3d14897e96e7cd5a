//! Which written chord each change of a chart plays, and which time that is. Imports `bars`.

use super::bars::Chart;
use std::collections::HashMap;

/// A written chord, one of the times that it is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChordPass {
    /// Its place among the chords of the text, from 0. Slashes, percent signs and silence do not
    /// count.
    pub index: usize,
    /// Which time this is that it is played, from 1. Repeats, jumps and percent signs play a chord
    /// again.
    pub pass: u16,
    /// How often the chart plays it in all.
    pub passes: u16,
}

impl Chart {
    /// What each change plays; none where it is silent.
    #[must_use]
    pub fn passes(&self) -> Vec<Option<ChordPass>> {
        let sounding = self.changes.iter().filter(|change| change.chord.is_some());
        let mut places: Vec<usize> = sounding.map(|change| change.source.start).collect();
        places.sort_unstable();
        places.dedup();
        let mut played: HashMap<usize, u16> = HashMap::new();
        let mut passes: Vec<Option<ChordPass>> = Vec::with_capacity(self.changes.len());
        for change in &self.changes {
            let index = places.binary_search(&change.source.start).ok();
            let index = index.filter(|_| change.chord.is_some());
            passes.push(index.map(|index| {
                let pass = played.entry(index).or_default();
                *pass = pass.saturating_add(1);
                ChordPass {
                    index,
                    pass: *pass,
                    passes: 0,
                }
            }));
        }
        for one in passes.iter_mut().flatten() {
            one.passes = played.get(&one.index).copied().unwrap_or(1);
        }
        passes
    }
}
