//! A whole chart, or some of its bars, as a tasteful player would dress it: what is
//! wished for each bar, and the text that comes of it. Pure; the panel's thread.
//! `state` and `apply` beside it import it.

use super::place;
use guidehand_theory::chart::{self, Change, Chart};
use guidehand_theory::chord::Chord;
use guidehand_theory::key::Key;
use guidehand_theory::reharm::{self, Dress, DressedBar, Note, Span};
use std::collections::BTreeSet;
use std::ops::Range;

/// The longest stretch that is dressed at once, in chords as played.
pub const MOST: usize = 256;

/// What is wished for each bar, in the order of the text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wishes {
    bars: Vec<Dress>,
}

/// What became of the wishes.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Dressed {
    /// The chart's text with them; none if it is the same.
    pub text: Option<String>,
    /// Bars of the text, from 1, that are played more than once and would differ;
    /// there the chords stay as they are.
    pub differ: BTreeSet<usize>,
    /// Bars of the text, from 1, that the notation cannot hold.
    pub unwritten: BTreeSet<usize>,
    /// More chords than are dressed at once.
    pub too_long: bool,
}

impl Wishes {
    /// The wish for a bar of the text, from 0.
    #[must_use]
    pub fn of(&self, bar: usize) -> Dress {
        self.bars.get(bar).copied().unwrap_or_default()
    }

    /// The wish for all bars, if it is one.
    #[must_use]
    pub fn of_all(&self, chart: &Chart) -> Option<Dress> {
        let first = self.of(0);
        let all = (0..chart.written.len()).all(|bar| self.of(bar) == first);
        all.then_some(first)
    }

    /// Wishes the same for these bars of the text.
    pub fn wish(&mut self, chart: &Chart, bars: Range<usize>, dress: Dress) {
        self.bars.resize(chart.written.len(), Dress::Written);
        let count = self.bars.len();
        let range = bars.start.min(count)..bars.end.min(count);
        for wish in self.bars.get_mut(range).unwrap_or_default() {
            *wish = dress;
        }
    }

    fn at(&self, chart: &Chart, bar: usize) -> Dress {
        let bar = chart.bars.get(bar);
        bar.map_or(Dress::Written, |bar| self.of(bar.written))
    }
}

/// The chart's text with every bar as wished.
#[must_use]
pub fn dressed(
    text: &str,
    chart: &Chart,
    wishes: &Wishes,
    melody: &[Note],
    pinned: Option<Key>,
) -> Dressed {
    let wished = |change: &Change| wishes.at(chart, change.bar) != Dress::Written;
    let first = chart.changes.iter().position(wished);
    let last = chart.changes.iter().rposition(wished);
    let Some((first, last)) = first.zip(last) else {
        return Dressed::default();
    };
    if last - first >= MOST {
        return Dressed {
            too_long: true,
            ..Dressed::default()
        };
    }
    let window = place::window(chart, &(first..last + 1), pinned);
    let new = reharm::dress(&window.spans, &bars(chart, wishes), melody);
    let mut work = Work {
        chart,
        new,
        result: Dressed::default(),
        text: text.to_owned(),
        now: chart.clone(),
    };
    for at in first..=last {
        work.change(at);
    }
    let mut result = work.result;
    result.text = (work.text != text).then_some(work.text);
    result
}

fn bars(chart: &Chart, wishes: &Wishes) -> Vec<DressedBar> {
    let bars = chart.bars.iter().map(|bar| DressedBar {
        start_ticks: bar.start_ticks,
        length_ticks: bar.meter.bar_ticks(),
        beat_ticks: bar.meter.beat_ticks(),
        dress: wishes.of(bar.written),
    });
    bars.filter(|bar| bar.dress != Dress::Written).collect()
}

/// The chords that stand in the place of one, with their ticks.
type Parts = Vec<(Option<Chord>, u32)>;

/// The text on its way from the chart to what is wished.
struct Work<'a> {
    chart: &'a Chart,
    /// What is wished, as spans.
    new: Vec<Span>,
    result: Dressed,
    text: String,
    /// What the text reads as by now.
    now: Chart,
}

impl Work<'_> {
    /// Writes what stands in the place of a change, unless an earlier playing of
    /// its bar has.
    fn change(&mut self, at: usize) {
        let Some(change) = self.chart.changes.get(at) else {
            return;
        };
        let parts = self.parts(change);
        let twins = self.twins(change);
        if twins.iter().any(|twin| self.parts(twin) != parts) {
            self.result.differ.insert(self.number(change));
            return;
        }
        let is_first = twins.iter().all(|t| t.start_ticks >= change.start_ticks);
        let as_it_was = [(change.chord, change.length_ticks)];
        if !is_first || parts == as_it_was {
            return;
        }
        let found = self
            .now
            .changes
            .binary_search_by_key(&change.start_ticks, |c| c.start_ticks);
        let new = found
            .ok()
            .and_then(|at| chart::rewrite(&self.text, &self.now, at..at + 1, &parts));
        let names = self.now.names;
        let read = new.and_then(|text| Some((chart::parse_with(&text, names).ok()?, text)));
        if let Some((chart, text)) = read {
            self.now = chart;
            self.text = text;
        } else {
            self.result.unwritten.insert(self.number(change));
        }
    }

    /// What stands in the place of a change.
    fn parts(&self, change: &Change) -> Parts {
        let end = change.start_ticks + change.length_ticks;
        let from = self
            .new
            .partition_point(|s| s.start_ticks < change.start_ticks);
        let new = self.new.iter().skip(from);
        new.take_while(|span| span.start_ticks < end)
            .map(|span| (span.chord, span.length_ticks))
            .collect()
    }

    /// The same change in the other playings of its bar.
    fn twins(&self, change: &Change) -> Vec<Change> {
        let place = |change: &Change| {
            let bar = self.chart.bars.get(change.bar)?;
            Some((bar.written, change.start_ticks - bar.start_ticks))
        };
        let here = place(change);
        let all = self.chart.changes.iter();
        all.filter(|c| c.start_ticks != change.start_ticks && place(c) == here)
            .cloned()
            .collect()
    }

    /// The bar's number in the text, from 1, or 0 for a pickup.
    fn number(&self, change: &Change) -> usize {
        let bar = self.chart.bars.get(change.bar);
        let written = bar.and_then(|bar| self.chart.written.get(bar.written));
        let number = written.and_then(|bar| usize::try_from(bar.number).ok());
        number.unwrap_or(0)
    }
}

impl Dressed {
    /// What could not be done, in words; empty if all was.
    #[must_use]
    pub fn words(&self) -> String {
        if self.too_long {
            return format!("More than {MOST} chords: dress the chart in parts, bar by bar.");
        }
        let mut words = Vec::new();
        let differ = list(&self.differ);
        match self.differ.len() {
            0 => {}
            1 => words.push(format!(
                "Bar {differ} is played more than once and would differ; there the chords stay as written."
            )),
            _ => words.push(format!(
                "Bars {differ} are played more than once and would differ; there the chords stay as written."
            )),
        }
        if !self.unwritten.is_empty() {
            let bars = list(&self.unwritten);
            words.push(format!(
                "The chart has no way to write what was wished for bar {bars}."
            ));
        }
        words.join(" ")
    }
}

/// `1`, `1 and 2`, `1, 2 and 3`; of many the first few.
fn list(numbers: &BTreeSet<usize>) -> String {
    const SHOWN: usize = 5;
    let words: Vec<String> = numbers
        .iter()
        .take(SHOWN)
        .map(ToString::to_string)
        .collect();
    match words.as_slice() {
        _ if numbers.len() > SHOWN => format!("{} and others", words.join(", ")),
        [most @ .., last] if !most.is_empty() => format!("{} and {last}", most.join(", ")),
        words => words.concat(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::chart::parse;
    use guidehand_theory::key::Mode;
    use guidehand_theory::pitch::PitchClass;

    fn all(text: &str, dress: Dress) -> Dressed {
        let chart = parse(text).unwrap();
        let mut wishes = Wishes::default();
        wishes.wish(&chart, 0..chart.written.len(), dress);
        dressed(text, &chart, &wishes, &[], None)
    }

    /// I, vi, ii and V with their tensions written, home again, in a key.
    fn chorus(key: Key) -> String {
        let name = |semitones: i8| key.name(key.tonic.class().up(semitones));
        let (one, six, two, five) = (name(0), name(9), name(2), name(7));
        format!("| {one}maj7 | {six}m9 |\n| {two}m7 / {five}7b9 / | {one}6/9 |")
    }

    /// The theory is the judge: what the text plays is what it says of the spans.
    #[test]
    fn the_text_plays_what_was_wished_in_all_keys() {
        for class in 0..12 {
            let key = Key::usual(PitchClass::wrapping(class), Mode::Major);
            let text = chorus(key);
            let chart = parse(&text).unwrap();
            for dress in [Dress::Plain, Dress::Dressed, Dress::Rich] {
                let count = chart.changes.len();
                let spans = place::window(&chart, &(0..count), None).spans;
                let mut wishes = Wishes::default();
                wishes.wish(&chart, 0..chart.written.len(), dress);
                let wished = reharm::dress(&spans, &bars(&chart, &wishes), &[]);
                let wished: Vec<_> = wished.iter().map(|s| (s.start_ticks, s.chord)).collect();
                let dressed = all(&text, dress);
                assert_eq!(dressed.words(), "");
                let new = parse(&dressed.text.unwrap()).unwrap();
                let new: Vec<_> = new
                    .changes
                    .iter()
                    .map(|c| (c.start_ticks, c.chord))
                    .collect();
                assert_eq!(new, wished, "{text} {dress:?}");
            }
        }
    }

    #[test]
    fn plain_is_the_skeleton_and_what_needs_nothing_stays_as_typed() {
        let plain = all("| D-9 | G13b9 |  C^7 | C6 |", Dress::Plain);
        let text = plain.text.unwrap();
        assert!(text.starts_with("| Dm7 | G7 |"), "{text}");
        assert!(text.contains("C6"), "{text}");
        assert_eq!(all("| D-7 | G7 | C6 |", Dress::Plain).text, None);
        assert_eq!(all("| Dm7 | G7 | C6 |", Dress::Written).text, None);
    }

    #[test]
    fn one_bar_is_dressed_and_the_others_stay() {
        let text = "| Dm9 | G13 | Cmaj9 | A7b9 |";
        let chart = parse(text).unwrap();
        let mut wishes = Wishes::default();
        wishes.wish(&chart, 1..2, Dress::Plain);
        let new = dressed(text, &chart, &wishes, &[], None).text;
        assert_eq!(new.as_deref(), Some("| Dm9 | G7 | Cmaj9 | A7b9 |"));
        wishes.wish(&chart, 3..4, Dress::Plain);
        let new = dressed(text, &chart, &wishes, &[], None).text;
        assert_eq!(new.as_deref(), Some("| Dm9 | G7 | Cmaj9 | A7 |"));
        assert_eq!((wishes.of(1), wishes.of(2)), (Dress::Plain, Dress::Written));
        assert_eq!(wishes.of_all(&chart), None);
    }

    #[test]
    fn a_bar_that_is_played_twice_is_dressed_once() {
        let plain = all("|: Dm9 | G13 :| C6 |", Dress::Plain);
        assert_eq!(plain.text.as_deref(), Some("|: Dm7 | G7 :| C6 |"));
        assert_eq!(plain.words(), "");
    }

    #[test]
    fn a_repeated_bar_that_would_differ_is_told() {
        // G7 leads home once, and to Am the other time.
        let text = "| Dm7 |: G7 |[1 Cmaj7 | Dm7 :|[2 Am7 | % |]";
        let rich = all(text, Dress::Dressed);
        assert!(rich.differ.contains(&2), "{rich:?}");
        assert!(
            rich.words().starts_with("Bar 2 is played more than once"),
            "{rich:?}"
        );
        let new = rich.text.unwrap_or_else(|| text.to_owned());
        assert!(new.contains("|: G7 |"), "{new}");
    }

    #[test]
    fn a_chart_that_is_too_long_is_told_and_dressed_in_parts() {
        let text = "| Dm9 | G13 | Cmaj9 | A7b9 |\n".repeat(70);
        let long = all(&text, Dress::Plain);
        assert!(long.too_long && long.text.is_none());
        assert!(long.words().contains("256"));
        let chart = parse(&text).unwrap();
        let mut wishes = Wishes::default();
        wishes.wish(&chart, 200..201, Dress::Plain);
        let new = dressed(&text, &chart, &wishes, &[], None).text.unwrap();
        assert_eq!(new.matches("Dm7").count(), 1);
    }

    #[test]
    fn many_numbers_are_told_in_short() {
        let words = |numbers: &[usize]| list(&numbers.iter().copied().collect());
        assert_eq!(words(&[3]), "3");
        assert_eq!(words(&[3, 1]), "1 and 3");
        assert_eq!(words(&[1, 2, 3]), "1, 2 and 3");
        assert_eq!(words(&[1, 2, 3, 4, 5, 6]), "1, 2, 3, 4, 5 and others");
    }
}
