//! A path that the player picks in a dialog of the desktop. A dialog stays open as long as the
//! player likes, so it is asked on a thread of its own; see `disk`. Nobody waits for such a
//! thread. Imports no other module but its own; the panel's model imports it.
//!
//! On Linux the dialog is the desktop portal's, which runs in a process of its own. On Windows it
//! has never been tried. On macOS there is none, for there it would run on the host's main thread.

#[cfg(target_os = "linux")]
mod portal;

use std::fmt;
use std::path::PathBuf;
use std::sync::Arc;

/// What is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// The title of the dialog.
    pub title: &'static str,
    /// The folder that it shows first, if one is known.
    pub folder: Option<PathBuf>,
    /// The name that is offered for a file to be written; none where a file is to be read.
    pub name: Option<String>,
    /// The kinds of files that it shows: a name for each, and the endings.
    pub kinds: &'static [(&'static str, &'static [&'static str])],
}

/// What the player answers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// This file.
    Path(PathBuf),
    /// None: the dialog was closed.
    Nothing,
    /// There is no dialog; this is missing.
    NoDialog(String),
}

/// Who asks: the desktop, or a test in its place.
#[derive(Clone)]
pub struct Desktop(Arc<dyn Fn(&Question) -> Answer + Send + Sync>);

impl Desktop {
    /// Answers by a function, for tests.
    #[cfg(test)]
    pub fn answering(answer: impl Fn(&Question) -> Answer + Send + Sync + 'static) -> Desktop {
        Desktop(Arc::new(answer))
    }

    /// Asks, and waits for the answer, however long that takes.
    #[must_use]
    pub fn ask(&self, question: &Question) -> Answer {
        (self.0)(question)
    }
}

impl Default for Desktop {
    fn default() -> Desktop {
        Desktop(Arc::new(ask))
    }
}

impl fmt::Debug for Desktop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Desktop")
    }
}

/// Asks the desktop.
#[cfg(any(target_os = "linux", windows))]
fn ask(question: &Question) -> Answer {
    #[cfg(target_os = "linux")]
    if let Err(missing) = portal::find() {
        return Answer::NoDialog(missing.to_string());
    }
    let mut dialog = rfd::FileDialog::new().set_title(question.title);
    for (name, endings) in question.kinds {
        dialog = dialog.add_filter(*name, endings);
    }
    if let Some(folder) = &question.folder {
        dialog = dialog.set_directory(folder);
    }
    let path = match &question.name {
        Some(name) => dialog.set_file_name(name).save_file(),
        None => dialog.pick_file(),
    };
    path.map_or(Answer::Nothing, Answer::Path)
}

/// Asks the desktop.
#[cfg(not(any(target_os = "linux", windows)))]
fn ask(_: &Question) -> Answer {
    Answer::NoDialog("Guidehand opens none on this system yet".to_owned())
}
