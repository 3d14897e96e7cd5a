//! The other voicings of a chord in its place: in every texture and in the player's own shapes, in
//! the order of what they cost between their neighbours. Imports `plan` and what is above it.

use crate::chord::Chord;
use crate::own_shape::Own;
use crate::plan::{Offer, Origin, Planner, Setting, Voiced};
use crate::shape::{Slots, Texture};
use crate::tension::Choices;
use crate::voicing::{Form, Voicing};

/// What sounds around a chord, as far as it is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Place {
    /// The voicing before.
    pub before: Option<Voicing>,
    /// The voicing that sounds in the place, which is not among the others.
    pub now: Option<Voicing>,
    /// The voicing after.
    pub after: Option<Voicing>,
}

/// How far the hand moves between two voicings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Motion {
    /// Semitones that its voices move, added up.
    pub semitones: u32,
    /// The number of voices that move.
    pub voices: u8,
}

impl Motion {
    /// The motion from one voicing to the next.
    #[must_use]
    pub fn between(from: &Voicing, to: &Voicing) -> Motion {
        Motion {
            semitones: from.motion(to),
            voices: from.moving_voices(to),
        }
    }
}

/// Another voicing of a chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OtherVoicing {
    /// The voicing and its tensions.
    pub voiced: Voiced,
    /// The texture, or the own shape.
    pub origin: Origin,
    /// The form that players call it.
    pub form: Form,
    /// What it costs in its place: by itself, and in and out as far as both ends are known.
    pub cost: u32,
    /// The motion from the voicing before.
    pub motion_in: Option<Motion>,
    /// The motion to the voicing after.
    pub motion_out: Option<Motion>,
}

/// Every voicing of a chord but the one that sounds, the cheapest in its place first. Of equally
/// cheap ones, those of the texture in use come first, then own shapes, then the other textures in
/// their order. The same notes come once, under the first of these names; there they have the
/// first of their tensions.
///
/// The number is bounded by those of the textures and of the own shapes, over all choices.
#[must_use]
pub fn of(
    chord: &Chord,
    choices: &Choices,
    planner: &Planner<'_>,
    place: &Place,
) -> Vec<OtherVoicing> {
    let setting = planner.setting;
    let in_use = setting.with_own(Own::NONE);
    let own = setting.with_own(Own::beside(planner.own.shapes()));
    let own = own.offers(chord, choices);
    let own = own.filter(|offer| matches!(offer.origin, Origin::Own(_)));
    let textures = Texture::ALL.into_iter().filter(|t| *t != setting.texture);
    let others = textures.flat_map(|texture| {
        let setting = Setting { texture, ..setting };
        let offers: Vec<Offer> = setting.with_own(Own::NONE).offers(chord, choices).collect();
        // A chord that has no voicing in a texture gets another one, which has its own turn.
        let of_texture = move |offer: &Offer| origin(offer, chord, &setting) == offer.origin;
        offers.into_iter().filter(of_texture)
    });
    let sounds = |voicing: &Voicing| place.now.is_some_and(|now| now.notes().eq(voicing.notes()));
    let mut found: Vec<OtherVoicing> = Vec::new();
    for offer in in_use.offers(chord, choices).chain(own).chain(others) {
        let voicing = &offer.voiced.voicing;
        let known = |other: &OtherVoicing| other.voiced.voicing.notes().eq(voicing.notes());
        if !sounds(voicing) && !found.iter().any(known) {
            found.push(row(&offer, chord, &setting, place));
        }
    }
    found.sort_by_key(|other| other.cost);
    found
}

/// The player's own shapes over a chord, in their order: of each the voicing that is cheapest in its
/// place. None for a shape that does not serve the chord, or has no place in the register.
#[must_use]
pub fn of_own(
    chord: &Chord,
    choices: &Choices,
    planner: &Planner<'_>,
    place: &Place,
) -> Vec<Option<OtherVoicing>> {
    let setting = planner.setting;
    let own = Own::beside(planner.own.shapes());
    let mut cheapest = vec![None; own.shapes().len()];
    for offer in setting.with_own(own).offers(chord, choices) {
        let Origin::Own(number) = offer.origin else {
            continue;
        };
        let other = row(&offer, chord, &setting, place);
        let is_cheaper = |best: &OtherVoicing| other.cost < best.cost;
        if let Some(best) = cheapest.get_mut(usize::from(number))
            && best.as_ref().is_none_or(is_cheaper)
        {
            *best = Some(other);
        }
    }
    cheapest
}

/// Where an offer comes from. Of a texture it is the one that the chord gets.
fn origin(offer: &Offer, chord: &Chord, setting: &Setting) -> Origin {
    match offer.origin {
        Origin::Texture(asked) => {
            let slots = Slots::fill(chord, &offer.voiced.tensions);
            Origin::Texture(slots.texture(asked, chord, setting.register.hand.at_most))
        }
        Origin::Own(number) => Origin::Own(number),
    }
}

fn row(offer: &Offer, chord: &Chord, setting: &Setting, place: &Place) -> OtherVoicing {
    let voicing = &offer.voiced.voicing;
    let (before, after) = (place.before.as_ref(), place.after.as_ref());
    let price_in = before.map_or(0, |before| setting.price_between(before, voicing));
    let price_out = after.map_or(0, |after| setting.price_between(voicing, after));
    OtherVoicing {
        voiced: offer.voiced,
        origin: origin(offer, chord, setting),
        form: Form::of(voicing.position, chord.quality),
        cost: offer.alone + price_in + price_out,
        motion_in: before.map(|before| Motion::between(before, voicing)),
        motion_out: after.map(|after| Motion::between(voicing, after)),
    }
}
