//! The one place where what a player asks for is carried out. The panel's thread,
//! between two frames; `window` imports it.

use crate::editor::model::action::{Action, PanelAction};
use crate::editor::model::files::FilesAction;
use crate::editor::model::harmonies::HarmoniesAction;
use crate::editor::model::outside::Outside;
use crate::editor::model::state::Model;
use crate::params::SavedPanel;
use std::sync::Arc;

/// Carries out an action.
pub fn apply(model: &mut Model, action: Action, outside: &mut dyn Outside) {
    match action {
        Action::Parameter(one) => outside.move_parameter(&one),
        Action::Chart(action) => model.chart.apply(action, outside),
        Action::RestoreOriginal => outside.restore_original(),
        Action::Draw(drawn) => outside.set_drawn(drawn),
        Action::Page(page) => model.pages.open = page,
        Action::Scale(choice) => model.pages.scale = Some(choice),
        Action::Harmonies(action) => harmonies(model, action, outside),
        Action::Files(action) => files(model, action, outside),
        Action::Panel(action) => panel(model, action, outside),
    }
}

fn harmonies(model: &mut Model, action: HarmoniesAction, outside: &mut dyn Outside) {
    let harmonies = &mut model.pages.harmonies;
    let shown = harmonies.chart().zip(model.chart.shared());
    // What was asked for is about the chart that was shown.
    if shown.is_some_and(|(shown, now)| Arc::ptr_eq(shown, now)) {
        harmonies.apply(action, model.chart.written(), outside);
    }
}

fn files(model: &mut Model, action: FilesAction, outside: &mut dyn Outside) {
    let chart = (model.chart.written(), model.chart.names());
    if let Some(text) = model.pages.files.apply(action, chart, outside) {
        model.chart.put_english(&text, outside);
    }
}

fn panel(model: &mut Model, action: PanelAction, outside: &mut dyn Outside) {
    let panel = outside.panel();
    match action {
        PanelAction::Look(look) => outside.set_panel(SavedPanel { look, ..panel }),
        PanelAction::Zoom(zoom) => outside.set_panel(SavedPanel { zoom, ..panel }),
        PanelAction::Size(size) => outside.resize_window(size),
        PanelAction::KeepKeys(keys) => model.keys_kept = keys,
    }
}
