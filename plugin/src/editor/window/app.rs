//! The panel in its window: it opens and closes, reads one snapshot a frame, and knows
//! when another frame is due. The panel's thread runs it, except for `look`, which
//! the waker's thread calls, and what `window` calls on the host's main thread.

use crate::bridge::bass::EarLook;
use crate::bridge::ends::PanelEnds;
use crate::editor::theme;
use crate::editor::window::host::AskingEnd;
use crate::editor::window::outside::PluginOutside;
use crate::editor::window::session::Session;
use crate::editor::window::size::{self, AskedSize, WindowSize as OpenSize};
use crate::editor::window::sizing::Pixels;
use crate::editor::window::thread::Family;
use crate::editor::window::waker::{self, Waker, Wish};
use crate::params::{GuidehandParams, SourceParam};
use nice_plug::context::gui::GuiContext;
use nice_plug_egui::baseview::{HandlerError, WindowSize};
use nice_plug_egui::{Frame, NiceEguiApp};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, TryLockError};
use std::time::Duration;

/// Between frames while the meter falls or a window has just opened.
const LIVELY: Duration = Duration::from_millis(33);
/// How long frames follow each other after the first one, in seconds: hosts show
/// a window late, and what was drawn before is lost.
const OPENING_SECONDS: f64 = 2.0;
/// A peak of the tone that the meter shows, linear: -60 dB.
const AUDIBLE: f32 = 0.001;

/// The panel of one instance, where its window, its host and its waker reach it.
#[derive(Clone)]
pub struct SharedApp {
    app: Arc<Mutex<PanelApp>>,
    /// Something changed that only the host's thread knows of.
    stale: Arc<AtomicBool>,
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
}

/// The panel, open or closed.
pub struct PanelApp {
    params: Arc<GuidehandParams>,
    ends: PanelEnds,
    session: Session,
    open: Option<Open>,
    /// Moves of parameters that the last frame has shown.
    moves_shown: u32,
    /// What of the bass it has shown.
    ear_shown: EarLook,
    /// How often the window has opened; it wraps.
    openings: u32,
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
            moves_shown: 0,
            ear_shown: EarLook::default(),
            openings: 0,
        }
    }

    /// Whether something has moved since the last frame. `opening` is the number
    /// of the opening that asks.
    fn wish(&self, opening: u32) -> Wish {
        let heard = self.ends.meter.peak() > AUDIBLE;
        if self.open.is_none() || self.openings != opening {
            Wish::Gone
        } else if self.ends.snapshot.is_new()
            || self.ends.moves.count() != self.moves_shown
            || heard
            || self.bass_moved()
        {
            Wish::Frame
        } else {
            Wish::Rest
        }
    }

    /// Whether there is another look to a bass that is on show.
    fn bass_moved(&self) -> bool {
        let shows = self.params.source.value() == SourceParam::Bass;
        shows && self.ends.bass.look() != self.ear_shown
    }

    fn frame(&mut self, ui: &mut egui::Ui, frame: &mut Frame) {
        let Some(open) = &mut self.open else { return };
        let now_seconds = ui.input(|input| input.time);
        let since_seconds = *open.since_seconds.get_or_insert(now_seconds);
        self.moves_shown = self.ends.moves.count();
        self.ear_shown = self.ends.bass.look();
        self.session.snapshot = self.ends.snapshot.read();
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
        frame.set_clear_color(theme::palette(ui.ctx()).ground.into());
        if now_seconds - since_seconds < OPENING_SECONDS || self.session.model.meter > AUDIBLE {
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
            window: Arc::new(Mutex::new(WindowLook {
                scale: 1.0,
                pixels: None,
                waker: None,
                host: None,
                family: None,
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

    /// Lets go of the host: the window closes.
    pub fn close(&self) {
        self.lock().open = None;
        let waker = {
            let mut window = self.window();
            (window.pixels, window.host) = (None, None);
            window.waker.take()
        };
        if let Some(waker) = waker {
            waker.end();
        }
    }

    /// Asks the window for a frame if something has moved. `opening` is the number
    /// of the opening that asks.
    pub fn look(&self, opening: u32) -> Wish {
        let app = match self.app.try_lock() {
            Ok(app) => app,
            Err(TryLockError::Poisoned(error)) => error.into_inner(),
            // A frame is being laid out: the next look will tell.
            Err(TryLockError::WouldBlock) => return Wish::Rest,
        };
        let wish = match app.wish(opening) {
            Wish::Rest if self.stale.swap(false, Ordering::AcqRel) => Wish::Frame,
            wish => wish,
        };
        if let (Wish::Frame, Some(open)) = (wish, &app.open) {
            open.ctx.request_repaint();
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
        frame.set_clear_color(theme::palette(&egui_ctx).ground.into());
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
        let mut app = self.lock();
        let first = app.open.as_ref().is_some_and(|o| o.since_seconds.is_none());
        app.frame(ui, frame);
        if app.open.is_some() {
            let (pixels, scale) = size::measured(frame.baseview_window());
            self.show_size(pixels, scale);
        }
        if first {
            let (looked_at, opening) = (self.clone(), app.openings);
            let mut window = self.window();
            let name = window.family.as_ref().map_or("guidehand", Family::name);
            window.waker = waker::start(name, move || looked_at.look(opening));
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
