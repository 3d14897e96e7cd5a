//! What is rendered, and what is found to be wrong with pages.

use std::fs;
use std::path::Path;

use guidehand_guide::{problems, render};
use tempfile::TempDir;

/// Writes files into a new folder.
fn folder(files: &[(&str, &str)]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    folder
}

#[test]
fn what_leads_nowhere_or_outside_is_told() {
    let rows = [
        (r##"<a href="#here">x</a><p id="here">"##, None),
        (r#"<a href="more/b.html#there">x</a>"#, None),
        (r#"<a href="https://rustup.rs">x</a>"#, None),
        (r#"<img src="data:image/png;base64,AA">"#, None),
        (
            r##"<a href="#there">x</a>"##,
            Some("a.html: #there names no place of that page"),
        ),
        (
            r#"<a href="more/b.html#here">x</a>"#,
            Some("a.html: more/b.html#here names no place of that page"),
        ),
        (
            r#"<a href="c.html">x</a>"#,
            Some("a.html: c.html is not there"),
        ),
        (
            r#"<img src="more/c.png">"#,
            Some("a.html: more/c.png is not there"),
        ),
        (
            r#"<img src="../more/b.html">"#,
            Some("a.html: ../more/b.html lies outside the guide"),
        ),
        (
            r#"<script src="https://example.org/a.js"></script>"#,
            Some("a.html: https://example.org/a.js lies outside the guide"),
        ),
        (
            r#"<link rel="stylesheet" href="//example.org/a.css">"#,
            Some("a.html: //example.org/a.css lies outside the guide"),
        ),
        (
            r#"<iframe src="/etc/passwd">"#,
            Some("a.html: /etc/passwd lies outside the guide"),
        ),
        (
            r#"<pre class="playground">x</pre>"#,
            Some("a.html: a piece of code that runs on a server"),
        ),
    ];
    for (page, expected) in rows {
        let other = r#"<p id="there"><a href="../a.html">x</a>"#;
        let folder = folder(&[("a.html", page), ("more/b.html", other)]);
        let told = problems(folder.path()).unwrap();
        assert_eq!(told, Vec::from_iter(expected), "{page}");
    }
}

#[test]
fn what_a_style_sheet_loads_is_told() {
    let rows = [
        ("a { src: url('a.woff2') url(data:x) }", None),
        (
            "a { src: url('b.woff2') }",
            Some("a.css: b.woff2 is not there"),
        ),
        (
            "@import \"https://example.org/b.css\";",
            Some("a.css: https://example.org/b.css lies outside the guide"),
        ),
    ];
    for (style, expected) in rows {
        let folder = folder(&[("a.css", style), ("a.woff2", "")]);
        let told = problems(folder.path()).unwrap();
        assert_eq!(told, Vec::from_iter(expected), "{style}");
    }
}

/// A book of two chapters, with a picture beside them.
const BOOK: [(&str, &str); 6] = [
    ("xtask/guide/book.toml", include_str!("../book.toml")),
    ("xtask/guide/guide.css", include_str!("../guide.css")),
    (
        "plugin/guide/SUMMARY.md",
        "# Summary\n\n- [One](one.md)\n- [Two](two.md)\n",
    ),
    (
        "plugin/guide/one.md",
        "# One\n\nSee [the end](two.md#the-end-of-it).\n\n![a](../pictures/a.png)\n",
    ),
    (
        "plugin/guide/two.md",
        "# Two\n\n## The end of it\n\nTurnaround.\n",
    ),
    ("plugin/pictures/a.png", "picture"),
];

/// Renders a book that lies in the folder, and tells what is wrong with it.
fn told(folder: &Path) -> Vec<String> {
    let out = folder.join("out");
    match render(&folder.join("xtask/guide"), &out) {
        Ok(()) => problems(&out).unwrap(),
        Err(error) => vec![format!("{error:#}")],
    }
}

#[test]
fn a_book_becomes_pages_with_pictures_and_a_search() {
    let folder = folder(&BOOK);
    assert_eq!(told(folder.path()), Vec::<String>::new());
    let out = folder.path().join("out");
    let read = |name: &str| fs::read_to_string(out.join(name)).unwrap();
    assert_eq!(read("pictures/a.png"), "picture");
    assert_eq!(read("index.html"), read("one.html"));
    assert!(read("two.html").contains("mdbook-searchbar"));
    assert!(read("searchindex.js").contains("Turnaround"));
}

#[test]
fn what_is_wrong_with_a_book_is_told() {
    let rows = [
        ("a.png", "b.png", "pictures/b.png"),
        (
            "two.md#",
            "three.md#",
            "one.html: three.html#the-end-of-it is not there",
        ),
        (
            "#the-end-of-it",
            "#its-end",
            "one.html: two.html#its-end names no place of that page",
        ),
        ("(two.md)", "(three.md)", "three.md"),
        (
            "![a](../pictures",
            "![a](https://example.org",
            "lies outside the guide",
        ),
    ];
    for (from, to, expected) in rows {
        let files = BOOK.map(|(name, text)| (name, text.replace(from, to)));
        let files = files.each_ref().map(|(name, text)| (*name, text.as_str()));
        let folder = folder(&files);
        let told = told(folder.path());
        assert!(
            told.iter().any(|problem| problem.contains(expected)),
            "{expected}: {told:?}"
        );
    }
}

#[test]
fn the_guide_itself_is_whole() {
    let out = tempfile::tempdir().unwrap();
    render(Path::new(env!("CARGO_MANIFEST_DIR")), out.path()).unwrap();
    assert_eq!(problems(out.path()).unwrap(), Vec::<String>::new());
    let chapters = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../plugin/guide");
    let mut count = 0;
    for chapter in fs::read_dir(chapters).unwrap() {
        let name = chapter.unwrap().path().with_extension("html");
        let name = name.file_name().unwrap();
        if name != "SUMMARY.html" {
            assert!(out.path().join(name).exists(), "{name:?}");
            count += 1;
        }
    }
    assert!(count > 0);
}
