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
    /// JACK may be its sound server, and the rate is not asked for.
    pub rate_of_jack: bool,
    /// The arguments without our own.
    pub rest: Vec<String>,
}

/// Reads the arguments. The framework's options stay where they are, and it complains of what is wrong
/// with them.
#[cfg(feature = "standalone")]
#[must_use]
pub fn read(arguments: impl IntoIterator<Item = String>) -> Asked {
    let is_ours = |argument: &String| argument == "--follow-jack";
    let (ours, rest): (Vec<_>, Vec<_>) = arguments.into_iter().partition(is_ours);
    let bpm = value(&rest, "--tempo", None).and_then(|words| words.parse::<f32>().ok());
    let bpm = bpm.filter(|bpm| bpm.is_finite()).unwrap_or(USUAL_BPM);
    let (slowest, fastest) = OWN_TEMPI_BPM;
    let backend = value(&rest, "--backend", Some("-b")).unwrap_or("auto");
    let rate = value(&rest, "--sample-rate", Some("-r"));
    Asked {
        program: Program {
            follows_jack: !ours.is_empty(),
            bpm: bpm.clamp(slowest, fastest),
        },
        help: rest.iter().any(|word| word == "--help" || word == "-h"),
        rate_of_jack: rate.is_none() && ["auto", "jack"].contains(&backend),
        rest,
    }
}

/// The value of an option by its long name and perhaps a short one, as clap reads them: `--tempo 90`,
/// `--tempo=90`, `-b jack`, `-bjack`, `-b=jack`.
#[cfg(feature = "standalone")]
fn value<'a>(arguments: &'a [String], long: &str, short: Option<&str>) -> Option<&'a str> {
    let at = arguments.iter().enumerate();
    at.filter_map(|(at, argument)| {
        if argument == long || Some(argument.as_str()) == short {
            return arguments.get(at + 1).map(String::as_str);
        }
        if argument.starts_with("--") {
            return argument.strip_prefix(long)?.strip_prefix('=');
        }
        let joined = argument.strip_prefix(short?)?;
        Some(joined.strip_prefix('=').unwrap_or(joined))
    })
    .next()
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

    #[test]
    fn the_rate_is_that_of_jack_where_jack_may_serve_and_none_is_asked_for() {
        for (words, expected) in [
            ("guidehand", true),
            ("guidehand --backend jack", true),
            ("guidehand -bjack", true),
            ("guidehand --backend=dummy", false),
            ("guidehand -b alsa", false),
            ("guidehand -b=alsa", false),
            ("guidehand -r 44100", false),
            ("guidehand --backend jack --sample-rate=44100", false),
        ] {
            assert_eq!(asked(words).rate_of_jack, expected, "{words}");
        }
    }
}
