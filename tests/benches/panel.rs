//! What the open panel costs: processor time of the whole process over the time that passes, with
//! the real editor on a virtual screen, drawn in software. A chart plays at its own speed with the
//! audition tone on and with it off, then nothing moves. Each is played with the panel closed as
//! well: what is left is the panel's. Words on the command line choose the parts whose names
//! contain one of them. Linux only.
//!
//! Figures are processor time, so that other work on the machine hardly changes them. The process
//! counts with all its threads, Mesa's too; the screen's server is another process.

fn main() {
    #[cfg(target_os = "linux")]
    linux::main();
    #[cfg(not(target_os = "linux"))]
    println!("the panel is measured on Linux only");
}

#[cfg(target_os = "linux")]
mod linux {
    use guidehand_tests::Host;
    use guidehand_tests::paths::{self, PLUGIN_ID};
    use guidehand_tests::screen::Screen;
    use guidehand_tests::session::{Player, Session};
    use guidehand_tests::transport::TransportChange;
    use guidehand_tests::window::Window;
    use rustix::time::{ClockId, clock_gettime};
    use std::env;
    use std::process::Command;
    use std::thread;
    use std::time::{Duration, Instant};

    const RATE_HZ: f64 = 48_000.0;
    const TEMPO_BPM: f64 = 120.0;
    /// How long each part is measured.
    const MEASURED: Duration = Duration::from_secs(20);
    /// How long it goes on before that: a window that has just opened draws more, and the tip of a
    /// start dies away.
    const BEFORE: Duration = Duration::from_secs(4);

    /// Until the editor is in its window.
    const SHOWN: Duration = Duration::from_millis(500);

    /// What goes on while the panel is open.
    #[derive(Clone, Copy)]
    struct Part {
        name: &'static str,
        plays: bool,
        params: &'static [(&'static str, &'static str)],
    }

    const PARTS: [Part; 4] = [
        Part {
            name: "tone on",
            plays: true,
            params: &[("Audition tone", "On")],
        },
        Part {
            name: "tone on, swing",
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

    /// Tells this program that the environment names a screen.
    const ON_A_SCREEN: &str = "--on-a-screen";

    pub fn main() {
        let arguments: Vec<String> = env::args().skip(1).collect();
        if arguments.iter().any(|word| word == ON_A_SCREEN) {
            return measure(&arguments);
        }
        let screen = Screen::start().expect("a virtual screen: is Xvfb installed?");
        let status = Command::new(env::current_exe().expect("this program has a file"))
            .args(arguments)
            .arg(ON_A_SCREEN)
            .envs(screen.variables())
            .status()
            .expect("this program runs");
        assert!(status.success(), "{status}");
    }

    fn measure(arguments: &[String]) {
        let words: Vec<&String> = arguments
            .iter()
            .filter(|word| !word.starts_with("--"))
            .collect();
        println!(
            "                   frames a second   panel open   closed   the panel's share of a core"
        );
        for part in PARTS {
            if !words.is_empty() && !words.iter().any(|word| part.name.contains(word.as_str())) {
                continue;
            }
            let (open, frames) = part.share(true);
            let (closed, _) = part.share(false);
            println!(
                "{:<20} {:>13.1} {:>10.2} % {:>6.2} % {:>10.2} %",
                part.name,
                frames,
                100.0 * open,
                100.0 * closed,
                100.0 * (open - closed),
            );
        }
    }

    impl Part {
        /// The share of a core that the process takes, and frames a second.
        fn share(self, open: bool) -> (f64, f64) {
            let mut host = Host::open(&paths::plugin_path(), PLUGIN_ID).expect("the plugin loads");
            let params = [("Chords from", "Chart")];
            for (name, words) in params.iter().chain(self.params) {
                let id = host.param_by_name(name).unwrap().id;
                let value = host.text_to_value(id, words).unwrap();
                host.set_param(id, value).unwrap();
            }
            let mut session = Session::new(RATE_HZ, TEMPO_BPM, u64::MAX);
            if !self.plays {
                session.change(0, TransportChange::Stop);
            }
            let samples =
                |time: Duration| session.samples_at(time.as_secs_f64() * TEMPO_BPM / 60.0);
            let mut window = open.then(|| {
                let mut window = Window::open(&mut host, Duration::ZERO).expect("the editor opens");
                window.wait(&mut host, SHOWN).unwrap();
                window.watch().unwrap();
                window
            });
            let mut player = Player::start(&mut host, &session).unwrap();
            let mut play = |until: Duration| match &mut window {
                Some(window) => {
                    window.play(&mut player, samples(until), RATE_HZ).unwrap();
                    window.drawings()
                }
                None => {
                    play_unseen(&mut player, samples(until));
                    0
                }
            };
            let drawn = play(BEFORE);
            let (begun, used) = (Instant::now(), cpu_time());
            let drawn = play(BEFORE + MEASURED) - drawn;
            let (passed, used) = (begun.elapsed().as_secs_f64(), cpu_time() - used);
            drop(player);
            if let Some(window) = window {
                window.close(&mut host).unwrap();
            }
            let drawn = f64::from(u32::try_from(drawn).unwrap());
            (used.as_secs_f64() / passed, drawn / passed)
        }
    }

    /// Plays up to a sample at its own speed, without a window.
    fn play_unseen(player: &mut Player, until_samples: u64) {
        const STEP_SAMPLES: u64 = 512;
        let mut due = Instant::now();
        while player.position_samples() < until_samples {
            let next = player.position_samples() + STEP_SAMPLES;
            player.run_until(next.min(until_samples)).unwrap();
            due += Duration::from_secs_f64(512.0 / RATE_HZ);
            thread::sleep(due.saturating_duration_since(Instant::now()));
        }
    }

    /// What the process has used of the processor so far, in all its threads.
    fn cpu_time() -> Duration {
        let time = clock_gettime(ClockId::ProcessCPUTime);
        Duration::new(
            time.tv_sec.try_into().unwrap(),
            time.tv_nsec.try_into().unwrap(),
        )
    }
}
