//! Words beside controls. The panel's thread; regions and widgets import it.

use crate::editor::theme;
use egui::{Align2, Color32, Response, Role, Sense, TextStyle, Ui, WidgetInfo, vec2};

/// The name of a control, or of a group of them.
pub fn name(ui: &mut Ui, words: &str) {
    ui.colored_label(theme::palette(ui.ctx()).soft, words);
}

/// The width of the names in front of the rows of every page, in points.
pub const NAMES: f32 = 104.0;

/// The name in front of a row, in a column of its own.
pub fn row_name(ui: &mut Ui, words: &str, width: f32) {
    let size = vec2(width, theme::CONTROL) * theme::print(ui);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, words));
    let colour = theme::palette(ui.ctx()).soft;
    let font = TextStyle::Body.resolve(ui.style());
    let painter = ui.painter();
    painter.text(rect.left_center(), Align2::LEFT_CENTER, words, font, colour);
}

/// A side remark.
pub fn remark(ui: &mut Ui, words: &str, colour: Color32) -> Response {
    let text = egui::RichText::new(words)
        .text_style(TextStyle::Small)
        .color(colour);
    ui.label(text)
}

/// The width of a side remark, in points.
pub fn remark_width(ui: &Ui, words: &str) -> f32 {
    let font = TextStyle::Small.resolve(ui.style());
    let laid_out =
        ui.fonts_mut(|fonts| fonts.layout_no_wrap(words.to_owned(), font, Color32::PLACEHOLDER));
    laid_out.size().x
}
