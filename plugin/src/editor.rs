//! The panel's window and its wiring: reads one snapshot a frame, lays the panel
//! out, and hands its changes to the host. Imported by `lib` only.

mod chart;
mod controls;
mod desk;
mod header;
mod keyboard;
mod letters;
mod mark;
mod now;
mod panel;
mod scale;
mod tensions;
mod theme;
mod view;
mod widgets;

use crate::params::GuidehandParams;
use crate::snapshot::{Reader, Snapshot};
use chart::ChartText;
use desk::Desk;
use nice_plug::context::gui::GuiContext;
use nice_plug::editor::ResizeHint;
use nice_plug::editor::dpi::LogicalSize;
use nice_plug_egui::baseview::HandlerError;
use nice_plug_egui::{
    EguiEditor, EguiEditorState, EguiNiceSettings, Frame, NiceEguiApp, RepaintNotifier,
    create_egui_editor,
};
use panel::PanelState;
use std::sync::Arc;
use std::time::Duration;

/// Between frames while something moves: about 30 a second.
const LIVELY: Duration = Duration::from_millis(33);
/// Between frames while nothing does: a chord that starts is seen this late at
/// most, which is less than a tenth of a second.
const QUIET: Duration = Duration::from_millis(80);
/// How long after a change frames stay frequent, in seconds. A window that was
/// just opened counts as changed: hosts map it late.
const LIVELY_SECONDS: f64 = 2.0;

/// The editor as the framework knows it.
pub(crate) type PanelEditor = EguiEditor<PanelApp>;

/// The panel, open or closed.
pub struct PanelApp {
    params: Arc<GuidehandParams>,
    snapshots: Reader,
    state: PanelState,
    /// The way to the host, while the window is open.
    host: Option<GuiContext>,
    revision_sent: Option<i32>,
    /// When the snapshot changed last, in seconds since the window opened.
    moved_at_seconds: f64,
}

/// Makes the editor; its window opens when the host asks for it.
pub(crate) fn create(
    params: Arc<GuidehandParams>,
    snapshots: Reader,
    repaint: RepaintNotifier,
) -> Option<PanelEditor> {
    let [width, height] = panel::SIZE;
    let [least_width, least_height] = panel::SMALLEST;
    let resize =
        ResizeHint::resizable().with_min_logical_size(LogicalSize::new(least_width, least_height));
    // A poll that redraws before a host has mapped the window can leave it blank
    // for ever on X11: frames are asked for from inside `ui` instead.
    let settings = EguiNiceSettings::new()
        .with_tile("Guidehand")
        .with_resize_hint(resize)
        .with_repaint_poll_interval(Duration::from_secs(3600));
    let state = PanelState {
        snapshot: Snapshot::default(),
        chart: ChartText::new(&params.chart),
        meter: 0.0,
    };
    create_egui_editor(
        EguiEditorState::from_size(LogicalSize::new(width, height), 1.0),
        repaint,
        settings,
        PanelApp {
            params,
            snapshots,
            state,
            host: None,
            revision_sent: None,
            moved_at_seconds: 0.0,
        },
    )
}

impl NiceEguiApp for PanelApp {
    fn build(
        &mut self,
        egui_ctx: egui::Context,
        nice_gui_ctx: GuiContext,
        frame: &mut Frame,
    ) -> Result<(), HandlerError> {
        theme::install(&egui_ctx);
        frame.set_clear_color(theme::GROUND.into());
        self.host = Some(nice_gui_ctx);
        self.moved_at_seconds = 0.0;
        Ok(())
    }

    fn ui(&mut self, ui: &mut egui::Ui, _: &mut Frame) {
        let Some(host) = &self.host else { return };
        let snapshot = self.snapshots.read();
        let now_seconds = ui.input(|input| input.time);
        if snapshot != self.state.snapshot {
            self.state.snapshot = snapshot;
            self.moved_at_seconds = now_seconds;
        }
        let mut desk = Desk::new(&self.params, host.param_setter(), &mut self.revision_sent);
        panel::panel(ui, &mut self.state, &mut desk);
        let moving = now_seconds - self.moved_at_seconds < LIVELY_SECONDS;
        let wait = if moving { LIVELY } else { QUIET };
        ui.ctx().request_repaint_after(wait);
    }

    fn editor_closed(&mut self) {
        self.host = None;
    }
}
