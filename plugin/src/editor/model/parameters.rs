//! The parameters as the panel knows them: an id for each, what it shows of one, and
//! how a player moves it. The panel's thread reads it; all of the editor may import
//! it. It imports nothing of the crate.

use std::ops::RangeInclusive;

macro_rules! parameters {
    ($($id:ident),* $(,)?) => {
        /// A parameter that the panel shows.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum ParameterId {
            $($id),*
        }

        impl ParameterId {
            /// Every one, in the order of its discriminants.
            pub const ALL: [ParameterId; [$(stringify!($id)),*].len()] = [$(ParameterId::$id),*];
        }
    };
}

parameters![
    Bypass,
    Source,
    Split,
    Tonic,
    Mode,
    PinKey,
    Ninth,
    Eleventh,
    Thirteenth,
    Texture,
    Lowest,
    Highest,
    Gate,
    Velocity,
    Bass,
    BassChannel,
    Tone,
    ToneLevel,
    Rhythm,
    Swing,
    SwingFollows,
    Length,
    Accents,
    TouchTime,
    TouchVelocity,
    Density,
    Ahead,
    Seed,
    InnerLines,
    AtOnce,
    FromBar,
    Repeats,
    Tempo,
    BassGate,
    BassTunes,
    BassA4,
    BassBy,
    PlainNinth,
    MinorEleventh,
    MajorEleventh,
    MajorTonic,
    MinorTonic,
    HandAtEase,
    HandAtMost,
    HardEdges,
    Variation,
    Yield,
    Revoices,
    Space,
    Under,
    SingleUnder,
    Comps,
];

/// A parameter as a region shows it. Numbers are plain ones, in the parameter's own
/// unit; of a choice they are its index, and of a switch 0 or 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Control {
    /// Which parameter it is.
    pub id: ParameterId,
    /// The value in force, with the host's modulation.
    pub value: f64,
    /// The value that is set, without modulation.
    pub set: f64,
    /// The value that is set as a share of the parameter's scale, from 0 to 1.
    pub share: f32,
    /// What a double click sets.
    pub default: f64,
    /// What can be set.
    pub range: RangeInclusive<f64>,
    /// The value that is set, in words with its unit.
    pub text: String,
    /// The names of the choices in their order; empty for other parameters.
    pub choices: &'static [&'static str],
}

impl Control {
    /// Whether a switch is on.
    #[must_use]
    pub fn is_on(&self) -> bool {
        self.value >= 0.5
    }

    /// The value in force as a whole number.
    #[must_use]
    pub fn whole(&self) -> i32 {
        whole(self.value)
    }

    /// The value that is set as a whole number.
    #[must_use]
    pub fn whole_set(&self) -> i32 {
        whole(self.set)
    }

    /// The index of the choice in force.
    #[must_use]
    pub fn index(&self) -> usize {
        usize::try_from(self.whole()).unwrap_or(0)
    }
}

/// The nearest whole number; values of parameters are small.
fn whole(value: f64) -> i32 {
    #[expect(clippy::cast_possible_truncation, reason = "MIDI notes and counts")]
    let whole = value.round() as i32;
    whole
}

/// What the panel shows of every parameter.
#[derive(Clone, Debug, PartialEq)]
pub struct Controls([Control; ParameterId::ALL.len()]);

impl Controls {
    /// Asks for what there is to show of each parameter.
    #[must_use]
    pub fn new(control: impl Fn(ParameterId) -> Control) -> Controls {
        Controls(ParameterId::ALL.map(control))
    }

    /// What there is to show of one parameter.
    #[must_use]
    #[expect(clippy::indexing_slicing, reason = "there is one of each id")]
    pub const fn of(&self, id: ParameterId) -> &Control {
        &self.0[id as usize]
    }

    /// Every one, to be filled anew.
    pub fn iter_mut(&mut self) -> impl Iterator<Item = &mut Control> {
        self.0.iter_mut()
    }
}

/// What a parameter is to be set to.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A plain number: see [`Control`].
    Plain(f64),
    /// A share of the parameter's scale, from 0 to 1.
    Share(f32),
    /// What the player typed.
    Typed(String),
    /// The default.
    Default,
}

/// The part of a gesture that a move is, as hosts want to be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gesture {
    /// All of it, at one stroke.
    Whole,
    /// The control is taken hold of.
    Begin,
    /// It is dragged.
    Change,
    /// It is let go of.
    End,
}

/// A move of a parameter.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    /// Which parameter moves.
    pub id: ParameterId,
    /// Where it goes.
    pub value: Value,
    /// The part of the gesture.
    pub gesture: Gesture,
}

impl Move {
    /// A plain value, set at one stroke.
    #[must_use]
    pub const fn whole(id: ParameterId, plain: f64) -> Move {
        Move {
            id,
            value: Value::Plain(plain),
            gesture: Gesture::Whole,
        }
    }

    /// The choice of an index.
    #[must_use]
    pub fn choice(id: ParameterId, index: usize) -> Move {
        Move::whole(id, u32::try_from(index).map_or(0.0, f64::from))
    }

    /// A switch, on or off.
    #[must_use]
    pub fn switch(id: ParameterId, on: bool) -> Move {
        Move::whole(id, f64::from(u8::from(on)))
    }

    /// Back to the default.
    #[must_use]
    pub const fn to_default(id: ParameterId) -> Move {
        Move {
            id,
            value: Value::Default,
            gesture: Gesture::Whole,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_parameter_lies_in_its_place() {
        for (at, id) in ParameterId::ALL.into_iter().enumerate() {
            assert_eq!(id as usize, at);
        }
    }
}
