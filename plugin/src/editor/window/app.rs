//! The panel in its window: it opens and closes, reads one snapshot a frame, and knows
//! when another frame is due. The panel's thread runs it, except for `look`, which
//! the waker's thread calls, and `close`, which the host's main thread calls. `window` imports it.

use crate::bridge::bass::EarLook;
use crate::bridge::ending::End;
use crate::bridge::ends::PanelEnds;
use crate::editor::model::outside::Outside;
use crate::editor::theme;
use crate::editor::window::outside::PluginOutside;
use crate::editor::window::session::Session;
use crate::editor::window::waker::{self, Wish};
use crate::params::{GuidehandParams, SavedPanel, SourceParam};
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
/// How long a window keeps its size until the host is told that it is another, in
/// seconds.
const SIZE_RESTS_SECONDS: f64 = 0.4;
/// A peak of the tone that the meter shows, linear: -60 dB.
const AUDIBLE: f32 = 0.001;

/// The panel of one instance, where its window, its host and its waker reach it.
#[derive(Clone)]
pub struct SharedApp {
    app: Arc<Mutex<PanelApp>>,
    /// Something changed that only the host's thread knows of.
    stale: Arc<AtomicBool>,
    /// Pixels to a point of the screen, without the zoom.
    scale: Arc<Mutex<f64>>,
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
    size: SizeTold,
}

/// What the host knows of the window's size.
struct SizeTold {
    /// In points of the zoom.
    told: [f32; 2],
    /// When the window took another one, in seconds of the window.
    since_seconds: Option<f64>,
    loads_seen: u32,
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
        } else if self.is_to_close()
            || self.ends.snapshot.is_new()
            || self.ends.moves.count() != self.moves_shown
            || heard
            || self.bass_moved()
        {
            Wish::Frame
        } else {
            Wish::Rest
        }
    }

    /// Whether the program that needs no host is to end, and its window to close.
    fn is_to_close(&self) -> bool {
        self.ends.ending.as_ref().is_some_and(End::is_asked)
    }

    /// Whether there is another look to a bass that is on show.
    fn bass_moved(&self) -> bool {
        let shows = self.params.source.value() == SourceParam::Bass;
        shows && self.ends.bass.look() != self.ear_shown
    }

    fn frame(&mut self, ui: &mut egui::Ui, frame: &mut Frame) {
        if self.is_to_close() {
            ui.ctx().send_viewport_cmd(egui::ViewportCommand::Close);
        }
        let Some(open) = &mut self.open else { return };
        let now_seconds = ui.input(|input| input.time);
        let since_seconds = *open.since_seconds.get_or_insert(now_seconds);
        self.moves_shown = self.ends.moves.count();
        self.ear_shown = self.ends.bass.look();
        self.session.snapshot = self.ends.snapshot.read();
        let setter = open.host.param_setter();
        let around = (&*self.params, &self.ends);
        self.session.frame(ui, around, &setter);
        let sent = &mut self.session.revision_sent;
        let mut outside = PluginOutside::new(around, &setter, ui.ctx(), sent);
        open.size.keep(ui, now_seconds, &mut outside, &self.params);
        frame.set_clear_color(theme::palette(ui.ctx()).ground.into());
        if now_seconds - since_seconds < OPENING_SECONDS || self.session.model.meter > AUDIBLE {
            ui.ctx().request_repaint_after(LIVELY);
        }
    }
}

impl Open {
    fn new(params: &GuidehandParams, host: GuiContext, ctx: egui::Context) -> Open {
        let saved = params.panel.get();
        Open {
            host,
            ctx,
            since_seconds: None,
            size: SizeTold {
                told: [saved.width, saved.height],
                since_seconds: None,
                loads_seen: params.panel.loads(),
            },
        }
    }
}

impl SizeTold {
    /// Takes the size of a state that was loaded, and lets the host save a size
    /// that the window has come to rest at.
    fn keep(
        &mut self,
        ui: &egui::Ui,
        now_seconds: f64,
        outside: &mut dyn Outside,
        params: &GuidehandParams,
    ) {
        let cell = &params.panel;
        let SavedPanel { width, height, .. } = cell.get();
        let loads = cell.loads();
        if loads != self.loads_seen {
            self.loads_seen = loads;
            self.told = [width, height];
            let size = egui::ViewportCommand::InnerSize(egui::vec2(width, height));
            ui.ctx().send_viewport_cmd(size);
        }
        if self.told == [width, height] {
            self.since_seconds = None;
            return;
        }
        let since = *self.since_seconds.get_or_insert(now_seconds);
        let left_seconds = SIZE_RESTS_SECONDS - (now_seconds - since);
        if left_seconds > 0.0 {
            let left = Duration::from_secs_f64(left_seconds);
            ui.ctx().request_repaint_after(left);
        } else {
            self.told = [width, height];
            self.since_seconds = None;
            outside.saved_field_changed();
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
            scale: Arc::new(Mutex::new(1.0)),
        }
    }

    fn lock(&self) -> MutexGuard<'_, PanelApp> {
        self.app.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Pixels to a point of the screen, without the zoom, as far as is known.
    #[must_use]
    pub fn scale(&self) -> f64 {
        *self.scale.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Tells how many pixels there are to a point of the screen.
    pub fn set_scale(&self, scale: f64) {
        *self.scale.lock().unwrap_or_else(PoisonError::into_inner) = scale;
    }

    /// Asks for a frame soon.
    pub fn set_stale(&self) {
        self.stale.store(true, Ordering::Release);
    }

    /// Lets go of the host: the window closes.
    pub fn close(&self) {
        self.lock().open = None;
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
        app.open = Some(Open::new(&app.params, nice_gui_ctx, egui_ctx));
        app.openings = app.openings.wrapping_add(1);
        Ok(())
    }

    fn ui(&mut self, ui: &mut egui::Ui, frame: &mut Frame) {
        let mut app = self.lock();
        let first = app.open.as_ref().is_some_and(|o| o.since_seconds.is_none());
        app.frame(ui, frame);
        if first {
            let (looked_at, opening) = (self.clone(), app.openings);
            waker::start(move || looked_at.look(opening));
        }
    }

    fn resized(&mut self, size: WindowSize) {
        let app = self.lock();
        let before = app.params.panel.get();
        self.set_scale(size.scale_factor / f64::from(before.zoom));
        // Points of the zoom, as they are saved.
        #[expect(clippy::cast_possible_truncation, reason = "sizes of windows")]
        let [width, height] = [size.logical.width as f32, size.logical.height as f32];
        if (width - before.width).abs() > 1.0 || (height - before.height).abs() > 1.0 {
            app.params.panel.put(SavedPanel {
                width,
                height,
                ..before
            });
        }
    }
}
