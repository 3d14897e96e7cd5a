//! Which of the player's wishes count for a chord. Imports the theory.

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::quality::Quality;
use guidehand_theory::tension::{
    Asks, EleventhAsk, MajorEleventhAsk, MinorEleventhAsk, NinthAsk, PlainNinthAsk, ThirteenthAsk,
};

/// The tensions that the player asks of a chord: its quality says which wishes
/// count. Sixths and sevenths are chord tones, and no tensions.
#[must_use]
pub fn asked(chord: &Chord, asks: &Asks) -> DegreeSet {
    let minor_eleventh = match asks.minor_eleventh {
        MinorEleventhAsk::ByContext | MinorEleventhAsk::None => None,
        MinorEleventhAsk::Eleven => Some(Degree::Eleven),
    };
    let plain_ninth = match asks.plain_ninth {
        PlainNinthAsk::ByContext | PlainNinthAsk::None => None,
        PlainNinthAsk::Nine => Some(Degree::Nine),
    };
    let asked = match chord.quality {
        Quality::Altered => [None; 3],
        Quality::Dominant => asked_of_dominants(asks),
        Quality::DominantSuspended | Quality::Suspended => {
            let [ninth, _, thirteenth] = asked_of_dominants(asks);
            [ninth, minor_eleventh, thirteenth]
        }
        Quality::Major | Quality::Sixth | Quality::MajorSeventh => {
            let eleventh = match asks.major_eleventh {
                MajorEleventhAsk::ByContext | MajorEleventhAsk::None => None,
                MajorEleventhAsk::Sharp11 => Some(Degree::Sharp11),
            };
            [plain_ninth, eleventh, None]
        }
        Quality::Minor
        | Quality::MinorSixth
        | Quality::MinorSeventh
        | Quality::MinorMajorSeventh
        | Quality::HalfDiminished => [plain_ninth, minor_eleventh, None],
        Quality::SuspendedSecond
        | Quality::Diminished
        | Quality::DiminishedSeventh
        | Quality::Augmented
        | Quality::Power => [plain_ninth, None, None],
    };
    asked.into_iter().flatten().collect()
}

/// The ninth, the eleventh and the thirteenth that are asked of open dominants.
const fn asked_of_dominants(asks: &Asks) -> [Option<Degree>; 3] {
    let ninth = match asks.ninth {
        NinthAsk::ByContext => None,
        NinthAsk::Nine => Some(Degree::Nine),
        NinthAsk::Flat9 => Some(Degree::Flat9),
        NinthAsk::Sharp9 => Some(Degree::Sharp9),
    };
    let eleventh = match asks.eleventh {
        EleventhAsk::ByContext | EleventhAsk::None => None,
        EleventhAsk::Sharp11 => Some(Degree::Sharp11),
    };
    let thirteenth = match asks.thirteenth {
        ThirteenthAsk::ByContext | ThirteenthAsk::None => None,
        ThirteenthAsk::Thirteen => Some(Degree::Thirteen),
        ThirteenthAsk::Flat13 => Some(Degree::Flat13),
    };
    [ninth, eleventh, thirteenth]
}
