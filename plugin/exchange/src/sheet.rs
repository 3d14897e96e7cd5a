//! A chart as a page shows it: bars in the order of the page, with their repeats, endings and
//! letters, and the chords in each. Imports the theory.

use guidehand_theory::chart::{Meter, Roads, Section};
use guidehand_theory::chord::Chord;
use std::ops::Range;

/// Bars in the order of the page. Every repeat has its `|:`, and no section is played again only
/// because its letter recalls it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sheet {
    /// The title; may be empty.
    pub title: String,
    /// The bars.
    pub bars: Vec<SheetBar>,
}

/// A bar on a page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetBar {
    /// The time signature in force. For a pickup it has only the pickup's beats.
    pub meter: Meter,
    /// For a pickup, the time signature in force.
    pub pickup: Option<Meter>,
    /// The time at which it is first played, in ticks from the start.
    pub start_ticks: u32,
    /// The section that starts here.
    pub section: Option<Section>,
    /// Whether `|:` stands before it.
    pub opens: bool,
    /// Whether `:|` stands after it.
    pub closes: bool,
    /// How often the repeat that closes here is played, if it has no endings.
    pub times: u8,
    /// The signs of jumps around it.
    pub roads: Roads,
    /// The ending that starts here, from 1.
    pub ending: Option<u8>,
    /// Whether a new line of the page starts here, even if the line before has room.
    pub starts_line: bool,
    /// The chords that begin here, in order; empty if the chord before continues.
    pub places: Vec<Place>,
}

/// A place in a bar where a chord, or silence, begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Ticks from the start of the bar, less than its length.
    pub at_ticks: u32,
    /// The chord, or none for silence.
    pub chord: Option<Chord>,
}

impl SheetBar {
    /// A bar without signs and chords.
    #[must_use]
    pub const fn empty(meter: Meter, start_ticks: u32) -> SheetBar {
        SheetBar {
            meter,
            pickup: None,
            start_ticks,
            section: None,
            opens: false,
            closes: false,
            times: 2,
            roads: Roads {
                segno: false,
                coda: false,
                to_coda: false,
                fine: false,
                jump: None,
            },
            ending: None,
            starts_line: false,
            places: Vec::new(),
        }
    }

    /// The bar's ticks from the start, when it is played for the first time.
    #[must_use]
    pub const fn window(&self) -> Range<u32> {
        self.start_ticks..self.start_ticks + self.meter.bar_ticks()
    }
}

impl Sheet {
    /// The sheet on the page after this one, on a new line.
    #[must_use]
    pub fn then(mut self, mut next: Sheet) -> Sheet {
        let shift = self.bars.last().map_or(0, |bar| bar.window().end);
        for (index, bar) in next.bars.iter_mut().enumerate() {
            bar.start_ticks += shift;
            bar.starts_line |= index == 0;
            // A pickup can only be at the beginning, so here it becomes a short bar.
            bar.pickup = None;
        }
        self.bars.append(&mut next.bars);
        self
    }
}

/// Gives every repeat its `|:`, and removes the `:|` of last endings, because nothing is repeated
/// after them.
pub(crate) fn make_explicit(bars: &mut [SheetBar]) {
    let mut opens = Vec::new();
    let mut goes_on = Vec::new();
    let mut start = 0;
    let mut jumped = false;
    // The last ending so far, and the bar that closes it.
    let mut ending: Option<(u8, Option<usize>)> = None;
    for (index, bar) in bars.iter().enumerate() {
        let over = matches!(ending, Some((_, Some(_)))) && bar.ending.is_none();
        let part = bar.section.is_some() || bar.roads.coda || jumped;
        if bar.opens || part || over {
            goes_on.extend(ending.take().and_then(|(_, closed)| closed));
            start = index;
        }
        if let Some(number) = bar.ending {
            if number == 1 {
                opens.push(start);
            }
            ending = Some((number, None));
        }
        if bar.closes {
            match &mut ending {
                Some((_, closed)) => *closed = Some(index),
                None => {
                    opens.push(start);
                    start = index + 1;
                }
            }
        }
        jumped = bar.roads.jump.is_some();
        if bar.pickup.is_some() {
            start = index + 1;
        }
    }
    goes_on.extend(ending.and_then(|(_, closed)| closed));
    for index in opens {
        if let Some(bar) = bars.get_mut(index) {
            bar.opens = true;
        }
    }
    for index in goes_on {
        if let Some(bar) = bars.get_mut(index) {
            bar.closes = false;
        }
    }
}

/// The meter of a bar of this length, in quarters rather than eighths.
pub(crate) fn meter_of_length(ticks: u32) -> Option<Meter> {
    [4, 8, 16, 2].into_iter().find_map(|unit| {
        let one = Meter::new(1, unit)?;
        let beats = u8::try_from(ticks / one.beat_ticks()).ok()?;
        let meter = Meter::new(beats, unit)?;
        (meter.bar_ticks() == ticks).then_some(meter)
    })
}
