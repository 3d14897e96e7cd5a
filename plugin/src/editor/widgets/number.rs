//! A whole number that is dragged, typed, or stepped with the arrow keys. Imports
//! `theme` and `desk`.

use crate::editor::theme;
use crate::editor::window::desk::Desk;
use egui::{DragValue, EventFilter, Id, Key, Modifiers, Ui, vec2};
use nice_plug::prelude::Param;

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
    pub words: Option<&'a dyn Fn(i32) -> String>,
}

/// A plain value that can be counted in whole units.
pub trait Countable: Copy {
    /// In units, of which a plain one has so many.
    fn units(self, per_plain: f64) -> f64;
    /// From units.
    fn of_units(units: f64, per_plain: f64) -> Self;
}

impl Countable for i32 {
    fn units(self, _: f64) -> f64 {
        f64::from(self)
    }

    fn of_units(units: f64, _: f64) -> i32 {
        // Rounded and in the range of a parameter.
        #[expect(clippy::cast_possible_truncation, reason = "MIDI notes and counts")]
        let whole = units.round() as i32;
        whole
    }
}

impl Countable for f32 {
    fn units(self, per_plain: f64) -> f64 {
        f64::from(self) * per_plain
    }

    fn of_units(units: f64, per_plain: f64) -> f32 {
        #[expect(clippy::cast_possible_truncation, reason = "percents and times")]
        let plain = (units / per_plain) as f32;
        plain
    }
}

/// Lays out a number whose units are those of its parameter.
pub fn number<P>(ui: &mut Ui, desk: &Desk, param: &P, number: Number)
where
    P: Param,
    P::Plain: Countable,
{
    show(ui, desk, param, number, 1.0);
}

/// Lays out a share in percent.
pub fn percent<P>(ui: &mut Ui, desk: &Desk, param: &P, number: Number)
where
    P: Param,
    P::Plain: Countable,
{
    show(ui, desk, param, number, 100.0);
}

fn show<P>(ui: &mut Ui, desk: &Desk, param: &P, number: Number, per_plain: f64)
where
    P: Param,
    P::Plain: Countable,
{
    let units = |normalized: f32| param.preview_plain(normalized).units(per_plain);
    let (least, most) = (units(0.0), units(1.0));
    let normalized = |units: f64| param.preview_normalized(P::Plain::of_units(units, per_plain));
    let words = |value: f64| match number.words {
        Some(words) => words(i32::of_units(value, 1.0)),
        None => param.normalized_value_to_string(normalized(value), true),
    };
    let before = param.unmodulated_plain_value().units(per_plain);
    // The id that the control is about to take.
    let steps = steps(ui, ui.next_auto_id());
    let mut value = (before + steps).clamp(least, most);
    let control = DragValue::new(&mut value)
        .range(least..=most)
        .speed(((most - least) / 300.0).clamp(0.08, 1.0))
        .fixed_decimals(0)
        .update_while_editing(false)
        .min_size(vec2(number.width, theme::CONTROL))
        .custom_formatter(|value, _| words(value))
        .custom_parser(|typed| {
            let normalized = param.string_to_normalized_value(typed.trim())?;
            Some(param.preview_plain(normalized).units(per_plain))
        });
    let mut response = ui.add(control);
    if response.has_focus() {
        // Or the arrows would take the focus elsewhere.
        let keeps = EventFilter {
            horizontal_arrows: true,
            vertical_arrows: true,
            ..EventFilter::default()
        };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, keeps));
    }
    // Steps were taken before the control saw its value.
    if steps != 0.0 {
        response.mark_changed();
    }
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(number.what);
        node.set_numeric_value_step(1.0);
    });
    if response.double_clicked() {
        response.surrender_focus();
        return desk.reset(param);
    }
    desk.follow(param, P::Plain::of_units(value, per_plain), &response);
    response.on_hover_text(number.tip);
}

/// How many units the arrow keys, or a screen reader, want more.
fn steps(ui: &Ui, id: Id) -> f64 {
    use egui::accesskit::Action;
    let focused = ui.memory(|memory| memory.has_focus(id));
    ui.input_mut(|input| {
        let mut key = |key| {
            if focused {
                input.count_and_consume_key(Modifiers::NONE, key)
            } else {
                0
            }
        };
        let (up, down) = (key(Key::ArrowUp), key(Key::ArrowDown));
        let asked = |action| input.num_accesskit_action_requests(id, action);
        let count = |count: usize| f64::from(u32::try_from(count).unwrap_or(0));
        count(up) + count(asked(Action::Increment)) - count(down) - count(asked(Action::Decrement))
    })
}
