//! What the panel remembers from frame to frame. Only `apply` and the upkeep before a
//! frame change it. The panel's thread; `window` and `apply` import it.

use crate::bridge::chart::ReadChart;
use crate::editor::model::chart::ChartText;
use crate::editor::model::harmonies::Harmonies;
use crate::editor::model::page::Page;
use crate::editor::panel::files::Files;
use crate::engine::settings::Source;
use std::sync::Arc;

/// What is left of the meter's value after a frame.
const METER_FALL: f32 = 0.8;
/// Below it the meter shows nothing, linear: -60 dB.
const METER_FLOOR: f32 = 0.001;

/// What the panel remembers from frame to frame.
pub struct Model {
    /// The chart under edit.
    pub chart: ChartText,
    /// The page that is open beside it.
    pub page: Page,
    /// Other harmonies for it.
    pub harmonies: Harmonies,
    /// Files for it.
    pub files: Files,
    /// What the meter of the audition tone shows, linear.
    pub meter: f32,
    /// Where chords came from in the last frame.
    source: Source,
}

impl Model {
    /// A panel that has shown nothing yet.
    #[must_use]
    pub fn new(latest: Arc<ReadChart>) -> Model {
        Model {
            chart: ChartText::new(latest),
            page: Page::default(),
            harmonies: Harmonies::default(),
            files: Files::default(),
            meter: 0.0,
            source: Source::default(),
        }
    }

    /// The page of the bass opens and closes with its source.
    pub fn follow_source(&mut self, source: Source) {
        if std::mem::replace(&mut self.source, source) == source {
            return;
        }
        if source == Source::Bass {
            self.page = Page::Bass;
        } else if self.page == Page::Bass {
            self.page = Page::default();
        }
    }

    /// The meter rises to a peak at once, and falls frame by frame.
    pub fn follow_tone(&mut self, peak: f32) {
        self.meter = peak.max(self.meter * METER_FALL);
        if self.meter < METER_FLOOR {
            self.meter = 0.0;
        }
    }
}
