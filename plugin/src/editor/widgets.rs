//! The controls that the regions share: a row of choices, a list, a switch, a
//! number. Each has a name and a value for screen readers, a tooltip of one
//! sentence, and goes back to its default on a double click. Imports `theme` and
//! `desk`; the regions import it.

pub mod letters;
pub mod mark;
mod number;

pub use number::{Number, number, percent};

use crate::editor::theme;
use crate::editor::view::Kind;
use crate::editor::window::desk::Desk;
use egui::{
    Align, Align2, Color32, ComboBox, CornerRadius, Id, Layout, Rect, Response, Role, Sense,
    Stroke, StrokeKind, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};
use nice_plug::prelude::{BoolParam, Enum, EnumParam};

/// Room at both sides of a choice's word, in points.
const CELL_MARGIN: f32 = 9.0;
const CORNER: u8 = 4;
/// The width of a switch's lamp with its gap, in points.
const LAMP: f32 = 14.0;

/// The name of a control, or of a group of them.
pub fn name(ui: &mut Ui, words: &str) {
    ui.colored_label(theme::palette(ui.ctx()).soft, words);
}

/// The name in front of a row, in a column of its own.
pub fn row_name(ui: &mut Ui, words: &str, width: f32) {
    let (rect, response) = ui.allocate_exact_size(vec2(width, theme::CONTROL), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, words));
    let colour = theme::palette(ui.ctx()).soft;
    let font = theme::text(theme::TEXT);
    let painter = ui.painter();
    painter.text(rect.left_center(), Align2::LEFT_CENTER, words, font, colour);
}

/// A side remark.
pub fn remark(ui: &mut Ui, words: &str, colour: Color32) -> Response {
    let text = egui::RichText::new(words)
        .font(theme::text(theme::SMALL))
        .color(colour);
    ui.label(text)
}

/// The width of a side remark, in points.
pub fn remark_width(ui: &Ui, words: &str) -> f32 {
    let font = theme::text(theme::SMALL);
    let laid_out =
        ui.fonts_mut(|fonts| fonts.layout_no_wrap(words.to_owned(), font, Color32::PLACEHOLDER));
    laid_out.size().x
}

/// Lays a group out at the right end of a row, from left to right, so that the
/// order of the keyboard's focus is that of the eye.
pub fn at_the_right(ui: &mut Ui, id: &str, contents: impl FnOnce(&mut Ui)) {
    let id = ui.scope_id().with(id);
    let width: Option<f32> = ui.data(|data| data.get_temp(id));
    let rect = ui.available_rect_before_wrap();
    let left = width.map_or(rect.left(), |width| rect.right() - width);
    let place = rect.with_min_x(left.max(rect.left()));
    let layout = Layout::left_to_right(Align::Center);
    let mut group = ui.new_child(UiBuilder::new().max_rect(place).layout(layout));
    if width.is_none() {
        group.set_invisible();
    }
    contents(&mut group);
    let wide = group.min_rect().width();
    ui.advance_cursor_after_rect(group.min_rect());
    if width.is_none_or(|width| (width - wide).abs() > 0.5) {
        ui.data_mut(|data| data.insert_temp(id, wide));
        ui.ctx().request_repaint();
    }
}

/// A row of choices for a parameter: a press chooses, a double click puts back
/// the default. `narrowest` is the least width of a choice, in points.
pub fn choice<T: Enum + Copy + PartialEq + 'static>(
    ui: &mut Ui,
    desk: &Desk,
    param: &EnumParam<T>,
    what: &str,
    options: &[(T, &str)],
    narrowest: f32,
    tip: &str,
) {
    let (chosen, reset) = row(ui, what, options, param.value(), narrowest, tip);
    if reset {
        desk.reset(param);
    } else if let Some(chosen) = chosen {
        desk.choose(param, chosen);
    }
}

/// A row of choices that are no parameter; gives the one that was pressed.
pub fn choices<T: Copy + PartialEq>(
    ui: &mut Ui,
    what: &str,
    options: &[(T, &str)],
    current: T,
    narrowest: f32,
    tip: &str,
) -> Option<T> {
    row(ui, what, options, current, narrowest, tip).0
}

/// Gives the choice that was pressed, and whether the default is wanted.
fn row<T: Copy + PartialEq>(
    ui: &mut Ui,
    what: &str,
    options: &[(T, &str)],
    current: T,
    narrowest: f32,
    tip: &str,
) -> (Option<T>, bool) {
    let palette = theme::palette(ui.ctx());
    let widths: Vec<f32> = options
        .iter()
        .map(|(_, word)| {
            (word_width(ui, word) + 2.0 * CELL_MARGIN)
                .max(narrowest)
                .round()
        })
        .collect();
    let size = vec2(widths.iter().sum(), theme::CONTROL);
    let (frame, _) = ui.allocate_exact_size(size, Sense::hover());
    ui.painter()
        .rect_filled(frame, CornerRadius::same(CORNER), palette.raised);
    let (mut chosen, mut reset) = (None, false);
    let mut left = frame.left();
    for ((value, word), width) in options.iter().zip(&widths) {
        let rect = Rect::from_min_size(pos2(left, frame.top()), vec2(*width, frame.height()));
        left += width;
        let selected = *value == current;
        let id = ui.scope_id().with((what, *word));
        let response = cell(ui, rect, id, word, selected, None);
        response.widget_info(|| {
            let name = format!("{what}: {word}");
            WidgetInfo::selected(Role::RadioButton, ui.is_enabled(), selected, name)
        });
        let response = response.on_hover_text(tip);
        reset |= response.double_clicked();
        if response.clicked() && !selected {
            chosen = Some(*value);
        }
    }
    (chosen, reset)
}

/// A list to choose a parameter's value from, with the value in force on it.
pub struct List<'a> {
    /// What it is, for screen readers.
    pub what: &'a str,
    /// Its width, in points.
    pub width: f32,
    /// What it does, in a sentence.
    pub tip: &'a str,
}

/// Lays a list out. `words` names each value.
pub fn list<T: Enum + Copy + PartialEq + 'static>(
    ui: &mut Ui,
    desk: &Desk,
    param: &EnumParam<T>,
    list: &List,
    words: impl Fn(T) -> String,
) {
    let current = param.value();
    let response = ComboBox::from_id_salt(list.what)
        .width(list.width)
        .height(400.0)
        .selected_text(words(current))
        .show_ui(ui, |ui| {
            for value in (0..T::variants().len()).map(T::from_index) {
                let row = ui.selectable_label(value == current, words(value));
                if row.clicked() {
                    desk.choose(param, value);
                }
            }
        })
        .response;
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(list.what);
    });
    if response.on_hover_text_at_pointer(list.tip).double_clicked() {
        desk.reset(param);
    }
}

/// A switch for a parameter: its word, and a lamp that is lit while it is on. `what` is its whole name, where `word` relies on
/// those around it.
pub fn toggle(ui: &mut Ui, desk: &Desk, param: &BoolParam, (word, what): (&str, &str), tip: &str) {
    let on = param.value();
    let response = lamp(ui, word, what, on).on_hover_text(tip);
    if response.double_clicked() {
        desk.reset(param);
    } else if response.clicked() {
        desk.choose(param, !on);
    }
}

/// A switch as such; `what` is its whole name.
pub fn lamp(ui: &mut Ui, word: &str, what: &str, on: bool) -> Response {
    let width = word_width(ui, word) + 2.0 * CELL_MARGIN + LAMP;
    let size = vec2(width.round(), theme::CONTROL);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let raised = theme::palette(ui.ctx()).raised;
    ui.painter()
        .rect_filled(rect, CornerRadius::same(CORNER), raised);
    let response = cell(ui, rect, ui.scope_id().with(what), word, false, Some(on));
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, ui.is_enabled(), on, what));
    response
}

fn word_width(ui: &Ui, word: &str) -> f32 {
    let font = theme::text(theme::TEXT);
    let painter = ui.painter();
    let galley = painter.layout_no_wrap(word.to_owned(), font, Color32::PLACEHOLDER);
    galley.size().x
}

fn cell(ui: &Ui, rect: Rect, id: Id, word: &str, selected: bool, lamp: Option<bool>) -> Response {
    let response = ui.interact(rect, id, Sense::click());
    let painter = ui.painter();
    let palette = theme::palette(ui.ctx());
    let corners = CornerRadius::same(CORNER);
    let colour = if selected {
        painter.rect_filled(rect, corners, palette.bright);
        palette.ink
    } else if response.hovered() {
        painter.rect_filled(rect, corners, palette.lifted);
        palette.bright
    } else if lamp == Some(true) {
        palette.bright
    } else {
        palette.soft
    };
    focus(ui, rect, &response);
    let mut middle = rect.center();
    if let Some(on) = lamp {
        let at = pos2(rect.left() + CELL_MARGIN + 4.0, middle.y);
        if on {
            painter.circle_filled(at, 4.0, palette.of_kind(Kind::Guide));
        } else {
            painter.circle_stroke(at, 3.5, Stroke::new(1.0, palette.soft));
        }
        middle.x += LAMP / 2.0;
    }
    let font = theme::text(theme::TEXT);
    painter.text(middle, Align2::CENTER_CENTER, word, font, colour);
    response
}

/// Frames what has the keyboard's focus.
pub fn focus(ui: &Ui, rect: Rect, response: &Response) {
    if response.has_focus() {
        let stroke = Stroke::new(2.0, theme::palette(ui.ctx()).focus);
        let corners = CornerRadius::same(CORNER + 1);
        ui.painter()
            .rect_stroke(rect.expand(1.0), corners, stroke, StrokeKind::Outside);
    }
}
