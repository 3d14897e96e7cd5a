//! The parts and their measurement; `panel` imports it.

use guidehand_tests::paths::{self, PLUGIN_ID};
use guidehand_tests::screen::Screen;
use guidehand_tests::window::Window;
use guidehand_tests::{Host, Player, Session, TransportChange};
use rustix::time::{ClockId, clock_gettime};
use std::env;
use std::process::Command;
use std::thread;
use std::time::{Duration, Instant};

const RATE_HZ: f64 = 48_000.0;
const TEMPO_BPM: f64 = 120.0;
/// Until the editor is in its window.
const SHOWN: Duration = Duration::from_millis(500);
/// How long a part goes on before it is measured: a window that has just opened draws more.
const BEFORE: Duration = Duration::from_secs(4);
/// How long it is measured.
const MEASURED: Duration = Duration::from_secs(20);
/// The argument that tells this program that its environment names a screen.
const ON_A_SCREEN: &str = "--on-a-screen";

/// What goes on while the panel is open.
#[derive(Clone, Copy)]
struct Part {
    name: &'static str,
    plays: bool,
    /// Parameters by name, in their own words.
    params: &'static [(&'static str, &'static str)],
}

const PARTS: [Part; 4] = [
    Part {
        name: "tone on",
        plays: true,
        params: &[("Audition tone", "On")],
    },
    Part {
        name: "tone on, in rhythm",
        plays: true,
        params: &[("Audition tone", "On"), ("Rhythm", "Charleston")],
    },
    Part {
        name: "tone off",
        plays: true,
        params: &[("Audition tone", "Off")],
    },
    Part {
        name: "at rest",
        plays: false,
        params: &[],
    },
];

/// What a part has taken.
struct Taken {
    /// Of a core.
    share: f64,
    frames_per_second: f64,
}

/// Measures the parts that are asked for. Windows need a process whose environment names the
/// screen, so this program runs itself again.
pub fn main() {
    let arguments: Vec<String> = env::args().skip(1).collect();
    let words: Vec<&String> = arguments.iter().filter(|a| !a.starts_with("--")).collect();
    let chosen = |part: &Part| words.is_empty() || words.iter().any(|w| part.name.contains(*w));
    let parts: Vec<Part> = PARTS.into_iter().filter(chosen).collect();
    if arguments.iter().any(|argument| argument == ON_A_SCREEN) {
        return measure(&parts);
    }
    if parts.is_empty() {
        return;
    }
    let screen = Screen::start().expect("a virtual screen: is Xvfb installed?");
    let status = Command::new(env::current_exe().expect("this program has a file"))
        .args(&arguments)
        .arg(ON_A_SCREEN)
        .envs(screen.variables())
        .status()
        .expect("this program runs");
    assert!(status.success(), "{status}");
}

fn measure(parts: &[Part]) {
    println!("panel                 open      closed      the panel alone      frames a second");
    for part in parts {
        let (open, closed) = (part.taken(true), part.taken(false));
        println!(
            "{:<18} {:>6.2} %    {:>6.2} %             {:>6.2} % {:>20.1}",
            part.name,
            100.0 * open.share,
            100.0 * closed.share,
            100.0 * (open.share - closed.share),
            open.frames_per_second,
        );
    }
}

impl Part {
    /// Plays the part with the panel open or closed.
    fn taken(self, open: bool) -> Taken {
        let mut host = Host::open(&paths::plugin_path(), PLUGIN_ID).expect("the plugin loads");
        for (name, words) in [("Chords from", "Chart")].iter().chain(self.params) {
            let id = host.param_by_name(name).unwrap().id;
            let value = host.text_to_value(id, words).unwrap();
            host.set_param(id, value).unwrap();
        }
        let mut session = Session::new(RATE_HZ, TEMPO_BPM, u64::MAX);
        if !self.plays {
            session.change(0, TransportChange::Stop);
        }
        let samples = |time: Duration| session.samples_at(time.as_secs_f64() * TEMPO_BPM / 60.0);
        let mut window = open.then(|| {
            let mut window = Window::open(&mut host, Duration::ZERO).expect("the editor opens");
            window.wait(&mut host, SHOWN).unwrap();
            window.watch().unwrap();
            window
        });
        let mut player = Player::start(&mut host, &session).unwrap();
        // Plays on, and tells how often the editor has been drawn.
        let mut play = |until: Duration| {
            if let Some(window) = &mut window {
                window.play(&mut player, samples(until), RATE_HZ).unwrap();
                return window.drawings();
            }
            play_unseen(&mut player, samples(until));
            0
        };
        let drawn = play(BEFORE);
        let (begun, used) = (Instant::now(), processor_time());
        let drawn = play(BEFORE + MEASURED) - drawn;
        let (passed, used) = (begun.elapsed().as_secs_f64(), processor_time() - used);
        drop(player);
        if let Some(window) = window {
            window.close(&mut host).unwrap();
        }
        let drawn = f64::from(u32::try_from(drawn).unwrap());
        Taken {
            share: used.as_secs_f64() / passed,
            frames_per_second: drawn / passed,
        }
    }
}

/// Plays up to a sample at its own speed, without a window, and does what the host of a window
/// does between blocks just as often.
fn play_unseen(player: &mut Player, until_samples: u64) {
    const STEP_SAMPLES: u64 = 512;
    const PUMP: Duration = Duration::from_millis(5);
    let step = Duration::from_secs_f64(512.0 / RATE_HZ);
    let mut due = Instant::now();
    while player.position_samples() < until_samples {
        let next = player.position_samples() + STEP_SAMPLES;
        player.run_until(next.min(until_samples)).unwrap();
        due += step;
        loop {
            player.host().idle().unwrap();
            let left = due.saturating_duration_since(Instant::now());
            if left.is_zero() {
                break;
            }
            thread::sleep(left.min(PUMP));
        }
    }
}

/// What all threads of the process have used of the processor so far.
fn processor_time() -> Duration {
    let time = clock_gettime(ClockId::ProcessCPUTime);
    let seconds = time.tv_sec.try_into().expect("a clock that counts up");
    let nanoseconds = time.tv_nsec.try_into().expect("a part of a second");
    Duration::new(seconds, nanoseconds)
}
