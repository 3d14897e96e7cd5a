//! Files that import each other.

use super::{assert_none, cycles, planted};

const LIB: (&str, &str) = ("w/src/lib.rs", "mod a;\nmod b;\nmod c;\n");

fn check(files: &[(&str, &str)]) -> Vec<String> {
    let of = planted(files);
    assert_none(&of.problems);
    cycles::check(&of)
}

#[test]
fn a_chain_is_no_cycle() {
    let files = [
        LIB,
        ("w/src/a.rs", "use crate::b::B;\nuse crate::c::C;\n"),
        ("w/src/b.rs", "use crate::c::C;\npub struct B;\n"),
        (
            "w/src/c.rs",
            "pub struct C;\n#[cfg(test)]\nmod tests { use crate::b::B; }\n",
        ),
    ];
    assert_none(&check(&files));
}

#[test]
fn a_cycle_of_two_is_found() {
    let files = [
        LIB,
        (
            "w/src/a.rs",
            "use crate::b::{B, go};\npub struct A;\nfn f(b: B) { go(b) }\n",
        ),
        (
            "w/src/b.rs",
            "pub struct B;\npub fn go(_: crate::a::A) {}\n",
        ),
        ("w/src/c.rs", "use crate::a::A;\n"),
    ];
    assert_eq!(
        check(&files),
        ["a cycle of 2 files:\n  \
          w/src/a.rs:1: imports `crate::b::B`, `crate::b::go` from w/src/b.rs\n  \
          w/src/b.rs:2: imports `crate::a::A` from w/src/a.rs"]
    );
}

#[test]
fn a_cycle_of_three_is_found() {
    let files = [
        LIB,
        ("w/src/a.rs", "use crate::b::B;\npub struct A;\n"),
        ("w/src/b.rs", "use super::c::C;\npub struct B;\n"),
        (
            "w/src/c.rs",
            "pub struct C;\nfn f() { assert!(crate::a::A == 1); }\n",
        ),
    ];
    assert_eq!(
        check(&files),
        ["a cycle of 3 files:\n  \
          w/src/a.rs:1: imports `crate::b::B` from w/src/b.rs\n  \
          w/src/b.rs:1: imports `super::c::C` from w/src/c.rs\n  \
          w/src/c.rs:2: imports `crate::a::A` from w/src/a.rs"]
    );
}

#[test]
fn two_cycles_are_told_apart() {
    let files = [
        ("w/src/lib.rs", "mod a;\nmod b;\nmod c;\nmod d;\n"),
        ("w/src/a.rs", "use crate::b::B;\npub struct A;\n"),
        (
            "w/src/b.rs",
            "use crate::a::A;\nuse crate::c::C;\npub struct B;\n",
        ),
        ("w/src/c.rs", "use crate::d::D;\npub struct C;\n"),
        ("w/src/d.rs", "use crate::c::C;\npub struct D;\n"),
    ];
    let found = check(&files);
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(found[0].starts_with("a cycle of 2 files:\n  w/src/a.rs:1"));
    assert!(found[1].starts_with("a cycle of 2 files:\n  w/src/c.rs:1"));
}

/// A head file and a file of its folder.
fn folder(head: &str, inner: &str) -> Vec<String> {
    check(&[
        ("w/src/lib.rs", "mod a;\n"),
        ("w/src/a.rs", head),
        ("w/src/a/b.rs", inner),
    ])
}

#[test]
fn a_head_may_pass_on_what_its_folder_defines() {
    let inner = "use super::A;\npub struct B;\n";
    assert_none(&folder("mod b;\npub use b::B;\npub struct A;\n", inner));
    assert_none(&folder(
        "pub mod b;\npub(crate) use self::b::*;\npub struct A;\n",
        inner,
    ));
    assert_none(&folder("mod b;\nfn f() { b::go(); }\n", "pub fn go() {}\n"));
    let variable =
        "mod b;\npub use b::go;\npub struct A;\nfn f(go: u8) -> u8 { go + format!(\"{}\", go) }\n";
    assert_none(&folder(variable, "use super::A;\npub fn go(_: A) {}\n"));
}

#[test]
fn a_cycle_of_a_head_and_its_folder_is_found() {
    let inner = "use super::A;\npub struct B;\n";
    for (head, line, item) in [
        ("mod b;\nuse b::B;\npub struct A;\n", 2, "b::B"),
        ("mod b;\npub use b::B;\npub struct A(B);\n", 3, "B"),
        ("mod b;\npub struct A(b::B);\n", 2, "b::B"),
        ("mod b;\npub use b::*;\npub struct A(B);\n", 3, "B"),
        (
            "mod b;\npub struct A;\nfn f() { format!(\"{}\", self::b::B); }\n",
            3,
            "self::b::B",
        ),
    ] {
        assert_eq!(
            folder(head, inner),
            [format!(
                "a cycle of 2 files:\n  \
                 w/src/a.rs:{line}: imports `{item}` from w/src/a/b.rs\n  \
                 w/src/a/b.rs:1: imports `super::A` from w/src/a.rs"
            )],
            "{head}"
        );
    }
}

#[test]
fn a_head_that_calls_what_its_folder_adds_to_its_type_is_found() {
    let head = "mod b;\npub struct A;\nimpl A {\n  fn f(&self) { self.go(); }\n}\n";
    let inner = "use super::A;\nimpl A {\n  pub fn go(&self) {}\n}\n";
    assert_eq!(
        folder(head, inner),
        ["a cycle of 2 files:\n  \
          w/src/a.rs:4: imports `self.go` from w/src/a/b.rs\n  \
          w/src/a/b.rs:1: imports `super::A` from w/src/a.rs"]
    );
}
