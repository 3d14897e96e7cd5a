//! A plugin's editor in a window of this host. A host that resizes within the call gives the editor
//! the size before it answers the call (`clap/ext/gui.h`), and resizes its window then. Imports the
//! instance, its editor and its state. Linux only.

use super::stream::{self, Manner};
use super::{Instance, gui};
use crate::error::{HostError, WindowError};
use crate::parent::{OnScreen, Parent};
use crate::resizing::{Promise, Resizing, Size};
use clap_sys::ext::gui::CLAP_WINDOW_API_X11;

/// An instance with its editor's window.
pub struct InstanceOnScreen {
    parent: Option<Parent>,
    resizing: Resizing,
    promise: Option<Promise>,
    /// The plugin, whose editor is destroyed before its window.
    pub instance: Instance,
}

impl InstanceOnScreen {
    /// Opens the editor in a host that has this manner.
    ///
    /// # Errors
    /// If there is no display, or the plugin refuses.
    pub fn open(instance: Instance, resizing: Resizing) -> Result<Self, WindowError> {
        instance.set_resizing(resizing);
        let mut shown = Self {
            parent: None,
            resizing,
            promise: None,
            instance,
        };
        shown.show(None)?;
        Ok(shown)
    }

    /// Opens the editor in a host whose window has this size, whatever the editor's is.
    ///
    /// # Errors
    /// As [`InstanceOnScreen::open`].
    pub fn open_within(instance: Instance, size: Size) -> Result<Self, WindowError> {
        instance.set_resizing(Resizing::Cuts);
        let mut shown = Self {
            parent: None,
            resizing: Resizing::Cuts,
            promise: None,
            instance,
        };
        shown.show(Some(size))?;
        Ok(shown)
    }

    fn show(&mut self, size: Option<Size>) -> Result<(), WindowError> {
        let refuses = |what| Box::new(HostError::Refused(what));
        if !gui::create(&self.instance, CLAP_WINDOW_API_X11, false) {
            return Err(refuses("create its editor"));
        }
        let told = gui::size(&self.instance).ok_or(refuses("tell its editor's size"))?;
        let parent = Parent::new(size.unwrap_or(told), (0, 0))?;
        if self.resizing.lets_go() {
            parent.let_go()?;
        }
        if !gui::set_parent(&self.instance, parent.id()) || !gui::show(&self.instance, true) {
            return Err(refuses("show its editor"));
        }
        parent.show()?;
        parent.watch()?;
        self.parent = Some(parent);
        Ok(())
    }

    /// Destroys the window, and the editor's in it with it, before the editor is.
    ///
    /// # Errors
    /// If the display is gone.
    pub fn lose_window(&mut self) -> Result<(), WindowError> {
        self.parent.take().map_or(Ok(()), Parent::destroy)
    }

    /// Gives the editor a size.
    ///
    /// # Errors
    /// If the display is gone, or the plugin refuses.
    pub fn resize(&mut self, size: Size) -> Result<(), WindowError> {
        self.parent().resize(size, true)?;
        if !gui::set_size(&self.instance, size) {
            return Err(Box::new(HostError::Refused("resize its editor")));
        }
        Ok(())
    }
}

impl OnScreen for InstanceOnScreen {
    fn parent(&mut self) -> &mut Parent {
        self.parent.as_mut().expect("it is open until it is closed")
    }

    fn idle(&mut self) -> Result<(), WindowError> {
        if self.resizing != Resizing::Deaf {
            self.instance.idle();
        }
        if let Some(size) = self.instance.take_asked() {
            match self.resizing {
                // The editor has its size already.
                Resizing::Within => self.parent().resize(size, true)?,
                Resizing::Late => self.promise = Some(Promise::new(size)),
                Resizing::Silent => self.parent().resize(size, false)?,
                Resizing::Refuses | Resizing::Cuts | Resizing::Deaf => {}
            }
        }
        if let Some(size) = self.promise.as_ref().and_then(Promise::due) {
            self.promise = None;
            self.resize(size)?;
        }
        Ok(())
    }

    fn open_again(&mut self) -> Result<(), WindowError> {
        self.close()?;
        self.show(None)
    }

    fn close(&mut self) -> Result<(), WindowError> {
        gui::destroy(&self.instance);
        self.parent.take().map_or(Ok(()), Parent::destroy)
    }

    fn told_size(&mut self) -> Result<Size, WindowError> {
        let told = gui::size(&self.instance);
        told.ok_or_else(|| Box::new(HostError::Refused("tell its editor's size")).into())
    }

    fn state(&mut self) -> Result<String, WindowError> {
        let state = stream::save(&self.instance, Manner::WHOLE);
        let state = state.ok_or(HostError::Refused("save its state"))?;
        Ok(String::from_utf8_lossy(&state).into_owned())
    }
}
