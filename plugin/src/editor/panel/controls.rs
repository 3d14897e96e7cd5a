//! The bottom rows: the texture and the register of voicings, and what plays them. The
//! panel's thread; `panel` imports it.

use crate::editor::model::action::Actions;
use crate::editor::model::meter::STEPS;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::rhythm::{GAP, NAMES, ROW_GAP};
use crate::editor::panel::view::View;
use crate::editor::view::NoteKind;
use crate::editor::widgets::{List, Number};
use crate::editor::{theme, view, widgets};
use egui::{Rect, Ui, pos2, vec2};
use guidehand_theory::pitch::MidiNote;

/// The width of a number, in points.
const NUMBER: f32 = 46.0;

/// The height of the rows, in points.
pub const HEIGHT: f32 = 2.0 * theme::CONTROL + ROW_GAP;

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    ui.spacing_mut().item_spacing.y = ROW_GAP;
    ui.horizontal(|ui| texture(ui, view, actions));
    ui.horizontal(|ui| play(ui, view, actions));
}

/// The texture of voicings, their register, their inner lines, and the bass.
fn texture(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Texture", NAMES);
    let list = List {
        what: "Texture",
        width: 134.0,
        tip: "How many notes a chord gets, and how they lie.",
    };
    let texture = view.control(ParameterId::Texture);
    let name = |at: usize| texture.choices.get(at).copied().unwrap_or_default();
    widgets::list(ui, texture, &list, |at| name(at).to_lowercase(), actions);
    ui.add_space(GAP);
    let mut note = |ui: &mut Ui, id, what, tip| {
        let control = view.control(id);
        let key = view::key_name(MidiNote::clamp(control.whole_set()));
        let number = Number {
            what,
            width: NUMBER,
            tip,
            words: Some(&key),
        };
        widgets::number(ui, control, &number, actions);
    };
    widgets::name(ui, "Register");
    let tip = "The lowest key that most voicings use.";
    note(ui, ParameterId::Lowest, "Register from", tip);
    widgets::name(ui, "to");
    let tip = "The highest key that most voicings use.";
    note(ui, ParameterId::Highest, "Register to", tip);
    ui.add_space(GAP);
    widgets::name(ui, "Split");
    let tip = "Keys below it belong to the left hand.";
    note(ui, ParameterId::Split, "Split", tip);
    widgets::at_the_right(ui, "bass", |ui| {
        let tip = "One voice moves within a dominant, halfway through it.";
        let lines = view.control(ParameterId::InnerLines);
        widgets::toggle(ui, lines, ("Inner lines", "Inner lines"), tip, actions);
        ui.add_space(GAP);
        let tip = "The root, or the bass under the slash, sounds on a channel of its own.";
        let bass = view.control(ParameterId::Bass);
        widgets::toggle(ui, bass, ("Bass", "Bass"), tip, actions);
        widgets::name(ui, "on channel");
        let channel = Number {
            what: "Bass channel",
            width: 32.0,
            tip: "The MIDI channel of the bass.",
            words: None,
        };
        widgets::number(
            ui,
            view.control(ParameterId::BassChannel),
            &channel,
            actions,
        );
    });
}

/// Who plays: the chart, the audition tone.
fn play(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Chart", NAMES);
    widgets::name(ui, "from bar");
    let bar = Number {
        what: "Chart from bar",
        width: 40.0,
        tip: "The bar of the song in which the chart starts.",
        words: None,
    };
    widgets::number(ui, view.control(ParameterId::FromBar), &bar, actions);
    let tip = "The chart starts again at its end.";
    let words = ("repeats", "Chart repeats");
    widgets::toggle(ui, view.control(ParameterId::Repeats), words, tip, actions);
    let tip = "The chart sounds only while a key below the split is held.";
    let words = ("needs a held key", "Chart needs a held key");
    widgets::toggle(ui, view.control(ParameterId::Gate), words, tip, actions);
    ui.add_space(GAP);
    widgets::name(ui, "Velocity");
    let velocity = Number {
        what: "Chart velocity",
        width: NUMBER,
        tip: "How loud the chart plays where no key gates it.",
        words: None,
    };
    widgets::percent(ui, view.control(ParameterId::Velocity), &velocity, actions);
    widgets::at_the_right(ui, "tone", |ui| {
        let tip = "A plain tone of the plugin's own, to hear the voicings by.";
        let words = ("Audition tone", "Audition tone");
        widgets::toggle(ui, view.control(ParameterId::Tone), words, tip, actions);
        let names = ("Audition level", "How loud the audition tone is.");
        let level = view.control(ParameterId::ToneLevel);
        let slider = widgets::level(ui, level, names, 52.0, actions);
        meter(ui, slider, view.meter);
    });
}

/// The audition tone's peak as a line under its slider, with so many of its steps lit.
fn meter(ui: &Ui, slider: Rect, lit: u8) {
    let palette = theme::palette(ui.ctx());
    let share = f32::from(lit) / f32::from(STEPS);
    let full = Rect::from_min_max(
        slider.left_bottom() - vec2(0.0, 2.0),
        pos2(slider.left() + ui.spacing().slider_width, slider.bottom()),
    );
    let lit = full.with_max_x(full.left() + full.width() * share);
    ui.painter().rect_filled(full, 1.0, palette.raised);
    ui.painter()
        .rect_filled(lit, 1.0, palette.of_kind(NoteKind::Guide));
}
