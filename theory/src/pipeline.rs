//! Joins the other modules: from a chart to functions and voicings, and from a root to a
//! voicing. Imports everything above it.

use crate::candidates::Register;
use crate::chart::{Change, Chart};
use crate::chord::Chord;
use crate::comping::{self, Agreeing, Under, Yielding};
use crate::cost::Weights;
use crate::degree::{Degree, DegreeSet};
use crate::key::{self, Function, Key};
use crate::melody::Melody;
use crate::other_voicings::{self, OtherVoicing, Place};
use crate::own_shape::{Own, OwnShape};
use crate::pitch::{MidiNote, PitchClass};
use crate::plan::{Ends, Setting, Voiced};
use crate::root_note::{self, Extras};
use crate::scale::{self, Suggestions};
use crate::shape::Texture;
use crate::slash;
use crate::tension::{self, Choices, TensionRequests, Tensions};
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
    /// Whether the player's own shapes take the place of the texture where one of them serves.
    pub own: bool,
}

impl Default for Taste {
    fn default() -> Self {
        Taste {
            texture: Texture::default(),
            register: Register::DEFAULT,
            requests: TensionRequests::default(),
            own: false,
        }
    }
}

impl Taste {
    /// Where and how voicings lie, at the prices that ship.
    #[must_use]
    pub const fn setting(&self) -> Setting {
        Setting {
            texture: self.texture,
            register: self.register,
            weights: Weights::DEFAULT,
        }
    }

    /// The player's own shapes, as far as they are asked for.
    #[must_use]
    pub fn own_of<'a>(&self, shapes: &'a [OwnShape]) -> Own<'a> {
        if self.own {
            Own::instead(shapes)
        } else {
            Own::NONE
        }
    }

    /// The tensions of a chord, as asked.
    pub(crate) fn choices(&self, placed: &ChordInKey) -> Choices {
        tension::resolve(&placed.chord, &placed.function, self.requests)
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

/// As [`plan`], around voicings that the player has pinned. The other voicings are the cheapest
/// ones around them, exactly. Each pin is the index of a change and the voicing that sounds there,
/// in a texture or not. A pin where the chart is silent is passed over, and of several pins of one
/// change the first counts.
#[must_use]
pub fn plan_around(
    placed: &[Option<ChordInKey>],
    texture: Texture,
    register: Register,
    ends: Ends,
    pins: &[(usize, Voicing)],
) -> Vec<Option<Voiced>> {
    plan_with(placed, texture, register, ends, pins, Own::NONE)
}

/// As [`plan_around`], with the player's own shapes.
#[must_use]
pub fn plan_with(
    placed: &[Option<ChordInKey>],
    texture: Texture,
    register: Register,
    ends: Ends,
    pins: &[(usize, Voicing)],
    own: Own<'_>,
) -> Vec<Option<Voiced>> {
    let plan = plan_under(placed, texture, register, ends, pins, own, &[]);
    let voiced = plan.into_iter().map(|agreeing| agreeing.map(|a| a.voiced));
    voiced.collect()
}

/// A melody above each chord of a chart: the notes that matter to it, see
/// [`Melody::that_matter`].
#[must_use]
pub fn under(chart: &Chart, melody: &Melody, yielding: Yielding) -> Vec<Under> {
    let above = |change: &Change| {
        let ticks = change.start_ticks..change.start_ticks + change.length_ticks;
        let notes = melody.that_matter(chart, ticks);
        Under {
            above: notes.map(|note| note.note).collect(),
            yielding,
        }
    };
    chart.changes.iter().map(above).collect()
}

/// The melody with a name for every note. One that has none is named by the key of the chord under
/// it.
#[must_use]
pub fn named(melody: &Melody, chart: &Chart, placed: &[Option<ChordInKey>]) -> Melody {
    melody.named(|note| {
        let begun = chart
            .changes
            .partition_point(|c| c.start_ticks <= note.start_ticks);
        // Before the first chord and in silence the nearest chord before or after counts.
        let before = placed.get(..begun).unwrap_or(placed).iter().rev();
        let mut chords = before.chain(placed).flatten();
        let key = chords.next().map_or(Key::C_MAJOR, |p| p.function.key);
        key.name(note.note.class())
    })
}

/// As [`plan_with`], with a melody above each change, see [`under`]. Tensions and voicings are
/// chosen together, over the whole chart and exactly, so that as little as possible clashes with
/// the melody. Changes beyond the end of `under` have no melody.
#[must_use]
pub fn plan_under(
    placed: &[Option<ChordInKey>],
    texture: Texture,
    register: Register,
    ends: Ends,
    pins: &[(usize, Voicing)],
    own: Own<'_>,
    under: &[Under],
) -> Vec<Option<Agreeing>> {
    let taste = Taste {
        texture,
        register,
        ..Taste::default()
    };
    let sounding = || {
        placed
            .iter()
            .enumerate()
            .filter_map(|(i, p)| Some((i, p.as_ref()?)))
    };
    let chords: Vec<_> = sounding()
        .map(|(change, p)| {
            let under = under.get(change).copied();
            (p.chord, taste.choices(p), under.unwrap_or_default())
        })
        .collect();
    let pins: Vec<(usize, Voiced)> = sounding()
        .zip(0..)
        .filter_map(|((change, p), chord)| {
            let (_, voicing) = pins.iter().find(|(at, _)| *at == change)?;
            Some((chord, pinned(p, voicing)))
        })
        .collect();
    let planner = taste.setting().with_own(own);
    let mut voiced = planner.plan_under(&chords, ends, &pins).into_iter();
    placed
        .iter()
        .map(|p| p.as_ref().and_then(|_| voiced.next()))
        .collect()
}

/// A pinned voicing with what sounds in it as its tensions.
#[must_use]
pub fn pinned(placed: &ChordInKey, voicing: &Voicing) -> Voiced {
    let sounding = voicing.degrees();
    let chord = tension::with_seventh(&placed.chord, sounding);
    let guide = |degree: Option<Degree>| degree.filter(|d| sounding.contains(*d));
    let (third, seventh) = (guide(chord.third()), guide(chord.seventh()));
    let guides: DegreeSet = [third, seventh].into_iter().flatten().collect();
    Voiced {
        voicing: *voicing,
        tensions: Tensions {
            third,
            seventh,
            others: sounding.minus(guides).iter().collect(),
            rank: 0,
            reason: tension::Reason::Pinned,
        },
    }
}

/// A planned chord under another taste: the voicing that is nearest to the planned one. It
/// depends on nothing but the plan and the taste, so that automation of a tension gives the
/// same notes wherever playing starts. The work is bounded and nothing allocates.
#[must_use]
pub fn adapt(planned: &Voiced, placed: &ChordInKey, taste: &Taste) -> Voiced {
    adapt_with(planned, placed, taste, Own::NONE)
}

/// As [`adapt`], with the player's own shapes. The work is bounded and nothing allocates.
#[must_use]
pub fn adapt_with(planned: &Voiced, placed: &ChordInKey, taste: &Taste, own: Own<'_>) -> Voiced {
    let choices = taste.choices(placed);
    let planner = taste.setting().with_own(own);
    planner.nearest(&planned.voicing, &placed.chord, &choices)
}

/// As [`adapt_with`], under a melody. The work is bounded and nothing allocates.
#[must_use]
pub fn adapt_under(
    planned: &Voiced,
    placed: &ChordInKey,
    taste: &Taste,
    own: Own<'_>,
    under: &Under,
) -> Agreeing {
    let choices = taste.choices(placed);
    let planner = taste.setting().with_own(own);
    planner.nearest_under(&planned.voicing, &placed.chord, &choices, under)
}

/// The other voicings of a chord in its place, the cheapest first.
#[must_use]
pub fn other_voicings(
    placed: &ChordInKey,
    taste: &Taste,
    own: Own<'_>,
    place: &Place,
) -> Vec<OtherVoicing> {
    let planner = taste.setting().with_own(own);
    other_voicings::of(&placed.chord, &taste.choices(placed), &planner, place)
}

/// The player's own shapes over a chord, in their order, each where it is cheapest in its place. None
/// for those that do not serve it.
#[must_use]
pub fn own_voicings(
    placed: &ChordInKey,
    taste: &Taste,
    own: Own<'_>,
    place: &Place,
) -> Vec<Option<OtherVoicing>> {
    let planner = taste.setting().with_own(own);
    other_voicings::of_own(&placed.chord, &taste.choices(placed), &planner, place)
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
    step_with(before, placed, taste, Own::NONE)
}

/// As [`step`], with the player's own shapes. The work is bounded and nothing allocates.
#[must_use]
pub fn step_with(
    before: Option<&Voicing>,
    placed: &ChordInKey,
    taste: &Taste,
    own: Own<'_>,
) -> Voiced {
    let choices = taste.choices(placed);
    let planner = taste.setting().with_own(own);
    planner.step(before, &placed.chord, &choices)
}

/// As [`step_with`], under a melody. The work is bounded and nothing allocates.
#[must_use]
pub fn step_under(
    before: Option<&Voicing>,
    placed: &ChordInKey,
    taste: &Taste,
    own: Own<'_>,
    under: &Under,
) -> Agreeing {
    let choices = taste.choices(placed);
    let planner = taste.setting().with_own(own);
    planner.step_under(before, &placed.chord, &choices, under)
}

/// The chord that sounds, with the notes that a melody speaks against moved for the next strike.
/// None if none could move, see [`comping::revoice`]. The work is bounded and nothing allocates.
#[must_use]
pub fn revoice(sounding: &Voiced, placed: &ChordInKey, under: &Under) -> Option<Agreeing> {
    if under.yielding == Yielding::Off {
        return None;
    }
    let (voiced, yields) = comping::revoice(sounding, &placed.chord, under.above)?;
    Some(Agreeing {
        voiced,
        yields,
        too_high: under.too_high(&voiced.voicing),
    })
}
