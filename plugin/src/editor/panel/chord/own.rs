//! The player's own voicings: the one of the chord in hand is kept, and all of them are heard,
//! renamed and taken away. The panel's thread; `chord` imports it.

use super::list;
use crate::document::VoicingName;
use crate::editor::model::action::{Action, Actions};
use crate::editor::model::own::OwnAction;
use crate::editor::model::ways::WaysAction;
use crate::editor::panel::view::View;
use crate::editor::view::{own, words};
use crate::editor::{theme, widgets};
use egui::{Key, Label, RichText, ScrollArea, TextEdit, Ui, vec2};
use guidehand_exchange::own_voicings::{LONGEST_NAME, OwnVoicing};

/// The width of the button beside the name, in points.
const KEEP: f32 = 141.0;
/// The width of the buttons for the voicing that was pressed, in points.
const BUTTONS: f32 = 148.0;
/// The narrowest field for a name, in points.
const NARROWEST: f32 = 60.0;

/// Lays the part out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let palette = theme::palette(ui.ctx());
    let ways = &view.pages.ways;
    let voicings = view.own.voicings();
    let pressed = ways.pressed().and_then(|row| voicings.get(row));
    name(ui, view, actions);
    kept(ui, view, pressed, actions);
    let said = view.pages.own.said();
    if !said.is_empty() {
        widgets::remark(ui, said, palette.wrong);
    }
    if voicings.is_empty() {
        let words = "What you keep here is used by the texture My voicings, in every key.";
        widgets::remark(ui, words, palette.soft);
        return;
    }
    let height = ui.available_height().max(theme::CONTROL);
    let scroll = ScrollArea::vertical().id_salt("own voicings");
    let scroll = scroll.max_height(height).min_scrolled_height(height);
    let row = scroll
        .auto_shrink(false)
        .show(ui, |ui| list::rows(ui, ways.rows(), ways.pressed()));
    if let Some(row) = row.inner {
        actions.push(Action::Ways(WaysAction::Try(row)));
    }
}

/// The name under which the voicing that sounds is kept.
fn name(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let mut push = |action| actions.push(Action::Own(action));
    ui.horizontal(|ui| {
        widgets::name(ui, "Name");
        let mut name = view.pages.own.name().to_owned();
        let edit = TextEdit::singleline(&mut name)
            .hint_text("a name of yours")
            .char_limit(LONGEST_NAME)
            .desired_width((ui.available_width() - KEEP).max(NARROWEST));
        let response = ui.add(edit);
        ui.ctx()
            .accesskit_node_builder(response.id, |node| node.set_label("Name of my voicing"));
        widgets::focus(ui, response.rect, &response);
        if response.changed() {
            push(OwnAction::Name(name));
        }
        let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        let tip = "Keeps the voicing that sounds now as a pattern by degree, under this name.";
        if widgets::button(ui, "Keep as my voicing", "Keep as my voicing", tip) || entered {
            push(OwnAction::Keep);
        }
    });
}

/// What would be kept, and what is done with the voicing that was pressed.
fn kept(ui: &mut Ui, view: &View, pressed: Option<&OwnVoicing>, actions: &mut Actions) {
    let words = match view.pages.ways.shape() {
        Some(Ok(shape)) => {
            let (family, degrees) = (own::family(&shape), own::degrees(&shape));
            format!("sounds now, for {family}: {degrees}")
        }
        Some(Err(error)) => format!("what sounds now cannot be kept: {}", words(&error)),
        None => String::new(),
    };
    ui.horizontal(|ui| {
        let text = RichText::new(words).font(theme::text(theme::SMALL));
        let colour = theme::palette(ui.ctx()).soft;
        let size = vec2(ui.available_width() - BUTTONS, theme::CONTROL);
        ui.allocate_ui(size, |ui| {
            ui.add(Label::new(text.color(colour)).truncate());
        });
        widgets::at_the_right(ui, "own voicing", |ui| {
            ui.add_enabled_ui(pressed.is_some(), |ui| {
                let what = pressed.map_or("nothing", |voicing| &voicing.name);
                let tip = "Gives the voicing that was pressed the name that is typed.";
                let renames = widgets::button(ui, "Rename", &format!("Rename: {what}"), tip);
                let tip = "Takes the voicing that was pressed away; Undo brings it back.";
                let deletes = widgets::button(ui, "Delete", &format!("Delete: {what}"), tip);
                let which = pressed.map(VoicingName::of).filter(|_| renames || deletes);
                if let Some(which) = which {
                    let action = if renames {
                        OwnAction::Rename(which)
                    } else {
                        OwnAction::Delete(which)
                    };
                    actions.push(Action::Own(action));
                }
            });
        });
    });
}
