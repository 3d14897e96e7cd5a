//! Frames of the panel without a window, for the benchmark of their price. Built with
//! the feature `frame_bench` only; the benchmark imports it.

use crate::bridge::chart::ChartCell;
use crate::editor::theme;
use crate::editor::window::session::Session;
use crate::engine::snapshot::{Snapshot, Sounding};
use crate::params::{GuidehandParams, PANEL_SIZE, SourceParam};
use egui::{Context, Pos2, RawInput, Rect};
use guidehand_theory::chart;
use guidehand_theory::pipeline::{self, Taste};
use guidehand_theory::plan::Ends;
use nice_plug::context::PluginApi;
use nice_plug::context::gui::GuiContextInner;
use nice_plug::params::internals::ParamPtr;
use nice_plug::prelude::{Param, ParamSetter, PluginState};

/// A panel of its first size that plays its first chart.
pub struct Frames {
    params: GuidehandParams,
    ctx: Context,
    session: Session,
    sounding: Vec<Snapshot>,
    frame: usize,
}

/// A host that takes no notice.
struct Deaf;

impl GuiContextInner for Deaf {
    fn plugin_api(&self) -> PluginApi {
        PluginApi::Clap
    }

    unsafe fn raw_begin_set_parameter(&self, _: ParamPtr) {}

    unsafe fn raw_set_parameter_normalized(&self, _: ParamPtr, _: f32) {}

    unsafe fn raw_end_set_parameter(&self, _: ParamPtr) {}

    fn get_state(&self) -> PluginState {
        unreachable!("the panel saves no states")
    }

    fn set_state(&self, _: PluginState) {}

    fn request_restart(&self) {}
}

impl Default for Frames {
    fn default() -> Self {
        let (cell, _songs) = ChartCell::new();
        let params = GuidehandParams::new(cell);
        let source = &params.source;
        let chart = source.preview_normalized(SourceParam::Chart);
        // SAFETY: no one else holds the parameters.
        unsafe { source.as_ptr()._internal_set_normalized_value(chart) };
        let ctx = Context::default();
        theme::install(&ctx);
        Frames {
            session: Session::new(&params),
            sounding: sounding(&params.chart.text()),
            params,
            ctx,
            frame: 0,
        }
    }
}

impl Frames {
    /// Lays out and tessellates the next frame, in which another chord sounds, as
    /// at every beat or so. Returns the number of its vertices.
    pub fn next_frame(&mut self) -> usize {
        let snapshots = self.sounding.len().max(1);
        if let Some(snapshot) = self.sounding.get(self.frame % snapshots) {
            self.session.snapshot = *snapshot;
        }
        self.frame += 1;
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, PANEL_SIZE.into())),
            ..RawInput::default()
        };
        let Frames {
            params,
            ctx,
            session,
            ..
        } = self;
        let mut output = ctx.run_ui(input, |ui| {
            session.frame(ui, params, &ParamSetter::new(&Deaf));
        });
        let shapes = std::mem::take(&mut output.shapes);
        let meshes = ctx.tessellate(shapes, output.pixels_per_point);
        output.drop_without_applying_deltas();
        let vertices = meshes.iter().map(|clipped| match &clipped.primitive {
            egui::epaint::Primitive::Mesh(mesh) => mesh.vertices.len(),
            egui::epaint::Primitive::Callback(_) => 0,
        });
        vertices.sum()
    }
}

/// Every chord of a chart as it sounds.
fn sounding(text: &str) -> Vec<Snapshot> {
    let Ok(chart) = chart::parse(text) else {
        return Vec::new();
    };
    let taste = Taste::default();
    let placed = pipeline::place(&chart, None);
    let plan = pipeline::plan(&placed, taste.texture, taste.register, Ends::Cyclic);
    let all = placed.iter().zip(plan).zip(&chart.changes).enumerate();
    all.filter_map(|(change, ((placed, voiced), at))| {
        let sounding = Sounding {
            placed: (*placed)?,
            voiced: voiced?,
            bass: None,
        };
        Some(Snapshot {
            playing: true,
            sounding: Some(sounding),
            last: Some(sounding),
            next: *placed,
            beat_ticks: Some(at.start_ticks),
            change: Some(change),
            ..Snapshot::default()
        })
    })
    .collect()
}
