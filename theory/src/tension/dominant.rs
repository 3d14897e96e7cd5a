//! Dominants: the choice depends on where they go, within the limits that the symbol and the
//! player set. Imports `requests`, `reason` and `choices`.

use super::choices::{Choices, NINTHS, Tensions, append, written_first};
use super::reason::Reason;
use super::requests::{EleventhRequest, NinthRequest, TensionRequests, ThirteenthRequest};
use crate::chord::Chord;
use crate::degree::Degree::{
    self, Eleven, Five, Flat5, Flat7, Flat9, Flat13, Nine, Root, Sharp5, Sharp9, Sharp11, Thirteen,
};
use crate::degree::DegreeSet;
use crate::key::{Function, Mode, Resolution};
use crate::quality::Extent;

/// The choices for a dominant by where it goes, in the order of preference. Common practice, no
/// published source.
const OPEN: [(&[Resolution], &[DegreeSet]); 9] = [
    (
        &[
            Resolution::FifthToMajor,
            Resolution::FifthToBare,
            Resolution::DeceptiveFromMajor,
        ],
        &[
            DegreeSet::of(&[Nine, Thirteen]),
            DegreeSet::of(&[Flat9, Thirteen]),
            DegreeSet::of(&[Nine, Sharp11]),
            DegreeSet::of(&[Flat9, Flat13]),
        ],
    ),
    (
        &[
            Resolution::FifthToMinor,
            Resolution::FifthToDiminished,
            Resolution::DeceptiveFromMinor,
        ],
        &[
            DegreeSet::of(&[Flat9, Flat13]),
            DegreeSet::of(&[Sharp9, Flat13]),
        ],
    ),
    (
        &[Resolution::FifthToDominant],
        &[
            DegreeSet::of(&[Nine, Thirteen]),
            DegreeSet::of(&[Nine, Sharp11, Thirteen]),
            DegreeSet::of(&[Flat9, Thirteen]),
            DegreeSet::of(&[Flat9, Flat13]),
        ],
    ),
    (
        &[
            Resolution::HalfStep,
            Resolution::Backdoor,
            Resolution::BackdoorToThree,
            Resolution::FlatSix,
            Resolution::Elsewhere,
        ],
        &[
            DegreeSet::of(&[Nine, Sharp11, Thirteen]),
            DegreeSet::of(&[Nine, Thirteen]),
        ],
    ),
    (
        &[Resolution::ToTheDominant, Resolution::DeceptiveFromTwo],
        &[
            DegreeSet::of(&[Nine, Sharp11]),
            DegreeSet::of(&[Nine, Thirteen]),
        ],
    ),
    (
        &[Resolution::ToTheMinorDominant],
        &[
            DegreeSet::of(&[Flat9, Flat13]),
            DegreeSet::of(&[Nine, Sharp11]),
        ],
    ),
    (
        &[Resolution::Rest],
        &[
            DegreeSet::of(&[Nine, Thirteen]),
            DegreeSet::of(&[Sharp9, Five]),
        ],
    ),
    (
        &[Resolution::RestOnFour],
        &[
            DegreeSet::of(&[Nine, Thirteen]),
            DegreeSet::of(&[Nine, Sharp11, Thirteen]),
        ],
    ),
    (
        &[Resolution::ToFour],
        &[
            DegreeSet::of(&[Nine, Thirteen]),
            DegreeSet::of(&[Flat9, Flat13]),
            DegreeSet::of(&[Sharp9, Flat13]),
        ],
    ),
];

const SUSPENDED_TO_MAJOR: &[DegreeSet] = &[DegreeSet::of(&[Nine, Thirteen])];
const SUSPENDED_TO_MINOR: &[DegreeSet] = &[
    DegreeSet::of(&[Nine, Thirteen]),
    DegreeSet::of(&[Flat9, Five]),
];

/// Degrees that share the key of the raised eleventh.
const ELEVENTHS: DegreeSet = DegreeSet::of(&[Sharp11, Flat5]);
/// Degrees of the thirteenth, and the sharp five, which shares the key of the flat thirteenth.
const THIRTEENTHS: DegreeSet = DegreeSet::of(&[Flat13, Thirteen, Sharp5]);
/// Degrees that rule out a natural fifth as a filling note.
const AGAINST_FIVE: DegreeSet = DegreeSet::of(&[Flat5, Sharp5, Flat13]);

/// The choices for `alt`, which has no natural 5, 9 or 13. It has b13, and #9 or b9, whichever
/// leads the voices better.
pub(super) fn altered(chord: &Chord) -> Choices {
    let written = written_first(chord);
    let fixed = NINTHS.intersection(chord.written).iter().next();
    let ninths = [Sharp9, Flat9];
    ninths
        .into_iter()
        .filter(|ninth| fixed.is_none_or(|f| f == *ninth))
        .map(|ninth| {
            let mut others = written;
            append(&mut others, [ninth, Flat13, Sharp11]);
            Tensions {
                third: chord.third(),
                seventh: chord.seventh(),
                others,
                rank: 0,
                reason: Reason::Altered,
            }
        })
        .collect()
}

/// The families of tensions that the symbol or the player has settled. Each field holds what
/// sounds in a family, or an empty set if nothing does.
struct Settled {
    ninth: Option<DegreeSet>,
    eleventh: Option<DegreeSet>,
    thirteenth: Option<DegreeSet>,
    asked: DegreeSet,
    /// Degrees that a written degree implies: a written #11 implies a natural ninth.
    implied: DegreeSet,
}

impl Settled {
    fn of(chord: &Chord, requests: TensionRequests) -> Settled {
        let stated = chord.degrees();
        let written = |family: DegreeSet| {
            let here = family.intersection(stated);
            (!here.is_empty()).then_some(here)
        };
        let asked =
            |degree: Option<Degree>| degree.map_or(DegreeSet::EMPTY, |d| DegreeSet::of(&[d]));
        let ninth = match requests.ninth {
            NinthRequest::ByContext => None,
            NinthRequest::Nine => Some(Nine),
            NinthRequest::Flat9 => Some(Flat9),
            NinthRequest::Sharp9 => Some(Sharp9),
        }
        .map(|d| asked(Some(d)));
        let eleventh = match requests.eleventh {
            EleventhRequest::ByContext => None,
            EleventhRequest::None => Some(asked(None)),
            EleventhRequest::Sharp11 => Some(asked(Some(Sharp11))),
        };
        let thirteenth = match requests.thirteenth {
            ThirteenthRequest::ByContext => None,
            ThirteenthRequest::None => Some(asked(None)),
            ThirteenthRequest::Thirteen => Some(asked(Some(Thirteen))),
            ThirteenthRequest::Flat13 => Some(asked(Some(Flat13))),
        };
        // A natural eleventh, written or suspended, leaves no room for #11.
        let fourth = chord.quality.is_suspended() || stated.contains(Eleven);
        let settled = Settled {
            ninth: written(NINTHS).or(ninth),
            eleventh: if fourth {
                Some(DegreeSet::EMPTY)
            } else {
                written(ELEVENTHS).or(eleventh)
            },
            // An eleventh chord counts up to its eleventh.
            thirteenth: written(THIRTEENTHS)
                .or(thirteenth)
                .or_else(|| (chord.extent == Extent::Eleventh).then_some(DegreeSet::EMPTY)),
            asked: DegreeSet::EMPTY,
            implied: DegreeSet::EMPTY,
        };
        let asked = settled.all().minus(stated);
        let dark = DegreeSet::of(&[Flat13, Sharp5]).intersects(settled.all());
        if chord.written.contains(Sharp11) && settled.ninth.is_none() && !dark {
            let nine = DegreeSet::of(&[Nine]);
            return Settled {
                ninth: Some(nine),
                implied: nine,
                asked,
                ..settled
            };
        }
        Settled { asked, ..settled }
    }

    fn all(&self) -> DegreeSet {
        [self.ninth, self.eleventh, self.thirteenth]
            .into_iter()
            .flatten()
            .fold(DegreeSet::EMPTY, DegreeSet::union)
    }

    /// An option of the table without the families that are to stay silent, if it agrees with
    /// what is settled.
    fn admit(&self, option: DegreeSet, to_minor: bool) -> Option<DegreeSet> {
        let mut option = option;
        // On the way to minor, #5 takes the place of b13, because both are altered there.
        if to_minor && self.thirteenth == Some(DegreeSet::of(&[Sharp5])) && option.contains(Flat13)
        {
            option = option.minus(THIRTEENTHS).with(Sharp5);
        }
        for (settled, family) in [
            (self.ninth, NINTHS),
            (self.eleventh, ELEVENTHS),
            (self.thirteenth, THIRTEENTHS),
        ] {
            let named = option.intersection(family);
            match settled {
                Some(settled) if settled.is_empty() => option = option.minus(family),
                Some(settled) if !named.is_empty() && named != settled => return None,
                _ => {}
            }
        }
        // 9 and #5 make the whole-tone scale, which needs no added #11.
        let augmented = self.thirteenth.is_some_and(|t| t.contains(Sharp5));
        if augmented && self.eleventh.is_none() && option.contains(Sharp11) {
            return None;
        }
        // A natural five leaves no room for a thirteenth, and a thirteenth leaves none for a
        // five.
        let taken = self.thirteenth.is_some_and(|t| !t.is_empty());
        (!(taken && option.contains(Five))).then_some(option)
    }

    /// The choice if no row of the table fits: natural tensions, altered as far as what is
    /// settled and a minor chord to come demand it.
    fn fallback(&self, resolution: Resolution, to_minor: bool, suspended: bool) -> DegreeSet {
        let has = |family: Option<DegreeSet>, degree| family.is_some_and(|f| f.contains(degree));
        let ninth = if has(self.thirteenth, Flat13) {
            Flat9
        } else {
            Nine
        };
        let ninths = self.ninth.unwrap_or(DegreeSet::of(&[ninth]));
        let thirteenth = if suspended && ninths.contains(Flat9) {
            Five
        } else if ninths.contains(Sharp9) && keeps_thirteen(resolution) {
            Thirteen
        } else if ninths.contains(Sharp9) || ninths.contains(Flat9) && to_minor {
            Flat13
        } else if ninths.contains(Nine) && to_minor {
            Five
        } else {
            Thirteen
        };
        let thirteenths = self.thirteenth.unwrap_or(DegreeSet::of(&[thirteenth]));
        ninths.union(thirteenths)
    }
}

/// Whether a #9 comes with 13. The b13 is foreign to such a dominant, which is a substitute or
/// stands on IV.
const fn keeps_thirteen(resolution: Resolution) -> bool {
    matches!(
        resolution,
        Resolution::HalfStep
            | Resolution::Backdoor
            | Resolution::BackdoorToThree
            | Resolution::FlatSix
            | Resolution::Elsewhere
            | Resolution::RestOnFour
    )
}

pub(super) fn dominant(chord: &Chord, function: &Function, requests: TensionRequests) -> Choices {
    let suspended = chord.quality.is_suspended() || chord.degrees().contains(Eleven);
    let settled = Settled::of(chord, requests);
    let to_minor = match function.resolution {
        Resolution::FifthToMinor
        | Resolution::FifthToDiminished
        | Resolution::DeceptiveFromMinor
        | Resolution::ToTheMinorDominant => true,
        Resolution::FifthToBare => function.key.mode == Mode::Minor,
        _ => false,
    };
    let options = if suspended && to_minor {
        SUSPENDED_TO_MINOR
    } else if suspended {
        SUSPENDED_TO_MAJOR
    } else {
        // If the chord a fifth below has no third, the key's own chord on its degree counts.
        let resolution = match function.resolution {
            Resolution::FifthToBare if to_minor => Resolution::FifthToMinor,
            resolution => resolution,
        };
        let row = OPEN.iter().find(|(ways, _)| ways.contains(&resolution));
        row.map_or(&[][..], |(_, options)| options)
    };
    let mut choices = Choices::default();
    for option in options.iter().filter_map(|o| settled.admit(*o, to_minor)) {
        add_choice(&mut choices, chord, &settled, option, function.resolution);
    }
    if choices.is_empty() {
        let option = settled.fallback(function.resolution, to_minor, suspended);
        add_choice(&mut choices, chord, &settled, option, function.resolution);
    }
    choices
}

fn add_choice(
    choices: &mut Choices,
    chord: &Chord,
    settled: &Settled,
    option: DegreeSet,
    resolution: Resolution,
) {
    let mut others = written_first(chord);
    // Requests of the player rank after written degrees, alterations first.
    append(&mut others, settled.asked.iter().filter(|d| d.is_altered()));
    append(
        &mut others,
        settled.asked.iter().filter(|d| !d.is_altered()),
    );
    let by_extent = DegreeSet::of(&[Nine]).intersection(chord.degrees());
    append(&mut others, by_extent.union(settled.implied).iter());
    // Degrees that the table implies for families that are still open.
    let open = |family: DegreeSet, state: Option<DegreeSet>| match state {
        None => family.intersection(option),
        Some(_) => DegreeSet::EMPTY,
    };
    append(&mut others, open(NINTHS, settled.ninth).iter());
    append(&mut others, open(ELEVENTHS, settled.eleventh).iter());
    append(&mut others, open(THIRTEENTHS, settled.thirteenth).iter());
    let so_far: DegreeSet = others.iter().copied().collect();
    if !so_far.intersects(AGAINST_FIVE) {
        append(&mut others, [Five]);
    }
    append(&mut others, [Root]);
    let Ok(rank) = u8::try_from(choices.len()) else {
        return;
    };
    let stated = chord.degrees();
    let fourth = stated.contains(Eleven) && !stated.contains(Sharp11);
    let choice = Tensions {
        // An eleventh takes the place of the major third.
        third: if fourth { Some(Eleven) } else { chord.third() },
        seventh: chord.seventh().or(Some(Flat7)),
        others: if fourth {
            others.into_iter().filter(|d| *d != Eleven).collect()
        } else {
            others
        },
        rank,
        reason: Reason::Goes(resolution),
    };
    // Options can become equal once families are settled.
    if choices.iter().all(|c| c.others != choice.others) {
        let _full = choices.try_push(choice);
    }
}
