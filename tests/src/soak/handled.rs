//! Random sessions at the panel, from a printed seed: the pointer clicks anywhere in the chart and on the
//! page of the chord in hand, so that chords are taken, heard, dressed, kept, pinned, changed and undone,
//! while the song plays, stops and jumps and parameters move. Whatever has happened, each note ends, and
//! the saved state plays the same. Needs a display in the environment. Imports the host and its window.
//! Linux only.

use super::check;
use super::stock::{RATE_HZ, instance, one_of, random_value, set};
use crate::error::WindowError;
use crate::event::{Event, TimedEvent};
use crate::host::Host;
use crate::library::Library;
use crate::notes::PlayedNote;
use crate::session::{BlockSizes, Player, Session, render};
use crate::transport::TransportChange;
use crate::window::Window;
use fastrand::Rng;
use std::time::Duration;

/// Places in the editor at its first size, in pixels: the name of the page, what keeps a way that is
/// tried, and the left tops and right bottoms of the chart and of the page.
const PAGE: (i16, i16) = (94, 426);
const KEEP: (i16, i16) = (330, 491);
const CHART: [(i16, i16); 2] = [(490, 480), (940, 690)];
const WAYS: [(i16, i16); 2] = [(24, 545), (400, 745)];

const CLICKS: u64 = 24;
/// Between two clicks, in samples.
const BETWEEN: u64 = 24_000;
/// Longer than anything that is tried sounds, in samples.
const QUIET: u64 = 480_000;
/// The slowest frame that is drawn in software on a busy machine.
const SETTLE: Duration = Duration::from_millis(1_500);
/// What moves beside the player's hands.
const MOVED: [&str; 5] = ["Texture", "Ninth", "Bypass", "Rhythm", "Register from"];

/// Plays one session, and returns how many notes it had.
///
/// # Errors
/// If there is no display, or at the first fault.
pub fn survive(library: &Library, seed: u64) -> Result<usize, WindowError> {
    let mut rng = Rng::with_seed(seed);
    let mut host = instance(library)?;
    set(&mut host, "Chords from", 1.0)?;
    let mut window = Window::open(&mut host, Duration::ZERO)?;
    window.wait(&mut host, SETTLE)?;
    window.click(&mut host, PAGE.0, PAGE.1)?;
    let session = session(&host, &mut rng)?;
    let mut player = Player::start(&mut host, &session)?;
    for _ in 0..CLICKS {
        let (x, y) = place(&mut rng);
        window.click(player.host(), x, y)?;
        let next = player.position_samples() + rng.u64(0..2 * BETWEEN);
        player.run_until(next.min(CLICKS * BETWEEN))?;
    }
    let performance = player.finish()?;
    window.wait(&mut host, SETTLE)?;
    window.close(&mut host)?;
    check::audio(&performance)?;
    let notes = check::notes(&performance.events)?.len();
    match host.requests().wrong_thread {
        0 => {}
        calls => return Err(check::Fault::WrongThread(calls).into()),
    }
    let saved = host.save_state()?;
    let mut other = instance(library)?;
    other.load_state(&saved)?;
    if other.save_state()? != saved {
        return Err("a saved state comes back otherwise".into());
    }
    let [here, there] = [from_the_top(&mut host)?, from_the_top(&mut other)?];
    check::same("from its saved state", &there, &here)?;
    Ok(notes)
}

/// A song that plays, stops and jumps, and parameters that move, until all is quiet at the end.
fn session(host: &Host, rng: &mut Rng) -> Result<Session, WindowError> {
    let busy = CLICKS * BETWEEN;
    let mut session = Session::new(RATE_HZ, 240.0, busy + QUIET);
    session.blocks = BlockSizes::Random {
        seed: rng.u64(..),
        max_frames: one_of(&[64, 300, 1_024, 4_096], rng),
    };
    session.change(0, TransportChange::Stop);
    for _ in 0..8 {
        let change = match rng.u8(0..4) {
            0 => TransportChange::Stop,
            1 => TransportChange::Jump {
                to_beats: f64::from(rng.u8(0..60)),
            },
            _ => TransportChange::Play,
        };
        session.change(rng.u64(0..busy), change);
    }
    for _ in 0..6 {
        let param = host.param_by_name(one_of(&MOVED, rng))?;
        let value = random_value(param, rng);
        let event = Event::Param {
            id: param.id,
            value,
        };
        session
            .events
            .push(TimedEvent::new(rng.u64(0..busy), event));
    }
    session.change(busy, TransportChange::Stop);
    Ok(session)
}

/// Where the pointer clicks next.
fn place(rng: &mut Rng) -> (i16, i16) {
    let [from, to] = match rng.u8(0..6) {
        0 => return KEEP,
        1 | 2 => CHART,
        _ => WAYS,
    };
    (rng.i16(from.0..to.0), rng.i16(from.1..to.1))
}

/// The notes of the song from its start on.
fn from_the_top(host: &mut Host) -> Result<Vec<PlayedNote>, WindowError> {
    let mut session = Session::new(RATE_HZ, 240.0, 300_000);
    session.change(280_000, TransportChange::Stop);
    let performance = render(host, &session)?;
    Ok(check::notes(&performance.events)?)
}
