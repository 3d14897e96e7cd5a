//! The one place where what a player asks for is carried out. The panel's thread,
//! between two frames; `window` imports it.

use crate::editor::model::action::{Action, PanelAction};
use crate::editor::model::outside::Outside;
use crate::editor::model::state::Model;
use crate::params::SavedPanel;

/// Carries out an action.
pub fn apply(model: &mut Model, action: Action, outside: &mut dyn Outside) {
    match action {
        Action::Parameter(one) => outside.move_parameter(&one),
        Action::Chart(action) => model.chart.apply(action, outside),
        Action::Draw(drawn) => outside.set_drawn(drawn),
        Action::Page(page) => model.page = page,
        Action::Panel(action) => panel(action, outside),
    }
}

fn panel(action: PanelAction, outside: &mut dyn Outside) {
    let panel = outside.panel();
    match action {
        PanelAction::Look(look) => outside.set_panel(SavedPanel { look, ..panel }),
        PanelAction::Zoom(zoom) => outside.set_panel(SavedPanel { zoom, ..panel }),
        PanelAction::Size(size) => outside.resize_window(size),
    }
}
