//! Random sessions of an editor's size, from a printed seed: the player drags the corner, the host
//! resizes its window, a state with another size or zoom is loaded, and the host answers in one of the
//! manners of [`Resizing`]. Whatever has happened, nothing is cut once all is at rest. Needs a display
//! in the environment. Imports the raw host and its window. Linux only.

use super::stock::one_of;
use crate::error::WindowError;
use crate::library::Library;
use crate::parent::OnScreen;
use crate::paths::PLUGIN_ID;
use crate::raw::stream::{self, Manner};
use crate::raw::window::InstanceOnScreen;
use crate::raw::{Instance, Knows};
use crate::resizing::{Resizing, Size};
use crate::state;
use fastrand::Rng;
use std::ffi::CString;
use std::time::Duration;

/// What happens in a session.
const STEPS: usize = 6;

/// Longer than the panel waits for a host to answer, and than its frames take.
const AT_REST: Duration = Duration::from_millis(4_500);

/// How far from the corner the grip is taken, in pixels.
const GRIP: u32 = 6;

/// Plays one session, and returns how often the size was another one after a step.
///
/// # Errors
/// If there is no display, the plugin refuses, or something is cut.
pub fn survive(library: &Library, seed: u64) -> Result<usize, WindowError> {
    let mut rng = Rng::with_seed(seed);
    let manner = one_of(&Resizing::ALL, &mut rng);
    let id = CString::new(PLUGIN_ID)?;
    let instance = Instance::new(library, &id, Knows::All).ok_or("the plugin does not start")?;
    let mut shown = InstanceOnScreen::open(instance, manner)?;
    shown.wait(AT_REST)?;
    let mut before = whole(&mut shown).map_err(|cut| format!("{manner:?}, opened: {cut}"))?;
    let (mut changes, mut done) = (0, Vec::new());
    for _ in 0..STEPS {
        done.push(step(&mut shown, before, &mut rng)?);
        shown.wait(AT_REST)?;
        let size = whole(&mut shown).map_err(|cut| format!("{manner:?}, {done:?}: {cut}"))?;
        changes += usize::from(size != before);
        before = size;
    }
    shown.close()?;
    Ok(changes)
}

/// One thing that happens, in words.
fn step(
    shown: &mut InstanceOnScreen,
    (width, height): Size,
    rng: &mut Rng,
) -> Result<String, WindowError> {
    match rng.u8(0..4) {
        0 => {
            let [x, y] = [width, height].map(|side| i16::try_from(side - GRIP));
            let (x, y) = (x?, y?);
            let to = (x + rng.i16(-150..=150), y + rng.i16(-150..=150));
            shown.drag((x, y), to)?;
            Ok(format!("the corner dragged to {to:?}"))
        }
        1 => {
            let size = (rng.u32(600..=1_200), rng.u32(500..=1_000));
            shown.resize(size)?;
            Ok(format!("the host's window of {size:?}"))
        }
        2 => {
            let zoom = one_of(&[0.75, 1.0, 1.25, 1.5, 2.0], rng);
            let [wide, high] = [rng.u32(840..=1_200), rng.u32(704..=950)].map(f64::from);
            let panel = serde_json::json!({"width": wide, "height": high, "zoom": zoom});
            let saved = stream::save(&shown.instance, Manner::WHOLE).ok_or("no state")?;
            let saved = state::with_field(&saved, "panel", &panel);
            if !stream::load(&shown.instance, &saved, Manner::WHOLE) {
                return Err("the state is refused".into());
            }
            Ok(format!("a state of {wide} x {high} at {zoom}"))
        }
        _ => {
            shown.open_again()?;
            Ok("opened again".to_owned())
        }
    }
}

/// The size of the window, if the editor has the same and tells it.
fn whole(shown: &mut InstanceOnScreen) -> Result<Size, WindowError> {
    let window = shown.parent().size()?;
    let editor = shown.parent().editor_size()?;
    let told = shown.told_size()?;
    if editor == window && told == window {
        return Ok(window);
    }
    Err(format!("a window of {window:?}, an editor of {editor:?}, and {told:?} is told").into())
}
