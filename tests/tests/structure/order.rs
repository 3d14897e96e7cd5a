//! The files of a crate against the tables of its folders.

use super::tables::Tables;
use crate::source::{Crate, Import};
use std::collections::{BTreeMap, BTreeSet};

/// One message for each file that a table lacks, each row without a file, and each import that
/// goes against a table.
pub fn check(of: &Crate, tables: &Tables) -> Vec<String> {
    let folders = folders(of);
    let mut problems = Vec::new();
    for (folder, modules) in &folders {
        let Some(order) = tables.order.get(folder) else {
            if modules.len() > 1 {
                let names: Vec<&str> = modules.iter().map(|name| &**name).collect();
                problems.push(format!(
                    "DEVELOPERS.md: no table for `{folder}`, which holds {}",
                    names.join(", ")
                ));
            }
            continue;
        };
        for module in modules.iter().filter(|module| !order.contains(module)) {
            problems.push(format!(
                "DEVELOPERS.md: the table of `{folder}` has no row for `{module}`"
            ));
        }
        for (at, module) in order.iter().enumerate() {
            if !modules.contains(module) {
                problems.push(format!(
                    "DEVELOPERS.md: the table of `{folder}` has a row for `{module}`, \
                     but there is no {folder}/{module}.rs"
                ));
            } else if order[..at].contains(module) {
                problems.push(format!(
                    "DEVELOPERS.md: the table of `{folder}` has two rows for `{module}`"
                ));
            }
        }
    }
    let own = |folder: &&String| **folder == of.source || below(folder, &of.source);
    for folder in tables.order.keys().filter(own) {
        if !folders.contains_key(folder) {
            problems.push(format!(
                "DEVELOPERS.md: there is a table for `{folder}`, but no such folder"
            ));
        }
    }
    let mut told = BTreeSet::new();
    for import in of.imports.iter().filter(|import| !import.wiring) {
        if told.insert((&import.file, &import.from)) {
            problems.extend(judge(of, tables, import));
        }
    }
    problems
}

/// The folders of a crate with the modules in each.
fn folders(of: &Crate) -> BTreeMap<String, BTreeSet<String>> {
    let mut folders = BTreeMap::<String, BTreeSet<String>>::new();
    for file in &of.files {
        let mut folder = of.source.clone();
        for part in modules(of, file).into_iter().flatten() {
            let modules = folders.entry(folder.clone()).or_default();
            modules.insert(part.to_owned());
            folder = format!("{folder}/{part}");
        }
    }
    folders
}

/// A file as the modules on the way to it; none if it lies elsewhere.
fn modules<'a>(of: &Crate, file: &'a str) -> Option<Vec<&'a str>> {
    let inside = file.strip_prefix(&of.source)?.strip_prefix('/')?;
    let stem = inside
        .strip_suffix("/mod.rs")
        .or(inside.strip_suffix(".rs"));
    Some(stem?.split('/').collect())
}

/// An import against the table of the deepest folder that holds both files.
fn judge(of: &Crate, tables: &Tables, import: &Import) -> Option<String> {
    let Import {
        file,
        line,
        item,
        from,
        ..
    } = import;
    let (into, out) = (modules(of, file)?, modules(of, from)?);
    let common = into.iter().zip(&out).take_while(|(a, b)| a == b).count();
    // The head of a folder and a file in it have no order; they only make no cycle.
    let (into, out) = (into.get(common)?, out.get(common)?);
    let around = &modules(of, file)?[..common];
    let folder = [&[&*of.source], around].concat().join("/");
    let order = tables.order.get(&folder)?;
    let place = |module: &str| order.iter().position(|name| name == module);
    (place(into)? < place(out)?).then(|| {
        format!(
            "{file}:{line}: imports `{item}` from {from}, \
             but the table of `{folder}` has `{into}` above `{out}`"
        )
    })
}

fn below(path: &str, folder: &str) -> bool {
    let rest = path.strip_prefix(folder);
    rest.is_some_and(|rest| rest.starts_with('/'))
}
