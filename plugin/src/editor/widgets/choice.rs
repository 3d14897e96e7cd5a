//! A row of choices: a press chooses, and a double click puts back the default of a
//! parameter. The panel's thread; regions import it.

use super::cell::{self, word_width};
use crate::editor::model::action::Actions;
use crate::editor::model::parameters::{Control, Move};
use crate::editor::theme;
use egui::{CornerRadius, Rect, Role, Sense, Ui, WidgetInfo, pos2, vec2};

/// Room at both sides of a short word, in points.
const TIGHT: f32 = 6.0;

/// A row of choices.
#[derive(Clone, Copy)]
pub struct Choices<'a> {
    /// What it is, for screen readers.
    pub what: &'a str,
    /// A word for each choice, in the order of the choices.
    pub words: &'a [&'a str],
    /// Shorter words in their place, where there is little room.
    pub short: Option<&'a [&'a str]>,
    /// The least width of a choice, in points.
    pub narrowest: f32,
    /// What it does, in a sentence.
    pub tip: &'a str,
}

impl<'a> Choices<'a> {
    /// Choices as wide as their words.
    #[must_use]
    pub const fn new(what: &'a str, words: &'a [&'a str], tip: &'a str) -> Choices<'a> {
        Choices {
            what,
            words,
            short: None,
            narrowest: 0.0,
            tip,
        }
    }
}

/// Lays out the choices of a parameter.
pub fn choice(ui: &mut Ui, control: &Control, choices: &Choices, actions: &mut Actions) {
    let (chosen, reset) = row(ui, choices, Some(control.index()));
    if reset {
        actions.move_parameter(Move::to_default(control.id));
    } else if let Some(chosen) = chosen {
        actions.move_parameter(Move::choice(control.id, chosen));
    }
}

/// Lays out choices that are no parameter; returns the one that was pressed. None of
/// them is in force where `current` is none.
pub fn choices(ui: &mut Ui, choices: &Choices, current: Option<usize>) -> Option<usize> {
    row(ui, choices, current).0
}

/// Returns the choice that was pressed, and whether the default is wanted.
fn row(ui: &mut Ui, row: &Choices, current: Option<usize>) -> (Option<usize>, bool) {
    let Choices {
        what,
        words,
        short,
        narrowest,
        tip,
    } = *row;
    let palette = theme::palette(ui.ctx());
    let print = theme::print(ui);
    let margin = if short.is_some() { TIGHT } else { cell::MARGIN };
    let room = |word: &&str| word_width(ui, word) + 2.0 * margin * print;
    let width = |word: &&str| room(word).max(narrowest * print).round();
    let shown = short.unwrap_or(words);
    let widths: Vec<f32> = shown.iter().map(width).collect();
    let size = vec2(widths.iter().sum(), theme::CONTROL * print);
    let (frame, _) = ui.allocate_exact_size(size, Sense::hover());
    ui.painter()
        .rect_filled(frame, CornerRadius::same(cell::CORNER), palette.raised);
    let (mut chosen, mut reset) = (None, false);
    let mut left = frame.left();
    for (at, ((word, shown), width)) in words.iter().zip(shown).zip(&widths).enumerate() {
        let rect = Rect::from_min_size(pos2(left, frame.top()), vec2(*width, frame.height()));
        left += width;
        let selected = current == Some(at);
        let id = ui.scope_id().with((what, *word));
        let response = cell::cell(ui, rect, id, shown, selected, None);
        response.widget_info(|| {
            let name = format!("{what}: {word}");
            WidgetInfo::selected(Role::RadioButton, ui.is_enabled(), selected, name)
        });
        let response = response.on_hover_text(tip);
        reset |= response.double_clicked();
        if response.clicked() && !selected {
            chosen = Some(at);
        }
    }
    (chosen, reset)
}
