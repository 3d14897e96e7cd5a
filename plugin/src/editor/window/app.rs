//! The panel in its window: it opens and closes, reads one snapshot a frame, and knows
//! when another frame is due. The panel's thread runs it, except for `look`, which
//! the waker's thread calls, and what `window` calls on the host's main thread.

use crate::bridge::bass::EarLook;
use crate::bridge::ending::End;
use crate::bridge::ends::PanelEnds;
use crate::editor::model::page::Page;
use crate::editor::theme;
#[cfg(target_os = "linux")]
use crate::editor::window::drops::Drops;
use crate::editor::window::host::AskingEnd;
use crate::editor::window::outside::PluginOutside;
use crate::editor::window::session::Session;
use crate::editor::window::size::{self, AskedSize, WindowSize as OpenSize};
use crate::editor::window::sizing::Pixels;
use crate::editor::window::thread::Family;
use crate::editor::window::waker::{self, Waker, Wish};
use crate::params::GuidehandParams;
use egui::{Color32, DroppedFile, Rgba};
use nice_plug::context::gui::GuiContext;
use nice_plug_egui::baseview::{HandlerError, WindowSize};
use nice_plug_egui::{Frame, NiceEguiApp};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, TryLockError};
use std::time::{Duration, Instant};

/// Between frames while a window has just opened.
const LIVELY: Duration = Duration::from_millis(33);
/// The least time between two frames that only show levels. A level that moves ten times a second
/// is seen to move, and a whole frame is drawn for it.
const BETWEEN_LEVELS: Duration = Duration::from_millis(100);
/// From a wish to its frame. Not zero, for that makes the toolkit draw two.
const AT_ONCE: Duration = Duration::from_nanos(1);
/// How long frames follow each other after the first one, in seconds: hosts show
/// a window late, and what was drawn before is lost.
const OPENING_SECONDS: f64 = 2.0;

/// The colour that the window is cleared to, so that it shows as this one. The toolkit hands the
/// numbers to OpenGL as they are, and the painter writes into the window without conversion: what
/// shows is the number itself, and no linear light.
fn as_shown(colour: Color32) -> Rgba {
    let [red, green, blue, _] = colour.to_array().map(|channel| f32::from(channel) / 255.0);
    Rgba::from_rgb(red, green, blue)
}

/// The panel of one instance, where its window, its host and its waker reach it.
#[derive(Clone)]
pub struct SharedApp {
    app: Arc<Mutex<PanelApp>>,
    /// Something changed that only the host's thread knows of.
    stale: Arc<AtomicBool>,
    /// What the times of looks and frames count from.
    since: Instant,
    /// The window, for the host's thread.
    window: Arc<Mutex<WindowLook>>,
}

/// What the host's thread knows of a window.
struct WindowLook {
    /// Pixels to a point of the screen, without the zoom.
    scale: f64,
    /// The size of an open window.
    pixels: Option<Pixels>,
    waker: Option<Waker>,
    /// The host of the window that opens next.
    host: Option<AskingEnd>,
    /// The name of its threads.
    family: Option<Family>,
    /// Files that were dropped on it since the last frame.
    dropped: Vec<PathBuf>,
}

/// A file that was dropped on the window.
#[derive(Debug)]
struct Dropped(PathBuf);

impl DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    /// None: the panel takes the path, and reads on another thread.
    fn bytes(&self) -> Result<Vec<u8>, String> {
        Err("a dropped file is read by its path".to_owned())
    }
}

/// The panel, open or closed.
pub struct PanelApp {
    params: Arc<GuidehandParams>,
    ends: PanelEnds,
    session: Session,
    open: Option<Open>,
    shown: Shown,
    /// How often the window has opened; it wraps.
    openings: u32,
}

/// What the last frame has shown of what moves by itself.
#[derive(Default)]
struct Shown {
    /// Moves of parameters.
    moves: u32,
    /// What is heard of the bass.
    ear: EarLook,
    /// The last take has ended.
    take_has_ended: bool,
    /// Lit steps of the tone's meter.
    meter: u8,
    /// When it was drawn.
    at: Duration,
}

/// What there is only while the window is open.
struct Open {
    host: GuiContext,
    ctx: egui::Context,
    /// When the first frame was laid out, in seconds of the window.
    since_seconds: Option<f64>,
    size: OpenSize,
}

impl PanelApp {
    /// A closed panel.
    #[must_use]
    pub fn new(params: Arc<GuidehandParams>, ends: PanelEnds) -> PanelApp {
        PanelApp {
            session: Session::new(&params),
            params,
            ends,
            open: None,
            shown: Shown::default(),
            openings: 0,
        }
    }

    /// Whether something has moved since the last frame. `opening` is the number
    /// of the opening that asks.
    fn wish(&mut self, opening: u32, now: Duration) -> Wish {
        if self.open.is_none() || self.openings != opening {
            Wish::Gone
        } else if self.is_to_close() || self.moved(now) {
            Wish::Frame
        } else {
            Wish::Rest
        }
    }

    /// Whether the program that needs no host is to end, and its window to close.
    fn is_to_close(&self) -> bool {
        self.ends.ending.as_ref().is_some_and(End::is_asked)
    }

    /// Whether a frame would show another picture than the last one, and is due.
    fn moved(&mut self, now: Duration) -> bool {
        let meter = &mut self.session.model.meter;
        meter.follow(self.ends.meter.take(), now);
        let levels = meter.lit() != self.shown.meter || self.bass_moved();
        self.ends.snapshot.is_new()
            || self.ends.moves.count() != self.shown.moves
            || self.session.model.pages.files.has_result()
            || self.take_moved()
            || self.ends.audition.withdraw_unheard(Instant::now())
            || (levels && now.saturating_sub(self.shown.at) >= BETWEEN_LEVELS)
    }

    /// Whether something has come of a take, or it has ended.
    fn take_moved(&self) -> bool {
        let take = &self.ends.take;
        take.is_any() || take.has_ended() != self.shown.take_has_ended
    }

    /// Whether there is another look to a bass that is on show.
    fn bass_moved(&self) -> bool {
        let shows = self.session.model.pages.open == Page::Bass;
        shows && self.ends.bass.look() != self.shown.ear
    }

    /// Takes in all that moves by itself, for a frame.
    fn take_in(&mut self, now: Duration) {
        let meter = &mut self.session.model.meter;
        meter.follow(self.ends.meter.take(), now);
        self.shown = Shown {
            moves: self.ends.moves.count(),
            ear: self.ends.bass.look(),
            take_has_ended: self.ends.take.has_ended(),
            meter: meter.lit(),
            at: now,
        };
        self.session.snapshot = self.ends.snapshot.read();
    }

    fn frame(&mut self, ui: &mut egui::Ui, frame: &mut Frame, now: Duration) {
        if self.is_to_close() {
            ui.ctx().send_viewport_cmd(egui::ViewportCommand::Close);
        }
        self.take_in(now);
        let Some(open) = &mut self.open else { return };
        let now_seconds = ui.input(|input| input.time);
        let since_seconds = *open.since_seconds.get_or_insert(now_seconds);
        let (pixels, scale) = size::measured(frame.baseview_window());
        open.size.take(pixels, scale, &self.params);
        self.session.zoom = Some(open.size.zoom(&self.params));
        let setter = open.host.param_setter();
        let around = (&*self.params, &self.ends);
        self.session.frame(ui, around, &setter);
        let asked = std::mem::take(&mut self.session.asked);
        if asked != AskedSize::default() {
            open.size.ask(asked, &self.params);
        }
        let sent = &mut self.session.revision_sent;
        let mut outside = PluginOutside::new(around, &setter, sent, &mut self.session.asked);
        open.size.keep(ui, now_seconds, &mut outside, &self.params);
        frame.set_clear_color(as_shown(theme::palette(ui.ctx()).ground));
        if now_seconds - since_seconds < OPENING_SECONDS {
            ui.ctx().request_repaint_after(LIVELY);
        }
    }
}

impl SharedApp {
    /// A panel for several threads.
    #[must_use]
    pub fn new(app: PanelApp) -> SharedApp {
        SharedApp {
            app: Arc::new(Mutex::new(app)),
            stale: Arc::default(),
            since: Instant::now(),
            window: Arc::new(Mutex::new(WindowLook {
                scale: 1.0,
                pixels: None,
                waker: None,
                host: None,
                family: None,
                dropped: Vec::new(),
            })),
        }
    }

    fn lock(&self) -> MutexGuard<'_, PanelApp> {
        self.app.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn window(&self) -> MutexGuard<'_, WindowLook> {
        self.window.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Pixels to a point of the screen, without the zoom, as far as is known.
    #[must_use]
    pub fn scale(&self) -> f64 {
        self.window().scale
    }

    /// Tells how many pixels there are to a point of the screen.
    pub fn set_scale(&self, scale: f64) {
        self.window().scale = scale;
    }

    /// The size of an open window.
    #[must_use]
    pub fn pixels(&self) -> Option<Pixels> {
        self.window().pixels
    }

    /// A window opens. This is its host, if it has one, and the name of its threads.
    pub fn opens(&self, host: Option<AskingEnd>, family: Family) {
        let mut window = self.window();
        (window.host, window.family) = (host, Some(family));
    }

    fn show_size(&self, pixels: Pixels, scale: f64) {
        let mut window = self.window();
        (window.pixels, window.scale) = (Some(pixels), scale);
    }

    /// Asks for a frame soon.
    pub fn set_stale(&self) {
        self.stale.store(true, Ordering::Release);
    }

    /// Lets go of the host, and ends what is tried by ear: the window closes.
    pub fn close(&self) {
        {
            let mut app = self.lock();
            app.open = None;
            app.ends.audition.stop();
        }
        let waker = {
            let mut window = self.window();
            (window.pixels, window.host) = (None, None);
            window.dropped.clear();
            window.waker.take()
        };
        if let Some(waker) = waker {
            waker.end();
        }
    }

    /// Files are dropped on the window.
    #[cfg(target_os = "linux")]
    fn drop_files(&self, paths: Vec<PathBuf>) {
        if !paths.is_empty() {
            self.window().dropped.extend(paths);
            self.set_stale();
        }
    }

    /// Asks the window for a frame if something has moved. `opening` is the number
    /// of the opening that asks.
    pub fn look(&self, opening: u32) -> Wish {
        let mut app = match self.app.try_lock() {
            Ok(app) => app,
            Err(TryLockError::Poisoned(error)) => error.into_inner(),
            // A frame is being laid out: the next look will tell.
            Err(TryLockError::WouldBlock) => return Wish::Rest,
        };
        let wish = match app.wish(opening, self.since.elapsed()) {
            Wish::Rest if self.stale.swap(false, Ordering::AcqRel) => Wish::Frame,
            wish => wish,
        };
        if let (Wish::Frame, Some(open)) = (wish, &app.open) {
            open.ctx.request_repaint_after(AT_ONCE);
        }
        wish
    }
}

impl NiceEguiApp for SharedApp {
    fn build(
        &mut self,
        egui_ctx: egui::Context,
        nice_gui_ctx: GuiContext,
        frame: &mut Frame,
    ) -> Result<(), HandlerError> {
        theme::install(&egui_ctx);
        let mut app = self.lock();
        theme::follow(&egui_ctx, &app.params.panel.get());
        frame.set_clear_color(as_shown(theme::palette(&egui_ctx).ground));
        let window = frame.baseview_window();
        let host = {
            let known = self.window();
            if let Some(family) = &known.family {
                family.join();
            }
            known.host.clone()
        };
        let (pixels, scale) = size::measured(window);
        self.show_size(pixels, scale);
        app.open = Some(Open {
            size: OpenSize::new(&app.params, window, host),
            host: nice_gui_ctx,
            ctx: egui_ctx,
            since_seconds: None,
        });
        app.openings = app.openings.wrapping_add(1);
        Ok(())
    }

    fn ui(&mut self, ui: &mut egui::Ui, frame: &mut Frame) {
        let dropped = std::mem::take(&mut self.window().dropped);
        let dropped = dropped.into_iter().map(|path| Arc::new(Dropped(path)) as _);
        ui.ctx()
            .input_mut(|input| input.raw.dropped_files.extend(dropped));
        let mut app = self.lock();
        let first = app.open.as_ref().is_some_and(|o| o.since_seconds.is_none());
        app.frame(ui, frame, self.since.elapsed());
        if app.open.is_some() {
            let (pixels, scale) = size::measured(frame.baseview_window());
            self.show_size(pixels, scale);
        }
        if first {
            let (looked_at, opening) = (self.clone(), app.openings);
            #[cfg(target_os = "linux")]
            let mut drops = Drops::on(frame.baseview_window());
            let mut window = self.window();
            let name = window.family.as_ref().map_or("guidehand", Family::name);
            window.waker = waker::start(name, move || {
                #[cfg(target_os = "linux")]
                if let Some(drops) = &mut drops {
                    looked_at.drop_files(drops.look());
                }
                looked_at.look(opening)
            });
        }
    }

    fn resized(&mut self, size: WindowSize) {
        let mut app = self.lock();
        let PanelApp { params, open, .. } = &mut *app;
        let Some(open) = open else { return };
        // What the toolkit tells here holds its zoom.
        let scale = size.scale_factor / f64::from(open.ctx.zoom_factor());
        let pixels = [size.physical.width, size.physical.height];
        self.show_size(pixels, scale);
        open.size.take(pixels, scale, params);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bridge::ends::{self, AudioEnds};
    use crate::engine::snapshot::Snapshot;
    use crate::engine::trial::{Pace, Request, Step};
    use guidehand_theory::pitch::MidiNote;

    /// Between two looks of the waker.
    const LOOK: Duration = Duration::from_millis(25);

    /// A panel that has been drawn once, and the audio thread's ends of it.
    fn drawn() -> (PanelApp, AudioEnds) {
        let (params, audio, panel) = ends::ends(None);
        let params = GuidehandParams::with_ends(params);
        let mut app = PanelApp::new(params, panel);
        app.take_in(Duration::ZERO);
        (app, audio)
    }

    /// The looks at which a frame is drawn, of forty a second. Before each look the audio thread
    /// does something.
    fn frames(app: &mut PanelApp, seconds: u32, mut plays: impl FnMut(u32)) -> Vec<u32> {
        let looks = 1..=seconds * 40;
        let drawn = looks.filter(|look| {
            plays(*look);
            let moved = app.moved(LOOK * *look);
            if moved {
                app.take_in(LOOK * *look);
            }
            moved
        });
        drawn.collect()
    }

    /// The most frames in any second.
    fn most_in_a_second(frames: &[u32]) -> usize {
        let within = |first: &u32| {
            let second = *first..*first + 40;
            frames.iter().filter(|look| second.contains(*look)).count()
        };
        frames.iter().map(within).max().unwrap_or(0)
    }

    #[test]
    fn what_does_not_move_is_drawn_once() {
        let (mut app, _audio) = drawn();
        assert!(frames(&mut app, 60, |_| ()).is_empty());
    }

    #[test]
    fn a_level_that_stays_is_drawn_once() {
        let (mut app, audio) = drawn();
        let drawn = frames(&mut app, 60, |_| audio.meter.raise(0.2));
        assert_eq!(drawn, [4], "as soon as a level may be drawn");
    }

    #[test]
    fn a_level_that_falls_is_drawn_step_by_step() {
        let (mut app, audio) = drawn();
        let drawn = frames(&mut app, 60, |look| {
            if look == 40 {
                audio.meter.raise(0.5);
            }
        });
        assert_eq!(
            drawn.len(),
            1 + 18,
            "the rise and its steps down: {drawn:?}"
        );
        assert_eq!(drawn.first(), Some(&40), "it rises at once");
        assert!(most_in_a_second(&drawn) <= 5, "{drawn:?}");
        assert_eq!(app.shown.meter, 0);
    }

    #[test]
    fn levels_are_drawn_ten_times_a_second_at_most() {
        let (mut app, audio) = drawn();
        let mut rng = fastrand::Rng::with_seed(1);
        let drawn = frames(&mut app, 60, |_| audio.meter.raise(0.5 * rng.f32().powi(8)));
        assert!(drawn.len() > 60, "{} frames", drawn.len());
        assert!(most_in_a_second(&drawn) <= 10, "{drawn:?}");
    }

    #[test]
    fn a_peak_between_two_frames_is_not_lost() {
        let (mut app, audio) = drawn();
        let drawn = frames(&mut app, 1, |look| match look {
            20 => audio.meter.raise(0.01),
            22 => audio.meter.raise(0.5),
            _ => (),
        });
        assert_eq!(drawn.get(..2), Some(&[20, 24][..]), "{drawn:?}");
    }

    #[test]
    fn a_chord_is_drawn_at_once_and_once() {
        let (mut app, mut audio) = drawn();
        let playing = Snapshot {
            playing: true,
            ..Snapshot::default()
        };
        let drawn = frames(&mut app, 1, |look| {
            if [2, 3, 30].contains(&look) {
                audio.snapshot.publish(&playing);
            }
        });
        assert_eq!(drawn, [2, 3, 30]);
    }

    fn request() -> Request {
        Request::new(Pace::Free, [Step::note(MidiNote::MAX)])
    }

    #[test]
    fn a_window_that_closes_ends_what_is_tried() {
        let (app, mut audio) = drawn();
        app.ends.audition.play(&request());
        assert!(
            audio
                .audition
                .take()
                .is_some_and(|ask| ask.request.is_some())
        );
        SharedApp::new(app).close();
        assert!(
            audio
                .audition
                .take()
                .is_some_and(|ask| ask.request.is_none())
        );
    }

    #[test]
    fn a_wish_makes_one_frame() {
        let ctx = egui::Context::default();
        let frame = |ctx: &egui::Context| {
            let output = ctx.run_ui(egui::RawInput::default(), |_| ());
            output.drop_without_applying_deltas();
        };
        let settled = || (0..5).for_each(|_| frame(&ctx));
        settled();
        assert!(!ctx.has_requested_repaint());
        ctx.request_repaint_after(AT_ONCE);
        assert!(ctx.has_requested_repaint());
        frame(&ctx);
        assert!(!ctx.has_requested_repaint(), "a second frame");
        ctx.request_repaint();
        frame(&ctx);
        assert!(ctx.has_requested_repaint(), "the toolkit has changed");
    }

    #[test]
    fn the_window_is_cleared_to_the_colour_that_shows() {
        for colour in [[0x17, 0x16, 0x14], [0xf2, 0xed, 0xe2]] {
            let [red, green, blue] = colour;
            let [r, g, b, a] = as_shown(Color32::from_rgb(red, green, blue)).to_array();
            let bytes = [r, g, b].map(|channel| (channel * 255.0).round());
            assert_eq!(bytes, colour.map(f32::from));
            assert_eq!(a, 1.0);
        }
    }
}
