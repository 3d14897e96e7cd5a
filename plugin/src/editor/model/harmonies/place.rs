//! Which chords of a chart are asked about, and what surrounds them. Pure; the panel's
//! thread. The files beside it import it.

use guidehand_theory::chart::{Change, Chart};
use guidehand_theory::key::Key;
use guidehand_theory::reharm::{self, Span};
use std::ops::Range;

/// The most chords that are asked about at once; of more the first ones are.
pub const MOST: usize = 16;

/// Chords before and after that are looked at: further ones change nothing.
const AROUND: usize = 64;

/// Chords of a chart with as much of their surroundings as matters.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Window {
    /// The chords in their keys.
    pub spans: Vec<Span>,
    /// The change of the chart that the first span is.
    pub first: usize,
}

/// The changes whose symbols a part of the text touches, indices into
/// [`Chart::changes`]: of a repeat its first playing. An empty part is the
/// text's cursor, and stands for the chord in force there. None in a chart
/// without changes.
#[must_use]
pub fn at_text(chart: &Chart, part: &Range<usize>) -> Option<Range<usize>> {
    let changes = &chart.changes;
    let touched = |c: &Change| c.source.start < part.end && c.source.end > part.start;
    if let Some(start) = changes.iter().position(touched) {
        let rest = changes.get(start..)?;
        // A step back in the text is the next playing.
        let goes_on = |pair: &&[Change]| match pair {
            [one, next] => touched(next) && next.source.start >= one.source.start,
            _ => false,
        };
        let more = rest.windows(2).take_while(goes_on).count();
        return Some(start..start + more + 1);
    }
    let before = |c: &&Change| c.source.start <= part.start;
    let last = changes.iter().filter(before).map(|c| c.source.start).max();
    let found = changes.iter().position(|c| Some(c.source.start) == last);
    let at = found.or((!changes.is_empty()).then_some(0))?;
    Some(at..at + 1)
}

/// The change in force at a tick of the chart.
#[must_use]
pub fn at_ticks(chart: &Chart, ticks: u32) -> Option<usize> {
    let begun = chart.changes.partition_point(|c| c.start_ticks <= ticks);
    begun.checked_sub(1)
}

/// These changes and what surrounds them, in their keys.
#[must_use]
pub fn window(chart: &Chart, at: &Range<usize>, pinned: Option<Key>) -> Window {
    let changes = &chart.changes;
    let first = at.start.saturating_sub(AROUND).min(changes.len());
    let end = at.end.saturating_add(AROUND).min(changes.len());
    let here = changes.get(first..end).unwrap_or(&[]).iter();
    let mut spans: Vec<Span> = here.map(span).collect();
    // The chart repeats. A window that begins later lacks what its end leads to.
    if first > 0 && end == changes.len() {
        let again = changes.iter().find(|c| c.chord.is_some()).map(span);
        spans.extend(again.map(|again| Span {
            start_ticks: chart.length_ticks(),
            ..again
        }));
    }
    reharm::analyse(&mut spans, pinned);
    Window { spans, first }
}

const fn span(change: &Change) -> Span {
    Span {
        chord: change.chord,
        start_ticks: change.start_ticks,
        length_ticks: change.length_ticks,
        function: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidehand_theory::chart::{self, TICKS_PER_QUARTER};

    const TEXT: &str = "|: Dm7 G7 | Cmaj7 / / A7 :| N.C. | % | F6 |";

    fn told(part: Range<usize>) -> Vec<String> {
        let chart = chart::parse(TEXT).unwrap();
        let at = at_text(&chart, &part).unwrap();
        let changes = chart.changes[at].iter();
        changes.map(|c| TEXT[c.source.clone()].to_owned()).collect()
    }

    fn place(word: &str) -> usize {
        TEXT.find(word).unwrap()
    }

    #[test]
    fn a_cursor_stands_for_the_chord_in_force() {
        let after = |word: &str| {
            let at = place(word) + word.len();
            told(at..at)
        };
        assert_eq!(told(0..0), ["Dm7"], "before everything");
        assert_eq!(after("Dm"), ["Dm7"]);
        assert_eq!(after("Dm7"), ["Dm7"], "right behind it");
        assert_eq!(after("| Cmaj7 / "), ["Cmaj7"], "on its slash");
        assert_eq!(after("N.C. | "), ["N.C."], "on its sign of repetition");
        assert_eq!(told(TEXT.len()..TEXT.len()), ["F6"]);
    }

    #[test]
    fn a_selection_is_every_chord_that_it_touches() {
        assert_eq!(told(place("m7 G")..place("7 | C")), ["Dm7", "G7"]);
        assert_eq!(told(place("G7")..place("A7") + 1), ["G7", "Cmaj7", "A7"]);
        let space = place(" / / ");
        assert_eq!(told(space..space + 2), ["Cmaj7"], "no symbol in it");
        // A repeat is asked about once.
        assert_eq!(told(0..place("N.C.")), ["Dm7", "G7", "Cmaj7", "A7"]);
    }

    #[test]
    fn ticks_find_the_change_in_force() {
        let chart = chart::parse(TEXT).unwrap();
        assert_eq!(at_ticks(&chart, 0), Some(0));
        assert_eq!(at_ticks(&chart, 2 * TICKS_PER_QUARTER - 1), Some(0));
        assert_eq!(at_ticks(&chart, 2 * TICKS_PER_QUARTER), Some(1));
    }

    #[test]
    fn a_window_says_of_its_chords_what_the_whole_chart_says() {
        let text = "| Dm7 | G7 | Cmaj7 | A7 |\n| Gm7 | C7 | Fmaj7 | Bb7 |\n".repeat(40);
        let chart = chart::parse(&text).unwrap();
        let count = chart.changes.len();
        let all = window(&chart, &(0..count), None);
        assert_eq!((all.first, all.spans.len()), (0, count));
        for at in [0, 1, 100, 150, count - 1] {
            let window = window(&chart, &(at..at + 1), None);
            assert!(window.spans.len() <= 2 * AROUND + 2);
            assert_eq!(window.spans[at - window.first], all.spans[at]);
        }
        let last = window(&chart, &(count - 1..count), None);
        let again = last.spans.last().unwrap();
        assert_eq!(again.chord, chart.changes[0].chord);
    }
}
