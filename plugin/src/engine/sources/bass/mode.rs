//! How a bass is followed. Imports `clock`, `planned` and `settings`.

use crate::engine::clock::Clock;
use crate::engine::planned::PlannedChart;
use crate::engine::settings::Settings;

/// How a bass is followed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FollowMode {
    /// It is not.
    #[default]
    Off,
    /// Through the chart.
    Chart,
    /// By its roots in the key, in the host's bars.
    Key,
    /// Note by note: there are no bars.
    Notes,
}

impl FollowMode {
    /// The mode under these parameters, this transport and this chart, while the bass is the source.
    pub fn of(settings: &Settings, clock: &Clock, song: Option<&PlannedChart>) -> FollowMode {
        match clock.position_ticks {
            _ if settings.bypass => FollowMode::Off,
            Some(_) if settings.bass.by_chart && song.is_some() => FollowMode::Chart,
            Some(_) if !clock.ours => FollowMode::Key,
            _ => FollowMode::Notes,
        }
    }
}
