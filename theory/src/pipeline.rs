//! Joins the other modules: from a chart to functions and voicings, and from a root to a
//! voicing. Imports everything above it.

use crate::candidates::{Hand, Register};
use crate::chart::{Change, Chart};
use crate::chord::Chord;
use crate::cost::Weights;
use crate::degree::Degree;
use crate::key::{self, Function, Key};
use crate::pitch::{MidiNote, PitchClass};
use crate::plan::{Ends, Setting, Voiced};
use crate::read;
use crate::root_note::{self, Extras};
use crate::scale::{self, Suggestions};
use crate::shape::Texture;
use crate::slash;
use crate::tension::{self, TensionRequests, Tensions};
use crate::voicing::Voicing;

/// The lowest bass note: E1, the lowest string of a bass.
pub const LOWEST_BASS: MidiNote = MidiNote::clamp(28);

/// What the player sets: texture, register and tensions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Taste {
    /// The texture.
    pub texture: Texture,
    /// Where voicings lie.
    pub register: Register,
    /// What is asked of chords.
    pub requests: TensionRequests,
}

impl Default for Taste {
    fn default() -> Self {
        Taste {
            texture: Texture::default(),
            register: Register::DEFAULT,
            requests: TensionRequests::default(),
        }
    }
}

impl Taste {
    const fn setting(&self) -> Setting {
        Setting {
            texture: self.texture,
            register: self.register,
            weights: Weights::DEFAULT,
        }
    }
}

/// A chord in its key, with what it is and how it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChordInKey {
    /// What the chord is. This is the written chord, unless a slash chord sounds as another
    /// one, such as F/G as a suspended dominant on G. Degrees count from its root.
    pub chord: Chord,
    /// The chord as the symbol writes it.
    pub written: Chord,
    /// Its function.
    pub function: Function,
}

impl ChordInKey {
    /// A written chord, taken for what it is, with the function of the result.
    #[must_use]
    pub fn new(written: Chord, function: Function) -> ChordInKey {
        ChordInKey {
            chord: slash::meant(&written),
            written,
            function,
        }
    }

    /// The chord as it sounds in this voicing.
    #[must_use]
    pub fn sounding(&self, voicing: &Voicing) -> Chord {
        tension::sounding(&self.chord, voicing.degrees())
    }

    /// The scales to play while this voicing sounds. The first one is the suggestion.
    #[must_use]
    pub fn scales(&self, voicing: &Voicing) -> Suggestions {
        let chord = tension::with_seventh(&self.chord, voicing.degrees());
        scale::suggest(&chord, voicing.degrees(), &self.function)
    }

    /// The note for the bass: the note under the slash, or else the root, next above `lowest`.
    #[must_use]
    pub fn bass(&self, lowest: MidiNote) -> Option<MidiNote> {
        let name = self.chord.bass.unwrap_or(self.chord.root);
        lowest.next_of(name.class())
    }
}

/// The chords of a chart in their keys; `None` where it is silent. A pinned key holds
/// throughout. Keys and functions belong to what the chords are, not to how they are
/// written.
#[must_use]
pub fn place(chart: &Chart, pinned: Option<Key>) -> Vec<Option<ChordInKey>> {
    let written: Vec<Option<Chord>> = chart.changes.iter().map(|c: &Change| c.chord).collect();
    let chords = slash::all_meant(&written);
    let lengths = chart.changes.iter().map(|c| c.length_ticks);
    let timed: Vec<(Option<Chord>, u32)> = chords.iter().copied().zip(lengths).collect();
    let functions = key::analyse_in_time(&timed, pinned);
    written
        .into_iter()
        .zip(chords)
        .zip(functions)
        .map(|((written, chord), function)| {
            Some(ChordInKey {
                chord: chord?,
                written: written?,
                function: function?,
            })
        })
        .collect()
}

/// Voices a whole chart in one texture and register, with the tensions that the context
/// chooses. Silence stays silent, and the voices lead across it.
#[must_use]
pub fn plan(
    placed: &[Option<ChordInKey>],
    texture: Texture,
    register: Register,
    ends: Ends,
) -> Vec<Option<Voiced>> {
    plan_around(placed, texture, register, ends, &[])
}

/// As [`plan`], around voicings that the player has pinned. Each pin is the index of a chord in
/// `placed` and the voicing that sounds there, whatever the texture and the register. A pin where
/// the chart is silent is passed over.
#[must_use]
pub fn plan_around(
    placed: &[Option<ChordInKey>],
    texture: Texture,
    register: Register,
    ends: Ends,
    pins: &[(usize, Voiced)],
) -> Vec<Option<Voiced>> {
    let taste = Taste {
        texture,
        register,
        requests: TensionRequests::default(),
    };
    let sounds = |at: &usize| placed.get(*at).is_some_and(Option::is_some);
    let pins: Vec<(usize, Voiced)> = pins
        .iter()
        .filter(|(at, _)| sounds(at))
        .map(|(at, voiced)| {
            let before = placed.iter().take(*at).flatten().count();
            (before, *voiced)
        })
        .collect();
    let chords: Vec<_> = placed
        .iter()
        .flatten()
        .map(|p| {
            (
                p.chord,
                tension::resolve(&p.chord, &p.function, taste.requests),
            )
        })
        .collect();
    let setting = taste.setting();
    let mut voiced = setting.plan_around(&chords, ends, &pins).into_iter();
    placed
        .iter()
        .map(|p| p.as_ref().and_then(|_| voiced.next()))
        .collect()
}

/// A planned chord under another taste: the voicing that is nearest to the planned one. It
/// depends on nothing but the plan and the taste, so that automation of a tension gives the
/// same notes wherever playing starts. The work is bounded and nothing allocates.
#[must_use]
pub fn adapt(planned: &Voiced, placed: &ChordInKey, taste: &Taste) -> Voiced {
    let choices = tension::resolve(&placed.chord, &placed.function, taste.requests);
    taste
        .setting()
        .nearest(&planned.voicing, &placed.chord, &choices)
}

/// The voicing of a chord that a player has pinned with these notes, which ascend. They sound as
/// they are. The left hand takes the lowest ones, as many as it reaches.
#[must_use]
pub fn pinned(placed: &ChordInKey, notes: &[MidiNote]) -> Voiced {
    let mut voicing = read::lay(&placed.chord, notes);
    let reach =
        |low: MidiNote, high: MidiNote| high.number() - low.number() <= Hand::DEFAULT.at_most;
    let lowest = voicing.lowest();
    let left = voicing
        .notes()
        .filter(|note| lowest.is_some_and(|low| reach(low, *note)));
    voicing.left_hand = u8::try_from(left.count()).unwrap_or(0);
    let degrees = voicing.degrees();
    let sounds = |degree: Option<Degree>| degree.filter(|degree| degrees.contains(*degree));
    let (third, seventh) = (sounds(placed.chord.third()), sounds(placed.chord.seventh()));
    let mut tensions = Tensions {
        third,
        seventh,
        reason: tension::Reason::Pinned,
        ..Tensions::default()
    };
    for degree in degrees
        .iter()
        .filter(|d| Some(*d) != third && Some(*d) != seventh)
    {
        // A voicing holds fewer notes than there is room for.
        let _full = tensions.others.try_push(degree);
    }
    Voiced { voicing, tensions }
}

/// The chord that a played root means. The work is bounded and nothing allocates.
#[must_use]
pub fn place_root(key: Key, root: PitchClass, extras: Extras) -> ChordInKey {
    let chord = root_note::chord(key, root, extras);
    let function = key::live(&chord, key);
    ChordInKey::new(chord, function)
}

/// Voices a chord that is played now, after the voicing that sounded last. The work is bounded
/// and nothing allocates.
#[must_use]
pub fn step(before: Option<&Voicing>, placed: &ChordInKey, taste: &Taste) -> Voiced {
    let choices = tension::resolve(&placed.chord, &placed.function, taste.requests);
    taste.setting().step(before, &placed.chord, &choices)
}
