//! Which keys the keyboard shows. Pure; the panel's thread. The keyboard and the scale
//! import it.

use crate::engine::settings::Settings;
use guidehand_theory::pipeline::LOWEST_BASS;
use std::ops::RangeInclusive;

/// Few melodies lie above this key, C6.
const MELODIES_TO: u8 = 84;

/// The keys that the keyboard shows: the register and a bit beyond both ends,
/// from white key to white key; down to the bass where one is wanted. It depends
/// on the settings, so that keys keep their places while chords change; only a
/// note that would lie outside makes it grow.
#[must_use]
pub fn keyboard(settings: &Settings, notes: &[u8]) -> RangeInclusive<u8> {
    let register = settings.taste.register;
    let headroom = settings.taste.texture.headroom();
    let mut from = register.lowest.number().saturating_sub(5);
    if settings.bass_channel.is_some() {
        from = from.min(LOWEST_BASS.number());
    }
    let to = (register.highest.number() + headroom)
        .saturating_add(5)
        .min(127);
    around(from..=with_melody(to, settings), notes)
}

/// The keys that a keyboard shows which has little room: the register, and the notes outside it.
#[must_use]
pub fn keyboard_alone(settings: &Settings, notes: &[u8]) -> RangeInclusive<u8> {
    let register = settings.taste.register;
    let to = with_melody(register.highest.number(), settings);
    around(register.lowest.number()..=to, notes)
}

/// The highest key that is shown where melodies are marked on the keys.
fn with_melody(to: u8, settings: &Settings) -> u8 {
    if settings.hears_keys() {
        to.max(MELODIES_TO)
    } else {
        to
    }
}

/// A range that holds these notes too, from white key to white key.
fn around(range: RangeInclusive<u8>, notes: &[u8]) -> RangeInclusive<u8> {
    let (from, to) = range.into_inner();
    let from = notes.iter().fold(from, |from, note| from.min(*note));
    let to = notes.iter().fold(to, |to, note| to.max(*note));
    let white = |note: &u8| !is_black(*note);
    let from = (0..=from).rev().find(white).unwrap_or(0);
    let to = (to..=127).find(white).unwrap_or(127);
    from..=to
}

/// Whether a MIDI note is a black key.
#[must_use]
pub const fn is_black(note: u8) -> bool {
    matches!(note % 12, 1 | 3 | 6 | 8 | 10)
}
