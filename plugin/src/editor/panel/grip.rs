//! The corner by which the window is dragged to another size. The panel's thread;
//! `panel` imports it.

use crate::editor::model::action::{Action, Actions, PanelAction};
use crate::editor::panel::view::View;
use crate::editor::theme;
use egui::{CursorIcon, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

/// The size of the corner, in points.
const GRIP: f32 = 14.0;

/// Lays the corner out. A double click gives the window its first size.
pub fn region(ui: &Ui, window: Rect, view: &View, actions: &mut Actions) {
    let corner = Rect::from_min_max(window.max - vec2(GRIP, GRIP), window.max);
    let id = ui.scope_id().with("grip");
    let response = ui.interact(corner, id, Sense::click_and_drag());
    let palette = theme::palette(ui.ctx());
    let colour = if response.hovered() || response.dragged() {
        palette.bright
    } else {
        palette.line
    };
    for inset in [4.0, 8.0] {
        let (from, to) = (
            pos2(corner.right() - 2.0, corner.bottom() - 2.0 - inset),
            pos2(corner.right() - 2.0 - inset, corner.bottom() - 2.0),
        );
        ui.painter()
            .line_segment([from, to], Stroke::new(1.0, colour));
    }
    let size = if response.double_clicked() {
        Some(view.panel.first_size().into())
    } else if response.dragged() || response.drag_stopped() {
        // The last move can come with the release.
        let pointer = response.interact_pointer_pos();
        pointer.map(|at| (at - window.min).max(view.panel.smallest().into()))
    } else {
        None
    };
    if let Some(size) = size
        && size != window.size()
    {
        actions.push(Action::Panel(PanelAction::Size(size.into())));
    }
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, "Size of the window"));
    response.on_hover_cursor(CursorIcon::ResizeSouthEast);
}
