//! Inner lines: one voice of a dominant that moves while the chord sounds, on its
//! way to the next. Imports `key`, `voicing` and what is above them.

use crate::chord::Chord;
use crate::degree::Degree::{self, Flat9, Flat13, Nine, Sharp9, Thirteen};
use crate::degree::{DegreeSet, Family};
use crate::key::Function;
use crate::pitch::MidiNote;
use crate::quality::Quality;
use crate::voicing::Voicing;

/// The stock lines, of which the first one that fits is taken: #9 to b9 and on to the next
/// chord's 5, 13 to b13 and on to its 9, and 9 to b9 (common practice, no published source).
pub(crate) const LINES: [(Degree, Degree); 3] =
    [(Sharp9, Flat9), (Thirteen, Flat13), (Nine, Flat9)];

/// The voicing that an inner line leads to, halfway through a dominant that falls a fifth. None
/// for other chords, and none if the symbol writes the tension that would have to move. The
/// work is bounded and nothing allocates.
#[must_use]
pub fn inner(chord: &Chord, function: &Function, voicing: &Voicing) -> Option<Voicing> {
    let dominant = matches!(chord.quality, Quality::Dominant | Quality::Altered);
    let falls = function.resolution.falls_a_fifth();
    if !(dominant && falls) {
        return None;
    }
    let sounding = voicing.degrees();
    let stated = chord.degrees();
    let (from, to) = LINES.into_iter().find(|(from, to)| {
        let free = !stated.contains(*from) && !family_is_written(stated, *to);
        sounding.contains(*from) && !sounding.contains(*to) && free
    })?;
    moved(voicing, from, to)
}

/// Whether the symbol itself says what sounds in a degree's family.
fn family_is_written(stated: DegreeSet, degree: Degree) -> bool {
    let family = degree.family();
    stated
        .iter()
        .any(|d| d.family() == family && family != Some(Family::Eleventh))
}

/// The voicing with one degree moved down to another. None if it would meet another voice.
fn moved(voicing: &Voicing, from: Degree, to: Degree) -> Option<Voicing> {
    let down = from.interval().semitones - to.interval().semitones;
    let mut line = Voicing::empty(voicing.position);
    line.left_hand = voicing.left_hand;
    for voice in voicing.voices() {
        let (note, degree) = if voice.degree == from {
            let note = voice.note.semitones() - i32::from(down);
            (MidiNote::clamp(note), to)
        } else {
            (voice.note, voice.degree)
        };
        if !line.push(note, degree) {
            return None;
        }
    }
    Some(line)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart;
    use crate::pipeline::{self, Taste};
    use crate::tension::{NinthRequest, TensionRequests};

    /// The line within the first chord of a chart: the degrees before and after.
    fn line(text: &str, requests: TensionRequests) -> Option<(String, String, u32)> {
        let chart = chart::parse(text).unwrap();
        let placed = pipeline::place(&chart, None)[0].unwrap();
        let taste = Taste {
            requests,
            ..Taste::default()
        };
        let voiced = pipeline::step(None, &placed, &taste);
        let line = inner(&placed.chord, &placed.function, &voiced.voicing)?;
        let degrees = |v: &Voicing| v.degrees().to_string();
        let motion = voiced.voicing.motion(&line);
        Some((degrees(&voiced.voicing), degrees(&line), motion))
    }

    /// Common practice, no published source.
    #[test]
    fn a_dominant_dresses_up_by_a_half_step() {
        let says = |text| line(text, TensionRequests::default());
        let g7 = says("| G7 | Cmaj7 | Dm7 |").unwrap();
        assert_eq!(g7, ("9 3 13 b7".into(), "9 3 b13 b7".into(), 1));
        assert_eq!(says("| G13 | Cmaj7 | Dm7 |"), None, "what is written stays");
        assert_eq!(says("| Dm7 | G7 | Cmaj7 |"), None);
        assert_eq!(says("| Db7 | Cmaj7 | Dm7 |"), None);
        let requests = TensionRequests {
            ninth: NinthRequest::Sharp9,
            ..TensionRequests::default()
        };
        let (from, to, motion) = line("| G7 | Cm7 | Fm7 |", requests).unwrap();
        assert_eq!(
            (from.as_str(), to.as_str(), motion),
            ("#9 3 b13 b7", "b9 3 b13 b7", 2)
        );
    }
}
