//! A VST3 library, loaded from its bundle, and the classes in it. Imports the
//! bundle and errors.

use super::bundle;
use super::handler::Handler;
use super::{accepted, text};
use crate::error::HostError;
use libloading::{Library, Symbol};
use std::ffi::c_void;
use std::mem::{ManuallyDrop, MaybeUninit};
use std::path::Path;
use std::rc::Rc;
use vst3::Steinberg::{
    FUnknown, IPluginFactory, IPluginFactory2, IPluginFactory2Trait, IPluginFactory3,
    IPluginFactory3Trait, IPluginFactoryTrait, PClassInfo2, PFactoryInfo, TUID,
};
use vst3::{ComPtr, ComWrapper, Interface};

/// A loaded module. Copies of it are the same module. The module ends when the last copy is
/// dropped.
#[derive(Clone)]
pub struct Module(Rc<Loaded>);

struct Loaded {
    /// It is dropped before the library.
    factory: ManuallyDrop<ComPtr<IPluginFactory>>,
    host: ComWrapper<Handler>,
    library: ManuallyDrop<Library>,
}

/// What a module says about one of its classes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Class {
    /// The class's id, in the byte order of the platform.
    pub id: [u8; 16],
    /// The display name.
    pub name: String,
    /// `Audio Module Class` for a plugin.
    pub category: String,
    /// The kinds of plugin that it is, separated by `|`.
    pub subcategories: String,
    /// The maker.
    pub vendor: String,
    /// The version.
    pub version: String,
    /// The version of the interface that it was made for.
    pub sdk_version: String,
    /// How many instances are possible.
    pub cardinality: i32,
}

/// The names of the functions that are called after a module was loaded and before it ends.
const ENTRY_AND_EXIT: (&str, &str) = if cfg!(target_os = "macos") {
    ("bundleEntry", "bundleExit")
} else if cfg!(target_os = "windows") {
    ("InitDll", "ExitDll")
} else {
    ("ModuleEntry", "ModuleExit")
};

impl Module {
    /// Loads the library in a bundle and asks for its factory.
    ///
    /// # Errors
    /// [`HostError::Open`] if there is no such library, it lacks one of the three
    /// functions that a module has, or one of them fails.
    pub fn open(bundle: &Path) -> Result<Self, HostError> {
        let path = bundle::library_in(bundle);
        let fail = |reason: String| HostError::Open {
            path: path.clone(),
            reason,
        };
        // SAFETY: loading a library runs its code. The bundle comes from the project's own build.
        // Callers that pass another are responsible for it.
        let library = unsafe { Library::new(&path) }.map_err(|e| fail(e.to_string()))?;
        let (entry, exit) = ENTRY_AND_EXIT;
        // SAFETY: the interface gives the function this type: it takes the library's
        // handle, which most plugins ignore, and nothing on Windows, where an
        // argument too many is harmless. It tells whether it succeeded.
        let entered = unsafe {
            let entry: Symbol<unsafe extern "system" fn(*mut c_void) -> bool> = library
                .get(entry.as_bytes())
                .map_err(|e| fail(e.to_string()))?;
            // A function that is missing at the end should be found missing at the start.
            let _exit: Symbol<unsafe extern "system" fn() -> bool> =
                library
                    .get(exit.as_bytes())
                    .map_err(|e| fail(e.to_string()))?;
            entry(std::ptr::null_mut())
        };
        if !entered {
            return Err(fail(format!("{entry} failed")));
        }
        // SAFETY: the interface gives the function this type; it gives a factory
        // that the caller owns, or nothing.
        let factory = unsafe {
            let get: Symbol<unsafe extern "system" fn() -> *mut c_void> = library
                .get(b"GetPluginFactory")
                .map_err(|e| fail(e.to_string()))?;
            ComPtr::from_raw(get().cast::<IPluginFactory>())
        };
        let factory = factory.ok_or_else(|| fail("no factory".to_owned()))?;
        let module = Self(Rc::new(Loaded {
            factory: ManuallyDrop::new(factory),
            host: ComWrapper::new(Handler::default()),
            library: ManuallyDrop::new(library),
        }));
        module.introduce();
        Ok(module)
    }

    /// Gives the factory the host, if it has the interface for that.
    fn introduce(&self) {
        let host = self.0.host.as_com_ref::<FUnknown>();
        if let (Some(factory), Some(host)) = (self.0.factory.cast::<IPluginFactory3>(), host) {
            // SAFETY: the host lives as long as the module.
            let _refused = unsafe { factory.setHostContext(host.as_ptr()) };
        }
    }

    /// The factory itself, for tests of its rules.
    #[must_use]
    pub fn factory(&self) -> &ComPtr<IPluginFactory> {
        &self.0.factory
    }

    /// Maker, address and mail of the whole module.
    ///
    /// # Errors
    /// [`HostError::Refused`].
    pub fn maker(&self) -> Result<[String; 3], HostError> {
        let mut info = MaybeUninit::<PFactoryInfo>::zeroed();
        // SAFETY: `info` is a valid place, and zeros are a valid value of it.
        let (result, info) = unsafe {
            let result = self.0.factory.getFactoryInfo(info.as_mut_ptr());
            (result, info.assume_init())
        };
        accepted(result, "tell of its factory")?;
        Ok([text(&info.vendor), text(&info.url), text(&info.email)])
    }

    /// The classes in the module's own order.
    ///
    /// # Errors
    /// [`HostError::Refused`] if it does not describe one that it counts.
    pub fn classes(&self) -> Result<Vec<Class>, HostError> {
        let factory = self.0.factory.cast::<IPluginFactory2>();
        let factory = factory.ok_or(HostError::NoExtension("IPluginFactory2"))?;
        // SAFETY: the factory is valid.
        let count = unsafe { factory.countClasses() };
        (0..count)
            .map(|index| {
                let mut info = MaybeUninit::<PClassInfo2>::zeroed();
                // SAFETY: `info` is a valid place, and zeros are a valid value of it.
                let (result, info) = unsafe {
                    let result = factory.getClassInfo2(index, info.as_mut_ptr());
                    (result, info.assume_init())
                };
                accepted(result, "describe a class")?;
                Ok(Class::read(&info))
            })
            .collect()
    }

    /// Makes an object of a class, and asks it for an interface.
    ///
    /// # Errors
    /// [`HostError::Refused`] for an unknown class, or an interface that it lacks.
    pub fn create<I: Interface>(&self, class: &[u8; 16]) -> Result<ComPtr<I>, HostError> {
        let mut object = std::ptr::null_mut();
        // SAFETY: both ids have the sixteen bytes that the factory reads, and
        // `object` is a valid place. What comes is owned by the caller.
        let created = unsafe {
            let result = self.0.factory.createInstance(
                class.as_ptr().cast(),
                I::IID.as_ptr().cast(),
                &mut object,
            );
            accepted(result, "make an instance")?;
            ComPtr::from_raw(object.cast())
        };
        created.ok_or(HostError::Refused("give the instance that it made"))
    }

    /// The host as the plugins of this module see it.
    #[must_use]
    pub fn host(&self) -> ComWrapper<Handler> {
        self.0.host.clone()
    }
}

impl Class {
    fn read(info: &PClassInfo2) -> Self {
        let id: TUID = info.cid;
        Self {
            id: id.map(|byte| byte.to_ne_bytes()[0]),
            name: text(&info.name),
            category: text(&info.category),
            subcategories: text(&info.subCategories),
            vendor: text(&info.vendor),
            version: text(&info.version),
            sdk_version: text(&info.sdkVersion),
            cardinality: info.cardinality,
        }
    }
}

impl Drop for Loaded {
    fn drop(&mut self) {
        let (_, exit) = ENTRY_AND_EXIT;
        // SAFETY: each is dropped once, here, and the factory before the code that
        // it runs. The interface gives the function this type. Instances hold a
        // copy of the module, so none is left.
        unsafe {
            ManuallyDrop::drop(&mut self.factory);
            if let Ok(exit) = self
                .library
                .get::<unsafe extern "system" fn() -> bool>(exit.as_bytes())
            {
                exit();
            }
            ManuallyDrop::drop(&mut self.library);
        }
    }
}
