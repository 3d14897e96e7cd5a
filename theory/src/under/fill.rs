//! Which degrees stand in a chord under a melody note: the slots of the chord, what may stand in
//! each, and which slot the melody takes. Imports `rule`.

use super::rule::{Replacement, Rule};
use crate::chord::Chord;
use crate::degree::Degree::{
    self, DoubleFlat7, Eleven, Five, Flat3, Flat5, Flat7, Flat9, Flat13, Four, Nine, Root, Seven,
    Sharp5, Sharp9, Sharp11, Six, Thirteen, Three, Two,
};
use crate::degree::DegreeSet;
use crate::pitch::PitchClass;
use crate::quality::Quality;
use crate::tension::{self, PlainNinthRequest, Reason, TensionRequests, Tensions};
use tinyvec::ArrayVec;

/// A place in a block chord. The melody takes one of the four.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Slot {
    /// The root, or the ninth in its place.
    #[default]
    Ninth,
    /// The third, or the degree in its place.
    Third,
    /// The fifth, or the eleventh or thirteenth in its place.
    Fifth,
    /// The seventh, or the sixth in its place.
    Seventh,
}

/// The degrees that may stand in a slot, each with the number of steps from the first choice.
pub(super) type Options = ArrayVec<[(Degree, u8); 4]>;

/// The places that a melody note can take.
pub(super) type Places = ArrayVec<[(Slot, u8); 2]>;

const NINTHS: DegreeSet = DegreeSet::of(&[Flat9, Nine, Sharp9]);
const FIFTHS: DegreeSet = DegreeSet::of(&[Flat5, Sharp5, Sharp11, Flat13, Thirteen, Eleven]);
const THIRDS: DegreeSet = DegreeSet::of(&[Two, Flat3, Three, Four, Eleven]);
const SEVENTHS: DegreeSet = DegreeSet::of(&[Six, DoubleFlat7, Flat7, Seven]);

const fn is_major(quality: Quality) -> bool {
    matches!(
        quality,
        Quality::Major | Quality::Sixth | Quality::MajorSeventh
    )
}

/// A chord with one choice of tensions, as its slots.
#[derive(Clone, Copy, Debug)]
pub(super) struct Filled<'a> {
    chord: &'a Chord,
    tensions: &'a Tensions,
    stated: DegreeSet,
    wants_nine: bool,
}

impl<'a> Filled<'a> {
    pub fn new(chord: &'a Chord, tensions: &'a Tensions, requests: TensionRequests) -> Filled<'a> {
        Filled {
            chord,
            tensions,
            stated: chord.degrees(),
            wants_nine: requests.plain_ninth == PlainNinthRequest::Nine,
        }
    }

    /// Whether third and seventh have their slots. A bare fifth, a triad with an added note, an
    /// augmented triad and a polychord have other notes there, see [`Filled::notes`].
    pub fn has_slots(&self) -> bool {
        let is = |degree: Option<Degree>, set: DegreeSet| degree.is_some_and(|d| set.contains(d));
        is(self.tensions.third, THIRDS) && is(self.tensions.seventh, SEVENTHS)
    }

    /// What may stand in a slot.
    pub fn options(&self, slot: Slot) -> Options {
        match slot {
            Slot::Ninth => self.ninths(),
            Slot::Third => self.tensions.third.into_iter().map(|d| (d, 0)).collect(),
            Slot::Fifth => self.fifths(),
            Slot::Seventh => self.sevenths(),
        }
    }

    fn ninths(&self) -> Options {
        let others = &self.tensions.others;
        let dominant = self.chord.quality.is_dominant();
        let mut options = Options::default();
        let mut late = Options::default();
        let root_at = others.iter().position(|d| *d == Root);
        for (at, degree) in others.iter().enumerate() {
            let stated = self.stated.contains(*degree);
            // A half-diminished chord can have its eleventh in the place of its root.
            let wanted = match degree {
                Eleven => self.chord.third() == Some(Flat3) && self.lowers_five(),
                _ => NINTHS.contains(*degree),
            };
            if !wanted {
                continue;
            }
            let first = match degree {
                Eleven => root_at.is_none_or(|root| at < root),
                _ => dominant || stated || self.wants_nine,
            };
            if first {
                let _full = options.try_push((*degree, 0));
            } else if *degree != Eleven {
                let _full = late.try_push((*degree, 1));
            }
        }
        // The choices of an altered dominant leave out its root, which is there where the melody
        // bars the others.
        let altered = self.chord.quality == Quality::Altered;
        if root_at.is_some() || altered && !tension::is_against(self.chord, Root) {
            let steps = match (options.is_empty(), dominant) {
                (true, _) => 0,
                (false, true) => 2,
                (false, false) => 1,
            };
            let _full = options.try_push((Root, steps));
        }
        for option in late {
            let _full = options.try_push(option);
        }
        options
    }

    /// Tensions that come before the five in the order of need are wanted. The others only stand in
    /// the melody.
    fn fifths(&self) -> Options {
        let others = &self.tensions.others;
        let five_at = others.iter().position(|d| *d == Five);
        let sixth = self.sevenths().first().is_some_and(|(d, _)| *d == Six);
        let mut options = Options::default();
        for (at, degree) in others.iter().enumerate() {
            let before_five = match five_at {
                Some(five) => at < five,
                None => self.chord.quality.is_dominant() || self.stated.contains(*degree),
            };
            let taken = match degree {
                Thirteen => sixth,
                Eleven => self.tensions.third == Some(Eleven) || self.lowers_five(),
                _ => false,
            };
            if FIFTHS.contains(*degree) && before_five && !taken {
                let steps = u8::from(!options.is_empty());
                let _full = options.try_push((*degree, steps));
            }
        }
        if five_at.is_some() {
            let steps = u8::from(!options.is_empty());
            let _full = options.try_push((Five, steps));
        }
        options
    }

    /// A major chord has its sixth here, and so has a minor triad that is a tonic. A chord with #5
    /// keeps its seventh, and so does the player who asks for it.
    fn sevenths(&self) -> Options {
        let mut options = Options::default();
        let Some(seventh) = self.tensions.seventh else {
            return options;
        };
        let asked = self.tensions.reason == Reason::AskedSeventh;
        let sixth = !self.stated.contains(Sharp5) && !tension::is_against(self.chord, Six);
        if seventh != Seven {
            let _full = options.try_push((seventh, 0));
        } else if is_major(self.chord.quality) && sixth && !asked {
            let _full = options.try_push((Six, 0));
        } else {
            let _full = options.try_push((Seven, 0));
            let _full = options.try_push((Six, 2));
        }
        options
    }

    fn lowers_five(&self) -> bool {
        matches!(
            self.chord.quality,
            Quality::HalfDiminished | Quality::Diminished | Quality::DiminishedSeventh
        )
    }

    /// The chord tone of a slot.
    fn tone(&self, slot: Slot) -> Option<Degree> {
        match slot {
            Slot::Ninth => Some(Root),
            Slot::Third => self.chord.third().or(self.tensions.third),
            Slot::Fifth => {
                let altered = [Flat5, Sharp5].into_iter();
                altered.chain([Five]).find(|d| match d {
                    Five => true,
                    altered => self.stated.contains(*altered),
                })
            }
            Slot::Seventh => match self.tensions.seventh {
                Some(Seven) if !self.stated.contains(Seven) && is_major(self.chord.quality) => {
                    Some(Six)
                }
                seventh => self.chord.seventh().or(seventh),
            },
        }
    }

    /// A tension that the symbol writes for a slot and that does not sound.
    fn lost(&self, slot: Slot, sounding: DegreeSet) -> Option<Degree> {
        let family = match slot {
            Slot::Ninth => NINTHS,
            Slot::Fifth => FIFTHS.minus(DegreeSet::of(&[Flat5, Sharp5])),
            Slot::Third | Slot::Seventh => return None,
        };
        let sixth = sounding.contains(Six);
        let lost = self.stated.intersection(family).minus(sounding);
        let lost = if sixth { lost.without(Thirteen) } else { lost };
        lost.iter().next()
    }

    /// What a degree in a slot replaces, if anything.
    pub fn replaces(&self, slot: Slot, by: Degree, sounding: DegreeSet) -> Option<Replacement> {
        let tone = self.tone(slot).filter(|tone| *tone != by);
        let of = self.lost(slot, sounding).or(tone)?;
        Some(Replacement { by, of })
    }

    /// Why the melody has this chord, in this slot.
    pub fn rule(&self, slot: Slot, melody: Degree) -> Rule {
        let tones = self.chord.quality.degrees();
        let tone = self.tone(slot);
        let sixth = melody == Six && is_major(self.chord.quality);
        let own = tones.contains(melody) && !(melody == Five && tone != Some(Five));
        match tone {
            Some(of) if of != melody && !own && !sixth => {
                Rule::Tension(Replacement { by: melody, of })
            }
            _ => Rule::ChordTone,
        }
    }

    /// The name of a melody note and the slots that it can take. None if the chord cannot bear it:
    /// it lies a half step above a chord tone, or is foreign to the chord. A dominant bears all but
    /// its eleventh and its major seventh.
    pub fn melody(&self, class: PitchClass) -> Option<(Degree, Places)> {
        let quality = self.chord.quality;
        let third = self.tensions.third;
        let dominant = quality.is_dominant();
        let minor = self.chord.third() == Some(Flat3);
        let seventh = self.tensions.seventh;
        let states = |degree| self.stated.contains(degree);
        let one = |degree, slot| Some((degree, Places::from_iter([(slot, 0)])));
        match class.above(self.chord.root.class()) {
            0 => one(Root, Slot::Ninth),
            1 if dominant || states(Flat9) => one(Flat9, Slot::Ninth),
            2 if third == Some(Two) => one(Two, Slot::Third),
            2 => one(Nine, Slot::Ninth),
            3 if minor || quality == Quality::Power => one(Flat3, Slot::Third),
            3 if dominant || states(Sharp9) => one(Sharp9, Slot::Ninth),
            4 if !minor => one(Three, Slot::Third),
            5 if third == Some(Four) => one(Four, Slot::Third),
            5 if minor && !self.lowers_five() => {
                let wanted = self.fifths().first().is_some_and(|(d, _)| *d == Eleven);
                let (on_third, on_fifth) = if wanted { (1, 0) } else { (0, 1) };
                let places = [(Slot::Third, on_third), (Slot::Fifth, on_fifth)];
                Some((Eleven, Places::from_iter(places)))
            }
            5 if minor || states(Eleven) || third == Some(Two) || quality == Quality::Power => {
                one(Eleven, Slot::Third)
            }
            6 if matches!(third, Some(Four | Eleven)) => None,
            6 if states(Flat5) => one(Flat5, Slot::Fifth),
            6 if states(Sharp11) || third == Some(Three) => one(Sharp11, Slot::Fifth),
            7 if dominant || !self.stated.intersects(DegreeSet::of(&[Flat5, Sharp5])) => {
                one(Five, Slot::Fifth)
            }
            8 if states(Sharp5) => one(Sharp5, Slot::Fifth),
            8 if dominant || self.lowers_five() || states(Flat13) => one(Flat13, Slot::Fifth),
            9 if seventh == Some(DoubleFlat7) => one(DoubleFlat7, Slot::Seventh),
            9 if states(Sharp5) && !dominant => None,
            9 if is_major(quality) || seventh == Some(Six) => one(Six, Slot::Seventh),
            9 if minor && seventh == Some(Seven) => one(Six, Slot::Seventh),
            9 if quality == Quality::HalfDiminished && !states(Thirteen) => None,
            9 if dominant || minor || states(Thirteen) => one(Thirteen, Slot::Fifth),
            9 if quality == Quality::Power => one(Six, Slot::Seventh),
            10 if dominant || seventh == Some(Flat7) => one(Flat7, Slot::Seventh),
            10 if minor && seventh != Some(DoubleFlat7) => one(Flat7, Slot::Seventh),
            10 if matches!(
                quality,
                Quality::Power | Quality::SuspendedSecond | Quality::Augmented
            ) =>
            {
                one(Flat7, Slot::Seventh)
            }
            11 if dominant || minor && seventh == Some(Flat7) => None,
            11 => one(Seven, Slot::Seventh),
            _ => None,
        }
    }

    /// The notes of a chord without slots, the most needed first: at most four of different keys.
    pub fn notes(&self) -> ArrayVec<[Degree; 4]> {
        let mut notes = ArrayVec::default();
        let guides = [self.tensions.third, self.tensions.seventh];
        let others = self.tensions.others.iter().copied();
        for degree in guides.into_iter().flatten().chain(others) {
            let taken = |d: &Degree| d.interval().semitones == degree.interval().semitones;
            if !notes.iter().any(taken) {
                let _full = notes.try_push(degree);
            }
        }
        notes
    }

    /// The note of a chord without slots that is nearest to the melody. Of two that are equally
    /// near, one a half step below, where it cannot sound, or else the one that is needed less.
    pub fn nearest(&self, melody: Degree) -> Option<Degree> {
        let below = |d: Degree| (melody.interval().semitones - d.interval().semitones) % 12 == 1;
        let nearest = |d: &Degree| (apart(*d, melody), !below(*d));
        self.notes().into_iter().rev().min_by_key(nearest)
    }

    /// As [`Filled::rule`], for a chord without slots. The melody takes the place of the nearest
    /// note, or joins the others if there are fewer than four and none is nearer than a minor
    /// third.
    pub fn rule_without_slots(&self, melody: Degree) -> Rule {
        let notes = self.notes();
        match self.nearest(melody) {
            Some(near) if apart(near, melody) == 0 => Rule::ChordTone,
            Some(near) if notes.len() == notes.capacity() || apart(near, melody) < 3 => {
                Rule::Tension(Replacement {
                    by: melody,
                    of: near,
                })
            }
            _ => Rule::Added,
        }
    }
}

/// Semitones between two degrees, in whichever octaves they are nearest.
fn apart(a: Degree, b: Degree) -> i8 {
    let up = (a.interval().semitones - b.interval().semitones).rem_euclid(12);
    up.min(12 - up)
}
