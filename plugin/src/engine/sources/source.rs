//! What a source of chords is asked. Imports `block`, `hand`, `intent`, `parts`, `planned`, `rhythm`,
//! `settings` and `snapshot`.

use crate::engine::block::{Block, Timing};
use crate::engine::hand::HeldKey;
use crate::engine::intent::Intent;
use crate::engine::parts::Now;
use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::Strike;
use crate::engine::settings::Settings;
use crate::engine::snapshot::Snapshot;
use guidehand_theory::under::Harmony;

/// A source of chords. It is asked in the order of time, and only while it is in force.
pub trait ChordSource {
    /// How it counts time in a block with a chart.
    fn timing(&self, block: &Block, song: Option<&PlannedChart>) -> Timing;

    /// Another source comes into force, or keys have another meaning from now on: what it knows of
    /// them is void. What sounded has been released.
    fn leave(&mut self) {}

    /// A block begins.
    fn begin_block(&mut self, _now: &Now) -> Intent {
        Intent::Hold
    }

    /// A key goes down. The source takes it, or lets it pass.
    fn key_down(&mut self, _key: HeldKey, _now: &Now) -> Intent {
        Intent::Pass
    }

    /// A key goes up that was taken when it went down.
    fn key_up(&mut self, _channel: u8, _key: u8, _now: &Now) {}

    /// All events of a sample are in: what comes of them.
    fn settle(&mut self, _now: &Now) -> Intent {
        Intent::Hold
    }

    /// When something of its own is due, in samples of the block, if it is due in this block. `now`
    /// is the start of the block.
    fn next_due(&self, _now: &Now) -> Option<u32> {
        None
    }

    /// What was due happens.
    fn act(&mut self, _now: &Now) -> Intent {
        Intent::Hold
    }

    /// Whether a strike of the rhythm that is due has to wait. If so the source brings it later.
    fn delays(&mut self, _strike: &Strike, _now: &Now) -> bool {
        false
    }

    /// Plays a strike of the rhythm.
    fn play(&mut self, _strike: &Strike, _struck: bool, _now: &Now) -> Intent {
        Intent::Release
    }

    /// The chord in force at a sample where none sounds. None where none is known.
    fn in_force(&self, _now: &Now) -> Option<Harmony> {
        None
    }

    /// Parameters have changed that are to be heard at once in what sounds. Where a rhythm runs, its
    /// place is found anew afterwards.
    fn play_anew(&mut self, _now: &Now) -> Intent {
        Intent::Hold
    }

    /// The chart is another one.
    fn forget_place(&mut self) {}

    /// Whether something has changed that the panel shows of it, since this was asked last.
    fn take_changed(&mut self) -> bool {
        false
    }

    /// Whether the panel shows a place in the chart.
    fn shows_chart(&self, _settings: &Settings) -> bool {
        false
    }

    /// Adds what the panel shows of it.
    fn show(&self, _snapshot: &mut Snapshot, _now: &Now) {}
}
