//! The house: what DEVELOPERS.md says of files and folders, against the code.

mod cycles;
mod order;
mod planted_cycles;
mod planted_forms;
mod planted_rooms;
mod planted_tables;
mod rooms;
mod tables;

use crate::source::{Crate, Sources, read};
use std::path::Path;
use tables::Tables;

/// The sources that have tables.
const WITH_TABLES: [&str; 6] = [
    "theory/src",
    "plugin/src",
    "plugin/exchange/src",
    "plugin/practice/src",
    "plugin/bass/src",
    "plugin/files/src",
];

fn tables() -> Tables {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../DEVELOPERS.md");
    Tables::read(&std::fs::read_to_string(path).expect("DEVELOPERS.md"))
}

#[track_caller]
fn assert_none(problems: &[String]) {
    assert!(problems.is_empty(), "\n{}", problems.join("\n"));
}

#[test]
fn the_tables_can_be_read_and_are_of_crates() {
    let tables = tables();
    assert_none(&tables.problems);
    for folder in tables.order.keys() {
        let mut sources = WITH_TABLES.iter();
        let own = sources.any(|source| Path::new(folder).starts_with(source));
        assert!(own, "a table for `{folder}`");
    }
    for source in WITH_TABLES {
        assert!(tables.order.contains_key(source), "{source}");
    }
}

#[test]
fn the_theory_imports_upwards_only() {
    assert_none(&order::check(read("theory/src"), &tables()));
}

#[test]
fn the_plugin_imports_upwards_only() {
    assert_none(&order::check(read("plugin/src"), &tables()));
}

#[test]
fn the_exchange_imports_upwards_only() {
    assert_none(&order::check(read("plugin/exchange/src"), &tables()));
}

#[test]
fn the_practice_imports_upwards_only() {
    assert_none(&order::check(read("plugin/practice/src"), &tables()));
}

#[test]
fn the_bass_imports_upwards_only() {
    assert_none(&order::check(read("plugin/bass/src"), &tables()));
}

#[test]
fn the_files_import_upwards_only() {
    assert_none(&order::check(read("plugin/files/src"), &tables()));
}

#[test]
fn the_theory_has_no_cycle() {
    assert_none(&cycles::check(read("theory/src")));
}

#[test]
fn the_plugin_has_no_cycle() {
    assert_none(&cycles::check(read("plugin/src")));
}

#[test]
fn the_exchange_has_no_cycle() {
    assert_none(&cycles::check(read("plugin/exchange/src")));
}

#[test]
fn the_practice_has_no_cycle() {
    assert_none(&cycles::check(read("plugin/practice/src")));
}

#[test]
fn the_bass_has_no_cycle() {
    assert_none(&cycles::check(read("plugin/bass/src")));
}

#[test]
fn the_files_have_no_cycle() {
    assert_none(&cycles::check(read("plugin/files/src")));
}

#[test]
fn the_hosts_of_the_tests_have_no_cycle() {
    assert_none(&cycles::check(read("tests/src")));
}

#[test]
fn the_commands_have_no_cycle() {
    assert_none(&cycles::check(read("xtask/src")));
}

#[test]
fn rooms_name_nothing_that_is_not_theirs() {
    let crates = WITH_TABLES.map(read);
    let tables = tables();
    assert!(!tables.rooms.is_empty());
    assert_none(&rooms::check(&crates, &tables));
}

/// A crate that a test makes up, in the folder `w/src`.
fn planted(files: &[(&str, &str)]) -> Crate {
    Crate::read(&Sources::planted(files), "w/src", "own")
}
