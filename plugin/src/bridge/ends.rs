//! Makes every crossing of one instance, and hands out the ends. `params`, `editor` and `host`
//! import it.

use crate::bridge::chart::{ChartCell, PlannedReceiver};
use crate::bridge::practice::{LessonReceiver, PracticeCell};
use crate::bridge::{
    audition, bass, drawn, ending, meter, moves, snapshot, take, tempo, transport,
};

/// How the program that needs no host was started.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Program {
    /// It plays while the transport of JACK rolls, and has no transport of its own.
    pub follows_jack: bool,
    /// The tempo of its own transport until the player sets another one, in quarter notes a minute.
    pub bpm: f32,
}

/// The ends of the parameters and saved fields.
pub struct ParamsEnds {
    /// The chart's text, which is saved.
    pub chart: ChartCell,
    /// The drawn pattern, which is saved. Whoever reads the parameters reads it with them.
    pub drawn: (drawn::Writer, drawn::Reader),
    /// The exercise and the record of practice, which are saved.
    pub practice: PracticeCell,
    /// Counts moves.
    pub moves: moves::Counter,
    /// The tempo in case nobody reports one, until it is set, in quarter notes a minute.
    pub own_bpm: f32,
}

/// The ends of the audio thread.
pub struct AudioEnds {
    /// Planned charts come from here.
    pub charts: PlannedReceiver,
    /// Lessons come from here, and answers go back.
    pub practice: LessonReceiver,
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
    /// What the panel asks to hear.
    pub audition: audition::Listener,
    /// Which take is to be recorded, and what comes of it.
    pub take: take::Sender,
    /// Whether the program that needs no host plays, if its transport is its own.
    pub transport: Option<transport::Reader>,
    /// The end of that program.
    pub ending: Option<ending::Answer>,
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
    /// Asks to hear something.
    pub audition: audition::Asker,
    /// Begins and ends takes, and takes in what comes of them.
    pub take: take::Asker,
    /// Starts and stops the program that needs no host, if its transport is its own.
    pub transport: Option<transport::Switch>,
    /// The end of that program.
    pub ending: Option<ending::End>,
}

/// All ends of one instance: in a host, or in the program that needs none.
#[must_use]
pub fn ends(program: Option<Program>) -> (ParamsEnds, AudioEnds, PanelEnds) {
    let (chart, charts) = ChartCell::new();
    let (practice, practice_there) = PracticeCell::new();
    let (counter, moves) = moves::channel();
    let (snapshot_there, snapshot) = snapshot::channel();
    let (tempo_there, tempo) = tempo::channel();
    let (meter_there, meter) = meter::channel();
    let (bass_there, bass) = bass::channel();
    let (audition, audition_there) = audition::channel();
    let (take, take_there) = take::channel();
    let own_transport = program.filter(|program| !program.follows_jack);
    let (transport, transport_there) = own_transport.map(|_| transport::channel()).unzip();
    let (ending, ending_there) = program.map(|_| ending::channel()).unzip();
    let params = ParamsEnds {
        chart,
        drawn: drawn::channel(),
        practice,
        moves: counter,
        own_bpm: program.map_or(tempo::FIRST_BPM, |program| program.bpm),
    };
    let audio = AudioEnds {
        charts,
        practice: practice_there,
        moves: moves.clone(),
        snapshot: snapshot_there,
        tempo: tempo_there,
        meter: meter_there,
        bass: bass_there,
        audition: audition_there,
        take: take_there,
        transport: transport_there,
        ending: ending_there,
    };
    let panel = PanelEnds {
        moves,
        snapshot,
        tempo,
        meter,
        bass,
        audition,
        take,
        transport,
        ending,
    };
    (params, audio, panel)
}
