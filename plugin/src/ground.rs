//! What a rhythm is played over: the chart with its repeats, or a held root in
//! the host's bars. Imports `rhythm` and `song`.

use crate::rhythm::{Bar, EIGHTH_TICKS, Span, Spans};
use crate::song::Song;
use guidehand_theory::chart::Meter;

/// The most that touch may move a strike, in ticks.
const MOST_LEAD_TICKS: f64 = 120.0;

/// The bars and chords under a rhythm.
#[derive(Clone, Copy, Debug)]
pub enum Ground<'a> {
    /// The chart.
    Chart {
        /// The planned chart.
        song: &'a Song,
        /// It starts again at its end.
        repeats: bool,
    },
    /// One chord without end, in bars of one time signature.
    Root(Meter),
}

/// Whole numbers of a size that a performance has, as a float and back.
fn whole(number: f64) -> i64 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "saturates; positions lie within 2^50"
    )]
    {
        number as i64
    }
}

#[expect(clippy::cast_precision_loss, reason = "exact below 2^53")]
fn float(number: i64) -> f64 {
    number as f64
}

fn count(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

impl Ground<'_> {
    /// The number of the bar at a position; it may be outside of the performance.
    #[must_use]
    pub fn bar_at(&self, ticks: f64) -> i64 {
        match self {
            Ground::Chart { song, .. } => {
                let length = f64::from(song.length_ticks);
                let cycle = whole((ticks / length).floor());
                let in_cycle = count(song.bar_at(ticks.rem_euclid(length)));
                cycle
                    .saturating_mul(count(song.bars.len()))
                    .saturating_add(in_cycle)
            }
            Ground::Root(meter) => whole((ticks / f64::from(meter.bar_ticks())).floor()),
        }
    }

    /// A bar of the performance, by its number; none before the start of a chart
    /// and after its end.
    #[must_use]
    pub fn bar(&self, number: i64) -> Option<Bar> {
        match self {
            Ground::Chart { song, repeats } => {
                let bars = count(song.bars.len()).max(1);
                if number < 0 || number >= bars && !repeats {
                    return None;
                }
                let at = |number: i64| {
                    let index = usize::try_from(number.rem_euclid(bars)).ok()?;
                    song.bars.get(index)
                };
                let bar = at(number)?;
                let cycle = float(number.div_euclid(bars)) * f64::from(song.length_ticks);
                let before = at(number - 1).map(|bar| bar.meter);
                Some(Bar {
                    number,
                    start_ticks: cycle + f64::from(bar.start_ticks),
                    meter: bar.meter,
                    before: before.filter(|_| number > 0),
                    lead_ticks: (f64::from(song.shortest_ticks) / 4.0).min(MOST_LEAD_TICKS),
                })
            }
            Ground::Root(meter) => Some(Bar {
                number,
                start_ticks: float(number) * f64::from(meter.bar_ticks()),
                meter: *meter,
                before: Some(*meter),
                lead_ticks: MOST_LEAD_TICKS,
            }),
        }
    }

    /// Whether a position lies within the performance.
    #[must_use]
    pub fn holds(&self, ticks: f64) -> bool {
        match self {
            Ground::Chart { song, repeats } => {
                ticks >= 0.0 && (*repeats || ticks < f64::from(song.length_ticks))
            }
            Ground::Root(_) => true,
        }
    }

    /// The span in force at a position; none outside of the performance.
    #[must_use]
    pub fn span_at(&self, ticks: f64) -> Option<Span> {
        if !self.holds(ticks) {
            return None;
        }
        match self {
            Ground::Chart { song, .. } => {
                let length = f64::from(song.length_ticks);
                let cycle = (ticks / length).floor() * length;
                span(song, cycle, song.index_at(ticks - cycle))
            }
            Ground::Root(_) => Some(Span {
                start_ticks: f64::MIN,
                end_ticks: f64::MAX,
                end_swings: false,
                change: 0,
                silent: false,
            }),
        }
    }

    /// The span after another one; none after the last of a performance.
    #[must_use]
    pub fn span_after(&self, before: &Span) -> Option<Span> {
        match self {
            Ground::Chart { song, .. } => {
                if !self.holds(before.end_ticks) {
                    return None;
                }
                let length = f64::from(song.length_ticks);
                let next = before.change + 1;
                let cycle = (before.start_ticks / length).floor() * length;
                if next < song.changes.len() {
                    span(song, cycle, next)
                } else {
                    span(song, cycle + length, 0)
                }
            }
            Ground::Root(_) => None,
        }
    }

    /// The spans around a bar, as [`Spans`] describes them.
    #[must_use]
    pub fn spans(&self, bar: &Bar) -> Spans {
        let mut spans = Spans::default();
        let before = self.span_at(bar.start_ticks - 1.0);
        let mut next = match &before {
            Some(before) => self.span_after(before),
            None => self.span_at(bar.start_ticks),
        };
        spans.extend(before);
        while let Some(span) = next
            && span.start_ticks <= bar.end_ticks() + EIGHTH_TICKS
            && spans.try_push(span).is_none()
        {
            next = self.span_after(&span);
        }
        spans
    }
}

fn span(song: &Song, cycle_ticks: f64, index: usize) -> Option<Span> {
    let change = song.changes.get(index)?;
    let start_ticks = cycle_ticks + f64::from(change.start_ticks);
    Some(Span {
        start_ticks,
        end_ticks: start_ticks + f64::from(change.length_ticks),
        end_swings: song.changes.get(index + 1).is_some_and(|next| next.swings),
        change: index,
        silent: change.placed.is_none(),
    })
}
