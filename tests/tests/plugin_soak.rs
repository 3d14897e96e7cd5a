//! Whatever happens to the plugin, no note hangs, and the same settings give the
//! same notes: random sessions from printed seeds. `cargo xtask soak` plays more
//! of them.

use crate::plugin::{RATE_HZ, guidehand, notes, play};
use guidehand_tests::paths::PLUGIN_ID;
use guidehand_tests::soak::busy::{self, Run};
use guidehand_tests::soak::{self, Counts, careless, pure};
use guidehand_tests::{BlockSizes, Event, Library, Manners, Session, paths};
use std::ops::Range;

fn library() -> Library {
    let library = Library::open(&paths::plugin_path()).unwrap_or_else(|error| panic!("{error}"));
    library.plugin(PLUGIN_ID).unwrap();
    library
}

fn survive_all(seeds: Range<u64>, manners: Manners, limited: bool) {
    let library = library();
    let mut counts = Counts::default();
    for seed in seeds {
        let limit = usize::try_from(seed % 7).unwrap() + 1;
        let run = Run {
            seed,
            manners,
            output_limit: limited.then_some(limit),
        };
        counts += busy::survive(&library, run).unwrap_or_else(|fault| panic!("{run:?}: {fault}"));
    }
    assert!(counts.blocks > 2_000 && counts.notes > 200, "{counts}");
    assert_eq!(counts.refused > 0, limited, "{counts}");
}

#[test]
fn polite_keys_never_hang() {
    survive_all(0..5, Manners::Polite, false);
}

#[test]
fn rude_keys_never_hang() {
    survive_all(100..105, Manners::Rude, false);
}

#[test]
fn polite_keys_never_hang_in_a_full_queue() {
    survive_all(200..205, Manners::Polite, true);
}

#[test]
fn rude_keys_never_hang_in_a_full_queue() {
    survive_all(300..305, Manners::Rude, true);
}

#[test]
fn settings_give_the_same_notes_whatever_the_blocks_and_the_start() {
    let library = library();
    let mut counts = Counts::default();
    for seed in 400..406 {
        counts +=
            pure::repeat(&library, seed).unwrap_or_else(|fault| panic!("seed {seed}: {fault}"));
    }
    assert!(counts.compared > 400 && counts.stops > 15, "{counts}");
    assert_eq!(counts.loops, 6, "{counts}");
}

#[test]
fn careless_hosts_do_no_harm() {
    let library = library();
    let mut counts = Counts::default();
    for seed in 600..612 {
        counts += careless::survive(&library, seed)
            .unwrap_or_else(|fault| panic!("seed {seed}: {fault}"));
    }
    assert!(counts.blocks > 4_000 && counts.notes > 400, "{counts}");
}

#[test]
fn a_soak_runs_all_kinds_of_session_and_counts() {
    let mut reports = 0;
    let counts =
        soak::soak(&library(), 3_000, 500, |_| reports += 1).unwrap_or_else(|f| panic!("{f}"));
    assert!(
        counts.blocks >= 3_000 && counts.sessions == reports,
        "{counts}"
    );
    assert!(counts.careless > 0 && counts.compared > 0, "{counts}");
}

/// A host's panic button releases every key of every channel in one block.
#[test]
fn every_key_of_every_channel_goes_up_at_once() {
    let mut session = Session::new(RATE_HZ, 120.0, 4_000);
    session.event(0, Event::note_on(0, 72, 0.5));
    session.event(0, Event::note_on(3, 50, 0.5));
    for channel in 0..16 {
        for key in 0..128 {
            session.event(2_000, Event::note_off(channel, key));
        }
    }
    session.blocks = BlockSizes::Fixed(1_000);
    let found = notes(&play(&mut guidehand(), &session).events);
    assert_eq!(found.len(), 5);
    assert!(
        found.iter().all(|note| note.end_samples == 2_000),
        "{found:?}"
    );
}
