//! The chord in hand: which one it is, how it is heard, and the ways to play it. The panel's
//! thread; `panel` imports it.

mod list;
mod own;

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::in_hand::InHandAction;
use crate::editor::model::ways::{Shows, WaysAction};
use crate::editor::panel::view::View;
use crate::editor::view::symbol;
use crate::editor::widgets::Choices;
use crate::editor::{theme, widgets};
use egui::{Label, RichText, Role, ScrollArea, Ui, WidgetInfo};
use guidehand_theory::pipeline::ChordInKey;

/// The height kept for words about what could not be done, in points.
const SAID: f32 = 30.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let palette = theme::palette(ui.ctx());
    let Some(chord) = &view.in_hand_chord else {
        let words = "Write a chord into the chart, and take it in hand here.";
        widgets::remark(ui, words, palette.soft);
        return;
    };
    heading(ui, chord, view, actions);
    hearing(ui, view, actions);
    let ways = &view.pages.ways;
    shows(ui, view, actions);
    if ways.shows() == Shows::Own {
        return own::region(ui, view, actions);
    }
    let (said, colour) = match (ways.said(), ways.told()) {
        ("", told) => (told, palette.soft),
        (said, _) => (said, palette.wrong),
    };
    let below = if said.is_empty() { 0.0 } else { SAID };
    let height = (ui.available_height() - below).max(theme::CONTROL);
    let scroll = ScrollArea::vertical().id_salt(("ways", ways.shows() == Shows::Voicings));
    let scroll = scroll.max_height(height).min_scrolled_height(height);
    let pressed = scroll
        .auto_shrink(false)
        .show(ui, |ui| list::rows(ui, ways.rows(), ways.tried()));
    if let Some(row) = pressed.inner {
        actions.push(Action::Ways(WaysAction::Try(row)));
    }
    if !said.is_empty() {
        widgets::remark(ui, said, colour);
    }
}

/// Which ways are shown, and the pin that the chord has.
fn shows(ui: &mut Ui, view: &View, actions: &mut Actions) {
    ui.horizontal(|ui| {
        let choices = Choices::new(
            "Ways",
            &["dressings", "other voicings", "mine"],
            "Other tensions, the same chord with its notes laid otherwise, or voicings of your own.",
        );
        let all = [Shows::Dressings, Shows::Voicings, Shows::Own];
        let current = all.iter().position(|one| *one == view.pages.ways.shows());
        let chosen = widgets::choices(ui, &choices, current);
        if let Some(shows) = chosen.and_then(|chosen| all.get(chosen).copied()) {
            actions.push(Action::Ways(WaysAction::Show(shows)));
        }
        widgets::at_the_right(ui, "pin", |ui| {
            let held = view.as_written.held;
            ui.add_enabled_ui(held != 0, |ui| {
                let tip = "Pins the keys that you hold to this chord, and tells what they are.";
                if widgets::button(ui, "Take keys", "Pin the keys that are held", tip) {
                    actions.push(Action::Ways(WaysAction::PinKeys(held)));
                }
            });
            if view.is_pinned {
                let tip = "Lets the plan choose the voicing of this chord again.";
                if widgets::button(ui, "Unpin", "Unpin the voicing", tip) {
                    actions.push(Action::Ways(WaysAction::Unpin));
                }
            }
        });
    });
}

/// What is heard, and what becomes of what is tried.
fn hearing(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let ways = &view.pages.ways;
    ui.horizontal(|ui| {
        let tip = "Sounds the chord in hand, or what is tried.";
        if widgets::button(ui, "Hear", "Hear the chord in hand", tip) {
            actions.push(Action::InHand(InHandAction::Hear));
        }
        let tip = "Sounds the chord before, this one and the next, at the tempo of the song.";
        if widgets::button(ui, "In context", "Hear it in context", tip) {
            actions.push(Action::InHand(InHandAction::HearInContext));
        }
        let sounds = view.in_hand.sounds;
        let tip = "A chord sounds when you take it in hand, unless the song plays.";
        let lamp = widgets::lamp(ui, "sounds", "Chord in hand sounds", sounds);
        if lamp.on_hover_text(tip).clicked() {
            actions.push(Action::InHand(InHandAction::Sound(!sounds)));
        }
        widgets::at_the_right(ui, "tried", |ui| {
            let tried = ways.tried().and_then(|row| ways.rows().get(row));
            ui.add_enabled_ui(tried.is_some(), |ui| {
                let what = tried.map_or("nothing", |row| row.name.as_str());
                let tip = "Writes a dressing into the chart, or pins a voicing: one step to undo.";
                if widgets::button(ui, "Keep", &format!("Keep: {what}"), tip) {
                    actions.push(Action::Ways(WaysAction::Keep));
                }
                let tip = "Forgets what is tried; the chart stays as it is written.";
                if widgets::button(ui, "Drop", &format!("Drop: {what}"), tip) {
                    actions.push(Action::Ways(WaysAction::Drop));
                }
            });
        });
    });
}

/// Which chord it is, the ways to its neighbours, and whether it stays.
fn heading(ui: &mut Ui, chord: &ChordInKey, view: &View, actions: &mut Actions) {
    let palette = theme::palette(ui.ctx());
    let mut push = |action| actions.push(Action::InHand(action));
    ui.horizontal(|ui| {
        let tip = "Takes the chord before in hand. So does a click on it in the chart.";
        if widgets::button(ui, "‹", "Previous chord", tip) {
            push(InHandAction::Previous);
        }
        let tip = "Takes the chord after in hand. So does a click on it in the chart.";
        if widgets::button(ui, "›", "Next chord", tip) {
            push(InHandAction::Next);
        }
        let written = symbol(&chord.written);
        let text = RichText::new(&written)
            .font(theme::bold(theme::TEXT))
            .color(palette.bright);
        let label = ui.add(Label::new(text).truncate());
        label.widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("In hand: {written}")));
        widgets::at_the_right(ui, "stays", |ui| {
            let stays = view.in_hand.stays;
            let tip = "Shows this chord while the song plays, in place of the one that sounds.";
            let lamp = widgets::lamp(ui, "stays", "Chord in hand stays", stays);
            if lamp.on_hover_text(tip).clicked() {
                push(InHandAction::Stay(!stays));
            }
        });
    });
}
