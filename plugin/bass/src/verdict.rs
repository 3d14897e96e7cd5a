//! From the scores of a hop to one note, with the chance that it is right. Imports `model`.

use crate::model::{FIRST, Scores};

/// The note with the best score.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Leader {
    /// MIDI number.
    pub(crate) note: u8,
    /// The chance of this note, 0 to 1, if there is a note at all.
    pub(crate) chance: f32,
    /// Its score. "No note" has the score 0.
    pub(crate) score: f32,
}

impl Leader {
    /// The note with the best score.
    pub(crate) fn of(scores: &Scores) -> Leader {
        let (mut note, mut best) = (FIRST, f32::MIN);
        for (number, score) in (FIRST..).zip(scores) {
            if *score > best {
                (note, best) = (number, *score);
            }
        }
        let all: f32 = scores.iter().map(|score| (score - best).exp()).sum();
        Leader {
            note,
            chance: all.recip(),
            score: best,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::NOTES;

    #[test]
    fn chances_are_shared_out() {
        let mut scores = [-40.0; NOTES];
        scores[6] = 2.0;
        scores[18] = 2.0;
        scores[20] = 2.1;
        let leader = Leader::of(&scores);
        assert_eq!(leader.note, FIRST + 20);
        assert!((leader.chance - 0.356).abs() < 0.001, "{leader:?}");
    }
}
