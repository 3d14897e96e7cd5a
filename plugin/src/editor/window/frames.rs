//! Frames of the panel without a window, for the benchmarks of their price. Built with
//! the feature `frame_bench` only; the benchmarks import it.

use crate::bridge::ends::{self, AudioEnds, PanelEnds};
use crate::editor::panel::chart as region;
use crate::editor::theme;
use crate::editor::window::session::Session;
use crate::engine::snapshot::{Snapshot, Sounding, UnderKey};
use crate::params::{GuidehandParams, PanelView, SavedPanel, SourceParam, UnderParam, YieldParam};
use crate::worker;
use egui::text::{CCursor, CCursorRange};
use egui::text_edit::TextEditState;
use egui::{Context, Event, Key, Modifiers, Pos2, RawInput, Rect};
use guidehand_theory::chart;
use guidehand_theory::pipeline::{self, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Ends;
use guidehand_theory::under::{self, Struck};
use nice_plug::context::PluginApi;
use nice_plug::context::gui::GuiContextInner;
use nice_plug::params::internals::ParamPtr;
use nice_plug::prelude::{Param, ParamSetter, PluginState};
use std::fmt::Write;
use std::sync::Arc;
use std::thread;
use std::time::{Duration, Instant};

/// A panel of its first size.
struct Window {
    params: Arc<GuidehandParams>,
    ends: PanelEnds,
    ctx: Context,
    session: Session,
    /// Frames so far.
    frame: u32,
}

/// A panel of its first size that plays its first chart.
pub struct Frames {
    window: Window,
    sounding: Vec<Snapshot>,
}

/// A panel of its first size in whose chart someone types.
pub struct Typing {
    window: Window,
    /// Charts that come into force go there.
    _audio: AudioEnds,
}

/// A key that is pressed in the chart.
#[derive(Clone, Copy, Debug)]
pub enum Keystroke {
    /// A letter or a sign.
    Letter(&'static str),
    /// Takes the one before the cursor away.
    Backspace,
}

/// A host that takes no notice.
struct Deaf;

impl GuiContextInner for Deaf {
    fn plugin_api(&self) -> PluginApi {
        PluginApi::Clap
    }

    unsafe fn raw_begin_set_parameter(&self, _: ParamPtr) {}

    unsafe fn raw_set_parameter_normalized(&self, _: ParamPtr, _: f32) {}

    unsafe fn raw_end_set_parameter(&self, _: ParamPtr) {}

    fn get_state(&self) -> PluginState {
        unreachable!("the panel saves no states")
    }

    fn set_state(&self, _: PluginState) {}

    fn request_restart(&self) {}
}

/// Sets a parameter as a host does.
fn set<P: Param>(param: &P, value: P::Plain) {
    let value = param.preview_normalized(value);
    // SAFETY: no one else holds the parameters.
    unsafe { param.as_ptr()._internal_set_normalized_value(value) };
}

impl Window {
    /// A panel that shows a chart, and the audio thread's end of it.
    fn new(text: Option<&str>) -> (Window, AudioEnds) {
        let (params, audio, ends) = ends::ends(None);
        let params = GuidehandParams::with_ends(params);
        set(&params.source, SourceParam::Chart);
        if let Some(text) = text {
            params.chart.set_text(text);
            params.chart.settle();
            worker::watch(&params.chart, &params.practice);
        }
        let ctx = Context::default();
        theme::install(&ctx);
        let window = Window {
            session: Session::new(&params),
            params,
            ends,
            ctx,
            frame: 0,
        };
        (window, audio)
    }

    /// Lays out and tessellates a frame with these events. Gives the number of its
    /// vertices, and when it wants the next one at the latest.
    fn frame(&mut self, events: Vec<Event>) -> (usize, Duration) {
        self.frame += 1;
        let size = self.params.panel.get().size();
        let input = RawInput {
            screen_rect: Some(Rect::from_min_size(Pos2::ZERO, size.into())),
            time: Some(f64::from(self.frame) / 60.0),
            events,
            ..RawInput::default()
        };
        let Window {
            params,
            ends,
            ctx,
            session,
            ..
        } = self;
        let mut output = ctx.run_ui(input, |ui| {
            session.frame(ui, (params, ends), &ParamSetter::new(&Deaf));
        });
        let shapes = std::mem::take(&mut output.shapes);
        let meshes = ctx.tessellate(shapes, output.pixels_per_point);
        let mut viewports = output.viewport_output.values();
        let again = viewports.next().map_or(Duration::MAX, |v| v.repaint_delay);
        output.drop_without_applying_deltas();
        let vertices = meshes.iter().map(|clipped| match &clipped.primitive {
            egui::epaint::Primitive::Mesh(mesh) => mesh.vertices.len(),
            egui::epaint::Primitive::Callback(_) => 0,
        });
        (vertices.sum(), again)
    }
}

impl Default for Frames {
    fn default() -> Self {
        let (window, _audio) = Window::new(None);
        Frames {
            sounding: sounding(&window.params.chart.latest().text),
            window,
        }
    }
}

impl Frames {
    /// A panel in its small view that plays its first chart.
    #[must_use]
    pub fn small() -> Frames {
        let frames = Frames::default();
        let panel = &frames.window.params.panel;
        panel.put(SavedPanel {
            view: PanelView::Small,
            ..panel.get()
        });
        frames
    }

    /// A panel whose every chord has a melody over it, with a chord under the melody.
    #[must_use]
    pub fn under_melody() -> Frames {
        let mut frames = Frames::default();
        set(&frames.window.params.yielding, YieldParam::Tensions);
        set(&frames.window.params.under, UnderParam::FourWayClose);
        for (snapshot, key) in frames.sounding.iter_mut().zip((72_u8..84).cycle()) {
            let harmony = snapshot.sounding.map(|sounding| sounding.placed.into());
            let struck = Struck {
                note: MidiNote::clamp(i32::from(key)),
                fast: false,
            };
            let block = under::step(&under::Taste::default(), None, struck, harmony.as_ref());
            snapshot.held = 1 << key;
            snapshot.under = Some(UnderKey {
                block,
                sounds: true,
            });
        }
        frames
    }

    /// Lays out and tessellates the next frame, in which another chord sounds, as
    /// at every beat or so. Gives the number of its vertices.
    pub fn next_frame(&mut self) -> usize {
        let snapshots = self.sounding.len().max(1);
        let nth = self.window.frame as usize % snapshots;
        if let Some(snapshot) = self.sounding.get(nth) {
            self.window.session.snapshot = *snapshot;
        }
        self.window.frame(Vec::new()).0
    }
}

impl Typing {
    /// A panel that shows a chart of so many chords.
    #[must_use]
    pub fn new(chords: usize) -> Typing {
        let text = of_chords(chords);
        let (window, audio) = Window::new(Some(&text));
        let mut typing = Typing {
            window,
            _audio: audio,
        };
        typing.settle();
        typing
    }

    /// Puts the cursor behind a bar line, this part of the way through the text.
    pub fn go_to(&mut self, part: f64) {
        let text = self.window.params.chart.latest().text.clone();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "a part of a text that is all ASCII"
        )]
        let from = (text.len() as f64 * part) as usize;
        let from = from.min(text.len() - 1);
        let line = text.get(from..).and_then(|rest| rest.find('|'));
        let line = line.map(|at| from + at).or(text.rfind('|'));
        let cursor = CCursorRange::one(CCursor::new(line.map_or(0, |at| at + 1)));
        let ctx = &self.window.ctx;
        let mut state = TextEditState::load(ctx, region::text_id()).unwrap_or_default();
        state.cursor.set_char_range(Some(cursor));
        state.store(ctx, region::text_id());
        ctx.memory_mut(|memory| memory.request_focus(region::text_id()));
        self.settle();
    }

    /// Presses a key; gives what its frame took.
    pub fn press(&mut self, stroke: Keystroke) -> Duration {
        let (key, text) = match stroke {
            Keystroke::Letter(letter) => (Key::A, Some(Event::Text(letter.to_owned()))),
            Keystroke::Backspace => (Key::Backspace, None),
        };
        let pressed = |pressed: bool| Event::Key {
            key,
            physical_key: None,
            pressed,
            repeat: false,
            modifiers: Modifiers::NONE,
        };
        let mut events = vec![pressed(true)];
        events.extend(text);
        events.push(pressed(false));
        let begun = Instant::now();
        self.window.frame(events);
        begun.elapsed()
    }

    /// Presses a key, and waits until the chart has been planned in the texture in use, so that
    /// it could play; none where there comes no plan, since the text cannot be read.
    pub fn press_and_plan(&mut self, stroke: Keystroke) -> Option<Duration> {
        let before = self.window.params.chart.latest().edition;
        let begun = Instant::now();
        self.press(stroke);
        loop {
            let read = self.window.params.chart.latest();
            let is_there = read.edition > before;
            if is_there && read.planned.is_some() {
                return Some(begun.elapsed());
            }
            if is_there && read.chart.is_err() || begun.elapsed() > PATIENCE {
                return None;
            }
            thread::sleep(Duration::from_micros(200));
        }
    }

    /// Frames without an event until nothing changes any more; gives what the slowest
    /// of them took.
    pub fn settle(&mut self) -> Duration {
        let mut slowest = Duration::ZERO;
        let mut quiet = 0;
        let since = Instant::now();
        while quiet < QUIET && since.elapsed() < PATIENCE {
            let begun = Instant::now();
            let (_, again) = self.window.frame(Vec::new());
            slowest = slowest.max(begun.elapsed());
            if again < PAUSE {
                quiet = 0;
                thread::sleep(again.min(Duration::from_millis(1)));
            } else {
                quiet += 1;
            }
        }
        slowest
    }
}

/// Frames in a row that want no other one soon: nothing is under way.
const QUIET: u32 = 3;
/// A frame that is wanted later than this is for something else, such as a tip.
const PAUSE: Duration = Duration::from_millis(200);
/// The longest wait for anything.
const PATIENCE: Duration = Duration::from_secs(5);

/// A chart of so many chords, four bars in a line, in turning keys.
fn of_chords(chords: usize) -> String {
    const LINES: [&str; 4] = [
        "| Dm7 | G7 | Cmaj7 | A7 |",
        "| Ebm7 Ab7 | Dbmaj7 | Gm7 | C7 |",
        "| Em7b5 | A7b9 | Dm7 G7 | C6/9 |",
        "| Fmaj7 | Bb7 | Em7 A7 | Dm7 |",
    ];
    let (mut text, mut count) = (String::new(), 0);
    for line in LINES.iter().cycle() {
        if count >= chords {
            break;
        }
        let words = line.split_whitespace();
        count += words.filter(|word| *word != "|").count();
        // A `String` takes every line.
        let _written = writeln!(text, "{line}");
    }
    text
}

/// Every chord of a chart as it sounds.
fn sounding(text: &str) -> Vec<Snapshot> {
    let Ok(chart) = chart::parse(text) else {
        return Vec::new();
    };
    let taste = Taste::default();
    let placed = pipeline::place(&chart, None);
    let plan = pipeline::plan(&placed, taste.texture, taste.register, Ends::Cyclic);
    let all = placed.iter().zip(plan).zip(&chart.changes).enumerate();
    all.filter_map(|(change, ((placed, voiced), at))| {
        let sounding = Sounding {
            placed: (*placed)?,
            voiced: voiced?,
            bass: None,
            read: None,
        };
        Some(Snapshot {
            playing: true,
            sounding: Some(sounding),
            last: Some(sounding),
            next: *placed,
            beat_ticks: Some(at.start_ticks),
            change: Some(change),
            ..Snapshot::default()
        })
    })
    .collect()
}
