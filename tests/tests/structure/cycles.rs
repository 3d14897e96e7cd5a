//! Files that import each other, directly or by way of others.

use crate::source::{Crate, Import};
use petgraph::algo::tarjan_scc;
use petgraph::graphmap::DiGraphMap;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// One message for each cycle: its files, and what each imports from the others.
pub fn check(of: &Crate) -> Vec<String> {
    let imports = || of.imports.iter().filter(|import| !import.wiring);
    let mut graph = DiGraphMap::<&str, ()>::new();
    for import in imports() {
        graph.add_edge(&import.file, &import.from, ());
    }
    let cycles = tarjan_scc(&graph)
        .into_iter()
        .filter(|files| files.len() > 1);
    let mut cycles: Vec<BTreeSet<&str>> = cycles.map(|files| files.into_iter().collect()).collect();
    cycles.sort();
    let inside = |files: &BTreeSet<&str>| -> Vec<&Import> {
        let both = |i: &&Import| files.contains(&*i.file) && files.contains(&*i.from);
        imports().filter(both).collect()
    };
    cycles
        .iter()
        .map(|files| message(files, &inside(files)))
        .collect()
}

/// One line for each file and each that it imports from.
fn message(files: &BTreeSet<&str>, imports: &[&Import]) -> String {
    let mut pairs = BTreeMap::<(&str, &str), Vec<&Import>>::new();
    for import in imports {
        pairs
            .entry((&import.file, &import.from))
            .or_default()
            .push(import);
    }
    let mut text = format!("a cycle of {} files:", files.len());
    for ((file, from), imports) in pairs {
        let items = distinct(&imports).join("`, `");
        let line = imports[0].line;
        write!(text, "\n  {file}:{line}: imports `{items}` from {from}").expect("a text");
    }
    text
}

/// The items, without those that an earlier one has brought already.
fn distinct<'a>(imports: &[&'a Import]) -> Vec<&'a str> {
    let mut known = BTreeSet::new();
    let mut items = Vec::new();
    for import in imports {
        let parts: Vec<&str> = import.item.split("::").collect();
        let named = parts
            .iter()
            .position(|part| part.starts_with(char::is_uppercase));
        if known.insert(parts[named.unwrap_or(parts.len() - 1)]) {
            items.push(&*import.item);
        }
    }
    items
}
