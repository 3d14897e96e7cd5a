//! The import tables of DEVELOPERS.md against the code.

use std::fs;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The modules of a crate in the order of its table, from the top.
fn table(developers: &str, head: &str) -> Vec<String> {
    let mut lines = developers.lines();
    let head = format!("| {head} | holds |");
    assert!(
        lines.any(|l| l == head),
        "no table {head:?} in DEVELOPERS.md"
    );
    let rows = lines.skip(1).take_while(|l| l.starts_with('|'));
    rows.map(|row| {
        let cell = row.split('`').nth(1);
        cell.unwrap_or_else(|| panic!("no module in {row:?}"))
            .to_owned()
    })
    .collect()
}

/// The files of a crate with the module at the top that each belongs to.
fn files(folder: &Path, module: Option<&str>) -> Vec<(String, PathBuf)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a source folder") {
        let path = entry.expect("an entry").path();
        let stem = path
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let top = module.unwrap_or(&stem).to_owned();
        if path.is_dir() {
            found.extend(files(&path, Some(&top)));
        } else if path.extension().is_some_and(|e| e == "rs") && stem != "tests" {
            found.push((top, path));
        }
    }
    found
}

/// Modules that the part of a file outside of its tests names behind `crate::`.
fn imports(text: &str) -> Vec<String> {
    let code = text.split("#[cfg(test)]").next().unwrap_or("");
    let code = code.lines().filter(|l| !l.trim_start().starts_with("//"));
    let mut found = Vec::new();
    for line in code {
        for after in line.split("crate::").skip(1) {
            let name = after
                .split(|c: char| !(c.is_alphanumeric() || c == '_'))
                .next();
            let module = name.filter(|n| n.starts_with(|c: char| c.is_lowercase()));
            found.extend(module.map(str::to_owned));
        }
    }
    found
}

fn check(head: &str, source: &str) {
    let developers = fs::read_to_string(root().join("DEVELOPERS.md")).expect("DEVELOPERS.md");
    let order = table(&developers, head);
    let place = |module: &str| order.iter().position(|m| m == module);
    let files = files(&root().join(source), None);
    assert!(!files.is_empty());
    for (module, path) in &files {
        // The root of the library declares modules and re-exports nothing.
        if module == "lib" && place("lib").is_none() {
            continue;
        }
        let here = place(module).unwrap_or_else(|| panic!("{module} is not in the table {head}"));
        let text = fs::read_to_string(path).expect("a source file");
        for import in imports(&text).iter().filter(|i| *i != module) {
            let there = place(import).unwrap_or_else(|| {
                panic!("{} imports {import}, which the table lacks", path.display())
            });
            assert!(
                there < here,
                "{} imports {import}, which stands below it in DEVELOPERS.md",
                path.display()
            );
        }
    }
    for module in &order {
        assert!(
            files.iter().any(|(m, _)| m == module),
            "DEVELOPERS.md lists {module}, which {source} lacks"
        );
    }
}

#[test]
fn the_theory_imports_upwards_only() {
    check("theory", "theory/src");
}

#[test]
fn the_plugin_imports_upwards_only() {
    check("plugin", "plugin/src");
}

#[test]
fn the_exchange_imports_upwards_only() {
    check("exchange", "plugin/exchange/src");
}

#[test]
fn the_bass_imports_upwards_only() {
    check("bass", "plugin/bass/src");
}

#[test]
fn imports_are_seen() {
    let text = "use crate::pitch::X;\n// crate::not\nlet a = crate::plan::f(crate::cost::g());\n\
                use crate::Type;\n#[cfg(test)]\nmod tests { use crate::chart; }\n";
    assert_eq!(imports(text), ["pitch", "plan", "cost"]);
}
