//! Voicings that agree with a melody above them: the step that is played live, the plan of a whole
//! chart, and the one note that moves when the melody speaks against a chord that sounds. Imports
//! `plan` and what is above it.
//!
//! `rub` says which voices a melody speaks against, and `revoice` moves them.

mod revoice;
mod rub;

pub use revoice::revoice;
pub use rub::{rubs, too_high};

use rub::Rub;

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

    /// Whether a chord that goes from one voicing to another agrees no worse than before: the melody
    /// speaks against none of the voices that move, and the chord lies no higher above it. Nothing
    /// allocates.
    #[must_use]
    pub fn may_go(&self, from: &Voicing, to: &Voicing, chord: &Chord) -> bool {
        if self.is_silent() {
            return true;
        }
        let mut rubs = rubs(to, chord, self.above);
        rubs.all(|rub| from.voices().contains(&rub.voice))
            && self.too_high(to) <= self.too_high(from)
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

    /// A voicing with what is to be told of it. Voices that the melody speaks against and that no
    /// other voicing could do without are left out of it, but for the last one.
    fn told(&self, voiced: Voiced, chord: &Chord, agreed: &Agreed) -> Agreeing {
        let mut voicing = voiced.voicing;
        let mut told = Told::default();
        for rub in rubs(&voiced.voicing, chord, self.above) {
            let thinner = revoice::exchanged(&voicing, rub.voice, None);
            let outcome = thinner.map_or(Outcome::Stands, |_| Outcome::LeftOut);
            voicing = thinner.unwrap_or(voicing);
            told.push(&rub, outcome, chord);
        }
        let voiced = Voiced { voicing, ..voiced };
        self.with(voiced, &agreed.yields(&voiced.tensions), told)
    }

    /// A voicing that stays as it is, with the voices that the melody speaks against.
    fn stands(&self, voiced: Voiced, chord: &Chord) -> Agreeing {
        let mut told = Told::default();
        for rub in rubs(&voiced.voicing, chord, self.above) {
            told.push(&rub, Outcome::Stands, chord);
        }
        self.with(voiced, &Yields::default(), told)
    }

    /// A voicing with what yields in its tensions, as far as it would be heard, and what is told
    /// of its voices.
    fn with(&self, voiced: Voiced, yields: &Yields, told: Told) -> Agreeing {
        let degrees = voiced.voicing.degrees();
        let heard = |told: &Yield| match told.outcome {
            Outcome::To(degree) => degrees.contains(degree),
            Outcome::LeftOut => told.in_a_slot(),
            Outcome::WrittenLeftOut(_) | Outcome::Stands => true,
        };
        let yields = yields.into_iter();
        let yields = yields.filter(|told| !degrees.contains(told.degree) && heard(told));
        let mut all = Yields::default();
        for told in yields.copied().chain(told.0) {
            let _full = all.try_push(told);
        }
        Agreeing {
            voiced,
            yields: all,
            too_high: self.too_high(&voiced.voicing),
        }
    }
}

/// What is told of voices that the melody speaks against.
#[derive(Default)]
struct Told(Yields);

impl Told {
    fn push(&mut self, rub: &Rub, outcome: Outcome, chord: &Chord) {
        let _full = self.0.try_push(Yield {
            degree: rub.voice.degree,
            outcome,
            melody: tension::name_over(chord, rub.melody.class()),
            against: rub.against,
            place: 0,
        });
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
        let key = |offer: &Offer| (under.badness(&offer.voiced.voicing, chord), price(offer));
        let mut best: Option<(Offer, Agreed)> = None;
        let rubs = |offer: &Offer| under.badness(&offer.voiced.voicing, chord).0;
        for agreed in ways_to_agree(choices, chord, under.above) {
            for planner in self.and_plainer() {
                let least = best.as_ref().map(|(offer, _)| rubs(offer));
                if least == Some(0) {
                    break;
                }
                let other = planner.offers(chord, &agreed.choices).min_by_key(key);
                let better = |other: &Offer| least.is_none_or(|least| rubs(other) < least);
                if let Some(other) = other.filter(better) {
                    best = Some((other, agreed));
                }
            }
        }
        let best = best.map(|(offer, agreed)| under.told(offer.voiced, chord, &agreed));
        best.unwrap_or_default()
    }

    /// This planner, and those for a chord that has no voicing in it that agrees: without own shapes,
    /// and in the texture that the asked one falls back on.
    fn and_plainer(&self) -> impl Iterator<Item = Planner<'_>> {
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
        let plainer = without_own.into_iter().chain(fallen_back);
        std::iter::once(*self).chain(plainer)
    }

    /// The voicings that a plan may take for a chord under a melody: of all with tensions that
    /// agree, those with the fewest voices that the melody speaks against, and of these the ones
    /// that lie low enough, or least too high. Guide tones yield only where the melody speaks
    /// against every voicing that has them.
    #[must_use]
    pub fn offers_under(&self, chord: &Chord, choices: &Choices, under: &Under) -> Vec<Offer> {
        if under.is_silent() {
            return self.offers(chord, choices).collect();
        }
        let badness = |offer: &Offer| under.badness(&offer.voiced.voicing, chord);
        let mut offers: Vec<Offer> = Vec::new();
        for agreed in ways_to_agree(choices, chord, under.above) {
            for planner in self.and_plainer() {
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
        }
        let least = offers.iter().map(badness).min();
        offers.retain(|offer| Some(badness(offer)) == least);
        offers
    }

    /// As [`Planner::plan_around`], with a melody above each chord. The path is the cheapest of all
    /// that take a voicing of [`Planner::offers_under`] for every chord, exactly. Where the melody
    /// speaks against a voice of each of them, the voice is then left out.
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
        let told =
            |(i, voiced, (chord, choices, under)): (usize, Voiced, &(Chord, Choices, Under))| {
                if under.is_silent() {
                    return Agreeing::from(voiced);
                }
                if pins.iter().any(|(at, _)| *at == i) {
                    return under.stands(voiced, chord);
                }
                let [narrow, wholly] = ways_to_agree(choices, chord, under.above);
                let agreed = if narrow.choices.contains(&voiced.tensions) {
                    narrow
                } else {
                    wholly
                };
                under.told(voiced, chord, &agreed)
            };
        let path = path.into_iter().zip(chords).enumerate();
        path.map(|(i, (voiced, chord))| told((i, voiced, chord)))
            .collect()
    }
}

/// The choices for a chord under a melody, first with its guide tones, and then with others in the
/// place of those that the melody speaks against.
fn ways_to_agree(choices: &Choices, chord: &Chord, above: Above) -> [Agreed; 2] {
    [
        tension::agree(choices, chord, above),
        tension::agree_wholly(choices, chord, above),
    ]
}
