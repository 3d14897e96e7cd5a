//! The chord in hand: which one it is, how it is heard, and the ways to play it. The panel's
//! thread; `panel` imports it.

mod list;
mod own;

use crate::document::Pass;
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

/// Which ways are shown, and the notes of the player's own.
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
        widgets::at_the_right(ui, "keys", |ui| {
            let held = view.as_written.held;
            ui.add_enabled_ui(held != 0, |ui| {
                let tip = "Tries the keys that you hold as the notes of this chord.";
                if widgets::button(ui, "Take keys", "Take the keys that are held", tip) {
                    actions.push(Action::Ways(WaysAction::Lay(held)));
                }
            });
        });
    });
}

/// What is heard, and what becomes of what is tried.
fn hearing(ui: &mut Ui, view: &View, actions: &mut Actions) {
    ui.horizontal(|ui| {
        let tip = "Sounds the chord in hand, or what is tried.";
        let hear = widgets::button_response(ui, "Hear", "Hear the chord in hand", tip);
        if hear.clicked() {
            actions.push(Action::InHand(InHandAction::Hear));
        }
        let tip = "Sounds the chord before, this one and the next, at the tempo of the song.";
        if widgets::button(ui, "In context", "Hear it in context", tip) {
            actions.push(Action::InHand(InHandAction::HearInContext));
        }
        widgets::at_the_right(ui, "tried", |ui| {
            let action = if view.is_pinned && !view.pages.ways.tries() {
                unpin(ui, view)
            } else {
                keep(ui, view)
            };
            let Some(action) = action else { return };
            actions.push(Action::Ways(action));
            // What was pressed goes, and the focus would be lost with it.
            if ui.memory(|memory| memory.focused().is_some()) {
                hear.request_focus();
            }
        });
    });
}

/// What becomes of what is tried. Where the times differ that the chord is played, the question is
/// for which of them.
fn keep(ui: &mut Ui, view: &View) -> Option<WaysAction> {
    let ways = &view.pages.ways;
    let tried = ways.what_is_tried();
    let what = tried.unwrap_or("nothing");
    let mut action = None;
    ui.add_enabled_ui(tried.is_some(), |ui| {
        let mut button = |ui: &mut Ui, (word, name): (&str, String), tip, does| {
            if widgets::button(ui, word, &name, tip) {
                action = Some(does);
            }
        };
        if let Some(time) = view.time.filter(|_| tried.is_some()) {
            let this = time.only();
            ui.add_enabled_ui(ways.can_be_kept_once(), |ui| {
                let name = format!("Keep {this} only: {what}");
                let tip = "Pins these notes for this time only; the symbol stays.";
                let does = WaysAction::Keep(this);
                button(ui, (&format!("Keep {this}"), name), tip, does);
            });
            let name = format!("Keep every time: {what}");
            let tip = "Writes a dressing into the chart, or pins a voicing, for every time.";
            let does = WaysAction::Keep(Pass::Every);
            button(ui, ("every time", name), tip, does);
        } else {
            let tip = "Writes a dressing into the chart, or pins a voicing: one step to undo.";
            let does = WaysAction::Keep(Pass::Every);
            button(ui, ("Keep", format!("Keep: {what}")), tip, does);
        }
        let tip = "Forgets what is tried; the chart stays as it is written.";
        button(ui, ("Drop", format!("Drop: {what}")), tip, WaysAction::Drop);
    });
    action
}

/// What takes the pin away, for this time or every time.
fn unpin(ui: &mut Ui, view: &View) -> Option<WaysAction> {
    let tip = "Lets the plan choose the voicing of this chord again.";
    let every = WaysAction::Unpin(Pass::Every);
    let Some(time) = view.time else {
        return widgets::button(ui, "Unpin", "Unpin the voicing", tip).then_some(every);
    };
    let this = time.only();
    let (word, name) = (
        format!("Unpin {this}"),
        format!("Unpin the voicing, {this} only"),
    );
    let once = widgets::button(ui, &word, &name, tip).then_some(WaysAction::Unpin(this));
    let always = widgets::button(ui, "every time", "Unpin the voicing every time", tip);
    once.or_else(|| always.then_some(every))
}

/// Which chord it is and which time of it, the ways to its neighbours, and whether it sounds and
/// stays.
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
        if let Some(time) = view.time {
            let word = format!("{} of {}", time.only(), time.of);
            let tip = "It is not voiced alike each time that it is played. A press shows the next.";
            if widgets::button(ui, &word, &format!("In hand: {word}"), tip) {
                let next = if time.this < time.of {
                    time.this + 1
                } else {
                    1
                };
                push(InHandAction::Time(next));
            }
        }
        widgets::at_the_right(ui, "stays", |ui| {
            let sounds = view.in_hand.sounds;
            let tip = "A chord sounds when you take it in hand, unless the song plays.";
            let lamp = widgets::lamp(ui, "sounds", "Chord in hand sounds", sounds);
            if lamp.on_hover_text(tip).clicked() {
                push(InHandAction::Sound(!sounds));
            }
            let stays = view.in_hand.stays;
            let tip = "Shows this chord while the song plays, in place of the one that sounds.";
            let lamp = widgets::lamp(ui, "stays", "Chord in hand stays", stays);
            if lamp.on_hover_text(tip).clicked() {
                push(InHandAction::Stay(!stays));
            }
        });
    });
}
