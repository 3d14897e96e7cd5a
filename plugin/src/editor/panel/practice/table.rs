//! The table of the record: roots across, in fourths, families down; a number in each place, on the
//! colour of its step. The panel's thread; the files beside it import it.

use crate::editor::model::practice::Number;
use crate::editor::palette::Palette;
use crate::editor::theme;
use crate::editor::view::record::{self, Row, Spot};
use egui::{Align2, Color32, CornerRadius, Rect, Role, Sense, Ui, WidgetInfo, pos2, vec2};

/// The width of the names of the families, in points.
const NAMES: f32 = 62.0;
/// The height of the row of roots, in points.
const HEAD: f32 = 19.0;
/// The height of the legend, in points.
const LEGEND: f32 = 19.0;
/// The highest row, in points.
const HIGHEST: f32 = 26.0;
/// Between two places, in points.
const GAP: f32 = 2.0;
/// The size of a number, in points.
const NUMBER: f32 = 12.5;

/// How well it goes, in three steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Weak,
    Fair,
    Good,
}

const STEPS: [Step; 3] = [Step::Weak, Step::Fair, Step::Good];

impl Step {
    const fn colour(self, palette: &Palette) -> Color32 {
        match self {
            Step::Weak => palette.wrong,
            Step::Fair => palette.soft,
            Step::Good => palette.right,
        }
    }

    /// What the legend says of it.
    const fn name(self, number: Number) -> &'static str {
        match (number, self) {
            (Number::Right, Step::Weak) => "below 60 %",
            (Number::Right, Step::Fair) => "60 to 84 %",
            (Number::Right, Step::Good) => "85 % and more",
            (Number::Seconds, Step::Weak) => "above 4 s",
            (Number::Seconds, Step::Fair) => "2 to 4 s",
            (Number::Seconds, Step::Good) => "below 2 s",
        }
    }
}

/// The number in a place with its step; none where nothing was asked.
fn number(spot: &Spot, number: Number) -> Option<(String, Step)> {
    Some(match number {
        Number::Right => {
            let right = spot.right?;
            let step = match right {
                85.. => Step::Good,
                60.. => Step::Fair,
                _ => Step::Weak,
            };
            (right.to_string(), step)
        }
        Number::Seconds => {
            let seconds = spot.seconds?;
            let step = if seconds < 2.0 {
                Step::Good
            } else if seconds <= 4.0 {
                Step::Fair
            } else {
                Step::Weak
            };
            let words = if seconds < 9.95 {
                format!("{seconds:.1}")
            } else {
                format!("{seconds:.0}")
            };
            (words, step)
        }
    })
}

/// Lays the table out over the width that there is, with its legend.
pub fn table(ui: &mut Ui, rows: &[Row], shown: Number) {
    let palette = theme::palette(ui.ctx());
    let area = ui.available_rect_before_wrap();
    let count = rows.iter().fold(0.0, |count, _| count + 1.0);
    let height = ((area.height() - HEAD - LEGEND) / f32::max(count, 1.0)).min(HIGHEST);
    let width = (area.width() - NAMES) / 12.0;
    let place = |row: f32, column: f32| {
        let corner = pos2(
            area.left() + NAMES + width * column,
            area.top() + HEAD + height * row,
        );
        Rect::from_min_size(corner, vec2(width, height)).shrink(GAP / 2.0)
    };
    let painter = ui.painter();
    let mut column = 0.0;
    for root in record::in_fourths() {
        let at = pos2(place(0.0, column).center().x, area.top() + HEAD / 2.0);
        let font = theme::bold(theme::SMALL);
        let name = record::key_name(root);
        painter.text(at, Align2::CENTER_CENTER, name, font, palette.soft);
        column += 1.0;
    }
    let mut top = 0.0;
    for row in rows {
        let at = pos2(area.left(), place(top, 0.0).center().y);
        let font = theme::text(theme::TEXT);
        let name = painter.text(at, Align2::LEFT_CENTER, &row.name, font, palette.bright);
        let response = ui.interact(name, ui.scope_id().with(&row.name), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &row.name));
        let mut column = 0.0;
        for (nth, spot) in row.spots.iter().enumerate() {
            let rect = place(top, column);
            column += 1.0;
            self::spot(ui, rect, (&row.name, nth), spot, shown);
        }
        top += 1.0;
    }
    let bottom = area.top() + HEAD + height * count + LEGEND / 2.0;
    legend(ui, pos2(area.left() + NAMES, bottom + 2.0), shown, palette);
    ui.allocate_rect(area, Sense::hover());
}

/// A place of the table.
fn spot(ui: &Ui, rect: Rect, id: (&str, usize), spot: &Spot, shown: Number) {
    let palette = theme::palette(ui.ctx());
    let painter = ui.painter();
    let corners = CornerRadius::same(3);
    let Some((words, step)) = number(spot, shown) else {
        painter.rect_filled(rect, corners, palette.surface);
        return;
    };
    painter.rect_filled(rect, corners, step.colour(palette));
    let font = theme::bold(NUMBER);
    painter.text(
        rect.center(),
        Align2::CENTER_CENTER,
        words,
        font,
        palette.ink,
    );
    let response = ui.interact(rect, ui.scope_id().with(id), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &spot.words));
    response.on_hover_text(&spot.words);
}

/// What the colours stand for.
fn legend(ui: &Ui, from: egui::Pos2, shown: Number, palette: &Palette) {
    let painter = ui.painter();
    let mut x = from.x;
    for step in STEPS {
        let square = Rect::from_center_size(pos2(x + 6.0, from.y), vec2(12.0, 10.0));
        painter.rect_filled(square, 2.0, step.colour(palette));
        let font = theme::text(theme::SMALL);
        let at = pos2(x + 17.0, from.y);
        let words = step.name(shown);
        let drawn = painter.text(at, Align2::LEFT_CENTER, words, font, palette.soft);
        x = drawn.right() + 14.0;
    }
    let square = Rect::from_center_size(pos2(x + 6.0, from.y), vec2(12.0, 10.0));
    painter.rect_filled(square, 2.0, palette.surface);
    let at = pos2(x + 17.0, from.y);
    let font = theme::text(theme::SMALL);
    painter.text(at, Align2::LEFT_CENTER, "not asked", font, palette.soft);
}
