//! Steps by the arrow keys, or as a screen reader asks for them. The panel's thread;
//! widgets and the keyboard's handles import it.

use egui::accesskit::Action;
use egui::{EventFilter, Id, Key, Modifiers, Ui};

/// How many steps a control is to be moved; its keys count while it has the focus.
#[must_use]
pub fn steps(ui: &Ui, id: Id, up: &[Key], down: &[Key]) -> i32 {
    let focused = ui.memory(|memory| memory.has_focus(id));
    ui.input_mut(|input| {
        let mut pressed = |keys: &[Key]| -> usize {
            let keys = keys.iter().filter(|_| focused);
            keys.map(|key| input.count_and_consume_key(Modifiers::NONE, *key))
                .sum()
        };
        let (up, down) = (pressed(up), pressed(down));
        let asked = |action| input.num_accesskit_action_requests(id, action);
        let count = |count: usize| i32::try_from(count).unwrap_or(0);
        count(up + asked(Action::Increment)) - count(down + asked(Action::Decrement))
    })
}

/// Keeps the arrow keys with a control that has the focus; they would lead the focus
/// elsewhere.
pub fn keep_arrows(ui: &Ui, id: Id) {
    let keeps = EventFilter {
        horizontal_arrows: true,
        vertical_arrows: true,
        ..EventFilter::default()
    };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(id, keeps));
}
