//! Imports that go against a table, in every form that Rust has for them.

use super::tables::Tables;
use super::{assert_none, order, planted};

const LIB: &str = "mod low;\nmod high;\npub use high::High as Top;\n\
                   pub mod door { pub use crate::high::*; }\n";
const HIGH: &str = "pub struct High;\npub struct Form { pub x: u8 }\npub enum Kind { A }\n\
                    pub trait Trait { const ONE: u8; }\npub const LIMIT: u8 = 1;\n\
                    pub fn go() -> u8 { 1 }\n\
                    pub mod inner { pub struct Deep; pub mod most { pub struct Most; } }\n\
                    impl High { pub fn new() -> Self { Self } }\n";
const TABLE: &str = "| w/src | holds |\n|---|---|\n| `low` | |\n| `high` | |\n| `lib` | |\n";

/// A name of the form, its code, and the line and the path that are to be found.
#[rustfmt::skip]
const FORMS: [(&str, &str, usize, &str); 62] = [
    ("use", "use crate::high::High;", 1, "crate::high::High"),
    ("raw name", "use crate::r#high::r#High;", 1, "crate::high::High"),
    ("group", "use crate::{high::High};", 1, "crate::high::High"),
    ("group of many", "use std::{fmt, mem};\nuse crate::{\n  high::High,\n};", 3, "crate::high::High"),
    ("nested group", "use crate::{high::{inner::{Deep}}};", 1, "crate::high::inner::Deep"),
    ("deep group", "use {crate::{high::{inner::{most::{Most}}}}};", 1, "crate::high::inner::most::Most"),
    ("glob", "use crate::high::*;", 1, "crate::high::*"),
    ("glob in a group", "use crate::{high::{*}};", 1, "crate::high::*"),
    ("glob of an enum", "use crate::high::Kind::*;", 1, "crate::high::Kind::*"),
    ("rename", "use crate::high::High as Other;", 1, "crate::high::High"),
    ("rename to nothing", "use crate::high::Trait as _;", 1, "crate::high::Trait"),
    ("renamed module", "use crate::high as other;\nuse other::High;", 2, "other::High"),
    ("renamed crate", "extern crate self as all;\nuse all::high::High;", 2, "all::high::High"),
    ("super", "use super::high::High;", 1, "super::high::High"),
    ("super in a group", "use super::{high::High};", 1, "super::high::High"),
    ("super twice", "mod a {\n  use super::super::high::High;\n}", 2, "super::super::high::High"),
    ("self", "use crate::high as other;\nuse self::other::High;", 2, "self::other::High"),
    ("self and super", "use self::super::high::High;", 1, "self::super::high::High"),
    ("self in a group", "use crate::high::{self};\nfn f() { high::go(); }", 2, "high::go"),
    ("self renamed", "use crate::high::{self as h};\nfn f() { h::go(); }", 2, "h::go"),
    ("module", "use crate::high;\nfn f() { high::go(); }", 2, "high::go"),
    ("glob of modules", "use crate::*;\nfn f() { high::go(); }", 1, "crate::*"),
    ("inner module", "use crate::high::inner;\nfn f(_: inner::Deep) {}", 2, "inner::Deep"),
    ("a name not found", "use crate::high::Made;", 1, "crate::high::Made"),
    ("passed on", "pub use crate::high::High;", 1, "crate::high::High"),
    ("passed on to some", "pub(crate) use crate::high::*;", 1, "crate::high::*"),
    ("through a re-export", "use crate::Top;", 1, "crate::Top"),
    ("through a glob", "use crate::door::High;", 1, "crate::door::High"),
    ("glob of a glob", "use crate::door::*;", 1, "crate::door::*"),
    ("path to a re-export", "fn f(_: crate::door::inner::Deep) {}", 1, "crate::door::inner::Deep"),
    ("within a function", "fn f() {\n  use crate::high::High;\n}", 2, "crate::high::High"),
    ("within a block", "const C: u8 = {\n  use crate::high::LIMIT;\n  LIMIT\n};", 2, "crate::high::LIMIT"),
    ("within a closure", "fn f() { || { use crate::high;\n high::go() }; }", 2, "high::go"),
    ("within a method", "struct S;\nimpl S { fn f() { use super::high::go; } }", 2, "super::high::go"),
    ("call", "fn f() { crate::high::go(); }", 1, "crate::high::go"),
    ("value", "fn f() -> u8 { super::high::LIMIT }", 1, "super::high::LIMIT"),
    ("array length", "static S: [u8; crate::high::LIMIT as usize] = [0];", 1, "crate::high::LIMIT"),
    ("function of a type", "fn f() { crate::Top::new(); }", 1, "crate::Top::new"),
    ("struct", "fn f() { crate::high::Form { x: 1 }; }", 1, "crate::high::Form"),
    ("parameter", "fn f(_: &crate::high::High) {}", 1, "crate::high::High"),
    ("result", "fn f() -> Vec<crate::high::High> { vec![] }", 1, "crate::high::High"),
    ("turbofish", "fn f() { g::<crate::high::High>(); }", 1, "crate::high::High"),
    ("field", "struct S { x: Option<crate::high::High> }", 1, "crate::high::High"),
    ("alias", "type T = crate::high::High;", 1, "crate::high::High"),
    ("bound", "fn f<T: crate::high::Trait>() {}", 1, "crate::high::Trait"),
    ("where", "fn f<T>() where T: crate::high::Trait {}", 1, "crate::high::Trait"),
    ("dyn", "fn f(_: &dyn crate::high::Trait) {}", 1, "crate::high::Trait"),
    ("qualified", "fn f() -> u8 { <u8 as crate::high::Trait>::ONE }", 1, "crate::high::Trait"),
    ("impl", "impl crate::high::Trait for u8 { const ONE: u8 = 1; }", 1, "crate::high::Trait"),
    ("pattern", "fn f(k: K) { match k { crate::high::Kind::A => {} } }", 1, "crate::high::Kind::A"),
    ("struct pattern", "fn f(k: K) { let crate::high::Form { x } = k; }", 1, "crate::high::Form"),
    ("assert!", "fn f() { assert!(crate::high::go() > 0, \"no\"); }", 1, "crate::high::go"),
    ("format!", "fn f() { format!(\"{}\", super::high::LIMIT); }", 1, "super::high::LIMIT"),
    ("matches!", "fn f(k: K) { matches!(k, A | crate::high::Kind::A if true); }", 1, "crate::high::Kind::A"),
    ("vec!", "fn f() { vec![crate::high::LIMIT; 3]; }", 1, "crate::high::LIMIT"),
    ("a macro's own words", "odd! { => [crate::high::High] ; => }", 1, "crate::high::High"),
    ("macro by rules", "macro_rules! m { () => { $crate::high::go() } }", 1, "crate::high::go"),
    ("derive", "#[derive(Debug, crate::high::High)]\nstruct S;", 1, "crate::high::High"),
    ("text of an attribute", "struct S {\n  #[serde(default = \"crate::high::go\")]\n  x: u8 }", 2, "crate::high::go"),
    ("after tests", "#[cfg(test)]\nmod tests { fn f() {} }\nuse crate::high::High;", 3, "crate::high::High"),
    ("outside tests", "#[cfg(not(test))]\nuse crate::high::High;", 2, "crate::high::High"),
    ("not only for tests", "#[cfg(any(test, unix))]\nuse crate::high::High;", 2, "crate::high::High"),
];

/// Code that names nothing of the file below it, or only in tests.
#[rustfmt::skip]
const FREE: [(&str, &str); 17] = [
    ("a comment", "// use crate::high::High;\n/// crate::high::High\nstruct S;"),
    ("a text", "const S: &str = \"use crate::high::High;\";"),
    ("tests", "#[cfg(test)]\nmod tests { use crate::high::High; }"),
    ("tests of a system", "#[cfg(all(unix, test))]\nmod tests { use crate::high::High; }"),
    ("an import of tests", "#[cfg(test)]\nuse crate::high::High;"),
    ("a test", "#[test]\nfn t() { crate::high::go(); }"),
    ("a helper of tests", "struct S;\nimpl S {\n#[cfg(test)]\nfn t() { crate::high::go(); } }"),
    ("a field of tests", "struct S {\n#[cfg(test)]\nx: crate::high::High }"),
    ("a variant of tests", "enum E {\n#[cfg(test)]\nA(crate::high::High) }"),
    ("a constant of tests", "impl S {\n#[cfg(test)]\nconst A: u8 = crate::high::LIMIT; }"),
    ("a statement of tests", "fn f() {\n#[cfg(test)]\nlet x = crate::high::go(); }"),
    ("a block of tests", "fn f() {\n#[cfg(test)]\n{ crate::high::go(); } }"),
    ("a file of tests", "#![cfg(test)]\nuse crate::high::High;"),
    ("who may see", "pub(in crate) fn f() {}\npub(super) struct S;"),
    ("a variable of that name", "fn f(high: u8) -> u8 { high.max(1) + high }"),
    ("a method of that name", "fn f(x: u8) { x.high(); x.go(); }"),
    ("its own names", "mod inner { pub struct High; }\nuse inner::High;\nfn f(_: self::High) {}"),
];

fn check(low: &str, high: &str) -> Vec<String> {
    let of = planted(&[
        ("w/src/lib.rs", LIB),
        ("w/src/low.rs", low),
        ("w/src/high.rs", high),
    ]);
    assert_none(&of.problems);
    order::check(&of, &Tables::read(TABLE))
}

#[test]
fn every_form_against_the_table_is_found() {
    for (name, code, line, item) in FORMS {
        let message = format!(
            "w/src/low.rs:{line}: imports `{item}` from w/src/high.rs, \
             but the table of `w/src` has `low` above `high`"
        );
        assert_eq!(check(code, HIGH), [message], "{name}: {code}");
    }
}

#[test]
fn the_same_forms_upwards_are_free() {
    for (name, code, ..) in FORMS {
        let of = planted(&[
            (
                "w/src/lib.rs",
                &LIB.replace("high", "low")
                    .replace("mod low;\nmod low;", "mod low;\nmod high;"),
            ),
            ("w/src/low.rs", HIGH),
            ("w/src/high.rs", &code.replace("high", "low")),
        ]);
        assert_none(&of.problems);
        assert_none(&order::check(&of, &Tables::read(TABLE)));
        let found = of
            .imports
            .iter()
            .filter(|import| import.file == "w/src/high.rs");
        assert!(found.count() > 0, "{name}");
    }
}

#[test]
fn tests_comments_and_names_of_their_own_are_free() {
    for (name, code) in FREE {
        let problems = check(code, HIGH);
        assert!(problems.is_empty(), "{name}: {problems:?}");
    }
}

#[test]
fn files_of_tests_are_free() {
    let of = planted(&[
        ("w/src/lib.rs", LIB),
        (
            "w/src/low.rs",
            "#[cfg(test)]\nmod tests;\n#[cfg(test)]\n#[path = \"apart.rs\"]\nmod other;\n",
        ),
        ("w/src/low/tests.rs", "mod more;\nuse crate::high::High;\n"),
        ("w/src/low/tests/more.rs", "use crate::high::High;\n"),
        ("w/src/apart.rs", "use crate::high::High;\n"),
        ("w/src/high.rs", HIGH),
    ]);
    assert_none(&of.problems);
    assert_none(&order::check(&of, &Tables::read(TABLE)));
}

#[test]
fn methods_of_a_type_count_for_the_file_that_defines_them() {
    let low = "pub struct Low;\nimpl Low {\n  fn f(&self) { self.far(); }\n}\n";
    let high = "use crate::low::Low;\nimpl Low { pub fn far(&self) {} }\n";
    let against = |item: &str| {
        format!(
            "w/src/low.rs:3: imports `{item}` from w/src/high.rs, \
             but the table of `w/src` has `low` above `high`"
        )
    };
    let high = format!("{high}pub struct High;");
    assert_eq!(check(low, &high), [against("self.far")]);
    let by_name = low.replace("self.far()", "Low::far(self)");
    assert_eq!(check(&by_name, &high), [against("Low::far")]);
    let by_self = low.replace("self.far()", "Self::far(self)");
    assert_eq!(check(&by_self, &high), [against("Self::far")]);
    let other = low.replace("self.far()", "self.own()");
    assert_none(&check(&other, &high));
}
