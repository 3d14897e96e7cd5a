//! Which fingers move from one voicing to the next. Imports nothing of its folder.

use crate::voicing::{Voice, Voicing};

/// A finger that moves: a voice of a voicing that goes to another key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Finger {
    /// The voice, from 1 for the lowest note of the fuller of the two voicings.
    pub voice: u8,
    /// The note that it leaves. None for a finger that comes in.
    pub from: Option<Voice>,
    /// The note that it goes to. None for a finger that lifts.
    pub to: Option<Voice>,
}

impl Finger {
    /// Half steps, up or down. None for a finger that comes in or lifts.
    #[must_use]
    pub fn half_steps(&self) -> Option<i32> {
        let (from, to) = (self.from?, self.to?);
        Some(to.note.semitones() - from.note.semitones())
    }
}

/// The fingers that move from one voicing to the next, from the lowest. Voices do not cross. If
/// the voicings differ in size, the pairs that move least stay together, and the other notes
/// come in or lift.
#[must_use]
pub fn fingers(from: &Voicing, to: &Voicing) -> Vec<Finger> {
    let lifts = from.voices().len() > to.voices().len();
    let (small, large) = if lifts { (to, from) } else { (from, to) };
    let kept = kept(small, large);
    let mut small_voices = small.voices().iter().copied();
    let pairs = large.voices().iter().enumerate().map(|(i, voice)| {
        let other = (kept & 1 << i != 0).then(|| small_voices.next()).flatten();
        (i, other, *voice)
    });
    pairs
        .filter(|(_, other, voice)| other.is_none_or(|o| o.note != voice.note))
        .filter_map(|(i, other, voice)| {
            let (from, to) = if lifts {
                (Some(voice), other)
            } else {
                (other, Some(voice))
            };
            let voice = u8::try_from(i + 1).ok()?;
            Some(Finger { voice, from, to })
        })
        .collect()
}

/// The voices of the larger voicing that have a partner in the smaller one, a bit for each.
fn kept(small: &Voicing, large: &Voicing) -> u32 {
    let count = u32::try_from(small.voices().len()).unwrap_or(0);
    let moved = |mask: &u32| -> u32 {
        let chosen = large
            .notes()
            .enumerate()
            .filter(|(i, _)| mask & 1 << i != 0);
        let pairs = small.notes().zip(chosen);
        let apart = pairs.map(|(a, (_, b))| u32::from(a.number().abs_diff(b.number())));
        apart.sum()
    };
    // A voicing has six notes at most.
    (0..1 << large.voices().len())
        .filter(|mask: &u32| mask.count_ones() == count)
        .min_by_key(moved)
        .unwrap_or(0)
}
