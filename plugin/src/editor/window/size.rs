//! The size of an open window: what it is, what the host is asked for, and what is saved. The
//! panel's thread; `app` imports it.

use crate::editor::model::outside::Outside;
use crate::editor::window::host::AskingEnd;
#[cfg(target_os = "linux")]
use crate::editor::window::parent::Parents;
use crate::editor::window::sizing::{Answer, Pixels, Sizing, has_room, zoom_that_fits};
use crate::params::{GuidehandParams, PanelView, SavedPanel};
use nice_plug_egui::baseview::WindowContext;
use std::time::{Duration, Instant};

/// How long a window keeps its size until the host is told that it is another, in
/// seconds.
const SIZE_RESTS_SECONDS: f64 = 0.4;
/// Between looks at the host's window.
const LOOKS: Duration = Duration::from_millis(50);

/// What the player asks for. What is missing stays as it is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AskedSize {
    /// How large everything is.
    pub zoom: Option<f32>,
    /// In points of the zoom.
    pub points: Option<[f32; 2]>,
}

/// The size of an open window.
pub struct WindowSize {
    /// Whom to ask; a window without a host takes what it wants.
    host: Option<AskingEnd>,
    #[cfg(target_os = "linux")]
    parents: Option<Parents>,
    sizing: Sizing,
    pixels: Pixels,
    /// Pixels to a point of the screen, without the zoom.
    scale: f64,
    /// What of the saved panel the host was told last.
    told: SavedPanel,
    /// When it became another, in seconds of the window.
    since_seconds: Option<f64>,
    loads_seen: u32,
    /// The zoom of the last frame.
    zoom_drawn: f32,
}

impl WindowSize {
    /// A window that has just opened.
    #[must_use]
    pub fn new(params: &GuidehandParams, window: &WindowContext, host: Option<AskingEnd>) -> Self {
        let (pixels, scale) = measured(window);
        WindowSize {
            #[cfg(target_os = "linux")]
            parents: host.as_ref().and_then(|_| Parents::of(window)),
            host,
            sizing: Sizing::new(pixels),
            pixels,
            scale,
            told: params.panel.get(),
            since_seconds: None,
            loads_seen: params.panel.loads(),
            zoom_drawn: params.panel.get().zoom,
        }
    }

    /// The host's window; nothing where it is not known.
    fn parent(&self) -> Option<Pixels> {
        #[cfg(target_os = "linux")]
        let parent = self.parents.as_ref()?.size();
        #[cfg(not(target_os = "linux"))]
        let parent = None;
        parent
    }

    /// The zoom at which the panel is drawn.
    #[must_use]
    pub fn zoom(&self, params: &GuidehandParams) -> f32 {
        let saved = params.panel.get();
        self.zoom_of(saved.zoom, &saved)
    }

    /// The window has this size now. A size at which the saved zoom has no room is not saved:
    /// the next host may have room for it.
    pub fn take(&mut self, pixels: Pixels, scale: f64, params: &GuidehandParams) {
        if self.pixels == pixels && (self.scale - scale).abs() < 1e-6 {
            return;
        }
        (self.pixels, self.scale) = (pixels, scale);
        let saved = params.panel.get();
        let smallest = saved.smallest();
        let asked = self.sizing.take(pixels, scale, smallest, Instant::now());
        let zoom = asked.unwrap_or(saved.zoom);
        if (self.zoom_of(zoom, &saved) - zoom).abs() > 0.01 {
            return;
        }
        let points = saved.size();
        if self.pixels_of(points, zoom) == pixels {
            // A size that was saved in points stays as it is.
            save(params, points, zoom);
        } else {
            save(params, self.points(zoom), zoom);
        }
    }

    fn zoom_of(&self, zoom: f32, saved: &SavedPanel) -> f32 {
        zoom_that_fits(zoom, saved.smallest(), self.pixels, self.scale)
    }

    /// The size in points of a zoom.
    fn points(&self, zoom: f32) -> [f32; 2] {
        #[expect(clippy::cast_possible_truncation, reason = "sizes of windows")]
        let points = |pixels: u32| (f64::from(pixels) / (self.scale * f64::from(zoom))) as f32;
        self.pixels.map(points)
    }

    /// A size in points of a zoom in pixels.
    fn pixels_of(&self, points: [f32; 2], zoom: f32) -> Pixels {
        let total = f64::from(zoom) * self.scale;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "sizes of windows"
        )]
        let pixels = |points: f32| (f64::from(points) * total).round() as u32;
        points.map(pixels)
    }

    /// The player asks for another size or zoom.
    pub fn ask(&mut self, asked: AskedSize, params: &GuidehandParams) {
        let drawn = self.zoom(params);
        let zoom = asked.zoom.unwrap_or(drawn);
        let points = asked.points.unwrap_or_else(|| self.points(drawn));
        let pixels = self.pixels_of(points, zoom);
        let now = Instant::now();
        if pixels == self.pixels && !self.sizing.asks(now) {
            save(params, points, zoom);
            return;
        }
        if !self.sizing.ask(zoom, pixels, self.parent(), now) {
            return;
        }
        match &self.host {
            Some(host) => host.ask(pixels, self.scale),
            None => {
                self.sizing.answer(Answer::Granted);
            }
        }
    }

    /// The host has not given the size that was asked for with this zoom. The zoom is taken all the
    /// same if the window has room for it. The full view gives way to the small one in a window that
    /// has no room for it at any zoom.
    fn refused(&mut self, zoom: f32, params: &GuidehandParams) {
        let saved = params.panel.get();
        if saved.view == PanelView::Full && !has_room(saved.smallest(), self.pixels, self.scale) {
            params.panel.put(SavedPanel {
                view: PanelView::Small,
                ..saved
            });
        }
        if (self.zoom_of(zoom, &params.panel.get()) - zoom).abs() < 0.01 {
            save(params, self.points(zoom), zoom);
        }
    }

    /// At the end of a frame: takes the size of a state that was loaded, gives the window the
    /// size that is its own to take, and lets the host save a size that the window has come to
    /// rest at.
    pub fn keep(
        &mut self,
        ui: &egui::Ui,
        now_seconds: f64,
        outside: &mut dyn Outside,
        params: &GuidehandParams,
    ) {
        let loads = params.panel.loads();
        if loads != self.loads_seen {
            self.loads_seen = loads;
            let saved = params.panel.get();
            self.told = saved;
            let asked = AskedSize {
                zoom: Some(saved.zoom),
                points: Some(saved.size()),
            };
            self.ask(asked, params);
        }
        self.follow(ui.ctx(), params);
        self.tell(ui, now_seconds, outside, params.panel.get());
    }

    /// Gives the window the size that is its own to take.
    fn follow(&mut self, ctx: &egui::Context, params: &GuidehandParams) {
        let now = Instant::now();
        let answer = self.host.as_ref().and_then(AskingEnd::answer);
        let refused = answer.and_then(|answer| self.sizing.answer(answer));
        if let Some(zoom) = refused.or_else(|| self.sizing.lapse(now)) {
            self.refused(zoom, params);
        }
        let next = self.sizing.next(self.parent(), now);
        // With another zoom the toolkit would resize the window by itself, unless it is told a
        // size.
        let zoom = ctx.zoom_factor();
        let zoomed = (zoom - self.zoom_drawn).abs() > 1e-6;
        self.zoom_drawn = zoom;
        if let Some(pixels) = next.or(zoomed.then_some(self.pixels)) {
            let total = f64::from(zoom) * self.scale;
            #[expect(clippy::cast_possible_truncation, reason = "sizes of windows")]
            let points = pixels.map(|pixels| (f64::from(pixels) / total) as f32);
            ctx.send_viewport_cmd(egui::ViewportCommand::InnerSize(points.into()));
        }
        if self.sizing.is_waiting(now) {
            ctx.request_repaint_after(LOOKS);
        }
    }

    fn tell(
        &mut self,
        ui: &egui::Ui,
        now_seconds: f64,
        outside: &mut dyn Outside,
        saved: SavedPanel,
    ) {
        // The look and the view are told when they are chosen.
        self.told = SavedPanel {
            look: saved.look,
            view: saved.view,
            large_print: saved.large_print,
            ..self.told
        };
        if self.told == saved {
            self.since_seconds = None;
            return;
        }
        let since = *self.since_seconds.get_or_insert(now_seconds);
        let left_seconds = SIZE_RESTS_SECONDS - (now_seconds - since);
        if left_seconds > 0.0 {
            let left = Duration::from_secs_f64(left_seconds);
            ui.ctx().request_repaint_after(left);
        } else {
            self.told = saved;
            self.since_seconds = None;
            outside.saved_field_changed();
        }
    }
}

/// Saves a size in points of a zoom.
fn save(params: &GuidehandParams, points: [f32; 2], zoom: f32) {
    let saved = params.panel.get().sized(points);
    params.panel.put(SavedPanel { zoom, ..saved });
}

/// The size of a window in pixels, and how many pixels there are to a point of the screen.
#[must_use]
pub fn measured(window: &WindowContext) -> (Pixels, f64) {
    let size = window.size();
    (
        [size.physical.width, size.physical.height],
        size.scale_factor,
    )
}
