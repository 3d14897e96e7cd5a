//! A plugin's view in a window of this host, with the frame and the run loop that it finds there.
//! Imports the instance and the host's windows. Linux only.

use super::accepted;
use super::instance::Instance;
use crate::error::{HostError, WindowError};
use crate::parent::{OnScreen, Parent};
use crate::resizing::{Promise, Resizing, Size};
use std::ptr;
use std::sync::{Mutex, MutexGuard};
use vst3::Steinberg::Linux::{
    FileDescriptor, IEventHandler, IEventHandlerTrait, IRunLoop, IRunLoopTrait, ITimerHandler,
    TimerInterval,
};
use vst3::Steinberg::Vst::IEditControllerTrait;
use vst3::Steinberg::{
    IPlugFrame, IPlugFrameTrait, IPlugView, IPlugViewTrait, ViewRect, kInvalidArgument,
    kNotImplemented, kPlatformTypeX11EmbedWindowID, kResultFalse, kResultOk, tresult,
};
use vst3::{Class, ComPtr, ComRef, ComWrapper};

/// The host's frame around a view, with its run loop.
struct Frame {
    resizing: Resizing,
    /// The size that the view has asked for last.
    asked: Mutex<Option<Size>>,
    handlers: Mutex<Vec<(ComPtr<IEventHandler>, FileDescriptor)>>,
}

impl Class for Frame {
    type Interfaces = (IPlugFrame, IRunLoop);
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().expect("no thread panicked here")
}

impl IPlugFrameTrait for Frame {
    /// In VST3 a host that grants a size calls `onSize` before this returns
    /// (`pluginterfaces/gui/iplugview.h`).
    unsafe fn resizeView(&self, view: *mut IPlugView, new_size: *mut ViewRect) -> tresult {
        // SAFETY: the plugin passes its view and a rectangle, or none.
        let (Some(view), Some(rect)) = (unsafe { ComRef::from_raw(view) }, unsafe {
            new_size.as_mut()
        }) else {
            return kInvalidArgument;
        };
        if self.resizing == Resizing::Refuses {
            return kResultFalse;
        }
        let side = |from: i32, to: i32| u32::try_from(to - from).unwrap_or(0);
        let size = (side(rect.left, rect.right), side(rect.top, rect.bottom));
        *lock(&self.asked) = Some(size);
        if self.resizing == Resizing::Within {
            // SAFETY: the view is valid, and this is the thread of its window.
            return unsafe { view.onSize(rect) };
        }
        kResultOk
    }
}

impl IRunLoopTrait for Frame {
    unsafe fn registerEventHandler(
        &self,
        handler: *mut IEventHandler,
        fd: FileDescriptor,
    ) -> tresult {
        // SAFETY: the plugin passes a handler or none.
        let Some(handler) = (unsafe { ComRef::from_raw(handler) }) else {
            return kInvalidArgument;
        };
        lock(&self.handlers).push((handler.to_com_ptr(), fd));
        kResultOk
    }

    unsafe fn unregisterEventHandler(&self, handler: *mut IEventHandler) -> tresult {
        lock(&self.handlers).retain(|(known, _)| known.as_ptr() != handler);
        kResultOk
    }

    unsafe fn registerTimer(&self, _: *mut ITimerHandler, _: TimerInterval) -> tresult {
        kNotImplemented
    }

    unsafe fn unregisterTimer(&self, _: *mut ITimerHandler) -> tresult {
        kNotImplemented
    }
}

/// An instance with its view's window.
pub struct ViewOnScreen {
    view: Option<ComPtr<IPlugView>>,
    frame: ComWrapper<Frame>,
    parent: Option<Parent>,
    resizing: Resizing,
    promise: Option<Promise>,
    /// The plugin, which outlives its view.
    pub instance: Instance,
}

impl ViewOnScreen {
    /// Opens the view in a host that has this manner.
    ///
    /// # Errors
    /// If there is no display, or the plugin refuses.
    pub fn open(instance: Instance, resizing: Resizing) -> Result<Self, WindowError> {
        let mut shown = Self {
            view: None,
            frame: ComWrapper::new(Frame {
                resizing,
                asked: Mutex::default(),
                handlers: Mutex::default(),
            }),
            parent: None,
            resizing,
            promise: None,
            instance,
        };
        shown.show()?;
        Ok(shown)
    }

    fn view(&self) -> Result<&ComPtr<IPlugView>, HostError> {
        self.view
            .as_ref()
            .ok_or(HostError::NoExtension("IPlugView"))
    }

    fn show(&mut self) -> Result<(), WindowError> {
        // SAFETY: the name ends with a null, and the view is counted already.
        self.view = unsafe {
            let view = self.instance.controller().createView(c"editor".as_ptr());
            ComPtr::from_raw(view)
        };
        let parent = Parent::new(self.told_size()?, (0, 0))?;
        if self.resizing.lets_go() {
            parent.let_go()?;
        }
        let frame = self.frame.as_com_ref::<IPlugFrame>();
        let frame = frame.map_or(ptr::null_mut(), |frame| frame.as_ptr());
        let view = self.view()?;
        // SAFETY: the frame and the window live until the view is removed.
        unsafe {
            accepted(view.setFrame(frame), "take a frame")?;
            let window = ptr::without_provenance_mut(usize::try_from(parent.id())?);
            let kind = kPlatformTypeX11EmbedWindowID;
            accepted(view.attached(window, kind), "show its view")?;
        }
        parent.show()?;
        parent.watch()?;
        self.parent = Some(parent);
        Ok(())
    }

    /// Gives the view a size.
    ///
    /// # Errors
    /// If the display is gone, or the plugin refuses.
    pub fn resize(&mut self, size: Size) -> Result<(), WindowError> {
        self.parent().resize(size, true)?;
        let mut rect = ViewRect {
            left: 0,
            top: 0,
            right: size.0.try_into()?,
            bottom: size.1.try_into()?,
        };
        // SAFETY: the view and the rectangle are valid.
        let result = unsafe { self.view()?.onSize(&raw mut rect) };
        Ok(accepted(result, "resize its view")?)
    }
}

impl OnScreen for ViewOnScreen {
    fn parent(&mut self) -> &mut Parent {
        self.parent.as_mut().expect("it is open until it is closed")
    }

    fn idle(&mut self) -> Result<(), WindowError> {
        if self.resizing != Resizing::Deaf {
            let handlers = lock(&self.frame.handlers).clone();
            for (handler, fd) in handlers {
                // SAFETY: the handler is valid. It finds out by itself whether there is something
                // to read.
                unsafe { handler.onFDIsSet(fd) };
            }
        }
        let asked = lock(&self.frame.asked).take();
        if let Some(size) = asked {
            match self.resizing {
                // The view has its size already.
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
        self.show()
    }

    fn close(&mut self) -> Result<(), WindowError> {
        if let Some(view) = self.view.take() {
            // SAFETY: the view is valid. A frame of none is what hosts set at the end.
            unsafe {
                accepted(view.removed(), "remove its view")?;
                view.setFrame(ptr::null_mut());
            }
        }
        self.parent.take().map_or(Ok(()), Parent::destroy)
    }

    fn told_size(&mut self) -> Result<Size, WindowError> {
        let mut rect = ViewRect {
            left: 0,
            top: 0,
            right: 0,
            bottom: 0,
        };
        let view = self.view()?;
        // SAFETY: the view is valid, and there is room for one.
        let result = unsafe { view.getSize(&raw mut rect) };
        accepted(result, "tell its view's size")?;
        Ok((rect.right.try_into()?, rect.bottom.try_into()?))
    }

    fn state(&mut self) -> Result<String, WindowError> {
        let state = self.instance.save_state()?;
        Ok(String::from_utf8_lossy(&state).into_owned())
    }
}
