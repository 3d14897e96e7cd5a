//! A dressing, and its steps. Imports `moves`, `name` and `reason`.

use super::moves::Finger;
use super::name::Name;
use super::reason::{Fit, Reason};
use crate::chord::Chord;
use crate::degree::DegreeSet;
use crate::pipeline::{ChordInKey, Taste};
use crate::plan::Voiced;
use crate::scale::Suggestions;
use crate::tension::Tensions;
use crate::voicing::{Form, Voicing};

/// One way to dress a chord.
#[derive(Clone, Debug, PartialEq)]
pub struct Dressing {
    /// What it is called.
    pub name: Name,
    /// What sounds: one step, or the two of an inner line, which share the time of the chord.
    pub steps: Vec<Step>,
    /// How many fingers move, through all steps.
    pub fingers: usize,
    /// Whether it is what sounds now.
    pub sounds_now: bool,
    /// How usual it is here.
    pub fit: Fit,
    /// Why.
    pub reason: Reason,
    /// What the symbol in the chart says and the new one does not.
    pub taken: Taken,
}

/// What sounds for a while.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The chord to write, with the function of the chord that is dressed.
    pub placed: ChordInKey,
    /// The notes.
    pub voicing: Voicing,
    /// The fingers that move, from what sounds now or from the step before.
    pub fingers: Vec<Finger>,
    /// Whether the hand changes its position, because the notes do not fit the one in which it
    /// lies.
    pub other_position: bool,
    /// The same degrees in another position, if a #9 lies a half step below the third in this
    /// one.
    pub clear_of_the_third: Option<Voicing>,
    /// The tritone substitute that has the same notes, without its root too.
    pub substitute: Option<Chord>,
    /// Whether the symbol alone gives other degrees in a chart, because it leaves them open. Then
    /// the voicing must be pinned as well.
    pub needs_pin: bool,
}

impl Step {
    /// The symbol to write.
    #[must_use]
    pub const fn symbol(&self) -> &Chord {
        &self.placed.chord
    }

    /// The form in which the hand lies.
    #[must_use]
    pub const fn form(&self) -> Form {
        Form::of(self.voicing.position, self.placed.chord.quality)
    }

    /// The scales to play over it. The first one is the suggestion.
    #[must_use]
    pub fn scales(&self) -> Suggestions {
        self.placed.scales(&self.voicing)
    }

    /// The notes with the tensions that this taste resolves the symbol to.
    #[must_use]
    pub fn voiced(&self, taste: &Taste) -> Voiced {
        let choices = taste.choices(&self.placed);
        let degrees = self.voicing.degrees();
        let holds = |tensions: &&Tensions| {
            let mut guides = tensions.third.into_iter().chain(tensions.seventh);
            guides.all(|degree| degrees.contains(degree))
        };
        let tensions = choices.iter().find(holds).or(choices.first());
        Voiced {
            voicing: self.voicing,
            tensions: tensions.copied().unwrap_or_default(),
        }
    }

    /// Whether a #9 lies a half step below the third.
    #[must_use]
    pub fn sharp_nine_inside(&self) -> bool {
        self.voicing.sharp_nine_inside()
    }
}

/// What a dressing takes away from the symbol.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Taken {
    /// The tensions that the symbol writes and the dressing lacks.
    pub tensions: DegreeSet,
    /// The seventh or sixth that another one replaces. It is empty if the symbol keeps its own.
    pub seventh: DegreeSet,
    /// Whether the symbol is `alt` and natural tensions sound.
    pub alt: bool,
}

impl Taken {
    /// Whether the symbol loses more than the sixth or seventh that players exchange.
    #[must_use]
    pub const fn is_against_the_symbol(&self) -> bool {
        self.alt || !self.tensions.is_empty()
    }

    /// All degrees that the symbol loses.
    #[must_use]
    pub const fn degrees(&self) -> DegreeSet {
        self.tensions.union(self.seventh)
    }
}
