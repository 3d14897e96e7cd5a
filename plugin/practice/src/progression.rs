//! The chords of each progression in C, and the chord that each family is in its own key. Imports
//! `choice` and the theory.

use crate::choice::Progression;
use guidehand_theory::chart::TICKS_PER_QUARTER;
use guidehand_theory::chord::Chord;
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::own_shape::ShapeFamily;
use guidehand_theory::pitch::Letter::{self, A, B, C, D, E, F, G};
use guidehand_theory::pitch::NoteName;
use guidehand_theory::quality::Quality::{
    self, DiminishedSeventh, Dominant, HalfDiminished, MajorSeventh, MinorSeventh, MinorSixth,
};

/// A chord of a progression in C, by its letter, the half steps beside it, its quality and its length in
/// quarter notes.
type Row = (Letter, i8, Quality, u32);

/// Chords in C. The last ones may only be what the others lead to.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stock {
    mode: Mode,
    rows: &'static [Row],
    /// So many of the rows are asked for.
    asked: usize,
    /// The families that its tonic may be of, the first one by default. None if the tonic has no choice.
    pub tonics: &'static [ShapeFamily],
}

const MAJOR_TONICS: &[ShapeFamily] = &[ShapeFamily::MajorSeventh, ShapeFamily::SixNine];
const MINOR_TONICS: &[ShapeFamily] = &[ShapeFamily::MinorSixth, ShapeFamily::MinorMajorSeventh];

/// A chord of a progression with its length in ticks.
#[derive(Clone, Copy, Debug)]
pub(crate) struct StockChord {
    /// The chord.
    pub chord: Chord,
    /// Its length in ticks.
    pub ticks: u32,
    /// It is the tonic.
    pub is_tonic: bool,
}

impl Stock {
    /// The key that it is in.
    pub const fn key(&self) -> Key {
        Key {
            tonic: NoteName::new(C, 0),
            mode: self.mode,
        }
    }

    /// How many of its chords are asked for, from the first.
    pub const fn asked(&self) -> usize {
        self.asked
    }

    /// Its chords, with those that the others lead to.
    pub fn chords(&self) -> impl Iterator<Item = StockChord> + use<> {
        self.rows.iter().map(|(letter, signs, quality, quarters)| {
            let chord = Chord::new(NoteName::new(*letter, *signs), *quality);
            StockChord {
                chord,
                ticks: quarters * TICKS_PER_QUARTER,
                is_tonic: matches!(letter, C),
            }
        })
    }

    const fn all(mode: Mode, rows: &'static [Row], tonics: &'static [ShapeFamily]) -> Stock {
        Stock {
            mode,
            rows,
            asked: rows.len(),
            tonics,
        }
    }

    /// All but the last chord.
    const fn led(mode: Mode, rows: &'static [Row]) -> Stock {
        Stock {
            mode,
            rows,
            asked: rows.len().saturating_sub(1),
            tonics: &[],
        }
    }

    /// The chords of a progression (common practice, no published source). None for single chords.
    pub const fn of(progression: Progression) -> Option<Stock> {
        Some(match progression {
            Progression::Single => return None,
            Progression::TwoFive => Stock::led(
                Mode::Major,
                &[
                    (D, 0, MinorSeventh, 4),
                    (G, 0, Dominant, 4),
                    (C, 0, MajorSeventh, 8),
                ],
            ),
            Progression::TwoFiveOneMajor => Stock::all(
                Mode::Major,
                &[
                    (D, 0, MinorSeventh, 4),
                    (G, 0, Dominant, 4),
                    (C, 0, MajorSeventh, 8),
                ],
                MAJOR_TONICS,
            ),
            Progression::TwoFiveOneMinor => Stock::all(
                Mode::Minor,
                &[
                    (D, 0, HalfDiminished, 4),
                    (G, 0, Dominant, 4),
                    (C, 0, MinorSixth, 8),
                ],
                MINOR_TONICS,
            ),
            Progression::Turnaround => Stock::all(
                Mode::Major,
                &[
                    (C, 0, MajorSeventh, 2),
                    (A, 0, Dominant, 2),
                    (D, 0, MinorSeventh, 2),
                    (G, 0, Dominant, 2),
                ],
                MAJOR_TONICS,
            ),
            Progression::TurnaroundOnThree => Stock::led(
                Mode::Major,
                &[
                    (E, 0, MinorSeventh, 2),
                    (A, 0, Dominant, 2),
                    (D, 0, MinorSeventh, 2),
                    (G, 0, Dominant, 2),
                    (C, 0, MajorSeventh, 4),
                ],
            ),
            Progression::TurnaroundMinor => Stock::all(
                Mode::Minor,
                &[
                    (C, 0, MinorSixth, 2),
                    (A, 0, HalfDiminished, 2),
                    (D, 0, HalfDiminished, 2),
                    (G, 0, Dominant, 2),
                ],
                MINOR_TONICS,
            ),
            Progression::Blues => Stock::all(
                Mode::Blues,
                &[
                    (C, 0, Dominant, 4),
                    (F, 0, Dominant, 4),
                    (C, 0, Dominant, 8),
                    (F, 0, Dominant, 8),
                    (C, 0, Dominant, 8),
                    (G, 0, Dominant, 4),
                    (F, 0, Dominant, 4),
                    (C, 0, Dominant, 4),
                    (G, 0, Dominant, 4),
                ],
                &[],
            ),
            Progression::JazzBlues => Stock::all(
                Mode::Blues,
                &[
                    (C, 0, Dominant, 4),
                    (F, 0, Dominant, 4),
                    (C, 0, Dominant, 4),
                    (G, 0, MinorSeventh, 2),
                    (C, 0, Dominant, 2),
                    (F, 0, Dominant, 4),
                    (F, 1, DiminishedSeventh, 4),
                    (C, 0, Dominant, 4),
                    (E, 0, HalfDiminished, 2),
                    (A, 0, Dominant, 2),
                    (D, 0, MinorSeventh, 4),
                    (G, 0, Dominant, 4),
                    (C, 0, Dominant, 2),
                    (A, 0, Dominant, 2),
                    (D, 0, MinorSeventh, 2),
                    (G, 0, Dominant, 2),
                ],
                &[],
            ),
            Progression::MinorBlues => Stock::all(
                Mode::Minor,
                &[
                    (C, 0, MinorSeventh, 4),
                    (F, 0, MinorSeventh, 4),
                    (C, 0, MinorSeventh, 8),
                    (F, 0, MinorSeventh, 8),
                    (C, 0, MinorSeventh, 8),
                    (A, -1, Dominant, 4),
                    (G, 0, Dominant, 4),
                    (C, 0, MinorSeventh, 4),
                    (G, 0, Dominant, 4),
                ],
                &[],
            ),
        })
    }

    /// A chord of a family where it is at home: minor sevenths as ii, half-diminished chords as iiø,
    /// diminished ones a half step below a tonic, dominants as V, and all others as tonics.
    pub const fn of_family(family: ShapeFamily) -> Stock {
        match family {
            ShapeFamily::MajorSeventh => Stock::all(Mode::Major, &[(C, 0, MajorSeventh, 4)], &[]),
            ShapeFamily::SixNine => Stock::all(Mode::Major, &[(C, 0, Quality::Sixth, 4)], &[]),
            ShapeFamily::MinorSeventh => Stock {
                mode: Mode::Major,
                rows: &[
                    (D, 0, MinorSeventh, 4),
                    (G, 0, Dominant, 4),
                    (C, 0, MajorSeventh, 8),
                ],
                asked: 1,
                tonics: &[],
            },
            ShapeFamily::MinorSixth => Stock::all(Mode::Minor, &[(C, 0, MinorSixth, 4)], &[]),
            ShapeFamily::MinorMajorSeventh => {
                Stock::all(Mode::Minor, &[(C, 0, Quality::MinorMajorSeventh, 4)], &[])
            }
            ShapeFamily::Dominant => {
                Stock::led(Mode::Major, &[(G, 0, Dominant, 4), (C, 0, MajorSeventh, 4)])
            }
            ShapeFamily::Suspended => Stock::led(
                Mode::Major,
                &[
                    (G, 0, Quality::DominantSuspended, 4),
                    (C, 0, MajorSeventh, 4),
                ],
            ),
            ShapeFamily::HalfDiminished => Stock {
                mode: Mode::Minor,
                rows: &[
                    (D, 0, HalfDiminished, 4),
                    (G, 0, Dominant, 4),
                    (C, 0, MinorSixth, 8),
                ],
                asked: 1,
                tonics: &[],
            },
            ShapeFamily::DiminishedSeventh => Stock::led(
                Mode::Major,
                &[(B, 0, DiminishedSeventh, 4), (C, 0, MajorSeventh, 4)],
            ),
            ShapeFamily::Altered => Stock::led(
                Mode::Major,
                &[(G, 0, Quality::Altered, 4), (C, 0, MajorSeventh, 4)],
            ),
        }
    }
}
