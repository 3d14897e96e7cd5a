//! The table of comping styles: what each rhythm strikes in its bars, and whether its off-beats
//! swing. Imports `pattern`.

use super::pattern::{Cell, Drawn, Rhythm};
use guidehand_theory::chart::Meter;

/// Whether the off-beat eighths of a rhythm swing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feel {
    /// They are meant to swing, as far as the user lets them.
    Swing,
    /// They are straight, whatever the user has set.
    Straight,
    /// The rhythm serves both, and the user decides.
    Either,
}

/// A comping style.
#[derive(Clone, Copy, Debug)]
struct Style {
    feel: Feel,
    /// Its even bars and its odd bars.
    bars: [&'static [Cell]; 2],
    /// Bars that may stand in the place of either.
    others: &'static [&'static [Cell]],
    /// How loud it is.
    curve: Curve,
}

/// How loud a style is where, in steps of MIDI at the usual velocity, 89.
#[derive(Clone, Copy, Debug)]
pub(super) struct Curve {
    /// On the first beat, and on the one in the middle.
    pub(super) strong: u8,
    /// On the other beats.
    pub(super) weak: u8,
    /// Off the beat.
    pub(super) off_beat: u8,
    /// Off the beat, with the chord of the next one.
    pub(super) ahead: u8,
    /// Added by the density.
    pub(super) added: u8,
}

const fn steps([strong, weak, off_beat, ahead, added]: [u8; 5]) -> Curve {
    Curve {
        strong,
        weak,
        off_beat,
        ahead,
        added,
    }
}

pub(super) const fn cell(eighth: u8, length: u8, accent: i8) -> Cell {
    Cell {
        eighth,
        length,
        accent,
    }
}

/// The table (common practice, no published source). Off-beats are short and slightly accented.
const fn style(rhythm: Rhythm) -> &'static Style {
    const BY_HAND: Style = Style {
        feel: Feel::Either,
        bars: [&[], &[]],
        others: &[],
        curve: steps([86, 84, 88, 96, 58]),
    };
    const CHARLESTON: Style = Style {
        feel: Feel::Swing,
        bars: [&[cell(0, 3, 0), cell(3, 1, 1)]; 2],
        others: &[
            &[cell(3, 1, 1), cell(6, 2, 0)],
            &[cell(1, 1, 1), cell(4, 3, 0)],
            &[cell(0, 3, 0), cell(3, 2, 1), cell(7, 1, 1)],
            &[cell(0, 1, 0), cell(3, 4, 1)],
        ],
        curve: steps([78, 88, 94, 100, 56]),
    };
    const LATE_CHARLESTON: Style = Style {
        feel: Feel::Swing,
        bars: [&[cell(1, 2, 1), cell(4, 3, 0)]; 2],
        others: &[
            &[cell(1, 1, 1), cell(4, 1, 0), cell(7, 1, 1)],
            &[cell(3, 1, 1), cell(6, 2, 0)],
            &[cell(1, 3, 1)],
        ],
        curve: steps([76, 86, 94, 100, 56]),
    };
    const OFF_BEATS: Style = Style {
        feel: Feel::Swing,
        bars: [&[cell(3, 1, 1), cell(7, 1, 1)]; 2],
        others: &[
            &[cell(1, 1, 1), cell(5, 1, 1)],
            &[cell(3, 1, 1), cell(5, 1, 1)],
            &[cell(1, 1, 1), cell(7, 1, 1)],
            &[cell(3, 2, 1)],
        ],
        curve: steps([74, 82, 92, 98, 54]),
    };
    const TWO_AND_FOUR: Style = Style {
        feel: Feel::Either,
        bars: [&[cell(2, 2, 0), cell(6, 2, 1)]; 2],
        others: &[
            &[cell(2, 1, 0), cell(6, 1, 1), cell(7, 1, 1)],
            &[cell(2, 1, 0), cell(3, 1, 1), cell(6, 2, 1)],
            &[cell(2, 4, 0)],
        ],
        curve: steps([72, 92, 86, 98, 54]),
    };
    const BOSSA: Style = Style {
        feel: Feel::Straight,
        bars: [
            &[cell(0, 2, 0), cell(3, 2, 1), cell(6, 1, 0)],
            &[cell(1, 2, 1), cell(4, 2, 0), cell(7, 2, 1)],
        ],
        others: &[
            &[cell(0, 2, 0), cell(3, 2, 1), cell(5, 2, 1)],
            &[cell(0, 1, 0), cell(3, 3, 1), cell(7, 1, 1)],
            &[cell(1, 2, 1), cell(4, 1, 0), cell(6, 1, 0)],
        ],
        curve: steps([82, 76, 86, 92, 54]),
    };
    const JAZZ_WALTZ: Style = Style {
        feel: Feel::Swing,
        bars: [&[cell(0, 2, 0), cell(3, 2, 1)]; 2],
        others: &[
            &[cell(2, 1, 0), cell(4, 1, 0)],
            &[cell(0, 3, 0), cell(3, 1, 1), cell(5, 1, 1)],
            &[cell(1, 2, 1), cell(4, 2, 0)],
        ],
        curve: steps([84, 74, 90, 98, 54]),
    };
    const REVERSE_CHARLESTON: Style = Style {
        feel: Feel::Swing,
        bars: [&[cell(0, 1, 0), cell(1, 3, 1)]; 2],
        others: &[
            &[cell(0, 1, 0), cell(1, 2, 1), cell(6, 1, 0)],
            &[cell(4, 1, 0), cell(5, 3, 1)],
            &[cell(0, 1, 0), cell(1, 1, 1), cell(4, 1, 0), cell(5, 2, 1)],
        ],
        curve: steps([78, 86, 94, 100, 56]),
    };
    const FOUR_TO_THE_BAR: Style = Style {
        feel: Feel::Swing,
        bars: [&[
            cell(0, 2, 0),
            cell(2, 2, 1),
            cell(4, 2, 0),
            cell(6, 2, 1),
            cell(8, 2, 0),
            cell(10, 2, 1),
            cell(12, 2, 0),
            cell(14, 2, 1),
        ]; 2],
        others: &[
            &[cell(0, 2, 0), cell(2, 2, 1), cell(4, 2, 0), cell(7, 1, 1)],
            &[cell(0, 2, 0), cell(2, 1, 1), cell(3, 1, 1), cell(6, 2, 1)],
        ],
        curve: steps([72, 88, 82, 96, 52]),
    };
    const BALLAD: Style = Style {
        feel: Feel::Either,
        bars: [
            &[cell(0, 4, 0), cell(4, 4, 1)],
            &[cell(0, 6, 0), cell(6, 2, -1)],
        ],
        others: &[
            &[cell(0, 8, 0)],
            &[cell(0, 3, 0), cell(3, 5, 1)],
            &[cell(0, 4, 0), cell(4, 2, 0), cell(6, 2, -1)],
        ],
        curve: steps([72, 60, 66, 76, 46]),
    };
    const TWO_BEAT: Style = Style {
        feel: Feel::Swing,
        bars: [&[cell(0, 3, 1), cell(4, 3, 0)]; 2],
        others: &[
            &[cell(0, 3, 1), cell(4, 2, 0), cell(7, 1, 1)],
            &[cell(0, 2, 1), cell(3, 1, 1), cell(4, 3, 0)],
        ],
        curve: steps([90, 80, 86, 98, 54]),
    };
    const SAMBA: Style = Style {
        feel: Feel::Straight,
        bars: [
            &[cell(0, 1, 0), cell(2, 1, 0), cell(5, 2, 1), cell(7, 1, 1)],
            &[cell(1, 1, 1), cell(3, 1, 1), cell(6, 2, 0)],
        ],
        others: &[
            &[
                cell(0, 1, 0),
                cell(2, 1, 0),
                cell(4, 1, 0),
                cell(5, 2, 1),
                cell(7, 1, 1),
            ],
            &[cell(1, 1, 1), cell(3, 1, 1), cell(5, 1, 1), cell(6, 2, 0)],
            &[cell(0, 1, 0), cell(3, 1, 1), cell(5, 2, 1)],
        ],
        curve: steps([86, 80, 94, 100, 58]),
    };
    const BOLERO: Style = Style {
        feel: Feel::Straight,
        bars: [&[cell(0, 2, 0), cell(3, 1, 1), cell(4, 2, 0), cell(6, 2, 1)]; 2],
        others: &[
            &[cell(0, 3, 0), cell(4, 2, 0), cell(6, 2, 1)],
            &[
                cell(0, 2, 0),
                cell(2, 1, 0),
                cell(3, 1, 1),
                cell(4, 2, 0),
                cell(6, 2, 1),
            ],
        ],
        curve: steps([80, 72, 70, 86, 50]),
    };
    const SIX_EIGHT: Style = Style {
        feel: Feel::Straight,
        bars: [&[
            cell(0, 2, 0),
            cell(2, 1, 0),
            cell(3, 3, 1),
            cell(6, 2, 0),
            cell(8, 1, 0),
            cell(9, 3, 1),
        ]; 2],
        others: &[
            &[
                cell(0, 3, 0),
                cell(3, 2, 1),
                cell(5, 1, 0),
                cell(6, 3, 0),
                cell(9, 2, 1),
            ],
            &[
                cell(0, 3, 0),
                cell(3, 3, 1),
                cell(6, 2, 0),
                cell(8, 1, 0),
                cell(9, 3, 1),
            ],
        ],
        curve: steps([86, 90, 72, 94, 52]),
    };
    const FIVE_FOUR: Style = Style {
        feel: Feel::Swing,
        bars: [&[cell(0, 3, 0), cell(3, 3, 1), cell(6, 2, 0), cell(8, 2, 1)]; 2],
        others: &[
            &[cell(0, 3, 0), cell(3, 3, 1), cell(6, 3, 0)],
            &[cell(0, 3, 0), cell(3, 2, 1), cell(6, 2, 0), cell(9, 1, 1)],
            &[cell(0, 4, 0), cell(6, 2, 0), cell(8, 2, 1)],
            &[cell(3, 1, 1), cell(6, 2, 0), cell(8, 1, 1)],
            &[cell(0, 1, 0), cell(3, 2, 1), cell(5, 1, 1), cell(8, 2, 0)],
        ],
        curve: steps([86, 80, 92, 98, 56]),
    };
    const GOSPEL_WALTZ: Style = Style {
        feel: Feel::Swing,
        bars: [&[cell(0, 2, 0), cell(2, 2, 1), cell(4, 1, 0), cell(5, 1, 1)]; 2],
        others: &[
            &[cell(0, 2, 0), cell(2, 2, 1), cell(4, 2, 0)],
            &[cell(0, 3, 0), cell(3, 1, 1), cell(4, 1, 0), cell(5, 1, 1)],
        ],
        curve: steps([84, 90, 82, 98, 54]),
    };
    match rhythm {
        Rhythm::Hold | Rhythm::Push | Rhythm::Drawn | Rhythm::Played => &BY_HAND,
        Rhythm::Charleston => &CHARLESTON,
        Rhythm::LateCharleston => &LATE_CHARLESTON,
        Rhythm::OffBeats => &OFF_BEATS,
        Rhythm::TwoAndFour => &TWO_AND_FOUR,
        Rhythm::Bossa => &BOSSA,
        Rhythm::JazzWaltz => &JAZZ_WALTZ,
        Rhythm::ReverseCharleston => &REVERSE_CHARLESTON,
        Rhythm::FourToTheBar => &FOUR_TO_THE_BAR,
        Rhythm::Ballad => &BALLAD,
        Rhythm::TwoBeat => &TWO_BEAT,
        Rhythm::Samba => &SAMBA,
        Rhythm::Bolero => &BOLERO,
        Rhythm::SixEight => &SIX_EIGHT,
        Rhythm::FiveFour => &FIVE_FOUR,
        Rhythm::GospelWaltz => &GOSPEL_WALTZ,
    }
}

impl Rhythm {
    /// Whether its off-beats swing.
    #[must_use]
    pub const fn feel(self) -> Feel {
        style(self).feel
    }
}

/// The bars that may stand in the place of the usual one.
pub(super) const fn others(rhythm: Rhythm) -> &'static [&'static [Cell]] {
    style(rhythm).others
}

/// How loud a rhythm is where.
pub(super) const fn curve(rhythm: Rhythm) -> Curve {
    style(rhythm).curve
}

/// The usual places of a rhythm in a bar, in order. `bar` counts from the first full bar.
pub(super) fn cells(
    rhythm: Rhythm,
    drawn: Drawn,
    bar: i64,
    meter: Meter,
) -> impl Iterator<Item = Cell> + Clone {
    let [even, odd] = style(rhythm).bars;
    let is_odd = bar.rem_euclid(2) == 1;
    let listed = if is_odd { odd } else { even };
    let drawn = drawn.cells(is_odd, meter);
    let drawn = drawn.filter(move |_| rhythm == Rhythm::Drawn);
    let all = listed.iter().copied().chain(drawn);
    all.filter(move |cell| cell.place_ticks() < f64::from(meter.bar_ticks()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::rhythm::bar::LONGEST_EIGHTHS;

    const ALL: [Rhythm; 19] = [
        Rhythm::Hold,
        Rhythm::Charleston,
        Rhythm::LateCharleston,
        Rhythm::OffBeats,
        Rhythm::TwoAndFour,
        Rhythm::Push,
        Rhythm::Bossa,
        Rhythm::JazzWaltz,
        Rhythm::ReverseCharleston,
        Rhythm::FourToTheBar,
        Rhythm::Ballad,
        Rhythm::TwoBeat,
        Rhythm::Samba,
        Rhythm::Bolero,
        Rhythm::SixEight,
        Rhythm::FiveFour,
        Rhythm::GospelWaltz,
        Rhythm::Drawn,
        Rhythm::Played,
    ];

    /// Each rhythm's places ascend, and none reaches over the next.
    #[test]
    fn the_table_is_in_order() {
        for rhythm in ALL {
            let style = style(rhythm);
            for bar in style.bars.iter().chain(style.others) {
                let empty = matches!(
                    rhythm,
                    Rhythm::Hold | Rhythm::Push | Rhythm::Drawn | Rhythm::Played
                );
                assert_eq!(bar.is_empty(), empty, "{rhythm:?}");
                assert!(bar.iter().all(|cell| cell.length <= LONGEST_EIGHTHS));
                for pair in bar.windows(2) {
                    let next = pair[0].eighth + pair[0].length;
                    assert!(next <= pair[1].eighth, "{rhythm:?} {pair:?}");
                }
            }
        }
    }

    /// Bars are counted in twos from the first full bar, and a pickup stands in the bar before it.
    #[test]
    fn even_and_odd_bars_have_their_own_places() {
        let first = |bar| {
            let mut cells = cells(Rhythm::Bossa, Drawn::default(), bar, Meter::COMMON);
            cells.next().map(|cell| cell.eighth)
        };
        assert_eq!([-1, 0, 1, 2].map(first), [1, 0, 1, 0].map(Some));
        let short = Meter::new(2, 4).unwrap();
        let cells = cells(Rhythm::Bossa, Drawn::default(), 0, short);
        assert_eq!(cells.map(|cell| cell.eighth).collect::<Vec<_>>(), [0, 3]);
    }
}
