//! From the harmonies of the standard to chords. Imports the types of `kind`; `write` imports
//! it.

use super::{ALT, Change, Harmony, Kind, KindError, Meaning, Step, counted, degree};
use crate::chord::Chord;
use crate::degree::{Degree, DegreeSet};
use crate::pitch::NoteName;
use crate::quality::{Extent, Quality, TABLE};

const FIFTHS: DegreeSet = DegreeSet::of(&[Degree::Flat5, Degree::Sharp5]);
const THIRDS: DegreeSet = DegreeSet::of(&[Degree::Flat3, Degree::Three]);
/// Core degrees that can be written over a quality, or left out of it.
const BESIDE: DegreeSet = DegreeSet::of(&[
    Degree::Flat5,
    Degree::Sharp5,
    Degree::Six,
    Degree::Flat7,
    Degree::Seven,
]);
const NEVER_OUT: DegreeSet = DegreeSet::of(&[Degree::Root, Degree::Two, Degree::Four]);

/// The chord of a harmony. None for the kind `none`, for which nothing sounds.
///
/// # Errors
/// The first degree that does not fit, or that the notes make no chord.
pub fn from_kind(harmony: &Harmony) -> Result<Option<Chord>, KindError> {
    if harmony.kind == Kind::None {
        return Ok(None);
    }
    let mut reading = Reading::of(harmony.kind)?;
    // Alterations and omissions come first, in any order, because they make room for added
    // degrees.
    let added = |change: &&Change| change.step == Step::Add;
    let first = harmony.degrees.iter().filter(|c| !added(c));
    for change in first.chain(harmony.degrees.iter().filter(added)) {
        reading.apply(*change)?;
    }
    if harmony.kind == Kind::Dominant && ALT.iter().all(|c| harmony.degrees.contains(c)) {
        reading.make_alt();
    }
    let mut chord = reading.chord(harmony.root)?;
    chord.bass = harmony.bass;
    Ok(Some(chord))
}

/// The degrees of the kind after these changes.
pub(super) fn degrees_of(kind: Kind, changes: &[Change]) -> DegreeSet {
    let Ok(mut reading) = Reading::of(kind) else {
        return DegreeSet::EMPTY;
    };
    for change in changes {
        let _fits = reading.apply(*change);
    }
    let core = reading.core.union(reading.written);
    core.union(reading.counted())
}

/// A harmony as far as it has been read.
struct Reading {
    /// The quality of the kind. None if degrees alone make the chord.
    quality: Option<Quality>,
    extent: Extent,
    /// Root, thirds, fifths, sixths and sevenths, or a suspension.
    core: DegreeSet,
    /// Tensions beyond what the extent counts.
    written: DegreeSet,
    /// Degrees that were taken away.
    gone: DegreeSet,
    /// Degrees that were moved.
    moved: DegreeSet,
}

impl Reading {
    fn of(kind: Kind) -> Result<Reading, KindError> {
        let five = Degree::Five;
        let mut reading = Reading {
            quality: None,
            extent: Extent::Plain,
            core: DegreeSet::of(&[Degree::Root]),
            written: DegreeSet::EMPTY,
            gone: DegreeSet::EMPTY,
            moved: DegreeSet::EMPTY,
        };
        match kind.row().1 {
            Meaning::Chord(quality, extent) => {
                reading.quality = Some(quality);
                reading.extent = extent;
                reading.core = quality.degrees();
            }
            Meaning::AlteredFifth(quality, fifth) => {
                reading.quality = Some(quality);
                reading.core = quality.degrees().without(five).with(fifth);
            }
            Meaning::WithoutFifth(quality) => {
                reading.quality = Some(quality);
                reading.core = quality.degrees().without(five);
                reading.gone = DegreeSet::of(&[five]);
            }
            Meaning::RootAlone => {}
            Meaning::Nothing => return Err(KindError::Kind(kind)),
        }
        Ok(reading)
    }

    /// The natural extensions that still stand.
    fn counted(&self) -> DegreeSet {
        let quality = self.quality.unwrap_or(Quality::Major);
        let plain = Chord::new(NoteName::from_fifths(0), quality);
        let stack = plain.extended(self.extent).stack();
        stack
            .minus(quality.degrees())
            .minus(self.gone.union(self.moved))
    }

    fn apply(&mut self, change: Change) -> Result<(), KindError> {
        let own = self.core.union(self.counted());
        let in_place = own.iter().find(|d| counted(*d).0 == change.value);
        let error = KindError::Change(change);
        match (change.step, in_place) {
            (Step::Subtract, Some(Degree::Root) | None) => return Err(error),
            (Step::Subtract, Some(from)) => {
                self.core = self.core.without(from);
                self.gone = self.gone.with(from);
            }
            (Step::Alter, Some(from)) => {
                let (value, alter) = counted(from);
                let to = degree(value, alter.saturating_add(change.alter)).ok_or(error)?;
                self.core = self.core.without(from);
                self.moved = self.moved.with(from);
                self.add(to);
            }
            // A degree that cannot be altered because the kind lacks it is meant as an added
            // one.
            (Step::Alter, None) | (Step::Add, _) => {
                self.add(degree(change.value, change.alter).ok_or(error)?);
            }
        }
        Ok(())
    }

    fn add(&mut self, degree: Degree) {
        let has_third = self.core.intersects(THIRDS);
        match degree {
            Degree::Four if has_third => self.add(Degree::Eleven),
            Degree::Two if has_third || self.core.contains(Degree::Four) => self.add(Degree::Nine),
            // Beside a natural fifth an altered one is a tension on the same key.
            Degree::Flat5 if self.core.contains(Degree::Five) => self.add(Degree::Sharp11),
            Degree::Sharp5 if self.core.contains(Degree::Five) => self.add(Degree::Flat13),
            tension if tension.family().is_some() => {
                let (value, alter) = counted(tension);
                let stays = self.counted().iter().find(|d| counted(*d).0 == value);
                let stays = stays.filter(|_| alter != 0).into_iter();
                self.written = self.written.with(tension).union(stays.collect());
            }
            core => self.core = self.core.with(core),
        }
    }

    /// Turns the dominant that [`ALT`] has made into the altered one.
    fn make_alt(&mut self) {
        let ninths = DegreeSet::of(&[Degree::Flat9, Degree::Sharp9]);
        self.quality = Some(Quality::Altered);
        self.core = self.core.minus(FIFTHS);
        self.written = self.written.minus(ninths);
        self.gone = self.gone.without(Degree::Five);
    }

    fn chord(&self, root: NoteName) -> Result<Chord, KindError> {
        let own = self.quality.and_then(|quality| self.fit(quality));
        let own = own.filter(|fit| fit.unsaid.is_empty());
        let best = own.or_else(|| {
            // `alt` is never meant by the notes alone.
            let qualities = TABLE.iter().map(|row| row.quality);
            let fits = qualities.filter(|q| *q != Quality::Altered);
            fits.filter_map(|q| self.fit(q)).min_by_key(Fit::cost)
        });
        let any = self.quality.is_some() || self.core.len() > 1;
        let fit = best.filter(|_| any).ok_or(KindError::Notes)?;
        let extensions = [Degree::Nine, Degree::Eleven, Degree::Thirteen];
        let gone = self.gone.intersection(DegreeSet::of(&extensions));
        let chord = Chord {
            written: self.written.union(fit.extra),
            omitted: fit.missing.union(gone),
            ..Chord::new(root, fit.quality).extended(self.extent)
        };
        let chord = chord.normal();
        let all = chord.quality.degrees().union(chord.written);
        let two_sevenths = all.contains(Degree::Flat7)
            && all.intersects(DegreeSet::of(&[Degree::Seven, Degree::DoubleFlat7]));
        // One fifth is left out and another one is written.
        let fifths = chord.written.intersects(FIFTHS) && chord.omitted.intersects(FIFTHS);
        if two_sevenths || fifths {
            return Err(KindError::Notes);
        }
        Ok(chord)
    }

    /// How the core follows from this quality, if it can.
    fn fit(&self, quality: Quality) -> Option<Fit> {
        let tones = quality.degrees();
        let extra = self.core.minus(tones);
        let mut missing = tones.minus(self.core);
        if extra.intersects(FIFTHS) {
            missing = missing.without(Degree::Five);
        }
        let fits = extra.minus(BESIDE).is_empty() && !missing.intersects(NEVER_OUT);
        fits.then_some(Fit {
            quality,
            extra,
            missing,
            unsaid: missing.minus(self.gone),
            unused: self.gone.minus(missing),
        })
    }
}

/// A quality as the core of a harmony.
struct Fit {
    quality: Quality,
    /// Degrees to write beside it.
    extra: DegreeSet,
    /// Tones of it that do not sound.
    missing: DegreeSet,
    /// Those of them that were not taken away.
    unsaid: DegreeSet,
    /// Degrees that were taken away and are no tones of it.
    unused: DegreeSet,
}

impl Fit {
    fn cost(&self) -> u32 {
        self.extra.len() + 2 * (self.unsaid.len() + self.unused.len())
    }
}
