//! The names of the pages that share the place beside the chart, and the way back to
//! the original chart. The panel's thread; `panel` imports it.

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::page::Page;
use crate::editor::panel::view::View;
use crate::editor::{theme, widgets};
use crate::engine::settings::Source;
use egui::{Button, Label, RichText, Role, Sense, Stroke, Ui, WidgetInfo, vec2};

/// Each page with its word, its name and what it is for.
const PAGES: [(Page, &str, &str, &str); 6] = [
    (
        Page::Tensions,
        "Tensions",
        "Tensions and scale",
        "What is asked of dominants that the chart leaves open, and the scale to play.",
    ),
    (
        Page::Chord,
        "Chord",
        "Chord in hand",
        "The chord at the chart's cursor: how else it can be dressed and voiced.",
    ),
    (
        Page::Voicing,
        "Voicing",
        "Voicing and hand",
        "What is asked of other chords, how far your hand reaches, and the register's edges.",
    ),
    (
        Page::Harmonies,
        "Harmonies",
        "Other harmonies",
        "What else the chords at the chart's cursor could be.",
    ),
    (
        Page::InAndOut,
        "Files",
        "Files",
        "Files to write and to read, and the chart in twelve keys.",
    ),
    (
        Page::Bass,
        "Bass",
        "The bass",
        "What is heard of the bass, and what it comes to.",
    ),
];

/// Between the names of the pages, in points: less where the page of the bass or the way back is
/// there too, and still less where both are.
const GAPS: [f32; 3] = [16.0, 12.0, 3.0];

/// The height of the line with the names of the pages, in points.
pub const HEIGHT: f32 = 18.0;

/// The names of the pages, and the way back to the original chart.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let palette = theme::palette(ui.ctx());
    ui.horizontal(|ui| {
        ui.set_height(HEIGHT);
        let by_bass = view.settings.source == Source::Bass;
        let goes_back = view.has_original;
        let [wide, narrow, narrowest] = GAPS;
        ui.spacing_mut().item_spacing.x = match (by_bass, goes_back) {
            (false, false) => wide,
            (true, true) => narrowest,
            _ => narrow,
        };
        ui.spacing_mut().interact_size.y = HEIGHT;
        let pages = PAGES
            .iter()
            .filter(|(page, ..)| by_bass || *page != Page::Bass);
        for (page, word, name, tip) in pages.copied() {
            let here = view.pages.open == page;
            let colour = if here { palette.bright } else { palette.soft };
            let text = RichText::new(word)
                .font(theme::bold(theme::TEXT))
                .color(colour);
            let response = ui.add(Label::new(text).selectable(false).sense(Sense::click()));
            response.widget_info(|| WidgetInfo::selected(Role::Tab, true, here, name));
            if here {
                let rect = response.rect;
                let stroke = Stroke::new(1.5, palette.bright);
                ui.painter()
                    .hline(rect.x_range(), rect.bottom() + 1.0, stroke);
            }
            widgets::focus(ui, response.rect.expand2(vec2(3.0, 0.0)), &response);
            if response.on_hover_text(tip).clicked() {
                actions.push(Action::Page(page));
            }
        }
        if goes_back {
            widgets::at_the_right(ui, "original", |ui| original_chart(ui, actions));
        }
    });
}

fn original_chart(ui: &mut Ui, actions: &mut Actions) {
    ui.spacing_mut().button_padding = vec2(6.0, 0.0);
    let tip = "Puts the chart back as it was before another harmony was kept.";
    let word = RichText::new("Original").font(theme::text(theme::SMALL));
    let button = Button::new(word).min_size(vec2(0.0, HEIGHT));
    let response = ui.add(button);
    let name = "Bring back the original";
    response.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), name));
    widgets::focus(ui, response.rect, &response);
    if response.on_hover_text(tip).clicked() {
        actions.push(Action::RestoreOriginal);
    }
}
