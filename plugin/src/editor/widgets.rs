//! The controls that the regions share: a row of choices, a switch, a number to
//! drag, a heading. Imports `theme` and `desk`; the regions import it.

use crate::editor::desk::Desk;
use crate::editor::theme;
use egui::{
    Align2, Color32, CornerRadius, DragValue, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui,
    Vec2, WidgetInfo, pos2, vec2,
};
use nice_plug::prelude::{IntParam, Param};
use std::ops::RangeInclusive;

/// Room at both sides of a choice's word, in points.
const CELL_MARGIN: f32 = 9.0;
const CORNER: u8 = 4;

/// The name of a control, or of a group of them.
pub fn name(ui: &mut Ui, words: &str) {
    ui.colored_label(theme::SOFT, words);
}

/// A side remark.
pub fn remark(ui: &mut Ui, words: &str, colour: Color32) -> Response {
    let text = egui::RichText::new(words)
        .font(theme::text(theme::SMALL))
        .color(colour);
    ui.label(text)
}

/// A row of choices, one of them in force. Gives the one that was pressed.
/// `narrowest` is the least width of a choice, in points.
pub fn choices<T: Copy + PartialEq>(
    ui: &mut Ui,
    what: &str,
    options: &[(T, &str)],
    current: T,
    narrowest: f32,
) -> Option<T> {
    let font = theme::text(theme::TEXT);
    let widths: Vec<f32> = options
        .iter()
        .map(|(_, word)| {
            let galley =
                ui.painter()
                    .layout_no_wrap((*word).to_owned(), font.clone(), theme::IVORY);
            (galley.size().x + 2.0 * CELL_MARGIN).max(narrowest).round()
        })
        .collect();
    let size = vec2(widths.iter().sum(), theme::CONTROL);
    let (frame, _) = ui.allocate_exact_size(size, Sense::hover());
    ui.painter()
        .rect_filled(frame, CornerRadius::same(CORNER), theme::RAISED);
    let mut chosen = None;
    let mut left = frame.left();
    for ((value, word), width) in options.iter().zip(&widths) {
        let rect = Rect::from_min_size(pos2(left, frame.top()), vec2(*width, frame.height()));
        left += width;
        let selected = *value == current;
        let id = ui.scope_id().with((what, *word));
        let response = cell(ui, rect, id, word, selected, None);
        response.widget_info(|| {
            WidgetInfo::selected(
                Role::RadioButton,
                ui.is_enabled(),
                selected,
                format!("{what}: {word}"),
            )
        });
        if response.clicked() && !selected {
            chosen = Some(*value);
        }
    }
    chosen
}

/// A switch with its word, and a lamp that is lit while it is on. True if it was
/// pressed.
pub fn switch(ui: &mut Ui, word: &str, on: bool) -> bool {
    let font = theme::text(theme::TEXT);
    let galley = ui
        .painter()
        .layout_no_wrap(word.to_owned(), font, theme::IVORY);
    let size = vec2(
        (galley.size().x + 2.0 * CELL_MARGIN + 14.0).round(),
        theme::CONTROL,
    );
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    ui.painter()
        .rect_filled(rect, CornerRadius::same(CORNER), theme::RAISED);
    let response = cell(ui, rect, ui.scope_id().with(word), word, false, Some(on));
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, ui.is_enabled(), on, word));
    response.clicked()
}

fn cell(
    ui: &Ui,
    rect: Rect,
    id: egui::Id,
    word: &str,
    selected: bool,
    lamp: Option<bool>,
) -> Response {
    let response = ui.interact(rect, id, Sense::click());
    let painter = ui.painter();
    let corners = CornerRadius::same(CORNER);
    let colour = if selected {
        painter.rect_filled(rect, corners, theme::IVORY);
        theme::INK
    } else if response.hovered() {
        painter.rect_filled(rect, corners, theme::LIFTED);
        theme::IVORY
    } else if lamp == Some(true) {
        theme::IVORY
    } else {
        theme::SOFT
    };
    if response.has_focus() {
        let stroke = Stroke::new(1.0, theme::SOFT);
        painter.rect_stroke(rect, corners, stroke, StrokeKind::Inside);
    }
    let mut middle = rect.center();
    if let Some(on) = lamp {
        let at = pos2(rect.left() + CELL_MARGIN + 4.0, middle.y);
        if on {
            painter.circle_filled(at, 4.0, theme::of_kind(crate::editor::view::Kind::Guide));
        } else {
            painter.circle_stroke(at, 3.5, Stroke::new(1.0, theme::SOFT));
        }
        middle.x += 7.0;
    }
    let font = theme::text(theme::TEXT);
    painter.text(middle, Align2::CENTER_CENTER, word, font, colour);
    response
}

/// A whole number that is dragged or typed, in its own words.
pub fn number(
    ui: &mut Ui,
    desk: &Desk,
    param: &IntParam,
    range: RangeInclusive<i32>,
    words: impl Fn(i32) -> String,
    width: f32,
) {
    let mut value = param.value();
    let whole = |number: f64| -> i32 {
        // Rounded and in range: drag values keep to theirs.
        #[expect(clippy::cast_possible_truncation, reason = "MIDI notes and channels")]
        let number = number.round() as i32;
        number
    };
    let control = DragValue::new(&mut value)
        .range(range)
        .speed(0.1)
        .custom_formatter(|number, _| words(whole(number)))
        .custom_parser(|typed| {
            let normalized = param.string_to_normalized_value(typed)?;
            Some(f64::from(param.preview_plain(normalized)))
        });
    let response = ui.add_sized(Vec2::new(width, theme::CONTROL), control);
    desk.follow(param, value, &response);
}
