//! What a rhythm is played over: the chart with its repeats, or one root in the host's bars. Runs on
//! the audio thread, and in the panel when a score is written. Imports `planned`, `rhythm` and
//! `ticks`.

use crate::engine::planned::PlannedChart;
use crate::engine::rhythm::{ChordSpan, ChordSpans, Ends, InForm, PlayedBar};
use crate::engine::ticks::EIGHTH_TICKS;
use guidehand_theory::chart::Meter;

/// The most that touch may move a strike, in ticks.
const MOST_LEAD_TICKS: f64 = 120.0;

/// The bars and chords under a rhythm.
#[derive(Clone, Copy, Debug)]
pub enum Timeline<'a> {
    /// The chart.
    Chart {
        /// The planned chart.
        song: &'a PlannedChart,
        /// It starts again at its end.
        repeats: bool,
    },
    /// One chord without end, in bars of one time signature.
    Root(Meter),
}

/// A position as a whole number.
fn whole(number: f64) -> i64 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "saturates, and positions lie within 2^50"
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

impl Timeline<'_> {
    /// The number of the bar at a position, which may lie outside the performance.
    #[must_use]
    pub fn bar_at(&self, ticks: f64) -> i64 {
        match self {
            Timeline::Chart { song, .. } => {
                let round = whole(song.round_at(ticks));
                let in_round = count(song.bar_at(song.within(ticks)));
                round
                    .saturating_mul(bars_of_round(song))
                    .saturating_add(in_round)
            }
            Timeline::Root(meter) => whole((ticks / f64::from(meter.bar_ticks())).floor()),
        }
    }

    /// A bar of the performance, by its number. There is none before the start of a chart, nor after
    /// the end of one that does not repeat.
    #[must_use]
    pub fn bar(&self, number: i64) -> Option<PlayedBar> {
        match self {
            Timeline::Chart { song, repeats } => {
                let bars = count(song.bars.len()).max(1);
                if number < 0 || number >= bars && !repeats {
                    return None;
                }
                let before = count(song.bars_before());
                let round = bars_of_round(song);
                let at = |number: i64| {
                    let index = match number - before {
                        full @ 0.. => before + full % round,
                        _ => number.rem_euclid(bars),
                    };
                    song.bars.get(usize::try_from(index).ok()?)
                };
                let form = |number: i64| {
                    let in_section = at(number)?.in_section;
                    let ends = match at(number + 1) {
                        _ if number + 1 >= bars && !repeats => Ends::Song,
                        Some(next) if next.in_section > 0 => Ends::Nothing,
                        _ => Ends::Section,
                    };
                    Some(InForm { in_section, ends })
                };
                let bar = at(number)?;
                let rounds = float((number - before).max(0) / round);
                let cycle = rounds * song.round_ticks();
                let nth = number - before;
                let before = at(number - 1).map(|bar| bar.meter).zip(form(number - 1));
                Some(PlayedBar {
                    number,
                    nth,
                    start_ticks: cycle + f64::from(bar.start_ticks),
                    meter: bar.meter,
                    form: form(number)?,
                    before: before.filter(|_| number > 0),
                    lead_ticks: (f64::from(song.shortest_ticks) / 4.0).min(MOST_LEAD_TICKS),
                })
            }
            Timeline::Root(meter) => Some(PlayedBar {
                number,
                nth: number,
                start_ticks: float(number) * f64::from(meter.bar_ticks()),
                meter: *meter,
                form: of_eight(number),
                before: Some((*meter, of_eight(number - 1))),
                lead_ticks: MOST_LEAD_TICKS,
            }),
        }
    }

    /// Whether a position lies within the performance.
    #[must_use]
    pub fn holds(&self, ticks: f64) -> bool {
        match self {
            Timeline::Chart { song, repeats } => {
                ticks >= 0.0 && (*repeats || ticks < f64::from(song.length_ticks))
            }
            Timeline::Root(_) => true,
        }
    }

    /// The span in force at a position. There is none outside the performance.
    #[must_use]
    pub fn span_at(&self, ticks: f64) -> Option<ChordSpan> {
        if !self.holds(ticks) {
            return None;
        }
        match self {
            Timeline::Chart { song, .. } => {
                let cycle = song.round_at(ticks) * song.round_ticks();
                span(song, cycle, song.index_at(ticks - cycle))
            }
            Timeline::Root(_) => Some(ChordSpan {
                start_ticks: f64::MIN,
                end_ticks: f64::MAX,
                end_swings: false,
                change: 0,
                silent: false,
            }),
        }
    }

    /// The span after another one. There is none after the last of a performance.
    #[must_use]
    pub fn span_after(&self, before: &ChordSpan) -> Option<ChordSpan> {
        match self {
            Timeline::Chart { song, .. } => {
                if !self.holds(before.end_ticks) {
                    return None;
                }
                let next = before.change + 1;
                let length = song.round_ticks();
                let cycle = song.round_at(before.start_ticks) * length;
                if next < song.changes.len() {
                    span(song, cycle, next)
                } else {
                    let first = song.index_at(f64::from(song.pickup_ticks));
                    span(song, cycle + length, first)
                }
            }
            Timeline::Root(_) => None,
        }
    }

    /// The spans around a bar, as [`ChordSpans`] describes them.
    #[must_use]
    pub fn spans(&self, bar: &PlayedBar) -> ChordSpans {
        let mut spans = ChordSpans::default();
        let from = bar.earlier().map_or(bar.start_ticks, |bar| bar.start_ticks);
        let mut next = self.span_at(from);
        while let Some(span) = next
            && span.start_ticks <= bar.end_ticks() + EIGHTH_TICKS
            && spans.try_push(span).is_none()
        {
            next = self.span_after(&span);
        }
        spans
    }
}

/// The bars of each repeat: all except a pickup.
fn bars_of_round(song: &PlannedChart) -> i64 {
    count(song.bars.len().saturating_sub(song.bars_before())).max(1)
}

/// The place of a bar without a form: eight bars follow eight bars.
fn of_eight(number: i64) -> InForm {
    InForm {
        in_section: u32::try_from(number.rem_euclid(8)).unwrap_or(0),
        ends: Ends::Nothing,
    }
}

fn span(song: &PlannedChart, cycle_ticks: f64, index: usize) -> Option<ChordSpan> {
    let change = song.changes.get(index)?;
    let start_ticks = cycle_ticks + f64::from(change.start_ticks);
    let end_ticks = start_ticks + f64::from(change.length_ticks);
    // A chord that begins in the pickup begins with the first full bar in each repeat.
    let again = cycle_ticks > 0.0 && song.pickup_ticks > 0;
    let start_ticks = if again {
        start_ticks.max(cycle_ticks + f64::from(song.pickup_ticks))
    } else {
        start_ticks
    };
    Some(ChordSpan {
        start_ticks,
        end_ticks,
        end_swings: song.changes.get(index + 1).is_some_and(|next| next.swings),
        change: index,
        silent: change.placed.is_none(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::settings::PlanFor;
    use guidehand_theory::chart;

    fn song(text: &str) -> PlannedChart {
        PlannedChart::plan(&chart::parse(text).unwrap(), PlanFor::default(), 0)
    }

    /// The first spans: start, end and change.
    fn spans(song: &PlannedChart, repeats: bool, count: usize) -> Vec<(f64, f64, usize)> {
        let timeline = Timeline::Chart { song, repeats };
        let first = timeline.span_at(0.0);
        let all = std::iter::successors(first, |before| timeline.span_after(before));
        all.take(count)
            .map(|span| (span.start_ticks, span.end_ticks, span.change))
            .collect()
    }

    /// A pickup is played once. The chart starts again at its first full bar.
    #[test]
    fn a_chart_starts_again_after_its_pickup() {
        let with = song("Pickup G7 | C6 | F6 |");
        let once = [(0.0, 960.0, 0), (960.0, 4800.0, 1), (4800.0, 8640.0, 2)];
        let again = [
            (8640.0, 12480.0, 1),
            (12480.0, 16320.0, 2),
            (16320.0, 20160.0, 1),
        ];
        assert_eq!(spans(&with, true, 6), [once, again].concat());
        assert_eq!(spans(&with, false, 6), once);
        let timeline = Timeline::Chart {
            song: &with,
            repeats: true,
        };
        let bars: Vec<_> = (0..5)
            .map(|number| timeline.bar(number).unwrap())
            .map(|bar| (bar.nth, bar.start_ticks, bar.meter.beats))
            .collect();
        let expected = [
            (-1, 0.0, 1),
            (0, 960.0, 4),
            (1, 4800.0, 4),
            (2, 8640.0, 4),
            (3, 12480.0, 4),
        ];
        assert_eq!(bars, expected);
        // A chord that the pickup begins is struck again where its bar starts.
        let held = song("Pickup G7 | / / / C6 | F6 |");
        let expected = [
            (0.0, 3840.0, 0),
            (3840.0, 4800.0, 1),
            (4800.0, 8640.0, 2),
            (8640.0, 11520.0, 0),
            (11520.0, 12480.0, 1),
        ];
        assert_eq!(spans(&held, true, 5), expected);
    }

    /// A section ends before the next one, before a repeat, and with the chart. The song ends where
    /// the chart does not start again.
    #[test]
    fn sections_end() {
        use Ends::{Nothing, Section, Song};
        let song = song("Pickup G7 | [A] C6 | F6 |: G7 | A7 :| [B] D7 |");
        let ends = |repeats, count| -> Vec<(u32, Ends)> {
            let timeline = Timeline::Chart {
                song: &song,
                repeats,
            };
            let bars = (1..=count).map(|number| timeline.bar(number).unwrap().form);
            bars.map(|form| (form.in_section, form.ends)).collect()
        };
        let mut expected = vec![
            (0, Nothing),
            (1, Section),
            (0, Nothing),
            (1, Section),
            (0, Nothing),
            (1, Section),
            (0, Song),
        ];
        assert_eq!(ends(false, 7), expected);
        expected[6].1 = Section;
        expected.extend([(0, Nothing), (1, Section)]);
        assert_eq!(ends(true, 9), expected);
    }

    /// With a pickup and without, bars and spans follow one another without gaps, and every place is
    /// found in the bar and the span that hold it.
    #[test]
    fn bars_and_spans_are_found_at_every_place() {
        for text in [
            "| C6 F6 G7 | 3/4 A7 |",
            "3/4 | Pickup G7 / | C6 | F6 D7 | 4/4 Bb6 |",
            "Pickup G7 | / / / C6 |",
            "Pickup N.C. | C6 | F6 D.C. |",
        ] {
            let song = song(text);
            let timeline = Timeline::Chart {
                song: &song,
                repeats: true,
            };
            for number in 0..40 {
                let bar = timeline.bar(number).unwrap();
                let next = timeline.bar(number + 1).unwrap();
                assert_eq!(bar.end_ticks(), next.start_ticks, "{text} {number}");
                assert_eq!(next.before, Some((bar.meter, bar.form)), "{text} {number}");
                for place in [bar.start_ticks, bar.end_ticks() - 1.0] {
                    assert_eq!(timeline.bar_at(place), number, "{text} {place}");
                    let span = timeline.span_at(place).unwrap();
                    let inside = span.start_ticks <= place && place < span.end_ticks;
                    assert!(inside, "{text} {place}: {span:?}");
                }
            }
            let all = spans(&song, true, 60);
            for pair in all.windows(2) {
                assert_eq!(pair[0].1, pair[1].0, "{text}: {pair:?}");
            }
        }
    }
}
