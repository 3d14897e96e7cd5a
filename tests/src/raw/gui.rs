//! A plugin's editor before there is a window. Imports nothing of the crate but its
//! instance.

use super::{Instance, given};
use clap_sys::ext::gui::{
    CLAP_EXT_GUI, CLAP_WINDOW_API_X11, clap_gui_resize_hints, clap_plugin_gui, clap_window,
    clap_window_handle,
};
use std::ffi::CStr;
use std::mem::zeroed;
use std::ptr;

fn gui(instance: &Instance) -> &clap_plugin_gui {
    instance.interface::<clap_plugin_gui>(CLAP_EXT_GUI)
}

/// Whether windows of a kind are supported.
#[must_use]
pub fn supports(instance: &Instance, api: &CStr, floating: bool) -> bool {
    // SAFETY: this is the main thread, and the name ends with a null.
    unsafe { given(gui(instance).is_api_supported)(instance.plugin(), api.as_ptr(), floating) }
}

/// The kind of window that the plugin likes best, and whether it floats; none if
/// it likes none.
#[must_use]
pub fn preferred(instance: &Instance) -> Option<(&CStr, bool)> {
    let (mut api, mut floating) = (ptr::null(), false);
    let get = given(gui(instance).get_preferred_api);
    // SAFETY: this is the main thread, and there is room for both.
    let has = unsafe { get(instance.plugin(), &raw mut api, &raw mut floating) };
    // SAFETY: the name is one of CLAP's, which are for ever.
    has.then(|| (unsafe { CStr::from_ptr(api) }, floating))
}

/// Makes the editor. Returns false if the plugin refuses.
#[must_use]
pub fn create(instance: &Instance, api: &CStr, floating: bool) -> bool {
    // SAFETY: this is the main thread, and the name ends with a null.
    unsafe { given(gui(instance).create)(instance.plugin(), api.as_ptr(), floating) }
}

/// Destroys the editor.
pub fn destroy(instance: &Instance) {
    // SAFETY: this is the main thread.
    unsafe { given(gui(instance).destroy)(instance.plugin()) };
}

/// Puts the editor into an X11 window of the host. Returns false if it refuses.
#[must_use]
pub fn set_parent(instance: &Instance, window: u32) -> bool {
    let window = clap_window {
        api: CLAP_WINDOW_API_X11.as_ptr(),
        specific: clap_window_handle { x11: window.into() },
    };
    // SAFETY: this is the main thread, and the caller's window outlives the editor.
    unsafe { given(gui(instance).set_parent)(instance.plugin(), &raw const window) }
}

/// Sets the number of pixels in one point. Returns false if the plugin ignores it.
pub fn set_scale(instance: &Instance, scale: f64) -> bool {
    // SAFETY: this is the main thread.
    unsafe { given(gui(instance).set_scale)(instance.plugin(), scale) }
}

/// Width and height; none if the plugin does not say.
#[must_use]
pub fn size(instance: &Instance) -> Option<(u32, u32)> {
    let (mut width, mut height) = (0, 0);
    let get = given(gui(instance).get_size);
    // SAFETY: this is the main thread, and there is room for both.
    unsafe { get(instance.plugin(), &raw mut width, &raw mut height) }.then_some((width, height))
}

/// The size that the plugin would take instead of this one; none if it does not say.
#[must_use]
pub fn adjusted(instance: &Instance, (mut width, mut height): (u32, u32)) -> Option<(u32, u32)> {
    let adjust = given(gui(instance).adjust_size);
    // SAFETY: this is the main thread, and there is room for both.
    unsafe { adjust(instance.plugin(), &raw mut width, &raw mut height) }.then_some((width, height))
}

/// Gives the editor a size. Returns false if it refuses.
#[must_use]
pub fn set_size(instance: &Instance, (width, height): (u32, u32)) -> bool {
    // SAFETY: this is the main thread.
    unsafe { given(gui(instance).set_size)(instance.plugin(), width, height) }
}

/// Whether the editor takes other sizes.
#[must_use]
pub fn can_resize(instance: &Instance) -> bool {
    // SAFETY: this is the main thread.
    unsafe { given(gui(instance).can_resize)(instance.plugin()) }
}

/// How the editor takes other sizes; none if it does not say.
#[must_use]
pub fn resize_hints(instance: &Instance) -> Option<clap_gui_resize_hints> {
    // SAFETY: plain data, for which zeros are a valid value.
    let mut hints = unsafe { zeroed() };
    let get = given(gui(instance).get_resize_hints);
    // SAFETY: this is the main thread, and there is room for one.
    unsafe { get(instance.plugin(), &raw mut hints) }.then_some(hints)
}

/// Shows or hides the editor. Returns false if that fails.
#[must_use]
pub fn show(instance: &Instance, shown: bool) -> bool {
    let gui = gui(instance);
    let act = given(if shown { gui.show } else { gui.hide });
    // SAFETY: this is the main thread.
    unsafe { act(instance.plugin()) }
}
