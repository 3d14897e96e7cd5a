//! How loud it is: the velocity of what is played, and the audition tone with its meter. The panel's
//! thread; `panel` imports it.

use crate::editor::model::action::Actions;
use crate::editor::model::meter::STEPS;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::view::View;
use crate::editor::widgets::Number;
use crate::editor::{theme, widgets};
use egui::{Rect, Ui, pos2, vec2};

/// Between two rows, in points.
const ROW_GAP: f32 = 8.0;
/// The width of a number, in points.
const NUMBER: f32 = 54.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    ui.spacing_mut().item_spacing.y = ROW_GAP;
    ui.horizontal(|ui| {
        widgets::row_name(ui, "Audition tone", widgets::NAMES);
        let tip = "A plain tone of the plugin's own, to hear the voicings by.";
        let words = ("on", "Audition tone");
        widgets::toggle(ui, view.control(ParameterId::Tone), words, tip, actions);
        let names = ("Audition level", "How loud the audition tone is.");
        let level = view.control(ParameterId::ToneLevel);
        let slider = widgets::level(ui, level, names, 56.0, actions);
        meter(ui, slider, view.meter);
    });
    ui.horizontal(|ui| {
        widgets::row_name(ui, "Velocity", widgets::NAMES);
        let velocity = Number {
            what: "Chart velocity",
            width: NUMBER,
            tip: "How loud the chart plays where no key gates it.",
            words: None,
        };
        widgets::percent(ui, view.control(ParameterId::Velocity), &velocity, actions);
    });
}

/// The audition tone's peak as a line under its slider, with so many of its steps lit.
fn meter(ui: &Ui, slider: Rect, lit: u8) {
    let palette = theme::palette(ui.ctx());
    let share = f32::from(lit) / f32::from(STEPS);
    let full = Rect::from_min_max(
        slider.left_bottom() - vec2(0.0, 2.0),
        pos2(slider.left() + ui.spacing().slider_width, slider.bottom()),
    );
    let lit = full.with_max_x(full.left() + full.width() * share);
    ui.painter().rect_filled(full, 1.0, palette.raised);
    ui.painter().rect_filled(lit, 1.0, palette.bright);
}
