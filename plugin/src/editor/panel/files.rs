//! Files: the chart and its performance to files and from files, and practice
//! sheets. The panel's thread; `panel` imports it.

pub mod open;
mod recent;
#[cfg(test)]
mod tests;

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::files::kind::FileKind;
use crate::editor::model::files::{Files, FilesAction};
use crate::editor::panel::view::View;
use crate::editor::{theme, widgets};
use egui::{Label, RichText, ScrollArea, TextEdit, Ui};
use guidehand_exchange::practice::Order;

/// Lays the region out.
pub fn region(ui: &mut Ui, view: &View, actions: &mut Actions) {
    let files = &view.pages.files;
    let mut push = |action| actions.push(Action::Files(action));
    open::dialogs(ui, &mut push);
    path(ui, files, &mut push);
    ui.horizontal(|ui| {
        for (action, word, tip) in [
            (
                FilesAction::Read,
                "Import",
                "Reads the chords of the file at this path into the chart; undo brings yours back.",
            ),
            (
                FilesAction::Write(FileKind::Midi),
                "Export MIDI",
                "Writes what is played once through the chart, with bass, chord symbols and tempo.",
            ),
            (
                FilesAction::Write(FileKind::MusicXml),
                "Export MusicXML",
                "Writes the chart and its voicings as a page for notation programs.",
            ),
        ] {
            if widgets::button(ui, word, word, tip) {
                push(action);
            }
        }
    });
    ui.add_space(6.0);
    ui.horizontal(|ui| {
        widgets::name(ui, "My voicings");
        let tip = "Writes your own voicings to a JSON file, to take along.";
        if widgets::button(ui, "export", "Export my voicings", tip) {
            push(FilesAction::Write(FileKind::Voicings));
        }
        let tip = "The voicings of a JSON file come to yours; undo takes them away again.";
        if widgets::button(ui, "import", "Import my voicings", tip) {
            push(FilesAction::ReadVoicings);
        }
        ui.add_space(8.0);
        widgets::name(ui, "Record");
        let tip =
            "Writes the record of your practice to a JSON file, to show it or to take it along.";
        if widgets::button(ui, "export", "Export the practice record", tip) {
            push(FilesAction::Write(FileKind::Record));
        }
        let tip = "The sessions of a JSON file come to your record, and none comes twice.";
        if widgets::button(ui, "import", "Import a practice record", tip) {
            push(FilesAction::ReadRecord);
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
                Order::Random(files.seed()),
                "at random",
                "Writes the chart out in all twelve keys in an order of chance.",
            ),
        ] {
            if widgets::button(ui, word, word, tip) {
                push(FilesAction::Practise(order));
            }
        }
    });
    ui.add_space(6.0);
    under_way(ui, files, &mut push);
    said(ui, view, &mut push);
}

/// The longest name of a part or a line on a button, in characters.
const LONGEST_NAME: usize = 24;
/// So many of them have a button. Few scores have more staves with chords.
const MOST_PARTS: usize = 40;

/// The other parts of the score that was read, each with a button.
fn other_parts(ui: &mut Ui, files: &Files, push: &mut impl FnMut(FilesAction)) {
    let count = files.other_parts().count();
    if count == 0 {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        widgets::name(ui, "Other part");
        for part in files.other_parts().take(MOST_PARTS) {
            let name = format!("Read the part {part}");
            let tip = "Reads the chords of this part of the file instead, as they sound.";
            if widgets::button(ui, &shortened(part), &name, tip) {
                push(FilesAction::ReadPart(part.to_owned()));
            }
        }
    });
    if count > MOST_PARTS {
        let words = format!("{} more parts have chords too.", count - MOST_PARTS);
        widgets::remark(ui, &words, theme::palette(ui.ctx()).soft);
    }
}

/// The other lines of the file that can be its melody, each with a button.
fn other_lines(ui: &mut Ui, files: &Files, push: &mut impl FnMut(FilesAction)) {
    let count = files.other_lines().count();
    if count == 0 {
        return;
    }
    ui.horizontal_wrapped(|ui| {
        widgets::name(ui, "Melody from");
        for line in files.other_lines().take(MOST_PARTS) {
            let name = format!("Read the melody {line}");
            let tip = "Reads the file again, with the notes of this line as its melody.";
            if widgets::button(ui, &shortened(line), &name, tip) {
                push(FilesAction::ReadLine(line.to_owned()));
            }
        }
    });
    if count > MOST_PARTS {
        let words = format!("{} more lines have notes too.", count - MOST_PARTS);
        widgets::remark(ui, &words, theme::palette(ui.ctx()).soft);
    }
}

/// A name as it stands on a button.
fn shortened(name: &str) -> String {
    let mut word: String = name.chars().take(LONGEST_NAME).collect();
    if word.len() < name.len() {
        word.push_str("...");
    }
    word
}

/// The line for the path.
fn path(ui: &mut Ui, files: &Files, push: &mut impl FnMut(FilesAction)) {
    ui.horizontal(|ui| {
        widgets::name(ui, "File");
        let mut path = files.path().to_owned();
        let edit = TextEdit::singleline(&mut path)
            .hint_text("the path of a file, such as music/chart.mid")
            .desired_width(f32::INFINITY);
        let response = ui.add(edit);
        ui.ctx()
            .accesskit_node_builder(response.id, |node| node.set_label("File"));
        widgets::focus(ui, response.rect, &response);
        if response.changed() {
            push(FilesAction::Path(path));
        }
    });
}

/// What is being read or written, and the way to be rid of it.
fn under_way(ui: &mut Ui, files: &Files, push: &mut impl FnMut(FilesAction)) {
    let Some(words) = files.under_way() else {
        return;
    };
    let tip = "Gives the file up; the chart stays as it is.";
    ui.horizontal(|ui| {
        if widgets::button(ui, "Cancel", "Cancel", tip) {
            push(FilesAction::Cancel);
        }
        let colour = theme::palette(ui.ctx()).bright;
        let text = RichText::new(words)
            .font(theme::text(theme::SMALL))
            .color(colour);
        ui.add(Label::new(text).truncate());
    });
}

/// What has come of it, the other parts, and what could not be read; below them the files that were
/// used last.
fn said(ui: &mut Ui, view: &View, push: &mut impl FnMut(FilesAction)) {
    let palette = theme::palette(ui.ctx());
    let files = &view.pages.files;
    ScrollArea::vertical()
        .id_salt("what the file says")
        .max_height(ui.available_height())
        .auto_shrink(false)
        .show(ui, |ui| {
            if let Some(said) = files.said() {
                let colour = if said.failed {
                    palette.wrong
                } else {
                    palette.bright
                };
                widgets::remark(ui, &said.words, colour);
                other_parts(ui, files, push);
                other_lines(ui, files, push);
                for line in &said.lines {
                    widgets::remark(ui, line, palette.soft);
                }
            } else {
                widgets::remark(ui, REST, palette.faint);
            }
            recent::list(ui, &view.recent_files, push);
        });
}

/// What the page says while there is nothing else to say.
const REST: &str = if cfg!(target_os = "linux") {
    "Imports MIDI, MusicXML (also .mxl) and charts as text; exports MIDI and MusicXML. A file may be \
     dropped on the panel, too. No other file is read or written."
} else {
    "Imports MIDI, MusicXML (also .mxl) and charts as text; exports MIDI and MusicXML. No other file \
     is read or written."
};
