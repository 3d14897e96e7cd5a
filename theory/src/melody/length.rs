//! Note values: the lengths that have a sign of their own. Imports `chart`.

use crate::chart::TICKS_PER_QUARTER;
use std::fmt;

/// The length of a note or rest as it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Length {
    /// A note value: 1 for a whole note to 64 for a sixty-fourth.
    Value { part: u8, shape: Shape },
    /// A length that no note value has, in ticks.
    Ticks(u32),
}

/// What makes a note value longer or shorter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shape {
    Plain,
    /// Half as long again.
    Dotted,
    /// Three quarters as long again.
    DoubleDotted,
    /// Two thirds: three in the time of two.
    Triplet,
}

/// The parts of a whole note that have a note value.
pub(super) const PARTS: [u8; 7] = [1, 2, 4, 8, 16, 32, 64];

const SHAPES: [(Shape, &str); 4] = [
    (Shape::Plain, ""),
    (Shape::Dotted, "."),
    (Shape::DoubleDotted, ".."),
    (Shape::Triplet, "t"),
];

// Every note value is a whole number of ticks.
const _: () = assert!((TICKS_PER_QUARTER * 4 / 64).is_multiple_of(12));

impl Length {
    /// A quarter note.
    pub(super) const QUARTER: Length = Length::Value {
        part: 4,
        shape: Shape::Plain,
    };

    /// Reads what stands after the note: `/8`, `/4.`, `/8t` or `:130`.
    pub(super) fn read(text: &str) -> Option<Length> {
        if let Some(ticks) = text.strip_prefix(':') {
            let digits = ticks.bytes().all(|b| b.is_ascii_digit());
            let ticks: Option<u32> = ticks.parse().ok();
            return ticks.filter(|t| digits && *t > 0).map(Length::Ticks);
        }
        let value = text.strip_prefix('/')?;
        let digits = value.bytes().take_while(u8::is_ascii_digit).count();
        let (part, shape) = value.split_at_checked(digits)?;
        let part = part.parse().ok().filter(|part| PARTS.contains(part))?;
        let (shape, _) = SHAPES.into_iter().find(|(_, sign)| *sign == shape)?;
        Some(Length::Value { part, shape })
    }

    /// The length in ticks.
    pub(super) const fn ticks(self) -> u32 {
        match self {
            Length::Ticks(ticks) => ticks,
            Length::Value { part, shape } => {
                let plain = TICKS_PER_QUARTER * 4 / part as u32;
                match shape {
                    Shape::Plain => plain,
                    Shape::Dotted => plain * 3 / 2,
                    Shape::DoubleDotted => plain * 7 / 4,
                    Shape::Triplet => plain * 2 / 3,
                }
            }
        }
    }

    /// Every note value, from the longest within each shape, plain ones first.
    fn values() -> impl Iterator<Item = Length> {
        SHAPES.into_iter().flat_map(|(shape, _)| {
            let parts = PARTS.into_iter();
            parts.map(move |part| Length::Value { part, shape })
        })
    }

    /// The note values that together last so long: one, or two that are tied, the longer first.
    /// What has none is a length in ticks.
    pub(super) fn written(ticks: u32) -> (Length, Option<Length>) {
        let one = |ticks: u32| Length::values().find(|value| value.ticks() == ticks);
        if let Some(value) = one(ticks) {
            return (value, None);
        }
        let tied = Length::values().filter_map(|first| {
            let rest = ticks.checked_sub(first.ticks())?;
            Some((first, one(rest)?)).filter(|_| rest < first.ticks())
        });
        let longest = tied.max_by_key(|(first, _)| first.ticks());
        longest.map_or((Length::Ticks(ticks), None), |(a, b)| (a, Some(b)))
    }
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Length::Ticks(ticks) => write!(f, ":{ticks}"),
            Length::Value { part, shape } => {
                let sign = SHAPES.iter().find(|(other, _)| other == shape);
                write!(f, "/{part}{}", sign.map_or("", |(_, sign)| sign))
            }
        }
    }
}
