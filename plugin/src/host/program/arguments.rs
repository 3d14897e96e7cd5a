//! The program's own options, taken out of the arguments before the framework reads the rest. The main
//! thread; imports `bridge::ends` and `params`; `program` imports it.

use crate::bridge::ends::Program;
use crate::params::OWN_TEMPI_BPM;

/// What `--help` says of our own options. The framework says the rest.
pub const HELP: &str = "\
Plays its chart from the start and sends MIDI until its window is closed. The
space bar stops it and lets it play again.

Option of Guidehand:
      --follow-jack
          Play while the transport of JACK rolls, at its place and tempo,
          instead of from the start
";

/// The tempo of the framework's option of this name, unless it is given.
const USUAL_BPM: f32 = 120.0;

/// What the program was asked for, and the arguments that are left for the framework.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// How it starts.
    pub program: Program,
    /// Only the options are to be told.
    pub help: bool,
    /// JACK may be its sound server.
    pub may_be_jack: bool,
    /// What the player is to hear of before it starts.
    pub remark: Option<String>,
    /// The arguments without our own.
    pub rest: Vec<String>,
}

/// Reads the arguments. The framework's options stay where they are, and it complains of what is wrong
/// with them.
#[must_use]
pub fn read(arguments: impl IntoIterator<Item = String>) -> Asked {
    let is_ours = |argument: &String| argument == "--follow-jack";
    let (ours, rest): (Vec<_>, Vec<_>) = arguments.into_iter().partition(is_ours);
    let bpm = value(&rest, "--tempo", None).and_then(|words| words.parse::<f32>().ok());
    let wanted = bpm.filter(|bpm| bpm.is_finite()).unwrap_or(USUAL_BPM);
    let (slowest, fastest) = OWN_TEMPI_BPM;
    let bpm = wanted.clamp(slowest, fastest);
    let backend = value(&rest, "--backend", Some("-b")).unwrap_or("auto");
    Asked {
        program: Program {
            follows_jack: !ours.is_empty(),
            bpm,
        },
        help: rest.iter().any(|word| word == "--help" || word == "-h"),
        may_be_jack: ["auto", "jack"].contains(&backend),
        remark: (bpm != wanted).then(|| {
            format!(
                "--tempo {wanted}: the tempo goes from {slowest} to {fastest}; it is {bpm} now."
            )
        }),
        rest,
    }
}

/// Adds what the server tells of itself, unless the player has asked for something else: its rate in Hz,
/// and the most frames of a block.
pub fn add_server(rest: &mut Vec<String>, rate_hz: u32, frames: u32) {
    for (long, short, number) in [
        ("--sample-rate", "-r", rate_hz),
        ("--period-size", "-p", frames),
    ] {
        if value(rest, long, Some(short)).is_none() {
            rest.push(format!("{long}={number}"));
        }
    }
}

/// The value of an option by its long name and perhaps a short one, as clap reads them: `--tempo 90`,
/// `--tempo=90`, `-b jack`, `-bjack`, `-b=jack`.
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

#[cfg(test)]
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
        assert_eq!(asked("guidehand --tempo 90").remark, None);
        let fast = asked("guidehand --tempo 9000");
        assert_eq!(fast.program.bpm, 300.0);
        let remark = fast.remark.unwrap();
        assert!(remark.contains("30 to 300"), "{remark}");
        for wrong in ["guidehand --tempo fast", "guidehand --tempo"] {
            assert_eq!(asked(wrong).program.bpm, 120.0);
            assert_eq!(asked(wrong).rest.join(" "), wrong);
        }
    }

    #[test]
    fn jack_may_serve_unless_another_backend_is_asked_for() {
        for (words, expected) in [
            ("guidehand", true),
            ("guidehand --backend jack", true),
            ("guidehand -bjack", true),
            ("guidehand --backend=dummy", false),
            ("guidehand -b alsa", false),
            ("guidehand -b=alsa", false),
        ] {
            assert_eq!(asked(words).may_be_jack, expected, "{words}");
        }
    }

    #[test]
    fn what_the_server_tells_is_added_unless_it_is_asked_for() {
        for (words, added) in [
            ("guidehand", "--sample-rate=96000 --period-size=64"),
            ("guidehand -r 44100", "--period-size=64"),
            ("guidehand -p256", "--sample-rate=96000"),
            ("guidehand --sample-rate=44100 --period-size 256", ""),
        ] {
            let mut rest = asked(words).rest;
            add_server(&mut rest, 96_000, 64);
            let expected = format!("{words} {added}");
            assert_eq!(rest.join(" "), expected.trim());
        }
    }
}
