//! The chord in hand: which one it is, how it is heard, and the ways to dress it. The panel's
//! thread; `panel` imports it.

mod list;

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::dressings::DressingsAction;
use crate::editor::model::in_hand::InHandAction;
use crate::editor::panel::view::View;
use crate::editor::view::{dressings, symbol, words};
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
    let dressings = &view.pages.dressings;
    let said = if dressings.said().is_empty() {
        0.0
    } else {
        SAID
    };
    let height = (ui.available_height() - said).max(theme::CONTROL);
    let scroll = ScrollArea::vertical().id_salt("dressings");
    let scroll = scroll.max_height(height).min_scrolled_height(height);
    let pressed = scroll.auto_shrink(false).show(ui, |ui| {
        let taste = &view.settings.taste;
        let rows = dressings.rows().iter();
        let rows: Vec<_> = rows.map(|one| dressings::row(one, taste)).collect();
        list::rows(ui, &rows, dressings.tried())
    });
    if let Some(row) = pressed.inner {
        actions.push(Action::Dressings(DressingsAction::Try(row)));
    }
    if !dressings.said().is_empty() {
        widgets::remark(ui, dressings.said(), palette.wrong);
    }
}

/// What is heard, and what becomes of what is tried.
fn hearing(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let dressings = &view.pages.dressings;
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
            let tried = dressings.tried().and_then(|row| dressings.rows().get(row));
            ui.add_enabled_ui(tried.is_some(), |ui| {
                let what =
                    tried.map_or_else(|| "nothing is tried".to_owned(), |tried| words(&tried.name));
                let tip = "Writes what is tried into the chart, as one step that can be undone.";
                if widgets::button(ui, "Keep", &format!("Keep dressing: {what}"), tip) {
                    actions.push(Action::Dressings(DressingsAction::Keep));
                }
                let tip = "Forgets what is tried; the chart stays as it is written.";
                if widgets::button(ui, "Drop", &format!("Drop dressing: {what}"), tip) {
                    actions.push(Action::Dressings(DressingsAction::Drop));
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
