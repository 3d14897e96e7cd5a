//! The panel laid out without a window: that every character has a glyph, that
//! nothing is cut off or covered, and what a hand does to the parameters.

use super::*;
use crate::chart_cell::ChartCell;
use crate::editor::view;
use crate::params::{GuidehandParams, NinthParam, SourceParam};
use crate::snapshot::Sounding;
use egui::epaint::ClippedShape;
use egui::{Context, Event, Modifiers, PointerButton, Pos2, RawInput, Shape, vec2};
use guidehand_theory::chart;
use guidehand_theory::degree::Degree;
use guidehand_theory::pipeline::{self, Taste};
use guidehand_theory::pitch::{MidiNote, NoteName};
use guidehand_theory::plan::Ends;
use guidehand_theory::quality::{Extent, TABLE};
use guidehand_theory::scale;
use guidehand_theory::shape::Texture;
use nice_plug::context::PluginApi;
use nice_plug::context::gui::GuiContextInner;
use nice_plug::params::Params;
use nice_plug::params::internals::ParamPtr;
use nice_plug::prelude::{Param, ParamSetter, PluginState};
use std::collections::BTreeSet;
use std::sync::{Arc, Mutex};

/// What a host is told.
#[derive(Clone, Debug, PartialEq)]
enum Told {
    Begin(String),
    Set(String, f32),
    End(String),
}

/// A host that takes every value at once, and writes down what it is told.
struct Host {
    ids: Vec<(ParamPtr, String)>,
    told: Mutex<Vec<Told>>,
}

impl Host {
    fn id(&self, param: ParamPtr) -> String {
        let (_, id) = self.ids.iter().find(|(p, _)| *p == param).unwrap();
        id.clone()
    }

    fn hear(&self, told: Told) {
        self.told.lock().unwrap().push(told);
    }
}

impl GuiContextInner for Host {
    fn plugin_api(&self) -> PluginApi {
        PluginApi::Clap
    }

    unsafe fn raw_begin_set_parameter(&self, param: ParamPtr) {
        self.hear(Told::Begin(self.id(param)));
    }

    unsafe fn raw_set_parameter_normalized(&self, param: ParamPtr, normalized: f32) {
        self.hear(Told::Set(self.id(param), normalized));
        // SAFETY: the parameters outlive the host in every test.
        unsafe { param._internal_set_normalized_value(normalized) };
    }

    unsafe fn raw_end_set_parameter(&self, param: ParamPtr) {
        self.hear(Told::End(self.id(param)));
    }

    fn get_state(&self) -> PluginState {
        unreachable!("the panel saves no states")
    }

    fn set_state(&self, _: PluginState) {
        unreachable!("the panel loads no states")
    }

    fn request_restart(&self) {
        unreachable!("the panel restarts nothing")
    }
}

/// A panel without a window.
struct Bench {
    params: Arc<GuidehandParams>,
    host: Host,
    ctx: Context,
    state: PanelState,
    revision_sent: Option<i32>,
    size: egui::Vec2,
    time_seconds: f64,
}

/// A text on the screen.
#[derive(Clone, Debug)]
struct Seen {
    words: String,
    rect: Rect,
    clip: Rect,
    elided: bool,
}

impl Bench {
    fn new() -> Bench {
        let (cell, _songs) = ChartCell::new();
        let params = Arc::new(GuidehandParams::new(cell));
        let ids = params.param_map();
        let ctx = Context::default();
        theme::install(&ctx);
        ctx.set_missing_glyph_policy(egui::epaint::text::MissingGlyphPolicy::Panic);
        let state = PanelState {
            snapshot: Snapshot::default(),
            chart: ChartText::new(&params.chart),
            meter: 0.0,
        };
        Bench {
            host: Host {
                ids: ids.into_iter().map(|(id, param, _)| (param, id)).collect(),
                told: Mutex::default(),
            },
            params,
            ctx,
            state,
            revision_sent: None,
            size: SIZE.into(),
            time_seconds: 0.0,
        }
    }

    fn frame(&mut self, events: Vec<Event>) -> Vec<Seen> {
        self.time_seconds += 0.05;
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, self.size)),
            time: Some(self.time_seconds),
            events,
            focused: true,
            ..RawInput::default()
        };
        let Bench {
            params,
            host,
            ctx,
            state,
            revision_sent,
            ..
        } = self;
        let output = ctx.run_ui(input, |ui| {
            let mut desk = Desk::new(params, ParamSetter::new(host), revision_sent);
            panel(ui, state, &mut desk);
        });
        let mut seen = Vec::new();
        for ClippedShape {
            clip_rect, shape, ..
        } in &output.shapes
        {
            texts(shape, *clip_rect, &mut seen);
        }
        output.drop_without_applying_deltas();
        seen
    }

    /// Lays out until everything has its place.
    fn settle(&mut self) -> Vec<Seen> {
        self.frame(Vec::new());
        self.frame(Vec::new())
    }

    fn find(&mut self, words: &str) -> Pos2 {
        let seen = self.settle();
        let found = seen.iter().find(|s| s.words == words);
        found
            .unwrap_or_else(|| panic!("{words:?} is not on the screen"))
            .rect
            .center()
    }

    fn press(&mut self, at: Pos2, pressed: bool) {
        let event = Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        self.frame(vec![Event::PointerMoved(at)]);
        self.frame(vec![event]);
    }

    fn click(&mut self, words: &str) {
        let at = self.find(words);
        self.press(at, true);
        self.press(at, false);
        self.frame(Vec::new());
    }

    fn told(&self) -> Vec<Told> {
        std::mem::take(&mut *self.host.told.lock().unwrap())
    }
}

fn texts(shape: &Shape, clip: Rect, seen: &mut Vec<Seen>) {
    match shape {
        Shape::Text(text) => seen.push(Seen {
            words: text.galley.text().to_owned(),
            rect: text.galley.rect.translate(text.pos.to_vec2()),
            clip,
            elided: text.galley.elided,
        }),
        Shape::Vec(shapes) => shapes.iter().for_each(|s| texts(s, clip, seen)),
        _ => {}
    }
}

/// Every chord of a chart as it sounds, in a texture.
fn sounding(text: &str, taste: &Taste) -> Vec<Snapshot> {
    let chart = chart::parse(text).unwrap();
    let placed = pipeline::place(&chart, None);
    let plan = pipeline::plan(&placed, taste.texture, taste.register, Ends::Cyclic);
    let all = placed.iter().zip(plan).enumerate();
    all.filter_map(|(change, (placed, voiced))| {
        let sounding = Sounding {
            placed: (*placed)?,
            voiced: voiced?,
            bass: (*placed)?.bass(MidiNote::clamp(28)),
        };
        Some(Snapshot {
            playing: true,
            sounding: Some(sounding),
            last: Some(sounding),
            next: *placed,
            beat_ticks: Some(63 * 960),
            change: Some(change),
            ..Snapshot::default()
        })
    })
    .collect()
}

const LONG: &str = "| F#m7b5/C | B7b9b13 | Gbmaj13#11/Db | Ebm(maj7) | Ab13sus4 | G7alt | \
                    Db7#9b13 | Gb7b9#11 | Cbmaj7 | C#dim7 | Caug | D/A | N.C. | Bb6/9 | E5 | Asus2 |";

/// All that can be printed has a glyph in the font that prints it.
#[test]
fn every_character_has_a_glyph() {
    let mut characters: BTreeSet<char> = (' '..='~').collect();
    let mut take = |words: &str| characters.extend(words.chars());
    for row in &TABLE {
        for extent in [
            Extent::Plain,
            Extent::Ninth,
            Extent::Eleventh,
            Extent::Thirteenth,
        ] {
            for fifths in -8..=10 {
                let root = NoteName::from_fifths(fifths);
                let mut chord = guidehand_theory::chord::Chord::new(root, row.quality)
                    .extended(extent)
                    .with(&Degree::ALL);
                chord.bass = Some(root);
                chord.omitted = row.degrees.iter().copied().collect();
                take(&view::symbol(&chord));
            }
        }
        // What is typed in a symbol can come back in an error.
        row.aliases.iter().for_each(|alias| take(alias));
    }
    for degree in Degree::ALL {
        for fifths in -8..=10 {
            take(&view::note_name(degree.over(NoteName::from_fifths(fifths))));
        }
        take(&view::degree_name(degree));
    }
    for scale in scale::all() {
        take(&view::with_signs(scale.name));
    }
    for note in 0..=127 {
        take(&view::key_name(MidiNote::clamp(note)));
    }
    let ctx = Context::default();
    theme::install(&ctx);
    ctx.run_ui(RawInput::default(), |ui| {
        for font in [theme::text(12.0), theme::bold(12.0), theme::mono(12.0)] {
            for character in &characters {
                let has = ui.fonts_mut(|fonts| fonts.has_glyph(&font, *character));
                assert!(has, "{character:?} in {:?}", font.family);
            }
        }
        let odd = ui.fonts_mut(|fonts| fonts.has_glyph(&theme::text(12.0), '\u{1d100}'));
        assert!(!odd, "the check can fail");
    })
    .drop_without_applying_deltas();
}

#[test]
fn nothing_is_cut_off_or_covered() {
    let mut bench = Bench::new();
    let mut snapshots = vec![Snapshot::default()];
    for texture in Texture::ALL {
        let taste = Taste {
            texture,
            ..Taste::default()
        };
        snapshots.extend(sounding(LONG, &taste));
    }
    for size in [SIZE, SMALLEST, [1400.0, 900.0]] {
        bench.size = size.into();
        for source in [SourceParam::Roots, SourceParam::Chart] {
            set(&bench.params.source, source);
            for snapshot in &snapshots {
                bench.state.snapshot = *snapshot;
                let seen = bench.settle();
                check(&seen, size);
            }
        }
    }
}

fn set<P: Param>(param: &P, value: P::Plain) {
    // SAFETY: no one else holds the parameters.
    unsafe {
        param
            .as_ptr()
            ._internal_set_normalized_value(param.preview_normalized(value))
    };
}

/// Texts lie in the window and in what they are clipped to, whole, and apart.
fn check(seen: &[Seen], size: [f32; 2]) {
    let window = Rect::from_min_size(Pos2::ZERO, size.into()).expand(0.5);
    for (i, one) in seen.iter().enumerate() {
        assert!(!one.elided, "cut short at {size:?}: {one:?}");
        assert!(
            window.contains_rect(one.rect),
            "outside of {size:?}: {one:?}"
        );
        assert!(
            one.clip.expand(0.5).contains_rect(one.rect),
            "clipped at {size:?}: {one:?}"
        );
        for other in seen.iter().skip(i + 1) {
            let both = one.rect.intersect(other.rect).shrink(1.5);
            // The parts of a symbol overlap in their empty corners.
            let parts = |s: &Seen| s.rect.bottom() < 170.0 && s.rect.height() > 30.0;
            let letters = parts(one) && parts(other) && !one.rect.contains(other.rect.center());
            assert!(
                !both.is_positive() || letters,
                "one over the other at {size:?}: {one:?} {other:?}"
            );
        }
    }
}

#[test]
fn a_choice_is_one_gesture() {
    let mut bench = Bench::new();
    bench.click("♭9");
    assert_eq!(bench.params.ninth.value(), NinthParam::Flat9);
    let told = bench.told();
    assert!(
        matches!(
            told.as_slice(),
            [Told::Begin(a), Told::Set(b, _), Told::End(c)] if [a, b, c].iter().all(|id| *id == "ninth")
        ),
        "{told:?}"
    );
    bench.click("♭9");
    assert_eq!(bench.told(), [], "the choice in force is no gesture");
}

#[test]
fn switches_turn_on_and_off() {
    for (word, id) in [
        ("Bypass", "bypass"),
        ("holds for the chart too", "pin_key"),
        ("needs a held key", "gate"),
        ("Bass", "bass"),
        ("Audition tone", "tone"),
    ] {
        let mut bench = Bench::new();
        bench.click(word);
        bench.click(word);
        let set: Vec<f32> = bench
            .told()
            .iter()
            .filter_map(|told| match told {
                Told::Set(at, value) if at == id => Some(*value),
                _ => None,
            })
            .collect();
        assert!(
            matches!(set.as_slice(), [a, b] if a + b == 1.0),
            "{word}: {set:?}"
        );
    }
}

#[test]
fn a_drag_is_one_gesture() {
    let mut bench = Bench::new();
    let at = bench.find("D3");
    bench.press(at, true);
    for step in 1..=10_u8 {
        let to = at + vec2(f32::from(step) * 8.0, 0.0);
        bench.frame(vec![Event::PointerMoved(to)]);
    }
    bench.press(at + vec2(80.0, 0.0), false);
    bench.frame(Vec::new());
    let told = bench.told();
    let count = |wanted: fn(&Told) -> bool| told.iter().filter(|t| wanted(t)).count();
    assert_eq!(
        count(|t| matches!(t, Told::Begin(id) if id == "lowest")),
        1,
        "{told:?}"
    );
    assert_eq!(
        count(|t| matches!(t, Told::End(id) if id == "lowest")),
        1,
        "{told:?}"
    );
    assert!(count(|t| matches!(t, Told::Set(..))) > 2, "{told:?}");
    assert!(matches!(told.first(), Some(Told::Begin(_))));
    assert!(matches!(told.last(), Some(Told::End(_))));
    assert!(bench.params.lowest.value() > 50);
}

#[test]
fn every_keystroke_reaches_the_cell_and_the_host() {
    let mut bench = Bench::new();
    bench.params.chart.set_text("| C6 |");
    let at = bench.find("| C6 |");
    bench.press(at, true);
    bench.press(at, false);
    let end = Event::Key {
        key: egui::Key::End,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers: Modifiers::NONE,
    };
    bench.frame(vec![end]);
    bench.told();
    for (typed, revision) in [(" F", 1), ("x", 2), ("q", 3)] {
        bench.frame(vec![Event::Text(typed.to_owned())]);
        assert_eq!(bench.params.revision.value(), revision);
        let told = bench.told();
        assert!(matches!(
            told.as_slice(),
            [Told::Begin(_), Told::Set(id, _), Told::End(_)] if id == "revision"
        ));
    }
    assert_eq!(bench.params.chart.text(), "| C6 | Fxq");
    assert_eq!(bench.params.chart.errors().len(), 1);
    let seen = bench.settle();
    assert!(
        seen.iter().any(|s| s.words.starts_with("bar 2: ")),
        "{seen:?}"
    );
}

#[test]
fn a_revision_that_the_host_has_not_taken_yet_is_not_sent_twice() {
    let bench = Bench::new();
    let mut sent = None;
    let mut last = None;
    for _ in 0..5 {
        let mut desk = Desk::new(&bench.params, ParamSetter::new(&bench.host), &mut sent);
        set(&bench.params.revision, 0);
        desk.set_chart("| C6 |");
        assert_ne!(sent, last);
        last = sent;
    }
    set(&bench.params.revision, crate::params::LAST_REVISION);
    let mut sent = None;
    Desk::new(&bench.params, ParamSetter::new(&bench.host), &mut sent).set_chart("| C6 |");
    assert_eq!(sent, Some(0));
}

#[test]
fn a_chart_from_a_loaded_state_shows() {
    let mut bench = Bench::new();
    bench.settle();
    bench.params.chart.set_text("| Ebm7 |\n| Ab7 |");
    let seen = bench.settle();
    assert!(seen.iter().any(|s| s.words == "| Ebm7 |\n| Ab7 |"));
}
