//! Reads held keys as a chord with its degrees, and returns other readings too. Runs on the audio
//! thread; imports `snapshot` and the theory.

use crate::engine::snapshot::Sounding;
use guidehand_theory::chord::Chord;
use guidehand_theory::key::{self, Key};
use guidehand_theory::pipeline::ChordInKey;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Voiced;
use guidehand_theory::read::{self, Context, Reading};
use guidehand_theory::tension::Tensions;
use guidehand_theory::voicing::{Position, Voicing};

/// How many other readings are kept.
pub const OTHERS: usize = 3;

/// What was heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlayedChord {
    /// The best reading, in the same form as a voicing of ours.
    pub sounding: Sounding,
    /// The next best ones.
    pub others: [Option<Chord>; OTHERS],
}

/// Reads ascending notes. None if they make no chord that has a name. The work is bounded, and nothing
/// is allocated.
#[must_use]
pub fn hear(notes: &[MidiNote], context: &Context) -> Option<PlayedChord> {
    let readings = read::read(notes, context);
    let (best, rest) = readings.split_first()?;
    let mut others = [None; OTHERS];
    for (slot, reading) in others.iter_mut().zip(rest) {
        *slot = Some(reading.chord);
    }
    let key = context.key.unwrap_or(Key::C_MAJOR);
    let sounding = Sounding {
        placed: ChordInKey::new(best.chord, key::live(&best.chord, key)),
        voiced: voiced(notes, best),
        bass: None,
        read: Some(best.reason),
    };
    Some(PlayedChord { sounding, others })
}

/// The six lowest notes as a voicing.
fn voiced(notes: &[MidiNote], reading: &Reading) -> Voiced {
    let mut voicing = Voicing::empty(reading.position.unwrap_or(Position::AsPlayed));
    for note in notes {
        let class = note.class();
        let mut degrees = reading.degrees.iter();
        if let Some(degree) = degrees.find(|d| d.class(reading.chord.root) == class) {
            // There is no room for a seventh note.
            let _fits = voicing.push(*note, degree);
        }
    }
    Voiced {
        voicing,
        tensions: Tensions {
            third: reading.chord.third(),
            seventh: reading.chord.seventh(),
            ..Tensions::default()
        },
    }
}
