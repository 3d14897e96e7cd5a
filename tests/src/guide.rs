//! The texts for users: the README, and the chapters of the guide in `plugin/guide`. Tests and commands that
//! check what they say read them here. Imports no other file.

use std::io;
use std::path::{Path, PathBuf};

/// The folder of the chapters, from the root of the repository.
pub const CHAPTERS: &str = "plugin/guide";

/// The chapters in their order, as mdBook reads it.
pub const CONTENTS: &str = "SUMMARY.md";

/// A text in Markdown.
#[derive(Clone, Debug)]
pub struct Text {
    /// Its place, from the root of the repository.
    pub path: PathBuf,
    /// What it says.
    pub text: String,
}

/// The root of the repository.
#[must_use]
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// A file of the repository.
///
/// # Errors
/// If it cannot be read as a text.
pub fn text(path: impl Into<PathBuf>) -> io::Result<Text> {
    let path = path.into();
    let text = std::fs::read_to_string(root().join(&path))?;
    Ok(Text { path, text })
}

/// A chapter by the name of its file.
///
/// # Errors
/// If it cannot be read as a text.
pub fn chapter(name: &str) -> io::Result<Text> {
    text(Path::new(CHAPTERS).join(name))
}

/// The README, and every chapter in the order of file names.
///
/// # Errors
/// If one of them cannot be read as a text.
pub fn all() -> io::Result<Vec<Text>> {
    let mut names = Vec::new();
    for entry in std::fs::read_dir(root().join(CHAPTERS))? {
        let path = entry?.path();
        if path.extension().is_some_and(|kind| kind == "md") && !path.ends_with(CONTENTS) {
            names.extend(path.file_name().map(|name| Path::new(CHAPTERS).join(name)));
        }
    }
    names.sort();
    let readme = Path::new("README.md").to_owned();
    std::iter::once(readme).chain(names).map(text).collect()
}
