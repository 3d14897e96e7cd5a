//! From a melody to its text. Imports `length` and `line`, and `chart`.

use super::length::Length;
use super::line::{Melody, MelodyNote};
use crate::chart::{Bar, Chart};
use std::fmt::Write;
use std::ops::Range;

impl Melody {
    /// The melody as text over a chart: the one form that [`parse`](super::parse) reads back to
    /// the same melody. A note without a name gets the usual name of its key. What lies beyond
    /// the end of the chart is left out. It is empty without notes.
    #[must_use]
    pub fn text(&self, chart: &Chart) -> String {
        let length = chart.length_ticks();
        let Some(last) = self.within(&(0..length)).last() else {
            return String::new();
        };
        let end = last.end_ticks().min(length);
        let bars = chart.bars.iter().take_while(|bar| bar.start_ticks < end);
        let mut printer = Printer {
            chart,
            text: String::new(),
            last: Length::QUARTER,
        };
        for bar in bars {
            printer.bar(self, bar, end);
        }
        printer.text.push('|');
        printer.text
    }
}

struct Printer<'a> {
    chart: &'a Chart,
    text: String,
    /// The length of the item before. An item of the same length does not repeat it.
    last: Length,
}

impl Printer<'_> {
    fn bar(&mut self, melody: &Melody, bar: &Bar, end: u32) {
        let ticks = bar.start_ticks..bar.start_ticks + bar.meter.bar_ticks();
        self.text.push_str("| ");
        let notes = melody.within(&ticks);
        if notes.is_empty() {
            return;
        }
        let mut now = ticks.start;
        for note in notes {
            let (from, until) = (note.start_ticks.max(now), note.end_ticks().min(ticks.end));
            self.rest(now..from);
            // The note goes on in the next bar of the chart.
            let goes_on = note.end_ticks() > ticks.end && ticks.end < end;
            self.note(note, from..until, goes_on);
            now = until;
        }
        self.rest(now..ticks.end.min(end));
    }

    fn note(&mut self, note: &MelodyNote, ticks: Range<u32>, goes_on: bool) {
        let pitch = note.spelled();
        let name = format!("{}{}", pitch.name.named(self.chart.names), pitch.octave);
        let (first, second) = Length::written(ticks.end - ticks.start);
        self.item(&name, first, second.is_some() || goes_on);
        if let Some(second) = second {
            self.item(&name, second, goes_on);
        }
    }

    fn rest(&mut self, ticks: Range<u32>) {
        if ticks.is_empty() {
            return;
        }
        let (first, second) = Length::written(ticks.end - ticks.start);
        self.item("r", first, false);
        if let Some(second) = second {
            self.item("r", second, false);
        }
    }

    fn item(&mut self, name: &str, length: Length, tied: bool) {
        self.text.push_str(name);
        if length != self.last {
            // Writing to a text does not fail.
            let _written = write!(self.text, "{length}");
            self.last = length;
        }
        self.text.push_str(if tied { "~ " } else { " " });
    }
}
