//! The chart's buttons and keys: undo, redo, transpose, copy, paste; what the text waits
//! for; and the list of what is wrong. The panel runs it; `chart` imports it. Imports `edit`, the model's
//! actions, `theme` and `widgets`.

use super::edit::{pasted, text_id};
use crate::document::Dropped;
use crate::editor::model::action::{Action, Actions};
use crate::editor::model::chart::{ChartAction, ChartText, WaitsFor};
use crate::editor::model::transpose::Direction;
use crate::editor::{theme, view, widgets};
use egui::{
    Align, Button, Key, Label, Layout, Modifiers, RichText, Role, ScrollArea, Ui, WidgetInfo,
};
use guidehand_theory::chart::ChartError;
use guidehand_theory::pitch::NoteNames;

/// Keys that act on the chart unless another control has the focus.
pub fn shortcuts(ui: &Ui, actions: &mut Actions) {
    let focused = ui.memory(|memory| memory.focused());
    if focused.is_some_and(|id| id != text_id()) {
        return;
    }
    let mut push = |action| actions.push(Action::Chart(action));
    if let Some(step) = history_key(ui) {
        push(step);
    }
    if focused.is_none() {
        let pasted = ui.input(|input| input.events.iter().find_map(pasted).map(ToOwned::to_owned));
        if let Some(text) = pasted.filter(|text| !text.trim().is_empty()) {
            let text = text.replace("\r\n", "\n").replace('\r', "\n");
            push(ChartAction::Put(text));
        }
    }
}

/// The step of the history that a key asks for.
pub fn history_key(ui: &Ui) -> Option<ChartAction> {
    // With shift first: the shorter shortcut would take the longer one too.
    let pressed =
        |modifiers: Modifiers, key: Key| ui.input_mut(|input| input.consume_key(modifiers, key));
    let again = Modifiers::COMMAND | Modifiers::SHIFT;
    if pressed(again, Key::Z) || pressed(Modifiers::COMMAND, Key::Y) {
        return Some(ChartAction::Redo);
    }
    pressed(Modifiers::COMMAND, Key::Z).then_some(ChartAction::Undo)
}

/// The row of buttons.
pub fn buttons(ui: &mut Ui, chart: &ChartText, actions: &mut Actions) {
    let mut push = |action| actions.push(Action::Chart(action));
    ui.horizontal(|ui| {
        let tip = "Takes back the last step of editing (Ctrl+Z).";
        if button(ui, "Undo", "Undo", chart.can_undo(), tip) {
            push(ChartAction::Undo);
        }
        let tip = "Brings back what was taken back last (Ctrl+Shift+Z).";
        if button(ui, "Redo", "Redo", chart.can_redo(), tip) {
            push(ChartAction::Redo);
        }
        ui.add_space(8.0);
        widgets::name(ui, "Transpose");
        let tip = "Moves every chord down a half step.";
        if button(ui, "down", "Transpose down", true, tip) {
            push(ChartAction::Transpose(Direction::Down));
        }
        let tip = "Moves every chord up a half step.";
        if button(ui, "up", "Transpose up", true, tip) {
            push(ChartAction::Transpose(Direction::Up));
        }
        ui.add_space(8.0);
        let tip = "Copies the whole chart; Ctrl+V puts another one in its place.";
        if button(ui, "Copy", "Copy the chart", true, tip) {
            ui.ctx().copy_text(chart.text().to_owned());
        }
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let palette = theme::palette(ui.ctx());
            let words = "How to write";
            let remark = widgets::remark(ui, words, palette.soft);
            remark.on_hover_text(SIGNS);
        });
    });
}

/// What the text waits for before it plays: in a few words, and in a sentence.
const fn waits_words(waits: WaitsFor) -> [&'static str; 2] {
    match waits {
        WaitsFor::Rest => [
            "plays after a pause or Enter",
            "The chart before plays until you pause or press Enter.",
        ],
        WaitsFor::BarLine => [
            "plays from the next bar line",
            "This chart comes in at the next bar line.",
        ],
    }
}

/// The width of these words, in points.
pub fn waits_width(ui: &Ui, waits: WaitsFor) -> f32 {
    let [short, _] = waits_words(waits);
    widgets::remark_width(ui, short)
}

/// Tells what the text waits for before it plays.
pub fn waits(ui: &mut Ui, waits: WaitsFor) {
    let [short, whole] = waits_words(waits);
    let response = widgets::remark(ui, short, theme::palette(ui.ctx()).soft);
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, whole));
    response.on_hover_text(whole);
}

/// Tells what an edit has dropped, in a few words, and whole where the pointer rests.
pub fn dropped(ui: &mut Ui, dropped: &Dropped) {
    let whole = view::with_signs(&dropped.to_string());
    let text = RichText::new(&whole)
        .font(theme::text(theme::SMALL))
        .color(theme::palette(ui.ctx()).wrong);
    let response = ui.add(Label::new(text).truncate());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &whole));
    response.on_hover_text(&whole);
}

/// The language of the notes in the text.
pub fn note_names(ui: &mut Ui, chart: &ChartText, actions: &mut Actions) {
    let german = chart.names() == NoteNames::German;
    let tip = "Notes have their German names: H is B natural, B is B flat, Fis is F sharp.";
    let response = widgets::lamp(ui, "German", "German note names", german);
    let response = response.on_hover_text(tip);
    let names = if response.double_clicked() || german {
        NoteNames::English
    } else {
        NoteNames::German
    };
    if response.clicked() && names != chart.names() {
        actions.push(Action::Chart(ChartAction::Names(names)));
    }
}

/// What can stand in a chart.
const SIGNS: &str = "\
|  divides bars          %  repeats the bar
/  is one beat           N.C.  is silence
|:  :|  repeat          [1  [2  are endings
[A]  is a section; alone it is played again
3/4  is a time signature";

fn button(ui: &mut Ui, word: &str, name: &str, enabled: bool, tip: &str) -> bool {
    let button = Button::new(word).min_size(egui::vec2(0.0, theme::CONTROL));
    let response = ui.add_enabled(enabled, button);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, enabled, name));
    widgets::focus(ui, response.rect, &response);
    response.on_hover_text(tip).clicked()
}

/// What is wrong, one line each; a press leads to the place.
pub fn errors(ui: &mut Ui, errors: &[ChartError], height: f32, actions: &mut Actions) {
    let colour = theme::palette(ui.ctx()).wrong;
    let mut pressed = None;
    ScrollArea::vertical()
        .id_salt("errors")
        .max_height(height)
        .min_scrolled_height(height)
        .auto_shrink(false)
        .show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            // More than anyone reads; the rest shows once these are mended.
            for error in errors.iter().take(100) {
                let words = view::with_signs(&error.to_string());
                let response = widgets::remark(ui, &words, colour);
                let response = response.interact(egui::Sense::click());
                if response.on_hover_text("Press to go there.").clicked() {
                    pressed = Some(error.source.end);
                }
            }
        });
    if let Some(at) = pressed {
        actions.push(Action::Chart(ChartAction::GoTo(at)));
        ui.memory_mut(|memory| memory.request_focus(text_id()));
    }
}
