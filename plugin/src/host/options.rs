//! How the program that needs no host was started: its own options, taken out of the arguments before
//! the framework reads the rest, and kept where the plugin finds them when the framework makes it. In
//! a host there are none. The main thread; imports `bridge::ends` and `params`; `plugin` and `program`
//! import it.

use crate::bridge::ends::Program;
use std::sync::OnceLock;

#[cfg(feature = "standalone")]
use crate::params::OWN_TEMPI_BPM;

/// Set once, by the program.
static PROGRAM: OnceLock<Program> = OnceLock::new();

/// How the program was started; none in a host.
#[must_use]
pub fn program() -> Option<Program> {
    PROGRAM.get().copied()
}

/// Keeps how the program was started, for every instance from now on.
#[cfg(feature = "standalone")]
pub fn set(program: Program) {
    // There is one program, which starts once.
    let _first = PROGRAM.set(program);
}

/// What `--help` says of our own options. The framework says the rest.
#[cfg(feature = "standalone")]
pub const HELP: &str = "\
Plays its chart from the start and sends MIDI until its window is closed. The
space bar stops it and lets it play again.

Option of Guidehand:
      --follow-jack
          Play while the transport of JACK rolls, at its place and tempo,
          instead of from the start
";

/// The tempo of the framework's option of this name, unless it is given.
#[cfg(feature = "standalone")]
const USUAL_BPM: f32 = 120.0;

/// What the program was asked for, and the arguments that are left for the framework.
#[cfg(feature = "standalone")]
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// How it starts.
    pub program: Program,
    /// Only the options are to be told.
    pub help: bool,
    /// The arguments without our own.
    pub rest: Vec<String>,
}

/// Reads the arguments. `--tempo` and what is wrong stay for the framework, which complains of it.
#[cfg(feature = "standalone")]
#[must_use]
pub fn read(arguments: impl IntoIterator<Item = String>) -> Asked {
    let mut asked = Asked {
        program: Program {
            follows_jack: false,
            bpm: USUAL_BPM,
        },
        help: false,
        rest: Vec::new(),
    };
    let mut is_tempo = false;
    for argument in arguments {
        let tempo = if is_tempo {
            Some(argument.as_str())
        } else {
            argument.strip_prefix("--tempo=")
        };
        if let Some(bpm) = tempo.and_then(|words| words.parse::<f32>().ok())
            && bpm.is_finite()
        {
            let (slowest, fastest) = OWN_TEMPI_BPM;
            asked.program.bpm = bpm.clamp(slowest, fastest);
        }
        is_tempo = argument == "--tempo";
        match argument.as_str() {
            "--follow-jack" => {
                asked.program.follows_jack = true;
                continue;
            }
            "--help" | "-h" => asked.help = true,
            _ => {}
        }
        asked.rest.push(argument);
    }
    asked
}

#[cfg(all(test, feature = "standalone"))]
mod tests {
    use super::*;

    fn asked(words: &str) -> Asked {
        read(words.split_whitespace().map(str::to_owned))
    }

    #[test]
    fn our_own_options_are_taken_out_and_the_rest_is_left() {
        let plain = asked("guidehand --backend dummy");
        assert!(!plain.program.follows_jack && !plain.help);
        assert_eq!(plain.program.bpm, 120.0);
        assert_eq!(plain.rest, ["guidehand", "--backend", "dummy"]);
        let follows = asked("guidehand --backend jack --follow-jack -h");
        assert!(follows.program.follows_jack && follows.help);
        assert_eq!(follows.rest, ["guidehand", "--backend", "jack", "-h"]);
    }

    #[test]
    fn the_tempo_is_read_and_left() {
        for words in ["guidehand --tempo 90", "guidehand --tempo=90"] {
            let read = asked(words);
            assert_eq!(read.program.bpm, 90.0);
            assert_eq!(read.rest.join(" "), words);
        }
        assert_eq!(asked("guidehand --tempo 9000").program.bpm, 300.0);
        for wrong in ["guidehand --tempo fast", "guidehand --tempo"] {
            assert_eq!(asked(wrong).program.bpm, 120.0);
            assert_eq!(asked(wrong).rest.join(" "), wrong);
        }
    }
}
