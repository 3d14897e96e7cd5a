//! What the engine is told of a chart that arrives, and what the host is told of its bars.

mod audition;
mod hand;

use super::*;
use crate::bridge::chart::{Depth, SavedChart};
use guidehand_theory::shape::Texture;
use nice_plug::prelude::Param;

/// Sets a parameter as a host does.
fn set<P: Param>(param: &P, value: P::Plain) {
    // SAFETY: no one else holds the parameters.
    unsafe {
        param
            .as_ptr()
            ._internal_set_normalized_value(param.preview_normalized(value))
    };
}

/// A server tells the first bar as bar 1 and its first beat as beat 1 (JACK, `jack_position_t`); the
/// framework multiplies the bar by four and adds the beat as it is.
#[test]
fn the_bars_of_a_sound_server_are_counted_from_its_first() {
    for (beats, unit, bar, beat, tick, position) in [
        (4, 4, 1, 1, 0.0, 0.0),
        (4, 4, 3, 2, 0.5, 9.5),
        (3, 4, 3, 2, 0.5, 7.5),
        (6, 8, 2, 4, 0.0, 4.5),
    ] {
        let mut told = Transport::new(48_000.0);
        told.tempo = Some(120.0);
        told.pos_samples = Some(1);
        told.time_sig_numerator = Some(beats);
        told.time_sig_denominator = Some(unit);
        told.bar_number = Some(bar);
        let beat_quarters = f64::from(beat) / f64::from(unit) * 4.0;
        told.pos_beats = Some(f64::from(bar) * 4.0 + beat_quarters + tick);
        let of = |api| host_transport(&told, api).position_beats;
        assert_eq!(of(PluginApi::Standalone), Some(position), "{beats}/{unit}");
        assert_eq!(of(PluginApi::Clap), told.pos_beats, "a host is believed");
        // Without bars the framework works the position out from samples.
        told.pos_beats = None;
        told.bar_number = None;
        let position = host_transport(&told, PluginApi::Standalone).position_beats;
        assert_eq!(position, told.pos_beats());
    }
}

fn changes(chart: &Option<Arc<PlannedChart>>) -> Option<usize> {
    chart.as_ref().map(|chart| chart.changes.len())
}

/// Loads a chart, as a state does.
fn load(plugin: &Guidehand, text: &str) {
    plugin.params.chart.load(SavedChart {
        text: text.to_owned(),
        ..SavedChart::default()
    });
}

#[test]
fn another_text_is_edited_and_another_register_is_planned() {
    let mut plugin = Guidehand::default();
    assert_eq!(
        plugin.receive_chart(),
        ChartUpdate::Edited,
        "the first chart"
    );
    assert_eq!(plugin.receive_chart(), ChartUpdate::None);
    load(&plugin, "| C6 | F6 |");
    assert_eq!(plugin.receive_chart(), ChartUpdate::Edited);
    assert_eq!(changes(&plugin.chart), Some(2));
    set(&plugin.params.lowest, 45);
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), ChartUpdate::Planned);
    plugin.params.chart.settle();
    assert_eq!(
        plugin.receive_chart(),
        ChartUpdate::None,
        "nothing has changed"
    );
}

#[test]
fn further_textures_are_no_news() {
    let mut plugin = Guidehand::default();
    plugin.receive_chart();
    plugin.params.chart.on_edit(|| true);
    plugin.params.chart.set_text("| C6 | F6 |");
    let work = plugin.params.chart.work();
    while work.step(Depth::InUse) {}
    assert_eq!(plugin.receive_chart(), ChartUpdate::None, "it waits");
    plugin.next_chart_plays();
    let unplanned = |plugin: &Guidehand| plugin.chart.as_ref().and_then(|c| c.unplanned());
    assert!(unplanned(&plugin).is_some());
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), ChartUpdate::None);
    assert_eq!(unplanned(&plugin), None);

    // They are where another one has come into use meanwhile.
    plugin.params.chart.set_text("| C6 | F6 | G7 |");
    while work.step(Depth::InUse) {}
    assert_eq!(plugin.receive_chart(), ChartUpdate::None);
    plugin.next_chart_plays();
    plugin.settings.taste.texture = Texture::TwoHands;
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), ChartUpdate::Planned);
}

#[test]
fn a_tried_harmony_waits_for_the_bar_line_with_all_its_textures() {
    let mut plugin = Guidehand::default();
    plugin.receive_chart();
    load(&plugin, "| C6 | F6 |");
    plugin.receive_chart();
    plugin.params.chart.on_edit(|| true);
    plugin.params.chart.try_out(Some("| C6 | F6 | G7 |"));
    let work = plugin.params.chart.work();
    while work.step(Depth::InUse) {}
    assert_eq!(plugin.receive_chart(), ChartUpdate::None);
    assert_eq!(
        [&plugin.chart, &plugin.next_chart].map(changes),
        [Some(2), Some(3)]
    );
    // The bar line comes before the other textures do.
    plugin.next_chart_plays();
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), ChartUpdate::None);
    assert_eq!(
        [&plugin.chart, &plugin.next_chart].map(changes),
        [Some(3), None]
    );
    assert_eq!(plugin.chart.as_ref().and_then(|c| c.unplanned()), None);
    // What is newer waits in the place of what waited.
    plugin.params.chart.try_out(None);
    assert_eq!(plugin.receive_chart(), ChartUpdate::None);
    assert_eq!(changes(&plugin.next_chart), Some(2));
    plugin.params.chart.set_text("| C6 |");
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), ChartUpdate::None);
    assert_eq!(
        [&plugin.chart, &plugin.next_chart].map(changes),
        [Some(3), Some(1)]
    );
    // It goes on waiting when it is planned for another register.
    set(&plugin.params.lowest, 45);
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), ChartUpdate::None);
    let lowest = |chart: &Option<Arc<PlannedChart>>| {
        let chart = chart.as_ref().unwrap();
        chart.plan_for.register.lowest.number()
    };
    assert_eq!(lowest(&plugin.next_chart), 45);
    assert_ne!(lowest(&plugin.chart), 45);
    // A loaded chart does not wait, and what waited is gone.
    load(&plugin, "| F6 | G7 |");
    assert_eq!(plugin.receive_chart(), ChartUpdate::Edited);
    assert_eq!(
        [&plugin.chart, &plugin.next_chart].map(changes),
        [Some(2), None]
    );
}
