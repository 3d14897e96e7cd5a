//! Clicks anywhere in the chart and on the page of the chord in hand, at random. `cargo xtask soak`
//! plays more of them.

use super::on_a_screen;
use guidehand_tests::soak::handled;
use guidehand_tests::{Library, paths};

#[test]
fn clicks_anywhere_leave_no_note_and_no_other_song() {
    on_a_screen("handled::click_anywhere");
}

#[test]
#[ignore = "runs on a screen of its own"]
fn click_anywhere() {
    let library = Library::open(&paths::plugin_path()).unwrap();
    let mut notes = 0;
    for seed in 1..3 {
        notes +=
            handled::survive(&library, seed).unwrap_or_else(|fault| panic!("seed {seed}: {fault}"));
    }
    assert!(notes > 50, "{notes} notes");
}
