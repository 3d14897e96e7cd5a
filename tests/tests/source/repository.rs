//! The crates of this repository. Each is read once, whichever test asks first.

use super::files::Sources;
use super::krate::Crate;
use std::sync::OnceLock;

/// The folder of the sources, and what a program beside the library calls it.
const CRATES: [(&str, &str); 8] = [
    ("theory/src", "guidehand_theory"),
    ("plugin/src", "guidehand"),
    ("plugin/exchange/src", "guidehand_exchange"),
    ("plugin/practice/src", "guidehand_practice"),
    ("plugin/bass/src", "guidehand_bass"),
    ("plugin/files/src", "guidehand_files"),
    ("tests/src", "guidehand_tests"),
    ("xtask/src", "xtask"),
];

/// The crate whose sources lie in a folder.
///
/// # Panics
/// If there is no such crate, or if not all of it can be read.
pub fn read(source: &str) -> &'static Crate {
    static READ: [OnceLock<Crate>; CRATES.len()] = [const { OnceLock::new() }; CRATES.len()];
    let at = CRATES.iter().position(|(folder, _)| *folder == source);
    let at = at.unwrap_or_else(|| panic!("no crate in {source}"));
    READ[at].get_or_init(|| {
        let (source, name) = CRATES[at];
        let of = Crate::read(&Sources::of_the_repository(), source, name);
        assert!(of.problems.is_empty(), "\n{}", of.problems.join("\n"));
        assert!(of.files.len() > 1, "{source}");
        assert!(!of.imports.is_empty() && !of.outside.is_empty(), "{source}");
        of
    })
}
