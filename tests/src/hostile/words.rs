//! Chord symbols and charts as text. Imports the theory and its sheets.

use guidehand_exchange::pages::plays_alike;
use guidehand_exchange::sheet::Sheet;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, Chart, ChartError, MOST_BARS, MOST_CHANGES, rewrite};
use guidehand_theory::kind;
use guidehand_theory::pipeline;
use guidehand_theory::pitch::NoteNames;
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol::{self, Sign, Symbol, SymbolError};
use std::ops::Range;

/// Charts with more changes than this are read, but neither printed nor planned, to save time.
const MOST_PLANNED: usize = 300;

/// A chord symbol.
///
/// # Panics
/// If a chord does not print as a symbol for the same chord, or an error points outside the text.
pub fn symbol(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    match symbol::parse(&text) {
        Ok(chord) => {
            for sign in [Sign::Ascii, Sign::Unicode] {
                let printed = Symbol(&chord, sign).to_string();
                let again = symbol::parse(&printed);
                assert_eq!(again.as_ref(), Ok(&chord), "{text:?} prints as {printed:?}");
            }
            assert!(kind::from_kind(&kind::to_kind(&chord)).is_ok(), "{text:?}");
        }
        Err(error) => symbol_error(&text, &error),
    }
}

fn symbol_error(text: &str, error: &SymbolError) {
    expect_place(text, error.at..error.at + error.len);
    assert!(error.to_string().len() < 1_000 + 2 * text.len());
    if let Some(better) = &error.suggestion {
        assert!(symbol::parse(better).is_ok(), "{text:?}: {better:?}?");
    }
}

/// A place lies within its text and does not split a character.
pub(super) fn expect_place(text: &str, place: Range<usize>) {
    assert!(text.get(place.clone()).is_some(), "{place:?} of {text:?}");
}

/// A chart.
///
/// # Panics
/// If a chart is beyond its limits, out of order, or prints as another one, if its chords cannot be
/// planned, or an error points outside the text.
pub fn chart(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    expect_words(&text);
    match chart::parse(&text) {
        Ok(chart) => {
            expect_order(&text, &chart);
            if chart.changes.len().max(chart.bars.len()) <= MOST_PLANNED {
                expect_pages(&text, &chart);
                expect_plan(&text, &chart);
            }
        }
        Err(errors) => {
            assert!(!errors.is_empty(), "{text:?}");
            errors.iter().for_each(|error| chart_error(&text, error));
            assert!(errors.is_sorted_by_key(|error| error.source.start));
        }
    }
}

/// The words and bars of any text lie inside it, in order, in every language.
fn expect_words(text: &str) {
    for names in [NoteNames::English, NoteNames::German] {
        expect_words_in(text, names);
    }
}

fn expect_words_in(text: &str, names: NoteNames) {
    let mut at = 0;
    for (place, _) in chart::cut(text, names) {
        expect_place(text, place.clone());
        assert!(place.start >= at && !place.is_empty(), "{text:?}");
        at = place.end;
    }
    for bar in chart::written(text, names) {
        expect_place(text, bar.source.clone());
        let starts = bar.shares.iter().map(|share| share.at_ticks);
        assert!(starts.is_sorted(), "{text:?}");
        for share in bar.shares {
            expect_place(text, share.source);
        }
    }
}

fn chart_error(text: &str, error: &ChartError) {
    expect_place(text, error.source.clone());
    assert!(error.bar > 0);
    assert!(error.to_string().len() < 1_000 + 2 * text.len());
}

/// Bars and changes follow one another without gaps, and their times are right.
fn expect_order(text: &str, chart: &Chart) {
    assert!((1..=MOST_BARS).contains(&chart.bars.len()), "{text:?}");
    assert!((1..=MOST_CHANGES).contains(&chart.changes.len()));
    let mut now = 0;
    for bar in &chart.bars {
        assert_eq!(bar.start_ticks, now, "{text:?}");
        now += bar.meter.bar_ticks();
        expect_place(text, chart.written[bar.written].source.clone());
    }
    assert_eq!(now, chart.length_ticks());
    now = 0;
    for change in &chart.changes {
        assert_eq!(change.start_ticks, now, "{text:?}");
        assert!(change.length_ticks > 0, "{text:?}");
        assert_eq!(chart.bar_at(now), change.bar, "{text:?}");
        now += change.length_ticks;
        expect_place(text, change.source.clone());
    }
    assert_eq!(now, chart.length_ticks());
}

/// The chart as a page shows it, and as it is played, is the same chart.
fn expect_pages(text: &str, chart: &Chart) {
    for sheet in [Sheet::written(chart), Sheet::played(chart)] {
        let printed = sheet.to_text();
        let again = chart::parse(&printed)
            .unwrap_or_else(|errors| panic!("{text:?} prints as {printed:?}: {errors:?}"));
        assert!(plays_alike(chart, &again), "{text:?} prints as {printed:?}");
        let named = |chart: &Chart| !chart.title.trim().is_empty();
        assert_eq!(
            named(chart),
            named(&again),
            "{text:?} prints as {printed:?}"
        );
        assert_eq!(
            chart.has_pickup(),
            again.has_pickup(),
            "{text:?}: {printed:?}"
        );
    }
}

/// Every chord has a voicing within the register, and can be written again.
fn expect_plan(text: &str, chart: &Chart) {
    let placed = pipeline::place(chart, None);
    let register = Register::DEFAULT;
    for texture in [Texture::FourNotes, Texture::TwoHands] {
        let plan = pipeline::plan(&placed, texture, register, Ends::Cyclic);
        assert_eq!(plan.len(), chart.changes.len());
        for (change, voiced) in chart.changes.iter().zip(plan) {
            let sounds = voiced.is_some_and(|voiced| !voiced.voicing.voices().is_empty());
            assert_eq!(sounds, change.chord.is_some(), "{text:?}");
        }
    }
    let last = chart.changes.len() - 1;
    let same = [(chart.changes[last].chord, chart.changes[last].length_ticks)];
    if let Some(rewritten) = rewrite(text, chart, last..last + 1, &same) {
        assert!(chart::parse(&rewritten).is_ok(), "{text:?}: {rewritten:?}");
    }
}
