//! A CLAP library on disk and the plugins that it describes. Imports
//! [`HostError`] only.

use crate::error::HostError;
use clack_host::entry::{EntryDescriptor, PluginEntry, PluginEntryError};
use clack_host::plugin::PluginInstanceError;
use std::ffi::CStr;
use std::path::{Path, PathBuf};

/// A loaded CLAP library. It stays in memory until the process ends.
///
/// A thread that has run the plugin's code runs a little more of it when it ends. If another thread
/// unloaded the library at that moment, the process would crash.
pub struct Library {
    path: PathBuf,
    pub(crate) entry: PluginEntry,
    plugins: Vec<Descriptor>,
}

/// What a library says about one of its plugins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Descriptor {
    /// The unique id, in reverse domain notation.
    pub id: String,
    /// The display name.
    pub name: String,
    /// The maker; may be empty.
    pub vendor: String,
    /// The version; may be empty.
    pub version: String,
    /// Keywords such as `note-effect`.
    pub features: Vec<String>,
}

impl Library {
    /// Loads a `.clap` file, or the bundle folder that it is on macOS.
    ///
    /// # Errors
    /// [`HostError::Open`] if the file does not load or holds no plugin factory.
    pub fn open(path: &Path) -> Result<Self, HostError> {
        // SAFETY: loading a library runs its code. The paths of this crate come from its own build.
        // Callers that pass another path are responsible for that file.
        Self::of(path, unsafe { PluginEntry::load(path) })
    }

    /// A plugin that is linked into this program, by its entry.
    ///
    /// # Errors
    /// As [`Library::open`].
    ///
    /// # Safety
    /// The entry must be that of a plugin that follows CLAP.
    pub unsafe fn linked(entry: &'static EntryDescriptor) -> Result<Self, HostError> {
        // SAFETY: the caller vouches for the entry.
        let entry = unsafe { PluginEntry::load_from_raw(entry, c"linked") };
        Self::of(Path::new("linked"), entry)
    }

    fn of(path: &Path, entry: Result<PluginEntry, PluginEntryError>) -> Result<Self, HostError> {
        let fail = |reason: String| HostError::Open {
            path: path.to_owned(),
            reason,
        };
        let entry = entry.map_err(|e| fail(e.to_string()))?;
        // It is never released, on purpose: see the type.
        std::mem::forget(entry.clone());
        let factory = entry
            .get_plugin_factory()
            .ok_or_else(|| fail(PluginInstanceError::MissingPluginFactory.to_string()))?;
        let plugins = factory
            .plugin_descriptors()
            .map(|plugin| Descriptor {
                id: text(plugin.id()),
                name: text(plugin.name()),
                vendor: text(plugin.vendor()),
                version: text(plugin.version()),
                features: plugin.features().map(|word| text(Some(word))).collect(),
            })
            .collect();
        Ok(Self {
            path: path.to_owned(),
            entry,
            plugins,
        })
    }

    /// The file that was loaded.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The plugins in the library, in its own order.
    #[must_use]
    pub fn plugins(&self) -> &[Descriptor] {
        &self.plugins
    }

    /// The description of one plugin.
    ///
    /// # Errors
    /// [`HostError::NoPlugin`] if no plugin has this id.
    pub fn plugin(&self, id: &str) -> Result<&Descriptor, HostError> {
        self.plugins
            .iter()
            .find(|plugin| plugin.id == id)
            .ok_or_else(|| HostError::NoPlugin {
                id: id.to_owned(),
                offered: self.plugins.iter().map(|p| p.id.clone()).collect(),
            })
    }
}

fn text(words: Option<&CStr>) -> String {
    words.map_or_else(String::new, |words| words.to_string_lossy().into_owned())
}
