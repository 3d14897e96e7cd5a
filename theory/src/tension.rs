//! Tensions: what a symbol asks for, what the player asks for, and what is
//! chosen where both leave it open, with the reason.
//! Imports `chord`, `key` and what is above them.

mod over_bass;
mod reason;
mod settled;
mod sounding;

pub use reason::Reason;
pub use sounding::{sounding, with_seventh};

use crate::chord::Chord;
use crate::degree::Degree::{
    self, Eleven, Five, Flat5, Flat7, Flat9, Flat13, Nine, Root, Sharp5, Sharp9, Sharp11, Thirteen,
};
use crate::degree::DegreeSet;
use crate::key::{Function, Mode, Resolution};
use crate::quality::{Extent, Quality};
use tinyvec::ArrayVec;

/// What the player asks of the ninth of open dominants.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum NinthRequest {
    /// Chosen from where the chord goes.
    #[default]
    ByContext,
    /// 9
    Nine,
    /// b9
    Flat9,
    /// #9
    Sharp9,
}

/// What the player asks of the eleventh of open dominants.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum EleventhRequest {
    /// Chosen from where the chord goes.
    #[default]
    ByContext,
    /// No eleventh.
    None,
    /// #11
    Sharp11,
}

/// What the player asks of the thirteenth of open dominants.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum ThirteenthRequest {
    /// Chosen from where the chord goes.
    #[default]
    ByContext,
    /// No thirteenth: the fifth sounds.
    None,
    /// 13
    Thirteen,
    /// b13
    Flat13,
}

/// What the player asks of the ninth of chords that are no dominants.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum PlainNinthRequest {
    /// As the chord takes it by itself.
    #[default]
    ByContext,
    /// No ninth: the root, or another chord tone, stands in its slot.
    None,
    /// 9
    Nine,
}

/// What the player asks of the eleventh of minor, half-diminished and suspended
/// chords.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MinorEleventhRequest {
    /// As the chord takes it by itself.
    #[default]
    ByContext,
    /// No eleventh.
    None,
    /// 11
    Eleven,
}

/// What the player asks of the eleventh of major chords.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MajorEleventhRequest {
    /// As the chord takes it by itself.
    #[default]
    ByContext,
    /// No eleventh.
    None,
    /// #11
    Sharp11,
}

/// What the player asks of the seventh of a major tonic.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MajorTonicRequest {
    /// As the symbol says; a triad takes its sixth.
    #[default]
    ByContext,
    /// 6, for 6/9
    Six,
    /// 7, for maj7
    Seven,
}

/// What the player asks of the seventh of a minor tonic.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MinorTonicRequest {
    /// As the symbol says; a triad takes its sixth.
    #[default]
    ByContext,
    /// 6, for m6/9
    Six,
    /// b7, for m7
    Flat7,
    /// 7, for m(maj7)
    Seven,
}

/// What the player asks of chords, family by family. What a symbol writes is
/// always kept.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct TensionRequests {
    /// The ninths of open dominants.
    pub ninth: NinthRequest,
    /// The elevenths of open dominants.
    pub eleventh: EleventhRequest,
    /// The thirteenths of open dominants.
    pub thirteenth: ThirteenthRequest,
    /// The ninths of chords that are no dominants.
    pub plain_ninth: PlainNinthRequest,
    /// The elevenths of minor, half-diminished and suspended chords.
    pub minor_eleventh: MinorEleventhRequest,
    /// The elevenths of major chords.
    pub major_eleventh: MajorEleventhRequest,
    /// The sixth or seventh of major tonics.
    pub major_tonic: MajorTonicRequest,
    /// The sixth or seventh of minor tonics.
    pub minor_tonic: MinorTonicRequest,
}

/// What is to sound over a chord: the guide tones, and everything else by rank.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tensions {
    /// The third, or what stands for it.
    pub third: Option<Degree>,
    /// The seventh, or the sixth or diminished seventh that stands for it.
    pub seventh: Option<Degree>,
    /// The other degrees, the most needed first: written alterations, written
    /// naturals, implied tensions, then chord tones that fill up.
    pub others: ArrayVec<[Degree; 8]>,
    /// 0 for the first choice, more for choices further down the table.
    pub rank: u8,
    /// Why.
    pub reason: Reason,
}

/// The choices for one chord, the best first; there is always at least one.
pub type Choices = ArrayVec<[Tensions; 6]>;

/// Choices for a dominant that goes somewhere. Common practice, no published
/// source; the order is the order of preference.
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

const NINTHS: DegreeSet = DegreeSet::of(&[Flat9, Nine, Sharp9]);
/// Degrees that share the key of the natural eleventh's alteration.
const ELEVENTHS: DegreeSet = DegreeSet::of(&[Sharp11, Flat5]);
/// Degrees of the thirteenth, and the sharp five that shares the key of its alteration.
const THIRTEENTHS: DegreeSet = DegreeSet::of(&[Flat13, Thirteen, Sharp5]);
/// What keeps a natural fifth from filling up.
const AGAINST_FIVE: DegreeSet = DegreeSet::of(&[Flat5, Sharp5, Flat13]);

/// What may sound over a chord in this function, as the player asks. Asks touch the
/// chords that they name, and give way to what the symbol writes.
#[must_use]
pub fn resolve(chord: &Chord, function: &Function, requests: TensionRequests) -> Choices {
    resolve_under(chord, function, requests, None)
}

/// As [`resolve`], under a melody that holds this degree of the chord: a major
/// chord under its own root takes a sixth for its seventh.
#[must_use]
pub fn resolve_under(
    chord: &Chord,
    function: &Function,
    requests: TensionRequests,
    melody: Option<Degree>,
) -> Choices {
    let mut choices = match chord.quality {
        _ if settled::is_bare(chord) => ArrayVec::from_iter([settled::bare(chord)]),
        Quality::Altered => altered(chord),
        Quality::Dominant | Quality::DominantSuspended | Quality::Suspended => {
            dominant(chord, function, requests)
        }
        _ => ArrayVec::from_iter([settled::settled(chord, function, requests, melody)]),
    };
    for choice in &mut choices {
        choice.others.retain(|d| !chord.omitted.contains(*d));
        over_bass::agree(chord, choice);
    }
    choices
}

/// Adds degrees that are not there yet.
fn rank(others: &mut ArrayVec<[Degree; 8]>, degrees: impl IntoIterator<Item = Degree>) {
    for degree in degrees {
        if !others.contains(&degree) {
            let _full = others.try_push(degree);
        }
    }
}

fn written_first(chord: &Chord) -> ArrayVec<[Degree; 8]> {
    let mut others = ArrayVec::default();
    let stated = chord.degrees();
    let essential = DegreeSet::of(&[Flat5, Sharp5]).intersection(stated);
    let altered = chord.written.iter().filter(|d| d.is_altered());
    rank(&mut others, altered.filter(|d| NINTHS.contains(*d)));
    rank(&mut others, essential.iter());
    rank(
        &mut others,
        [Flat13, Sharp11]
            .into_iter()
            .filter(|d| chord.written.contains(*d)),
    );
    let by_extent = match chord.extent {
        Extent::Plain => None,
        Extent::Ninth => Some(Nine),
        Extent::Eleventh => Some(Eleven),
        Extent::Thirteenth => Some(Thirteen),
    };
    rank(&mut others, by_extent.filter(|d| stated.contains(*d)));
    let naturals = DegreeSet::of(&[Nine, Eleven, Thirteen]).intersection(chord.written);
    rank(&mut others, naturals.iter());
    others
}

/// `alt`: no natural 5, 9 or 13; #9 or b9 as the voices lead, with b13.
fn altered(chord: &Chord) -> Choices {
    let written = written_first(chord);
    let fixed = NINTHS.intersection(chord.written).iter().next();
    let ninths = [Sharp9, Flat9];
    ninths
        .into_iter()
        .filter(|ninth| fixed.is_none_or(|f| f == *ninth))
        .map(|ninth| {
            let mut others = written;
            rank(&mut others, [ninth, Flat13, Sharp11]);
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

/// The families of a dominant that the symbol or the player has settled: what
/// sounds there, or that nothing does.
struct Settled {
    ninth: Option<DegreeSet>,
    eleventh: Option<DegreeSet>,
    thirteenth: Option<DegreeSet>,
    asked: DegreeSet,
    /// What a written degree brings with it: a written #11 a natural ninth.
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
            // An eleventh chord counts to its eleventh.
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

    /// An option of the table, less the families that are to stay silent, if it
    /// agrees with what is settled.
    fn admit(&self, option: DegreeSet, to_minor: bool) -> Option<DegreeSet> {
        let mut option = option;
        // On the way to minor #5 takes the place of b13, for there both are altered.
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
        // 9 and #5 are the whole-tone scale, which needs no #11 of ours.
        let augmented = self.thirteenth.is_some_and(|t| t.contains(Sharp5));
        if augmented && self.eleventh.is_none() && option.contains(Sharp11) {
            return None;
        }
        // A natural five leaves no room for a thirteenth, nor the other way round.
        let taken = self.thirteenth.is_some_and(|t| !t.is_empty());
        (!(taken && option.contains(Five))).then_some(option)
    }

    /// For what the table has no row for: natural tensions, darkened as far as
    /// what is settled and the minor chord to come ask for it.
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

/// Whether a #9 takes 13 with it, for the b13 of such a dominant is foreign: it is
/// a substitute, or stands on IV.
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

fn dominant(chord: &Chord, function: &Function, requests: TensionRequests) -> Choices {
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
        // A fifth below, a chord without a third is what the key would have there.
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
    // What the player asked for ranks after what is written, alterations first.
    rank(&mut others, settled.asked.iter().filter(|d| d.is_altered()));
    rank(
        &mut others,
        settled.asked.iter().filter(|d| !d.is_altered()),
    );
    let by_extent = DegreeSet::of(&[Nine]).intersection(chord.degrees());
    rank(&mut others, by_extent.union(settled.implied).iter());
    // What the table implies for families that are still open.
    let open = |family: DegreeSet, state: Option<DegreeSet>| match state {
        None => family.intersection(option),
        Some(_) => DegreeSet::EMPTY,
    };
    rank(&mut others, open(NINTHS, settled.ninth).iter());
    rank(&mut others, open(ELEVENTHS, settled.eleventh).iter());
    rank(&mut others, open(THIRTEENTHS, settled.thirteenth).iter());
    let so_far: DegreeSet = others.iter().copied().collect();
    if !so_far.intersects(AGAINST_FIVE) {
        rank(&mut others, [Five]);
    }
    rank(&mut others, [Root]);
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
    // Options can fall together once families are settled.
    if choices.iter().all(|c| c.others != choice.others) {
        let _full = choices.try_push(choice);
    }
}

/// The tensions among sounding degrees, altered fifths with them.
#[must_use]
pub fn of(degrees: DegreeSet) -> DegreeSet {
    let altered_fifths = DegreeSet::of(&[Flat5, Sharp5]);
    degrees
        .iter()
        .filter(|d| d.family().is_some() || altered_fifths.contains(*d))
        .collect()
}

#[cfg(test)]
mod tests;
