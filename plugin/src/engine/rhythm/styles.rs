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
}

impl Style {
    /// One whose bars are alike.
    const fn of(feel: Feel, bar: &'static [Cell]) -> Style {
        Style::of_two(feel, [bar, bar])
    }

    const fn of_two(feel: Feel, bars: [&'static [Cell]; 2]) -> Style {
        Style { feel, bars }
    }
}

const fn cell(eighth: u8, length: u8, accent: i8) -> Cell {
    Cell {
        eighth,
        length,
        accent,
    }
}

/// The table (common practice, no published source). Off-beats are short and slightly accented.
const fn style(rhythm: Rhythm) -> &'static Style {
    const BY_HAND: Style = Style::of(Feel::Either, &[]);
    const CHARLESTON: Style = Style::of(Feel::Swing, &[cell(0, 3, 0), cell(3, 1, 1)]);
    const LATE_CHARLESTON: Style = Style::of(Feel::Swing, &[cell(1, 2, 1), cell(4, 3, 0)]);
    const OFF_BEATS: Style = Style::of(Feel::Swing, &[cell(3, 1, 1), cell(7, 1, 1)]);
    const TWO_AND_FOUR: Style = Style::of(Feel::Either, &[cell(2, 2, 0), cell(6, 2, 1)]);
    const BOSSA: Style = Style::of_two(
        Feel::Straight,
        [
            &[cell(0, 2, 0), cell(3, 2, 1), cell(6, 1, 0)],
            &[cell(1, 2, 1), cell(4, 2, 0), cell(7, 2, 1)],
        ],
    );
    const JAZZ_WALTZ: Style = Style::of(Feel::Swing, &[cell(0, 2, 0), cell(3, 2, 1)]);
    const REVERSE_CHARLESTON: Style = Style::of(Feel::Swing, &[cell(0, 1, 0), cell(1, 3, 1)]);
    const FOUR_TO_THE_BAR: Style = Style::of(
        Feel::Swing,
        &[
            cell(0, 2, 0),
            cell(2, 2, 1),
            cell(4, 2, 0),
            cell(6, 2, 1),
            cell(8, 2, 0),
            cell(10, 2, 1),
            cell(12, 2, 0),
            cell(14, 2, 1),
        ],
    );
    const BALLAD: Style = Style::of_two(
        Feel::Either,
        [
            &[cell(0, 4, 0), cell(4, 4, 1)],
            &[cell(0, 6, 0), cell(6, 2, -1)],
        ],
    );
    const TWO_BEAT: Style = Style::of(Feel::Swing, &[cell(0, 3, 1), cell(4, 3, 0)]);
    const SAMBA: Style = Style::of_two(
        Feel::Straight,
        [
            &[cell(0, 1, 0), cell(2, 1, 0), cell(5, 2, 1), cell(7, 1, 1)],
            &[cell(1, 1, 1), cell(3, 1, 1), cell(6, 2, 0)],
        ],
    );
    const BOLERO: Style = Style::of(
        Feel::Straight,
        &[cell(0, 2, 0), cell(3, 1, 1), cell(4, 2, 0), cell(6, 2, 1)],
    );
    const SIX_EIGHT: Style = Style::of(
        Feel::Straight,
        &[
            cell(0, 2, 0),
            cell(2, 1, 0),
            cell(3, 3, 1),
            cell(6, 2, 0),
            cell(8, 1, 0),
            cell(9, 3, 1),
        ],
    );
    const FIVE_FOUR: Style = Style::of(
        Feel::Swing,
        &[cell(0, 3, 0), cell(3, 3, 1), cell(6, 2, 0), cell(8, 2, 1)],
    );
    const GOSPEL_WALTZ: Style = Style::of(
        Feel::Swing,
        &[cell(0, 2, 0), cell(2, 2, 1), cell(4, 1, 0), cell(5, 1, 1)],
    );
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

/// The places of a rhythm in a bar, in order. `bar` counts from the first full bar.
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
            for bar in style(rhythm).bars {
                let empty = matches!(
                    rhythm,
                    Rhythm::Hold | Rhythm::Push | Rhythm::Drawn | Rhythm::Played
                );
                assert_eq!(bar.is_empty(), empty, "{rhythm:?}");
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
