//! The panel as a whole: which region lies where. It knows nothing of the framework's
//! window, so that tests can lay it out. The panel's thread; `window` imports it.

pub mod bass;
pub mod chart;
pub mod chord;
pub mod controls;
pub mod files;
mod grip;
pub mod harmonies;
pub mod header;
pub mod keyboard;
pub mod now;
pub mod pages;
pub mod rhythm;
pub mod scale;
pub mod tensions;
pub mod view;
pub mod voicing;

use crate::editor::model::action::Actions;
use crate::editor::model::chart::ChartText;
use crate::editor::model::page::Page;
use crate::editor::panel::view::View;
use crate::editor::theme;
use crate::params::SMALLEST_PANEL;
use egui::{Layout, Rect, Stroke, Ui, UiBuilder, pos2, vec2};

/// Where the regions lie, in points.
#[derive(Clone, Copy, Debug)]
struct Regions {
    header: Rect,
    now: Rect,
    keyboard: Rect,
    pages: Rect,
    tensions: Rect,
    scale: Rect,
    /// A page, in the place of tensions and scale.
    page: Rect,
    chart: Rect,
    rhythm: Rect,
    controls: Rect,
}

const MARGIN: f32 = 16.0;
const GAP: f32 = 10.0;
/// Heights at the smallest size.
const NOW: f32 = 94.0;
const KEYBOARD: f32 = 116.0;
const LEFT_COLUMN: f32 = 388.0;
const COLUMN_GAP: f32 = 20.0;
/// Under the names of the pages.
const PAGES_GAP: f32 = 9.0;
/// Between the two groups of rows at the bottom.
const ROWS_GAP: f32 = 11.0;
impl Regions {
    fn of(window: Rect, drawn: bool) -> Regions {
        let inner = window.shrink2(vec2(MARGIN, 10.0));
        let row = |top: f32, height: f32| {
            Rect::from_min_size(pos2(inner.left(), top), vec2(inner.width(), height))
        };
        let header = row(inner.top(), header::HEIGHT);
        // What is left over goes to the chord and the keys in part, and to the
        // chart.
        let spare = (window.height() - SMALLEST_PANEL[1]).clamp(0.0, 300.0);
        let now = row(header.bottom(), NOW + spare * 0.25);
        let keyboard = row(now.bottom(), KEYBOARD + spare * 0.4);
        let controls = row(inner.bottom() - controls::HEIGHT, controls::HEIGHT);
        let height = rhythm::height(drawn);
        let rhythm = row(controls.top() - ROWS_GAP - height, height);
        let top = keyboard.bottom() + GAP;
        let middle = row(top, rhythm.top() - ROWS_GAP - top);
        let (left, mut chart) = middle.split_left_right_at_x(middle.left() + LEFT_COLUMN);
        chart.min.x += COLUMN_GAP;
        let pages = left.with_max_y(left.top() + pages::HEIGHT);
        let page = left.with_min_y(pages.bottom() + PAGES_GAP);
        let (tensions, scale) = page.split_top_bottom_at_y(page.top() + tensions::HEIGHT + GAP);
        Regions {
            header,
            now,
            keyboard,
            pages,
            tensions,
            scale,
            page,
            chart,
            rhythm,
            controls,
        }
    }
}

/// Lays the panel out over the whole of `ui`, and tells what the player asked for. The
/// window has been cleared to the colour of the ground.
pub fn panel(ui: &mut Ui, chart: &ChartText, view: &View, actions: &mut Actions) {
    theme::follow(ui.ctx(), &view.panel);
    let palette = theme::palette(ui.ctx());
    // A window that is smaller than a panel can be shows its upper left part.
    let window = ui.max_rect();
    let whole = Rect::from_min_size(window.min, window.size().max(SMALLEST_PANEL.into()));
    let regions = Regions::of(whole, rhythm::is_drawn(view));
    at(ui, regions.header, |ui| header::region(ui, view, actions));
    now::region(ui, regions.now, view, actions);
    keyboard::region(ui, regions.keyboard, view, actions);
    at(ui, regions.pages, |ui| pages::region(ui, view, actions));
    match view.pages.open {
        Page::Tensions => {
            at(ui, regions.tensions, |ui| {
                tensions::region(ui, view, actions);
            });
            at(ui, regions.scale, |ui| scale::region(ui, view, actions));
        }
        Page::Chord => at(ui, regions.page, |ui| chord::region(ui, view, actions)),
        Page::Voicing => at(ui, regions.page, |ui| {
            voicing::region(ui, view, actions);
        }),
        Page::Harmonies => at(ui, regions.page, |ui| {
            harmonies::region(ui, view, actions);
        }),
        Page::InAndOut => at(ui, regions.page, |ui| {
            files::region(ui, view, actions);
        }),
        Page::Bass => at(ui, regions.page, |ui| bass::region(ui, view, actions)),
    }
    at(ui, regions.chart, |ui| {
        chart::region(ui, chart, view, actions);
    });
    let line = Stroke::new(1.0, palette.raised);
    for below in [regions.rhythm, regions.controls] {
        let y = below.top() - ROWS_GAP / 2.0 - 0.5;
        ui.painter().hline(below.x_range(), y, line);
    }
    at(ui, regions.rhythm, |ui| rhythm::region(ui, view, actions));
    at(ui, regions.controls, |ui| {
        controls::region(ui, view, actions)
    });
    grip::region(ui, window, actions);
}

fn at(ui: &mut Ui, rect: Rect, contents: impl FnOnce(&mut Ui)) {
    let layout = Layout::top_down(egui::Align::Min);
    ui.scope_builder(UiBuilder::new().max_rect(rect).layout(layout), contents);
}

#[cfg(test)]
mod tests;
