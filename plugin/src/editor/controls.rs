//! The bottom rows: how voicings lie, and what plays them. Imports `params`,
//! `view`, `desk` and `widgets`.

use crate::editor::desk::Desk;
use crate::editor::view::Kind;
use crate::editor::{theme, view, widgets};
use crate::params::TextureParam;
use egui::{Align, Align2, ComboBox, Layout, Rect, Sense, Slider, Ui, pos2, vec2};
use guidehand_theory::pitch::MidiNote;
use nice_plug::prelude::{Enum, FloatParam, Param, util};

/// The width of a number, in points.
const NUMBER: f32 = 44.0;
/// The gap between groups, in points.
const GAP: f32 = 16.0;

/// The height of the rows, in points.
pub const HEIGHT: f32 = 2.0 * theme::CONTROL + 8.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, desk: &Desk, peak: f32) {
    ui.spacing_mut().item_spacing.y = 8.0;
    ui.horizontal(|ui| lie(ui, desk));
    ui.horizontal(|ui| play(ui, desk, peak));
}

/// Where and how thick voicings lie.
fn lie(ui: &mut Ui, desk: &Desk) {
    let params = desk.params;
    widgets::name(ui, "Texture");
    texture(ui, desk);
    let key = |note: i32| view::key_name(MidiNote::clamp(note));
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        widgets::number(ui, desk, &params.split, 0..=127, key, NUMBER);
        widgets::name(ui, "Split");
        ui.add_space(GAP);
        widgets::number(ui, desk, &params.highest, 60..=96, key, NUMBER);
        widgets::name(ui, "to");
        widgets::number(ui, desk, &params.lowest, 36..=60, key, NUMBER);
        widgets::name(ui, "Register");
    });
}

fn texture(ui: &mut Ui, desk: &Desk) {
    let param = &desk.params.texture;
    let current = param.value();
    let names = TextureParam::variants();
    let name = |texture: TextureParam| names.get(texture.to_index()).copied().unwrap_or("");
    ComboBox::from_id_salt("texture")
        .width(140.0)
        .height(400.0)
        .selected_text(name(current).to_lowercase())
        .show_ui(ui, |ui| {
            for texture in (0..names.len()).map(TextureParam::from_index) {
                let row = ui.selectable_label(texture == current, name(texture).to_lowercase());
                if row.clicked() {
                    desk.choose(param, texture);
                }
            }
        })
        .response
        .on_hover_text_at_pointer("how many notes a chord gets, and how they lie");
}

/// Who plays: the chart, the bass, the audition tone.
fn play(ui: &mut Ui, desk: &Desk, peak: f32) {
    let params = desk.params;
    widgets::name(ui, "Chart velocity");
    level(ui, desk, &params.velocity, 40.0);
    let gate = params.gate.value();
    if widgets::switch(ui, "needs a held key", gate) {
        desk.choose(&params.gate, !gate);
    }
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        let slider = level(ui, desk, &params.tone_level, 54.0);
        meter(ui, slider, peak);
        let tone = params.tone.value();
        if widgets::switch(ui, "Audition tone", tone) {
            desk.choose(&params.tone, !tone);
        }
        ui.add_space(GAP);
        let channel = |number: i32| number.to_string();
        widgets::number(ui, desk, &params.bass_channel, 1..=16, channel, 30.0);
        widgets::name(ui, "channel");
        let bass = params.bass.value();
        if widgets::switch(ui, "Bass", bass) {
            desk.choose(&params.bass, !bass);
        }
    });
}

/// A level to slide along the parameter's own scale, with its value in words.
fn level(ui: &mut Ui, desk: &Desk, param: &FloatParam, width: f32) -> Rect {
    let mut along = param.unmodulated_normalized_value();
    let words = param.normalized_value_to_string(along, true);
    let size = vec2(
        width + ui.spacing().item_spacing.x + ui.spacing().slider_width,
        theme::CONTROL,
    );
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let slider = Slider::new(&mut along, 0.0..=1.0).show_value(false);
    let response = ui.place(rect.with_max_x(rect.right() - width), slider);
    let at = rect.right_center() - vec2(width - 4.0, 0.0);
    let font = theme::text(theme::SMALL);
    ui.painter()
        .text(at, Align2::LEFT_CENTER, words, font, theme::IVORY);
    let value = param.preview_plain(along);
    desk.follow(param, value, &response);
    rect
}

/// The audition tone's peak as a line under its slider, from -60 dB to the
/// ceiling.
fn meter(ui: &Ui, slider: Rect, peak: f32) {
    const FLOOR_DB: f32 = -60.0;
    const CEILING_DB: f32 = -6.0;
    let decibels = util::gain_to_db(peak).clamp(FLOOR_DB, CEILING_DB);
    let share = (decibels - FLOOR_DB) / (CEILING_DB - FLOOR_DB);
    let full = Rect::from_min_max(
        slider.left_bottom() - vec2(0.0, 2.0),
        pos2(slider.left() + ui.spacing().slider_width, slider.bottom()),
    );
    let lit = full.with_max_x(full.left() + full.width() * share);
    ui.painter().rect_filled(full, 1.0, theme::RAISED);
    ui.painter()
        .rect_filled(lit, 1.0, theme::of_kind(Kind::Guide));
}
