//! From the scores of windows to one note, with the lead that it has. Imports `bank`.

use crate::bank::{PITCHES, Scores, number};

/// The lowest note that a score is kept for: one below the lowest that is reported, so that what
/// lies below the range is not taken for its end.
const FIRST: u8 = 22;
/// As many notes are kept.
const NOTES: usize = 47;

/// The note that leads.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Leader {
    /// MIDI number.
    pub(crate) note: u8,
    /// Its score, for one window; 0 is noise.
    pub(crate) score: f32,
    /// How far it is ahead of the next.
    pub(crate) lead: f32,
}

/// Scores of notes over the last windows, the older the lighter.
#[derive(Clone, Debug)]
pub(crate) struct Verdict {
    sums: [f32; NOTES],
    weight: f32,
}

impl Verdict {
    pub(crate) fn new() -> Verdict {
        Verdict {
            sums: [0.0; NOTES],
            weight: 0.0,
        }
    }

    /// Keeps `part`, 0 to 1, of what was gathered.
    pub(crate) fn fade(&mut self, part: f32) {
        self.sums.iter_mut().for_each(|s| *s *= part);
        self.weight *= part;
    }

    /// Adds the scores of a window; a note has the score of its best pitch.
    pub(crate) fn add(&mut self, scores: &Scores, shift_cents: f32) {
        let mut best = [f32::MIN; NOTES];
        for (index, score) in scores.iter().enumerate() {
            let slot = slot_of(index, shift_cents).and_then(|s| best.get_mut(s));
            if let Some(slot) = slot {
                *slot = slot.max(*score);
            }
        }
        for (sum, score) in self.sums.iter_mut().zip(best) {
            *sum += score;
        }
        self.weight += 1.0;
    }

    /// The note ahead, if anything was added.
    pub(crate) fn leader(&self) -> Option<Leader> {
        if self.weight <= 0.0 {
            return None;
        }
        let mut first = (FIRST, f32::MIN);
        let mut second = f32::MIN;
        for (note, sum) in (FIRST..).zip(self.sums) {
            if sum > first.1 {
                second = first.1;
                first = (note, sum);
            } else if sum > second {
                second = sum;
            }
        }
        Some(Leader {
            note: first.0,
            score: first.1 / self.weight,
            lead: (first.1 - second) / self.weight,
        })
    }

    /// The score of a note, for one window.
    pub(crate) fn score(&self, note: u8) -> Option<f32> {
        let slot = usize::from(note.checked_sub(FIRST)?);
        Some(self.sums.get(slot)? / self.weight)
    }
}

/// The pitch that scores best within a note, in cents from where the reference has the note.
pub(crate) fn cents_within(note: u8, scores: &Scores, shift_cents: f32) -> f32 {
    let slot = usize::from(note.saturating_sub(FIRST));
    let mut best: Option<(usize, f32)> = None;
    for (index, score) in scores.iter().enumerate() {
        if slot_of(index, shift_cents) == Some(slot) && best.is_none_or(|(_, b)| *score > b) {
            best = Some((index, *score));
        }
    }
    let Some((index, middle)) = best else {
        return 0.0;
    };
    let at = |i: Option<usize>| i.and_then(|i| scores.get(i)).copied().unwrap_or(middle);
    let (below, above) = (at(index.checked_sub(1)), at(index.checked_add(1)));
    let bend = below - 2.0 * middle + above;
    let steps = if bend < 0.0 {
        (0.5 * (below - above) / bend).clamp(-0.5, 0.5)
    } else {
        0.0
    };
    let cents = cents_above_440(index) + steps * 100.0 / STEPS - shift_cents;
    cents - 100.0 * f32::from(note)
}

const STEPS: f32 = 3.0;

#[expect(clippy::cast_possible_truncation, reason = "a few thousand cents")]
fn cents_above_440(index: usize) -> f32 {
    (100.0 * number(index)) as f32
}

/// The note that a pitch belongs to.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a negative number is cut to the first note and a large one found nowhere"
)]
fn slot_of(index: usize, shift_cents: f32) -> Option<usize> {
    debug_assert!(index < PITCHES);
    let above = (cents_above_440(index) - shift_cents) / 100.0 - f32::from(FIRST);
    (above >= -0.5).then_some((above + 0.5) as usize)
}
