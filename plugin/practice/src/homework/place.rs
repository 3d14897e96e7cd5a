//! Where the chart lies in a performance: where it begins, and how often it is played. Imports `keys`,
//! `strikes` and `follow`.

use super::follow::{is_on_time, strangeness};
use super::keys::{AskedChord, ON_TIME_TICKS};
use super::strikes::Strike;
use guidehand_theory::chart::Chart;
use guidehand_theory::judge::Question;

/// The bars before and after the likely one in which the chart may begin.
const BARS_AROUND: u32 = 4;
/// The most chords that are asked for.
const MOST_ASKED: usize = 100_000;

/// The tick of the file at which the chart begins: at a bar line, so that its chords agree best with
/// what is struck. Of several such places it is the nearest one to what is struck first.
pub fn start(chart: &Chart, questions: &[Option<Question>], strikes: &[Strike]) -> u32 {
    let Some(first_strike) = strikes.first() else {
        return 0;
    };
    let bar = chart.meter().bar_ticks();
    let pickup = chart.pickup_ticks();
    let mut sounding = chart.changes.iter().zip(questions);
    let first_chord = sounding.find(|(_, question)| question.is_some());
    let first_chord = first_chord.map_or(0, |(change, _)| change.start_ticks);
    let likely = first_strike.first_ticks.saturating_sub(first_chord) + bar / 2;
    let likely = likely / bar;
    let starts = likely.saturating_sub(BARS_AROUND)..=likely.saturating_add(BARS_AROUND);
    // A pickup ends at a bar line. A file may also begin with it.
    let places = starts.flat_map(|bars| {
        let whole = u64::from(bars) * u64::from(bar);
        let before_line = (pickup > 0).then(|| whole + u64::from(bar - pickup));
        let at_line = (pickup == 0 || bars == 0).then_some(whole);
        let places = [at_line, before_line].into_iter().flatten();
        places.filter_map(move |place| Some((bars.abs_diff(likely), u32::try_from(place).ok()?)))
    });
    let best = places.max_by_key(|(away, place)| {
        let asked = first_round(chart, questions, *place);
        (agreement(&asked, strikes), std::cmp::Reverse(*away))
    });
    best.map_or(0, |(_, place)| place)
}

/// How well strikes agree with chords, in thousandths of a chord: each chord counts for the notes of
/// the strike that is on time for it.
fn agreement(asked: &[AskedChord], strikes: &[Strike]) -> u64 {
    let of = |chord: &AskedChord| {
        let from = chord.start_ticks.saturating_sub(4 * ON_TIME_TICKS);
        let first = strikes.partition_point(|strike| strike.last_ticks < from);
        let around = strikes.iter().skip(first).take(8);
        let on_time = around.filter(|strike| is_on_time(strike, chord));
        let agrees = on_time.map(|strike| {
            let notes = strike.notes();
            let enough = notes.len() * 2 >= chord.asked_notes();
            u64::from(enough) * u64::from(1_000 - strangeness(&notes, chord))
        });
        agrees.max().unwrap_or(0)
    };
    let chords = asked.iter().filter(|chord| chord.question.is_some());
    chords.map(of).sum()
}

/// The chords of the chart, played once from a tick of the file on.
fn first_round(chart: &Chart, questions: &[Option<Question>], start: u32) -> Vec<AskedChord> {
    round(chart, questions, start, 0).collect()
}

/// One time round. After the first time the pickup is not played again, and `start` is the place of
/// the bar after it.
fn round<'a>(
    chart: &'a Chart,
    questions: &'a [Option<Question>],
    start: u32,
    round: u32,
) -> impl Iterator<Item = AskedChord> + 'a {
    let skipped = if round == 0 { 0 } else { chart.pickup_ticks() };
    let changes = chart.changes.iter().zip(questions).enumerate();
    changes.filter_map(move |(change, (at, question))| {
        let end = at.start_ticks.saturating_add(at.length_ticks);
        let from = at.start_ticks.max(skipped);
        let length_ticks = end.checked_sub(from).filter(|length| *length > 0)?;
        Some(AskedChord {
            change,
            round,
            start_ticks: start.checked_add(from - skipped)?,
            length_ticks,
            question: *question,
        })
    })
}

/// The chords of the chart from its beginning on, as often as it is played. It is played again as long
/// as at least two of its chords are struck, or its only one, and then asked for up to the last
/// strike.
pub fn rounds(
    chart: &Chart,
    questions: &[Option<Question>],
    start: u32,
    strikes: &[Strike],
) -> Vec<AskedChord> {
    let mut asked = first_round(chart, questions, start);
    let last = strikes.last().map_or(0, |strike| strike.last_ticks);
    let mut begins = start.saturating_add(chart.length_ticks());
    let length = chart.length_ticks() - chart.pickup_ticks();
    for nth in 1.. {
        if length == 0 || begins > last.saturating_add(ON_TIME_TICKS) {
            break;
        }
        let again: Vec<AskedChord> = round(chart, questions, begins, nth)
            .take_while(|chord| chord.start_ticks <= last.saturating_add(ON_TIME_TICKS))
            .collect();
        let chords = questions.iter().flatten().count();
        let struck = again
            .iter()
            .filter(|chord| chord.question.is_some() && is_struck(chord, strikes));
        if struck.count() < chords.clamp(1, 2) || asked.len() + again.len() > MOST_ASKED {
            break;
        }
        asked.extend(again);
        let Some(next) = begins.checked_add(length) else {
            break;
        };
        begins = next;
    }
    asked
}

/// Whether anything is struck while a chord lasts.
fn is_struck(chord: &AskedChord, strikes: &[Strike]) -> bool {
    let from = chord.start_ticks.saturating_sub(ON_TIME_TICKS);
    let first = strikes.partition_point(|strike| strike.last_ticks < from);
    let next = strikes.get(first);
    next.is_some_and(|strike| strike.first_ticks < chord.end_ticks())
}
