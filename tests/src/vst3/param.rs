//! What a plugin says about a parameter. Imports nothing but the module's conversions.

use super::{number, wide_text};
use vst3::Steinberg::Vst::ParameterInfo;
use vst3::Steinberg::Vst::ParameterInfo_::ParameterFlags_;

/// What a plugin says about a parameter.
#[derive(Debug, Clone, PartialEq)]
pub struct Param {
    /// The stable id.
    pub id: u32,
    /// The display name.
    pub name: String,
    /// The display name for places with little room.
    pub short_name: String,
    /// The unit that its text leaves out; may be empty.
    pub units: String,
    /// How many steps there are from the lowest to the highest value; 0 for none.
    pub step_count: i32,
    /// The value after loading, from 0 to 1.
    pub default: f64,
    /// The group that holds it; 0 for none.
    pub unit_id: i32,
    /// Automatable, hidden and so on.
    pub flags: i32,
}

impl Param {
    pub(super) fn read(info: &ParameterInfo) -> Self {
        Self {
            id: info.id,
            name: wide_text(&info.title),
            short_name: wide_text(&info.shortTitle),
            units: wide_text(&info.units),
            step_count: info.stepCount,
            default: info.defaultNormalizedValue,
            unit_id: info.unitId,
            flags: info.flags,
        }
    }

    /// Whether hosts may automate it.
    #[must_use]
    pub fn is_automatable(&self) -> bool {
        self.flags & number::<i32>(ParameterFlags_::kCanAutomate) != 0
    }

    /// Whether hosts hide it from users.
    #[must_use]
    pub fn is_hidden(&self) -> bool {
        self.flags & number::<i32>(ParameterFlags_::kIsHidden) != 0
    }

    /// Whether it is the one that bypasses the plugin.
    #[must_use]
    pub fn is_bypass(&self) -> bool {
        self.flags & number::<i32>(ParameterFlags_::kIsBypass) != 0
    }

    /// A plain CLAP value in the range of this interface, from 0 to 1. In CLAP the same parameter
    /// has steps from 0.
    #[must_use]
    pub fn normalized(&self, clap_value: f64) -> f64 {
        if self.step_count > 0 {
            clap_value / f64::from(self.step_count)
        } else {
            clap_value
        }
    }
}
