//! The keyboard, worked as a user would.

use super::*;
use crate::editor::bench::{Bench, HostCall, gestures, set, sounding};
use crate::engine::snapshot::Snapshot;
use crate::params::{RhythmParam, SourceParam};
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, PointerButton, Shape, vec2};
use egui_kittest::Node;
use egui_kittest::kittest::Queryable;
use guidehand_theory::pipeline::Taste;

const SPLIT: &str = "Split";
const FROM: &str = "Register from";
const TO: &str = "Register to";

/// The handle of this name; the number beside it is no slider.
fn handle<'a>(bench: &'a Bench, name: &'a str) -> Node<'a> {
    bench.harness.get_by_role_and_label(Role::Slider, name)
}

#[test]
fn the_split_is_dragged_over_the_keys() {
    let mut bench = Bench::new();
    bench.settle();
    bench.told();
    let at = handle(&bench, SPLIT).rect().center();
    bench.drag(at, at + vec2(120.0, 0.0));
    let split = bench.params().split.value();
    assert!(split > 60, "{split}");
    let told = bench.told();
    let (begun, set, ended) = gestures(&told, "split");
    assert!(begun == 1 && ended == 1 && set >= 2, "{told:?}");
    assert!(matches!(told.first(), Some(HostCall::Begin(_))));
    assert!(matches!(told.last(), Some(HostCall::End(_))));
    let name = words::key_name(MidiNote::clamp(split));
    assert_eq!(handle(&bench, SPLIT).value(), Some(name));
    let at = handle(&bench, SPLIT).rect().center();
    bench.harness.run_steps(10);
    for pressed in [true, false, true, false] {
        bench.harness.event(Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        });
        bench.frame();
    }
    bench.frame();
    assert_eq!(bench.params().split.value(), 60);
}

/// The keys in view follow the register, but not while a hand holds it: the
/// handle stays under the pointer.
#[test]
fn an_end_of_the_register_stays_under_the_pointer_and_is_heard() {
    for (name, id, by) in [(FROM, "lowest", -90.0), (TO, "highest", 120.0)] {
        let mut bench = Bench::new();
        set(&bench.params().source, SourceParam::Chart);
        bench.settle();
        let before = bench.plays();
        let at = handle(&bench, name).rect().center();
        bench.press(at, true);
        for step in 1..=12_u8 {
            let to = at + vec2(by * f32::from(step) / 12.0, 0.0);
            bench.harness.event(Event::PointerMoved(to));
            bench.frame();
            bench.frame();
            let handle = handle(&bench, name).rect().center();
            assert!((handle.x - to.x).abs() < 30.0, "{name}: {handle} {to}");
        }
        bench.press(at + vec2(by, 0.0), false);
        let (begun, _, ended) = gestures(&bench.told(), id);
        assert_eq!((begun, ended), (1, 1));
        let params = bench.params();
        if name == FROM {
            assert!(params.lowest.value() < 50);
            // As the worker does a moment later.
            params.chart.settle();
            assert_ne!(bench.plays(), before, "lower chords");
        } else {
            assert!(params.highest.value() > 69);
        }
    }
}

#[test]
fn handles_step_by_a_half_step_and_keep_the_focus() {
    for (name, id, first) in [
        (SPLIT, "split", 60),
        (FROM, "lowest", 50),
        (TO, "highest", 69),
    ] {
        let mut bench = Bench::new();
        bench.settle();
        handle(&bench, name).focus();
        bench.settle();
        bench.told();
        let value = |bench: &Bench| {
            let params = bench.params();
            match id {
                "split" => params.split.value(),
                "lowest" => params.lowest.value(),
                _ => params.highest.value(),
            }
        };
        for (key, wanted) in [
            (Key::ArrowRight, first + 1),
            (Key::ArrowUp, first + 2),
            (Key::ArrowLeft, first + 1),
            (Key::ArrowDown, first),
            (Key::ArrowLeft, first - 1),
        ] {
            bench.key(key);
            assert_eq!(value(&bench), wanted, "{name} {key:?}");
            assert_eq!(gestures(&bench.told(), id), (1, 1, 1));
        }
        handle(&bench, name).increment_accesskit();
        bench.frame();
        assert_eq!(value(&bench), first);
    }
}

/// How many shapes are filled with the colour of held keys.
fn held_bars(bench: &Bench) -> usize {
    let palette = theme::palette(&bench.harness.ctx);
    let shapes = bench.harness.output().shapes.iter();
    shapes
        .filter(|s| matches!(&s.shape, Shape::Rect(rect) if rect.fill == palette.split))
        .count()
}

#[test]
fn held_keys_and_the_next_move_are_drawn() {
    let mut bench = Bench::new();
    set(&bench.params().source, SourceParam::Chart);
    set(&bench.params().rhythm, RhythmParam::Hold);
    let chords = sounding("| Dm7 | G7 | Cmaj7 |", &Taste::default());
    bench.show(chords[0]);
    bench.settle();
    let plain = held_bars(&bench);
    assert!(!bench.seen().iter().any(|s| s.words == "half step"));
    let next = chords[1].sounding.unwrap();
    bench.show(Snapshot {
        held: 1 << 57 | 1 << 64,
        next: Some(next.placed),
        next_voiced: Some(next.voiced),
        ..chords[0]
    });
    let seen = bench.settle();
    assert_eq!(held_bars(&bench), plain + 2);
    assert!(seen.iter().any(|s| s.words == "half step"));
    // The seventh of the first chord is about to be the third of the second.
    assert!(seen.iter().any(|s| s.words == "3"), "{seen:?}");
}
