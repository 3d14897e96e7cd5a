//! The top row: play and stop where there is no host, where chords come from, the key; the bypass,
//! and how the panel looks. The panel's thread; `panel` imports it.

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::parameters::{Control, ParameterId};
use crate::editor::panel::looks;
use crate::editor::panel::view::View;
use crate::editor::widgets::{Choices, List};
use crate::editor::{theme, view, widgets};
use egui::{Event, InputState, Key, Modifiers, Ui};
use guidehand_theory::key;
use guidehand_theory::pitch::PitchClass;

/// Where chords come from, in the order of the parameter's choices.
pub const SOURCES: [&str; 5] = ["Roots", "Chart", "My chords", "Heard bass", "Practice"];
/// The height of the row, in points.
pub const HEIGHT: f32 = theme::CONTROL + 6.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    ui.horizontal_centered(|ui| {
        if let Some(plays) = view.plays {
            transport(ui, plays, actions);
        }
        widgets::name(ui, "Chords from");
        let tip = "Chords come from roots below the split, from the chart, from what you play, or from a bass; or they are asked of you.";
        let sources = Choices::new("Chords from", &SOURCES, tip);
        widgets::choice(ui, view.control(ParameterId::Source), &sources, actions);
        if !view.practises() {
            ui.add_space(6.0);
            key(ui, view, actions);
        }
        widgets::at_the_right(ui, "panel", |ui| {
            let tip = "Everything passes, and nothing is added.";
            let bypass = view.control(ParameterId::Bypass);
            widgets::toggle(ui, bypass, ("Bypass", "Bypass"), tip, actions);
            looks::menu(ui, view, actions);
            looks::extent(ui, view, actions);
        });
    });
}

/// The key. Where the chart tells its own keys, the one in force is named in its place.
fn key(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::name(ui, "Key");
    let lock = view.control(ParameterId::PinKey);
    let of_chart = view.settings.plays_chart();
    if of_chart && !lock.is_on() {
        let sounding = view::on_show(&view.snapshot);
        let words = match sounding {
            Some(sounding) => view::words(&sounding.placed.function.key),
            None => "as the chart".to_owned(),
        };
        let tip = "The key that the chart is heard in here.";
        let palette = theme::palette(ui.ctx());
        ui.colored_label(palette.bright, words).on_hover_text(tip);
    } else {
        tonic(ui, view, actions);
        let tip = "The mode of the key; in the blues I, IV and V are dominant sevenths.";
        let list = List {
            what: "Mode",
            width: 72.0,
            tip,
        };
        let mode = view.control(ParameterId::Mode);
        widgets::list(ui, mode, &list, |at| mode_name(mode, at), actions);
    }
    if of_chart {
        let words = ("lock", "Lock chart to key");
        let tip =
            "The chart is read in a key that you choose, and not in the keys that are heard in it.";
        widgets::toggle(ui, lock, words, tip, actions);
    }
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
