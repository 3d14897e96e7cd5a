//! Words for why a scale is suggested. Imports `out`.

use super::out::{Out, Words, display_in_ascii};
use crate::scale::Reason;
use std::fmt::{self, Write};

display_in_ascii!(Reason);

impl Words for Reason {
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.write_str(match *self {
            Reason::Fits {
                first: true,
                in_key: true,
            } => "holds the chord and its tensions; all its notes are in the key",
            Reason::Fits {
                first: true,
                in_key: false,
            } => "holds the chord and its tensions",
            Reason::Fits {
                first: false,
                in_key: true,
            } => "fits too; all its notes are in the key",
            Reason::Fits {
                first: false,
                in_key: false,
            } => "fits too",
            Reason::PassingNote => "with a passing note",
            Reason::NearestToKey => "of all scales that hold the chord, the nearest to the key",
            Reason::NoneHolds => "no scale of the table holds all that sounds",
            Reason::Flat5IsSharp11 => "the ♭5 is its ♯11",
            Reason::AtHomeInMinor => "at home in minor",
            Reason::RaisedInMinor => "at home in minor, with the raised sixth and seventh",
            Reason::TwoOfTwoFive => "the ii of a ii-V",
            Reason::WholeStepsAbove => "adds a note a whole step above each chord tone",
            Reason::HarmonicMinorAbove => {
                "the harmonic minor scale a half step up, where the chord can lead"
            }
            Reason::NineBesideSharp5 => "holds 9 beside ♯5",
            Reason::AtHomeInBlues => "at home in a blues",
            Reason::FourTakesSharp11 => "IV7 takes ♯11 too",
            Reason::FallsHalfStep => "falls a half step",
            Reason::StepsUpFromFlat7 => "steps up from ♭VII",
            Reason::LeadsToThree => "leads to iii, which stands for I",
            Reason::Flat6TakesSharp11 => "♭VI7 takes ♯11",
            Reason::Sharp11ToTheDominant => "takes ♯11 on its way to the dominant",
            Reason::TritoneSubstitute => "a tritone substitute",
            Reason::Backdoor => "the backdoor dominant",
            Reason::Flat3OfMinor => "♭III of a minor key",
            Reason::FourOfMinor => "iv of a minor key",
            Reason::MinorFromOutside => "a minor chord from outside the key",
            Reason::LeadsToMinor => "leads to minor",
            Reason::LeadsToDominantOfMinor => "leads to the dominant of a minor key",
            Reason::PromisesMinor => "promises a minor chord",
            Reason::DominantOfMinor => "the dominant of a minor key",
            Reason::WithoutFourthAndSeventh => "five notes to rest on, without fourth and seventh",
            Reason::WholeStepUp => "a whole step up: brings out 9, ♯11 and 13",
            Reason::TritoneAway => "a tritone away: brings out ♭9, ♯9 and ♭13",
            Reason::FifthUpSuspended => "a fifth up: 1, 9, 4, 5 and ♭7",
            Reason::WithoutNinthAndThirteenth => {
                "five notes to rest on, without ninth and thirteenth"
            }
            Reason::FifthUp => "a fifth up: brings out 9 and 11",
            Reason::BluesThatRubs => "the blues scale of the key; it rubs against the chord",
            Reason::Blues => "the blues scale of the key",
        })
    }
}
