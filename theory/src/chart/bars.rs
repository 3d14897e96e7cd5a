//! A chart that has been read: bars as they are written and as they are played, and
//! the changes in them. Imports `meter` and `marks`.

use super::marks::{Roads, Section};
use super::meter::Meter;
use crate::chord::Chord;
use crate::pitch::NoteNames;
use std::ops::Range;

/// A bar as it is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bar {
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// The time signature that it is played in. For a pickup it has only the pickup's beats.
    pub meter: Meter,
    /// The bar as it stands in the text, as an index into [`Chart::written`].
    pub written: usize,
}

/// A bar as it stands in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The place of its chords and signs in the text, in bytes. Bar lines, and a letter, an
    /// ending or a time signature before them, do not belong to it. It is empty if nothing
    /// stands between two bar lines.
    pub source: Range<usize>,
    /// Its number in the text, from 1, or 0 for a pickup.
    pub number: u32,
    /// The time signature in force.
    pub meter: Meter,
    /// The words that share it, in order.
    pub shares: Vec<Share>,
    /// The place of the bar line after it, or the end of the text, in bytes.
    pub line: usize,
    /// The section that starts here.
    pub section: Option<Section>,
    /// Whether `|:` stands before it.
    pub opens: bool,
    /// Whether `:|` stands after it.
    pub closes: bool,
    /// How often the repeat that closes here is played, 2 to [`MOST_TIMES`](super::MOST_TIMES).
    pub times: u8,
    /// The ending that starts here, 1 to [`MOST_ENDINGS`](super::MOST_ENDINGS).
    pub ending: Option<u8>,
    /// The signs of the road around it.
    pub roads: Roads,
    /// Whether it is shorter than its meter and stands before the first bar.
    pub pickup: bool,
    /// Whether it is `%%`, which stands for two bars.
    pub two_bars: bool,
}

/// A word in a bar that takes a share of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Share {
    /// Its place in the text, in bytes.
    pub source: Range<usize>,
    /// The place where it begins, in ticks from the start of the bar.
    pub at_ticks: u32,
}

/// A letter without bars of its own. Its section is played again here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recall {
    /// The section that is played again.
    pub section: Section,
    /// The letter's place in the text, in bytes.
    pub source: Range<usize>,
    /// The written bar that it stands before, as an index into [`Chart::written`]. It is the
    /// length of that list at the end of the chart.
    pub before: usize,
}

/// A place in the chart where a chord, or silence, begins.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The chord, or none for `N.C.`
    pub chord: Option<Chord>,
    /// Ticks from the start of the chart.
    pub start_ticks: u32,
    /// Ticks until the next change or the end of the chart.
    pub length_ticks: u32,
    /// The symbol's place in the text, in bytes.
    pub source: Range<usize>,
    /// The bar in which it begins, as an index into [`Chart::bars`].
    pub bar: usize,
}

/// A chart that has been read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chart {
    /// The line above the bars; empty if there is none.
    pub title: String,
    /// The language of the notes in its text.
    pub names: NoteNames,
    /// The bars in the order of playing. There is at least one, and at most
    /// [`MOST_BARS`](super::MOST_BARS).
    pub bars: Vec<Bar>,
    /// The changes in the order of playing. The first one starts at tick 0.
    pub changes: Vec<Change>,
    /// The bars in the order of the text. Each is played at least once.
    pub written: Vec<Written>,
    /// The letters that play a section again, in the order of the text.
    pub recalls: Vec<Recall>,
}

impl Chart {
    /// The time signature of the first full bar.
    #[must_use]
    pub fn meter(&self) -> Meter {
        let first = self.bars.get(usize::from(self.has_pickup()));
        first.map_or(Meter::COMMON, |bar| bar.meter)
    }

    /// Whether the first bar is a pickup. A pickup is played once: a jump to the beginning
    /// leads to the bar after it.
    #[must_use]
    pub fn has_pickup(&self) -> bool {
        let first = self.bars.first();
        let written = first.and_then(|bar| self.written.get(bar.written));
        written.is_some_and(|written| written.pickup)
    }

    /// The length of the pickup in ticks; 0 if there is none.
    #[must_use]
    pub fn pickup_ticks(&self) -> u32 {
        let pickup = self.bars.first().filter(|_| self.has_pickup());
        pickup.map_or(0, |bar| bar.meter.bar_ticks())
    }

    /// The chart's length in ticks.
    #[must_use]
    pub fn length_ticks(&self) -> u32 {
        let last = self.bars.last();
        last.map_or(0, |bar| bar.start_ticks + bar.meter.bar_ticks())
    }

    /// The bar that is played at a tick, as an index into [`Chart::bars`]. Past the end it is
    /// the last bar.
    #[must_use]
    pub fn bar_at(&self, ticks: u32) -> usize {
        let begun = self.bars.partition_point(|bar| bar.start_ticks <= ticks);
        begun.saturating_sub(1)
    }

    /// The number of the bar as played (from 1, or 0 for a pickup) and the beat in it (from 1,
    /// with its fraction) at a tick. A pickup has the last beats of its meter. Past the end the
    /// last time signature goes on.
    #[must_use]
    pub fn bar_and_beat(&self, ticks: u32) -> (u32, f64) {
        let index = self.bar_at(ticks);
        let bar = self.bars.get(index);
        let (start, meter) = bar.map_or((0, Meter::COMMON), |b| (b.start_ticks, b.meter));
        let since = ticks - start;
        let in_bar = f64::from(since % meter.bar_ticks());
        let pickup = self.has_pickup();
        let number = u32::try_from(index + 1 - usize::from(pickup)).unwrap_or(u32::MAX);
        let whole = bar.and_then(|bar| self.written.get(bar.written));
        let before = whole.map_or(0, |w| w.meter.beats.saturating_sub(meter.beats));
        (
            number.saturating_add(since / meter.bar_ticks()),
            1.0 + f64::from(before) + in_bar / f64::from(meter.beat_ticks()),
        )
    }
}
