//! Words for why tensions are what they are, and for what yields to a melody. Imports `out`.

use super::out::{Out, Words, display_in_ascii};
use crate::key::Resolution;
use crate::tension::{Outcome, Reason, Yield};
use std::fmt::{self, Write};

display_in_ascii!(Reason, Yield);

impl Words for Yield {
    /// `b9 yields to 9: A in the melody`.
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.name(self.degree)?;
        match self.outcome {
            Outcome::To(degree) => {
                out.write_str(" yields to ")?;
                out.name(degree)?;
            }
            Outcome::LeftOut => out.write_str(" is left out")?,
            Outcome::WrittenLeftOut(None) => out.write_str(", as written, is left out")?,
            Outcome::WrittenLeftOut(Some(degree)) => {
                out.write_str(", as written, is left out and ")?;
                out.name(degree)?;
                out.write_str(" fills its place")?;
            }
            Outcome::Stands => out.write_str(" stands")?,
        }
        out.write_str(": ")?;
        out.name(self.melody)?;
        out.write_str(" in the melody")
    }
}

impl Words for Reason {
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.write_str(match *self {
            Reason::AsWritten => "as written",
            Reason::AsUsual => "as written, with what the chord takes by itself",
            Reason::MajorTriad => "a major triad dressed as 6/9",
            Reason::MinorTonic => "a minor tonic dressed as m6/9",
            Reason::MinorTriad => "a minor triad dressed as m9",
            Reason::DiminishedTriad => "a diminished triad with its seventh",
            Reason::SuspendedSecond => "a suspended second with its sixth",
            Reason::RootInMelody => "dressed with the sixth, under the root in the melody",
            Reason::AskedSixth => "a tonic with its sixth, as asked",
            Reason::AskedSeventh => "a tonic with its seventh, as asked",
            Reason::AskedMinorSeventh => "a tonic with its minor seventh, as asked",
            Reason::AskedMajorSeventh => "a tonic with its major seventh, as asked",
            Reason::Pinned => "as pinned",
            Reason::Altered => "altered, by voice leading",
            Reason::Goes(resolution) => goes(resolution),
        })
    }
}

/// Where the dominant goes, in words that are true of the chord that follows.
pub(super) const fn goes(resolution: Resolution) -> &'static str {
    match resolution {
        Resolution::FifthToMajor => "falls a fifth to a major chord",
        Resolution::FifthToMinor => "falls a fifth to a minor chord",
        Resolution::FifthToDiminished => "falls a fifth to a diminished chord",
        Resolution::FifthToBare => "falls a fifth to a chord without a third",
        Resolution::FifthToDominant => "falls a fifth to another dominant",
        Resolution::HalfStep => "falls a half step",
        Resolution::Backdoor => "steps up to the tonic",
        Resolution::BackdoorToThree => "leads to iii, which stands for I",
        Resolution::FlatSix => "♭VI7, prepares the dominant",
        Resolution::ToTheDominant => "II7, prepares the dominant",
        Resolution::ToTheMinorDominant => "II7, prepares the dominant of a minor key",
        Resolution::DeceptiveFromMajor => "promises a major chord, goes elsewhere",
        Resolution::DeceptiveFromMinor => "promises a minor chord, goes elsewhere",
        Resolution::DeceptiveFromTwo => "promises the dominant, goes elsewhere",
        Resolution::Elsewhere => "a dominant from outside the key",
        Resolution::ToFour => "I7 of the blues, leads to IV7",
        Resolution::RestOnFour => "at rest on IV",
        Resolution::Rest => "at rest",
    }
}
