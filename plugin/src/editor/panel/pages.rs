//! The names of the pages, and the way back to the original chart. The panel's thread; `panel`
//! imports it.

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::page::Page;
use crate::editor::panel::view::View;
use crate::editor::{theme, widgets};
use egui::{Button, Label, RichText, Role, Sense, Stroke, Ui, WidgetInfo, vec2};

/// Each page with its word, its name and what it is for.
const PAGES: [(Page, &str, &str, &str); 10] = [
    (
        Page::Chart,
        "Chart",
        "The chart's page",
        "The chart over the whole width, and how it plays.",
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
        "How chords are voiced, how far your hand reaches, and what other chords than dominants take.",
    ),
    (
        Page::Harmonies,
        "Reharmonise",
        "Reharmonise",
        "What else the chords at the chart's cursor could be.",
    ),
    (
        Page::Rhythm,
        "Rhythm",
        "Rhythm and feel",
        "When chords are struck, how long they last, and how freely they are played.",
    ),
    (
        Page::Melody,
        "Melody",
        "The melody",
        "How chords agree with the melody of the right hand, and the chords under it.",
    ),
    (
        Page::Bass,
        "Bass",
        "The bass",
        "The bass that sounds with the chords, and what is heard of a bass that you send.",
    ),
    (
        Page::Practice,
        "Practice",
        "Practice",
        "What is asked of your hand, and what has come of it.",
    ),
    (
        Page::InAndOut,
        "Files",
        "Files",
        "Files to import and to export, and the chart in twelve keys.",
    ),
    (
        Page::Sound,
        "Sound",
        "Sound",
        "The audition tone, and how loud the chords are.",
    ),
];

/// The height of the line with the names of the pages, in points.
pub const HEIGHT: f32 = 22.0;
/// Between the names of the pages, in points.
const GAP: f32 = 20.0;

/// The names of the pages, and the way back to the original chart.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let palette = theme::palette(ui.ctx());
    ui.horizontal(|ui| {
        ui.set_height(HEIGHT);
        ui.spacing_mut().item_spacing.x = GAP;
        ui.spacing_mut().interact_size.y = HEIGHT;
        for (page, word, name, tip) in PAGES {
            let here = view.pages.open == page;
            let colour = if here { palette.bright } else { palette.soft };
            let text = RichText::new(word)
                .font(theme::bold(theme::TEXT))
                .color(colour);
            let response = ui.add(Label::new(text).selectable(false).sense(Sense::click()));
            response.widget_info(|| WidgetInfo::selected(Role::Tab, true, here, name));
            if here {
                let rect = response.rect;
                let stroke = Stroke::new(2.0, palette.bright);
                ui.painter()
                    .hline(rect.x_range(), rect.bottom() + 2.0, stroke);
            }
            widgets::focus(ui, response.rect.expand2(vec2(3.0, 0.0)), &response);
            if response.on_hover_text(tip).clicked() {
                actions.push(Action::Page(page));
            }
        }
        if view.has_original {
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
