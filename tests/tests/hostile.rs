//! The corpus of the fuzz targets: every file in it keeps the promises of its way
//! in, and soon. The plugin's own are played in the plugin that is built.

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
fn midi_files_of_the_corpus_do_no_harm() {
    replay("midi_file");
}

#[test]
fn musicxml_of_the_corpus_does_no_harm() {
    replay("musicxml");
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

/// Rust files under a folder, without those of tests.
fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() && name != "tests" {
            found.extend(sources(&path));
        } else if name.ends_with(".rs") && !name.ends_with("tests.rs") {
            found.push(path);
        }
    }
    found
}

/// A state and a file are data and nothing else: the code that reads them has no
/// means to do more. The one file that opens files is given their names by the
/// user.
#[test]
fn the_code_has_no_network_and_no_environment_and_opens_files_in_one_place() {
    const NEVER: [&str; 7] = [
        "std::net",
        "std::env",
        "env::var",
        "process::Command",
        "Command::new",
        "libloading",
        "UnixStream",
    ];
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let folders = ["plugin/src", "plugin/exchange/src", "theory/src"];
    let files = folders
        .iter()
        .flat_map(|folder| sources(&root.join(folder)));
    let mut opens_files = Vec::new();
    for path in files {
        let text = fs::read_to_string(&path).unwrap();
        let code = text.split("#[cfg(test)]").next().unwrap_or("");
        for word in NEVER {
            assert!(!code.contains(word), "{}: {word}", path.display());
        }
        if code.contains("std::fs") {
            opens_files.push(path.file_name().unwrap().to_string_lossy().into_owned());
        }
    }
    assert_eq!(opens_files, ["shelf.rs"]);
}
