//! What is to be tried by ear: a few steps, one after the other, with or without a chord beneath.
//! Plain, of fixed size and `Copy`, so that it can cross to the audio thread. The panel makes it, and
//! the audio thread plays it. Imports the theory.

use guidehand_theory::pitch::MidiNote;
use guidehand_theory::voicing::Voicing;
use std::ops::RangeInclusive;
use tinyvec::ArrayVec;

/// The most steps of a request. The chromatic scale, an octave up and down, takes 25.
pub const MOST_STEPS: usize = 32;

/// How hard a step may be struck, in MIDI velocity: never so softly that it is missed, and never so
/// hard that it startles.
pub const VELOCITIES: RangeInclusive<u8> = 40..=105;

/// How hard a step is struck unless it is told otherwise.
const VELOCITY: u8 = 80;

/// What is struck together, and how long it lasts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Step {
    keys: u128,
    bass: Option<MidiNote>,
    velocity: u8,
    eighths: u8,
    tied: bool,
}

impl Default for Step {
    /// A rest of an eighth.
    fn default() -> Self {
        Step {
            keys: 0,
            bass: None,
            velocity: VELOCITY,
            eighths: 1,
            tied: false,
        }
    }
}

impl Step {
    /// The notes of a voicing, for an eighth.
    #[must_use]
    pub fn chord(voicing: &Voicing) -> Step {
        Step {
            keys: voicing.notes().fold(0, |keys, note| keys | bit(note)),
            ..Step::default()
        }
    }

    /// One note, for an eighth.
    #[must_use]
    pub fn note(note: MidiNote) -> Step {
        Step {
            keys: bit(note),
            ..Step::default()
        }
    }

    /// The same step over a bass. It sounds where the player has given the bass a channel.
    #[must_use]
    pub const fn over(self, bass: Option<MidiNote>) -> Step {
        Step { bass, ..self }
    }

    /// The same step struck as hard as this, within [`VELOCITIES`].
    #[must_use]
    pub fn struck(self, velocity: u8) -> Step {
        Step {
            velocity: velocity.clamp(*VELOCITIES.start(), *VELOCITIES.end()),
            ..self
        }
    }

    /// The same step for so many eighths, at least one.
    #[must_use]
    pub fn lasting(self, eighths: u8) -> Step {
        Step {
            eighths: eighths.max(1),
            ..self
        }
    }

    /// The same step, in which notes of the step before go on.
    #[must_use]
    pub const fn tied(self) -> Step {
        Step { tied: true, ..self }
    }

    /// Its notes but for the bass, one bit for each MIDI note.
    #[must_use]
    pub const fn keys(&self) -> u128 {
        self.keys
    }

    /// Its bass.
    #[must_use]
    pub const fn bass(&self) -> Option<MidiNote> {
        self.bass
    }

    /// How hard it is struck, 0 to 1.
    #[must_use]
    pub fn velocity(&self) -> f32 {
        f32::from(self.velocity) / 127.0
    }

    /// How long it lasts, in eighths.
    #[must_use]
    pub fn eighths(&self) -> u32 {
        u32::from(self.eighths)
    }

    /// Whether notes of the step before go on in it.
    #[must_use]
    pub const fn is_tied(&self) -> bool {
        self.tied
    }
}

fn bit(note: MidiNote) -> u128 {
    1 << note.number()
}

/// How fast steps follow each other.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Pace {
    /// In even eighths of a quarter of a second, whatever the tempo of the song.
    #[default]
    Free,
    /// In even eighths at the tempo of the song.
    Even,
    /// In eighths at the tempo of the song, with the off-beats where the rhythm swings them.
    Swung,
}

/// What is to be tried.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Request {
    steps: ArrayVec<[Step; MOST_STEPS]>,
    beneath: Option<Step>,
    pace: Pace,
    also_while_playing: bool,
}

impl Request {
    /// The steps, one after the other. What there is no room for is left out.
    #[must_use]
    pub fn new(pace: Pace, steps: impl IntoIterator<Item = Step>) -> Request {
        Request {
            steps: steps.into_iter().take(MOST_STEPS).collect(),
            pace,
            ..Request::default()
        }
    }

    /// The same over notes that lie from the first step to the end of the last one.
    #[must_use]
    pub const fn over(self, beneath: Step) -> Request {
        Request {
            beneath: Some(beneath),
            ..self
        }
    }

    /// The same, and whether it sounds while the song plays, too. Otherwise it is silent then, and
    /// ends where the song starts.
    #[must_use]
    pub const fn also_while_playing(self, also: bool) -> Request {
        Request {
            also_while_playing: also,
            ..self
        }
    }

    /// The steps.
    #[must_use]
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// What lies beneath all steps.
    #[must_use]
    pub const fn beneath(&self) -> Option<&Step> {
        self.beneath.as_ref()
    }

    /// How fast the steps follow each other.
    #[must_use]
    pub const fn pace(&self) -> Pace {
        self.pace
    }

    /// Whether it sounds while the song plays, too.
    #[must_use]
    pub const fn sounds_while_playing(&self) -> bool {
        self.also_while_playing
    }
}

/// What the panel asks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Ask {
    /// Counts what is asked, from 1; it wraps.
    pub number: u32,
    /// What is to be tried in place of what sounds; with none it only ends.
    pub request: Option<Request>,
}

/// What is tried at the moment.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Trying {
    /// The number of the [`Ask`].
    pub number: u32,
    /// The index of the step that sounds.
    pub step: usize,
    /// The notes of that step, one bit for each MIDI note.
    pub keys: u128,
    /// The notes that lie beneath, one bit for each MIDI note.
    pub beneath: u128,
}
