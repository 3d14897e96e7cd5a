//! What the player has chosen to practise, and how. Plain values; saved with the project. Imports
//! `choice` and the theory.

mod saved;

use crate::choice::{
    AskedPosition, ChartKeys, Help, KeyOrder, Origin, Pace, Progression, Tempo, Which,
};
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::dressing::stock_dressings;
use guidehand_theory::judge::Accepts;
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pitch::PitchClass;
use serde_json::{Map, Value};

/// What the player has chosen to practise, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct Exercise {
    /// Where questions come from.
    pub origin: Origin,
    /// The first and the last bar of the chart as played, from 1; all of it if none.
    pub bars: Option<(u16, u16)>,
    /// The keys of the chart.
    pub chart_keys: ChartKeys,
    /// The families that are listed, in their order, each once.
    pub families: Vec<ShapeFamily>,
    /// The dressings of listed dominants: the tensions of each. None: as the key says.
    pub dressings: Vec<DegreeSet>,
    /// What is asked in one go.
    pub progression: Progression,
    /// The position.
    pub position: AskedPosition,
    /// The keys that are listed, ascending from C, each once.
    pub keys: Vec<PitchClass>,
    /// Their order.
    pub order: KeyOrder,
    /// Which of all this is asked.
    pub which: Which,
    /// What counts as right.
    pub accepts: Accepts,
    /// Whether voice leading is judged.
    pub leading: bool,
    /// When the next question comes.
    pub pace: Pace,
    /// How much help is shown at first.
    pub help: Help,
    /// Seconds after which more help is shown, 2 to 60; none: only at a press.
    pub more_after_s: Option<u8>,
    /// Whether the right chord sounds after the answer.
    pub answer_sounds: bool,
    /// Where chance comes from.
    pub seed: u64,
    /// What a later version has saved with it.
    pub unknown: Map<String, Value>,
}

impl Default for Exercise {
    /// The chords of a ii-V-I, one by one, up in fourths.
    fn default() -> Exercise {
        Exercise {
            origin: Origin::default(),
            bars: None,
            chart_keys: ChartKeys::default(),
            families: vec![
                ShapeFamily::MinorSeventh,
                ShapeFamily::Dominant,
                ShapeFamily::MajorSeventh,
            ],
            dressings: Vec::new(),
            progression: Progression::default(),
            position: AskedPosition::default(),
            keys: (0..12).map(PitchClass::wrapping).collect(),
            order: KeyOrder::default(),
            which: Which::default(),
            accepts: Accepts::SameTensions,
            leading: false,
            pace: Pace::default(),
            help: Help::default(),
            more_after_s: Some(5),
            answer_sounds: false,
            seed: 1,
            unknown: Map::new(),
        }
    }
}

impl Exercise {
    /// The same with every value in its range and every list in its order.
    #[must_use]
    pub fn limited(mut self) -> Exercise {
        self.bars = self.bars.map(|(first, last)| {
            let first = first.max(1);
            (first, last.max(first))
        });
        once_each(&mut self.families);
        let known: Vec<DegreeSet> = stock_dressings().map(|one| one.degrees()).collect();
        self.dressings.retain(|dressing| known.contains(dressing));
        once_each(&mut self.dressings);
        self.keys.sort_unstable_by_key(|key| key.number());
        self.keys.dedup();
        self.pace = self.pace.limited();
        let [least, most] = SECONDS_TO_HELP;
        self.more_after_s = self.more_after_s.map(|seconds| seconds.clamp(least, most));
        self
    }
}

/// Keeps the first of equal values.
fn once_each<T: Copy + PartialEq>(values: &mut Vec<T>) {
    let all = values.clone();
    let mut at = 0..;
    values.retain(|value| all.iter().position(|one| one == value) == at.next());
}

/// Before more help is shown, in seconds, from and to.
const SECONDS_TO_HELP: [u8; 2] = [2, 60];

impl Pace {
    /// The same with every value in its range.
    #[must_use]
    pub const fn limited(self) -> Pace {
        match self {
            Pace::Free => Pace::Free,
            Pace::InTime {
                tempo,
                beats_ahead,
                count_in_bars,
            } => Pace::InTime {
                tempo: tempo.limited(),
                beats_ahead: if beats_ahead < 1 {
                    1
                } else if beats_ahead > 8 {
                    8
                } else {
                    beats_ahead
                },
                count_in_bars: if count_in_bars > 2 { 2 } else { count_in_bars },
            },
        }
    }
}

impl Tempo {
    /// The tempo of its own that is offered first.
    pub const FIRST_BPM: f64 = 100.0;

    /// The same with every value in its range.
    #[must_use]
    pub const fn limited(self) -> Tempo {
        match self {
            Tempo::Host => Tempo::Host,
            Tempo::Own { bpm, faster_by } => Tempo::Own {
                bpm: if bpm.is_finite() {
                    in_thousandths(bpm.clamp(30.0, 300.0))
                } else {
                    Tempo::FIRST_BPM
                },
                faster_by: if faster_by.is_finite() {
                    in_thousandths(faster_by.clamp(0.0, 20.0))
                } else {
                    0.0
                },
            },
        }
    }
}

/// A number that is saved in few digits, and read back as what it was.
const fn in_thousandths(number: f64) -> f64 {
    (number * 1000.0).round() / 1000.0
}
