//! Voicings that agree with a melody above them: the step that is played live, the plan of a whole
//! chart, and the one note that moves when the melody speaks against a chord that sounds. Imports
//! `plan` and what is above it.
//!
//! `rub` says which voices a melody speaks against, and `revoice` moves them.

mod revoice;
mod rub;

pub use revoice::revoice;
pub use rub::{rubs, too_high};

use crate::chord::Chord;
use crate::cost::Pose;
use crate::plan::{Column, Ends, Offer, Planner, Voiced};
use crate::shape::Texture;
use crate::tension::{self, Above, Agreed, Choices, Outcome, Yield, Yields};
use crate::voicing::Voicing;

/// How far a comping hand yields to a melody.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Yielding {
    /// It plays what it would play without one.
    #[default]
    Off,
    /// Tensions yield.
    Tensions,
    /// Tensions yield, and the chord stays below the lowest note of the melody where the register
    /// allows it.
    TensionsAndRegister,
}

/// A melody above a chord, and how far the chord yields to it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Under {
    /// The notes that sound above the chord when it is struck.
    pub above: Above,
    /// How far the chord yields.
    pub yielding: Yielding,
}

/// A voicing under a melody, and what yields in it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Agreeing {
    /// The voicing, with the tensions it was chosen with.
    pub voiced: Voiced,
    /// What yields to the melody, as far as it would be heard, and what stands against it.
    pub yields: Yields,
    /// How many semitones its highest note is too high to lie below the melody, if it should lie
    /// there: 0 if it does.
    pub too_high: u8,
}

/// A voicing in which nothing yields.
impl From<Voiced> for Agreeing {
    fn from(voiced: Voiced) -> Agreeing {
        Agreeing {
            voiced,
            ..Agreeing::default()
        }
    }
}

impl Under {
    /// Nothing sounds above.
    pub const NOTHING: Under = Under {
        above: Above::NONE,
        yielding: Yielding::Off,
    };

    /// With more notes above.
    #[must_use]
    pub const fn and(self, more: Above) -> Under {
        Under {
            above: self.above.and(more),
            ..self
        }
    }

    fn is_silent(&self) -> bool {
        self.yielding == Yielding::Off || self.above.is_empty()
    }

    /// Whether a voicing of a chord agrees as it is, so that nothing in it yields. Nothing allocates.
    #[must_use]
    pub fn agrees(&self, voicing: &Voicing, chord: &Chord) -> bool {
        self.is_silent() || self.badness(voicing, chord) == (0, 0)
    }

    /// Whether one voicing of a chord agrees no worse than another. Nothing allocates.
    #[must_use]
    pub fn agrees_as_well(&self, one: &Voicing, other: &Voicing, chord: &Chord) -> bool {
        self.agrees(one, chord) || !self.agrees(other, chord)
    }

    /// How badly a voicing agrees: the voices that the melody speaks against, and then how far the
    /// voicing is too high.
    fn badness(&self, voicing: &Voicing, chord: &Chord) -> (u8, u8) {
        let rubs = rubs(voicing, chord, self.above).count();
        let rubs = u8::try_from(rubs).unwrap_or(u8::MAX);
        (rubs, self.too_high(voicing))
    }

    /// How many semitones the highest note of a voicing is too high to lie below the melody, if it
    /// should lie there: 0 if it does.
    #[must_use]
    pub fn too_high(&self, voicing: &Voicing) -> u8 {
        match self.yielding {
            Yielding::TensionsAndRegister => too_high(voicing, self.above),
            Yielding::Off | Yielding::Tensions => 0,
        }
    }

    /// A voicing with what is to be told of it.
    fn told(&self, voiced: Voiced, chord: &Chord, agreed: &Agreed) -> Agreeing {
        let voicing = &voiced.voicing;
        let degrees = voicing.degrees();
        let heard = |told: &Yield| match told.outcome {
            Outcome::To(degree) => degrees.contains(degree),
            Outcome::LeftOut => told.in_a_slot(),
            Outcome::WrittenLeftOut(_) | Outcome::Stands => true,
        };
        let yields = agreed.yields(&voiced.tensions).into_iter();
        let yields = yields.filter(|told| !degrees.contains(told.degree) && heard(told));
        let stands = rubs(voicing, chord, self.above).map(|rub| Yield {
            degree: rub.voice.degree,
            outcome: Outcome::Stands,
            melody: tension::name_over(chord, rub.melody.class()),
            against: rub.against,
            place: 0,
        });
        let mut all = Yields::default();
        for told in yields.chain(stands) {
            let _full = all.try_push(told);
        }
        Agreeing {
            voiced,
            yields: all,
            too_high: self.too_high(voicing),
        }
    }
}

impl Planner<'_> {
    /// As [`Planner::step`], under a melody. A voicing that agrees as it is stays. Otherwise it is
    /// the cheapest of those with the fewest voices that the melody speaks against. Nothing
    /// allocates.
    #[must_use]
    pub fn step_under(
        &self,
        before: Option<&Voicing>,
        chord: &Chord,
        choices: &Choices,
        under: &Under,
    ) -> Agreeing {
        let plain = self.step(before, chord, choices);
        let before = before.map(Pose::of);
        self.agreeing(plain, chord, choices, under, |offer| {
            self.setting.price_of_step(before.as_ref(), offer)
        })
    }

    /// As [`Planner::nearest`], under a melody. Nothing allocates.
    #[must_use]
    pub fn nearest_under(
        &self,
        planned: &Voicing,
        chord: &Chord,
        choices: &Choices,
        under: &Under,
    ) -> Agreeing {
        let plain = self.nearest(planned, chord, choices);
        self.agreeing(plain, chord, choices, under, |offer| {
            self.setting.distance(planned, offer)
        })
    }

    fn agreeing<Price: Ord>(
        &self,
        plain: Voiced,
        chord: &Chord,
        choices: &Choices,
        under: &Under,
        price: impl Fn(&Offer) -> Price,
    ) -> Agreeing {
        if under.agrees(&plain.voicing, chord) {
            return Agreeing::from(plain);
        }
        let agreed = tension::agree(choices, chord, under.above);
        let key = |offer: &Offer| (under.badness(&offer.voiced.voicing, chord), price(offer));
        let mut best = self.offers(chord, &agreed.choices).min_by_key(key);
        let rubs = |best: &Option<Offer>| {
            let voicing = best.as_ref().map(|offer| &offer.voiced.voicing);
            voicing.map(|voicing| under.badness(voicing, chord).0)
        };
        for planner in self.plainer() {
            if rubs(&best) == Some(0) {
                break;
            }
            let other = planner.offers(chord, &agreed.choices).min_by_key(key);
            if other.is_some() && (best.is_none() || rubs(&other) < rubs(&best)) {
                best = other;
            }
        }
        let voiced = best.map(|offer| offer.voiced).unwrap_or_default();
        under.told(voiced, chord, &agreed)
    }

    /// Planners for a chord that has no voicing that agrees: without own shapes, and in the texture
    /// that the asked one falls back on.
    fn plainer(&self) -> impl Iterator<Item = Planner<'static>> {
        let setting = self.setting;
        let texture = match setting.texture {
            Texture::UpperStructure => Some(Texture::TwoHands),
            Texture::Fourths => Some(Texture::ThreeNotes),
            _ => None,
        };
        let own = !self.own.shapes().is_empty();
        let without_own = own.then(|| setting.without_own());
        let fallen_back = texture.map(|texture| {
            let mut setting = setting;
            setting.texture = texture;
            setting.without_own()
        });
        without_own.into_iter().chain(fallen_back)
    }

    /// The voicings that a plan may take for a chord under a melody: of all with tensions that
    /// agree, those with the fewest voices that the melody speaks against, and of these the ones
    /// that lie low enough, or least too high.
    #[must_use]
    pub fn offers_under(&self, chord: &Chord, choices: &Choices, under: &Under) -> Vec<Offer> {
        if under.is_silent() {
            return self.offers(chord, choices).collect();
        }
        let agreed = tension::agree(choices, chord, under.above);
        let badness = |offer: &Offer| under.badness(&offer.voiced.voicing, chord);
        let mut offers: Vec<Offer> = self.offers(chord, &agreed.choices).collect();
        for planner in self.plainer() {
            let least = offers.iter().map(badness).min();
            if least.is_some_and(|(rubs, _)| rubs == 0) {
                break;
            }
            let others: Vec<Offer> = planner.offers(chord, &agreed.choices).collect();
            let other = others.iter().map(badness).min();
            if other.is_some_and(|(rubs, _)| least.is_none_or(|(least, _)| rubs < least)) {
                offers = others;
            }
        }
        let least = offers.iter().map(badness).min();
        offers.retain(|offer| Some(badness(offer)) == least);
        offers
    }

    /// As [`Planner::plan_around`], with a melody above each chord. The path is the cheapest of all
    /// that take a voicing of [`Planner::offers_under`] for every chord, exactly.
    #[must_use]
    pub fn plan_under(
        &self,
        chords: &[(Chord, Choices, Under)],
        ends: Ends,
        pins: &[(usize, Voiced)],
    ) -> Vec<Agreeing> {
        let columns = chords
            .iter()
            .enumerate()
            .map(|(i, (chord, choices, under))| {
                let pinned = pins.iter().find(|(at, _)| *at == i);
                match pinned {
                    Some((_, voiced)) => Column::pinned(*voiced),
                    None if under.is_silent() => Column::of(self.offers(chord, choices)),
                    None => Column::of(self.offers_under(chord, choices, under)),
                }
            });
        let path = self.setting.cheapest(columns.collect(), ends);
        let told = |(voiced, (chord, choices, under)): (Voiced, &(Chord, Choices, Under))| {
            if under.is_silent() {
                return Agreeing::from(voiced);
            }
            let agreed = tension::agree(choices, chord, under.above);
            under.told(voiced, chord, &agreed)
        };
        path.into_iter().zip(chords).map(told).collect()
    }
}
