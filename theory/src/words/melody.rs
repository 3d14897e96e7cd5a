//! What is wrong with the text of a melody, in words. Imports `melody`.

use crate::chart::Meter;
use crate::melody::{LONGEST_TEXT, MOST_NOTES, MelodyError, MelodyProblem};
use std::fmt;

impl fmt::Display for MelodyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.bar {
            0 => write!(f, "pickup: {}", self.problem),
            bar => write!(f, "bar {bar}: {}", self.problem),
        }
    }
}

impl fmt::Display for MelodyProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            MelodyProblem::Note(word) => write!(
                f,
                "\"{word}\" is no note; expected a name with an octave, such as E5 or Bb4/8, \
                 or r for a rest"
            ),
            MelodyProblem::Octave(word) => write!(
                f,
                "\"{word}\" is no key; expected an octave after the name, with middle C as C4, \
                 from C-1 to G9"
            ),
            MelodyProblem::Length(length) => write!(
                f,
                "\"{length}\" is no length; expected /1 /2 /4 /8 /16 /32 or /64, with . or .. \
                 (dots) or t (triplet), or : and a number of ticks"
            ),
            MelodyProblem::Bar(ticks, meter) => {
                f.write_str("notes and rests of ")?;
                beats(*ticks, *meter, f)?;
                write!(f, " in {meter}; expected {}", meter.beats)
            }
            MelodyProblem::Tie => {
                f.write_str("\"~\" ties two notes on one key; expected the same note after it")
            }
            MelodyProblem::Bars(bars) => write!(
                f,
                "the chart has {bars} {} as played; expected no more",
                if *bars == 1 { "bar" } else { "bars" }
            ),
            MelodyProblem::TooLong => write!(
                f,
                "the melody is too long; expected at most {LONGEST_TEXT} bytes"
            ),
            MelodyProblem::TooMany => {
                write!(f, "too many notes; expected at most {MOST_NOTES}")
            }
        }
    }
}

/// A length in beats of a meter, to two places: `3 beats`, `3.5 beats`.
fn beats(ticks: u32, meter: Meter, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    let beats = f64::from(ticks) / f64::from(meter.beat_ticks());
    let text = format!("{beats:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    let unit = if text == "1" { "beat" } else { "beats" };
    write!(f, "{text} {unit}")
}
