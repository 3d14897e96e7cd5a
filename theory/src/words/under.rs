//! Words for chords under a melody: the styles, and why a note has its chord. Imports `out`.

use super::out::{Out, Words, display_in_ascii};
use crate::under::{Dominant, Low, Replacement, Rule, Side, Style, Why};
use std::fmt::{self, Write};

display_in_ascii!(Rule, Replacement, Low);

impl Style {
    /// The name in plain words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Style::FourWayClose => "four-way close",
            Style::DropTwo => "drop 2",
            Style::DoubleLead => "double lead",
        }
    }
}

impl Words for Replacement {
    fn write(&self, out: &mut Out) -> fmt::Result {
        self.by.write(out)?;
        out.write_str(" for ")?;
        self.of.write(out)
    }
}

impl Words for Rule {
    fn write(&self, out: &mut Out) -> fmt::Result {
        out.write_str(match self {
            Rule::ChordTone => "chord tone",
            Rule::Tension(replacement) => return replacement.write(out),
            Rule::Added => "added to the chord",
            Rule::Diminished(Dominant::Key) => "passing diminished, of the key's dominant",
            Rule::Diminished(Dominant::Chord) => "passing diminished, of the chord's own dominant",
            Rule::DiminishedOff => "passing diminished, a half step off",
            Rule::Approach(Side::Below) => "half step from below",
            Rule::Approach(Side::Above) => "half step from above",
            Rule::Repeated => "repeated",
            Rule::Single(Why::NoChord) => "single: no chord is known",
            Rule::Single(Why::Fast) => "single: a fast line",
            Rule::Single(Why::TooLow) => "single: too low for more voices",
        })
    }
}

impl Words for Low {
    fn write(&self, out: &mut Out) -> fmt::Result {
        match self {
            Low::CloseInsteadOf(style) => {
                write!(out, "four-way close, {} would lie too low", style.name())
            }
            Low::Without(1) => out.write_str("without a voice that would lie too low"),
            Low::Without(voices) => write!(out, "without {voices} voices that would lie too low"),
        }
    }
}
