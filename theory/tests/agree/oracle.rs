//! What clashes with a melody, said a second time in the plainest way: by semitones above the root.
//! Common practice, no published source.

use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree;
use guidehand_theory::degree::Degree::{
    DoubleFlat7, Five, Flat3, Flat5, Flat7, Flat13, Four, Nine, Root, Seven, Sharp5, Sharp9,
    Sharp11, Six, Thirteen, Three, Two,
};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Voiced;
use guidehand_theory::quality::Quality;
use guidehand_theory::voicing::{Voice, Voicing};

/// The degrees that name a chord.
pub fn is_guide(degree: Degree) -> bool {
    [Two, Flat3, Three, Four, Six, DoubleFlat7, Flat7, Seven].contains(&degree)
}

/// Whether a degree of a voicing is a guide tone: it names the chord, or stands in the place of its
/// third or seventh, as in chords that have none.
pub fn stands(voiced: &Voiced, degree: Degree) -> bool {
    let slots = [voiced.tensions.third, voiced.tensions.seventh];
    is_guide(degree) || slots.contains(&Some(degree))
}

/// Whether a note so many semitones above the root speaks against a degree that is no guide tone.
pub fn clashes(chord: &Chord, degree: Degree, melody: u8) -> bool {
    let place = u8::try_from(degree.interval().semitones).unwrap();
    let half_step_below = (place + 1) % 12 == melody;
    let flat_nine_over_dominant = degree == Root && chord.quality.is_dominant();
    let altered = chord.quality == Quality::Altered;
    let written = chord.degrees().contains(degree) || altered;
    let of_one_kind = match (degree, melody) {
        // b9 over 9, 9 over #9, 11 and #11, #11 and 5, 5 and b13, b13 and 13.
        (Nine, 1) | (Sharp9, 2) | (Sharp11, 5) | (Five, 6) | (Thirteen, 8) => true,
        (Flat5, 5) => !chord.quality.is_minor(),
        (Sharp5 | Flat13, 7) => !written,
        _ => false,
    };
    half_step_below && !flat_nine_over_dominant || of_one_kind
}

/// The voices of a voicing that clash with a note.
pub fn clashing(voicing: &Voicing, chord: &Chord, melody: MidiNote) -> Vec<Voice> {
    let clash = |voice: &&Voice| {
        let gap = melody.semitones() - voice.note.semitones();
        let ninth = [13, 25, 37, 49, 61, 73, 85].contains(&gap);
        let flat_nine = voice.degree == Root && chord.quality.is_dominant();
        let above_root = melody.class().above(chord.root.class());
        matches!(gap, 1 | -1)
            || ninth && !flat_nine
            || !is_guide(voice.degree) && clashes(chord, voice.degree, above_root)
    };
    voicing.voices().iter().filter(clash).copied().collect()
}
