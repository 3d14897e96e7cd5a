//! Which degrees of a chord fill the slots of a shape. Imports the table of `shape`, and
//! `tension`.

use super::{Shape, Slot, TABLE, Texture};
use crate::chord::Chord;
use crate::degree::Degree::{
    self, Eleven, Five, Flat5, Flat9, Flat13, Nine, Root, Sharp5, Sharp9, Sharp11, Thirteen,
};
use crate::degree::DegreeSet;
use crate::quality::{Extent, Quality};
use crate::tension::Tensions;
use tinyvec::ArrayVec;

/// Upper-structure triads over a dominant, as degrees from the triad's root. Over C7 they are
/// D, A, A flat, G flat and E flat major, F sharp and D flat minor (common practice, no
/// published source).
static TRIADS: [[Degree; 3]; 7] = [
    [Nine, Sharp11, Thirteen],
    [Thirteen, Flat9, Degree::Three],
    [Flat13, Root, Sharp9],
    [Flat9, Degree::Three, Flat13],
    [Sharp11, Degree::Flat7, Flat9],
    [Sharp9, Degree::Five, Degree::Flat7],
    [Sharp11, Thirteen, Flat9],
];

/// The triad with most of the degrees that are to sound over a dominant. It has every written
/// degree and none that clashes with them. A #11 may join a natural ninth and thirteenth.
fn triad(chord: &Chord, tensions: &Tensions, needs: Needs) -> Option<[Degree; 3]> {
    if !matches!(chord.quality, Quality::Dominant | Quality::Altered) {
        return None;
    }
    let wanted: DegreeSet = tensions.others.iter().copied().collect();
    let bright =
        wanted.contains(Nine) && wanted.contains(Thirteen) && tensions.third == Some(Degree::Three);
    let tones = DegreeSet::of(&[Root, Degree::Three, Five, Degree::Flat7]);
    let agrees = |degree: &Degree| match degree {
        Sharp11 => wanted.contains(Sharp11) || bright,
        Five => wanted.contains(Five),
        tone if tones.contains(*tone) => true,
        tension => wanted.contains(*tension),
    };
    // The first two of the other degrees must sound.
    let first_two: DegreeSet = tensions.others.iter().copied().take(2).collect();
    let written: DegreeSet = (tensions.others.iter().copied())
        .filter(|d| needs.need(*d) < Need::Unwritten)
        .collect();
    let needed = first_two.union(written).minus(DegreeSet::of(&[Five, Root]));
    let held = |triad: &[Degree; 3]| triad.iter().copied().collect::<DegreeSet>();
    TRIADS
        .iter()
        .filter(|triad| triad.iter().all(agrees) && needed.minus(held(triad)).is_empty())
        .min_by_key(|triad| 3 - held(triad).intersection(wanted).len())
        .copied()
}

/// How much a chord needs a degree beside its guide tones.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Need {
    /// An alteration that the symbol writes.
    Altered,
    /// A natural tension that the symbol writes, or a note of a triad that it writes over
    /// another chord or bass.
    Natural,
    /// A degree that the symbol leaves open.
    Unwritten,
}

impl Need {
    /// How much a chord needs this degree.
    #[must_use]
    pub fn of(degree: Degree, chord: &Chord) -> Need {
        Needs::of(chord).need(degree)
    }
}

/// How much a chord needs each degree, worked out once.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Needs {
    altered: DegreeSet,
    /// The altered ones may stand here too.
    natural: DegreeSet,
}

impl Needs {
    pub(crate) fn of(chord: &Chord) -> Needs {
        let stated = chord.degrees();
        let counted = match chord.extent {
            Extent::Plain => DegreeSet::EMPTY,
            Extent::Ninth => DegreeSet::of(&[Nine]),
            Extent::Eleventh => DegreeSet::of(&[Eleven]),
            Extent::Thirteenth => DegreeSet::of(&[Thirteen]),
        };
        let written = chord.written.iter().filter(|d| d.is_altered());
        let fifths = DegreeSet::of(&[Flat5, Sharp5]);
        let in_triad = chord.upper.map_or(DegreeSet::EMPTY, |triad| {
            let sounds = |d: &Degree| {
                let class = d.class(chord.root);
                triad.notes().any(|n| n.class() == class)
            };
            stated.iter().filter(sounds).collect()
        });
        let natural = chord.written.union(counted).union(in_triad);
        Needs {
            altered: written
                .collect::<DegreeSet>()
                .union(fifths)
                .intersection(stated),
            natural: natural.intersection(stated),
        }
    }

    pub(crate) const fn need(self, degree: Degree) -> Need {
        if self.altered.contains(degree) {
            Need::Altered
        } else if self.natural.contains(degree) {
            Need::Natural
        } else {
            Need::Unwritten
        }
    }
}

/// The degrees of a chord that may sound beside its guide tones, the most needed
/// first.
type Others = ArrayVec<[Degree; 8]>;

/// The degrees that fill the slots of a chord.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Slots {
    third: Option<Degree>,
    seventh: Option<Degree>,
    ninth: Option<Degree>,
    fifth: Option<Degree>,
    one_more: [Option<Degree>; 2],
    right: [Option<Degree>; 3],
    triad: Option<[Degree; 3]>,
    others: Others,
}

impl Slots {
    const NINTHS: DegreeSet = DegreeSet::of(&[Flat9, Nine, Sharp9, Root]);

    /// Fills the slots by rank. The two most needed degrees share the ninth and fifth slots,
    /// and the next one is the fifth note. A root does not sound beside a b9, nor a major third
    /// beside an 11: it yields to a written one.
    #[must_use]
    pub fn fill(chord: &Chord, tensions: &Tensions) -> Slots {
        let needs = Needs::of(chord);
        let mut others = tensions.others;
        let mut third = tensions.third;
        if third == Some(Degree::Three) && others.contains(&Eleven) {
            if needs.need(Eleven) < Need::Unwritten {
                third = Some(Eleven);
            }
            others.retain(|d| *d != Eleven);
        }
        if others.contains(&Flat9) {
            others.retain(|d| *d != Root);
        }
        let (first, second) = (others.first().copied(), others.get(1).copied());
        let (ninth, fifth) = if first.is_some_and(|d| Slots::NINTHS.contains(d)) {
            (first, second)
        } else {
            (second, first)
        };
        let one_more = [true, false].map(|on_third| {
            let fits = |d: &Degree| Slots::NINTHS.contains(*d) == on_third;
            let by_need = others.iter().copied();
            by_need.min_by_key(|d| (needs.need(*d), !fits(d)))
        });
        Slots {
            third,
            seventh: tensions.seventh,
            ninth,
            fifth,
            one_more,
            right: three_more(needs, [third, tensions.seventh], &others),
            triad: triad(chord, tensions, needs),
            others,
        }
    }

    /// The degree in a slot.
    #[must_use]
    pub fn get(&self, slot: Slot) -> Option<Degree> {
        let [on_third, on_seventh] = self.one_more;
        let [right1, right2, right3] = self.right;
        match slot {
            Slot::Third => self.third,
            Slot::Seventh => self.seventh,
            Slot::Ninth => self.ninth,
            Slot::Fifth => self.fifth,
            Slot::OneMoreOnThird => on_third,
            Slot::OneMoreOnSeventh => on_seventh,
            Slot::Right1 => right1,
            Slot::Right2 => right2,
            Slot::Right3 => right3,
            Slot::Just(degree) => Some(degree),
            Slot::Triad1 => self.triad.map(|[root, _, _]| root),
            Slot::Triad2 => self.triad.map(|[_, third, _]| third),
            Slot::Triad3 => self.triad.map(|[_, _, fifth]| fifth),
        }
    }

    /// The texture that a chord gets in a hand that spans `widest` semitones. Fourths need a
    /// stack, and an upper structure needs a triad.
    #[must_use]
    pub fn texture(&self, asked: Texture, chord: &Chord, widest: u8) -> Texture {
        match asked.for_chord(chord) {
            Texture::Fourths if self.stacks(chord, widest).next().is_none() => Texture::ThreeNotes,
            Texture::UpperStructure if self.triad.is_none() => Texture::TwoHands,
            texture => texture,
        }
    }

    /// The rows of a texture that this chord can use.
    pub fn shapes(
        &self,
        texture: Texture,
        chord: &Chord,
        widest: u8,
    ) -> impl Iterator<Item = &'static Shape> {
        TABLE.iter().filter(move |shape| {
            shape.texture == texture
                && (texture != Texture::Fourths || self.stands(shape, chord, widest))
        })
    }

    /// The stacks of fourths that a chord has.
    pub fn stacks(&self, chord: &Chord, widest: u8) -> impl Iterator<Item = &'static Shape> {
        self.shapes(Texture::Fourths, chord, widest)
    }

    /// Whether this chord can use a stack: each note lies a fourth or a tritone above the last,
    /// the guide tones are in it, nothing in it clashes with the degrees that are to sound, it
    /// leaves out nothing that is needed more than what it holds, and the hand can reach it.
    fn stands(&self, stack: &Shape, chord: &Chord, widest: u8) -> bool {
        let mut held = DegreeSet::EMPTY;
        let mut last: Option<i8> = None;
        let mut span = 0;
        for slot in stack.left {
            let Some(degree) = self.get(*slot) else {
                return false;
            };
            let place = degree.interval().semitones;
            if let Some(last) = last {
                let step = (place - last).rem_euclid(12);
                if !matches!(step, 5 | 6) {
                    return false;
                }
                span += step.unsigned_abs();
            }
            last = Some(place);
            held = held.with(degree);
        }
        let guides: DegreeSet = [self.third, self.seventh].into_iter().flatten().collect();
        let others: DegreeSet = self.others.iter().copied().collect();
        let agrees = held.minus(guides).minus(others).is_empty();
        let needs = Needs::of(chord);
        let need = |degrees: DegreeSet| degrees.iter().map(|d| needs.need(d));
        let left_out = need(others.minus(held)).min().unwrap_or(Need::Unwritten);
        let least = need(held.minus(guides)).max();
        let by_need = least.is_none_or(|least| least <= left_out);
        guides.minus(held).is_empty() && agrees && by_need && span <= widest
    }
}

/// Three more notes for the right hand, the most needed first. If there are fewer, guide tones
/// are doubled. A natural five yields to #11, and a root to a major seventh, if there is
/// another degree.
fn three_more(needs: Needs, guides: [Option<Degree>; 2], others: &Others) -> [Option<Degree>; 3] {
    let mut more = ArrayVec::<[Degree; 3]>::default();
    let sharp_eleven = others.contains(&Sharp11);
    let yields = |d: Degree| {
        needs.need(d) == Need::Unwritten
            && (d == Five && sharp_eleven || d == Root && guides.contains(&Some(Degree::Seven)))
    };
    let ready = others.iter().copied().filter(|d| !yields(*d));
    let guides = guides.into_iter().flatten();
    let late = others.iter().copied().filter(|d| yields(*d));
    for degree in ready.chain(guides).chain(late) {
        let key = |d: Degree| d.interval().semitones;
        if more.iter().all(|d| key(*d) != key(degree)) {
            let _full = more.try_push(degree);
        }
    }
    let mut more = more.into_iter();
    [more.next(), more.next(), more.next()]
}
