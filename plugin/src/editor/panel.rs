//! The panel as a whole: which region lies where. It knows nothing of the
//! framework's window, so that tests can lay it out. Imports every region.

use crate::editor::chart::ChartText;
use crate::editor::desk::Desk;
use crate::editor::{chart, controls, header, keyboard, now, scale, tensions, theme};
use crate::snapshot::Snapshot;
use std::sync::atomic::Ordering;

use egui::{Layout, Rect, Ui, UiBuilder, pos2};

/// The window's size when it first opens, in points.
pub const SIZE: [f32; 2] = [880.0, 640.0];
/// The smallest size at which everything fits, in points.
pub const SMALLEST: [f32; 2] = [840.0, 616.0];

/// What the panel remembers from frame to frame.
pub struct PanelState {
    /// What to show.
    pub snapshot: Snapshot,
    /// The chart under edit.
    pub chart: ChartText,
    /// What the meter of the audition tone shows, linear.
    pub meter: f32,
}

/// Where the regions lie, in points.
#[derive(Clone, Copy, Debug)]
struct Regions {
    header: Rect,
    now: Rect,
    keyboard: Rect,
    tensions: Rect,
    scale: Rect,
    chart: Rect,
    controls: Rect,
}

/// What is left of the meter's value after a frame.
const METER_FALL: f32 = 0.8;

const MARGIN: f32 = 16.0;
const GAP: f32 = 10.0;
const NOW: f32 = 118.0;
const KEYBOARD: f32 = 140.0;
const LEFT_COLUMN: f32 = 376.0;
const SCALE: f32 = 122.0;

impl Regions {
    fn of(window: Rect) -> Regions {
        let inner = window.shrink2(egui::vec2(MARGIN, 10.0));
        let row = |top: f32, height: f32| {
            Rect::from_min_size(pos2(inner.left(), top), egui::vec2(inner.width(), height))
        };
        let header = row(inner.top(), header::HEIGHT);
        // What is left over goes to the keys in part, and to the chart.
        let spare = (window.height() - SIZE[1]).clamp(-24.0, 240.0) * 0.4;
        let now = row(header.bottom(), NOW);
        let keyboard = row(now.bottom(), KEYBOARD + spare);
        let controls = row(inner.bottom() - controls::HEIGHT, controls::HEIGHT);
        let top = keyboard.bottom() + GAP;
        let bottom = controls.top() - GAP;
        let middle = row(top, bottom - top);
        let (left, mut chart) = middle.split_left_right_at_x(middle.left() + LEFT_COLUMN);
        chart.min.x += 20.0;
        let (scale, tensions) = left.split_top_bottom_at_y(left.top() + SCALE);
        Regions {
            header,
            now,
            keyboard,
            tensions,
            scale,
            chart,
            controls,
        }
    }
}

/// Lays the panel out over the whole of `ui`.
pub fn panel(ui: &mut Ui, state: &mut PanelState, desk: &mut Desk) {
    let window = ui.max_rect();
    ui.painter().rect_filled(window, 0.0, theme::GROUND);
    let regions = Regions::of(window);
    let settings = desk.params.settings();
    let snapshot = state.snapshot;
    state.chart.refresh(&desk.params.chart);
    at(ui, regions.header, |ui| header::region(ui, desk));
    now::region(ui, regions.now, &snapshot, &settings);
    keyboard::region(ui, regions.keyboard, &snapshot, &settings);
    at(ui, regions.scale, |ui| scale::region(ui, &snapshot));
    at(ui, regions.tensions, |ui| {
        tensions::region(ui, &snapshot, desk)
    });
    at(ui, regions.chart, |ui| {
        chart::region(ui, &mut state.chart, &snapshot, desk);
    });
    let peak = desk.params.tone_peak.swap(0.0, Ordering::Relaxed);
    state.meter = peak.max(state.meter * METER_FALL);
    at(ui, regions.controls, |ui| {
        controls::region(ui, desk, state.meter);
    });
}

fn at(ui: &mut Ui, rect: Rect, contents: impl FnOnce(&mut Ui)) {
    let layout = Layout::top_down(egui::Align::Min);
    ui.scope_builder(UiBuilder::new().max_rect(rect).layout(layout), contents);
}

#[cfg(test)]
mod tests;
