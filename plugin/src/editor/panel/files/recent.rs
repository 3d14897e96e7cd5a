//! The files that were used last, a row for each. The panel's thread; `files` imports it.

use crate::editor::model::files::FilesAction;
use crate::editor::{theme, widgets};
use egui::{Align2, Color32, Response, Role, Sense, TextStyle, Ui, WidgetInfo, vec2};

/// The height of a row, in points.
const ROW: f32 = 19.0;
/// At both ends of a row, in points.
const MARGIN: f32 = 4.0;
const CORNER: f32 = 3.0;
/// What stands in the place of the middle of a long path.
const GAP: &str = "...";

/// Lays the list out, and tells which file is to be read again.
pub fn list(ui: &mut Ui, paths: &[String], push: &mut impl FnMut(FilesAction)) {
    if paths.is_empty() {
        return;
    }
    ui.add_space(4.0);
    ui.horizontal(|ui| {
        widgets::name(ui, "Recent");
        let tip = "Clears this list, which is saved with the song; the files stay.";
        if widgets::button(ui, "Forget", "Forget the recent files", tip) {
            push(FilesAction::Forget);
        }
    });
    ui.spacing_mut().item_spacing.y = 0.0;
    for path in paths {
        if row(ui, path).clicked() {
            push(FilesAction::ReadFrom(path.into()));
        }
    }
}

fn row(ui: &mut Ui, path: &str) -> Response {
    let palette = theme::palette(ui.ctx());
    let size = vec2(ui.available_width(), ROW * theme::print(ui));
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let name = format!("Import {path} again");
    response.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), &name));
    if ui.is_rect_visible(rect) {
        let font = TextStyle::Small.resolve(ui.style());
        let painter = ui.painter();
        let width = |words: &str| {
            let galley =
                painter.layout_no_wrap(words.to_owned(), font.clone(), Color32::PLACEHOLDER);
            galley.size().x
        };
        let room = rect.width() - 2.0 * MARGIN;
        let words = shortened(path, |words| width(words) <= room);
        let colour = if response.hovered() {
            painter.rect_filled(rect, CORNER, palette.raised);
            palette.bright
        } else {
            palette.soft
        };
        let at = rect.left_center() + vec2(MARGIN, 0.0);
        painter.text(at, Align2::LEFT_CENTER, words, font.clone(), colour);
    }
    widgets::focus(ui, rect, &response);
    if response.gained_focus() {
        ui.scroll_to_rect(rect, None);
    }
    response.on_hover_text(path)
}

/// A path without so much of its middle that it fits. Its end is told from other paths by more than
/// its beginning, so twice as much of it is kept.
fn shortened(path: &str, fits: impl Fn(&str) -> bool) -> String {
    if fits(path) {
        return path.to_owned();
    }
    let chars: Vec<char> = path.chars().collect();
    let with = |kept: usize| -> String {
        let head = kept / 3;
        let tail = chars.len() - (kept - head);
        let head = chars.iter().take(head);
        let tail = chars.iter().skip(tail);
        head.chain(&GAP.chars().collect::<Vec<_>>())
            .chain(tail)
            .collect()
    };
    let (mut kept, mut too_many) = (0, chars.len());
    while too_many - kept > 1 {
        let middle = kept.midpoint(too_many);
        if fits(&with(middle)) {
            kept = middle;
        } else {
            too_many = middle;
        }
    }
    with(kept)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_path_keeps_its_ends() {
        let within = |most: usize| move |words: &str| words.chars().count() <= most;
        let path = "/home/player/music/charts/Größe und Länge.musicxml";
        assert_eq!(shortened(path, within(50)), path);
        let short = shortened(path, within(30));
        assert_eq!(short, "/home/pla...und Länge.musicxml");
        assert_eq!(shortened(path, within(3)), "...");
        assert_eq!(shortened(path, within(0)), "...");
    }
}
