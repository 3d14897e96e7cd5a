//! The single choices of an exercise, with the names under which they are saved. The names never change.
//! Imports the theory.

use guidehand_theory::pitch::PitchClass;

/// The choices of a kind, each with its name.
macro_rules! named {
    ($kind:ident: $($choice:ident = $name:literal,)+) => {
        impl $kind {
            /// Every choice.
            pub const ALL: &'static [$kind] = &[$($kind::$choice),+];

            /// The name under which it is saved.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $($kind::$choice => $name,)+
                }
            }

            /// The choice of this name.
            #[must_use]
            pub fn from_name(name: &str) -> Option<$kind> {
                $kind::ALL.iter().copied().find(|one| one.name() == name)
            }
        }
    };
}

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
    /// I-VI-ii-V, each for half a bar.
    Turnaround,
    /// iii-VI-ii-V, each for half a bar.
    TurnaroundOnThree,
    /// i-viø-iiø-V in minor, each for half a bar.
    TurnaroundMinor,
    /// A blues of twelve bars, plain.
    Blues,
    /// A blues of twelve bars as jazz players know it.
    JazzBlues,
    /// A minor blues of twelve bars.
    MinorBlues,
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

named!(Origin:
    List = "list",
    Chart = "chart",
);

named!(Progression:
    Single = "single chords",
    TwoFive = "ii-V",
    TwoFiveOneMajor = "ii-V-I",
    TwoFiveOneMinor = "ii-V-i",
    Turnaround = "I-VI-ii-V",
    TurnaroundOnThree = "iii-VI-ii-V",
    TurnaroundMinor = "i-vi-ii-V",
    Blues = "blues",
    JazzBlues = "jazz blues",
    MinorBlues = "minor blues",
);

named!(AskedPosition:
    Either = "either",
    Third = "third",
    Seventh = "seventh",
    FormA = "A",
    FormB = "B",
);

named!(KeyOrder:
    Fourths = "fourths",
    HalfStepsDown = "half steps down",
    HalfStepsUp = "half steps up",
    WholeSteps = "whole steps",
    MinorThirds = "minor thirds",
    Shuffled = "shuffled",
);

named!(Which:
    All = "all",
    Due = "due",
);

named!(Help:
    Nothing = "nothing",
    GuideTones = "guide tones",
    Everything = "everything",
);

impl KeyOrder {
    /// All keys in this order, as half steps above the first.
    #[must_use]
    pub fn steps(self, seed: u64) -> [u8; 12] {
        match self {
            KeyOrder::Fourths => [0, 5, 10, 3, 8, 1, 6, 11, 4, 9, 2, 7],
            KeyOrder::HalfStepsDown => [0, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1],
            KeyOrder::HalfStepsUp => [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11],
            KeyOrder::WholeSteps => [0, 2, 4, 6, 8, 10, 1, 3, 5, 7, 9, 11],
            KeyOrder::MinorThirds => [0, 3, 6, 9, 1, 4, 7, 10, 2, 5, 8, 11],
            KeyOrder::Shuffled => {
                let mut steps = KeyOrder::HalfStepsUp.steps(seed);
                fastrand::Rng::with_seed(seed).shuffle(&mut steps);
                steps
            }
        }
    }

    /// These keys in this order, from this one on. An order by chance begins anywhere.
    #[must_use]
    pub fn of(self, keys: &[PitchClass], from: PitchClass, seed: u64) -> Vec<PitchClass> {
        let all = self.steps(seed).into_iter();
        let all = all.map(|step| PitchClass::wrapping((from.number() + step).into()));
        all.filter(|key| keys.contains(key)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(keys: &[PitchClass]) -> Vec<u8> {
        keys.iter().map(|key| key.number()).collect()
    }

    /// The orders that players practise in (common practice, no published source).
    #[test]
    fn keys_come_in_the_chosen_order() {
        let all: Vec<PitchClass> = (0..12).map(PitchClass::wrapping).collect();
        for (order, first_five) in [
            (KeyOrder::Fourths, [0, 5, 10, 3, 8]),
            (KeyOrder::HalfStepsDown, [0, 11, 10, 9, 8]),
            (KeyOrder::HalfStepsUp, [0, 1, 2, 3, 4]),
            (KeyOrder::WholeSteps, [0, 2, 4, 6, 8]),
            (KeyOrder::MinorThirds, [0, 3, 6, 9, 1]),
        ] {
            assert_eq!(
                named(&order.of(&all, all[0], 3))[..5],
                first_five,
                "{order:?}"
            );
        }
        for order in KeyOrder::ALL {
            let mut steps = order.steps(7);
            steps.sort_unstable();
            assert_eq!(steps.to_vec(), (0..12).collect::<Vec<u8>>(), "{order:?}");
        }
    }

    #[test]
    fn only_listed_keys_come() {
        let some: Vec<PitchClass> = [3, 5, 10].map(PitchClass::wrapping).to_vec();
        assert_eq!(named(&KeyOrder::Fourths.of(&some, some[0], 1)), [3, 5, 10]);
        assert_eq!(
            named(&KeyOrder::HalfStepsDown.of(&some, some[0], 1)),
            [3, 10, 5]
        );
        assert_eq!(KeyOrder::Fourths.of(&[], some[0], 1), []);
    }

    #[test]
    fn the_seed_shuffles() {
        let all: Vec<PitchClass> = (0..12).map(PitchClass::wrapping).collect();
        let orders: Vec<_> = (0..20)
            .map(|seed| KeyOrder::Shuffled.of(&all, all[0], seed))
            .collect();
        assert_eq!(orders[4], KeyOrder::Shuffled.of(&all, all[0], 4));
        assert!(orders.iter().any(|order| *order != orders[0]));
    }
}
