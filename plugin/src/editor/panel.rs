//! The panel as a whole: which region lies where. It knows nothing of the framework's
//! window, so that tests can lay it out. The panel's thread; `window` imports it.

pub mod bass;
pub mod chart;
pub mod chart_page;
pub mod chord;
pub mod files;
mod grip;
pub mod harmonies;
pub mod header;
pub mod keyboard;
mod looks;
pub mod melody;
pub mod now;
pub mod pages;
pub mod practice;
pub mod rhythm;
pub mod scale;
mod set;
pub mod sound;
mod stage;
pub mod tensions;
mod verdict;
pub mod view;
pub mod voicing;

use crate::editor::model::action::Actions;
use crate::editor::model::chart::ChartText;
use crate::editor::model::page::Page;
use crate::editor::panel::set::Set;
use crate::editor::panel::view::View;
use crate::editor::theme;
use crate::params::{PanelView, SavedPanel};
use egui::{Layout, Rect, Ui, UiBuilder, pos2, vec2};

const MARGIN: egui::Vec2 = vec2(16.0, 10.0);
/// The margin of the small view, in points.
const SMALL_MARGIN: egui::Vec2 = vec2(12.0, 8.0);
/// Between the stage and the names of the pages, in points.
const GAP: f32 = 12.0;
/// Between the names of the pages and the page, in points.
const PAGES_GAP: f32 = 10.0;
/// The width of a page beside the chart, in points.
const LEFT_COLUMN: f32 = 388.0;
const COLUMN_GAP: f32 = 20.0;
/// The height of the stage at the smallest size in large print, in points.
const LARGE_STAGE: f32 = 400.0;
/// The most of what is left over that is shared between stage and page, in points.
const MOST_SPARE: f32 = 400.0;

/// Where the parts of the full view lie, in points.
#[derive(Clone, Copy, Debug)]
struct Regions {
    header: Rect,
    stage: Rect,
    pages: Rect,
    page: Rect,
}

impl Regions {
    fn of(window: Rect, panel: &SavedPanel) -> Regions {
        let inner = window.shrink2(MARGIN);
        let row = |top: f32, height: f32| {
            Rect::from_min_size(pos2(inner.left(), top), vec2(inner.width(), height))
        };
        let header = row(inner.top(), header::HEIGHT);
        let [_, smallest] = panel.smallest();
        let spare = (window.height() - smallest).clamp(0.0, MOST_SPARE);
        let stage = if panel.large_print {
            LARGE_STAGE + spare * 0.5
        } else {
            stage::height(spare)
        };
        let stage = row(header.bottom(), stage);
        let pages = row(stage.bottom() + GAP, pages::HEIGHT);
        Regions {
            header,
            stage,
            pages,
            page: inner.with_min_y(pages.bottom() + PAGES_GAP),
        }
    }
}

/// Lays the panel out over the whole of `ui`, and tells what the player asked for. The
/// window has been cleared to the colour of the ground.
pub fn panel(ui: &mut Ui, chart: &ChartText, view: &View, actions: &mut Actions) {
    theme::follow(ui.ctx(), &view.panel);
    // A window that is smaller than a panel can be shows its upper left part.
    let window = ui.max_rect();
    let smallest = view.panel.smallest().into();
    let whole = Rect::from_min_size(window.min, window.size().max(smallest));
    match view.panel.view {
        PanelView::Full => full(ui, whole, chart, view, actions),
        PanelView::Small => small(ui, whole, view, actions),
    }
    grip::region(ui, window, view, actions);
    files::open::dropped(ui.ctx(), actions);
}

/// The chord in force, its keys, its tensions and its scale, and the way to the full view.
fn small(ui: &mut Ui, window: Rect, view: &View, actions: &mut Actions) {
    let stage = window.shrink2(SMALL_MARGIN);
    let set = Set::tight(stage.size(), view.panel.large_print);
    stage::region(ui, stage, set, view, actions);
}

/// The stage on top, and a page to work on below it.
fn full(ui: &mut Ui, window: Rect, chart: &ChartText, view: &View, actions: &mut Actions) {
    let regions = Regions::of(window, &view.panel);
    at(ui, regions.header, |ui| header::region(ui, view, actions));
    let set = if view.panel.large_print {
        Set::tight(regions.stage.size(), true)
    } else {
        Set::Wide
    };
    stage::region(ui, regions.stage, set, view, actions);
    at(ui, regions.pages, |ui| pages::region(ui, view, actions));
    page(ui, regions.page, chart, view, actions);
}

/// The page that is open: over the whole width, or beside the chart.
fn page(ui: &mut Ui, page: Rect, chart: &ChartText, view: &View, actions: &mut Actions) {
    let beside: fn(&mut Ui, &View, &mut Actions) = match view.pages.open {
        Page::Chart => {
            return at(ui, page, |ui| chart_page::region(ui, chart, view, actions));
        }
        Page::Rhythm => return at(ui, page, |ui| rhythm::region(ui, view, actions)),
        Page::Melody => return at(ui, page, |ui| melody::region(ui, chart, view, actions)),
        Page::Practice => return at(ui, page, |ui| practice::region(ui, chart, view, actions)),
        Page::Sound => return at(ui, page, |ui| sound::region(ui, view, actions)),
        Page::Chord => chord::region,
        Page::Voicing => voicing::region,
        Page::Harmonies => harmonies::region,
        Page::Bass => bass::region,
        Page::InAndOut => files::region,
    };
    let (left, mut right) = page.split_left_right_at_x(page.left() + LEFT_COLUMN);
    right.min.x += COLUMN_GAP;
    at(ui, left, |ui| beside(ui, view, actions));
    at(ui, right, |ui| chart::region(ui, chart, view, actions));
}

fn at(ui: &mut Ui, rect: Rect, contents: impl FnOnce(&mut Ui)) {
    let layout = Layout::top_down(egui::Align::Min);
    ui.scope_builder(UiBuilder::new().max_rect(rect).layout(layout), contents);
}

#[cfg(test)]
pub mod tests;
