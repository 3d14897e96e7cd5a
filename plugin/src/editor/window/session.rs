//! The panel from frame to frame: it asks what there is to show, draws it, and carries
//! out what the player asked for meanwhile. The panel's thread; `app`, the tests'
//! bench and the benchmark import it.

use crate::bridge::ends::PanelEnds;
use crate::bridge::transport::Switch;
use crate::editor::model::action::Actions;
use crate::editor::model::apply::apply;
use crate::editor::model::page::Page;
use crate::editor::model::parameters::Controls;
use crate::editor::model::state::Model;
use crate::editor::panel;
use crate::editor::panel::view::View;
use crate::editor::view;
use crate::editor::window::outside::PluginOutside;
use crate::editor::window::parameters;
use crate::editor::window::size::AskedSize;
use crate::engine::snapshot::Snapshot;
use crate::params::{GuidehandParams, SavedPanel};
use nice_plug::prelude::ParamSetter;

/// The panel from frame to frame.
pub struct Session {
    /// What the engine tells.
    pub snapshot: Snapshot,
    /// What the panel remembers.
    pub model: Model,
    /// What it shows of the parameters.
    pub controls: Controls,
    /// The edit counter as it was sent last; the host may not have taken it yet.
    pub revision_sent: Option<i32>,
    /// What is asked of the window and not taken up yet.
    pub asked: AskedSize,
    /// The zoom that the window has room for, where it is another than the saved one.
    pub zoom: Option<f32>,
}

impl Session {
    /// A panel that has shown nothing yet.
    #[must_use]
    pub fn new(params: &GuidehandParams) -> Session {
        Session {
            snapshot: Snapshot::default(),
            model: Model::new(params.chart.latest()),
            controls: parameters::controls(params),
            revision_sent: None,
            asked: AskedSize::default(),
            zoom: None,
        }
    }

    /// One frame of the panel with these parameters and ends: finds out what there is to show,
    /// draws the panel, and carries out what the player asked for.
    pub fn frame(
        &mut self,
        ui: &mut egui::Ui,
        (params, ends): (&GuidehandParams, &PanelEnds),
        setter: &ParamSetter,
    ) {
        let Session {
            snapshot,
            model,
            controls,
            revision_sent,
            asked,
            zoom,
        } = self;
        let ctx = ui.ctx().clone();
        let mut outside = PluginOutside::new((params, ends), setter, revision_sent, asked);
        model.refresh(snapshot, &mut outside);
        parameters::refresh(controls, params);
        let shown = view(snapshot, model, controls, (params, ends));
        let view = View {
            panel: SavedPanel {
                zoom: zoom.unwrap_or(shown.panel.zoom),
                ..shown.panel
            },
            ..shown
        };
        let mut actions = Actions::default();
        panel::panel(ui, &model.chart, &view, &mut actions);
        if !actions.is_empty() {
            ctx.request_repaint();
        }
        for action in actions {
            apply(model, action, &mut outside);
        }
    }
}

/// What there is to show, where the engine tells a snapshot.
#[must_use]
pub fn view<'a>(
    snapshot: &Snapshot,
    model: &'a Model,
    controls: &'a Controls,
    (params, ends): (&GuidehandParams, &PanelEnds),
) -> View<'a> {
    let Model { chart, pages, .. } = model;
    let settings = params.settings();
    let engine = model.of_this_text(snapshot);
    let original = params.chart.original();
    let as_written = pages.harmonies.as_written(&engine);
    let in_hand = model.in_hand;
    let held = in_hand.held(chart);
    let shown = in_hand.on_show(chart, &pages.ways, &engine, &settings);
    let is_shown = in_hand.is_shown(&engine, &settings);
    let change = if is_shown {
        shown.change
    } else {
        as_written.change
    };
    let written = view::on_show(&shown).map(|sounding| sounding.placed.written);
    View {
        snapshot: shown,
        as_written,
        own: &chart.document().own,
        on_show: written.and_then(|written| chart.on_show(change, &written)),
        in_hand,
        shows_in_hand: is_shown && held.is_some(),
        shows_tried: is_shown && pages.ways.tries(),
        time: pages.ways.time(),
        is_pinned: held.is_some_and(|held| held.is_pinned()),
        in_hand_chord: held.and_then(|held| held.chord()),
        settings,
        controls,
        pages,
        recent_files: match pages.open {
            Page::InAndOut => params.files.recent(),
            _ => Vec::new(),
        },
        keys_kept: model.keys_kept.clone(),
        bass: ends.bass.look(),
        practice: params.practice.read(),
        panel: params.panel.get(),
        meter: model.meter.lit(),
        plays: ends.transport.as_ref().map(Switch::plays),
        is_unheard: ends.audition.is_unheard(),
        has_original: original.is_some_and(|text| text != chart.written()),
    }
}
