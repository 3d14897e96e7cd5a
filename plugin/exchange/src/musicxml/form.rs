//! Turns repeats and endings of MusicXML into those of a sheet. Imports `sheet` and `found`'s
//! errors.

use crate::found::ImportError;
use crate::sheet::{self, Sheet, SheetBar};
use guidehand_theory::chart::{MOST_BARS, MOST_TIMES, Meter, Roads, Section};

/// A bar with the signs of the file.
#[derive(Clone, Debug)]
pub struct RawBar {
    /// Its number in the file.
    pub number: String,
    /// Its place among the measures of the part, from 0.
    pub measure: usize,
    /// Its contents; the field `ending` is not used.
    pub bar: SheetBar,
    /// The meter in force, if the bar itself is shorter.
    pub nominal: Meter,
    /// How much of it its notes and rests fill, in ticks.
    pub filled: u32,
    /// The numbers of the ending that starts here; empty if no ending starts.
    pub ending: Vec<u8>,
    /// Whether the ending's bracket stops here.
    pub ending_stops: bool,
    /// How often the repeat that closes here is played, from 1.
    pub times: u8,
}

/// The bars of a page, with their repeats.
pub struct Unfolded {
    /// The bars.
    pub sheet: Sheet,
    /// The number of each bar in the file.
    pub numbers: Vec<String>,
    /// The place of each bar among the measures of the part, from 0.
    pub measures: Vec<usize>,
}

impl RawBar {
    /// A bar without signs.
    pub const fn new(meter: Meter) -> RawBar {
        RawBar {
            number: String::new(),
            measure: 0,
            bar: SheetBar::empty(meter, 0),
            nominal: meter,
            filled: 0,
            ending: Vec::new(),
            ending_stops: false,
            times: 2,
        }
    }
}

/// The bars as a sheet, and where each of them stands in the file. An ending of several numbers is
/// written for each of them.
///
/// # Errors
/// More bars than a chart can hold.
pub fn unfold(raw: Vec<RawBar>) -> Result<Unfolded, ImportError> {
    let mut form = Unfolding::default();
    let mut rest = raw.as_slice();
    while let Some((first, after)) = rest.split_first() {
        if first.ending.is_empty() {
            form.bar(first)?;
            rest = after;
        } else {
            let last = rest
                .iter()
                .position(|bar| bar.ending_stops || bar.bar.closes);
            // A bracket without an end is one bar long.
            let (block, after) = rest.split_at(last.map_or(1, |last| last + 1));
            form.ending(block)?;
            rest = after;
        }
    }
    Ok(form.finish())
}

#[derive(Default)]
struct Unfolding {
    bars: Vec<SheetBar>,
    numbers: Vec<String>,
    measures: Vec<usize>,
    sections: Vec<Option<Section>>,
    /// The start of the repeat that would be closed next.
    start: usize,
    /// The endings of this repeat so far.
    endings: u8,
    /// Whether a jump follows the bar before.
    jumped: bool,
}

impl Unfolding {
    fn push(&mut self, raw: &RawBar) -> Result<(), ImportError> {
        if self.bars.len() == MOST_BARS {
            return Err(ImportError::TooLarge);
        }
        // In our notation a letter ends a repeat, but not in MusicXML. So the letters are put
        // back when every repeat has its start.
        self.sections.push(raw.bar.section);
        self.jumped = raw.bar.roads.jump.is_some();
        self.numbers.push(raw.number.clone());
        self.measures.push(raw.measure);
        self.bars.push(SheetBar {
            section: None,
            times: 2,
            ..raw.bar.clone()
        });
        Ok(())
    }

    fn bar(&mut self, raw: &RawBar) -> Result<(), ImportError> {
        let part = raw.bar.opens || raw.bar.roads.coda || self.jumped;
        if part || self.endings > 0 {
            self.start = self.bars.len();
            self.endings = 0;
        }
        self.push(raw)?;
        if raw.bar.pickup.is_some() {
            self.start = self.bars.len();
        }
        if raw.bar.closes {
            self.repeat(raw.times);
        }
        Ok(())
    }

    /// Ends a repeat without endings.
    fn repeat(&mut self, times: u8) {
        if let Some(last) = self.bars.last_mut() {
            last.closes = times >= 2;
            last.times = times.clamp(2, MOST_TIMES);
        }
        if let (true, Some(first)) = (times >= 2, self.bars.get_mut(self.start)) {
            first.opens = true;
        }
        self.start = self.bars.len();
    }

    /// Adds an ending for each of its numbers. All but the last one go back.
    fn ending(&mut self, block: &[RawBar]) -> Result<(), ImportError> {
        let numbers = block.first().map_or(1, |first| first.ending.len());
        let closes = block.last().is_some_and(|last| last.bar.closes);
        if self.endings == 0
            && let Some(first) = self.bars.get_mut(self.start)
        {
            first.opens = true;
        }
        for nth in 1..=numbers {
            let from = self.bars.len();
            self.endings = self.endings.saturating_add(1);
            for raw in block {
                self.push(raw)?;
            }
            // Signs are not written twice.
            if nth < numbers {
                let copies = self.bars.get_mut(from..).unwrap_or_default();
                copies
                    .iter_mut()
                    .for_each(|bar| bar.roads = Roads::default());
            }
            if let Some(first) = self.bars.get_mut(from) {
                first.ending = Some(self.endings);
            }
            if let Some(last) = self.bars.last_mut() {
                last.closes = closes || nth < numbers;
            }
        }
        Ok(())
    }

    fn finish(mut self) -> Unfolded {
        sheet::make_explicit(&mut self.bars);
        let mut start_ticks = 0;
        for (bar, section) in self.bars.iter_mut().zip(self.sections) {
            bar.section = section;
            bar.start_ticks = start_ticks;
            start_ticks += bar.meter.bar_ticks();
        }
        let sheet = Sheet {
            bars: self.bars,
            ..Sheet::default()
        };
        Unfolded {
            sheet,
            numbers: self.numbers,
            measures: self.measures,
        }
    }
}
