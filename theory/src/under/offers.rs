//! The block chords of a chord that bears the melody, each with its price. Imports `fill`, `lay`,
//! `block`, `cost`, `style` and `rule`.

use super::block::Block;
use super::cost;
use super::fill::{Filled, Options, Slot};
use super::lay::{Laid, lay};
use super::rule::{Replacement, Rule, Why};
use super::style::Taste;
use super::weights::Weights;
use crate::degree::Degree::{
    self, Five, Flat5, Flat9, Flat13, Nine, Sharp5, Sharp9, Sharp11, Thirteen,
};
use crate::degree::DegreeSet;
use crate::pipeline::ChordInKey;
use crate::pitch::MidiNote;
use crate::tension::{self, Choices, Reason, Tensions};
use crate::voicing::Voice;
use tinyvec::ArrayVec;

/// A chord in its key, and how it is dressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Harmony {
    /// The chord.
    pub placed: ChordInKey,
    /// The tensions that sound already, such as those of the comping hand. If there are none, they
    /// are chosen.
    pub tensions: Option<Tensions>,
}

impl From<ChordInKey> for Harmony {
    fn from(placed: ChordInKey) -> Harmony {
        Harmony {
            placed,
            tensions: None,
        }
    }
}

impl Harmony {
    /// The choices of tensions.
    pub(super) fn choices(&self, taste: &Taste) -> Choices {
        let ChordInKey {
            chord, function, ..
        } = &self.placed;
        let free = || tension::resolve(chord, function, taste.requests);
        match self.tensions {
            Some(sounding) => {
                let stated = [chord.third(), chord.seventh()];
                let [third, seventh] = stated.map(|guide| guide.is_some());
                let without_guide =
                    third && sounding.third.is_none() || seventh && sounding.seventh.is_none();
                // A triad keeps its third, for nothing else names it.
                let suspended = third && sounding.third != chord.third();
                let bare = suspended && !has_seventh(&sounding);
                let whole = sounding.reason != Reason::Pinned && !without_guide && !bare;
                let dressing = free().first().filter(|_| !whole).copied();
                let tensions = dressing.map_or(sounding, |free| completed(free, &sounding));
                std::iter::once(tensions).collect()
            }
            None => free(),
        }
    }
}

/// What sounds in a voicing that the player has pinned, or that does without a guide tone, with what it
/// leaves open: guide tones, and degrees of families of which it has none.
fn completed(free: Tensions, pinned: &Tensions) -> Tensions {
    const NINTHS: DegreeSet = DegreeSet::of(&[Flat9, Nine, Sharp9]);
    const FIFTHS: DegreeSet = DegreeSet::of(&[Sharp5, Flat5, Sharp11, Flat13, Thirteen]);
    let sounding: DegreeSet = pinned.others.iter().copied().collect();
    let open = |degree: &Degree| {
        let family = [NINTHS, FIFTHS].into_iter().find(|f| f.contains(*degree));
        !sounding.contains(*degree) && family.is_none_or(|f| !sounding.intersects(f))
    };
    let mut others = pinned.others;
    for degree in free.others.iter().filter(|d| open(d)) {
        let _full = others.try_push(*degree);
    }
    Tensions {
        third: (pinned.third.filter(|_| has_seventh(pinned))).or(free.third),
        seventh: pinned.seventh.or(free.seventh),
        others,
        ..*pinned
    }
}

/// Whether a seventh sounds, or what names a chord in its place.
fn has_seventh(tensions: &Tensions) -> bool {
    tensions.seventh.is_some_and(tension::names_the_chord)
}

/// Why a chord bears a melody note. None if it does not.
pub(super) fn rule_of(harmony: &Harmony, taste: &Taste, melody: MidiNote) -> Option<Rule> {
    let chord = &harmony.placed.chord;
    let choices = harmony.choices(taste);
    let filled = Filled::new(chord, choices.first()?, taste.requests);
    let (degree, places) = filled.melody(melody.class())?;
    let (slot, _) = places.first()?;
    Some(if filled.has_slots() {
        filled.rule(*slot, degree)
    } else {
        filled.rule_without_slots(degree)
    })
}

/// A block chord that may stand under a melody note.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Offer {
    /// The block.
    pub block: Block,
    /// What it costs by itself, without its dressing.
    pub alone: u32,
    /// What its dressing costs.
    pub dressing: u32,
}

/// A block that is laid and priced, and not yet made.
#[derive(Clone, Copy, Debug)]
pub(super) struct Draft {
    /// Its place in the list of choices of tensions.
    pub choice: u8,
    /// The melody's slot and what stands in all four, if the chord has slots.
    slots: Option<(Slot, [Stands; 4])>,
    melody: Voice,
    pub laid: Laid,
    /// What it costs by itself, without its dressing.
    pub alone: u32,
    /// What its dressing costs.
    pub dressing: u32,
}

/// Every block of a chord that bears the melody, in a fixed order. There are none if the chord
/// cannot bear it.
#[must_use]
pub fn offers(taste: &Taste, harmony: &Harmony, melody: MidiNote) -> Vec<Offer> {
    let choices = harmony.choices(taste);
    let mut found = Vec::new();
    each(taste, harmony, &choices, melody, |draft| {
        found.extend(made(taste, harmony, &choices, &draft));
    });
    found
}

/// The block of a draft. There is one for each that [`each`] gives.
pub(super) fn made(
    taste: &Taste,
    harmony: &Harmony,
    choices: &Choices,
    draft: &Draft,
) -> Option<Offer> {
    let tensions = choices.get(usize::from(draft.choice))?;
    let filled = Filled::new(&harmony.placed.chord, tensions, taste.requests);
    let under = Under {
        taste,
        harmony,
        tensions,
        filled: &filled,
        choice: draft.choice,
        melody: draft.melody,
    };
    Some(Offer {
        block: under.block(draft),
        alone: draft.alone,
        dressing: draft.dressing,
    })
}

/// Drafts of every block of a chord that bears the melody, in a fixed order. Nothing allocates.
pub(super) fn each(
    taste: &Taste,
    harmony: &Harmony,
    choices: &Choices,
    melody: MidiNote,
    mut take: impl FnMut(Draft),
) {
    let chord = &harmony.placed.chord;
    for (choice, tensions) in (0_u8..).zip(choices) {
        let filled = Filled::new(chord, tensions, taste.requests);
        let Some((degree, places)) = filled.melody(melody.class()) else {
            continue;
        };
        let under = Under {
            taste,
            harmony,
            tensions,
            filled: &filled,
            choice,
            melody: Voice {
                note: melody,
                degree,
            },
        };
        if filled.has_slots() {
            for (slot, steps) in places {
                under.in_slot(slot, steps, &mut take);
            }
        } else {
            take(under.without_slots());
        }
    }
}

/// What a choice of tensions costs.
pub(super) fn rank_price(tensions: &Tensions, weights: &Weights) -> u32 {
    let rank = u32::from(tensions.rank);
    weights.rank * (rank * (rank + 1) / 2)
}

const SLOTS: [Slot; 4] = [Slot::Ninth, Slot::Third, Slot::Fifth, Slot::Seventh];

/// A melody note over a chord with one choice of tensions.
struct Under<'a> {
    taste: &'a Taste,
    harmony: &'a Harmony,
    tensions: &'a Tensions,
    filled: &'a Filled<'a>,
    choice: u8,
    melody: Voice,
}

/// What stands in a slot, if anything, and the number of steps from the first choice.
type Stands = (Option<Degree>, u8);

/// What stands in the place of what.
type Replacements = ArrayVec<[Replacement; 4]>;

impl Under<'_> {
    /// Whether a voice may sound below the melody: not on the same key, nor a half step below it,
    /// which another octave would turn into a minor ninth.
    fn allows(&self, degree: Degree) -> bool {
        let class = degree.class(self.harmony.placed.chord.root);
        self.melody.note.class().above(class) > 1
    }

    /// What can stand in a slot that is not the melody's. The steps count from the first degree
    /// that the melody allows.
    fn stands(&self, slot: Slot) -> ArrayVec<[Stands; 4]> {
        let options: Options = self.filled.options(slot);
        let allowed = || options.iter().filter(|(d, _)| self.allows(*d));
        let least = allowed().map(|(_, steps)| *steps).min().unwrap_or(0);
        let stand = |(degree, steps): &(Degree, u8)| (Some(*degree), steps - least);
        let mut stands: ArrayVec<[Stands; 4]> = allowed().map(stand).collect();
        if stands.is_empty() {
            let _full = stands.try_push((None, 0));
        }
        stands
    }

    fn in_slot(&self, slot: Slot, steps: u8, take: &mut impl FnMut(Draft)) {
        let at = |i: usize| {
            let other = SLOTS.get(i).copied().filter(|s| *s != slot);
            match other {
                Some(other) => self.stands(other),
                None => ArrayVec::from_iter([(Some(self.melody.degree), steps)]),
            }
        };
        let [ninths, thirds, fifths, sevenths] = [at(0), at(1), at(2), at(3)];
        for ninth in &ninths {
            for third in &thirds {
                for fifth in &fifths {
                    for seventh in &sevenths {
                        let stands = [*ninth, *third, *fifth, *seventh];
                        if are_apart(stands) {
                            take(self.with_slots(slot, stands));
                        }
                    }
                }
            }
        }
    }

    fn with_slots(&self, slot: Slot, stands: [Stands; 4]) -> Draft {
        let weights = &self.taste.weights;
        let [_, (third, _), _, (seventh, _)] = stands;
        let mut below: ArrayVec<[Degree; 4]> = ArrayVec::default();
        for (place, (degree, _)) in SLOTS.into_iter().zip(stands) {
            if place != slot {
                let _full = degree.map(|degree| below.try_push(degree));
            }
        }
        let steps: u32 = stands.iter().map(|(_, steps)| u32::from(*steps)).sum();
        let missing: u32 = stands.iter().map(|(d, _)| u32::from(d.is_none())).sum();
        let price = weights.option * steps + weights.without * missing;
        self.draft(Some((slot, stands)), &below, [third, seventh], price)
    }

    /// A chord without slots: all of its notes but the one that the melody replaces, and what the
    /// melody bars.
    fn without_slots(&self) -> Draft {
        let mut notes = self.filled.notes();
        let melody = self.melody.degree;
        if self.filled.rule_without_slots(melody) != Rule::Added {
            let nearest = self.filled.nearest(melody);
            notes.retain(|d| Some(*d) != nearest);
        }
        notes.retain(|d| self.allows(*d));
        let guides = [self.tensions.third, self.tensions.seventh];
        self.draft(None, &notes, guides, 0)
    }

    fn draft(
        &self,
        slots: Option<(Slot, [Stands; 4])>,
        below: &[Degree],
        guides: [Option<Degree>; 2],
        price: u32,
    ) -> Draft {
        let Taste { style, weights, .. } = self.taste;
        let root = self.harmony.placed.chord.root.class();
        let guides = guides.into_iter().flatten().collect();
        let laid = lay(*style, self.melody, below, root, guides);
        Draft {
            choice: self.choice,
            slots,
            melody: self.melody,
            laid,
            alone: price
                + cost::of_notes(&laid, *style, weights)
                + weights.against_dressing * u32::from(self.is_against_dressing()),
            dressing: rank_price(self.tensions, weights),
        }
    }

    fn block(&self, draft: &Draft) -> Block {
        let chord = &self.harmony.placed.chord;
        let Laid {
            voicing,
            style,
            left_out,
        } = draft.laid;
        let sounding = voicing.degrees();
        let (rule, mut instead) = match draft.slots {
            Some((slot, stands)) => self.why(slot, stands),
            None => self.why_without_slots(),
        };
        instead.retain(|r| sounding.contains(r.by));
        let too_low = voicing.voices().len() < 2 && left_out > 0;
        Block {
            voicing,
            root: Some(chord.root),
            style,
            asked: self.taste.style,
            rule: if too_low {
                Rule::Single(Why::TooLow)
            } else {
                rule
            },
            instead,
            left_out,
            chord: Some(*chord),
            dressing: Some(self.choice),
        }
    }

    /// Why the melody has these notes, and what stands in the place of what.
    fn why(&self, slot: Slot, stands: [Stands; 4]) -> (Rule, Replacements) {
        let sounding: DegreeSet = stands.iter().filter_map(|(d, _)| *d).collect();
        let rule = self.filled.rule(slot, self.melody.degree);
        let mut instead = Replacements::default();
        for (place, (degree, _)) in SLOTS.into_iter().zip(stands) {
            let replaces = match degree {
                Some(_) if place == slot && rule != Rule::ChordTone => None,
                Some(degree) => self.filled.replaces(place, degree, sounding),
                // What would lie a half step under the melody gives way to it.
                None => {
                    let first = self.filled.options(place).first().copied();
                    let by = self.melody.degree;
                    first.map(|(of, _)| Replacement { by, of })
                }
            };
            let _full = replaces.map(|r| instead.try_push(r));
        }
        (rule, instead)
    }

    fn why_without_slots(&self) -> (Rule, Replacements) {
        let melody = self.melody.degree;
        let rule = self.filled.rule_without_slots(melody);
        let mut instead = Replacements::default();
        let nearest = self.filled.nearest(melody);
        let notes = self.filled.notes();
        let others = notes.iter().copied().filter(|d| Some(*d) != nearest);
        for of in others.clone().filter(|d| !self.allows(*d)) {
            let _full = instead.try_push(Replacement { by: melody, of });
        }
        // The triad of a polychord takes the slot of the seventh, and a third or seventh may have
        // yielded to another degree.
        let chord = &self.harmony.placed.chord;
        for (of, by) in [
            (chord.third(), self.tensions.third),
            (chord.seventh(), self.tensions.seventh),
        ] {
            if let (Some(of), Some(by)) = (of, by)
                && of != by
                && of != melody
                && !others.clone().any(|d| d == of)
            {
                let _full = instead.try_push(Replacement { by, of });
            }
        }
        (rule, instead)
    }

    /// Whether the dressing disagrees with the melody: it is altered where the melody is not, or
    /// not altered where the melody is.
    fn is_against_dressing(&self) -> bool {
        let has = |degrees: &[Degree]| {
            let others = &self.tensions.others;
            degrees.iter().any(|d| others.contains(d))
        };
        match self.melody.degree {
            Nine => has(&[Flat9, Sharp9]),
            Flat9 | Sharp9 => !has(&[Flat9, Sharp9]),
            Thirteen => has(&[Flat13, Sharp5]),
            Flat13 => !has(&[Flat13, Sharp5]),
            Five => has(&[Flat13, Sharp5]) && !has(&[Five]),
            _ => false,
        }
    }
}

/// Whether no two notes lie on one key.
fn are_apart(stands: [Stands; 4]) -> bool {
    let mut keys = 0_u16;
    stands
        .iter()
        .filter_map(|(degree, _)| *degree)
        .all(|degree| {
            let key = 1_u16 << (degree.interval().semitones.unsigned_abs() % 12);
            let free = keys & key == 0;
            keys |= key;
            free
        })
}
