//! What a bus is: what it carries, which way, and how its plugin describes it. Imports nothing but
//! the module's conversions.

use super::number;
use vst3::Steinberg::Vst::{BusDirections_, MediaTypes_};

/// What a bus carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Media {
    /// Samples.
    Audio,
    /// Notes.
    Events,
}

/// Which way a bus goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// Into the plugin.
    In,
    /// Out of it.
    Out,
}

/// A bus as its plugin describes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bus {
    /// The display name.
    pub name: String,
    /// Audio channels, or MIDI channels.
    pub channels: i32,
    /// Whether it is the main one of its kind, or auxiliary.
    pub is_main: bool,
    /// Whether the plugin wants it active from the start.
    pub is_active_by_default: bool,
    /// Whether this host has made it active.
    pub is_active: bool,
}

impl Media {
    pub(super) fn number(self) -> i32 {
        match self {
            Self::Audio => number(MediaTypes_::kAudio),
            Self::Events => number(MediaTypes_::kEvent),
        }
    }
}

impl Direction {
    pub(super) fn number(self) -> i32 {
        match self {
            Self::In => number(BusDirections_::kInput),
            Self::Out => number(BusDirections_::kOutput),
        }
    }
}
