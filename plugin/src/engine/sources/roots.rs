//! Roots that are played below the split: each makes a chord in the key. Imports `gesture`, `source`
//! and `struck`, and the parts of the engine.

use super::gesture::Gesture;
use super::source::ChordSource;
use super::struck::{Rooted, Struck};
use crate::engine::block::{Block, RhythmBars, Timing};
use crate::engine::hand::{Hand, HeldKey};
use crate::engine::intent::{ChordEvent, Intent};
use crate::engine::parts::Now;
use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::Strike;
use guidehand_theory::pipeline;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::under::Harmony;

/// Roots that are played.
#[derive(Debug, Default)]
pub struct RootSource {
    hand: Hand,
    gesture: Gesture,
    /// The chord of the root that is held.
    chord: Option<Rooted>,
    struck: Struck,
}

impl RootSource {
    /// Works out the chord of the held root, and sounds it: at once, or by the rhythm while one runs.
    fn sound_root(&mut self, struck: bool, now: &Now) -> Intent {
        let settings = now.settings();
        let Some(key) = self.hand.root() else {
            return Intent::Hold;
        };
        let class = MidiNote::clamp(i32::from(key.key)).class();
        let placed = pipeline::place_root(settings.key, class, self.hand.extras());
        let rooted = Rooted::new(placed, struck, self.chord, now);
        self.chord = Some(rooted);
        if now.rhythm_runs() {
            return Intent::Rejoin { struck };
        }
        let chord = rooted.agreeing(&mut self.struck, struck, now);
        Intent::Sound(ChordEvent::held(chord, key, struck))
    }
}

impl ChordSource for RootSource {
    fn timing(&self, block: &Block, _song: Option<&PlannedChart>) -> Timing {
        let bars = if block.settings.groove.rhythm.by_pattern() {
            RhythmBars::Host
        } else {
            RhythmBars::None
        };
        Timing {
            bars,
            ..Timing::default()
        }
    }

    fn leave(&mut self) {
        *self = RootSource::default();
    }

    fn key_down(&mut self, key: HeldKey, now: &Now) -> Intent {
        if !now.is_left_hand(key.key) {
            return Intent::Pass;
        }
        let begins = self.hand.press(key, now.samples(), now.together_samples());
        self.gesture.press(begins);
        Intent::Hold
    }

    fn key_up(&mut self, channel: u8, key: u8, _now: &Now) {
        if self.hand.release(channel, key) {
            self.gesture = Gesture::Released;
        }
    }

    fn settle(&mut self, now: &Now) -> Intent {
        match std::mem::take(&mut self.gesture) {
            Gesture::None => Intent::Hold,
            Gesture::Released => {
                self.chord = None;
                Intent::Release
            }
            Gesture::Struck => self.sound_root(true, now),
            Gesture::Joined => self.sound_root(false, now),
        }
    }

    fn play(&mut self, strike: &Strike, struck: bool, now: &Now) -> Intent {
        match self.chord.zip(self.hand.root()) {
            Some((rooted, key)) => {
                let chord = rooted.agreeing(&mut self.struck, struck, now);
                Intent::Sound(ChordEvent::of_strike(chord, key, strike, struck))
            }
            None => Intent::Release,
        }
    }

    fn in_force(&self, _now: &Now) -> Option<Harmony> {
        self.chord.map(|rooted| rooted.harmony(&self.struck))
    }

    fn play_anew(&mut self, now: &Now) -> Intent {
        if now.sounds() || self.chord.is_some() {
            self.sound_root(false, now)
        } else {
            Intent::Hold
        }
    }
}
