//! What the regions read: one value for a frame, which nothing changes while the
//! panel is drawn. `window` fills it; every region imports it.

use crate::bridge::bass::EarLook;
use crate::bridge::practice::ReadPractice;
use crate::document::{MyVoicings, ScaleName};
use crate::editor::model::chart::OnShow;
use crate::editor::model::held::Time;
use crate::editor::model::in_hand::InHand;
use crate::editor::model::pages::Pages;
use crate::editor::model::parameters::{Control, Controls, ParameterId};
use crate::editor::view::scales::Scales;
use crate::engine::practising::Asking;
use crate::engine::settings::{Settings, Source};
use crate::engine::snapshot::Snapshot;
use crate::params::SavedPanel;
use guidehand_practice::Drill;
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
    /// Which time it is played, where that makes a difference.
    pub time: Option<Time>,
    /// A voicing is pinned to it.
    pub is_pinned: bool,
    /// The chord in hand, if the chart has chords.
    pub in_hand_chord: Option<ChordInKey>,
    /// The player's own voicings.
    pub own: &'a MyVoicings,
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
    /// The exercise, the record and the drill of practice.
    pub practice: ReadPractice,
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

    /// Whether chords are asked for.
    #[must_use]
    pub fn practises(&self) -> bool {
        self.settings.source == Source::Practice
    }

    /// What is asked, as the engine tells it.
    #[must_use]
    pub fn asking(&self) -> Asking {
        self.as_written.practice.unwrap_or_default()
    }

    /// The drill whose questions the engine tells of; before it begins, the one that was made last.
    #[must_use]
    pub fn drill(&self) -> Option<&Drill> {
        let drill = self.practice.drill.as_deref()?;
        let runs = self
            .as_written
            .practice
            .filter(|asking| asking.question.is_some());
        (runs.is_none_or(|asking| asking.drill == drill.number)).then_some(drill)
    }

    /// The scale in force of those over the chord on show: the one that was chosen for this very
    /// chord, or the first.
    #[must_use]
    pub fn chosen_scale(&self, scales: &Scales) -> usize {
        if let Some(chord) = &self.on_show {
            let chosen = chord.scale.as_ref();
            let place = |chosen: &ScaleName| scales.all.iter().position(|s| s.chosen_as == *chosen);
            return chosen.and_then(place).unwrap_or(0);
        }
        let choice = self.pages.scale.as_ref();
        let choice = choice.filter(|choice| choice.of == scales.of);
        choice.map_or(0, |choice| {
            choice.at.min(scales.all.len().saturating_sub(1))
        })
    }
}
