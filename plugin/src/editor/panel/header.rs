//! The top row: play and stop where there is no host, where chords come from, the key; the panel's
//! look and size, and the bypass. The panel's thread; `panel` imports it.

use crate::editor::model::action::{Action, Actions, PanelAction};
use crate::editor::model::parameters::{Control, ParameterId};
use crate::editor::panel::view::View;
use crate::editor::widgets::{Choices, List};
use crate::editor::{theme, view, widgets};
use crate::params::{Look, ZOOMS};
use egui::{ComboBox, Event, InputState, Key, Modifiers, Theme, Ui};
use guidehand_theory::key;
use guidehand_theory::pitch::PitchClass;

/// Where chords come from, in the order of the parameter's choices.
pub const SOURCES: [&str; 4] = ["Roots", "Chart", "Playing", "Bass"];
/// The height of the row, in points.
pub const HEIGHT: f32 = theme::CONTROL + 6.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    ui.horizontal_centered(|ui| {
        if let Some(plays) = view.plays {
            transport(ui, plays, actions);
        }
        widgets::name(ui, "Chords from");
        let tip = "Chords come from roots below the split, from the chart, from what you play, or from a bass.";
        let sources = Choices::new("Chords from", &SOURCES, tip);
        widgets::choice(ui, view.control(ParameterId::Source), &sources, actions);

        widgets::name(ui, "Key");
        tonic(ui, view, actions);
        let tip = "The mode of the key; in the blues I, IV and V are dominant sevenths.";
        let list = List {
            what: "Mode",
            width: 72.0,
            tip,
        };
        let mode = view.control(ParameterId::Mode);
        widgets::list(ui, mode, &list, |at| mode_name(mode, at), actions);
        let words = ("for charts", "Key holds for the chart");
        let tip = "The chart is read in this key, and not in the keys that are found in it.";
        widgets::toggle(ui, view.control(ParameterId::PinKey), words, tip, actions);
        widgets::at_the_right(ui, "panel", |ui| {
            look(ui, actions);
            zoom(ui, view, actions);
            let tip = "Everything passes, and nothing is added.";
            let bypass = view.control(ParameterId::Bypass);
            widgets::toggle(ui, bypass, ("Bypass", "Bypass"), tip, actions);
        });
    });
}

/// Starts and stops the program that needs no host, by the space bar too where nothing has the focus.
fn transport(ui: &mut Ui, plays: bool, actions: &mut Actions) {
    let tip = "Plays from the start, or stops (space bar).";
    let clicked = widgets::play(ui, plays).on_hover_text(tip).clicked();
    let unfocused = ui.memory(|memory| memory.focused().is_none());
    if clicked || (unfocused && ui.input_mut(takes_space)) {
        actions.push(Action::Play(!plays));
    }
}

/// Whether the space bar was pressed, and not merely held. Takes it from whatever else would hear it.
fn takes_space(input: &mut InputState) -> bool {
    let pressed = |event: &Event| {
        matches!(event, Event::Key { key: Key::Space, pressed: true, repeat: false, modifiers, .. }
            if modifiers.is_none())
    };
    input.events.iter().any(pressed) && input.consume_key(Modifiers::NONE, Key::Space)
}

/// The tonic, spelled as the mode spells it.
fn tonic(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let mode = view.settings.key.mode;
    let list = List {
        what: "Key",
        width: 48.0,
        tip: "The key that gives played roots their quality.",
    };
    let name = |semitones: usize| {
        let class = PitchClass::wrapping(i32::try_from(semitones).unwrap_or(0));
        view::note_name(key::Key::usual(class, mode).tonic)
    };
    widgets::list(ui, view.control(ParameterId::Tonic), &list, name, actions);
}

fn mode_name(mode: &Control, index: usize) -> String {
    let name = mode.choices.get(index).copied();
    name.unwrap_or_default().to_lowercase()
}

/// Light or dark.
fn look(ui: &mut Ui, actions: &mut Actions) {
    let is_light = ui.ctx().theme() == Theme::Light;
    let tip = "The panel is light, and not dark.";
    let response = widgets::lamp(ui, "light", "Light", is_light).on_hover_text(tip);
    if response.clicked() {
        let look = if is_light { Look::Dark } else { Look::Light };
        actions.push(Action::Panel(PanelAction::Look(look)));
    }
}

/// How large everything is.
fn zoom(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let panel = view.panel;
    let words = |zoom: f32| format!("{:.0} %", zoom * 100.0);
    let response = ComboBox::from_id_salt("zoom")
        .width(52.0)
        .selected_text(words(panel.zoom))
        .show_ui(ui, |ui| {
            for zoom in ZOOMS {
                let in_force = (zoom - panel.zoom).abs() < 0.01;
                if ui.selectable_label(in_force, words(zoom)).clicked() {
                    actions.push(Action::Panel(PanelAction::Zoom(zoom)));
                }
            }
        })
        .response;
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label("Size");
    });
    let response = response.on_hover_text_at_pointer("How large everything is.");
    if response.double_clicked() {
        actions.push(Action::Panel(PanelAction::Zoom(1.0)));
    }
}
