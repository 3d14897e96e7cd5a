//! What is played below the split passes, and is read as a chord. Imports `source` and the parts of
//! the engine.

use super::source::ChordSource;
use crate::engine::block::{Block, Timing};
use crate::engine::intent::Intent;
use crate::engine::listener::{self, PlayedChord};
use crate::engine::parts::Now;
use crate::engine::planned::PlannedChart;
use crate::engine::snapshot::{Snapshot, Yielded};
use guidehand_theory::read::Context;

/// The player's own chords.
#[derive(Debug, Default)]
pub struct PlayedSource {
    /// What the keys were last read as.
    heard: Option<PlayedChord>,
}

impl ChordSource for PlayedSource {
    fn timing(&self, _block: &Block, _song: Option<&PlannedChart>) -> Timing {
        Timing {
            counts_from_chart: true,
            ..Timing::default()
        }
    }

    /// Reads the keys that are held. A single key, or a set without a name, leaves the last reading
    /// on show.
    fn settle(&mut self, now: &Now) -> Intent {
        if !now.keys_moved() {
            return Intent::Hold;
        }
        let charted = now.context.song.and_then(|song| {
            let position = now.context.clock.after(now.time_samples)?;
            let index = song.index_at(song.within(position));
            song.changes.get(index)?.placed
        });
        let key = charted.map_or(now.settings().key, |placed| placed.function.key);
        let context = Context {
            key: Some(key),
            before: self.heard.map(|heard| heard.sounding.placed.chord),
            charted: charted.map(|placed| placed.chord),
            ..Context::default()
        };
        self.heard = listener::hear(&now.passing_below_split(), &context).or(self.heard);
        Intent::Hold
    }

    fn show(&self, snapshot: &mut Snapshot, now: &Now) {
        let heard = self.heard.map(|heard| heard.sounding);
        snapshot.sounding = heard.filter(|_| now.passing_below_split().len() > 1);
        snapshot.last = heard;
        snapshot.yielded = Yielded::default();
        snapshot.others = self
            .heard
            .map_or_else(Default::default, |heard| heard.others);
    }
}
