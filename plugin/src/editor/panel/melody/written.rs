//! The melody that is written over the chart: its text, what is wrong with it, what it is in the bar
//! that sounds, and the recording of the right hand. The panel's thread; `melody` imports it.

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::chart::{ChartAction, ChartText};
use crate::editor::model::take::{Stage, TakeAction, Takes};
use crate::editor::panel::chart;
use crate::editor::panel::view::View;
use crate::editor::{theme, view, widgets};
use egui::text::{CCursor, CCursorRange};
use egui::text_edit::{TextEditOutput, TextEditState};
use egui::{
    Frame, Galley, Id, Label, Rect, RichText, Role, ScrollArea, Sense, Stroke, TextEdit, Ui,
    WidgetInfo, vec2,
};
use guidehand_theory::chart::Chart;
use guidehand_theory::melody::{Melody, MelodyError, MelodyNote};
use std::ops::Range;

/// The height kept below the text, in points: for what is wrong, or for the bar that sounds.
const BELOW: f32 = 58.0;
/// Of more errors than this the rest shows once these are mended.
const MOST_ERRORS: usize = 20;

/// The text's own id, under which the toolkit keeps its cursor.
fn text_id() -> Id {
    Id::unique("the written melody")
}

/// Lays the region out.
pub fn region(ui: &mut Ui, chart: &ChartText, view: &View, actions: &mut Actions) {
    let focused = ui.memory(|memory| memory.focused());
    if focused.is_none_or(|id| id == text_id())
        && let Some(step) = chart::history_key(ui)
    {
        actions.push(Action::Chart(step));
    }
    chart::await_reading(ui, chart);
    ui.horizontal(|ui| heading(ui, &view.pages.takes, actions));
    let height = ui.available_height() - BELOW - ui.spacing().item_spacing.y;
    text(ui, chart, height.max(theme::CONTROL), actions);
    let errors = chart.reading().melody_errors();
    if errors.is_empty() {
        said(ui, chart, view);
    } else {
        let ending = view.pages.takes.stage() == Stage::Ending;
        wrong(ui, &chart.reading().melody_text, errors, ending);
    }
}

/// Its name, and the switch that records.
fn heading(ui: &mut Ui, takes: &Takes, actions: &mut Actions) {
    widgets::name(ui, "Written melody");
    let on = takes.stage() != Stage::Idle;
    widgets::at_the_right(ui, "recording", |ui| {
        let tip = "While the chart plays, what the right hand plays becomes the melody of the bars that \
                   are played.";
        let name = "Record the right hand";
        let lamp = widgets::lamp(ui, "record the right hand", name, on);
        if lamp.on_hover_text(tip).clicked() {
            let action = if on {
                TakeAction::End
            } else {
                TakeAction::Begin
            };
            actions.push(Action::Take(action));
        }
    });
}

/// The text, scrolling where it is long.
fn text(ui: &mut Ui, chart: &ChartText, height: f32, actions: &mut Actions) {
    widgets::typed_text(ui, "written melody", height, |ui, inner| {
        edit(ui, chart, inner, actions);
    });
}

fn edit(ui: &mut Ui, chart: &ChartText, height: f32, actions: &mut Actions) {
    let typed = &chart.document().melody;
    let mut text = typed.as_ref().to_owned();
    ui.visuals_mut().text_cursor.blink = false;
    let output = TextEdit::multiline(&mut text)
        .id(text_id())
        .frame(Frame::NONE)
        .hint_text("| E5/2 D5/4 C5 | r/4. G4/8 A4/2 |")
        .desired_width(f32::INFINITY)
        .min_size(vec2(0.0, height))
        .show(ui);
    let response = &output.response.response;
    ui.ctx()
        .accesskit_node_builder(response.id, |node| node.set_label("Written melody"));
    widgets::focus(ui, ui.clip_rect(), response);
    response.clone().on_hover_text(SYNTAX);
    if text != **typed {
        actions.push(Action::Chart(ChartAction::Melody {
            text,
            now_seconds: ui.input(|input| input.time),
            finished: ui.input(|input| chart::is_finished(&input.events)),
        }));
    } else if chart.reading().melody_text == *typed {
        mark(ui, &text, &output, chart.reading().melody_errors());
    }
}

/// What can stand in a melody.
const SYNTAX: &str = "\
E5/8  is a note with its octave and length    r/4  is a rest
/4.  is dotted    /8t  is one of a triplet    ~  ties
|  divides bars; the melody is that of the chart as it is played";

/// Marks the places that are wrong.
fn mark(ui: &Ui, text: &str, output: &TextEditOutput, errors: &[MelodyError]) {
    let stroke = Stroke::new(2.0, theme::palette(ui.ctx()).wrong);
    for error in errors.iter().take(MOST_ERRORS) {
        let place = line_of(text, &output.galley, &error.source);
        let place = place.translate(output.galley_pos.to_vec2());
        ui.painter().hline(place.x_range(), place.bottom(), stroke);
    }
}

/// Where a part of a text lies, as far as it stands in the line in which it begins, and wide enough to
/// be seen.
fn line_of(text: &str, galley: &Galley, part: &Range<usize>) -> Rect {
    let cursor = |at: usize| {
        let before = text.get(..at.min(text.len())).unwrap_or(text);
        galley.pos_from_cursor(CCursor::new(before.chars().count()))
    };
    let (from, to) = (cursor(part.start), cursor(part.end));
    let right = if to.top() > from.top() {
        galley.rect.right()
    } else {
        to.left()
    };
    let right = right.max(from.left() + 6.0);
    from.with_max_x(right)
}

/// What becomes of a recording that has ended, while the text of the chart or of the melody has errors.
const WAITS: &str = "The recording waits until chart and melody can be read.";

/// What is wrong, one line each; a press leads to the place. A recording that is `ending` waits for it.
fn wrong(ui: &mut Ui, text: &str, errors: &[MelodyError], ending: bool) {
    let mut pressed = None;
    let colour = theme::palette(ui.ctx()).wrong;
    ScrollArea::vertical()
        .id_salt("errors of the melody")
        .max_height(BELOW)
        .min_scrolled_height(BELOW)
        .auto_shrink(false)
        .show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            if ending {
                widgets::remark(ui, WAITS, theme::palette(ui.ctx()).soft);
            }
            for error in errors.iter().take(MOST_ERRORS) {
                let words = view::with_signs(&error.to_string());
                let response = widgets::remark(ui, &words, colour).interact(Sense::click());
                if response.on_hover_text("Press to go there.").clicked() {
                    pressed = Some(error.source.end);
                }
            }
        });
    if let Some(at) = pressed {
        let mut state = TextEditState::load(ui.ctx(), text_id()).unwrap_or_default();
        let at = CCursor::new(text.get(..at).unwrap_or(text).chars().count());
        state.cursor.set_char_range(Some(CCursorRange::one(at)));
        state.store(ui.ctx(), text_id());
        ui.memory_mut(|memory| memory.request_focus(text_id()));
    }
}

/// What the melody is in the bar that sounds, or how long it is, and what has come of a recording.
fn said(ui: &mut Ui, chart: &ChartText, view: &View) {
    let soft = theme::palette(ui.ctx()).soft;
    let reading = chart.reading();
    if let (Some(read), Ok(melody)) = (chart.chart(), &reading.melody) {
        match view.as_written.beat_ticks {
            Some(ticks) if !melody.is_empty() => bar(ui, read, melody, ticks),
            _ => {
                widgets::remark(ui, &length(melody), soft);
            }
        }
    }
    let takes = &view.pages.takes;
    let words = match (takes.stage(), takes.became()) {
        (Stage::On, _) => match takes.notes() {
            0 if !view.settings.plays_chart() => {
                "Recording: only what is played over the chart. Take chords from it.".to_owned()
            }
            0 => "Recording: play over the chart.".to_owned(),
            1 => "Recording: 1 note.".to_owned(),
            notes => format!("Recording: {notes} notes."),
        },
        (Stage::Ending, _) if chart.chart().is_none() => WAITS.to_owned(),
        (Stage::Ending, _) => "The recording ends.".to_owned(),
        (Stage::Idle, Some(became)) => became.words(),
        (Stage::Idle, None) => return,
    };
    widgets::remark(ui, &words, soft);
}

/// How long the melody is, in words.
fn length(melody: &Melody) -> String {
    match melody.notes().len() {
        0 => "No melody is written.".to_owned(),
        1 => "The melody has 1 note.".to_owned(),
        notes => format!("The melody has {notes} notes."),
    }
}

/// The notes of the bar at a tick, with the one that sounds there.
fn bar(ui: &mut Ui, chart: &Chart, melody: &Melody, ticks: u32) {
    let Some(bar) = chart.bars.get(chart.bar_at(ticks)) else {
        return;
    };
    let palette = theme::palette(ui.ctx());
    let (number, _) = chart.bar_and_beat(ticks);
    let number = match number {
        0 => "Pickup".to_owned(),
        number => format!("Bar {number}"),
    };
    let within = bar.start_ticks..bar.start_ticks.saturating_add(bar.meter.bar_ticks());
    let notes = melody.within(&within);
    let now = melody.at(ticks);
    let name = |note: &MelodyNote| {
        let pitch = note.spelled();
        let name = pitch.name.named(chart.names);
        view::with_signs(&format!("{name}{}", pitch.octave))
    };
    let names: Vec<String> = notes.iter().map(name).collect();
    let spoken = match (names.as_slice(), now) {
        ([], _) => format!("{number}: no melody"),
        (names, None) => format!("{number}: {}", names.join(" ")),
        (names, Some(now)) => format!("{number}: {}; now {}", names.join(" "), name(now)),
    };
    let row = ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 6.0;
        let words = |words: &str| RichText::new(words).text_style(egui::TextStyle::Small);
        ui.label(words(&number).color(palette.soft));
        for (note, name) in notes.iter().zip(&names) {
            let text = if Some(note) == now {
                words(name).color(palette.bright).strong().underline()
            } else {
                words(name).color(palette.soft)
            };
            ui.add(Label::new(text).selectable(false));
        }
    });
    let response = ui.interact(
        row.response.rect,
        Id::unique("the melody of the bar"),
        Sense::hover(),
    );
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &spoken));
}
