//! A whole number that is dragged, typed, or stepped with the arrow keys, for what is no parameter. The
//! panel's thread; regions import it.

use super::steps;
use crate::editor::theme;
use egui::{DragValue, Key, Ui, vec2};
use std::ops::RangeInclusive;

/// What a number is and how it is shown.
#[derive(Clone, Debug)]
pub struct Count<'a> {
    /// Its whole name, for screen readers.
    pub what: &'a str,
    /// Its least width, in points.
    pub width: f32,
    /// What it does, in a sentence.
    pub tip: &'a str,
    /// The least and the most.
    pub range: RangeInclusive<i32>,
    /// What stands behind it.
    pub suffix: &'a str,
}

/// Lays a number out; returns the one that is wanted in its place.
pub fn count(ui: &mut Ui, count: &Count, now: i32) -> Option<i32> {
    let (least, most) = (*count.range.start(), *count.range.end());
    // The id that the control is about to take.
    let id = ui.next_auto_id();
    let stepped = steps::steps(ui, id, &[Key::ArrowUp], &[Key::ArrowDown]);
    let mut value = now;
    let drag = DragValue::new(&mut value)
        .range(least..=most)
        .speed(f64::from((most - least).clamp(10, 300)) / 300.0)
        .suffix(count.suffix)
        .update_while_editing(false)
        .min_size(vec2(count.width, theme::CONTROL) * theme::print(ui));
    let response = ui.add(drag);
    if response.has_focus() {
        steps::keep_arrows(ui, response.id);
    }
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(count.what);
        node.set_numeric_value_step(1.0);
    });
    response.on_hover_text(count.tip);
    let wanted = value.saturating_add(stepped).clamp(least, most);
    (wanted != now).then_some(wanted)
}
