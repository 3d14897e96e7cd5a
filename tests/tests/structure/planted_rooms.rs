//! Names of other crates, in every form that Rust has for them.

use super::tables::Tables;
use super::{assert_none, planted, rooms};

const TABLE: &str = "| room | never names |\n|---|---|\n| `w/src/a` | `std::fs`, `paint` |\n";

/// The code, the line and the whole path that are to be found, and what the table says.
#[rustfmt::skip]
const FORMS: [(&str, usize, &str, &str); 22] = [
    ("use std::fs;", 1, "std::fs", "std::fs"),
    ("use std::fs::File;", 1, "std::fs::File", "std::fs"),
    ("use ::std::fs::File;", 1, "std::fs::File", "std::fs"),
    ("use std::{fmt, fs};", 1, "std::fs", "std::fs"),
    ("use std::{fmt, fs::{self}};", 1, "std::fs", "std::fs"),
    ("use std::fs as disk;", 1, "std::fs", "std::fs"),
    ("use std::fs::*;", 1, "std::fs::*", "std::fs"),
    ("use std::*;", 1, "std::*", "std::fs"),
    ("use std as s;\nfn f() { s::fs::read(P); }", 2, "std::fs::read", "std::fs"),
    ("extern crate std as s;\nuse s::fs::read;", 2, "std::fs::read", "std::fs"),
    ("extern crate paint;", 1, "paint", "paint"),
    ("use paint;", 1, "paint", "paint"),
    ("use paint::{Color, paint};", 1, "paint::Color", "paint"),
    ("fn f() { std::fs::read(P); }", 1, "std::fs::read", "std::fs"),
    ("fn f(_: Option<&paint::Color>) {}", 1, "paint::Color", "paint"),
    ("fn f() { use std::fs; }", 1, "std::fs", "std::fs"),
    ("fn f() { assert!(std::fs::exists(P)); }", 1, "std::fs::exists", "std::fs"),
    ("odd! { => std::fs::read => }", 1, "std::fs::read", "std::fs"),
    ("fn f() { paint::fill!(1); }", 1, "paint::fill", "paint"),
    ("#[derive(paint::Paint)]\nstruct S;", 1, "paint::Paint", "paint"),
    ("use super::b::Shade;", 1, "paint::Color", "paint"),
    ("#[cfg(test)]\nmod tests { fn f() {} }\nuse std::fs;", 3, "std::fs", "std::fs"),
];

const FREE: [&str; 7] = [
    "use std::fmt;",
    "use std::{fmt, mem};",
    "use std::ffi::OsStr;\nfn f(fs: u8) -> u8 { fs }",
    "#[cfg(test)]\nmod tests { use std::fs; }",
    "// std::fs\nconst S: &str = \"std::fs\";",
    "mod paint { pub struct Color; }\nuse self::paint::Color;\nfn f(_: paint::Color) {}",
    "use super::b::B;",
];

fn check(code: &str) -> Vec<String> {
    let of = planted(&[
        ("w/src/lib.rs", "mod a;\nmod b;\n"),
        ("w/src/a.rs", code),
        (
            "w/src/b.rs",
            "pub use paint::Color as Shade;\nuse std::fs;\npub struct B;\n",
        ),
    ]);
    assert_none(&of.problems);
    rooms::check(&[&of], &Tables::read(TABLE))
}

#[test]
fn every_form_that_a_room_never_names_is_found() {
    for (code, line, path, never) in FORMS {
        let found = check(code);
        let message =
            format!("w/src/a.rs:{line}: names `{path}`, but `w/src/a` never names `{never}`");
        assert_eq!(found.first(), Some(&message), "{code}");
    }
}

#[test]
fn other_names_and_other_rooms_are_free() {
    for code in FREE {
        assert_none(&check(code));
    }
}

#[test]
fn files_below_a_room_are_in_it() {
    let of = planted(&[
        ("w/src/lib.rs", "mod a;\nmod ab;\n"),
        ("w/src/a.rs", "mod b;\n"),
        ("w/src/a/b.rs", "use std::fs;\n"),
        ("w/src/ab.rs", "use std::fs;\n"),
    ]);
    assert_eq!(
        rooms::check(&[&of], &Tables::read(TABLE)),
        ["w/src/a/b.rs:1: names `std::fs`, but `w/src/a` never names `std::fs`"]
    );
}

#[test]
fn a_room_without_a_file_is_found() {
    let of = planted(&[("w/src/lib.rs", "")]);
    assert_eq!(
        rooms::check(&[&of], &Tables::read(TABLE)),
        ["DEVELOPERS.md: there is no room `w/src/a`"]
    );
}
