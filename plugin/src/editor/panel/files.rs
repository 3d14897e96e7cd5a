//! In and out: the chart and its performance to files and from files, and practice
//! sheets. Imports `desk`, `chart`, `theme` and `widgets`.

#[cfg(test)]
mod tests;

use crate::editor::model::shelf::{Kind, Shelf};
use crate::editor::panel::chart::ChartText;
use crate::editor::window::desk::Desk;
use crate::editor::{theme, widgets};
use egui::{Button, Role, ScrollArea, TextEdit, Ui, WidgetInfo, vec2};
use guidehand_exchange::practice::Order;

/// What the region remembers from frame to frame.
#[derive(Debug, Default)]
pub struct Files {
    /// The path as typed.
    path: String,
    shelf: Shelf,
    /// The seed of the next practice sheet in random order.
    seed: u64,
}

/// Lays the region out.
pub fn region(ui: &mut Ui, files: &mut Files, chart: &mut ChartText, desk: &mut Desk) {
    path(ui, files);
    ui.horizontal(|ui| {
        for (kind, word, tip) in [
            (
                Kind::Midi,
                "Write MIDI file",
                "Writes what is played once through the chart, with bass, chord symbols and tempo.",
            ),
            (
                Kind::MusicXml,
                "Write MusicXML",
                "Writes the chart and its voicings as a page for notation programs.",
            ),
        ] {
            if button(ui, word, tip) {
                let bpm = desk.ends.tempo.bpm();
                files
                    .shelf
                    .write(kind, &files.path, chart.written(), desk.params, bpm);
            }
        }
        let tip =
            "Reads the chords of a MIDI or MusicXML file into the chart; undo brings yours back.";
        if button(ui, "Read", tip)
            && let Some(text) = files.shelf.read(&files.path)
        {
            chart.put_english(&text, desk);
        }
    });
    ui.add_space(6.0);
    ui.horizontal(|ui| {
        widgets::name(ui, "Twelve keys");
        for (order, word, tip) in [
            (
                Order::Fourths,
                "by fourths",
                "Writes the chart out in all twelve keys, each a fourth above the one before.",
            ),
            (
                Order::HalfSteps,
                "by half steps",
                "Writes the chart out in all twelve keys, each a half step above the one before.",
            ),
            (
                Order::Random(files.seed),
                "at random",
                "Writes the chart out in all twelve keys in an order of chance.",
            ),
        ] {
            if button(ui, word, tip) {
                files.seed = files.seed.wrapping_add(1);
                if let Some(text) = files.shelf.practise(chart.written(), chart.names(), order) {
                    chart.put_english(&text, desk);
                }
            }
        }
    });
    ui.add_space(6.0);
    said(ui, files);
}

/// The line for the path.
fn path(ui: &mut Ui, files: &mut Files) {
    ui.horizontal(|ui| {
        widgets::name(ui, "File");
        let edit = TextEdit::singleline(&mut files.path)
            .hint_text("the path of a file, such as music/chart.mid")
            .desired_width(f32::INFINITY);
        let response = ui.add(edit);
        ui.ctx()
            .accesskit_node_builder(response.id, |node| node.set_label("File"));
        widgets::focus(ui, response.rect, &response);
        if response.changed() {
            files.shelf.forget();
        }
    });
}

/// What has come of it, and what could not be read.
fn said(ui: &mut Ui, files: &Files) {
    let palette = theme::palette(ui.ctx());
    let Some(said) = files.shelf.said() else {
        let words = "Only the file that you name here is ever read or written.";
        widgets::remark(ui, words, palette.faint);
        return;
    };
    let colour = if said.failed {
        palette.wrong
    } else {
        palette.bright
    };
    ScrollArea::vertical()
        .id_salt("what the file says")
        .max_height(ui.available_height())
        .auto_shrink(false)
        .show(ui, |ui| {
            widgets::remark(ui, &said.words, colour);
            for line in &said.lines {
                widgets::remark(ui, line, palette.soft);
            }
        });
}

fn button(ui: &mut Ui, word: &str, tip: &str) -> bool {
    let button = Button::new(word).min_size(vec2(0.0, theme::CONTROL));
    let response = ui.add(button);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, ui.is_enabled(), word));
    widgets::focus(ui, response.rect, &response);
    response.on_hover_text(tip).clicked()
}
