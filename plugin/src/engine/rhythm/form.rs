//! The places of a bar as the chords in it divide it. Imports `bar`, `groove`, `pattern`, `styles`,
//! `variation`, `clock` and `ticks`.

use super::bar::{ChordSpan, ChordSpans, PlayedBar, half_of, is_off_beat};
use super::groove::Groove;
use super::pattern::{Cell, Rhythm};
use super::styles;
use super::variation;
use crate::engine::clock;
use crate::engine::ticks::{EIGHTH_TICKS, QUARTER_TICKS};
use tinyvec::ArrayVec;

/// No rhythm has more places in a bar: the drawn one has 16, and the others have no more than
/// there are eighths in the bars that chords divide.
const MOST: usize = 32;

/// The places of a bar, in order.
pub(super) type Cells = ArrayVec<[Cell; MOST]>;

/// A beat, and a chord with two of them, in eighths.
const BEAT: u8 = 2;
const TWO_BEATS: u8 = 4;

/// The places of a bar. A chord that begins in the middle of it has those of its half, or those of
/// the first half where its own half has none, or would let it wait for a beat or more. A chord with
/// two beats that begins elsewhere has those of the first half too. What is drawn stays as it is
/// drawn.
pub(super) fn cells(bar: &PlayedBar, spans: &ChordSpans, groove: &Groove) -> Cells {
    let natural = natural(bar, groove);
    let mut cells = Cells::default();
    let mut add = |cell: Cell| {
        // `MOST` covers the fullest bar, so nothing is left out here.
        let _full = cells.try_push(cell);
    };
    let half = half_of(bar.meter).filter(|_| groove.rhythm != Rhythm::Drawn);
    let Some(half) = half else {
        natural.for_each(add);
        return cells;
    };
    for span in spans {
        let start = (span.start_ticks.max(bar.start_ticks) - bar.start_ticks) / EIGHTH_TICKS;
        let end = (span.end_ticks.min(bar.end_ticks()) - bar.start_ticks) / EIGHTH_TICKS;
        let inside = |cell: &Cell| (start..end).contains(&f64::from(cell.eighth));
        let own = natural.clone().filter(inside);
        let from = whole_eighth(start).filter(|_| end > start);
        let moved = from.filter(|from| {
            if *from == half {
                own.clone().next().is_none_or(|later| {
                    let later = later.eighth - half;
                    let first = natural.clone().next();
                    later >= BEAT
                        && first.is_some_and(|first| first.eighth < later)
                        && !is_brought(bar, spans, groove, natural.clone(), span)
                })
            } else {
                let two_beats = end - start == f64::from(TWO_BEATS) && bar.meter.unit <= 4;
                two_beats && from % BEAT == 0 && *from > 0
            }
        });
        match moved {
            Some(from) => {
                let first = natural.clone().filter(|cell| cell.eighth < half);
                let first = first.map(|cell| Cell {
                    eighth: cell.eighth + from,
                    ..cell
                });
                first.filter(inside).for_each(&mut add);
            }
            None => own.for_each(&mut add),
        }
    }
    cells
}

/// Whether a place brings a chord before its time.
fn is_brought(
    bar: &PlayedBar,
    spans: &ChordSpans,
    groove: &Groove,
    mut places: impl Iterator<Item = Cell>,
    span: &ChordSpan,
) -> bool {
    places.any(|cell| coming(bar, spans, groove, cell.place_ticks()) == Some(span))
}

/// The places of a bar with one chord: those of its rhythm, or of another pattern in their place.
fn natural(bar: &PlayedBar, groove: &Groove) -> impl Iterator<Item = Cell> + Clone {
    let other = variation::pattern(groove, bar);
    let usual = styles::cells(groove.rhythm, groove.drawn, bar.nth, bar.meter);
    let usual = usual.filter(move |_| other.is_none());
    let length = bar.length_ticks();
    let other = other.unwrap_or_default().iter().copied();
    let other = other.filter(move |cell| cell.place_ticks() < length);
    usual.chain(other)
}

/// A number of eighths, if it is a whole one.
fn whole_eighth(eighths: f64) -> Option<u8> {
    let whole = clock::whole(eighths)?;
    u8::try_from(whole)
        .ok()
        .filter(|whole| f64::from(*whole) == eighths)
}

/// The chord that a hit at a place of the bar brings before its time: the one that starts within an
/// eighth after an off-beat. Nothing that is drawn is left out, so a chord whose own start is drawn
/// waits for it.
pub(super) fn coming<'a>(
    bar: &PlayedBar,
    spans: &'a ChordSpans,
    groove: &Groove,
    place_ticks: f64,
) -> Option<&'a ChordSpan> {
    let at = bar.start_ticks + place_ticks;
    if !groove.ahead || !is_off_beat(place_ticks, bar.meter) {
        return None;
    }
    // A hit on a change plays that change.
    if spans.iter().any(|span| span.start_ticks == at) {
        return None;
    }
    let coming = spans.iter().find(|span| span.start_ticks > at)?;
    let near = coming.start_ticks - at <= EIGHTH_TICKS;
    let brought = near && !coming.silent && !drawn_at(bar, groove, coming.start_ticks);
    brought.then_some(coming)
}

/// Whether the drawn pattern strikes at a position in this bar or at the start of the next.
fn drawn_at(bar: &PlayedBar, groove: &Groove, at_ticks: f64) -> bool {
    if groove.rhythm != Rhythm::Drawn {
        return false;
    }
    let (bar_number, start_ticks) = if at_ticks < bar.end_ticks() {
        (bar.nth, bar.start_ticks)
    } else {
        (bar.nth + 1, bar.end_ticks())
    };
    let mut cells = styles::cells(Rhythm::Drawn, groove.drawn, bar_number, bar.meter);
    cells.any(|cell| start_ticks + cell.place_ticks() == at_ticks)
}

/// Where a rhythm by changes strikes a chord: on its start, or an eighth before it if the chord
/// before leaves room.
pub(super) fn on_change(groove: &Groove, before: Option<&ChordSpan>, span: &ChordSpan) -> f64 {
    let leaves_room = |span: &ChordSpan| span.end_ticks - span.start_ticks >= QUARTER_TICKS;
    if groove.rhythm == Rhythm::Push && before.is_some_and(leaves_room) {
        span.start_ticks - EIGHTH_TICKS
    } else {
        span.start_ticks
    }
}

/// The chord of this bar that the bar before brings before its time.
pub(super) fn brought_before(
    bar: &PlayedBar,
    spans: &ChordSpans,
    groove: &Groove,
) -> Option<ChordSpan> {
    let before = bar.earlier()?;
    let brought = if groove.rhythm.by_changes() {
        let mut pairs = spans.iter().zip(spans.iter().skip(1));
        let pair = pairs.find(|(_, span)| span.start_ticks >= bar.start_ticks);
        pair.filter(|(before, span)| on_change(groove, Some(before), span) < bar.start_ticks)
            .map(|(_, span)| span)
    } else {
        let cells = cells(&before, spans, groove);
        let last = cells.last();
        last.and_then(|cell| coming(&before, spans, groove, cell.place_ticks()))
            .filter(|span| span.start_ticks >= bar.start_ticks)
    };
    brought.filter(|span| !span.silent).copied()
}
