//! The bass: the one that sounds with the chords, and the one that is followed: the note that is
//! heard, its level with the gate, what is made of it, and how it is tuned. The panel's thread;
//! `panel` imports it.

use crate::bridge::bass::EarLook;
use crate::editor::model::action::Actions;
use crate::editor::model::parameters::ParameterId;
use crate::editor::panel::view::View;
use crate::editor::view::{self, NoteKind};
use crate::editor::widgets::{Choices, Number};
use crate::editor::{theme, widgets};
use crate::engine::snapshot::Snapshot;
use egui::{Align2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, vec2};

pub const FOLLOWS: [&str; 2] = ["the chart", "the key"];

/// Between the rows, in points.
const GAP: f32 = 7.0;
/// The width of a number, in points.
const NUMBER: f32 = 62.0;
/// The size of the note that is heard, in points.
const NOTE: f32 = 22.0;
/// What the meter shows, in dB.
const FLOOR_DB: f32 = -80.0;

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    ui.spacing_mut().item_spacing.y = GAP;
    let (look, snapshot) = (&view.bass, &view.as_written);
    ui.horizontal(|ui| played(ui, view, actions));
    ui.horizontal(|ui| heard(ui, view));
    ui.horizontal(|ui| level(ui, view, actions));
    ui.horizontal(|ui| made(ui, snapshot));
    ui.horizontal(|ui| shift(ui, snapshot));
    ui.horizontal(|ui| {
        widgets::row_name(ui, "Follows", widgets::NAMES);
        let tip = "The bass is held against the chart, or its roots are chords in the key.";
        let choices = Choices::new("Bass follows", &FOLLOWS, tip);
        widgets::choice(ui, view.control(ParameterId::BassBy), &choices, actions);
    });
    ui.horizontal(|ui| tuning(ui, look, view, actions));
}

/// The bass that sounds with the chords.
fn played(ui: &mut Ui, view: &View, actions: &mut Actions) {
    widgets::row_name(ui, "Played", widgets::NAMES);
    let tip = "The root, or the bass under the slash, sounds on a channel of its own.";
    let bass = view.control(ParameterId::Bass);
    widgets::toggle(ui, bass, ("bass note", "Bass note"), tip, actions);
    widgets::name(ui, "on channel");
    let channel = Number {
        what: "Bass channel",
        width: 36.0,
        tip: "The MIDI channel of the bass.",
        words: None,
    };
    let control = view.control(ParameterId::BassChannel);
    widgets::number(ui, control, &channel, actions);
}

/// The note, how far it is off, and how sure it is.
fn heard(ui: &mut Ui, view: &View) {
    let look = &view.bass;
    let palette = theme::palette(ui.ctx());
    widgets::row_name(ui, "Heard", widgets::NAMES);
    let note = view::bass::heard(look, &view.as_written, &view.settings);
    let (rect, response) = ui.allocate_exact_size(vec2(58.0, theme::CONTROL), Sense::hover());
    let words = note.as_deref().unwrap_or("–");
    let colour = if note.is_some() {
        palette.bright
    } else {
        palette.faint
    };
    let painter = ui.painter();
    let at = rect.left_center();
    painter.text(at, Align2::LEFT_CENTER, words, theme::bold(NOTE), colour);
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("Heard: {words}")));
    response.on_hover_text("The note of the bass that sounds.");
    if note.is_none() {
        widgets::remark(ui, "no note", palette.soft);
        return;
    }
    let sure = format!("{} %", look.percent);
    widgets::remark(ui, &sure, palette.bright).on_hover_text("How sure the note is.");
    if let Some(off) = view::bass::off(look.cents) {
        let tip = "How far the note is off its place by the tuning.";
        widgets::remark(ui, &off, palette.soft).on_hover_text(tip);
    }
}

/// The level as a bar with the gate in it.
fn level(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let look = &view.bass;
    let palette = theme::palette(ui.ctx());
    widgets::row_name(ui, "Level", widgets::NAMES);
    let (rect, response) = ui.allocate_exact_size(vec2(130.0, theme::CONTROL), Sense::hover());
    let bar = Rect::from_center_size(rect.center(), vec2(rect.width(), 8.0));
    let gate_db = view.settings.bass.gate_db;
    let x = |db: f32| bar.left() + bar.width() * (1.0 - db / FLOOR_DB).clamp(0.0, 1.0);
    #[expect(clippy::cast_precision_loss, reason = "decibels")]
    let level_db = look.level_db as f32;
    let lit = if level_db >= gate_db {
        palette.of_kind(NoteKind::Bass)
    } else {
        palette.soft
    };
    let painter = ui.painter();
    painter.rect_filled(bar, 2.0, palette.raised);
    painter.rect_filled(bar.with_max_x(x(level_db)), 2.0, lit);
    let gate = Stroke::new(2.0, palette.bright);
    painter.vline(x(gate_db), rect.y_range().shrink(4.0), gate);
    response.widget_info(|| {
        let words = format!("Level of the bass: {} dB", look.level_db);
        WidgetInfo::labeled(Role::Label, true, words)
    });
    response.on_hover_text("How loud the bass is, with the gate as a line.");
    widgets::name(ui, "gate");
    let gate = Number {
        what: "Bass gate",
        width: NUMBER,
        tip: "What is softer is not heard.",
        words: None,
    };
    widgets::number(ui, view.control(ParameterId::BassGate), &gate, actions);
}

/// What is made of the notes.
fn made(ui: &mut Ui, snapshot: &Snapshot) {
    let palette = theme::palette(ui.ctx());
    widgets::row_name(ui, "Heard as", widgets::NAMES);
    let words = view::bass::making(&snapshot.bass);
    ui.colored_label(palette.bright, words)
        .on_hover_text("What the bass's notes come to.");
    if let Some(confidence) = view::bass::confidence(&snapshot.bass) {
        let percent = format!("{:.0} %", 100.0 * confidence);
        widgets::remark(ui, &percent, palette.soft).on_hover_text("How sure that is.");
    }
}

/// Where in the chart the bass is.
fn shift(ui: &mut Ui, snapshot: &Snapshot) {
    let palette = theme::palette(ui.ctx());
    widgets::row_name(ui, "Place in chart", widgets::NAMES);
    let words = view::bass::shift(&snapshot.bass);
    let words = words.unwrap_or_else(|| "none without a chart".to_owned());
    ui.colored_label(palette.soft, words)
        .on_hover_text("Where in the chart the bass is.");
}

/// The tuning reference: measured, or set.
fn tuning(ui: &mut Ui, look: &EarLook, view: &View, actions: &mut Actions) {
    let palette = theme::palette(ui.ctx());
    let measured = view.control(ParameterId::BassTunes);
    widgets::row_name(ui, "Tuning", widgets::NAMES);
    let words = ("auto", "Automatic bass tuning");
    let tip = "The pitch of A4 is followed from the notes that are heard, from 430 to 450 Hz.";
    widgets::toggle(ui, measured, words, tip, actions);
    if measured.is_on() {
        let (whole, tenth) = (look.a4_tenths / 10, look.a4_tenths % 10);
        let words = format!("A4 = {whole}.{tenth} Hz");
        widgets::remark(ui, &words, palette.soft).on_hover_text("What has been measured.");
    } else {
        widgets::name(ui, "A4");
        let a4 = Number {
            what: "Bass tuning",
            width: NUMBER,
            tip: "The pitch of A4 that the bass is tuned to.",
            words: None,
        };
        widgets::number(ui, view.control(ParameterId::BassA4), &a4, actions);
    }
}
