//! What the regions read: one value for a frame, which nothing changes while the
//! panel is drawn. `window` fills it; every region imports it.

use crate::bridge::bass::EarLook;
use crate::editor::model::chart::OnShow;
use crate::editor::model::in_hand::InHand;
use crate::editor::model::pages::Pages;
use crate::editor::model::parameters::{Control, Controls, ParameterId};
use crate::engine::settings::Settings;
use crate::engine::snapshot::Snapshot;
use crate::params::SavedPanel;
use guidehand_theory::pipeline::ChordInKey;
use std::ops::RangeInclusive;

/// What there is to show in a frame.
pub struct View<'a> {
    /// The chord on show and all around it: as the engine tells it, or the chord in hand.
    pub snapshot: Snapshot,
    /// What the engine tells, with the change of the chart as written where another harmony is
    /// tried.
    pub as_written: Snapshot,
    /// How the chord in hand is shown.
    pub in_hand: InHand,
    /// It is on show.
    pub shows_in_hand: bool,
    /// What is on show is a way to play it that is tried.
    pub shows_tried: bool,
    /// A voicing is pinned to it.
    pub is_pinned: bool,
    /// The chord in hand, if the chart has chords.
    pub in_hand_chord: Option<ChordInKey>,
    /// The chord of the chart that is on show; none where the chord comes from elsewhere.
    pub on_show: Option<OnShow>,
    /// The values in force.
    pub settings: Settings,
    /// The parameters.
    pub controls: &'a Controls,
    /// The pages beside the chart.
    pub pages: &'a Pages,
    /// The files that were used last, the newest first, while their page is open.
    pub recent_files: Vec<String>,
    /// The keys that the keyboard goes on showing while a handle is dragged.
    pub keys_kept: Option<RangeInclusive<u8>>,
    /// What is heard of the bass.
    pub bass: EarLook,
    /// The size, the zoom and the look of the panel.
    pub panel: SavedPanel,
    /// How many steps of the audition tone's meter are lit.
    pub meter: u8,
    /// Whether the program that needs no host plays; none where its transport is not ours.
    pub plays: Option<bool>,
    /// Something was to be heard by ear, but the host does not process.
    pub is_unheard: bool,
    /// There is an original to go back to.
    pub has_original: bool,
}

impl View<'_> {
    /// What there is to show of a parameter.
    #[must_use]
    pub const fn control(&self, id: ParameterId) -> &Control {
        self.controls.of(id)
    }
}
