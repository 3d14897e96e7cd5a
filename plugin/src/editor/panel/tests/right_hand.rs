//! The melody of the right hand on the panel: its page, what yields, and the chord under it on the keys.

use super::{PAGES, check, focused};
use crate::editor::bench::{Bench, Seen, gestures, set, sounding, under_melody};
use crate::editor::panel::keyboard::keys::Keys;
use crate::editor::theme;
use crate::editor::view;
use crate::engine::snapshot::{Snapshot, UnderKey};
use crate::params::{
    Look, PanelView, SMALLEST_PANEL, SavedPanel, SourceParam, UnderParam, YieldParam,
};
use egui::accesskit::{Live, Role};
use egui::epaint::PathShape;
use egui::{Color32, Key, Rect, Shape};
use egui_kittest::kittest::{NodeT, Queryable};
use guidehand_theory::pipeline::Taste;
use guidehand_theory::under::Style;

const PAGE: &str = "The melody";
const MINOR: &str = "| G7 | Cm6 |";
const A5: u8 = 81;

/// A chart whose chords yield, with chords under the melody.
fn yielding(panel: SavedPanel) -> Bench {
    let mut bench = Bench::new();
    let params = bench.params();
    set(&params.source, SourceParam::Chart);
    set(&params.yielding, YieldParam::TensionsAndRegister);
    set(&params.under, UnderParam::DropTwo);
    bench.load_panel(panel.sized(panel.smallest()));
    bench.resize(panel.smallest());
    bench.settle();
    bench
}

/// The dominant under an A, with a chord in drop 2 below the A.
fn dominant() -> Snapshot {
    under_melody(MINOR, &Taste::default(), &[A5], Style::DropTwo)[0]
}

fn says(seen: &[Seen], words: &str) -> bool {
    seen.iter().any(|seen| seen.words == words && !seen.elided)
}

fn views() -> [SavedPanel; 4] {
    let view = |view, large_print| SavedPanel {
        view,
        large_print,
        ..SavedPanel::default()
    };
    [
        view(PanelView::Full, false),
        view(PanelView::Full, true),
        view(PanelView::Small, false),
        view(PanelView::Small, true),
    ]
}

#[test]
fn every_control_of_the_melody_is_chosen_by_name_and_by_key() {
    let mut bench = Bench::new();
    bench.click(PAGE);
    bench.settle();
    let params = bench.params();
    bench.told();
    bench.click("Yield to the melody: tensions and register");
    assert_eq!(params.yielding.value(), YieldParam::TensionsAndRegister);
    assert_eq!(gestures(&bench.told(), "yield"), (1, 1, 1));
    bench.click("Chords under the melody: drop 2");
    assert_eq!(params.under.value(), UnderParam::DropTwo);
    assert_eq!(gestures(&bench.told(), "under"), (1, 1, 1));
    for (name, id) in [
        ("Re-voice repeated chords", "revoice"),
        ("Left hand comps", "comps"),
    ] {
        let before = bench.is_on(name);
        bench.control(name).focus();
        bench.settle();
        bench.key(Key::Space);
        assert_ne!(bench.is_on(name), before, "{name}");
        assert_eq!(gestures(&bench.told(), id), (1, 1, 1), "{name}");
        bench.double_click(name);
        bench.settle();
        assert_eq!(bench.is_on(name), before, "{name}: its default");
    }
    bench.control("Left single under").focus();
    bench.settle();
    bench.key(Key::ArrowUp);
    assert_eq!(params.single_ms.value(), 101);
    bench.control("Space for the melody").focus();
    bench.settle();
    bench.key(Key::ArrowUp);
    assert!((params.space.value() - 0.01).abs() < 1.0e-6);
    // The Tab key leads through all of them, in the order in which they stand.
    bench.control("Yield to the melody: off").focus();
    bench.settle();
    let mut way = Vec::new();
    for _ in 0..10 {
        way.extend(focused(&bench));
        bench.key(Key::Tab);
    }
    let expected = [
        "Yield to the melody: off",
        "Yield to the melody: tensions",
        "Yield to the melody: tensions and register",
        "Re-voice repeated chords",
        "Left hand comps",
        "Space for the melody",
        "Chords under the melody: off",
        "Chords under the melody: four-way close",
        "Chords under the melody: drop 2",
        "Chords under the melody: double lead",
    ];
    assert_eq!(way, expected);
    assert_eq!(focused(&bench).as_deref(), Some("Left single under"));
}

/// The right half of the page is that of the melody that is written.
#[test]
fn the_controls_keep_to_the_left_of_their_page() {
    let mut bench = yielding(SavedPanel::default());
    bench.click(PAGE);
    bench.show(dominant());
    let seen = bench.settle();
    let top = bench.control(PAGE).rect().bottom();
    let below: Vec<&Seen> = seen.iter().filter(|seen| seen.rect.top() > top).collect();
    assert!(below.len() > 10);
    for seen in below {
        let of_written = seen.rect.left() > 430.0;
        assert!(of_written || seen.rect.right() < 420.0, "{seen:?}");
    }
}

#[test]
fn what_yields_is_on_every_stage_and_on_the_page() {
    for panel in views() {
        let mut bench = yielding(panel);
        bench.show(dominant());
        let seen = bench.settle();
        assert!(says(&seen, "9 for ♭9, under A"), "{panel:?}: {seen:?}");
        let sentence = "♭9 yields to 9: A in the melody";
        let is_told = bench
            .harness
            .query_all_by_value(sentence)
            .any(|one| one.accesskit_node().live() == Live::Polite);
        assert!(is_told, "{panel:?}");
        check(&seen, panel.smallest());
        if panel.view == PanelView::Full {
            bench.click(PAGE);
            let seen = bench.settle();
            assert!(says(&seen, sentence));
            assert!(says(&seen, "A5, drop 2: 9 for 1, ♭13 for 5"));
            check(&seen, panel.smallest());
        }
        // A chord that is looked at yields to nothing.
        bench.show(Snapshot {
            playing: false,
            sounding: None,
            ..dominant()
        });
        assert!(!says(&bench.settle(), "9 for ♭9, under A"), "{panel:?}");
    }
}

/// The pentagons on the keys: those of the melody, those of what is under it, and those of what has
/// ended. They differ in more than colour.
fn pointers(bench: &mut Bench, keys: Rect) -> [Vec<Rect>; 3] {
    bench.settle();
    let palette = theme::palette(&bench.harness.ctx);
    let mut found = [Vec::new(), Vec::new(), Vec::new()];
    for clipped in &bench.harness.output().shapes {
        let Shape::Path(PathShape {
            points,
            fill,
            stroke,
            ..
        }) = &clipped.shape
        else {
            continue;
        };
        let rect = Rect::from_points(points);
        if points.len() != 5 || !keys.contains(rect.center()) || stroke.width == 0.0 {
            continue;
        }
        let line = match stroke.color {
            egui::epaint::ColorMode::Solid(colour) => colour,
            egui::epaint::ColorMode::UV(_) => Color32::TRANSPARENT,
        };
        let kind = match (*fill, line) {
            (fill, line) if fill == palette.ink && line == palette.ink => 0,
            (fill, line) if fill == palette.melody && line == palette.ink => 1,
            // A sign above another mark.
            (Color32::TRANSPARENT, line) if line == palette.ink => 1,
            (fill, _) if fill == palette.surface => 2,
            other => panic!("a pointer of other colours: {other:?}"),
        };
        found[kind].push(rect);
    }
    found
}

/// Where the keys lie in the smallest full view while a chord is on show.
fn keys_of(bench: &Bench, snapshot: &Snapshot) -> Keys {
    let split = bench
        .harness
        .get_by_role_and_label(Role::Slider, "Split")
        .rect();
    let strip = Rect::from_x_y_ranges(
        16.0..=SMALLEST_PANEL[0] - 16.0,
        split.top() + 22.0..=split.bottom(),
    );
    let marks = view::marks(&view::on_show(snapshot).unwrap());
    let notes: Vec<u8> = marks.iter().map(|mark| mark.note).collect();
    Keys::new(strip, view::keyboard(&bench.params().settings(), &notes))
}

#[test]
fn the_chord_under_the_melody_is_marked_on_its_keys() {
    for look in [Look::Dark, Look::Light] {
        let mut bench = yielding(SavedPanel {
            look,
            ..SavedPanel::default()
        });
        bench.show(dominant());
        bench.settle();
        let keys = keys_of(&bench, &dominant());
        let near = |rect: &Rect, note| (keys.key(note).center().x - rect.center().x).abs() < 1.0;
        let [melody, under, past] = pointers(&mut bench, keys.rect);
        assert!(near(&melody[0], A5) && melody.len() == 1, "{melody:?}");
        assert_eq!(under.len(), 3);
        for (note, label) in [(65, "♭7"), (71, "3"), (75, "♭13")] {
            assert!(under.iter().any(|rect| near(rect, note)), "{note}");
            let seen = bench.seen();
            let labels = seen.iter().filter(|seen| seen.words == label);
            let mut labels = labels.filter(|seen| keys.rect.contains(seen.rect.center()));
            assert!(labels.any(|seen| near(&seen.rect, note)), "{label}");
        }
        assert_eq!(past, Vec::<Rect>::new());
        // The key goes up.
        let mut released = dominant();
        released.held = 0;
        released.under = released.under.map(|under| UnderKey {
            sounds: false,
            ..under
        });
        bench.show(released);
        let [melody, under, past] = pointers(&mut bench, keys.rect);
        assert_eq!((melody.len(), under.len(), past.len()), (0, 0, 4));
        // Chords under the melody, and chords that yield, are switched off.
        set(&bench.params().under, UnderParam::Off);
        set(&bench.params().yielding, YieldParam::Off);
        bench.show(dominant());
        assert_eq!(pointers(&mut bench, keys.rect), [const { Vec::new() }; 3]);
    }
}

/// A key that both hands have shows the chord of the left hand, with a sign above it.
#[test]
fn a_key_of_both_hands_shows_both() {
    let mut bench = yielding(SavedPanel::default());
    // E4 is the thirteenth in the left hand.
    let both = under_melody(
        "| G7 | Cmaj7 |",
        &Taste::default(),
        &[64],
        Style::FourWayClose,
    )[0];
    let chord = both.sounding.unwrap().voiced.voicing;
    let shared: Vec<u8> = chord.notes().map(|note| note.number()).collect();
    let block = both.under.unwrap().block.voicing;
    let shared = block.notes().filter(|note| shared.contains(&note.number()));
    let shared = shared.count();
    assert!(shared > 0, "{chord:?} {block:?}");
    bench.show(both);
    bench.settle();
    let keys = keys_of(&bench, &both);
    let found = pointers(&mut bench, keys.rect);
    let small = found.iter().flatten().filter(|rect| rect.height() < 11.0);
    assert_eq!(small.count(), shared);
}

#[test]
fn the_legend_says_what_the_marks_are_while_there_are_any() {
    let mut bench = yielding(SavedPanel::default());
    let leads_on = |snapshot| {
        let next = sounding(MINOR, &Taste::default())[1].sounding.unwrap();
        Snapshot {
            next: Some(next.placed),
            next_voiced: Some(next.voiced),
            ..snapshot
        }
    };
    bench.show(leads_on(dominant()));
    let seen = bench.settle();
    for words in ["melody", "chord under it", "held", "guide tone"] {
        assert!(says(&seen, words), "{words}");
    }
    assert!(!says(&seen, "stays"), "there is no room for the lines");
    check(&seen, SMALLEST_PANEL);
    bench.resize([1400.0, 900.0]);
    bench.show(leads_on(dominant()));
    let seen = bench.settle();
    assert!(says(&seen, "stays") && says(&seen, "chord under it"));
    let plain = sounding(MINOR, &Taste::default())[0];
    bench.resize(SMALLEST_PANEL);
    bench.show(leads_on(plain));
    let seen = bench.settle();
    assert!(says(&seen, "stays") && !says(&seen, "chord under it"));
}

/// The chord is known, and shown as one that does not sound; its bass sounds.
#[test]
fn a_left_hand_that_does_not_comp_is_told() {
    let mut bench = yielding(SavedPanel::default());
    let params = bench.params();
    set(&params.bass, true);
    let hint = "The left hand does not comp: its chords are silent.";
    let palette = theme::palette(&bench.harness.ctx);
    for comps in [true, false] {
        set(&params.comps, comps);
        bench.show(dominant());
        assert_eq!(says(&bench.settle(), hint), !comps);
        let lit = |colour| {
            let shapes = &bench.harness.output().shapes;
            let keys = shapes.iter().filter(|clipped| match &clipped.shape {
                Shape::Rect(one) => one.fill == colour && one.rect.height() > 30.0,
                _ => false,
            });
            keys.count()
        };
        let guide = palette.of_kind(view::NoteKind::Guide);
        assert_eq!(lit(guide), if comps { 2 } else { 0 });
        assert_eq!(lit(palette.of_kind(view::NoteKind::Bass)), 1);
        assert_eq!(lit(palette.melody), 4);
    }
}

/// For each chord the melody under which there is most to tell, in every view: nothing is cut off,
/// covered or too small to read.
#[test]
fn every_view_has_room_for_the_worst_that_yields() {
    const LONG: &str = "| Gb7(b9,#9,#11,b13)/Db | Cbmaj13#11/Fb | B#m7b5 | E#7(b9,#9,#11,b13) |\n\
                        | Abm(maj7)/Cb | D#dim7/F# | C6/9#11 | F##m11 |\n\
                        | Dm7 / G7 C#13sus4(b9) | Ebm9b5 | G7b9b13 | C |";
    let taste = Taste::default();
    let words = |snapshot: &Snapshot| {
        let told = view::melody::sentences(&snapshot.yielded);
        told.iter().map(String::len).sum::<usize>()
    };
    let mut worst = under_melody(LONG, &taste, &[60], Style::DropTwo);
    let mut most = 0;
    for low in 60..72 {
        for high in low + 1..84 {
            let all = under_melody(LONG, &taste, &[low, high], Style::DoubleLead);
            for (worst, other) in worst.iter_mut().zip(all) {
                if words(&other) > words(worst) {
                    *worst = other;
                }
                most = most.max(worst.yielded.yields.len());
            }
        }
    }
    assert!(most >= 3, "{most}");
    for panel in views() {
        let mut bench = yielding(panel);
        set(&bench.params().comps, false);
        if panel.view == PanelView::Full {
            bench.click(PAGE);
        }
        for size in [panel.smallest(), panel.first_size(), [1600.0, 1000.0]] {
            bench.load_panel(panel.sized(size));
            bench.resize(size);
            for snapshot in &worst {
                bench.show(*snapshot);
                check(&bench.settle(), size);
            }
        }
    }
    assert!(PAGES.contains(&PAGE));
}
