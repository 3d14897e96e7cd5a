//! A place in a chart, and its size, in words. Pure; the panel's thread. The chart's
//! region imports it.

use guidehand_theory::chart::Chart;

/// Bar and beat of the chart as played, both from 1, at a tick of it.
#[must_use]
pub fn place(chart: &Chart, ticks: u32) -> String {
    let (bar, beat) = chart.bar_and_beat(ticks);
    format!("bar {bar}, beat {}", beat.floor())
}

/// A chart in a few words.
#[must_use]
pub fn extent(chart: &Chart) -> String {
    let bars = chart.bars.iter().skip(usize::from(chart.has_pickup()));
    let count = bars.clone().count();
    let changes = bars.clone().any(|bar| bar.meter != chart.meter());
    let bars = if count == 1 { "bar" } else { "bars" };
    let first = chart.meter();
    let others = if changes { " and other meters" } else { "" };
    let pickup = if chart.has_pickup() {
        " after a pickup"
    } else {
        ""
    };
    format!("{count} {bars} of {first}{others}{pickup}")
}
