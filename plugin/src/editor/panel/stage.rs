//! The stage: the chord in force, its keys, its tensions and its scale. It is the whole of the small
//! view and the top of the full one. The panel's thread; `panel` imports it.

use crate::editor::model::action::Actions;
use crate::editor::panel::set::{Heights, Set};
use crate::editor::panel::view::View;
use crate::editor::panel::{keyboard, now, scale, tensions, verdict};
use crate::editor::theme;
use egui::{Layout, Rect, Ui, UiBuilder, pos2, vec2};

/// The heights of a wide stage at the smallest size, in points.
const NOW: f32 = 88.0;
const KEYBOARD: f32 = 132.0;
const BELOW: f32 = 112.0;
const GAP: f32 = 8.0;
/// The width of the tensions on a wide stage, in points.
const TENSIONS: f32 = 380.0;
const COLUMN_GAP: f32 = 20.0;

/// The height of a wide stage, where the window has so much more than the smallest size, in points.
#[must_use]
pub const fn height(spare: f32) -> f32 {
    NOW + KEYBOARD + GAP + BELOW + spare * (NOW_GROWS + KEYBOARD_GROWS)
}

/// The share of what is left over that the name and the keys get.
const NOW_GROWS: f32 = 0.1;
const KEYBOARD_GROWS: f32 = 0.3;
/// The share of it that the name gets on a tight stage; the keys get the rest.
const TIGHT_NOW_GROWS: f32 = 0.3;

/// Where the regions lie, in points.
#[derive(Clone, Copy, Debug)]
pub struct Regions {
    /// The chord in force.
    pub now: Rect,
    /// Its keys.
    pub keyboard: Rect,
    /// Its tensions.
    pub tensions: Rect,
    /// Its scale.
    pub scale: Rect,
}

impl Regions {
    /// The regions of a stage.
    #[must_use]
    pub fn of(stage: Rect, set: Set) -> Regions {
        let row = |top: f32, height: f32| {
            Rect::from_min_size(pos2(stage.left(), top), vec2(stage.width(), height))
        };
        match set {
            Set::Wide => {
                let spare = (stage.height() - height(0.0)).max(0.0);
                let grows = NOW_GROWS + KEYBOARD_GROWS;
                let now = row(stage.top(), NOW + spare * NOW_GROWS / grows);
                let keyboard = KEYBOARD + spare * KEYBOARD_GROWS / grows;
                let keyboard = row(now.bottom(), keyboard);
                let below = stage.with_min_y(keyboard.bottom() + GAP);
                let (tensions, mut scale) = below.split_left_right_at_x(below.left() + TENSIONS);
                scale.min.x += COLUMN_GAP;
                Regions {
                    now,
                    keyboard,
                    tensions,
                    scale,
                }
            }
            Set::Tight { unit, large } => {
                let heights = Heights::of(large);
                let spare = (stage.height() - heights.smallest().y * unit).max(0.0);
                let gap = heights.gap * unit;
                let now = row(stage.top(), heights.now * unit + spare * TIGHT_NOW_GROWS);
                let keyboard = heights.keyboard * unit + spare * (1.0 - TIGHT_NOW_GROWS);
                let keyboard = row(now.bottom() + gap, keyboard);
                let tensions = row(keyboard.bottom() + gap, heights.tensions * unit);
                let scale = row(tensions.bottom() + gap, heights.scale * unit);
                Regions {
                    now,
                    keyboard,
                    tensions,
                    scale,
                }
            }
        }
    }
}

/// Lays the stage out.
pub fn region(ui: &mut Ui, stage: Rect, set: Set, view: &View, actions: &mut Actions) {
    let regions = Regions::of(stage, set);
    now::region(ui, regions.now, set, view, actions);
    keyboard::region(ui, regions.keyboard, set, view, actions);
    if view.practises() {
        verdict::region(ui, [regions.tensions, regions.scale], set, view, actions);
        return;
    }
    at(ui, regions.tensions, set, |ui| {
        tensions::region(ui, set, view, actions);
    });
    at(ui, regions.scale, set, |ui| {
        scale::region(ui, set, view, actions);
    });
}

fn at(ui: &mut Ui, rect: Rect, set: Set, contents: impl FnOnce(&mut Ui)) {
    let layout = Layout::top_down(egui::Align::Min);
    ui.scope_builder(UiBuilder::new().max_rect(rect).layout(layout), |ui| {
        if set.is_tight() {
            theme::set_print(ui, set.print());
        }
        contents(ui);
    });
}
