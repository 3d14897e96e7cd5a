//! A number that is dragged, typed, or stepped with the arrow keys. The panel's
//! thread; regions import it.

use super::{gesture, steps};
use crate::editor::model::action::Actions;
use crate::editor::model::parameters::{Control, Move, Value};
use crate::editor::theme;
use egui::{DragValue, Key, Ui, vec2};
use std::cell::RefCell;

/// What a number is and how it is shown.
#[derive(Clone, Copy)]
pub struct Number<'a> {
    /// Its whole name, for screen readers.
    pub what: &'a str,
    /// Its least width, in points.
    pub width: f32,
    /// What it does, in a sentence.
    pub tip: &'a str,
    /// Its value in words, where the parameter's own do not serve.
    pub words: Option<&'a str>,
}

/// Lays out a number whose units are those of its parameter.
pub fn number(ui: &mut Ui, control: &Control, number: &Number, actions: &mut Actions) {
    show(ui, control, number, 1.0, actions);
}

/// Lays out a share in percent.
pub fn percent(ui: &mut Ui, control: &Control, number: &Number, actions: &mut Actions) {
    show(ui, control, number, 100.0, actions);
}

/// Lays out a number that counts `per_plain` units for a plain one.
fn show(ui: &mut Ui, control: &Control, number: &Number, per_plain: f64, actions: &mut Actions) {
    let (least, most) = (
        control.range.start() * per_plain,
        control.range.end() * per_plain,
    );
    let before = control.set * per_plain;
    // The id that the control is about to take.
    let id = ui.next_auto_id();
    let steps = steps::steps(ui, id, &[Key::ArrowUp], &[Key::ArrowDown]);
    let mut wanted = None;
    let typed = RefCell::new(None);
    // It keeps its value and tells what is wanted of it.
    let tell = |value: Option<f64>| {
        wanted = value.or(wanted);
        before
    };
    let drag = DragValue::from_get_set(tell)
        .range(least..=most)
        .speed(((most - least) / 300.0).clamp(0.08, 1.0))
        .fixed_decimals(0)
        .update_while_editing(false)
        .min_size(vec2(number.width, theme::CONTROL))
        .custom_formatter(|_, _| number.words.unwrap_or(&control.text).to_owned())
        .custom_parser(|words| {
            typed.replace(Some(words.to_owned()));
            None
        });
    let response = ui.add(drag);
    if response.has_focus() {
        steps::keep_arrows(ui, response.id);
    }
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(number.what);
        node.set_numeric_value_step(1.0);
    });
    if response.double_clicked() {
        response.surrender_focus();
        actions.move_parameter(Move::to_default(control.id));
        return;
    }
    if let Some(words) = typed.into_inner() {
        gesture::follow(control.id, &Value::Typed(words), true, &response, actions);
    } else {
        let changed = steps != 0 || wanted.is_some_and(|wanted| wanted != before);
        let value = (wanted.unwrap_or(before) + f64::from(steps)).clamp(least, most);
        let value = Value::Plain(value / per_plain);
        gesture::follow(control.id, &value, changed, &response, actions);
    }
    response.on_hover_text(number.tip);
}
