//! The list of ways to play a chord: a row for each. The panel's thread; `chord`
//! imports it.

use crate::editor::palette::Palette;
use crate::editor::panel::keyboard::keys::{KeyFill, Keys};
use crate::editor::view::is_black;
use crate::editor::view::ways::Row;
use crate::editor::{theme, widgets};
use egui::{
    Align2, Color32, Painter, Rect, Response, Role, Sense, Ui, Vec2, WidgetInfo, pos2, vec2,
};
use std::ops::RangeInclusive;

/// Around what a row shows, in points.
const MARGIN: Vec2 = vec2(8.0, 5.0);
/// The small keyboard of a row, in points.
const KEYBOARD: Vec2 = vec2(112.0, 26.0);
/// Between it and the words, in points.
const GAP: f32 = 10.0;
/// The size of a name, in points.
const NAME: f32 = 14.5;
const CORNER: f32 = 4.0;

/// Lays the rows out; returns the one that was pressed.
pub fn rows(ui: &mut Ui, rows: &[Row], tried: Option<usize>) -> Option<usize> {
    let palette = theme::palette(ui.ctx());
    ui.spacing_mut().item_spacing.y = 2.0;
    let range = range(rows);
    let mut pressed = None;
    for (nth, row) in rows.iter().enumerate() {
        if one(ui, (nth, row), tried == Some(nth), &range, palette).clicked() {
            pressed = Some(nth);
        }
    }
    pressed
}

/// The keys of all rows, from white key to white key.
fn range(rows: &[Row]) -> RangeInclusive<u8> {
    let notes = || rows.iter().flat_map(|row| &row.notes).map(|(key, ..)| *key);
    let (lowest, highest) = (notes().min().unwrap_or(48), notes().max().unwrap_or(72));
    let white = |key: &u8| !is_black(*key);
    let from = (0..=lowest).rev().find(white).unwrap_or(0);
    let to = (highest..=127).find(white).unwrap_or(127);
    from..=to
}

/// A row: its keys, its name and symbols, the fingers that move, what stands aside, and why.
fn one(
    ui: &mut Ui,
    (nth, row): (usize, &Row),
    tried: bool,
    range: &RangeInclusive<u8>,
    palette: &Palette,
) -> Response {
    let width = ui.available_width();
    let room = width - 2.0 * MARGIN.x - KEYBOARD.x - GAP;
    let small = theme::text(theme::SMALL);
    let lay = |words: &str, font: egui::FontId, colour: Color32, room: f32| {
        ui.painter().layout(words.to_owned(), font, colour, room)
    };
    let aside = lay(&row.aside, small.clone(), palette.soft, room);
    let left = room - aside.size().x - 8.0;
    let name = lay(&row.name, theme::bold(NAME), palette.bright, left);
    let does = lay(&row.does, small.clone(), palette.bright, room);
    let why = lay(&row.why, small, palette.soft, width - 2.0 * MARGIN.x);
    let upper = (name.size().y + does.size().y).max(KEYBOARD.y);
    let height = upper + why.size().y + 2.0 * MARGIN.y;
    let (rect, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let id = ui.scope_id().with((nth, &row.name));
    let response = ui.interact(rect, id, Sense::click());
    response.widget_info(|| {
        WidgetInfo::selected(
            Role::RadioButton,
            ui.is_enabled(),
            tried,
            row.spoken.clone(),
        )
    });
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_description(format!("{} {}", row.aside, row.why).trim());
    });
    if ui.is_rect_visible(rect) {
        let painter = ui.painter();
        if tried {
            widgets::chosen_row(painter, rect, CORNER);
        } else if response.hovered() {
            painter.rect_filled(rect, CORNER, palette.raised);
        }
        let corner = rect.min + MARGIN;
        let strip = Rect::from_min_size(corner, KEYBOARD);
        keyboard(painter, strip, row, range, palette);
        let words = corner + vec2(KEYBOARD.x + GAP, 0.0);
        let at_right = pos2(rect.right() - MARGIN.x, words.y + 2.0);
        let at = Align2::RIGHT_TOP.anchor_size(at_right, aside.size());
        painter.galley(at.min, aside, palette.soft);
        let below = words + vec2(0.0, name.size().y);
        painter.galley(words, name, palette.bright);
        painter.galley(below, does, palette.bright);
        painter.galley(corner + vec2(0.0, upper), why, palette.soft);
    }
    widgets::focus(ui, rect.shrink(1.0), &response);
    if response.has_focus() && response.gained_focus() {
        ui.scroll_to_rect(rect, None);
    }
    response.on_hover_text_at_pointer("Sounds between the chord before and the next one.")
}

/// The notes on their keys; those whose finger moves have a dot.
fn keyboard(
    painter: &Painter,
    strip: Rect,
    row: &Row,
    range: &RangeInclusive<u8>,
    palette: &Palette,
) {
    let keys = Keys::new(strip, range.clone());
    let note = |key: u8| row.notes.iter().find(|(note, ..)| *note == key);
    keys.paint(painter, palette, |key| match note(key) {
        Some((_, kind, _)) => KeyFill::Lit(palette.of_kind(*kind)),
        None => KeyFill::Outside,
    });
    for (key, ..) in row.notes.iter().filter(|(.., moves)| *moves) {
        let at = keys.key(*key).center_bottom() - vec2(0.0, 5.0);
        painter.circle_filled(at, 2.25, palette.ink);
    }
}
