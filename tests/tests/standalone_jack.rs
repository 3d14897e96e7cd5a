//! The program that needs no host on a silent sound server (JACK with its dummy driver), heard by a
//! program that prints the MIDI that it gets. The server's own transport stands still unless a test
//! lets it roll.

use crate::plugin::RATE_HZ as USUAL_RATE_HZ;
use crate::plugin_tone::{height, spectrum};
use crate::standalone::{Program, lines, looked_at, panel, program, until};
use guidehand_tests::screen::Screen;
use std::collections::BTreeMap;
use std::env;
use std::fs::{self, File};
use std::io::Write as _;
use std::process::{Command, Stdio};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};
use tempfile::NamedTempFile;
use x11rb::connection::Connection as _;
use x11rb::protocol::xproto::{ConnectionExt as _, InputFocus, KEY_PRESS_EVENT, KEY_RELEASE_EVENT};
use x11rb::protocol::xtest::ConnectionExt as _;
use x11rb::rust_connection::RustConnection;
use x11rb::wrapper::ConnectionExt as _;

/// Longer than a bar of the first chart at [`TEMPO`], which changes chords in every bar.
const BARS: Duration = Duration::from_secs(3);
const TEMPO: &str = "300";
/// How long a server that has been asked to end may take, before it is killed.
const GOES_WITHIN: Duration = Duration::from_secs(5);
/// The server's name. JACK keeps room for eight names on a machine, and only a server of the same name
/// takes the room of one that was killed.
const NAME: &str = "guidehand-test";
/// The port of the program that prints MIDI.
const EAR: &str = "midi-monitor:input";
/// The keysym of the space bar, as in the X protocol.
const SPACE: u32 = 0x20;

/// A note-on or a note-off: the status byte, the key, the velocity.
type Message = [u8; 3];

/// A sound server with a program that hears the MIDI sent to it. Both end when this is dropped.
struct Server {
    /// What it has printed.
    heard: Arc<Mutex<Vec<String>>>,
    ear: Program,
    server: Program,
    /// What the programs on it have said of themselves.
    said: NamedTempFile,
    /// One server at a time, whoever runs tests on this machine.
    _lock: File,
}

impl Server {
    fn start() -> Server {
        Server::at(48_000)
    }

    /// A server at a sample rate, in Hz.
    fn at(rate_hz: u32) -> Server {
        let rate_hz = rate_hz.to_string();
        let lock = File::create(env::temp_dir().join(NAME)).unwrap();
        lock.lock().unwrap();
        // Long periods, for a busy machine.
        let server = Command::new("jackd")
            .args(["-r", "-n", NAME])
            .args(["-d", "dummy", "-r", &rate_hz, "-p", "2048"])
            .env("JACK_NO_AUDIO_RESERVATION", "1")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("jackd starts");
        let mut server = Program(server);
        let is_there = || {
            let gone = server.0.try_wait().unwrap();
            assert!(gone.is_none(), "jackd ended: {gone:?}");
            let ports = client("jack_lsp").output().unwrap();
            ports.status.success().then_some(())
        };
        until("a sound server", is_there);
        let ear = client("jack_midi_dump").stdout(Stdio::piped()).spawn();
        let mut ear = Program(ear.expect("jack_midi_dump starts"));
        let heard = lines(ear.0.stdout.take().unwrap());
        let server = Server {
            heard,
            ear,
            server,
            said: NamedTempFile::new().unwrap(),
            _lock: lock,
        };
        until("the ear", || server.ports().contains(EAR).then_some(()));
        server
    }

    fn ports(&self) -> String {
        let ports = client("jack_lsp").output().unwrap();
        String::from_utf8_lossy(&ports.stdout).into_owned()
    }

    /// The program on this server, with its MIDI going to the ear.
    fn program(&self, screen: &Screen, more: &[&str]) -> Program {
        let arguments = ["--backend", "jack", "--connect-jack-midi-output", EAR];
        let program = program(screen, &[&arguments[..], more].concat())
            .env("JACK_DEFAULT_SERVER", NAME)
            .stdout(Stdio::null())
            .stderr(self.said.reopen().unwrap())
            .spawn();
        Program(program.expect("the program starts"))
    }

    /// What the last program on it has said.
    fn said(&self) -> String {
        fs::read_to_string(self.said.path()).unwrap_or_default()
    }

    /// Tells the server's transport something.
    fn transport(&self, command: &str) {
        let teller = client("jack_transport")
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .spawn();
        let mut teller = Program(teller.expect("jack_transport starts"));
        let mut words = teller.0.stdin.take().unwrap();
        writeln!(words, "{command}\nquit").unwrap();
        drop(words);
        teller.end();
    }

    fn heard(&self) -> Vec<Message> {
        let lines = self.heard.lock().unwrap();
        lines.iter().filter_map(|line| message(line)).collect()
    }

    /// Waits for note-ons after so many messages.
    fn note_ons(&self, after: usize) -> [u8; 4] {
        until("note-ons", || {
            let on = |message: &&Message| message[0] & 0xf0 == 0x90;
            let heard = self.heard();
            let heard = heard.iter().skip(after).filter(on);
            // Four notes a chord.
            let keys: Vec<u8> = heard.map(|message| message[1]).take(4).collect();
            keys.try_into().ok()
        })
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // A signal that can be caught lets the server remove its shared memory.
        for program in [&mut self.ear, &mut self.server] {
            let start = Instant::now();
            if program.runs() {
                program.signal(&["TERM"]);
            }
            while program.runs() && start.elapsed() < GOES_WITHIN {
                thread::sleep(Duration::from_millis(20));
            }
        }
    }
}

/// A program that finds the server.
fn client(program: &str) -> Command {
    let mut command = Command::new(program);
    command
        .env("JACK_DEFAULT_SERVER", NAME)
        .env("JACK_NO_START_SERVER", "1")
        .stdin(Stdio::null())
        .stderr(Stdio::null());
    command
}

/// The message of a line such as ` 256: 90 34 59 note on (channel  0): ...`.
fn message(line: &str) -> Option<Message> {
    let (_, bytes) = line.split_once(':')?;
    let mut bytes = bytes
        .split_whitespace()
        .map_while(|byte| u8::from_str_radix(byte, 16).ok());
    Some([bytes.next()?, bytes.next()?, bytes.next()?])
}

/// The notes that sound after these messages, by channel and key. A note-off of a note that does not
/// sound is harmless. Nobody may hear the first notes, for JACK connects the ports of a client after it
/// has begun to run.
fn sounding(messages: &[Message]) -> Vec<(u8, u8)> {
    let mut ons: BTreeMap<(u8, u8), u32> = BTreeMap::new();
    for [status, key, velocity] in messages {
        let note = (status & 0x0f, *key);
        match status & 0xf0 {
            0x90 if *velocity > 0 => *ons.entry(note).or_default() += 1,
            0x80 | 0x90 => {
                let on = ons.entry(note).or_default();
                *on = on.saturating_sub(1);
            }
            _ => {}
        }
    }
    ons.into_iter()
        .filter(|(_, on)| *on > 0)
        .map(|(note, _)| note)
        .collect()
}

/// Presses the space bar in a window and lets it go.
fn press_space(x11: &RustConnection, window: u32) {
    x11.set_input_focus(InputFocus::PARENT, window, x11rb::CURRENT_TIME)
        .unwrap();
    let (first, last) = (x11.setup().min_keycode, x11.setup().max_keycode);
    let mapping = x11.get_keyboard_mapping(first, last - first + 1).unwrap();
    let mapping = mapping.reply().unwrap();
    let mut keys = mapping
        .keysyms
        .chunks_exact(mapping.keysyms_per_keycode.into());
    let at = keys.position(|symbols| symbols.first() == Some(&SPACE));
    let code = first + u8::try_from(at.expect("a space bar")).unwrap();
    for kind in [KEY_PRESS_EVENT, KEY_RELEASE_EVENT] {
        let root = x11.setup().roots[0].root;
        x11.xtest_fake_input(kind, code, x11rb::CURRENT_TIME, root, 0, 0, 0)
            .unwrap();
    }
    x11.sync().unwrap();
}

#[test]
fn it_plays_from_the_start_stops_and_starts_again() {
    let (screen, server) = (Screen::start().unwrap(), Server::start());
    let mut program = server.program(&screen, &["--tempo", TEMPO]);
    let first = server.note_ons(0);
    let (x11, root) = looked_at(&screen);
    let window = panel(&x11, root);

    press_space(&x11, window);
    let mut before = server.heard();
    until("silence", || {
        before = server.heard();
        sounding(&before).is_empty().then_some(())
    });
    // Chords may end with their bar; then one more follows unless it has stopped.
    thread::sleep(BARS);
    let stopped = server.heard();
    thread::sleep(BARS);
    assert_eq!(server.heard(), stopped, "it has stopped");
    assert_eq!(sounding(&stopped), []);

    press_space(&x11, window);
    assert_eq!(server.note_ons(stopped.len()), first, "the first chord");

    program.signal(&["INT"]);
    let status = program.end();
    assert_eq!(status.code(), Some(0), "{status}");
    let goes = || sounding(&server.heard()).is_empty().then_some(());
    until("every note-off", goes);
}

/// Also where the server's transport stands still, and where the window is closed.
#[test]
fn every_end_ends_what_sounds() {
    let (screen, server) = (Screen::start().unwrap(), Server::start());
    let (x11, root) = looked_at(&screen);
    for how in ["INT", "TERM", "HUP", "close"] {
        let before = server.heard().len();
        let mut program = server.program(&screen, &[]);
        let window = panel(&x11, root);
        server.note_ons(before);
        until("a chord", || {
            (!sounding(&server.heard()).is_empty()).then_some(())
        });
        match how {
            "close" => crate::standalone::close(&x11, window),
            signal => program.signal(&[signal]),
        }
        let status = program.end();
        assert_eq!(status.code(), Some(0), "{how}: {status}: {}", server.said());
        until(how, || sounding(&server.heard()).is_empty().then_some(()));
    }
}

#[test]
fn it_follows_the_transport_of_the_server_if_asked_to() {
    let (screen, server) = (Screen::start().unwrap(), Server::start());
    let mut program = server.program(&screen, &["--follow-jack", "--tempo", TEMPO]);
    let (x11, root) = looked_at(&screen);
    panel(&x11, root);
    thread::sleep(BARS);
    assert_eq!(server.heard(), [] as [Message; 0], "the transport stands");
    server.transport("play");
    server.note_ons(0);
    server.transport("stop");
    until("silence", || {
        sounding(&server.heard()).is_empty().then_some(())
    });
    program.signal(&["INT"]);
    let status = program.end();
    assert_eq!(status.code(), Some(0), "{status}");
}

/// The framework would wait for a block that never comes.
#[test]
fn it_ends_after_its_server_has_gone() {
    let (screen, mut server) = (Screen::start().unwrap(), Server::start());
    let mut program = server.program(&screen, &[]);
    let (x11, root) = looked_at(&screen);
    panel(&x11, root);
    server.note_ons(0);
    server.server.signal(&["TERM"]);
    server.server.end();
    program.signal(&["INT"]);
    let status = program.end();
    assert_eq!(status.code(), Some(1), "{status}");
}

/// At another rate than the framework's usual one, which is 48 kHz.
#[test]
fn its_tone_is_in_tune_at_the_rate_of_the_server() {
    const SERVER_RATE_HZ: u32 = 44_100;
    let (screen, server) = (Screen::start().unwrap(), Server::at(SERVER_RATE_HZ));
    let mut program = server.program(&screen, &["--tempo", "30"]);
    let keys = server.note_ons(0);
    let path = env::temp_dir().join(format!("guidehand-tone-{}.wav", program.0.id()));
    let recorded = client("jack_rec")
        .args(["-d", "2", "-b", "16", "-f"])
        .arg(&path)
        .arg("guidehand:audition_1")
        .stdout(Stdio::null())
        .status();
    assert!(recorded.unwrap().success());
    let sound: Vec<f32> = hound::WavReader::open(&path)
        .unwrap()
        .samples::<i16>()
        .map(|sample| f32::from(sample.unwrap()) / 32_768.0)
        .collect();
    fs::remove_file(&path).unwrap();
    // The lines of the spectrum are those of the usual rate: a tone that is made for it lies on its key.
    let spectrum = spectrum(&sound, 0);
    let higher = 12.0 * (USUAL_RATE_HZ / f64::from(SERVER_RATE_HZ)).log2();
    for key in keys.map(f64::from) {
        let [right, wrong] = [key + higher, key].map(|key| height(&spectrum, key));
        assert!(right > 5.0 * wrong, "key {key}: {right} and {wrong}");
    }
    program.signal(&["INT"]);
    program.end();
}
