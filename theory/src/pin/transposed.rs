//! Pinned notes in another key. Imports `candidates` and `pitch`.

use crate::candidates::Register;
use crate::pitch::MidiNote;

/// Pinned notes so many half steps higher. If they lay within the register and would now leave it,
/// they lie an octave or more nearer to it, as long as that leaves less of them outside. What lay
/// outside was put there by the player, and moves by the half steps alone. Where one note would
/// leave the range of MIDI, all of them lie in the nearest octave that holds them.
///
/// None if no octave holds them.
#[must_use]
pub fn transposed(
    notes: &[MidiNote],
    half_steps: i8,
    register: &Register,
) -> Option<Vec<MidiNote>> {
    let numbers = || notes.iter().map(|note| note.semitones());
    let (lowest, highest) = (numbers().min()?, numbers().max()?);
    let by = i32::from(half_steps);
    let outside = |by: i32| {
        let below = register.lowest.semitones() - (lowest + by);
        let above = highest + by - register.highest.semitones();
        below.max(0) + above.max(0)
    };
    let held = |by: &i32| lowest + by >= 0 && highest + by <= MidiNote::MAX.semitones();
    let octaves = (-10..=10).map(|octaves| by + 12 * octaves).filter(held);
    let away = |other: i32| (other - by).abs();
    let within = outside(0) == 0;
    let best = octaves.min_by_key(|other| {
        let outside = if within { outside(*other) } else { 0 };
        (outside, away(*other))
    })?;
    let moved = numbers().map(|number| MidiNote::clamp(number + best));
    Some(moved.collect())
}
