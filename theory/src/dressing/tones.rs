//! The degrees that a dressing puts into the hand. Imports nothing of its folder.

use crate::chord::Chord;
use crate::degree::Degree::{self, Five, Flat5, Flat9, Flat13, Root, Sharp5, Sharp11};
use crate::degree::DegreeSet;
use crate::quality::Quality;
use crate::tension::{self, Reason, Tensions};
use tinyvec::ArrayVec;

/// Guide tones and two more degrees, and one that sounds only where there is room for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Tones {
    /// The third, or the degree in its place.
    pub third: Degree,
    /// The seventh, or the degree in its place.
    pub seventh: Degree,
    /// The degrees beside them.
    pub others: [Degree; 2],
    /// A degree for a fifth note.
    pub also: Option<Degree>,
}

impl Tones {
    /// The four degrees that must sound.
    pub fn set(&self) -> DegreeSet {
        DegreeSet::of(&[self.third, self.seventh]).union(DegreeSet::of(&self.others))
    }

    /// All degrees.
    pub fn all(&self) -> DegreeSet {
        self.set().union(self.also.into_iter().collect())
    }

    /// The same tones with each degree changed.
    pub fn map(self, change: impl Fn(Degree) -> Degree) -> Tones {
        Tones {
            third: change(self.third),
            seventh: change(self.seventh),
            others: self.others.map(&change),
            also: self.also.map(change),
        }
    }

    /// The tones as the tensions of a chord of this quality. Further chord tones come last, for
    /// two hands.
    pub fn tensions(&self, quality: Quality) -> Tensions {
        const AGAINST_FIVE: DegreeSet = DegreeSet::of(&[Flat5, Sharp5, Flat13, Sharp11]);
        let held = self.all();
        let own = quality.degrees();
        let filling = [Five, Flat5, Sharp5, Root].into_iter().filter(|d| {
            let against =
                *d == Five && held.intersects(AGAINST_FIVE) || *d == Root && held.contains(Flat9);
            own.contains(*d) && !held.contains(*d) && !against
        });
        let mut others = ArrayVec::default();
        for degree in self.others.into_iter().chain(self.also).chain(filling) {
            let _full = others.try_push(degree);
        }
        Tensions {
            third: Some(self.third),
            seventh: Some(self.seventh),
            others,
            rank: 0,
            reason: Reason::AsWritten,
        }
    }

    /// The symbol of a chord of this quality with these tones. Root, bass and omissions are
    /// those of `from`.
    pub fn symbol(&self, quality: Quality, from: &Chord) -> Chord {
        let mut chord = Chord::new(from.root, quality);
        chord.omitted = from.omitted;
        chord.bass = from.bass.filter(|bass| bass.class() != from.root.class());
        // What is no tension must be written if the quality does not have it.
        let foreign = self.all().minus(quality.degrees());
        let spelled = foreign.iter().filter(|d| d.family().is_none());
        chord.written = spelled.collect();
        tension::sounding(&chord, self.all()).normal()
    }
}
