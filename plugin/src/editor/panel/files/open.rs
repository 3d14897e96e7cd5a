//! Files without a typed path: picked in a dialog, or dropped on the panel. The panel's thread;
//! `files` and `panel` import it.

use crate::editor::model::action::{Action, Actions};
use crate::editor::model::files::FilesAction;
use crate::editor::model::files::kind::FileKind;
use crate::editor::widgets;
use egui::{Context, Ui};

/// The buttons that open a dialog.
pub fn dialogs(ui: &mut Ui, push: &mut impl FnMut(FilesAction)) {
    ui.horizontal(|ui| {
        for (action, word, name, tip) in [
            (
                FilesAction::Open,
                "Open ...",
                "Open a file",
                "Picks a MIDI or MusicXML file, or a chart as text, and imports its chords.",
            ),
            (
                FilesAction::SaveAs(FileKind::Midi),
                "Save MIDI as ...",
                "Save MIDI as",
                "Picks a place and a name, and exports what is played as MIDI.",
            ),
            (
                FilesAction::SaveAs(FileKind::MusicXml),
                "Save MusicXML as ...",
                "Save MusicXML as",
                "Picks a place and a name, and exports the chart and its voicings as a page.",
            ),
        ] {
            if widgets::button(ui, word, name, tip) {
                push(action);
            }
        }
    });
}

/// Tells of files that were dropped on the panel since the last frame.
pub fn dropped(ctx: &Context, actions: &mut Actions) {
    let paths: Vec<_> = ctx.input(|input| {
        let files = input.raw.dropped_files.iter();
        files.map(|file| file.path().to_owned()).collect()
    });
    if !paths.is_empty() {
        actions.push(Action::Files(FilesAction::Drop(paths)));
    }
}
