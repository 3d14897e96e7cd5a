//! What the player has chosen to practise, and how. Plain values; saved with the project. Imports the
//! theory.

use guidehand_theory::degree::DegreeSet;
use guidehand_theory::judge::Accepts;
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pitch::PitchClass;

/// Where questions come from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Origin {
    /// From chords that the player lists.
    #[default]
    List,
    /// From the chart.
    Chart,
}

/// The keys in which the chart is practised.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ChartKeys {
    /// As it is written.
    #[default]
    AsWritten,
    /// With its first key moved to this tonic.
    In(PitchClass),
    /// In another key each time round, in the order of the keys.
    EachRound,
}

/// What is asked in one go.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Progression {
    /// One chord.
    #[default]
    Single,
    /// ii-V in major.
    TwoFive,
    /// ii-V-I in major.
    TwoFiveOneMajor,
    /// iiø-V-i in minor.
    TwoFiveOneMinor,
    /// I-VI-ii-V.
    Turnaround,
    /// A blues of twelve bars.
    Blues,
}

/// Which position is asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum AskedPosition {
    /// Either one counts.
    #[default]
    Either,
    /// The third lowest.
    Third,
    /// The seventh lowest.
    Seventh,
    /// The A form.
    FormA,
    /// The B form.
    FormB,
}

/// The order of the keys.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum KeyOrder {
    /// Up in fourths.
    #[default]
    Fourths,
    /// Down in half steps.
    HalfStepsDown,
    /// Up in half steps.
    HalfStepsUp,
    /// Up in whole steps, then those between.
    WholeSteps,
    /// Up in minor thirds, then those between.
    MinorThirds,
    /// In an order by chance, which the seed gives.
    Shuffled,
}

/// Which of all this is asked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Which {
    /// All of it.
    #[default]
    All,
    /// What is due today, and what is new.
    Due,
}

/// How much of the answer is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Help {
    /// The symbol alone.
    #[default]
    Nothing,
    /// Third and seventh.
    GuideTones,
    /// Every note.
    Everything,
}

/// The tempo of questions in time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tempo {
    /// The host's, while it plays.
    Host,
    /// One of the exercise's own, in quarter notes a minute, 30 to 300.
    Own {
        /// At the start.
        bpm: f64,
        /// So much faster after each clean round, 0 to 20.
        faster_by: f64,
    },
}

/// When the next question comes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Pace {
    /// When this one is answered rightly.
    #[default]
    Free,
    /// In time.
    InTime {
        /// The tempo.
        tempo: Tempo,
        /// So many beats before its chord falls, 1 to 8.
        beats_ahead: u8,
        /// Bars of clicks before the first chord, 0 to 2.
        count_in_bars: u8,
    },
}

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
        }
    }
}
