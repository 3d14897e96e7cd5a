//! The README and the guide say the same about the plugin as the plugin itself.

use crate::plugin::untouched;
use guidehand_report::request::Request;
use guidehand_tests::comp::comp;
use guidehand_tests::{golden, guide, parameters, paths};

#[test]
fn the_table_of_parameters_is_the_plugins() {
    let table = parameters::table(&mut untouched()).unwrap();
    assert!(table.lines().count() > 30, "{table}");
    let chapter = guide::chapter(parameters::CHAPTER).unwrap().text;
    let expected = parameters::within(&chapter, &table).expect("the chapter has the marks");
    let as_expected = chapter == expected;
    assert!(
        as_expected,
        "`cargo xtask parameters` writes this table into the guide:\n{table}"
    );
}

/// The rows that the README shows of `demo` are those of the first chords that it plays.
#[test]
fn the_chords_of_the_demo_are_the_plugins() {
    let plain = |line: &str| line.split_whitespace().collect::<Vec<_>>().join(" ");
    let readme = guide::text("README.md").unwrap().text;
    let block = readme
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
