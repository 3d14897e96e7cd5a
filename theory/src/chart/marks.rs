//! The marks around the bars of a chart: the names of sections, and the signs of the road
//! (D.C., D.S., segno, coda and `Fine`). Imports nothing; the folder of `chart` imports it.

use std::fmt;

/// What a section is called.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum SectionName {
    /// `A` to `Z`.
    Letter(char),
    /// One of the usual words: `Intro`, `Bridge`.
    Word(&'static str),
}

/// The name of a section: `[A]`, `[A2]`, `[A']` or `[Bridge]`, or `A:` with a colon
/// in place of the brackets.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Section {
    /// The letter or word.
    pub name: SectionName,
    /// The digit after it, 1 to 9, or 0 if there is none.
    pub digit: u8,
    /// The number of primes after it, 0 to 3. A section with a digit has none.
    pub primes: u8,
}

impl fmt::Display for Section {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.name {
            SectionName::Letter(letter) => write!(f, "[{letter}")?,
            SectionName::Word(word) => write!(f, "[{word}")?,
        }
        if self.digit > 0 {
            write!(f, "{}", self.digit)?;
        }
        write!(f, "{:'<1$}]", "", usize::from(self.primes))
    }
}

/// Where a jump leads to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// D.C.: to the first full bar.
    Beginning,
    /// D.S.: to the last segno before it.
    Segno,
}

/// How far the music is played after a jump.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Until {
    /// The chart does not say it. The music goes to `Fine`, or to `To Coda` and on from the
    /// coda, whichever comes first, or else past the jump to the end.
    End,
    /// `al Fine`
    Fine,
    /// `al Coda`
    Coda,
}

/// A D.C. or D.S., which is taken once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Jump {
    /// Where it leads to.
    pub from: Start,
    /// How far it is followed.
    pub until: Until,
}

impl fmt::Display for Jump {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.from {
            Start::Beginning => "D.C.",
            Start::Segno => "D.S.",
        })?;
        f.write_str(match self.until {
            Until::End => "",
            Until::Fine => " al Fine",
            Until::Coda => " al Coda",
        })
    }
}

/// The signs of the road at a bar.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Roads {
    /// Whether `Segno` stands before it.
    pub segno: bool,
    /// Whether `Coda` stands before it, so that the coda begins here.
    pub coda: bool,
    /// Whether `To Coda` stands after it.
    pub to_coda: bool,
    /// Whether `Fine` stands after it.
    pub fine: bool,
    /// The D.C. or D.S. after it.
    pub jump: Option<Jump>,
}

/// A sign of the road.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Road {
    /// The place that D.S. goes back to.
    Segno,
    /// The coda begins.
    Coda,
    /// The jump to the coda, `To Coda`.
    ToCoda,
    /// The end after a jump.
    Fine,
    /// D.C. or D.S.
    Jump(Jump),
}
