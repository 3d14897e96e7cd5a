//! The top row: where chords come from, the key; the panel's look and size, and
//! the bypass. Imports `params`, `view`, `desk` and `widgets`.

use crate::editor::window::desk::Desk;
use crate::editor::{theme, view, widgets};
use crate::params::{Look, ModeParam, SavedPanel, SourceParam, TonicParam, ZOOMS};
use egui::{ComboBox, Theme, Ui};
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pitch::PitchClass;
use nice_plug::prelude::Enum;
use widgets::List;

const SOURCES: [(SourceParam, &str); 4] = [
    (SourceParam::Roots, "Roots"),
    (SourceParam::Chart, "Chart"),
    (SourceParam::Reading, "Playing"),
    (SourceParam::Bass, "Bass"),
];
/// The height of the row, in points.
pub const HEIGHT: f32 = theme::CONTROL + 6.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, desk: &mut Desk) {
    let params = desk.params;
    ui.horizontal_centered(|ui| {
        widgets::name(ui, "Chords from");
        let tip = "Chords come from roots below the split, from the chart, from what you play, or from a bass.";
        let source = &params.source;
        widgets::choice(ui, desk, source, "Chords from", &SOURCES, 0.0, tip);

        widgets::name(ui, "Key");
        tonic(ui, desk);
        let tip = "The mode of the key; in the blues I, IV and V are dominant sevenths.";
        let list = List {
            what: "Mode",
            width: 72.0,
            tip,
        };
        widgets::list(ui, desk, &params.mode, &list, mode_name);
        let words = ("for charts", "Key holds for the chart");
        let tip = "The chart is read in this key, and not in the keys that are found in it.";
        widgets::toggle(ui, desk, &params.pin_key, words, tip);
        widgets::at_the_right(ui, "panel", |ui| {
            look(ui, desk);
            zoom(ui, desk);
            let tip = "Everything passes, and nothing is added.";
            widgets::toggle(ui, desk, &params.bypass, ("Bypass", "Bypass"), tip);
        });
    });
}

/// The tonic, spelled as the mode spells it.
fn tonic(ui: &mut Ui, desk: &Desk) {
    let mode = desk.params.key().mode;
    let list = List {
        what: "Key",
        width: 48.0,
        tip: "The key that gives played roots their quality.",
    };
    widgets::list(ui, desk, &desk.params.tonic, &list, |tonic| {
        tonic_name(tonic, mode)
    });
}

fn mode_name(mode: ModeParam) -> String {
    let name = ModeParam::variants().get(mode.to_index()).copied();
    name.unwrap_or_default().to_lowercase()
}

fn tonic_name(tonic: TonicParam, mode: Mode) -> String {
    let class = PitchClass::wrapping(i32::try_from(tonic.to_index()).unwrap_or(0));
    view::note_name(Key::usual(class, mode).tonic)
}

/// Light or dark.
fn look(ui: &mut Ui, desk: &mut Desk) {
    let is_light = ui.ctx().theme() == Theme::Light;
    let tip = "The panel is light, and not dark.";
    let response = widgets::lamp(ui, "light", "Light", is_light).on_hover_text(tip);
    if response.clicked() {
        let look = if is_light { Look::Dark } else { Look::Light };
        let panel = desk.params.panel.get();
        desk.set_panel(SavedPanel { look, ..panel });
        ui.ctx().request_repaint();
    }
}

/// How large everything is.
fn zoom(ui: &mut Ui, desk: &mut Desk) {
    let panel = desk.params.panel.get();
    let words = |zoom: f32| format!("{:.0} %", zoom * 100.0);
    let response = ComboBox::from_id_salt("zoom")
        .width(52.0)
        .selected_text(words(panel.zoom))
        .show_ui(ui, |ui| {
            for zoom in ZOOMS {
                let in_force = (zoom - panel.zoom).abs() < 0.01;
                if ui.selectable_label(in_force, words(zoom)).clicked() {
                    desk.set_panel(SavedPanel { zoom, ..panel });
                    ui.ctx().request_repaint();
                }
            }
        })
        .response;
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label("Size");
    });
    let response = response.on_hover_text_at_pointer("How large everything is.");
    if response.double_clicked() {
        desk.set_panel(SavedPanel { zoom: 1.0, ..panel });
        ui.ctx().request_repaint();
    }
}
