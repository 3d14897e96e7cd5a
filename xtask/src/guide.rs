//! `cargo xtask guide`: the guide in `plugin/guide` as static HTML, with a search. It imports `command` and
//! `workspace`; only `main` imports it.
//!
//! The renderer lies in `xtask/guide`, a workspace of its own, for nothing else needs what it is made of.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, ensure};
use fs_extra::dir::CopyOptions;
use lexopt::prelude::*;
use xshell::cmd;

use crate::command::{self, Command};
use crate::workspace::Workspace;

/// The command.
pub const COMMAND: Command = Command {
    name: "guide",
    arguments: "[--out DIR]",
    summary: "render the guide as HTML; DIR is a new folder, an empty one, or one with a guide that it replaces",
    read: |parser| {
        let out = read(parser)?;
        Ok(Box::new(move || run(out.as_deref())))
    },
};

fn read(parser: &mut lexopt::Parser) -> Result<Option<PathBuf>, lexopt::Error> {
    let mut out = None;
    while let Some(argument) = parser.next()? {
        match argument {
            Long("out") => out = Some(command::file(parser)?),
            other => return Err(other.unexpected()),
        }
    }
    Ok(out)
}

fn run(out: Option<&Path>) -> Result<()> {
    let workspace = Workspace::locate()?;
    // The renderer empties this folder, so it is one of ours.
    let rendered = workspace.target.join("guide");
    if let Some(out) = out {
        ensure_free(out)?;
    }
    let (manifest, target) = (
        "xtask/guide/Cargo.toml",
        workspace.target.join("guide-tool"),
    );
    cmd!(
        workspace.shell,
        "cargo run --quiet --locked --manifest-path {manifest} --target-dir {target} -- {rendered}"
    )
    .run()?;
    let place = match out {
        None => &rendered,
        Some(out) => {
            copy(&rendered, out)?;
            out
        }
    };
    println!("{}", place.join(FIRST_PAGE).display());
    Ok(())
}

/// The page that a browser opens first.
const FIRST_PAGE: &str = "index.html";
/// What the first page of our guide has in its head.
const TITLE: &str = "Guidehand</title>";

/// Fails if the folder holds something other than a guide.
fn ensure_free(out: &Path) -> Result<()> {
    let first = out.join(FIRST_PAGE);
    let is_guide = || fs::read_to_string(&first).is_ok_and(|page| page.contains(TITLE));
    let holds_something = match fs::read_dir(out) {
        Ok(mut entries) => entries.next().is_some(),
        Err(_) => out.exists(),
    };
    ensure!(
        !holds_something || is_guide(),
        "{} holds something else: expected a new folder, an empty one, or one with a guide",
        out.display()
    );
    Ok(())
}

/// Copies pages over those of an older guide. Other files in the folder stay.
fn copy(from: &Path, to: &Path) -> Result<()> {
    fs::create_dir_all(to).with_context(|| format!("cannot make {}", to.display()))?;
    let options = CopyOptions::new().content_only(true).overwrite(true);
    fs_extra::dir::copy(from, to, &options)
        .with_context(|| format!("cannot copy the pages into {}", to.display()))?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_may_be_named() {
        let read = |words: &[&str]| {
            read(&mut lexopt::Parser::from_args(words)).map_err(|error| error.to_string())
        };
        assert_eq!(read(&[]), Ok(None));
        assert_eq!(read(&["--out", "a"]), Ok(Some("a".into())));
        for mistake in [&["--out"][..], &["--out", ""], &["a"]] {
            assert!(read(mistake).is_err(), "{mistake:?}");
        }
    }

    /// The title in the head of a page comes from the settings of the renderer.
    #[test]
    fn the_title_is_that_of_the_renderer() {
        let settings = include_str!("../guide/book.toml");
        let title = TITLE.strip_suffix("</title>").unwrap();
        assert!(settings.contains(&format!("title = \"{title}\"\n")));
    }

    #[test]
    fn only_a_guide_is_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let [pages, out] = ["pages", "out"].map(|name| folder.path().join(name));
        let page = |text: &str| {
            fs::create_dir_all(&pages).unwrap();
            fs::write(pages.join(FIRST_PAGE), format!("{text} - {TITLE}")).unwrap();
        };
        let written = || fs::read_to_string(out.join(FIRST_PAGE)).unwrap();

        ensure_free(&out).unwrap();
        page("old");
        copy(&pages, &out).unwrap();
        assert_eq!(written(), format!("old - {TITLE}"));
        fs::write(out.join("notes.txt"), "mine").unwrap();
        ensure_free(&out).unwrap();
        page("new");
        copy(&pages, &out).unwrap();
        assert_eq!(written(), format!("new - {TITLE}"));
        assert_eq!(fs::read_to_string(out.join("notes.txt")).unwrap(), "mine");

        fs::write(out.join(FIRST_PAGE), "<title>another page</title>").unwrap();
        for taken in [&out, &out.join("notes.txt")] {
            let error = ensure_free(taken).unwrap_err().to_string();
            assert!(error.ends_with("or one with a guide"), "{error}");
        }
    }
}
