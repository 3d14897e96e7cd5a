//! The panel as a whole, worked as a user does: its look and its size, the way of the
//! focus, and the edit counter.

use super::PAGES;
use crate::editor::bench::{Bench, gestures, set, sounding};
use crate::editor::model::outside::Outside;
use crate::editor::view as words;
use crate::editor::window::outside::PluginOutside;
use crate::editor::window::size::AskedSize;
use crate::engine::snapshot::Snapshot;
use crate::engine::trial::{Pace, Request, Step};
use crate::params::{
    LAST_REVISION, Look, PANEL_SIZE, PanelView, RhythmParam, SMALL_SIZE, SMALLEST_PANEL, SavedPanel,
};
use egui::accesskit::Role;
use egui::{Key, Theme, vec2};
use egui_kittest::kittest::NodeT;
use guidehand_theory::pipeline::Taste;
use guidehand_theory::pitch::MidiNote;
use nice_plug::prelude::ParamSetter;
use std::time::{Duration, Instant};

#[test]
fn look_and_size_are_chosen_and_told() {
    let mut bench = Bench::new();
    bench.click("Look and size");
    bench.settle();
    assert!(!bench.is_on("Light"));
    bench.click("Light");
    bench.frame();
    assert_eq!(bench.params().panel.get().look, Look::Light);
    assert_eq!(bench.harness.ctx.theme(), Theme::Light);
    assert_eq!(gestures(&bench.told(), "revision"), (1, 1, 1));
    bench.click("Size: 125 %");
    assert_eq!(bench.params().panel.get().zoom, 1.25);
    bench.frame();
    assert!((bench.harness.ctx.zoom_factor() - 1.25).abs() < 1e-6);
}

#[test]
fn a_first_start_explains_itself_until_it_is_used() {
    let mut bench = Bench::new();
    let tensions = "Press a tension: the next dominant takes it.";
    let chart = "Type your own chords; click one to take it in hand.";
    let says = |bench: &mut Bench| {
        let seen = bench.settle();
        [tensions, chart].map(|words| seen.iter().any(|seen| seen.words == words))
    };
    assert_eq!(says(&mut bench), [true, true]);
    bench.click("Ninth: ♭9");
    assert_eq!(says(&mut bench), [false, true]);
    bench.click("Chart");
    bench.type_text("| ");
    assert_eq!(says(&mut bench), [false, false]);
    let saved = bench.params().panel.get();
    let mut other = Bench::new();
    other.load_panel(saved);
    assert_eq!(says(&mut other), [false, false]);
}

#[test]
fn the_small_view_and_large_print_are_chosen_and_saved() {
    let mut bench = Bench::new();
    bench.click("Rhythm and feel");
    bench.click("Small view");
    bench.settle();
    let panel = bench.params().panel.get();
    assert_eq!(panel.view, PanelView::Small);
    assert_eq!(bench.harness.state().asked, Some(SMALL_SIZE));
    assert_eq!(gestures(&bench.told(), "revision"), (1, 1, 1));
    bench.resize(SMALL_SIZE);
    bench.settle();
    bench.click("Look and size");
    bench.settle();
    bench.click("Large print");
    assert!(bench.params().panel.get().large_print);
    bench.harness.key_press(Key::Escape);
    bench.settle();
    bench.click("Full view");
    bench.resize(bench.params().panel.get().size());
    bench.settle();
    assert_eq!(bench.params().panel.get().view, PanelView::Full);
    assert!(bench.is_on("Rhythm and feel"), "the page stays");
}

#[test]
fn what_nobody_plays_is_said_to_be_unheard_until_it_is_asked_for_anew() {
    let request = Request::new(Pace::Free, [Step::note(MidiNote::MAX)]);
    let chords = sounding("| Dm7 |", &Taste::default());
    for shown in [Snapshot::default(), chords[0]] {
        let mut bench = Bench::new();
        bench.resize(SMALLEST_PANEL);
        bench.show(shown);
        let said = |bench: &mut Bench| {
            let seen = bench.settle();
            let mut seen = seen.iter().filter(|seen| !seen.elided);
            seen.any(|seen| seen.words == words::UNHEARD)
        };
        let audition = |bench: &Bench| {
            bench.harness.state().ends.audition.play(&request);
        };
        audition(&bench);
        assert!(!said(&mut bench));
        let later = Instant::now() + Duration::from_secs(3);
        let withdrawn = bench.harness.state().ends.audition.withdraw_unheard(later);
        assert!(withdrawn);
        assert!(said(&mut bench));
        audition(&bench);
        assert!(!said(&mut bench));
    }
}

#[test]
fn a_state_that_is_loaded_changes_look_and_zoom() {
    let mut bench = Bench::new();
    let loaded = SavedPanel {
        look: Look::Light,
        zoom: 1.5,
        ..SavedPanel::default()
    };
    bench.load_panel(loaded);
    bench.frame();
    bench.frame();
    assert_eq!(bench.harness.ctx.theme(), Theme::Light);
    assert!((bench.harness.ctx.zoom_factor() - 1.5).abs() < 1e-6);
}

#[test]
fn the_grip_asks_for_another_size() {
    let mut bench = Bench::new();
    let corner = egui::Pos2::from(PANEL_SIZE) - vec2(5.0, 5.0);
    bench.press(corner, true);
    let to = corner + vec2(40.0, 30.0);
    bench.harness.event(egui::Event::PointerMoved(to));
    bench.frame();
    assert_eq!(bench.harness.state().asked, Some(to.to_vec2().into()));
}

/// Whatever can be worked has a name, is reached by Tab, and once only.
#[test]
fn every_control_has_a_name_and_is_on_the_way_of_tab() {
    for page in PAGES {
        let mut bench = Bench::new();
        set(&bench.params().rhythm, RhythmParam::Drawn);
        bench.settle();
        bench.click(page);
        are_on_the_way_of_tab(&mut bench);
    }
}

pub fn are_on_the_way_of_tab(bench: &mut Bench) {
    let works = |role: Role| {
        matches!(
            role,
            Role::Button
                | Role::CheckBox
                | Role::RadioButton
                | Role::ComboBox
                | Role::Slider
                | Role::SpinButton
                | Role::TextInput
                | Role::MultilineTextInput
        )
    };
    let root = bench.harness.root();
    let mut controls = std::collections::BTreeMap::new();
    for node in root.children_recursive() {
        let node = node.accesskit_node();
        if works(node.role()) && !node.is_disabled() {
            let name = node.label().unwrap_or_default();
            assert!(!name.is_empty(), "a nameless {:?}: {node:?}", node.role());
            controls.insert(format!("{:?}", node.id()), name);
        }
    }
    let mut reached = std::collections::BTreeSet::new();
    // Rows of a list that are scrolled out of view take a step, too.
    for _ in 0..2 * controls.len() + 8 {
        bench.key(Key::Tab);
        let mut nodes = bench.harness.root().children_recursive();
        if let Some(node) = nodes.find(|n| n.is_focused()) {
            let node = node.accesskit_node();
            let name = node.label().unwrap_or_default();
            assert!(!name.is_empty(), "a nameless {:?}: {node:?}", node.role());
            reached.insert(format!("{:?}", node.id()));
        }
    }
    controls.retain(|id, _| !reached.contains(id));
    assert!(controls.is_empty(), "not on the way of Tab: {controls:?}");
}

#[test]
fn a_revision_that_the_host_has_not_taken_yet_is_not_sent_twice() {
    let bench = Bench::new();
    let world = bench.harness.state();
    let setter = ParamSetter::new(&world.host);
    let (mut sent, mut asked) = (None, AskedSize::default());
    let mut last = None;
    for _ in 0..5 {
        let around = (&*world.params, &world.ends);
        let mut outside = PluginOutside::new(around, &setter, &mut sent, &mut asked);
        set(&world.params.revision, 0);
        outside.set_chart(&"| C6 |".into());
        assert_ne!(sent, last);
        last = sent;
    }
    set(&world.params.revision, LAST_REVISION);
    let mut sent = None;
    let around = (&*world.params, &world.ends);
    PluginOutside::new(around, &setter, &mut sent, &mut asked).set_chart(&"| C6 |".into());
    assert_eq!(sent, Some(0));
}
