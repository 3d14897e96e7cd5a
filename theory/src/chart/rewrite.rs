//! Replaces chords in the text that the user wrote. Imports `parse`, `bars`, `words` and
//! `symbol`.

use super::parse::parse_with;
use super::{Bar, Change, Chart, Written, words};
use crate::chord::Chord;
use crate::pitch::NoteNames;
use crate::symbol::{self, NamedSymbol, Sign};
use std::ops::Range;

/// A chord, or silence, with the tick at which it starts and the word for it.
struct Start {
    ticks: u32,
    word: String,
}

/// The text with other chords for the changes `at`, which are indices into [`Chart::changes`].
/// Each part is a chord, or silence, with its length in ticks. All other bars stay as they were
/// typed. A bar that is played more than once is checked each time.
///
/// None if the lengths do not add up to those of the changes, or if the notation cannot write
/// them: chords between the beats that do not share a bar evenly.
#[must_use]
pub fn rewrite(
    text: &str,
    chart: &Chart,
    at: Range<usize>,
    parts: &[(Option<Chord>, u32)],
) -> Option<String> {
    let old = chart
        .changes
        .get(at.clone())
        .filter(|old| !old.is_empty())?;
    let from = old.first()?.start_ticks;
    let until = old
        .last()
        .map(|last| last.start_ticks + last.length_ticks)?;
    let length: u32 = parts.iter().map(|(_, length)| length).sum();
    if parts.is_empty() || length != until - from || parts.iter().any(|(_, l)| *l == 0) {
        return None;
    }
    let starts = starts(text, chart, at, from, parts)?;
    let bars = rewritten(text, chart, &starts, from..until)?;
    let mut result = text.to_owned();
    for (written, words) in bars.iter().rev() {
        let source = chart.written.get(*written)?.source.clone();
        result.get(source.clone())?;
        // An empty bar keeps a space on either side.
        let after = if source.is_empty() { " " } else { "" };
        result.replace_range(source, &format!("{words}{after}"));
    }
    let touched = |bar: &Bar| bars.iter().any(|(written, _)| *written == bar.written);
    says(&result, chart, from..until, parts, touched).then_some(result)
}

/// The text with the notes of its chords named in another language. Everything else stays as it
/// was typed.
#[must_use]
pub fn renamed(text: &str, from: NoteNames, to: NoteNames) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    let mut at = 0;
    for word in words::words(text, from) {
        let chord = symbol::parse_with(word.text, from).ok();
        let chord = chord.filter(|_| word.sign == words::Sign::Chord && from != to);
        let Some(chord) = chord else { continue };
        out.push_str(text.get(at..word.at).unwrap_or(""));
        out.push_str(&NamedSymbol(&chord, Sign::Ascii, to).to_string());
        at = word.source().end;
    }
    out.push_str(text.get(at..).unwrap_or(""));
    out
}

/// Every start of a chord in the chart as it will be played.
fn starts(
    text: &str,
    chart: &Chart,
    at: Range<usize>,
    from: u32,
    parts: &[(Option<Chord>, u32)],
) -> Option<Vec<Start>> {
    let as_typed = |change: &Change| {
        Some(Start {
            ticks: change.start_ticks,
            word: text.get(change.source.clone())?.to_owned(),
        })
    };
    let before = chart.changes.get(..at.start)?.iter().map(as_typed);
    let after = chart.changes.get(at.end..)?.iter().map(as_typed);
    let mut now = from;
    let new = parts.iter().map(|(chord, length)| {
        let word = match chord {
            Some(chord) => NamedSymbol(chord, Sign::Ascii, chart.names).to_string(),
            None => "N.C.".to_owned(),
        };
        let start = Start { ticks: now, word };
        now += length;
        Some(start)
    });
    before.chain(new).chain(after).collect()
}

/// The bars that have to be rewritten, as indices of written bars, each with its new words.
fn rewritten(
    text: &str,
    chart: &Chart,
    starts: &[Start],
    span: Range<u32>,
) -> Option<Vec<(usize, String)>> {
    let mut bars: Vec<(usize, String)> = Vec::new();
    let first = chart.bar_at(span.start);
    for (index, bar) in chart.bars.iter().enumerate().skip(first) {
        let written = chart.written.get(bar.written)?;
        // The second bar of a `%%` is written with the first.
        let played_before = index.checked_sub(1).and_then(|i| chart.bars.get(i));
        let both = written.two_bars && index > first;
        if both && played_before.is_some_and(|before| before.written == bar.written) {
            continue;
        }
        let concerned = bar.start_ticks < span.end;
        if !concerned && !leans(text, written)? {
            break;
        }
        let mut words = in_notation(chart, starts, index, bar)?;
        if written.two_bars {
            let next = chart.bars.get(index + 1)?;
            words = format!("{words} | {}", in_notation(chart, starts, index + 1, next)?);
        }
        match bars.iter().find(|(written, _)| *written == bar.written) {
            Some((_, other)) if *other != words => return None,
            Some(_) => {}
            None => bars.push((bar.written, words)),
        }
    }
    bars.sort_by_key(|(written, _)| *written);
    Some(bars)
}

/// Whether the meaning of a bar depends on the bars before it. Such a bar is written out.
fn leans(text: &str, written: &Written) -> Option<bool> {
    let first = written.shares.first();
    let first = first.map_or(Some(""), |share| text.get(share.source.clone()))?;
    Some(matches!(first, "" | "%" | "%%" | "/" | "."))
}

/// A bar in the notation of charts.
fn in_notation(chart: &Chart, starts: &[Start], index: usize, bar: &Bar) -> Option<String> {
    let within = |bar: &Bar| -> Vec<&Start> {
        let end = bar.start_ticks + bar.meter.bar_ticks();
        let inside = |s: &&Start| s.ticks >= bar.start_ticks && s.ticks < end;
        starts.iter().filter(inside).collect()
    };
    let here = within(bar);
    let places: Vec<u32> = here.iter().map(|s| s.ticks - bar.start_ticks).collect();
    let count = u32::try_from(here.len()).ok()?;
    let pickup = chart.written.get(bar.written)?.pickup;
    let plain = || {
        let words: Vec<&str> = here.iter().map(|s| s.word.as_str()).collect();
        words.join(" ")
    };
    // A pickup is always counted by its beats.
    let alone = !here.is_empty() && !pickup;
    if alone && bar.meter.shares(count).eq(places.iter().copied()) {
        return Some(plain());
    }
    if here.is_empty() && !pickup {
        let before = index.checked_sub(1).and_then(|i| chart.bars.get(i));
        let simple = before.is_some_and(|before| {
            let starts = within(before);
            let on_the_one = starts.first().is_none_or(|s| s.ticks == before.start_ticks);
            before.meter == bar.meter && starts.len() < 2 && on_the_one
        });
        if simple {
            return Some("%".to_owned());
        }
    }
    let beat = bar.meter.beat_ticks();
    if places.iter().any(|place| place % beat != 0) {
        let even = alone && bar.meter.even_shares(count).eq(places.iter().copied());
        return even.then(|| format!("even {}", plain()));
    }
    let beats = (0..u32::from(bar.meter.beats)).map(|number| {
        let on_it = here.iter().zip(&places).find(|(_, p)| **p == number * beat);
        on_it.map_or("/", |(start, _)| start.word.as_str())
    });
    Some(beats.collect::<Vec<_>>().join(" "))
}

/// Whether a text says what it should: the parts in the span, and elsewhere what was there
/// before. Bars that were touched are not compared.
fn says(
    text: &str,
    before: &Chart,
    span: Range<u32>,
    parts: &[(Option<Chord>, u32)],
    touched: impl Fn(&Bar) -> bool,
) -> bool {
    let Ok(after) = parse_with(text, before.names) else {
        return false;
    };
    let said = |chart: &Chart, wanted: &dyn Fn(u32) -> bool| -> Vec<(Option<Chord>, u32)> {
        let changes = chart.changes.iter().filter(|c| wanted(c.start_ticks));
        changes.map(|c| (c.chord, c.start_ticks)).collect()
    };
    let mut now = span.start;
    let mut expected = Vec::new();
    for (chord, length) in parts {
        expected.push((*chord, now));
        now += length;
    }
    let untouched = |ticks: u32| {
        let bar = before.bars.get(before.bar_at(ticks));
        !span.contains(&ticks) && !bar.is_some_and(&touched)
    };
    let same_bars = after.bars.iter().map(|b| (b.start_ticks, b.meter));
    same_bars.eq(before.bars.iter().map(|b| (b.start_ticks, b.meter)))
        && said(&after, &|ticks| span.contains(&ticks)) == expected
        && said(&after, &untouched) == said(before, &untouched)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::TICKS_PER_QUARTER;
    use crate::chart::parse;
    use crate::symbol;

    /// Chords with their lengths in quarters.
    fn with(text: &str, at: Range<usize>, parts: &[(&str, u32)]) -> Option<String> {
        let chart = parse(text).unwrap();
        let parts: Vec<(Option<Chord>, u32)> = parts
            .iter()
            .map(|(word, beats)| (symbol::parse(word).ok(), beats * TICKS_PER_QUARTER))
            .collect();
        rewrite(text, &chart, at, &parts)
    }

    #[test]
    fn a_bar_takes_other_chords() {
        let text = "| Dm7 | G7 | Cmaj7 | % |";
        let new = with(text, 1..2, &[("Db7", 4)]);
        assert_eq!(new.as_deref(), Some("| Dm7 | Db7 | Cmaj7 | % |"));
        let new = with(text, 1..2, &[("Abm7", 2), ("Db7", 2)]);
        assert_eq!(new.as_deref(), Some("| Dm7 | Abm7 Db7 | Cmaj7 | % |"));
        let new = with(text, 1..2, &[("Dm7", 3), ("G7", 1)]);
        assert_eq!(new.as_deref(), Some("| Dm7 | Dm7 / / G7 | Cmaj7 | % |"));
        let new = with(text, 0..3, &[("Dm7", 8), ("Cmaj7", 8)]);
        assert_eq!(new.as_deref(), Some("| Dm7 | % | Cmaj7 | % |"));
        assert_eq!(with(text, 1..2, &[("G7", 3)]), None, "a beat is missing");
    }

    #[test]
    fn what_the_user_typed_around_it_stays() {
        let text = "[A] |: D-7  ø | G7 :|".replace(" ø", "");
        let new = with(&text, 1..2, &[("Db7", 4)]);
        assert_eq!(new.as_deref(), Some("[A] |: D-7  | Db7 :|"));
    }

    /// German names: H is B natural, B is B flat (common practice, no published
    /// source).
    #[test]
    fn a_german_chart_is_rewritten_in_german() {
        let text = "| Hm7b5 | E7 b9 | Am6 | B7 |";
        let chart = parse_with(text, NoteNames::German).unwrap();
        let roots: Vec<String> = chart
            .changes
            .iter()
            .filter_map(|change| Some(change.chord?.root.to_string()))
            .collect();
        assert_eq!(roots, ["B", "E", "A", "Bb"]);
        let part = |word| vec![(symbol::parse(word).ok(), 4 * TICKS_PER_QUARTER)];
        let flat = rewrite(text, &chart, 1..2, &part("Bb7"));
        assert_eq!(flat.as_deref(), Some("| Hm7b5 | B7 | Am6 | B7 |"));
        let sharp = rewrite(text, &chart, 3..4, &part("F#7"));
        assert_eq!(sharp.as_deref(), Some("| Hm7b5 | E7 b9 | Am6 | Fis7 |"));
        let whole = "[A] |: Hm7 E7 | 1. % | Es6/B :| N.C. |";
        let english = renamed(whole, NoteNames::German, NoteNames::English);
        assert_eq!(english, "[A] |: Bm7 E7 | 1. % | Eb6/Bb :| N.C. |");
        let back = renamed(&english, NoteNames::English, NoteNames::German);
        assert_eq!(back, whole);
    }

    #[test]
    fn a_bar_that_repeats_another_is_written_out() {
        let text = "| Dm7 G7 | % | C6 |";
        let new = with(text, 0..2, &[("Abm7", 2), ("Db7", 2)]);
        assert_eq!(new.as_deref(), Some("| Abm7 Db7 | Dm7 G7 | C6 |"));
        let text = "| C6 | / / / F6 | % |";
        let new = with(text, 0..1, &[("C6", 4), ("A7", 3)]);
        assert_eq!(new.as_deref(), Some("| C6 | A7 / / F6 | C6 / / F6 |"));
    }

    #[test]
    fn uneven_and_even_shares_are_written_as_they_sound() {
        let text = "| C6 | F6 |";
        let new = with(text, 0..1, &[("C6", 2), ("A7", 1), ("D7", 1)]);
        assert_eq!(new.as_deref(), Some("| C6 A7 D7 | F6 |"));
        let chart = parse("| even C6 F6 G6 | F6 |").unwrap();
        let thirds: Vec<_> = ["A7", "D7", "G7"]
            .map(|word| (symbol::parse(word).ok(), 1280))
            .into();
        let new = rewrite("| even C6 F6 G6 | F6 |", &chart, 0..3, &thirds);
        assert_eq!(new.as_deref(), Some("| even A7 D7 G7 | F6 |"));
        let new = with("| even C6 F6 G6 | F6 |", 0..3, &[("A7", 4)]);
        assert_eq!(new.as_deref(), Some("| A7 | F6 |"));
    }

    #[test]
    fn signs_of_the_road_stay_around_the_bar() {
        let text = "Segno C6 | F6 To Coda | G7 D.S. al Coda | Coda A7 |";
        let new = with(text, 1..2, &[("D7", 4)]);
        assert_eq!(
            new.as_deref(),
            Some("Segno C6 | D7 To Coda | G7 D.S. al Coda | Coda A7 |")
        );
        let text = "Pickup C6 / | F6 |";
        let new = with(text, 0..1, &[("C6", 1), ("D7", 1)]);
        assert_eq!(new.as_deref(), Some("Pickup C6 D7 | F6 |"));
    }

    #[test]
    fn bars_that_repeat_two_are_written_out() {
        let text = "| C6 | F6 | %% | A7 |";
        let new = with(text, 1..2, &[("D7", 4)]);
        assert_eq!(new.as_deref(), Some("| C6 | D7 | C6 | F6 | A7 |"));
        let text = "| C6 F6 | | A7 . . D7 |";
        let new = with(text, 0..1, &[("E7", 2)]);
        assert_eq!(new.as_deref(), Some("| E7 F6 | C6 F6 | A7 . . D7 |"));
    }

    #[test]
    fn a_bar_that_is_played_twice_changes_both_times() {
        let text = "|: Dm7 | G7 :| C6 |";
        let new = with(text, 1..2, &[("Db7", 4)]);
        assert_eq!(new.as_deref(), Some("|: Dm7 | Db7 :| C6 |"));
        // The span goes through the same bar twice, and wants it otherwise.
        assert_eq!(with(text, 1..4, &[("Db7", 4), ("Dm7", 4), ("G7", 4)]), None);
    }
}
