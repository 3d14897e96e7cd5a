//! The panel's window as the framework knows it: how it opens, its size, and what wakes
//! it. The host's main thread; `host` makes it.
//!
//! The framework's own editor keeps size and zoom to itself and is made before a
//! state is loaded; so a new one is made from the saved values whenever the window
//! opens.

mod app;
#[cfg(test)]
pub mod bench;
#[cfg(target_os = "linux")]
mod drops;
mod end;
#[cfg(feature = "frame_bench")]
pub mod frames;
mod host;
pub mod outside;
pub mod parameters;
#[cfg(target_os = "linux")]
mod parent;
#[cfg(test)]
pub mod player;
pub mod session;
pub mod size;
mod sizing;
mod thread;
mod waker;

use crate::bridge::ending::End;
use crate::bridge::ends::PanelEnds;
use crate::params::{GuidehandParams, SMALLEST_SMALL, SavedPanel, ZOOMS};
use app::{PanelApp, SharedApp};
use host::PuttingEnd;
use nice_plug::context::PluginApi;
use nice_plug::context::gui::GuiContext;
use nice_plug::editor::dpi::{LogicalSize, NativeSize, PhysicalSize, Size};
use nice_plug::editor::{
    Editor, EditorHandle, HostMethods, Modifiers, ParentWindowHandle, ResizeHint, SpawnedEditor,
    VirtualKeyCode,
};
use nice_plug::nice_error;
use nice_plug_egui::GraphicsConfig;
use nice_plug_egui::{
    EguiEditorHandle, EguiEditorState, EguiNiceSettings, RepaintNotifier, create_egui_editor,
};
use std::error::Error;
use std::sync::Arc;
use std::time::Duration;
use thread::{EndsOf, Family};

/// A window of the toolkit that the framework draws in.
type Window = <EguiEditorHandle as EditorHandle>::Window;

/// An open window with its host. The program that needs no host plays on without a window where it
/// finds no screen.
pub struct OpenWindow {
    toolkit: Option<Window>,
    host: Option<PuttingEnd>,
    /// The end of the program that needs no host.
    end: Option<End>,
    /// Below the window, which must be dropped before this waits.
    ends: EndsOf,
}

/// The editor of one instance, open or closed.
pub struct PanelEditor {
    params: Arc<GuidehandParams>,
    app: SharedApp,
    /// The end of the program that needs no host.
    end: Option<End>,
}

/// An open window. Dropped when it closes.
pub struct PanelHandle {
    editor: PanelWindow,
    /// None where there is no screen.
    inner: Option<EguiEditorHandle>,
}

/// What an open window needs of its editor.
#[derive(Clone)]
struct PanelWindow {
    params: Arc<GuidehandParams>,
    app: SharedApp,
}

/// Makes the editor; its window opens when the host asks for it.
pub(crate) fn create(params: Arc<GuidehandParams>, ends: PanelEnds) -> PanelEditor {
    let end = ends.ending.clone();
    let app = PanelApp::new(params.clone(), ends);
    PanelEditor {
        params,
        end,
        app: SharedApp::new(app),
    }
}

/// Waits until the thread of a window on X11 answers. It forgets a wish to stop that
/// comes before it has begun to listen, and whoever closes the window then waits for
/// ever (baseview 0.4.2). It is asked for the size that it is to have, for it does not take the
/// host's scale into account when it makes its window.
fn await_thread(window: &Window, size: LogicalSize<f32>) {
    // A thread that has ended by itself needs no waiting for.
    let _answer = window.resize(size);
}

/// How the panel is drawn. It has no gradients that dithering would smooth, and in software
/// dithering is a good part of a frame's price.
fn graphics() -> GraphicsConfig {
    GraphicsConfig {
        dithering: false,
        ..GraphicsConfig::default()
    }
}

/// What a host is told of sizes.
fn resize_hint(panel: &SavedPanel) -> ResizeHint {
    no_smaller(panel.smallest(), panel.zoom)
}

/// No size is smaller than this one, in points of a zoom.
fn no_smaller([width, height]: [f32; 2], zoom: f32) -> ResizeHint {
    ResizeHint::resizable().with_min_logical_size(LogicalSize::new(width * zoom, height * zoom))
}

impl PanelEditor {
    /// The size that a window is to have, in points of the screen.
    fn size_in_points(&self) -> LogicalSize<f32> {
        let saved = self.params.panel.get();
        let [width, height] = saved.size();
        LogicalSize::new(width * saved.zoom, height * saved.zoom)
    }
}

impl Editor for PanelEditor {
    type Handle = PanelHandle;

    fn spawn(
        &self,
        parent: Option<ParentWindowHandle>,
        wait_for_parent: bool,
        fallback_scale_factor: Option<f64>,
        gui_context: GuiContext,
        host: Option<HostMethods>,
    ) -> Result<SpawnedEditor<PanelHandle>, Box<dyn Error>> {
        let saved = self.params.panel.get();
        let [width, height] = saved.size();
        let size = LogicalSize::new(width, height);
        let grants = gui_context.plugin_api() == PluginApi::Clap;
        let (host, asking, putting) = match host.map(|host| host::between(host, grants)) {
            Some((host, asking, putting)) => (Some(host), Some(asking), Some(putting)),
            None => (None, None, None),
        };
        // In a host the window has whatever size the host gives.
        let hint = match host {
            Some(_) => ResizeHint::resizable(),
            None => no_smaller(SMALLEST_SMALL, ZOOMS[0]),
        };
        // A poll that redraws before a host has mapped the window leaves it blank
        // for ever on X11: the panel's own waker starts with the first frame.
        let settings = EguiNiceSettings::new()
            .with_tile("Guidehand")
            .with_graphics_config(graphics())
            .with_resize_hint(hint)
            .with_repaint_poll_interval(Duration::from_secs(3600));
        let editor = create_egui_editor(
            EguiEditorState::from_size(size, saved.zoom),
            RepaintNotifier::new(),
            settings,
            self.app.clone(),
        )
        .ok_or("the toolkit makes no editor")?;
        if let Some(scale) = fallback_scale_factor {
            self.app.set_scale(scale);
        }
        if let Some(end) = &self.end {
            end::heed_signals(end);
        }
        let family = Family::new();
        self.app.opens(asking, family.clone());
        let threads = thread::all();
        let spawned = editor.spawn(
            parent,
            wait_for_parent,
            fallback_scale_factor,
            gui_context,
            host,
        );
        let (inner, toolkit) = match spawned {
            Ok(SpawnedEditor { handle, window }) => (Some(handle), Some(window)),
            Err(error) => {
                self.app.close();
                drop(EndsOf(family.clone()));
                thread::await_unnamed(&threads);
                if self.end.is_none() {
                    return Err(error);
                }
                nice_error!("No window: {error}. It plays without a panel; Ctrl-C ends it.");
                (None, None)
            }
        };
        if let Some(window) = &toolkit
            && cfg!(target_os = "linux")
        {
            await_thread(window, self.size_in_points());
        }
        let editor = PanelWindow {
            params: self.params.clone(),
            app: self.app.clone(),
        };
        Ok(SpawnedEditor {
            handle: PanelHandle { editor, inner },
            window: OpenWindow {
                toolkit,
                host: putting,
                end: self.end.clone(),
                ends: EndsOf(family),
            },
        })
    }

    fn size(&self) -> NativeSize<u32> {
        // While a host takes a size into account, an open window still has the one before.
        if let Some([width, height]) = self.app.pixels() {
            let size = Size::Physical(PhysicalSize::new(width, height));
            return NativeSize::from_size(size, self.app.scale());
        }
        NativeSize::from_size(self.size_in_points().into(), self.app.scale())
    }

    fn resize_hint(&self) -> ResizeHint {
        resize_hint(&self.params.panel.get())
    }
}

impl PanelHandle {
    /// The toolkit's handle and its window, unless there is no screen.
    fn toolkit<'a>(&'a self, window: &'a OpenWindow) -> Option<(&'a EguiEditorHandle, &'a Window)> {
        self.inner.as_ref().zip(window.toolkit.as_ref())
    }
}

impl EditorHandle for PanelHandle {
    type Window = OpenWindow;
    type Error = <EguiEditorHandle as EditorHandle>::Error;

    fn run_until_closed(window: OpenWindow) -> Result<(), Self::Error> {
        let OpenWindow {
            toolkit, end, ends, ..
        } = window;
        let closed = toolkit.map(EguiEditorHandle::run_until_closed);
        if let Some(end) = &end {
            if closed.is_none() {
                end::await_ask(end);
            }
            end::await_silence(end);
        }
        drop(ends);
        closed.unwrap_or(Ok(()))
    }

    fn set_parent(
        &self,
        parent: ParentWindowHandle,
        window: &OpenWindow,
    ) -> Result<(), Self::Error> {
        let set = |(handle, window): (&EguiEditorHandle, _)| handle.set_parent(parent, window);
        self.toolkit(window).map_or(Ok(()), set)
    }

    fn show(&self, window: &OpenWindow) -> Result<(), Self::Error> {
        let show = |(handle, window): (&EguiEditorHandle, _)| handle.show(window);
        self.toolkit(window).map_or(Ok(()), show)
    }

    fn hide(&self, window: &OpenWindow) -> Result<(), Self::Error> {
        let hide = |(handle, window): (&EguiEditorHandle, _)| handle.hide(window);
        self.toolkit(window).map_or(Ok(()), hide)
    }

    fn host_main_thread_callback(&self, window: &OpenWindow) {
        if let Some(host) = &window.host {
            host.put();
        }
        if let Some((handle, window)) = self.toolkit(window) {
            handle.host_main_thread_callback(window);
        }
    }

    fn set_size(&self, new_size: NativeSize<u32>, window: &OpenWindow) -> Result<(), Self::Error> {
        let set = |(handle, window): (&EguiEditorHandle, _)| handle.set_size(new_size, window);
        self.toolkit(window).map_or(Ok(()), set)
    }

    fn set_fallback_scale_factor(
        &self,
        scale: f64,
        window: &OpenWindow,
    ) -> Result<(), Self::Error> {
        self.editor.app.set_scale(scale);
        let set = |(handle, window): (&EguiEditorHandle, _)| {
            handle.set_fallback_scale_factor(scale, window)
        };
        self.toolkit(window).map_or(Ok(()), set)
    }

    fn adjust_size(
        &self,
        new_size: NativeSize<u32>,
        window: &OpenWindow,
    ) -> Option<NativeSize<u32>> {
        let current = window.toolkit.as_ref()?.size();
        let size = NativeSize::from_logical_or_physical(current.logical, current.physical);
        let hint = resize_hint(&self.editor.params.panel.get());
        Some(hint.adjust_size(new_size, size, current.scale_factor))
    }

    fn on_virtual_key_from_host(&self, key: VirtualKeyCode, down: bool, with: Modifiers) -> bool {
        let hears = |handle: &EguiEditorHandle| handle.on_virtual_key_from_host(key, down, with);
        self.inner.as_ref().is_some_and(hears)
    }

    fn state_changed(&self) {
        self.editor.app.set_stale();
    }

    fn param_value_changed(&self, _: &str, _: f32) {
        self.editor.app.set_stale();
    }

    fn param_modulation_changed(&self, _: &str, _: f32) {
        self.editor.app.set_stale();
    }
}

impl Drop for PanelHandle {
    fn drop(&mut self) {
        self.editor.app.close();
    }
}
