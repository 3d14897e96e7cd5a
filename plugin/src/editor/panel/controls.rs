//! The bottom rows: how voicings lie, and what plays them. Imports `params`,
//! `view`, `desk` and `widgets`.

use crate::editor::panel::rhythm::{GAP, NAMES, ROW_GAP};
use crate::editor::view::Kind;
use crate::editor::widgets::{List, Number};
use crate::editor::window::desk::Desk;
use crate::editor::{theme, view, widgets};
use crate::params::TextureParam;
use egui::{Align2, Rect, Sense, Slider, Ui, pos2, vec2};
use guidehand_theory::pitch::MidiNote;
use nice_plug::prelude::{Enum, FloatParam, Param, util};

/// The width of a number, in points.
const NUMBER: f32 = 46.0;

/// The height of the rows, in points.
pub const HEIGHT: f32 = 2.0 * theme::CONTROL + ROW_GAP;

/// Lays the region out. `peak` is what the meter shows, linear.
pub fn region(ui: &mut Ui, desk: &Desk, peak: f32) {
    ui.spacing_mut().item_spacing.y = ROW_GAP;
    ui.horizontal(|ui| lie(ui, desk));
    ui.horizontal(|ui| play(ui, desk, peak));
}

/// Where and how thick voicings lie.
fn lie(ui: &mut Ui, desk: &Desk) {
    let params = desk.params;
    widgets::row_name(ui, "Texture", NAMES);
    let list = List {
        what: "Texture",
        width: 134.0,
        tip: "How many notes a chord gets, and how they lie.",
    };
    let names = TextureParam::variants();
    widgets::list(ui, desk, &params.texture, &list, |texture| {
        let name = names.get(texture.to_index()).copied().unwrap_or_default();
        name.to_lowercase()
    });
    ui.add_space(GAP);
    let key = |note: i32| view::key_name(MidiNote::clamp(note));
    let note = |what, tip| Number {
        what,
        width: NUMBER,
        tip,
        words: Some(&key),
    };
    widgets::name(ui, "Register");
    let lowest = note("Register from", "The lowest key that most voicings use.");
    widgets::number(ui, desk, &params.lowest, lowest);
    widgets::name(ui, "to");
    let highest = note("Register to", "The highest key that most voicings use.");
    widgets::number(ui, desk, &params.highest, highest);
    ui.add_space(GAP);
    widgets::name(ui, "Split");
    let split = note("Split", "Keys below it belong to the left hand.");
    widgets::number(ui, desk, &params.split, split);
    widgets::at_the_right(ui, "bass", |ui| {
        let tip = "The root, or the bass under the slash, sounds on a channel of its own.";
        widgets::toggle(ui, desk, &params.bass, ("Bass", "Bass"), tip);
        widgets::name(ui, "on channel");
        let channel = Number {
            what: "Bass channel",
            width: 32.0,
            tip: "The MIDI channel of the bass.",
            words: None,
        };
        widgets::number(ui, desk, &params.bass_channel, channel);
    });
}

/// Who plays: the chart, the audition tone.
fn play(ui: &mut Ui, desk: &Desk, peak: f32) {
    let params = desk.params;
    widgets::row_name(ui, "Chart", NAMES);
    widgets::name(ui, "from bar");
    let bar = Number {
        what: "Chart from bar",
        width: 40.0,
        tip: "The bar of the song in which the chart starts.",
        words: None,
    };
    widgets::number(ui, desk, &params.from_bar, bar);
    let tip = "The chart starts again at its end.";
    widgets::toggle(ui, desk, &params.repeats, ("repeats", "Chart repeats"), tip);
    let tip = "The chart sounds only while a key below the split is held.";
    let words = ("needs a held key", "Chart needs a held key");
    widgets::toggle(ui, desk, &params.gate, words, tip);
    ui.add_space(GAP);
    widgets::name(ui, "Velocity");
    let velocity = Number {
        what: "Chart velocity",
        width: NUMBER,
        tip: "How loud the chart plays where no key gates it.",
        words: None,
    };
    widgets::percent(ui, desk, &params.velocity, velocity);
    widgets::at_the_right(ui, "tone", |ui| {
        let tip = "A plain tone of the plugin's own, to hear the voicings by.";
        let words = ("Audition tone", "Audition tone");
        widgets::toggle(ui, desk, &params.tone, words, tip);
        let slider = level(ui, desk, &params.tone_level, "Audition level", 52.0);
        meter(ui, slider, peak);
    });
}

/// A level to slide along the parameter's own scale, with its value in words.
fn level(ui: &mut Ui, desk: &Desk, param: &FloatParam, what: &str, width: f32) -> Rect {
    let mut along = param.unmodulated_normalized_value();
    let words = param.normalized_value_to_string(along, true);
    let gap = ui.spacing().item_spacing.x;
    let size = vec2(width + gap + ui.spacing().slider_width, theme::CONTROL);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let slider = Slider::new(&mut along, 0.0..=1.0).show_value(false);
    let response = ui.place(rect.with_max_x(rect.right() - width), slider);
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(what);
        node.set_value(words.clone());
    });
    widgets::focus(ui, response.rect, &response);
    let at = rect.right_center() - vec2(width - 4.0, 0.0);
    let font = theme::text(theme::SMALL);
    let palette = theme::palette(ui.ctx());
    ui.painter()
        .text(at, Align2::LEFT_CENTER, words, font, palette.bright);
    if response.double_clicked() {
        desk.reset(param);
        return rect;
    }
    desk.follow(param, param.preview_plain(along), &response);
    response.on_hover_text("How loud the audition tone is.");
    rect
}

/// The audition tone's peak as a line under its slider, from -60 dB to the
/// ceiling.
fn meter(ui: &Ui, slider: Rect, peak: f32) {
    const FLOOR_DB: f32 = -60.0;
    const CEILING_DB: f32 = -6.0;
    let palette = theme::palette(ui.ctx());
    let decibels = util::gain_to_db(peak).clamp(FLOOR_DB, CEILING_DB);
    let share = (decibels - FLOOR_DB) / (CEILING_DB - FLOOR_DB);
    let full = Rect::from_min_max(
        slider.left_bottom() - vec2(0.0, 2.0),
        pos2(slider.left() + ui.spacing().slider_width, slider.bottom()),
    );
    let lit = full.with_max_x(full.left() + full.width() * share);
    ui.painter().rect_filled(full, 1.0, palette.raised);
    ui.painter()
        .rect_filled(lit, 1.0, palette.of_kind(Kind::Guide));
}
