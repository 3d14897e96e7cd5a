//! Practice as it is saved: plain values that are written as JSON. Any thread but the audio thread;
//! `cell` and `params` import it.

use crate::document::Unknown;
use guidehand_practice::{Exercise, Record};
use serde::{Deserialize, Serialize};

/// The version of the form.
const VERSION: u32 = 1;

/// Practice as it is saved. What cannot be read is the default.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct SavedPractice {
    /// The version of the form. That of a later one is kept.
    #[serde(default)]
    pub version: u32,
    /// What the player has chosen.
    #[serde(default)]
    pub exercise: Exercise,
    /// What has been asked and answered.
    #[serde(default)]
    pub record: Record,
    /// What a later version has saved with it.
    #[serde(flatten)]
    pub later: Unknown,
}

impl Default for SavedPractice {
    fn default() -> SavedPractice {
        SavedPractice {
            version: VERSION,
            exercise: Exercise::default(),
            record: Record::default(),
            later: Unknown::default(),
        }
    }
}
