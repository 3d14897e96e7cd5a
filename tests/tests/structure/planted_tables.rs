//! Tables that do not fit the files, and files in nested folders.

use super::tables::Tables;
use super::{assert_none, order, planted};
use crate::source::Crate;

fn check(files: &[(&str, &str)], tables: &str) -> Vec<String> {
    let of = planted(files);
    assert_none(&of.problems);
    order::check(&of, &read(tables))
}

fn read(text: &str) -> Tables {
    let tables = Tables::read(text);
    assert_none(&tables.problems);
    tables
}

/// A table of a folder with these modules.
fn table(folder: &str, modules: &[&str]) -> String {
    let rows = modules
        .iter()
        .map(|module| format!("| `{module}` | words |\n"));
    format!(
        "| {folder} | holds |\n|---|---|\n{}\n",
        rows.collect::<String>()
    )
}

const FLAT: [(&str, &str); 3] = [
    ("w/src/lib.rs", "mod a;\nmod b;\n"),
    ("w/src/a.rs", "pub struct A;\n"),
    ("w/src/b.rs", "use crate::a::A;\n"),
];

const NESTED: [(&str, &str); 6] = [
    ("w/src/lib.rs", "mod up;\nmod down;\n"),
    ("w/src/up.rs", "mod a;\nmod b;\npub use a::A;\n"),
    ("w/src/up/a.rs", "pub struct A;\n"),
    ("w/src/up/b.rs", "use super::A;\npub struct B;\n"),
    ("w/src/down.rs", "pub mod c;\n"),
    ("w/src/down/c.rs", "use crate::up::A;\npub struct C;\n"),
];

/// The nested files, with one of them changed.
fn with(path: &str, text: &str) -> Vec<(String, String)> {
    let changed = NESTED.map(|(p, t)| (p.to_owned(), if p == path { text } else { t }.to_owned()));
    changed.to_vec()
}

fn nested(files: &[(String, String)]) -> Vec<String> {
    let files: Vec<(&str, &str)> = files.iter().map(|(p, t)| (&**p, &**t)).collect();
    let tables = table("w/src", &["up", "down", "lib"]) + &table("w/src/up", &["a", "b"]);
    check(&files, &tables)
}

#[test]
fn a_table_that_fits_is_free() {
    assert_none(&check(&FLAT, &table("w/src", &["a", "b", "lib"])));
    assert_none(&nested(&with("", "")));
}

#[test]
fn a_missing_row_is_found() {
    assert_eq!(
        check(&FLAT, &table("w/src", &["a", "b"])),
        ["DEVELOPERS.md: the table of `w/src` has no row for `lib`"]
    );
}

#[test]
fn a_row_without_a_file_is_found() {
    assert_eq!(
        check(&FLAT, &table("w/src", &["a", "b", "c", "lib"])),
        ["DEVELOPERS.md: the table of `w/src` has a row for `c`, but there is no w/src/c.rs"]
    );
}

#[test]
fn a_second_row_is_found() {
    assert_eq!(
        check(&FLAT, &table("w/src", &["a", "b", "a", "lib"])),
        ["DEVELOPERS.md: the table of `w/src` has two rows for `a`"]
    );
}

#[test]
fn a_missing_table_is_found() {
    assert_eq!(
        check(&NESTED, &table("w/src", &["up", "down", "lib"])),
        ["DEVELOPERS.md: no table for `w/src/up`, which holds a, b"]
    );
}

#[test]
fn a_table_without_a_folder_is_found() {
    let tables = table("w/src", &["a", "b", "lib"]) + &table("w/src/c", &["d"]);
    assert_eq!(
        check(&FLAT, &tables),
        ["DEVELOPERS.md: there is a table for `w/src/c`, but no such folder"]
    );
}

#[test]
fn a_folder_in_a_row_is_a_table() {
    let head = "| folder | holds, from the top |\n|---|---|\n";
    let flat = format!("{head}| `w/src` | `a`: the `first` one; `b`: then; `lib` |\n");
    assert_none(&check(&FLAT, &flat));
    let turned = format!("{head}| `w/src` | `b`: then; `a`: the first one; `lib` |\n");
    assert_eq!(
        check(&FLAT, &turned),
        ["w/src/b.rs:1: imports `crate::a::A` from w/src/a.rs, \
          but the table of `w/src` has `b` above `a`"]
    );
}

#[test]
fn a_sibling_in_a_nested_folder_is_compared_in_its_own_table() {
    for (code, item) in [
        ("use super::b::B;\npub struct A;\n", "super::b::B"),
        ("use crate::up::b::B;\npub struct A;\n", "crate::up::b::B"),
        ("pub struct A(crate::up::b::B);\n", "crate::up::b::B"),
        (
            "use super::super::up::b::B;\npub struct A;\n",
            "super::super::up::b::B",
        ),
    ] {
        assert_eq!(
            nested(&with("w/src/up/a.rs", code)),
            [format!(
                "w/src/up/a.rs:1: imports `{item}` from w/src/up/b.rs, \
                 but the table of `w/src/up` has `a` above `b`"
            )]
        );
    }
}

#[test]
fn files_of_different_folders_are_compared_where_both_folders_stand() {
    assert_eq!(
        nested(&with(
            "w/src/up/a.rs",
            "use super::super::down::c::C;\npub struct A;\n"
        )),
        [
            "w/src/up/a.rs:1: imports `super::super::down::c::C` from w/src/down/c.rs, \
          but the table of `w/src` has `up` above `down`"
        ]
    );
}

#[test]
fn what_a_head_passes_on_counts_for_the_file_that_defines_it() {
    let head = "mod a;\nmod b;\npub use a::A;\npub use b::B;\n";
    let mut files = with("w/src/up.rs", head);
    files[2].1 = "use super::B;\npub struct A;\n".to_owned();
    assert_eq!(
        nested(&files),
        ["w/src/up/a.rs:1: imports `super::B` from w/src/up/b.rs, \
          but the table of `w/src/up` has `a` above `b`"]
    );
}

#[test]
fn a_program_beside_the_library_stands_below_it() {
    let files = [
        ("w/src/lib.rs", "pub struct A;\n"),
        ("w/src/bin/run.rs", "fn main() { own::A; }\n"),
    ];
    assert_none(&check(&files, &table("w/src", &["lib", "bin"])));
    assert_eq!(
        check(&files, &table("w/src", &["bin", "lib"])),
        ["w/src/bin/run.rs:1: imports `own::A` from w/src/lib.rs, \
          but the table of `w/src` has `bin` above `lib`"]
    );
}

#[test]
fn files_that_cannot_be_read_are_found() {
    let problems = |files: &[(&str, &str)]| -> Vec<String> {
        let Crate { problems, .. } = planted(files);
        problems
    };
    assert_eq!(
        problems(&[("w/src/lib.rs", "\nmod a;\n")]),
        ["w/src/lib.rs:2: there is no w/src/a.rs"]
    );
    assert_eq!(
        problems(&[("w/src/lib.rs", ""), ("w/src/a.rs", "")]),
        ["w/src/a.rs: no `mod` leads to this file"]
    );
    let broken = problems(&[("w/src/lib.rs", "fn f() {}\nfn {")]);
    assert!(broken[0].starts_with("w/src/lib.rs:2: "), "{broken:?}");
}

#[test]
fn tables_that_cannot_be_read_are_found() {
    let problems = |text: &str| Tables::read(text).problems;
    let two = table("w/src", &["a"]) + &table("w/src", &["a"]);
    assert_eq!(problems(&two), ["DEVELOPERS.md: two tables for `w/src`"]);
    assert_eq!(
        problems("| w/src | holds |\n|---|---|\n| a | words |\n"),
        ["DEVELOPERS.md: not one name in the first cell: | a | words |"]
    );
    assert_eq!(
        problems("| room | never names |\n|---|---|\n| `a` | `b` | `c` |\n"),
        ["DEVELOPERS.md: not two cells: | `a` | `b` | `c` |"]
    );
    assert_none(&problems(
        "| crossing | from | how |\n|---|---|---|\n| a | b | c |\n",
    ));
}
