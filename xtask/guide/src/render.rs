//! From chapters to pages. It imports no other file of this crate.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use mdbook_driver::MDBook;

/// How a chapter names the folder of the pictures, which lies beside that of the chapters.
const BESIDE: &str = "../pictures/";
/// How a page names it. Here it lies among the pages.
const AMONG: &str = "pictures/";

/// The file with the licences of other people's work among the pages.
const LICENCES: &str = "LICENCES-OF-PARTS.txt";

/// Renders the book whose `book.toml` lies in `root` into the folder `out`, with the pictures of its chapters.
/// What was in `out` is lost.
///
/// # Errors
/// If a file that is named cannot be read, or a page cannot be written.
pub fn render(root: &Path, out: &Path) -> Result<()> {
    fs::create_dir_all(out).with_context(|| format!("cannot make {}", out.display()))?;
    let mut book = MDBook::load(root)?;
    // The folder is resolved against the root of the book, so it has to be absolute.
    book.config.build.build_dir = std::path::absolute(out)?;
    let mut pictures = Vec::new();
    book.book.for_each_chapter_mut(|chapter| {
        pictures.extend(named(&chapter.content));
        chapter.content = chapter.content.replace(BESIDE, AMONG);
    });
    book.build()?;
    let from = root.join(&book.config.book.src).join(BESIDE);
    let to = out.join(AMONG);
    fs::create_dir_all(&to)?;
    for picture in pictures {
        let path = from.join(&picture);
        fs::copy(&path, to.join(&picture))
            .with_context(|| format!("cannot copy {}", path.display()))?;
    }
    fs::write(out.join(LICENCES), include_str!("../licences.txt"))?;
    Ok(())
}

/// The pictures that a chapter names.
fn named(chapter: &str) -> impl Iterator<Item = String> {
    let ends = |c: char| c == ')' || c.is_whitespace();
    let places = chapter.split(BESIDE).skip(1);
    places.filter_map(move |rest| rest.split(ends).next().map(str::to_owned))
}
