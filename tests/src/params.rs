//! What a plugin says about its parameters. Imports `ports`.

use crate::ports::text;
use clack_extensions::params::{ParamInfoBuffer, ParamInfoFlags, PluginParams};
use clack_host::plugin::PluginMainThreadHandle;

/// What a plugin says about a parameter.
#[derive(Debug, Clone, PartialEq)]
pub struct Param {
    /// The stable CLAP id.
    pub id: u32,
    /// The path of groups that contains it, separated by `/`; may be empty.
    pub module: String,
    /// The display name, unique in its module.
    pub name: String,
    /// The smallest plain value.
    pub min: f64,
    /// The largest plain value.
    pub max: f64,
    /// The plain value after loading.
    pub default: f64,
    /// Automatable, stepped, hidden and so on.
    pub flags: ParamInfoFlags,
}

impl Param {
    /// `None` if the plugin counts a parameter that it cannot describe.
    pub(crate) fn all_of(plugin: &PluginMainThreadHandle<'_>) -> Option<Vec<Self>> {
        let Some(extension) = plugin.get_extension::<PluginParams>() else {
            return Some(Vec::new());
        };
        let mut buffer = ParamInfoBuffer::new();
        (0..extension.count(plugin))
            .map(|index| {
                let param = extension.get_info(plugin, index, &mut buffer)?;
                Some(Self {
                    id: param.id.get(),
                    module: text(param.module),
                    name: text(param.name),
                    min: param.min_value,
                    max: param.max_value,
                    default: param.default_value,
                    flags: param.flags,
                })
            })
            .collect()
    }

    /// Module and name, as in `Group 1/Level`.
    #[must_use]
    pub fn path(&self) -> String {
        if self.module.is_empty() {
            self.name.clone()
        } else {
            format!("{}/{}", self.module, self.name)
        }
    }
}
