//! The golden performances: the demo's chart in every rhythm, as MIDI files that a
//! test compares with what the built plugin plays, and that anyone can open and
//! hear. Imports the host, sessions and scores; the test and the command that
//! writes the files import it.

use crate::error::HostError;
use crate::event::Event;
use crate::host::Host;
use crate::paths::PLUGIN_ID;
use crate::session::{BlockSizes, Session, render};
use crate::smf::{self, MidiFile, MidiFileError};
use crate::state;
use crate::transport::TransportChange;
use guidehand_report::request::Rhythm;
use std::error::Error;
use std::fmt;
use std::path::Path;

/// A tune of our own: cadences in C, B flat, G minor, A flat and F, with a tritone substitute,
/// suspensions, half-diminished and diminished chords.
pub const CHART: &str = "\
| Dm7 | G7 | Cmaj7 | C#dim7 |
| Dm7 | Db7 | Cmaj7 | % |
| Cm7 | F7 | Bbmaj7 | Ebmaj7 |
| Am7b5 | D7 | Gm6 | % |
| Bbm7 | Eb7sus4 Eb7 | Abmaj7 | Dm7b5 G7alt |
| Gm7 | C7 | Fmaj7 Fm6 | G7sus4 G7b9 |";

const CHART_BEATS: f64 = 96.0;
const TEMPO_BPM: f64 = 132.0;
const RATE_HZ: f64 = 48_000.0;

/// The key with which the left hand strikes the chart, and its strikes in each bar: start and end
/// in quarter notes, velocity.
const LEFT_KEY: i16 = 40;
const LEFT_HAND: [(f64, f64, f64); 2] = [(0.0, 1.25, 0.75), (2.5, 3.25, 0.5)];

/// One performance.
#[derive(Clone, Debug)]
pub struct Golden {
    /// The name of its file without the ending.
    pub name: String,
    /// Parameters in words.
    settings: Vec<(&'static str, String)>,
    /// Whether a left hand strikes it.
    is_played: bool,
}

/// Why a file cannot be made.
#[derive(Debug)]
pub enum GoldenError {
    /// The plugin or its host failed.
    Plugin(HostError),
    /// The performance does not fit into a MIDI file.
    MidiFile(MidiFileError),
}

impl fmt::Display for GoldenError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Plugin(error) => write!(f, "{error}"),
            Self::MidiFile(error) => write!(f, "{error}"),
        }
    }
}

impl Error for GoldenError {}

impl From<HostError> for GoldenError {
    fn from(error: HostError) -> Self {
        Self::Plugin(error)
    }
}

impl From<MidiFileError> for GoldenError {
    fn from(error: MidiFileError) -> Self {
        Self::MidiFile(error)
    }
}

/// All of them: each rhythm by itself, one that is played by hand, one with
/// touch and density, one with inner lines, one that varies.
#[must_use]
pub fn all() -> Vec<Golden> {
    let golden = |name: &str, settings: &[(&'static str, &str)]| Golden {
        name: name.to_owned(),
        settings: settings
            .iter()
            .map(|(n, w)| (*n, (*w).to_owned()))
            .collect(),
        is_played: false,
    };
    let rhythms = Rhythm::ALL.map(|rhythm| {
        let words = rhythm.words();
        let name = words.to_lowercase().replace([' ', '-'], "_");
        golden(&name, &[("Rhythm", words)])
    });
    let played = Golden {
        is_played: true,
        ..golden("played", &[("Rhythm", "Played")])
    };
    let loose = [
        ("Rhythm", "Charleston"),
        ("Looseness, time", "12 ms"),
        ("Looseness, velocity", "8"),
        ("Density", "40 %"),
        ("Take", "7"),
    ];
    let inner = [("Rhythm", "Sustained"), ("Inner lines", "On")];
    let free = [
        ("Rhythm", "Charleston"),
        ("Variation", "100 %"),
        ("Take", "7"),
    ];
    let mut all = rhythms.to_vec();
    all.push(played);
    all.push(golden("touch_and_density", &loose));
    all.push(golden("inner_lines", &inner));
    all.push(golden("variation", &free));
    all
}

impl Golden {
    /// The file's name.
    #[must_use]
    pub fn file_name(&self) -> String {
        format!("{}.mid", self.name)
    }

    /// Plays it on the plugin in the file at `clap`: the chart once through, as
    /// the bytes of a MIDI file.
    ///
    /// # Errors
    /// [`GoldenError`].
    pub fn render(&self, clap: &Path) -> Result<Vec<u8>, GoldenError> {
        let mut host = Host::open(clap, PLUGIN_ID)?;
        let fixed = [("Audition tone", "Off"), ("Chords from", "Chart")];
        let fixed = fixed.map(|(name, words)| (name, words.to_owned()));
        for (name, words) in fixed.iter().chain(&self.settings) {
            let id = host.param_by_name(name)?.id;
            let value = host.text_to_value(id, words)?;
            host.set_param(id, value)?;
        }
        let state = host.save_state()?;
        host.load_state(&state::with_chart(&state, CHART))?;
        let session = self.session();
        let performance = render(&mut host, &session)?;
        Ok(smf::bytes(&MidiFile::of(&session, &performance.events))?)
    }

    fn session(&self) -> Session {
        let mut session = Session::new(RATE_HZ, TEMPO_BPM, 0);
        let end = session.samples_at(CHART_BEATS);
        session.length_samples = end + 1;
        session.change(end, TransportChange::Stop);
        session.blocks = BlockSizes::Fixed(4_096);
        if self.is_played {
            let bars = std::iter::successors(Some(0.0), |bar| Some(bar + 4.0));
            for bar_beats in bars.take_while(|bar| *bar < CHART_BEATS) {
                for (from, to, velocity) in LEFT_HAND {
                    let (from, to) = (bar_beats + from, bar_beats + to);
                    let (from, to) = (session.samples_at(from), session.samples_at(to));
                    session.event(from, Event::note_on(0, LEFT_KEY, velocity));
                    session.event(to, Event::note_off(0, LEFT_KEY));
                }
            }
        }
        session
    }
}
