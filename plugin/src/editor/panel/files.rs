//! In and out: the chart and its performance to files and from files, and practice
//! sheets. Imports `desk`, `chart`, `theme` and `widgets`.

#[cfg(test)]
mod tests;

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::chart::ChartAction;
use crate::editor::model::shelf::{FileKind, Shelf};
use crate::editor::panel::chart::ChartText;
use crate::editor::window::desk::Desk;
use crate::editor::{theme, widgets};
use egui::{ScrollArea, TextEdit, Ui};
use guidehand_exchange::practice::Order;
use guidehand_theory::pitch::NoteNames;
use std::sync::atomic::Ordering;

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
pub fn region(
    ui: &mut Ui,
    files: &mut Files,
    chart: &ChartText,
    desk: &mut Desk,
    actions: &mut Actions,
) {
    let mut put = |text: String| {
        let text = guidehand_theory::chart::renamed(&text, NoteNames::English, chart.names());
        actions.push(Action::Chart(ChartAction::Put(text)));
    };
    path(ui, files);
    ui.horizontal(|ui| {
        for (kind, word, tip) in [
            (
                FileKind::Midi,
                "Write MIDI file",
                "Writes what is played once through the chart, with bass, chord symbols and tempo.",
            ),
            (
                FileKind::MusicXml,
                "Write MusicXML",
                "Writes the chart and its voicings as a page for notation programs.",
            ),
        ] {
            if widgets::button(ui, word, word, tip) {
                let bpm = desk.params.song_bpm.load(Ordering::Relaxed);
                files
                    .shelf
                    .write(kind, &files.path, chart.written(), desk.params, bpm);
            }
        }
        let tip =
            "Reads the chords of a MIDI or MusicXML file into the chart; undo brings yours back.";
        if widgets::button(ui, "Read", "Read", tip)
            && let Some(text) = files.shelf.read(&files.path)
        {
            put(text);
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
            if widgets::button(ui, word, word, tip) {
                files.seed = files.seed.wrapping_add(1);
                if let Some(text) = files.shelf.practise(chart.written(), chart.names(), order) {
                    put(text);
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
