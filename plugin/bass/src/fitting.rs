//! The view that the fitting of the model's weights has of a sound. Users of the crate do not need
//! it. Imports `ear` and `model`.

use crate::ear::Ear;
use crate::model::{self, FIRST, NOTES};

pub use crate::model::{AGE_BOUNDS_MS, AGES, FIRST as FIRST_NOTE, LEVELS, NOTES as COUNT};

/// The height of a note, counted from the lowest.
#[must_use]
pub fn height(index: usize) -> f32 {
    model::height(FIRST.saturating_add(u8::try_from(index).unwrap_or(u8::MAX)))
}

/// The levels of all notes, one after the other, at the first hop that ends at or after each of
/// these times. The times are in samples and ascend.
#[must_use]
pub fn levels(
    sound: &[f32],
    rate_hz: f32,
    at_samples: &[usize],
    shift_cents: f32,
) -> Vec<Vec<f32>> {
    let mut ear = Ear::new(rate_hz);
    let mut due = at_samples.iter().peekable();
    let mut all = Vec::new();
    for (now, sample) in sound.iter().enumerate() {
        if !ear.push(*sample) || due.peek().is_none_or(|at| **at > now) {
            continue;
        }
        ear.look();
        let levels = (FIRST..)
            .take(NOTES)
            .flat_map(|note| model::levels(ear.spectrum(), note, shift_cents))
            .collect::<Vec<f32>>();
        while due.next_if(|at| **at <= now).is_some() {
            all.push(levels.clone());
        }
    }
    all
}
