//! The README says the same about the plugin as the plugin itself.

use crate::plugin::untouched;
use guidehand_tests::parameters;

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
