//! Makes every crossing of one instance, and hands out the ends. `params`, `editor` and `host`
//! import it.

use crate::bridge::chart::{ChartCell, PlannedReceiver};
use crate::bridge::{bass, drawn, meter, moves, snapshot, tempo};

/// The ends of the parameters and saved fields.
pub struct ParamsEnds {
    /// The chart's text, which is saved.
    pub chart: ChartCell,
    /// The drawn pattern, which is saved. Whoever reads the parameters reads it with them.
    pub drawn: (drawn::Writer, drawn::Reader),
    /// Counts moves.
    pub moves: moves::Counter,
}

/// The ends of the audio thread.
pub struct AudioEnds {
    /// Planned charts come from here.
    pub charts: PlannedReceiver,
    /// How often parameters have moved.
    pub moves: moves::Reader,
    /// What the panel shows.
    pub snapshot: snapshot::Writer,
    /// The tempo that the host reports.
    pub tempo: tempo::Writer,
    /// The peak of the audition tone.
    pub meter: meter::Writer,
    /// What is heard of the bass.
    pub bass: bass::Writer,
}

/// The ends of the panel. It also reaches the ends of the parameters, through the parameters.
pub struct PanelEnds {
    /// How often parameters have moved.
    pub moves: moves::Reader,
    /// What to show.
    pub snapshot: snapshot::Reader,
    /// The tempo, for files.
    pub tempo: tempo::Reader,
    /// The peak of the audition tone.
    pub meter: meter::Reader,
    /// What is heard of the bass.
    pub bass: bass::Reader,
}

/// All ends of one instance.
#[must_use]
pub fn ends() -> (ParamsEnds, AudioEnds, PanelEnds) {
    let (chart, charts) = ChartCell::new();
    let (counter, moves) = moves::channel();
    let (snapshot_there, snapshot) = snapshot::channel();
    let (tempo_there, tempo) = tempo::channel();
    let (meter_there, meter) = meter::channel();
    let (bass_there, bass) = bass::channel();
    let params = ParamsEnds {
        chart,
        drawn: drawn::channel(),
        moves: counter,
    };
    let audio = AudioEnds {
        charts,
        moves: moves.clone(),
        snapshot: snapshot_there,
        tempo: tempo_there,
        meter: meter_there,
        bass: bass_there,
    };
    let panel = PanelEnds {
        moves,
        snapshot,
        tempo,
        meter,
        bass,
    };
    (params, audio, panel)
}
