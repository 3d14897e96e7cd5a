//! The README and the guide as texts: their links, their order, and their length.

use guidehand_tests::guide::{self, CHAPTERS, CONTENTS, Text};
use guidehand_theory::{chart, melody};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

/// The most lines that a newcomer is asked to read.
const README_LINES: usize = 150;

/// What a text links to, and what can be linked to in it.
#[derive(Default)]
struct Outline {
    links: Vec<String>,
    pictures: Vec<String>,
    /// The headings with their level, from 1.
    headings: Vec<(usize, String)>,
}

impl Outline {
    fn read(text: &str) -> Self {
        let mut outline = Self::default();
        let mut heading: Option<String> = None;
        for event in Parser::new_ext(text, Options::ENABLE_TABLES) {
            match event {
                Event::Start(Tag::Link { dest_url, .. }) => outline.links.push(dest_url.into()),
                Event::Start(Tag::Image { dest_url, .. }) => outline.pictures.push(dest_url.into()),
                Event::Start(Tag::Heading { .. }) => heading = Some(String::new()),
                Event::End(TagEnd::Heading(level)) => {
                    let words = heading.take().unwrap_or_default();
                    outline.headings.push((level as usize, words));
                }
                Event::Text(words) | Event::Code(words) => {
                    if let Some(heading) = &mut heading {
                        heading.push_str(&words);
                    }
                }
                _ => {}
            }
        }
        outline
    }

    /// The anchors of the headings, as mdBook makes them and pages for Markdown on the web do.
    fn anchors(&self) -> Vec<String> {
        let mut seen: BTreeMap<String, u32> = BTreeMap::new();
        let anchors = self.headings.iter().map(|(_, words)| {
            let kept = words
                .chars()
                .filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'));
            let anchor: String = kept.collect::<String>().to_lowercase().replace(' ', "-");
            let times = seen.entry(anchor.clone()).or_default();
            *times += 1;
            match *times {
                1 => anchor,
                again => format!("{anchor}-{}", again - 1),
            }
        });
        anchors.collect()
    }
}

/// The path of a link, from the root of the repository.
fn resolved(from: &Path, link: &str) -> PathBuf {
    let mut path = from.parent().unwrap_or(Path::new("")).to_owned();
    for part in Path::new(link).components() {
        match part {
            Component::ParentDir => assert!(path.pop(), "{link} leads out of the repository"),
            other => path.push(other),
        }
    }
    path
}

/// What is wrong with the links of a text among others.
fn problems(text: &Text, others: &[Text]) -> Vec<String> {
    let outline = Outline::read(&text.text);
    let links = outline.links.iter().chain(&outline.pictures);
    let wrong = links.filter_map(|link| {
        if link.starts_with("https://") {
            return None;
        }
        let (path, anchor) = link.split_once('#').unwrap_or((link, ""));
        let path = match path {
            "" => text.path.clone(),
            path => resolved(&text.path, path),
        };
        let is_chapter = |path: &Path| path.starts_with(CHAPTERS);
        // The pages that are made of the chapters have nothing else beside them.
        let goes_along = is_chapter(&path) || path.starts_with("plugin/pictures");
        let target = others.iter().find(|other| other.path == path);
        let found = anchor.is_empty()
            || target.is_some_and(|target| {
                let anchors = Outline::read(&target.text).anchors();
                anchors.iter().any(|one| one == anchor)
            });
        let why = if !guide::root().join(&path).is_file() && target.is_none() {
            "is not there"
        } else if is_chapter(&text.path) && !goes_along {
            "lies outside the guide"
        } else if !found {
            "names no heading"
        } else {
            return None;
        };
        Some(format!("{}: {link} {why}", text.path.display()))
    });
    wrong.collect()
}

fn texts() -> Vec<Text> {
    guide::all().unwrap()
}

#[test]
fn links_lead_somewhere() {
    let texts = texts();
    let wrong: Vec<String> = texts.iter().flat_map(|t| problems(t, &texts)).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    let pictures = |text: &Text| Outline::read(&text.text).pictures.len();
    assert!(texts.iter().map(pictures).sum::<usize>() >= 5);
}

#[test]
fn links_that_lead_nowhere_are_found() {
    let text = |path: &str, text: &str| Text {
        path: path.into(),
        text: text.to_owned(),
    };
    let other = text(
        "plugin/guide/b.md",
        "# B\n## A `x` / y\n## Twice\n## Twice\n",
    );
    let rows = [
        ("README.md", "(plugin/guide/b.md)", None),
        ("README.md", "(LICENSE-MIT)", None),
        ("README.md", "(plugin/guide/b.md#a-x--y)", None),
        ("README.md", "(b.md)", Some("b.md is not there")),
        ("plugin/guide/a.md", "(b.md#twice-1)", None),
        ("plugin/guide/a.md", "(#here)", None),
        ("plugin/guide/a.md", "(https://rustup.rs)", None),
        ("plugin/guide/a.md", "(../pictures/first.png)", None),
        (
            "plugin/guide/a.md",
            "(b.md#twice-2)",
            Some("b.md#twice-2 names no heading"),
        ),
        (
            "plugin/guide/a.md",
            "(#there)",
            Some("#there names no heading"),
        ),
        (
            "plugin/guide/a.md",
            "(../../README.md)",
            Some("../../README.md lies outside the guide"),
        ),
        (
            "plugin/guide/a.md",
            "(../pictures/none.png)",
            Some("../pictures/none.png is not there"),
        ),
    ];
    for (path, link, expected) in rows {
        let text = text(path, &format!("# Here\n[x]{link}\n`[x](not-a-link)`\n"));
        let told = problems(&text, &[text.clone(), other.clone()]);
        let expected = expected.map(|why| format!("{path}: {why}"));
        assert_eq!(told, Vec::from_iter(expected), "{path} {link}");
    }
}

/// The table of contents names every chapter once, by the title that it has itself.
#[test]
fn every_chapter_is_in_the_table_of_contents() {
    let contents = guide::chapter(CONTENTS).unwrap();
    let listed = contents.text.lines().filter_map(|line| {
        let (title, file) = line.trim().strip_prefix("- [")?.split_once("](")?;
        Some((file.strip_suffix(')')?.to_owned(), title.to_owned()))
    });
    let mut listed: Vec<(String, String)> = listed.collect();
    assert_eq!(
        Outline::read(&contents.text).links.len(),
        listed.len(),
        "a line of the table is not read"
    );
    listed.sort();
    let chapters = texts().into_iter().skip(1).map(|chapter| {
        let name = chapter.path.file_name().unwrap().to_str().unwrap();
        let headings = Outline::read(&chapter.text).headings;
        let titles = headings.iter().filter(|(level, _)| *level == 1);
        let titles: Vec<String> = titles.map(|(_, title)| title.clone()).collect();
        (name.to_owned(), titles.join("; "))
    });
    assert_eq!(listed, chapters.collect::<Vec<_>>());
}

/// Every piece of code with a bar line between two words is a chart, or a melody over bars of 4/4.
#[test]
fn charts_and_melodies_that_are_shown_can_be_read() {
    let silence = chart::parse(&"| N.C. ".repeat(16)).unwrap();
    let (mut count, mut melodies) = (0, 0);
    for text in texts() {
        for event in Parser::new_ext(&text.text, Options::ENABLE_TABLES) {
            let Event::Code(code) = event else { continue };
            if !code.contains(" | ") || code.starts_with("cargo") {
                continue;
            }
            if melody::parse(&code, &silence).is_ok_and(|melody| !melody.is_empty()) {
                melodies += 1;
                continue;
            }
            let read = chart::parse(&code);
            assert!(read.is_ok(), "{}: {code}: {read:?}", text.path.display());
            count += 1;
        }
    }
    assert!(count >= 5, "{count} charts");
    assert!(melodies >= 2, "{melodies} melodies");
}

#[test]
fn the_readme_is_a_page_with_two_pictures() {
    let readme = guide::text("README.md").unwrap().text;
    let lines = readme.lines().count();
    assert!(lines <= README_LINES, "{lines} lines");
    let longest = readme.lines().map(|line| line.chars().count()).max();
    assert!(longest <= Some(120), "a line of {longest:?} characters");
    assert_eq!(Outline::read(&readme).pictures.len(), 2);
}
