//! The end of the program that needs no host: signals ask for it, as closing the window does, and
//! nothing goes on sounding after it. The main thread; `window` imports it.

use crate::bridge::ending::End;
use nice_plug::nice_error;
use std::process;
use std::thread;
use std::time::{Duration, Instant};

/// Between two looks at what is waited for.
const INTERVAL: Duration = Duration::from_millis(5);
/// How long the audio thread has to end what sounds: far longer than any block.
const PATIENCE: Duration = Duration::from_secs(3);

/// Lets SIGINT, SIGTERM and, where there is one, SIGHUP ask for the end. The next of them ends the
/// program at once, as if nobody heeded it. The framework heeds SIGINT first and overwrites what was
/// there; its own handler is called as well and changes nothing.
#[cfg(feature = "standalone")]
pub fn heed_signals(end: &End) {
    use signal_hook::consts::{SIGINT, SIGTERM};
    use signal_hook::flag;

    #[cfg(unix)]
    let signals = [SIGINT, SIGTERM, signal_hook::consts::SIGHUP];
    #[cfg(not(unix))]
    let signals = [SIGINT, SIGTERM];
    for signal in signals {
        // In this order: the first signal must not find the flag set by itself.
        let heeded = flag::register_conditional_default(signal, end.flag())
            .and_then(|_| flag::register(signal, end.flag()));
        if let Err(error) = heeded {
            nice_error!("Signal {signal} will end it at once: {error}");
        }
    }
}

/// Only the program has an end.
#[cfg(not(feature = "standalone"))]
pub fn heed_signals(_: &End) {}

/// Waits until somebody asks for the end.
pub fn await_ask(end: &End) {
    while !end.is_asked() {
        thread::sleep(INTERVAL);
    }
}

/// Asks for the end, and waits until everything that sounded has ended. If the sound server calls the
/// audio thread no more, ends the program here: the framework would wait for that thread for ever.
pub fn await_silence(end: &End) {
    end.ask();
    let start = Instant::now();
    while !end.is_silent() {
        if start.elapsed() > PATIENCE {
            nice_error!("The sound server no longer answers: notes may go on sounding.");
            process::exit(1);
        }
        thread::sleep(INTERVAL);
    }
}
