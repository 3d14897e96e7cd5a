//! Whether pages can be read without a network, and whether their links lead somewhere. It imports no other
//! file of this crate.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Component, Path, PathBuf};

use anyhow::{Context, Result};
use scraper::{Html, Selector};
use walkdir::WalkDir;

/// What is wrong with the pages in a folder, a line each.
///
/// # Errors
/// If a file cannot be read.
pub fn problems(folder: &Path) -> Result<Vec<String>> {
    let site = Site::read(folder)?;
    let mut problems: Vec<String> = Vec::new();
    for (path, page) in &site.pages {
        for link in &page.links {
            if let Some(problem) = site.problem(path, link) {
                problems.push(format!("{}: {problem}", path.display()));
            }
        }
        if page.asks_a_server {
            let path = path.display();
            problems.push(format!("{path}: a piece of code that runs on a server"));
        }
    }
    for (path, links) in &site.styles {
        for link in links {
            if let Some(problem) = site.problem(path, link) {
                problems.push(format!("{}: {problem}", path.display()));
            }
        }
    }
    Ok(problems)
}

/// What an element leads to.
struct Link {
    target: String,
    /// Whether a browser loads it with the page. Otherwise it waits for a click.
    is_loaded: bool,
}

struct Page {
    ids: BTreeSet<String>,
    links: Vec<Link>,
    asks_a_server: bool,
}

impl Page {
    fn read(text: &str) -> Self {
        let html = Html::parse_document(text);
        let mut page = Self {
            ids: BTreeSet::new(),
            links: Vec::new(),
            asks_a_server: false,
        };
        let every = Selector::parse("*").expect("a selector");
        for element in html.select(&every) {
            let element = element.value();
            page.ids.extend(element.id().map(str::to_owned));
            page.asks_a_server |= element.classes().any(|class| class == "playground");
            for (name, target) in element.attrs() {
                if matches!(name, "src" | "srcset" | "href" | "xlink:href" | "data") {
                    page.links.push(Link {
                        target: target.to_owned(),
                        is_loaded: element.name() != "a",
                    });
                }
            }
        }
        page
    }
}

/// The files of a folder, by their paths within it.
struct Site {
    files: BTreeSet<PathBuf>,
    pages: BTreeMap<PathBuf, Page>,
    /// What each style sheet loads.
    styles: BTreeMap<PathBuf, Vec<Link>>,
}

impl Site {
    fn read(folder: &Path) -> Result<Self> {
        let mut site = Self {
            files: BTreeSet::new(),
            pages: BTreeMap::new(),
            styles: BTreeMap::new(),
        };
        for entry in WalkDir::new(folder).sort_by_file_name() {
            let entry = entry?;
            if !entry.file_type().is_file() {
                continue;
            }
            let path = entry.path();
            let name = path.strip_prefix(folder)?.to_owned();
            let read = || {
                fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()))
            };
            match name.extension().and_then(|kind| kind.to_str()) {
                Some("html") => {
                    site.pages.insert(name.clone(), Page::read(&read()?));
                }
                Some("css") => {
                    site.styles.insert(name.clone(), loaded_by(&read()?));
                }
                _ => {}
            }
            site.files.insert(name);
        }
        Ok(site)
    }

    /// What is wrong with a link in the file `from`.
    fn problem(&self, from: &Path, link: &Link) -> Option<String> {
        let target = link.target.as_str();
        if target.starts_with("data:") {
            return None;
        }
        if target.contains("//") || target.starts_with('/') || target.contains(':') {
            let fine = !link.is_loaded && target.starts_with("https://");
            return (!fine).then(|| format!("{target} lies outside the guide"));
        }
        let (file, id) = target.split_once('#').unwrap_or((target, ""));
        let Some(path) = resolved(from, file) else {
            return Some(format!("{target} lies outside the guide"));
        };
        if !self.files.contains(&path) {
            return Some(format!("{target} is not there"));
        }
        let ids = self.pages.get(&path).map(|page| &page.ids);
        let found = id.is_empty() || ids.is_some_and(|ids| ids.contains(id));
        (!found).then(|| format!("{target} names no place of that page"))
    }
}

/// The path of a link in the file `from`, within the folder; none if it leads out of it.
fn resolved(from: &Path, link: &str) -> Option<PathBuf> {
    if link.is_empty() {
        return Some(from.to_owned());
    }
    let mut path = from.parent()?.to_owned();
    for part in Path::new(link).components() {
        match part {
            Component::ParentDir => path.pop().then_some(())?,
            Component::CurDir => {}
            other => path.push(other),
        }
    }
    Some(path)
}

/// What a style sheet loads: the addresses in it, and other style sheets.
fn loaded_by(style: &str) -> Vec<Link> {
    let addresses = style.split("url(").skip(1);
    let addresses = addresses.filter_map(|rest| rest.split(')').next());
    let sheets = style.split("@import").skip(1);
    let sheets = sheets.filter_map(|rest| rest.split(';').next());
    addresses
        .chain(sheets)
        .map(|target| Link {
            target: target.trim().trim_matches(['"', '\'']).to_owned(),
            is_loaded: true,
        })
        .collect()
}
