//! Reads what the player plays: held keys to a chord with its degrees, and the
//! runners-up. Imports `snapshot` and the theory.

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
pub struct Heard {
    /// The best reading, as if it were a voicing of ours.
    pub sounding: Sounding,
    /// The next best ones.
    pub others: [Option<Chord>; OTHERS],
}

/// Reads ascending notes; none where they make no chord that has a name.
/// Bounded, without allocation.
#[must_use]
pub fn hear(notes: &[MidiNote], context: &Context) -> Option<Heard> {
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
    Some(Heard { sounding, others })
}

/// The notes as a voicing, the six lowest of them.
fn voiced(notes: &[MidiNote], reading: &Reading) -> Voiced {
    let mut voicing = Voicing::empty(reading.position.unwrap_or(Position::AsPlayed));
    for note in notes {
        let class = note.class();
        let mut degrees = reading.degrees.iter();
        if let Some(degree) = degrees.find(|d| d.class(reading.chord.root) == class) {
            // Notes past the sixth have no room.
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
