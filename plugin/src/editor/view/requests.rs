//! Which of the player's requests count for a chord. Pure; the panel's thread. `now`
//! and `families` import it.

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::quality::Quality;
use guidehand_theory::tension::{
    EleventhRequest, MajorEleventhRequest, MinorEleventhRequest, NinthRequest, PlainNinthRequest,
    TensionRequests, ThirteenthRequest,
};

/// The tensions that the player asks of a chord: its quality says which requests
/// count. Sixths and sevenths are chord tones, and no tensions.
#[must_use]
pub fn asked(chord: &Chord, requests: &TensionRequests) -> DegreeSet {
    let minor_eleventh = match requests.minor_eleventh {
        MinorEleventhRequest::ByContext | MinorEleventhRequest::None => None,
        MinorEleventhRequest::Eleven => Some(Degree::Eleven),
    };
    let plain_ninth = match requests.plain_ninth {
        PlainNinthRequest::ByContext | PlainNinthRequest::None => None,
        PlainNinthRequest::Nine => Some(Degree::Nine),
    };
    let asked = match chord.quality {
        Quality::Altered => [None; 3],
        Quality::Dominant => asked_of_dominants(requests),
        Quality::DominantSuspended | Quality::Suspended => {
            let [ninth, _, thirteenth] = asked_of_dominants(requests);
            [ninth, minor_eleventh, thirteenth]
        }
        Quality::Major | Quality::Sixth | Quality::MajorSeventh => {
            let eleventh = match requests.major_eleventh {
                MajorEleventhRequest::ByContext | MajorEleventhRequest::None => None,
                MajorEleventhRequest::Sharp11 => Some(Degree::Sharp11),
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
const fn asked_of_dominants(requests: &TensionRequests) -> [Option<Degree>; 3] {
    let ninth = match requests.ninth {
        NinthRequest::ByContext => None,
        NinthRequest::Nine => Some(Degree::Nine),
        NinthRequest::Flat9 => Some(Degree::Flat9),
        NinthRequest::Sharp9 => Some(Degree::Sharp9),
    };
    let eleventh = match requests.eleventh {
        EleventhRequest::ByContext | EleventhRequest::None => None,
        EleventhRequest::Sharp11 => Some(Degree::Sharp11),
    };
    let thirteenth = match requests.thirteenth {
        ThirteenthRequest::ByContext | ThirteenthRequest::None => None,
        ThirteenthRequest::Thirteen => Some(Degree::Thirteen),
        ThirteenthRequest::Flat13 => Some(Degree::Flat13),
    };
    [ninth, eleventh, thirteenth]
}
