//! The panel without a window, for tests: a host that writes down what it is told, what
//! is on the screen, and what the engine would play. Only tests import it.

use crate::bridge::ends::{self, AudioEnds, PanelEnds, Program};
use crate::editor::theme;
use crate::editor::window::session::Session;
use crate::editor::window::size::AskedSize;
use crate::engine::planned::PlannedChart;
use crate::engine::settings::PlanFor;
use crate::engine::snapshot::{Snapshot, Sounding, UnderKey, Yielded};
use crate::params::{GuidehandParams, PANEL_SIZE, SavedPanel};
use egui::accesskit::Role;
use egui::epaint::ClippedShape;
use egui::{Event, Galley, Key, Modifiers, PointerButton, Pos2, Rect, Shape, UiBuilder, Vec2};
use egui_kittest::kittest::{NodeT, Queryable};
use egui_kittest::{Harness, Node};
use guidehand_theory::chart;
use guidehand_theory::comping::{Under, Yielding};
use guidehand_theory::pipeline::{self, LOWEST_BASS, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Ends;
use guidehand_theory::tension::Above;
use guidehand_theory::under::{self, Harmony, Struck, Style};
use nice_plug::context::PluginApi;
use nice_plug::context::gui::GuiContextInner;
use nice_plug::params::Params;
use nice_plug::params::internals::ParamPtr;
use nice_plug::params::persist::PersistentField;
use nice_plug::prelude::{Param, ParamSetter, PluginState};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

/// The longest wait for something on another thread.
const PATIENCE: Duration = Duration::from_secs(60);

/// What a host is told.
#[derive(Clone, Debug, PartialEq)]
pub enum HostCall {
    Begin(String),
    Set(String, f32),
    End(String),
}

/// A host that takes every value at once, and writes down what it is told.
pub struct Host {
    ids: Vec<(ParamPtr, String)>,
    told: Mutex<Vec<HostCall>>,
}

impl Host {
    /// A host of these parameters, which outlive it.
    pub fn new(params: &GuidehandParams) -> Host {
        let ids = params.param_map();
        Host {
            ids: ids.into_iter().map(|(id, param, _)| (param, id)).collect(),
            told: Mutex::default(),
        }
    }

    fn id(&self, param: ParamPtr) -> String {
        let (_, id) = self.ids.iter().find(|(p, _)| *p == param).unwrap();
        id.clone()
    }

    fn hear(&self, told: HostCall) {
        self.told.lock().unwrap().push(told);
    }
}

impl GuiContextInner for Host {
    fn plugin_api(&self) -> PluginApi {
        PluginApi::Clap
    }

    unsafe fn raw_begin_set_parameter(&self, param: ParamPtr) {
        self.hear(HostCall::Begin(self.id(param)));
    }

    unsafe fn raw_set_parameter_normalized(&self, param: ParamPtr, normalized: f32) {
        self.hear(HostCall::Set(self.id(param), normalized));
        // SAFETY: the parameters outlive the host in every test.
        unsafe { param._internal_set_normalized_value(normalized) };
    }

    unsafe fn raw_end_set_parameter(&self, param: ParamPtr) {
        self.hear(HostCall::End(self.id(param)));
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

/// Everything around the panel.
pub struct World {
    pub params: Arc<GuidehandParams>,
    pub host: Host,
    pub session: Session,
    /// The audio thread's ends.
    pub audio: AudioEnds,
    pub ends: PanelEnds,
    song: Option<Arc<PlannedChart>>,
    /// The size that the panel asked for last, in points.
    pub asked: Option<[f32; 2]>,
}

/// A text on the screen.
#[derive(Clone, Debug)]
pub struct Seen {
    pub words: String,
    pub rect: Rect,
    /// Where its rows leave ink.
    pub rows: Vec<Rect>,
    pub clip: Rect,
    pub elided: bool,
    /// The size of its smallest letters, in points.
    pub size: f32,
}

/// A panel without a window.
pub struct Bench {
    pub harness: Harness<'static, World>,
}

impl Bench {
    /// A panel of its first size with the first chart, in a host.
    pub fn new() -> Bench {
        Bench::of(None)
    }

    /// The same in the program that needs no host.
    pub fn alone(follows_jack: bool) -> Bench {
        Bench::of(Some(Program {
            follows_jack,
            bpm: 120.0,
        }))
    }

    fn of(program: Option<Program>) -> Bench {
        let (params, audio, ends) = ends::ends(program);
        let params = GuidehandParams::with_ends(params);
        let world = World {
            host: Host::new(&params),
            session: Session::new(&params),
            params,
            audio,
            ends,
            song: None,
            asked: None,
        };
        let harness = Harness::builder()
            .with_size(PANEL_SIZE)
            .with_step_dt(0.05)
            .with_max_steps(20)
            .with_context_setup(theme::install)
            .build_ui_state(lay_out, world);
        Bench { harness }
    }

    /// Gives the panel another size, in points.
    pub fn resize(&mut self, size: impl Into<Vec2>) {
        self.harness.set_size(size.into());
    }

    pub fn params(&self) -> Arc<GuidehandParams> {
        self.harness.state().params.clone()
    }

    /// Loads a panel from a state, as a host does.
    pub fn load_panel(&self, panel: SavedPanel) {
        self.params().panel.set(panel.into());
    }

    /// The melody as a state saves it.
    pub fn saved_melody(&self) -> String {
        self.params().chart.saved().melody
    }

    /// Loads a melody from a state of an older version, as a host does.
    pub fn load_old_melody(&self, melody: String) {
        self.params().melody.set(melody);
    }

    /// Shows another snapshot.
    pub fn show(&mut self, snapshot: Snapshot) {
        self.harness.state_mut().session.snapshot = snapshot;
    }

    /// One frame.
    pub fn frame(&mut self) {
        self.harness.step();
    }

    /// Lays out until everything has its place, and gives the texts on the screen.
    pub fn settle(&mut self) -> Vec<Seen> {
        self.harness.run_steps(3);
        self.seen()
    }

    /// Lays out until no file is being read or written any more, and gives the texts on the
    /// screen.
    pub fn await_file(&mut self) -> Vec<Seen> {
        let is_under_way = |bench: &Bench| {
            let files = &bench.harness.state().session.model.pages.files;
            files.under_way().is_some()
        };
        let since = Instant::now();
        self.frame();
        while is_under_way(self) {
            // A test that fails must not hang.
            assert!(since.elapsed() < PATIENCE, "a file is never done with");
            thread::sleep(Duration::from_millis(1));
            self.frame();
        }
        self.settle()
    }

    /// The texts on the screen.
    pub fn seen(&self) -> Vec<Seen> {
        let mut seen = Vec::new();
        let shapes = &self.harness.output().shapes;
        for ClippedShape {
            clip_rect, shape, ..
        } in shapes
        {
            texts(shape, *clip_rect, &mut seen);
        }
        seen
    }

    /// The control of this accessible name, apart from the words beside it. There
    /// must be one.
    pub fn control<'a>(&'a self, name: &'a str) -> Node<'a> {
        let mut controls = self.controls(name);
        let control = controls.next();
        assert!(controls.next().is_none(), "two controls named {name:?}");
        control.unwrap_or_else(|| panic!("no control named {name:?}"))
    }

    fn controls<'a>(&'a self, name: &'a str) -> impl Iterator<Item = Node<'a>> {
        let nodes = self.harness.query_all_by_label(name);
        // A number can be dragged on the keyboard, too: as a slider of its name.
        let besides =
            move |role| matches!(role, Role::Label | Role::Slider) && name != "Audition level";
        nodes.filter(move |n| !besides(n.accesskit_node().role()))
    }

    /// Opens the page that has the control of this accessible name, if another one is open.
    pub fn reach(&mut self, name: &str) {
        let pages = self.harness.get_all_by_role(Role::Tab);
        let pages: Vec<String> = pages
            .map(|page| page.accesskit_node().label().unwrap_or_default())
            .collect();
        for page in pages {
            if self.controls(name).next().is_some() {
                return;
            }
            self.click(&page);
            self.settle();
        }
        self.control(name);
    }

    /// The value that a screen reader tells of a control.
    pub fn value(&self, name: &str) -> Option<String> {
        self.control(name).value()
    }

    /// Whether a control is chosen or switched on.
    pub fn is_on(&self, name: &str) -> bool {
        let toggled = self.control(name).accesskit_node().toggled();
        toggled == Some(egui::accesskit::Toggled::True)
    }

    /// Clicks a control.
    pub fn click(&mut self, name: &str) {
        let at = self.control(name).rect().center();
        self.click_at(at);
    }

    pub fn click_at(&mut self, at: Pos2) {
        // Apart in time, so that two are no double click.
        self.harness.run_steps(10);
        self.press(at, true);
        self.press(at, false);
        self.frame();
    }

    /// Clicks a control twice in quick succession.
    pub fn double_click(&mut self, name: &str) {
        let at = self.control(name).rect().center();
        self.double_click_at(at);
    }

    pub fn double_click_at(&mut self, at: Pos2) {
        self.harness.run_steps(10);
        for _ in 0..2 {
            self.harness.event(Event::PointerMoved(at));
            self.harness.event(button(at, true));
            self.frame();
            self.harness.event(button(at, false));
            self.frame();
        }
        self.frame();
    }

    /// Presses the pointer's button at a place, or lets it go.
    pub fn press(&mut self, at: Pos2, pressed: bool) {
        self.harness.event(Event::PointerMoved(at));
        self.frame();
        self.harness.event(button(at, pressed));
        self.frame();
    }

    /// Drags from one place to another in steps.
    pub fn drag(&mut self, from: Pos2, to: Pos2) {
        self.press(from, true);
        for step in 1..=10_u8 {
            let at = from + (to - from) * (f32::from(step) / 10.0);
            self.harness.event(Event::PointerMoved(at));
            self.frame();
        }
        self.press(to, false);
        self.frame();
    }

    /// Types into what has the focus.
    pub fn type_text(&mut self, text: &str) {
        self.harness.event(Event::Text(text.to_owned()));
        self.frame();
    }

    /// Presses a key and lets it go.
    pub fn key(&mut self, key: Key) {
        self.harness.key_press(key);
        self.harness.run_steps(3);
    }

    /// What the host was told since this was asked last.
    pub fn told(&self) -> Vec<HostCall> {
        std::mem::take(&mut *self.harness.state().host.told.lock().unwrap())
    }

    /// What the engine would play: the keys of each change of the chart, in the
    /// settings in force; none where it is silent.
    pub fn plays(&mut self) -> Vec<Option<Vec<u8>>> {
        let world = self.harness.state_mut();
        if let Some(new) = world.audio.charts.take()
            && let Some(old) = world.song.replace(new)
        {
            world.audio.charts.give_back(old);
        }
        let taste = world.params.settings().taste;
        let song = world.song.as_ref().unwrap();
        let keys = |change| {
            let (_, voiced) = song.voiced(change, &taste)?;
            let voices = voiced.voicing;
            Some(voices.voices().iter().map(|v| v.note.number()).collect())
        };
        (0..song.changes.len()).map(keys).collect()
    }
}

fn lay_out(ui: &mut egui::Ui, world: &mut World) {
    let World {
        params,
        host,
        session,
        ends,
        asked,
        ..
    } = world;
    let setter = ParamSetter::new(host);
    // The harness keeps a margin, a window does not.
    let window = ui.ctx().viewport_rect();
    ui.scope_builder(UiBuilder::new().max_rect(window), |ui| {
        ui.set_clip_rect(window);
        session.frame(ui, (&**params, &*ends), &setter);
    });
    let AskedSize { zoom, points } = std::mem::take(&mut session.asked);
    *asked = points.or(*asked);
    // As a host that gives the zoom at once.
    if let Some(zoom) = zoom {
        let saved = params.panel.get();
        params.panel.put(SavedPanel { zoom, ..saved });
    }
}

fn button(at: Pos2, pressed: bool) -> Event {
    Event::PointerButton {
        pos: at,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    }
}

fn texts(shape: &Shape, clip: Rect, seen: &mut Vec<Seen>) {
    match shape {
        Shape::Text(text) => seen.push(Seen {
            words: text.galley.text().to_owned(),
            rect: text.galley.rect.translate(text.pos.to_vec2()),
            rows: ink(&text.galley)
                .map(|r| r.translate(text.pos.to_vec2()))
                .collect(),
            clip,
            elided: text.galley.elided,
            size: smallest(&text.galley),
        }),
        Shape::Vec(shapes) => shapes.iter().for_each(|s| texts(s, clip, seen)),
        _ => {}
    }
}

/// The size of the smallest letters of a text, in points.
fn smallest(galley: &Galley) -> f32 {
    let sections = galley.job.sections.iter();
    let sizes = sections.map(|section| section.format.font_id.size);
    sizes.fold(f32::INFINITY, f32::min)
}

/// Where the rows of a text leave ink.
fn ink(galley: &Galley) -> impl Iterator<Item = Rect> {
    let rows = galley.rows.iter();
    rows.map(|row| row.row.visuals.mesh_bounds.translate(row.pos.to_vec2()))
}

/// Sets a parameter as a host does.
pub fn set<P: Param>(param: &P, value: P::Plain) {
    // SAFETY: no one else holds the parameters.
    unsafe {
        param
            .as_ptr()
            ._internal_set_normalized_value(param.preview_normalized(value))
    };
}

/// How many gestures on a parameter began, set something and ended.
pub fn gestures(told: &[HostCall], wanted: &str) -> (usize, usize, usize) {
    let count = |is: &dyn Fn(&HostCall) -> bool| told.iter().filter(|t| is(t)).count();
    (
        count(&|t| matches!(t, HostCall::Begin(id) if id == wanted)),
        count(&|t| matches!(t, HostCall::Set(id, _) if id == wanted)),
        count(&|t| matches!(t, HostCall::End(id) if id == wanted)),
    )
}

/// Every chord of a chart as it sounds, in a texture.
pub fn sounding(text: &str, taste: &Taste) -> Vec<Snapshot> {
    let chart = chart::parse(text).unwrap();
    let placed = pipeline::place(&chart, None);
    let plan = pipeline::plan(&placed, taste.texture, taste.register, Ends::Cyclic);
    let all = placed.iter().zip(plan).enumerate();
    all.filter_map(|(change, (placed, voiced))| {
        let sounding = Sounding {
            placed: (*placed)?,
            voiced: pipeline::adapt(&voiced?, placed.as_ref()?, taste),
            bass: (*placed)?.bass(LOWEST_BASS),
            read: None,
        };
        Some(Snapshot {
            playing: true,
            sounding: Some(sounding),
            last: Some(sounding),
            next: *placed,
            beat_ticks: Some(chart.changes[change].start_ticks),
            change: Some(change),
            ..Snapshot::default()
        })
    })
    .collect()
}

/// Every chord of a chart as it sounds while the right hand holds these keys: it yields to them, and the
/// highest has a chord under it.
pub fn under_melody(text: &str, taste: &Taste, keys: &[u8], style: Style) -> Vec<Snapshot> {
    let chart = chart::parse(text).unwrap();
    let planned = PlannedChart::plan(&chart, PlanFor::default(), 0);
    let held = keys.iter().fold(0, |held, key| held | 1 << key);
    let under = Under {
        above: Above::of_keys(held),
        yielding: Yielding::TensionsAndRegister,
    };
    let struck = keys.iter().max().map(|key| Struck {
        note: MidiNote::new(*key).unwrap(),
        fast: false,
    });
    let taste_under = under::Taste {
        style,
        ..under::Taste::default()
    };
    let mut shown = sounding(text, taste);
    for snapshot in &mut shown {
        let change = snapshot.change.unwrap();
        let (placed, agreeing) = planned.voiced_under(change, taste, &under).unwrap();
        let harmony = Harmony {
            placed,
            tensions: Some(agreeing.voiced.tensions),
        };
        let sounding = snapshot.sounding.map(|sounding| Sounding {
            voiced: agreeing.voiced,
            ..sounding
        });
        (snapshot.sounding, snapshot.last) = (sounding, sounding);
        snapshot.held = held;
        snapshot.yielded = Yielded {
            yields: agreeing.yields,
            too_high: agreeing.too_high,
        };
        snapshot.under = struck.map(|struck| UnderKey {
            block: under::step(&taste_under, None, struck, Some(&harmony)),
            sounds: true,
        });
    }
    shown
}
