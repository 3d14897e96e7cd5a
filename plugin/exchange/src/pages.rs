//! Turns charts into sheets. Imports `sheet`, and `text` to check the result.

use crate::sheet::{Place, Sheet, SheetBar, make_explicit};
use guidehand_theory::chart::{self, Chart, Roads, Section};
use std::collections::BTreeMap;
use std::ops::Range;

impl Sheet {
    /// The page as the chart writes it, with repeats and endings. A section that a letter
    /// recalls is written out.
    ///
    /// If a bar sounds different each time round (`%` at the start of a repeat), the page shows
    /// the chart as it is played.
    #[must_use]
    pub fn written(chart: &Chart) -> Sheet {
        let mut bars: Vec<SheetBar> = Vec::new();
        let mut firsts: Vec<Option<usize>> = vec![None; chart.written.len()];
        for (index, bar) in chart.bars.iter().enumerate() {
            if let Some(first) = firsts.get_mut(bar.written) {
                first.get_or_insert(index);
            }
        }
        for (written, again) in page_order(chart) {
            let first = firsts.get(written).copied().flatten();
            let (Some(first), Some(signs)) = (first, chart.written.get(written)) else {
                continue;
            };
            let from = bars.len();
            let count = 1 + usize::from(signs.two_bars);
            bars.extend((first..first + count).filter_map(|index| bar(chart, index)));
            if signs.two_bars
                && let Some(second) = bars.get_mut(from + 1)
            {
                second.section = None;
            }
            if let Some(bar) = bars.get_mut(from) {
                bar.opens = signs.opens;
                bar.ending = signs.ending;
            }
            if let Some(bar) = bars.last_mut() {
                bar.closes = signs.closes;
                bar.times = signs.times;
            }
            if !again {
                put_roads(&mut bars, from, signs.roads);
            }
        }
        make_explicit(&mut bars);
        let title = chart.title.clone();
        let sheet = Sheet { title, bars };
        let same = chart::parse(&sheet.to_text()).is_ok_and(|again| plays_alike(chart, &again));
        if same { sheet } else { Sheet::played(chart) }
    }

    /// The page with all repeats written out.
    #[must_use]
    pub fn played(chart: &Chart) -> Sheet {
        let bars = (0..chart.bars.len()).filter_map(|index| bar(chart, index));
        Sheet {
            title: chart.title.clone(),
            bars: bars.collect(),
        }
    }
}

/// Puts signs of jumps around one or two bars, beginning at an index.
fn put_roads(bars: &mut [SheetBar], from: usize, roads: Roads) {
    let (segno, coda) = (roads.segno, roads.coda);
    if let Some(last) = bars.last_mut() {
        last.roads = Roads {
            segno: false,
            coda: false,
            ..roads
        };
    }
    if let Some(first) = bars.get_mut(from) {
        (first.roads.segno, first.roads.coda) = (segno, coda);
    }
}

/// Whether two charts have the same bars and changes, however they are written.
#[must_use]
pub fn plays_alike(one: &Chart, other: &Chart) -> bool {
    let bars = |chart: &Chart| -> Vec<_> {
        let bars = chart.bars.iter();
        bars.map(|bar| (bar.start_ticks, bar.meter)).collect()
    };
    let changes = |chart: &Chart| -> Vec<_> {
        let changes = chart.changes.iter();
        changes
            .map(|c| (c.start_ticks, c.length_ticks, c.chord))
            .collect()
    };
    bars(one) == bars(other) && changes(one) == changes(other)
}

/// A bar as played, with its letter and without signs of repetition.
fn bar(chart: &Chart, index: usize) -> Option<SheetBar> {
    let bar = chart.bars.get(index)?;
    let from = chart.changes.partition_point(|change| change.bar < index);
    let its = chart.changes.get(from..).unwrap_or_default().iter();
    let places = its
        .take_while(|change| change.bar == index)
        .map(|change| Place {
            at_ticks: change.start_ticks - bar.start_ticks,
            chord: change.chord,
        });
    let written = chart.written.get(bar.written)?;
    Some(SheetBar {
        section: written.section,
        pickup: written.pickup.then_some(written.meter),
        places: places.collect(),
        ..SheetBar::empty(bar.meter, bar.start_ticks)
    })
}

/// The written bars in the order of the text. Recalled sections take the place of their letters
/// and are marked as repeated.
fn page_order(chart: &Chart) -> Vec<(usize, bool)> {
    let mut order: Vec<(usize, bool)> = Vec::new();
    let mut sections: BTreeMap<Section, Range<usize>> = BTreeMap::new();
    let mut open: Option<(Section, usize)> = None;
    let mut recalls = chart.recalls.iter().peekable();
    for index in 0..=chart.written.len() {
        let starts = chart.written.get(index).and_then(|bar| bar.section);
        let recalled = recalls.peek().is_some_and(|r| r.before == index);
        if (starts.is_some() || recalled)
            && let Some((section, from)) = open.take()
        {
            sections.insert(section, from..order.len());
        }
        while let Some(recall) = recalls.next_if(|r| r.before == index) {
            let range = sections.get(&recall.section).cloned();
            let from = order.len();
            order.extend_from_within(range.unwrap_or(0..0));
            let again = order.iter_mut().skip(from);
            again.for_each(|(_, again)| *again = true);
        }
        if let Some(section) = starts {
            open = Some((section, order.len()));
        }
        order.extend((index < chart.written.len()).then_some((index, false)));
    }
    order
}
