//! The end of the program that needs no host: signals ask for it, as closing the window does, and
//! nothing goes on sounding after it. The main thread; `window` imports it.

use crate::bridge::ending::End;
use nice_plug::nice_error;
use std::thread;
use std::time::{Duration, Instant};

/// Between two looks at what is waited for.
const INTERVAL: Duration = Duration::from_millis(5);
/// How long the framework has to close the sound server. It closes JACK from two threads at once (nice-plug
/// 0.4.2), which then wait for each other's answer as often as not.
const CLOSES_WITHIN: Duration = Duration::from_secs(1);
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

/// Asks for the end, and waits until everything that sounded has ended. From then on the program ends
/// soon, whether or not the framework comes to an end with the sound server. If the server calls the
/// audio thread no more, the program ends here.
pub fn await_silence(end: &End) {
    end.ask();
    let start = Instant::now();
    while !end.is_silent() {
        if start.elapsed() > PATIENCE {
            nice_error!("The sound server no longer answers: notes may go on sounding.");
            leave(1);
        }
        thread::sleep(INTERVAL);
    }
    let closes = || {
        thread::sleep(CLOSES_WITHIN);
        leave(0);
    };
    // Without a thread there is no bound on that.
    let _started = thread::Builder::new().spawn(closes);
}

/// Ends the program without a look back: other threads still run, and may use what would be cleared away.
fn leave(code: i32) -> ! {
    #[cfg(feature = "standalone")]
    signal_hook::low_level::exit(code);
    #[cfg(not(feature = "standalone"))]
    std::process::exit(code)
}
