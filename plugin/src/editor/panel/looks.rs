//! How the panel looks: its view, its print, light or dark, its size. The panel's thread; `header`
//! and `scale` import it.

use crate::editor::model::action::{Action, Actions, PanelAction};
use crate::editor::panel::view::View;
use crate::editor::{theme, widgets};
use crate::params::{Look, PanelView, ZOOMS};
use egui::{Button, Popup, PopupCloseBehavior, Role, Theme, Ui, WidgetInfo, vec2};

/// The width kept for the buttons in the corner of the small view, in points.
pub const CORNER: f32 = 104.0;
/// Their print, as a factor of the plain one.
const CORNER_PRINT: f32 = 0.9;

/// The buttons in the corner of the small view. They keep their size when the view grows.
pub fn corner(ui: &mut Ui, view: &View, actions: &mut Actions) {
    theme::set_print(ui, CORNER_PRINT);
    menu(ui, view, actions);
    extent(ui, view, actions);
}

/// Opens the small view, or the full one.
pub fn extent(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let (word, name, tip, to) = match view.panel.view {
        PanelView::Full => (
            "Small",
            "Small view",
            "Shows the chord, its keys, its tensions and its scale alone.",
            PanelView::Small,
        ),
        PanelView::Small => (
            "Full",
            "Full view",
            "Shows the pages to work on as well.",
            PanelView::Full,
        ),
    };
    if widgets::button(ui, word, name, tip) {
        actions.push(Action::Panel(PanelAction::View(to)));
    }
}

/// The button that opens the choices of looks, and the choices.
pub fn menu(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let height = ui.spacing().interact_size.y;
    let button = Button::new("Look").min_size(vec2(0.0, height));
    let response = ui.add(button);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, "Look and size"));
    widgets::focus(ui, response.rect, &response);
    Popup::menu(&response)
        .close_behavior(PopupCloseBehavior::CloseOnClickOutside)
        .show(|ui| {
            look(ui, actions);
            large_print(ui, view, actions);
            zoom(ui, view, actions);
        });
    response.on_hover_text("Light or dark, large print, and how large everything is.");
}

/// Light or dark.
fn look(ui: &mut Ui, actions: &mut Actions) {
    let is_light = ui.ctx().theme() == Theme::Light;
    let tip = "The panel is light, and not dark.";
    let response = widgets::lamp(ui, "light", "Light", is_light).on_hover_text(tip);
    if response.clicked() {
        let look = if is_light { Look::Dark } else { Look::Light };
        actions.push(Action::Panel(PanelAction::Look(look)));
    }
}

/// Large print.
fn large_print(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let large = view.panel.large_print;
    let tip = "The chord, its keys, its tensions and its scale can be read from afar.";
    let response = widgets::lamp(ui, "large print", "Large print", large).on_hover_text(tip);
    if response.clicked() {
        actions.push(Action::Panel(PanelAction::LargePrint(!large)));
    }
}

/// How large everything is.
fn zoom(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let words = ZOOMS.map(|zoom| format!("{:.0} %", zoom * 100.0));
    let words = words.each_ref().map(String::as_str);
    let in_force = ZOOMS
        .iter()
        .position(|zoom| (zoom - view.panel.zoom).abs() < 0.01);
    let tip = "How large everything is.";
    let choices = widgets::Choices::new("Size", &words, tip);
    if let Some(zoom) = widgets::choices(ui, &choices, in_force).and_then(|at| ZOOMS.get(at)) {
        actions.push(Action::Panel(PanelAction::Zoom(*zoom)));
    }
}
