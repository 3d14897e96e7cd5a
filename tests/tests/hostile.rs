//! The corpus of the fuzz targets: every file in it keeps the promises of its way
//! in, and soon. The plugin's own are played in the plugin that is built. The code that
//! reads them names nothing that could do more.

use crate::source::{Crate, Sources, read};
use guidehand_tests::hostile::{Takes, WAYS_IN, WayIn};
use guidehand_tests::{Library, paths};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Far more than any file of the corpus takes, on a slow machine and without
/// optimisation.
const LONGEST: Duration = Duration::from_secs(20);

/// The corpus is part of the repository; fuzzing keeps what it finds elsewhere.
const LARGEST_CORPUS_BYTES: usize = 200_000;

fn fuzz() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz")
}

/// The files of a folder, by name.
fn files(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let entries = fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    let mut files: Vec<_> = entries
        .map(|entry| {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            (name, fs::read(&path).unwrap())
        })
        .collect();
    files.sort();
    files
}

/// Runs every file through its way in; a panic names the file by what is printed
/// before it.
fn replay(name: &str) {
    let WayIn { takes, .. } = WAYS_IN.into_iter().find(|way| way.name == name).unwrap();
    let library = match takes {
        Takes::Bytes(_) => None,
        Takes::Plugin(_) => Some(Library::open(&paths::plugin_path()).unwrap()),
    };
    let files = files(&fuzz().join("corpus").join(name));
    assert!(files.len() > 5, "{} files for {name}", files.len());
    for (file, bytes) in files {
        println!("{name}/{file}");
        let start = Instant::now();
        match (takes, &library) {
            (Takes::Bytes(take), _) => take(&bytes),
            (Takes::Plugin(take), Some(library)) => take(library, &bytes),
            (Takes::Plugin(_), None) => unreachable!("it has been opened"),
        }
        let taken = start.elapsed();
        assert!(taken < LONGEST, "{name}/{file} took {taken:?}");
    }
}

#[test]
fn symbols_of_the_corpus_do_no_harm() {
    replay("symbol");
}

#[test]
fn charts_of_the_corpus_do_no_harm() {
    replay("chart");
}

#[test]
fn melodies_of_the_corpus_do_no_harm() {
    replay("melody");
}

#[test]
fn midi_files_of_the_corpus_do_no_harm() {
    replay("midi_file");
}

#[test]
fn performances_of_the_corpus_do_no_harm() {
    replay("performance");
}

#[test]
fn musicxml_of_the_corpus_does_no_harm() {
    replay("musicxml");
}

#[test]
fn own_voicings_of_the_corpus_do_no_harm() {
    replay("own_voicings");
}

#[test]
fn practice_of_the_corpus_does_no_harm() {
    replay("practice");
}

#[test]
fn states_of_the_corpus_do_no_harm() {
    replay("state");
}

#[test]
fn events_of_the_corpus_do_no_harm() {
    replay("events");
}

#[test]
fn every_way_in_has_a_target_and_a_corpus_and_there_are_no_others() {
    let ways: BTreeSet<String> = WAYS_IN.iter().map(|way| way.name.to_owned()).collect();
    let names = |folder: &str| -> BTreeSet<String> {
        let entries = fs::read_dir(fuzz().join(folder)).unwrap();
        let stem = |path: PathBuf| path.file_stem().unwrap().to_string_lossy().into_owned();
        entries.map(|entry| stem(entry.unwrap().path())).collect()
    };
    assert_eq!(names("targets"), ways);
    assert_eq!(names("corpus"), ways);
    assert!(names("words").is_subset(&ways));
    let manifest = fs::read_to_string(fuzz().join("Cargo.toml")).unwrap();
    let built = manifest.lines().filter_map(|line| {
        let path = line.strip_prefix("path = \"targets/")?;
        path.strip_suffix(".rs\"").map(str::to_owned)
    });
    assert_eq!(built.collect::<BTreeSet<_>>(), ways);
}

#[test]
fn the_corpus_is_small() {
    let corpus = WAYS_IN
        .iter()
        .flat_map(|way| files(&fuzz().join("corpus").join(way.name)));
    let bytes: usize = corpus.map(|(_, bytes)| bytes.len()).sum();
    assert!(bytes < LARGEST_CORPUS_BYTES, "{bytes} bytes");
}

/// What the code never names that reads states and files.
const NEVER: [&str; 5] = [
    "std::net",
    "std::os::unix::net",
    "std::env",
    "std::process::Command",
    "libloading",
];

/// The program that needs no host reads what its user types behind its name.
const PROGRAM: &str = "plugin/src/bin/guidehand-standalone.rs:";

/// One message for each path of a crate that is, or may bring, one of these.
fn names(of: &Crate, paths: &[&str]) -> Vec<String> {
    let named = of.outside.iter().flat_map(|outside| {
        let paths = paths.iter().filter(|path| outside.names(path));
        paths.map(move |_| format!("{}:{}: {outside}", outside.file, outside.line))
    });
    named.collect()
}

/// A state and a file are data and nothing else: the code that reads them has no
/// means to do more. Two files of the plugin touch the disk: the one that opens files
/// is given their names by the user, as is the crate that it writes them with; the other
/// one reads the system's list of this process's threads.
#[test]
fn the_code_has_no_network_and_no_environment_and_opens_files_in_one_place() {
    let crates = [
        "plugin/src",
        "plugin/exchange/src",
        "plugin/bass/src",
        "plugin/files/src",
        "theory/src",
    ];
    let mut opens_files = BTreeSet::new();
    for folder in crates {
        let of = read(folder);
        let mut found = names(of, &NEVER);
        found.retain(|name| !(name.starts_with(PROGRAM) && name.ends_with("std::env::args")));
        assert!(found.is_empty(), "\n{}", found.join("\n"));
        let opens = of.outside.iter().filter(|outside| outside.names("std::fs"));
        let names = opens.map(|outside| outside.file.rsplit('/').next().unwrap().to_owned());
        opens_files.extend(names);
    }
    let expected = [
        "beside.rs",
        "file.rs",
        "links.rs",
        "thread.rs",
        "together.rs",
    ];
    assert_eq!(Vec::from_iter(opens_files), expected);
}

#[test]
fn means_to_do_more_are_found_in_every_form() {
    for (code, found) in [
        ("use std::net::TcpStream;", "1: std::net::TcpStream"),
        ("use std::{fmt, net};", "1: std::net"),
        ("use std::{io, net::{self, TcpStream as T}};", "1: std::net"),
        ("use std::*;", "1: std::*"),
        (
            "use std as s;\nfn f() { s::env::vars(); }",
            "2: std::env::vars",
        ),
        (
            "fn f() {\n  use std::env;\n  env::var(N);\n}",
            "2: std::env",
        ),
        (
            "fn f() { println!(\"{:?}\", std::env::args()); }",
            "1: std::env::args",
        ),
        (
            "use std::process;\nfn f() { process::Command::new(N); }",
            "2: std::process::Command::new",
        ),
        (
            "use std::process::{Command as C};",
            "1: std::process::Command",
        ),
        ("use std::process::*;", "1: std::process::*"),
        ("fn f(_: &libloading::Library) {}", "1: libloading::Library"),
        ("extern crate libloading as l;", "1: libloading"),
        (
            "use std::os::unix::net::UnixStream;",
            "1: std::os::unix::net::UnixStream",
        ),
        ("#[cfg(test)]\nmod tests {}\nuse std::env;", "3: std::env"),
    ] {
        let of = Crate::read(&Sources::planted(&[("w/lib.rs", code)]), "w", "");
        assert_eq!(of.problems, [""; 0], "{code}");
        let named = names(&of, &NEVER);
        assert_eq!(named.first(), Some(&format!("w/lib.rs:{found}")), "{code}");
    }
    for code in [
        "use std::process::ExitCode;",
        "use std::os::unix::ffi::OsStrExt;\nfn f(env: u8, net: u8) -> u8 { env + net }",
        "mod env { pub fn var() {} }\nfn f() { env::var(); }",
        "// std::env\nconst S: &str = \"std::env\";\nconst D: &str = env!(\"D\");",
        "#[cfg(test)]\nmod tests { use std::env; }",
    ] {
        let of = Crate::read(&Sources::planted(&[("w/lib.rs", code)]), "w", "");
        assert_eq!(names(&of, &NEVER), [""; 0], "{code}");
    }
}
