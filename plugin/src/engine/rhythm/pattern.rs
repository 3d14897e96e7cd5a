//! The names of the rhythms, the places of a pattern, and the pattern that the user draws. Imports
//! `bar` and `ticks`.

use super::bar::is_off_beat;
use crate::engine::ticks::EIGHTH_TICKS;
use guidehand_theory::chart::Meter;

/// When a chord is struck.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Rhythm {
    /// On each change, held until the next.
    #[default]
    Hold,
    /// 1, and-of-2.
    Charleston,
    /// And-of-1, 3.
    LateCharleston,
    /// And-of-2, and-of-4.
    OffBeats,
    /// 2, 4.
    TwoAndFour,
    /// Each change an eighth early.
    Push,
    /// Two bars of bossa nova.
    Bossa,
    /// 1, and-of-2, in three.
    JazzWaltz,
    /// 1, and-of-1.
    ReverseCharleston,
    /// Every beat.
    FourToTheBar,
    /// Two bars of a ballad in half time.
    Ballad,
    /// 1, 3.
    TwoBeat,
    /// Two bars of samba.
    Samba,
    /// 1, and-of-2, 3, 4.
    Bolero,
    /// 1, 3, 4 of six eighths.
    SixEight,
    /// 1, and-of-2, 4, 5, in five.
    FiveFour,
    /// 1, 2, 3, and-of-3, in three.
    GospelWaltz,
    /// What the user has drawn.
    Drawn,
    /// The player's own key presses.
    Played,
}

impl Rhythm {
    /// Whether chords are struck where they change, and nowhere else.
    #[must_use]
    pub const fn by_changes(self) -> bool {
        matches!(self, Rhythm::Hold | Rhythm::Push)
    }

    /// Whether bars have a pattern of their own, wherever chords change in them.
    #[must_use]
    pub const fn by_pattern(self) -> bool {
        !matches!(self, Rhythm::Hold | Rhythm::Push | Rhythm::Played)
    }
}

/// One place of a pattern.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cell {
    /// Eighths from the start of the bar.
    pub eighth: u8,
    /// Its length in eighths.
    pub length: u8,
    /// How much it stands out, -2 to 2.
    pub accent: i8,
}

impl Cell {
    /// Its place, in ticks from the start of the bar.
    #[must_use]
    pub fn place_ticks(self) -> f64 {
        f64::from(self.eighth) * EIGHTH_TICKS
    }
}

/// Eighths in a drawn bar.
pub const BAR_CELLS: u8 = 16;

/// What a place of the drawn pattern holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DrawnEighth {
    /// Nothing is struck.
    #[default]
    Nothing,
    /// A chord of an eighth.
    Short,
    /// A chord until the next one in its bar, at most four eighths long.
    Long,
}

/// Two bars that the user has drawn: two bits for each eighth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Drawn(u64);

/// The longest drawn chord, in eighths.
const LONGEST: u8 = 4;

impl Default for Drawn {
    /// The Charleston.
    fn default() -> Self {
        let charleston = Drawn(0).with(false, 0, DrawnEighth::Long);
        charleston.with(false, 3, DrawnEighth::Short)
    }
}

impl Drawn {
    /// The pattern as one number: two bits for each eighth.
    #[must_use]
    pub const fn to_bits(self) -> u64 {
        self.0
    }

    /// The pattern that [`Drawn::to_bits`] gave. Every number is a pattern.
    #[must_use]
    pub const fn from_bits(bits: u64) -> Drawn {
        Drawn(bits)
    }

    const fn shift(odd: bool, eighth: u8) -> u32 {
        let bar = if odd { BAR_CELLS } else { 0 };
        2 * (bar + eighth % BAR_CELLS) as u32
    }

    /// What stands at an eighth of a bar, 0 to 15.
    #[must_use]
    pub const fn mark(self, odd: bool, eighth: u8) -> DrawnEighth {
        match (self.0 >> Drawn::shift(odd, eighth)) & 3 {
            1 => DrawnEighth::Short,
            2 => DrawnEighth::Long,
            _ => DrawnEighth::Nothing,
        }
    }

    /// A copy with another mark at an eighth of a bar, 0 to 15.
    #[must_use]
    pub const fn with(self, odd: bool, eighth: u8, mark: DrawnEighth) -> Drawn {
        let shift = Drawn::shift(odd, eighth);
        let bits = match mark {
            DrawnEighth::Nothing => 0,
            DrawnEighth::Short => 1,
            DrawnEighth::Long => 2,
        };
        Drawn(self.0 & !(3 << shift) | bits << shift)
    }

    /// How long the chord at an eighth of a bar lasts, in eighths: 0 where there is none.
    #[must_use]
    pub fn length_eighths(self, odd: bool, eighth: u8) -> u8 {
        match self.mark(odd, eighth) {
            DrawnEighth::Nothing => 0,
            DrawnEighth::Short => 1,
            DrawnEighth::Long => {
                let empty = |ahead: &u8| {
                    eighth + ahead < BAR_CELLS
                        && self.mark(odd, eighth + ahead) == DrawnEighth::Nothing
                };
                let ahead = (1..LONGEST).take_while(empty).last().unwrap_or(0);
                ahead + 1
            }
        }
    }

    /// Whether the second bar is empty, and so repeats the first.
    #[must_use]
    pub const fn repeats(self) -> bool {
        self.0 >> Drawn::shift(true, 0) == 0
    }

    fn cell(self, odd: bool, eighth: u8, meter: Meter) -> Option<Cell> {
        let odd = odd && !self.repeats();
        let length = self.length_eighths(odd, eighth);
        if length == 0 {
            return None;
        }
        let off_beat = is_off_beat(f64::from(eighth) * EIGHTH_TICKS, meter);
        Some(Cell {
            eighth,
            length,
            accent: i8::from(off_beat),
        })
    }

    /// The places of the first or the second bar, in order.
    pub(super) fn cells(self, odd: bool, meter: Meter) -> impl Iterator<Item = Cell> + Clone {
        (0..BAR_CELLS).filter_map(move |at| self.cell(odd, at, meter))
    }

    /// The saved form: a letter for each eighth of the first bar, then of the second. `-` is
    /// nothing, `s` a short chord, `l` a long one.
    #[must_use]
    pub fn to_text(self) -> String {
        let cells = [false, true].into_iter();
        let cells = cells.flat_map(|odd| (0..BAR_CELLS).map(move |eighth| self.mark(odd, eighth)));
        cells
            .map(|mark| match mark {
                DrawnEighth::Nothing => '-',
                DrawnEighth::Short => 's',
                DrawnEighth::Long => 'l',
            })
            .collect()
    }

    /// Reads the saved form. Other letters count as nothing, and so do missing ones.
    #[must_use]
    pub fn from_text(text: &str) -> Drawn {
        let bars = [false, true].into_iter();
        let places = bars.flat_map(|odd| (0..BAR_CELLS).map(move |eighth| (odd, eighth)));
        places.zip(text.chars()).fold(Drawn(0), |drawn, at| {
            let ((odd, eighth), sign) = at;
            let mark = match sign {
                's' => DrawnEighth::Short,
                'l' => DrawnEighth::Long,
                _ => DrawnEighth::Nothing,
            };
            drawn.with(odd, eighth, mark)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lengths(text: &str, odd: bool, beats: u8) -> Vec<(u8, u8)> {
        let meter = Meter::new(beats, 4).unwrap();
        let cells = Drawn::from_text(text).cells(odd, meter);
        cells.map(|cell| (cell.eighth, cell.length)).collect()
    }

    #[test]
    fn a_drawn_pattern_is_saved_as_text() {
        let text = "l--s--s---------s-------------ls";
        assert_eq!(Drawn::from_text(text).to_text(), text);
        assert_eq!(
            Drawn::from_text("l--s").to_text(),
            Drawn::default().to_text()
        );
        assert_eq!(Drawn::from_text("xé?s").mark(false, 3), DrawnEighth::Short);
    }

    #[test]
    fn long_chords_end_at_the_next_one_or_after_half_a_bar() {
        assert_eq!(lengths("l--s", false, 4), [(0, 3), (3, 1)]);
        assert_eq!(lengths("l-----l-", false, 4), [(0, 4), (6, 4)]);
        assert_eq!(lengths("---------------l", false, 8), [(15, 1)]);
    }

    #[test]
    fn an_empty_second_bar_repeats_the_first() {
        assert_eq!(lengths("s", true, 4), [(0, 1)]);
        assert_eq!(lengths("s-------------------s", true, 4), [(4, 1)]);
        assert_eq!(lengths("s-------------------s", false, 4), [(0, 1)]);
    }
}
