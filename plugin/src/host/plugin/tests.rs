//! What the engine is told of a chart that arrives.

use super::*;
use crate::bridge::chart::Depth;
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

fn changes(chart: &Option<Arc<PlannedChart>>) -> Option<usize> {
    chart.as_ref().map(|chart| chart.changes.len())
}

#[test]
fn another_text_is_edited_and_another_register_is_planned() {
    let mut plugin = Guidehand::default();
    assert_eq!(plugin.receive_chart(), News::Edited, "the first chart");
    assert_eq!(plugin.receive_chart(), News::None);
    plugin.params.chart.set_text("| C6 | F6 |");
    assert_eq!(plugin.receive_chart(), News::Edited);
    assert_eq!(changes(&plugin.chart), Some(2));
    set(&plugin.params.lowest, 45);
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), News::Planned);
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), News::None, "nothing has changed");
}

#[test]
fn further_textures_are_no_news() {
    let mut plugin = Guidehand::default();
    plugin.receive_chart();
    plugin.params.chart.on_edit(|| true);
    plugin.params.chart.set_text("| C6 | F6 |");
    let work = plugin.params.chart.work();
    while work.step(Depth::InUse) {}
    assert_eq!(plugin.receive_chart(), News::Edited);
    let unplanned = |plugin: &Guidehand| plugin.chart.as_ref().and_then(|c| c.unplanned());
    assert!(unplanned(&plugin).is_some());
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), News::None);
    assert_eq!(unplanned(&plugin), None);

    // They are where another one has come into use meanwhile.
    plugin.params.chart.set_text("| C6 | F6 | G7 |");
    while work.step(Depth::InUse) {}
    assert_eq!(plugin.receive_chart(), News::Edited);
    plugin.settings.taste.texture = Texture::TwoHands;
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), News::Planned);
}

#[test]
fn a_tried_harmony_waits_for_the_bar_line_with_all_its_textures() {
    let mut plugin = Guidehand::default();
    plugin.receive_chart();
    plugin.params.chart.set_text("| C6 | F6 |");
    plugin.receive_chart();
    plugin.params.chart.on_edit(|| true);
    plugin.params.chart.try_out(Some("| C6 | F6 | G7 |"));
    let work = plugin.params.chart.work();
    while work.step(Depth::InUse) {}
    assert_eq!(plugin.receive_chart(), News::None);
    assert_eq!(
        [&plugin.chart, &plugin.next_chart].map(changes),
        [Some(2), Some(3)]
    );
    // The bar line comes before the other textures do.
    plugin.next_chart_plays();
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), News::None);
    assert_eq!(
        [&plugin.chart, &plugin.next_chart].map(changes),
        [Some(3), None]
    );
    assert_eq!(plugin.chart.as_ref().and_then(|c| c.unplanned()), None);
    // An edit does not wait, and what waited is gone.
    plugin.params.chart.try_out(None);
    assert_eq!(plugin.receive_chart(), News::None);
    assert_eq!(changes(&plugin.next_chart), Some(2));
    plugin.params.chart.set_text("| C6 |");
    plugin.params.chart.settle();
    assert_eq!(plugin.receive_chart(), News::Edited);
    assert_eq!(
        [&plugin.chart, &plugin.next_chart].map(changes),
        [Some(1), None]
    );
}
