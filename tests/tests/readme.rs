//! The README says the same about the plugin as the plugin itself.

use crate::plugin::untouched;
use guidehand_report::request::Request;
use guidehand_tests::comp::comp;
use guidehand_tests::{golden, parameters, paths};

const README: &str = include_str!("../../README.md");

#[test]
fn the_table_of_parameters_is_the_plugins() {
    let table = parameters::table(&mut untouched()).unwrap();
    assert!(table.lines().count() > 30, "{table}");
    let expected = parameters::within(README, &table).expect("the README has the marks");
    let as_expected = README == expected;
    assert!(
        as_expected,
        "`cargo xtask parameters` writes this table into the README:\n{table}"
    );
}

/// Every file that the README links to exists.
#[test]
fn links_lead_somewhere() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let links: Vec<&str> = README
        .split("](")
        .skip(1)
        .filter_map(|rest| rest.split(')').next())
        .filter(|link| !link.contains("://") && !link.starts_with('#'))
        .collect();
    assert!(links.iter().filter(|l| l.ends_with(".png")).count() >= 5);
    for link in links {
        assert!(root.join(link).exists(), "{link} is not there");
    }
}

/// The rows that the README shows of `demo` are those of the first chords that it plays.
#[test]
fn the_chords_of_the_demo_are_the_plugins() {
    let plain = |line: &str| line.split_whitespace().collect::<Vec<_>>().join(" ");
    let block = README
        .split("```")
        .find(|block| block.contains("bar  beat"));
    let shown: Vec<String> = block.unwrap().trim().lines().map(plain).collect();
    let request = Request {
        tempo_bpm: 132.0,
        ..Request::new(golden::CHART)
    };
    let report = comp(&paths::plugin_path(), &request).unwrap().report;
    let rows: Vec<String> = report.to_string().lines().map(plain).collect();
    let is_ruled = |row: &&String| !row.starts_with("---");
    let chords = |rows: &[String]| -> Vec<String> {
        rows.iter().filter(is_ruled).take(4).cloned().collect()
    };
    assert_eq!(chords(&shown).len(), 4);
    assert_eq!(chords(&shown), chords(&rows));
}
