//! A crate as what its files take from each other and from elsewhere.

use super::code::{self, Leads};
use super::files::Sources;
use super::load;
use std::collections::BTreeSet;
use std::fmt;

/// A crate that has been read.
pub struct Crate {
    /// The folder of its sources.
    pub source: String,
    /// Its files that are there for more than tests.
    pub files: BTreeSet<String>,
    /// What its files take from each other, in the order of files and lines.
    pub imports: Vec<Import>,
    /// What its files name of other crates.
    pub outside: Vec<Outside>,
    /// What could not be read.
    pub problems: Vec<String>,
}

/// A file names what another file of its crate defines.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Import {
    pub file: String,
    pub line: usize,
    /// The path as written.
    pub item: String,
    pub from: String,
    /// A head file passes on what its folder defines.
    pub wiring: bool,
}

/// A file names something of another crate.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Outside {
    pub file: String,
    pub line: usize,
    /// The whole path, whatever it was imported as.
    pub path: Vec<String>,
    /// Whether it brings all that the path holds.
    pub glob: bool,
}

impl Crate {
    /// Reads the crate whose sources lie in a folder; `name` is what its programs call its library.
    pub fn read(sources: &Sources, source: &str, name: &str) -> Self {
        let loaded = load::load(sources, source, name);
        let path = |file: usize| loaded.files[file].path.clone();
        let mut imports = BTreeSet::new();
        let mut outside = BTreeSet::new();
        for found in (0..loaded.files.len()).flat_map(|file| code::read(&loaded, file)) {
            let file = path(found.file);
            match found.leads {
                Leads::File(from) if from != found.file => {
                    let from = path(from);
                    let wiring = found.passed_on && heads(&file, &from);
                    imports.insert(Import {
                        file,
                        line: found.line,
                        item: found.written,
                        from,
                        wiring,
                    });
                }
                Leads::File(_) => {}
                Leads::Outside { path, glob } => {
                    outside.insert(Outside {
                        file,
                        line: found.line,
                        path,
                        glob,
                    });
                }
            }
        }
        Self {
            source: source.to_owned(),
            files: loaded.files.iter().map(|file| file.path.clone()).collect(),
            imports: imports.into_iter().collect(),
            outside: outside.into_iter().collect(),
            problems: loaded.problems,
        }
    }
}

impl fmt::Display for Outside {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let glob = if self.glob { "::*" } else { "" };
        write!(f, "{}{glob}", self.path.join("::"))
    }
}

impl Outside {
    /// Whether this is, or may bring, what is forbidden.
    pub fn names(&self, forbidden: &str) -> bool {
        let forbidden: Vec<&str> = forbidden.split("::").collect();
        let same = |(a, b): (&&str, &String)| *a == b;
        let common = forbidden.iter().zip(&self.path).all(same);
        common && (self.path.len() >= forbidden.len() || self.glob)
    }
}

/// Whether a file is the head of a folder that holds the other: `a.rs` or `a/mod.rs` of `a/b.rs`.
pub fn heads(head: &str, inner: &str) -> bool {
    let stem = head.strip_suffix("/mod.rs").or(head.strip_suffix(".rs"));
    let rest = stem.and_then(|stem| inner.strip_prefix(stem));
    rest.is_some_and(|rest| rest.starts_with('/'))
}
