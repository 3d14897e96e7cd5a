//! The panel of the program that needs no host: its switch plays and stops, as does the space bar.

use super::{Regions, Set, check, stage};
use crate::editor::bench::{Bench, set, sounding};
use crate::engine::snapshot::Snapshot;
use crate::params::{PANEL_SIZE, RhythmParam, SMALLEST_PANEL, SourceParam};
use egui::{Event, Key, Modifiers, Pos2, Rect};
use egui_kittest::kittest::Queryable;
use guidehand_theory::pipeline::Taste;

/// The number of the start in force, as the audio thread hears of it.
fn start(bench: &Bench) -> Option<u32> {
    let transport = bench.harness.state().audio.transport.as_ref();
    transport.unwrap().start()
}

/// The space bar goes down or up.
const fn space(pressed: bool) -> Event {
    Event::Key {
        key: Key::Space,
        physical_key: None,
        pressed,
        repeat: false,
        modifiers: Modifiers::NONE,
    }
}

#[test]
fn it_plays_stops_and_plays_from_the_start_again() {
    let mut bench = Bench::alone(false);
    assert!(bench.is_on("Play"));
    assert_eq!(start(&bench), Some(0));
    bench.click("Play");
    bench.frame();
    assert!(!bench.is_on("Play"));
    assert_eq!(start(&bench), None);
    bench.click("Play");
    bench.frame();
    assert!(bench.is_on("Play"));
    assert_eq!(start(&bench), Some(1));
    assert_eq!(bench.told(), [], "a host is told nothing");
}

#[test]
fn the_space_bar_plays_and_stops_where_nothing_has_the_focus() {
    let mut bench = Bench::alone(false);
    bench.key(Key::Space);
    assert_eq!(start(&bench), None);
    bench.key(Key::Space);
    assert_eq!(start(&bench), Some(1));
    // A key that is held is pressed again and again without being let go.
    for started in [None, None, None] {
        bench.harness.event(space(true));
        bench.frame();
        assert_eq!(start(&bench), started);
    }
    bench.harness.event(space(false));
    bench.frame();
    bench.key(Key::Space);
    assert_eq!(start(&bench), Some(2));
    // The pointer leaves no focus behind that would take the space bar.
    bench.click("Play");
    bench.key(Key::Space);
    assert_eq!(start(&bench), Some(3));
}

#[test]
fn the_space_bar_stays_with_what_has_the_focus() {
    let mut bench = Bench::alone(false);
    bench.control("Ninth: ♭9").focus();
    bench.frame();
    bench.key(Key::Space);
    assert!(bench.is_on("Ninth: ♭9"));
    assert_eq!(start(&bench), Some(0));
    bench.control("Chart").focus();
    bench.frame();
    bench.key(Key::Space);
    assert_eq!(start(&bench), Some(0));
    bench.control("Play").focus();
    bench.frame();
    bench.key(Key::Space);
    assert_eq!(start(&bench), None, "once, and not twice");
}

#[test]
fn in_a_host_and_behind_another_transport_there_is_no_switch() {
    for mut bench in [Bench::new(), Bench::alone(true)] {
        bench.key(Key::Space);
        assert!(bench.harness.query_by_label("Play").is_none());
        assert!(bench.harness.state().audio.transport.is_none());
    }
}

/// Where a chord has sounded last, and the panel says what to do as well.
#[test]
fn what_to_do_has_room_beside_the_last_chord() {
    for mut bench in [Bench::new(), Bench::alone(false)] {
        for size in [SMALLEST_PANEL, PANEL_SIZE] {
            bench.resize(size);
            for sounding in sounding("| Dm7 | A7 | Dm7 | G7 |", &Taste::default()) {
                bench.show(Snapshot {
                    playing: false,
                    sounding: None,
                    next: None,
                    ..sounding
                });
                let seen = bench.settle();
                let hint = seen
                    .iter()
                    .find(|seen| seen.words.contains("the chart plays"));
                let left = hint.unwrap().rect.left();
                let window = Rect::from_min_size(Pos2::ZERO, size.into());
                let panel = bench.params().panel.get();
                let stage = Regions::of(window, &panel).stage;
                let region = stage::Regions::of(stage, Set::Wide).now.expand(0.5);
                for line in seen.iter().filter(|seen| seen.rect.left() == left) {
                    let inside = line.rows.iter().all(|ink| region.contains_rect(*ink));
                    assert!(inside, "{line:?} in {region:?}");
                }
            }
        }
    }
}

#[test]
fn the_switch_has_room_in_its_row() {
    let mut bench = Bench::alone(false);
    let params = bench.params();
    for size in [SMALLEST_PANEL, PANEL_SIZE] {
        bench.resize(size);
        for source in [SourceParam::Roots, SourceParam::Chart, SourceParam::Bass] {
            set(&params.source, source);
            set(&params.rhythm, RhythmParam::Drawn);
            check(&bench.settle(), size);
        }
        let last = bench.control("Lock chart to key").rect();
        let next = bench.control("Bypass").rect();
        assert!(last.right() + 4.0 < next.left(), "{last:?} {next:?}");
    }
}
