//! The chord in hand: which one it is, and what stays on show while the song plays. The panel's
//! thread; `panel` imports it.

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::in_hand::InHandAction;
use crate::editor::panel::view::View;
use crate::editor::view::symbol;
use crate::editor::{theme, widgets};
use egui::{Label, RichText, Role, Ui, WidgetInfo};
use guidehand_theory::pipeline::ChordInKey;

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let palette = theme::palette(ui.ctx());
    let Some(chord) = &view.in_hand_chord else {
        let words = "Write a chord into the chart, and take it in hand here.";
        widgets::remark(ui, words, palette.soft);
        return;
    };
    heading(ui, chord, view, actions);
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
