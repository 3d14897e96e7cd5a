//! The top row: where chords come from, the key, and the bypass. Imports
//! `params`, `view`, `desk` and `widgets`.

use crate::editor::desk::Desk;
use crate::editor::{theme, view, widgets};
use crate::params::{ModeParam, SourceParam, TonicParam};
use egui::{Align, ComboBox, Layout, Ui};
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pitch::PitchClass;
use nice_plug::prelude::Enum;

const SOURCES: [(SourceParam, &str); 3] = [
    (SourceParam::Roots, "Roots"),
    (SourceParam::Chart, "Chart"),
    (SourceParam::Reading, "Playing"),
];
const MODES: [(ModeParam, &str); 2] = [(ModeParam::Major, "major"), (ModeParam::Minor, "minor")];

/// Lays the region out.
pub fn region(ui: &mut Ui, desk: &Desk) {
    let params = desk.params;
    ui.horizontal_centered(|ui| {
        widgets::name(ui, "Chords from");
        let source = widgets::choices(ui, "Chords from", &SOURCES, params.source.value(), 64.0);
        source
            .into_iter()
            .for_each(|s| desk.choose(&params.source, s));
        ui.add_space(18.0);
        widgets::name(ui, "Key");
        tonic(ui, desk);
        let mode = widgets::choices(ui, "Mode", &MODES, params.mode.value(), 0.0);
        mode.into_iter().for_each(|m| desk.choose(&params.mode, m));
        let pinned = params.pin_key.value();
        if widgets::switch(ui, "holds for the chart too", pinned) {
            desk.choose(&params.pin_key, !pinned);
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let bypass = params.bypass.value();
            if widgets::switch(ui, "Bypass", bypass) {
                desk.choose(&params.bypass, !bypass);
            }
        });
    });
}

/// The tonic, spelled as the mode spells it.
fn tonic(ui: &mut Ui, desk: &Desk) {
    let params = desk.params;
    let mode = params.key().mode;
    let current = params.tonic.value();
    ComboBox::from_id_salt("tonic")
        .width(58.0)
        .height(400.0)
        .selected_text(tonic_name(current, mode))
        .show_ui(ui, |ui| {
            for index in 0..TonicParam::variants().len() {
                let tonic = TonicParam::from_index(index);
                let name = tonic_name(tonic, mode);
                let row = ui.selectable_label(tonic == current, name);
                if row.clicked() {
                    desk.choose(&params.tonic, tonic);
                }
            }
        })
        .response
        .on_hover_text_at_pointer("the key that gives played roots their quality");
}

fn tonic_name(tonic: TonicParam, mode: Mode) -> String {
    let class = PitchClass::wrapping(i32::try_from(tonic.to_index()).unwrap_or(0));
    view::note_name(Key::usual(class, mode).tonic)
}

/// The height of the row, in points.
pub const HEIGHT: f32 = theme::CONTROL + 6.0;
