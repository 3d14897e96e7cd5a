//! The list of other harmonies: a row for each, in three parts, from what is usual to what is
//! bold, and apart from them those that the melody rules out. The panel's thread; `harmonies`
//! imports it.

use crate::editor::model::harmonies::Tried;
use crate::editor::model::harmonies::offers::{Offer, Offers, RuledOut};
use crate::editor::palette::Palette;
use crate::editor::{theme, widgets};
use egui::{
    Color32, Galley, Rect, Response, Role, Sense, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2,
};
use guidehand_theory::reharm::Part;
use std::sync::Arc;

/// Around a row's words, in points.
const MARGIN: Vec2 = vec2(8.0, 4.0);
/// Left of a row's words, for the lamp, in points.
const LAMP: f32 = 14.0;
/// The size of the chords, in points.
const CHORDS: f32 = 14.5;
const CORNER: f32 = 4.0;

/// What a row shows.
struct Shown<'a> {
    offer: &'a Offer,
    /// The second line: why it works, or why it does not.
    why: &'a str,
    /// The melody rules it out.
    out: bool,
    /// It is tried: whether it sounds.
    tried: Option<bool>,
}

/// Lays the rows out; returns the one that was pressed.
pub fn rows<'a>(ui: &mut Ui, offers: &'a Offers, tried: Option<&Tried>) -> Option<&'a Offer> {
    let palette = theme::palette(ui.ctx());
    ui.spacing_mut().item_spacing.y = 2.0;
    let mut pressed = None;
    let mut part = None;
    for offer in &offers.fits {
        if part != Some(offer.part) {
            if part.is_some() {
                ui.add_space(6.0);
            }
            part = Some(offer.part);
            widgets::remark(ui, heading(offer.part), palette.soft);
        }
        let shown = Shown {
            offer,
            why: &offer.reason,
            out: false,
            tried: tried
                .filter(|t| t.offer.as_ref() == Some(offer))
                .map(|t| t.sounds),
        };
        if one(ui, &shown, palette).clicked() {
            pressed = Some(offer);
        }
    }
    if !offers.ruled_out.is_empty() {
        ui.add_space(6.0);
        widgets::remark(ui, "Ruled out by the melody", palette.soft);
        for RuledOut { offer, why } in &offers.ruled_out {
            let (out, tried) = (true, None);
            let shown = Shown {
                offer,
                why,
                out,
                tried,
            };
            one(ui, &shown, palette);
        }
    }
    if offers.unlisted > 0 {
        let words = format!("{} more: select fewer chords to see them.", offers.unlisted);
        widgets::remark(ui, &words, palette.soft);
    }
    pressed
}

/// The name of a part of the list.
const fn heading(part: Part) -> &'static str {
    match part {
        Part::Usual => "Usual",
        Part::Colourful => "Colourful",
        Part::Bold => "Bold",
    }
}

/// A row: its chords and its name, and a line that says why.
fn one(ui: &mut Ui, shown: &Shown, palette: &Palette) -> Response {
    let Shown {
        offer, why, out, ..
    } = shown;
    let (first, second) = if *out {
        (palette.faint, palette.faint)
    } else {
        (palette.bright, palette.soft)
    };
    let width = ui.available_width();
    let room = width - LAMP - 2.0 * MARGIN.x;
    let lay = |words: &str, font: egui::FontId, colour: Color32, room: f32| {
        ui.painter().layout(words.to_owned(), font, colour, room)
    };
    let distance = lay(
        &format!("distance {}", offer.distance),
        theme::text(theme::SMALL),
        second,
        room,
    );
    let left = room - distance.size().x - 10.0;
    let chords = lay(&offer.chords, theme::bold(CHORDS), first, left);
    let name = lay(&offer.name, theme::text(theme::SMALL), first, left);
    // The name goes beside the chords, or under them where there is no room.
    let beside = chords.rows.len() == 1 && chords.size().x + 12.0 + name.size().x <= left;
    let why = lay(why, theme::text(theme::SMALL), second, room);
    let name_height = if beside { 0.0 } else { name.size().y };
    let height = chords.size().y + name_height + why.size().y + 2.0 * MARGIN.y;
    let sense = if *out { Sense::hover() } else { Sense::click() };
    let (rect, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    // Its own, whatever stands above it: the focus stays with the row.
    let id = ui.scope_id().with((offer.place(), offer.spoken()));
    let response = ui.interact(rect, id, sense);
    tell(ui, &response, shown);
    if ui.is_rect_visible(rect) {
        behind(ui, rect, &response, shown.tried, palette);
        let corner = rect.min + MARGIN + vec2(LAMP, 0.0);
        let put = |x: f32, y: f32, galley: &Arc<Galley>, colour: Color32| {
            ui.painter()
                .galley(corner + vec2(x, y), galley.clone(), colour);
        };
        put(0.0, 0.0, &chords, first);
        put(room - distance.size().x, 2.0, &distance, second);
        if beside {
            put(chords.size().x + 12.0, 2.0, &name, first);
        } else {
            put(0.0, chords.size().y, &name, first);
        }
        put(0.0, chords.size().y + name_height, &why, second);
    }
    widgets::focus(ui, rect.shrink(1.0), &response);
    if response.has_focus() && response.gained_focus() {
        ui.scroll_to_rect(rect, None);
    }
    explain(response, shown)
}

/// A ground for what is tried, with a lamp: full while it sounds, a ring while
/// the chart as written does.
fn behind(ui: &Ui, rect: Rect, response: &Response, tried: Option<bool>, palette: &Palette) {
    let painter = ui.painter();
    if tried == Some(true) {
        widgets::chosen_row(painter, rect, CORNER);
    } else if tried.is_some() || response.hovered() && response.sense.senses_click() {
        painter.rect_filled(rect, CORNER, palette.raised);
    }
    let lamp = pos2(rect.left() + MARGIN.x + 4.0, rect.top() + MARGIN.y + 9.0);
    match tried {
        Some(true) => {
            painter.circle_filled(lamp, 4.0, palette.bright);
        }
        Some(false) => {
            painter.circle_stroke(lamp, 3.5, Stroke::new(1.25, palette.bright));
        }
        None => {}
    }
}

/// What a screen reader tells.
fn tell(ui: &Ui, response: &Response, shown: &Shown) {
    let offer = shown.offer;
    response.widget_info(|| {
        if shown.out {
            WidgetInfo::labeled(Role::Label, false, format!("Ruled out: {}", offer.spoken()))
        } else {
            let on = shown.tried == Some(true);
            WidgetInfo::selected(Role::RadioButton, ui.is_enabled(), on, offer.spoken())
        }
    });
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_description(shown.why);
        // The value of a label is its words.
        if !shown.out {
            node.set_value(format!("distance {}", offer.distance));
        }
    });
}

fn explain(response: Response, shown: &Shown) -> Response {
    let words = match (shown.out, shown.tried) {
        (true, _) => return response,
        (_, Some(true)) => "Lets the chart as written sound from the next bar line.",
        (_, _) => "Sounds from the next bar line; its distance is from what is written.",
    };
    response.on_hover_text_at_pointer(words)
}
