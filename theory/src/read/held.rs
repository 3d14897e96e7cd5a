//! Notes over a chord that is known: by what degrees they go, and whether the chord can hold them.
//! Imports `palette`, `chord`, `slash` and `voicing`.

use super::palette::PALETTES;
use crate::chord::Chord;
use crate::degree::Degree::{
    self, Eleven, Five, Flat3, Flat5, Flat7, Flat9, Flat13, Nine, Root, Seven, Sharp5, Sharp9,
    Sharp11, Six, Thirteen, Three,
};
use crate::degree::DegreeSet;
use crate::pitch::MidiNote;
use crate::quality::Quality;
use crate::voicing::{Position, Voicing};

/// Notes as a voicing of a chord: each by its degree over the chord's root, whether or not the
/// chord can hold it. A degree that the symbol states keeps its name. The notes ascend. Those that
/// do not, and those for which a voicing has no room, are left out.
#[must_use]
pub fn lay(chord: &Chord, notes: &[MidiNote]) -> Voicing {
    let mut voicing = Voicing::empty(Position::AsPlayed);
    for note in notes {
        voicing.push(*note, degree(chord, *note));
    }
    let lowest = voicing.voices().first().map(|voice| voice.degree);
    let close = voicing.span() < 12;
    voicing.position = match lowest {
        Some(degree) if close && Some(degree) == chord.third() => Position::Third,
        Some(degree) if close && Some(degree) == chord.seventh() => Position::Seventh,
        _ => Position::AsPlayed,
    };
    voicing
}

/// Whether a chord can hold these notes: each of them is a note of the chord or a tension that is
/// played over it, and none of them contradicts the symbol, as a natural ninth does over `G7b9`.
#[must_use]
pub fn holds(chord: &Chord, notes: &[MidiNote]) -> bool {
    let stated = chord.degrees();
    let degrees: DegreeSet = notes.iter().map(|note| degree(chord, *note)).collect();
    let added = degrees.minus(stated);
    if added.iter().any(|degree| contradicts(chord, degree)) {
        return false;
    }
    let of_its_kind = PALETTES
        .iter()
        .filter(|p| p.quality == chord.quality || p.dresses(chord.quality));
    let mut held = of_its_kind.map(|palette| {
        let semitones = |degree: Degree| u8::try_from(degree.interval().semitones).unwrap_or(0);
        added
            .iter()
            .all(|degree| palette.degree(semitones(degree)).is_some())
    });
    added.is_empty() || held.any(|all| all)
}

/// Whether a degree that the symbol does not state speaks against what it states.
fn contradicts(chord: &Chord, degree: Degree) -> bool {
    let stated = chord.degrees();
    if chord.omitted.contains(degree) {
        return true;
    }
    // `alt` has no natural fifth, ninth or thirteenth.
    if chord.quality == Quality::Altered && matches!(degree, Five | Nine | Thirteen) {
        return true;
    }
    if degree == Five && stated.intersects(DegreeSet::of(&[Flat5, Sharp5])) {
        return true;
    }
    // The raised fifth of a dominant lies where its b13 does.
    if degree == Thirteen && chord.quality.is_dominant() && stated.contains(Sharp5) {
        return true;
    }
    let Some(family) = degree.family() else {
        return false;
    };
    let mut of_family = stated.iter().filter(|d| d.family() == Some(family));
    of_family.any(|d| d.is_altered() != degree.is_altered())
}

/// The degree of a note over a chord.
fn degree(chord: &Chord, note: MidiNote) -> Degree {
    let interval = note.class().above(chord.root.class());
    let semitones = |degree: Degree| u8::try_from(degree.interval().semitones) == Ok(interval);
    let stated = chord.degrees().iter().find(|degree| semitones(*degree));
    stated.unwrap_or_else(|| usual(chord, interval))
}

/// The usual name of an interval that the symbol does not state.
fn usual(chord: &Chord, interval: u8) -> Degree {
    let triad = chord.seventh().is_none_or(|seventh| seventh == Six);
    match interval {
        0 => Root,
        1 => Flat9,
        2 => Nine,
        3 if chord.third() == Some(Three) || chord.quality.is_dominant() => Sharp9,
        3 => Flat3,
        4 => Three,
        5 => Eleven,
        6 => Sharp11,
        7 => Five,
        8 if chord.quality == Quality::MajorSeventh => Sharp5,
        8 => Flat13,
        9 if triad => Six,
        9 => Thirteen,
        10 => Flat7,
        _ => Seven,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::symbol;

    fn notes(keys: &[u8]) -> Vec<MidiNote> {
        keys.iter().filter_map(|key| MidiNote::new(*key)).collect()
    }

    /// Common practice, no published source.
    #[test]
    fn notes_go_by_the_degrees_of_their_chord() {
        for (word, keys, names, position) in [
            ("G7", [53, 57, 59, 64], "b7 9 3 13", Position::Seventh),
            ("G7", [53, 56, 59, 63], "b7 b9 3 b13", Position::Seventh),
            ("Db7", [53, 57, 59, 64], "3 b13 b7 #9", Position::Third),
            ("Dm7", [53, 57, 60, 64], "b3 5 b7 9", Position::Third),
            ("G7#5", [53, 57, 59, 63], "b7 9 3 #5", Position::Seventh),
            ("Cmaj7", [52, 56, 59, 62], "3 #5 7 9", Position::Third),
            ("C6", [52, 55, 57, 62], "3 5 6 9", Position::Third),
            ("Bdim7", [50, 53, 56, 59], "b3 b5 bb7 1", Position::Third),
            ("F/G", [53, 57, 60, 64], "b7 9 4 13", Position::Seventh),
            ("Dm7", [50, 57, 60, 77], "1 5 b7 b3", Position::AsPlayed),
        ] {
            let chord = crate::slash::meant(&symbol::parse(word).unwrap());
            let voicing = lay(&chord, &notes(&keys));
            let found: Vec<&str> = voicing.voices().iter().map(|v| v.degree.name()).collect();
            assert_eq!(found.join(" "), names, "{word}");
            assert_eq!(voicing.position, position, "{word}");
            let sounds: Vec<u8> = voicing.notes().map(MidiNote::number).collect();
            assert_eq!(sounds, keys, "{word}");
        }
    }

    /// Common practice, no published source.
    #[test]
    fn a_chord_holds_what_agrees_with_its_symbol() {
        let g13 = [53, 57, 59, 64];
        let altered = [53, 56, 59, 63];
        for (word, keys, holds_it) in [
            ("G7", g13, true),
            ("G9", g13, true),
            ("G13", g13, true),
            ("G7(13)", g13, true),
            ("G7b9", g13, false),
            ("G7#5", g13, false),
            ("G7alt", g13, false),
            ("Gm7", g13, false),
            ("Gmaj7", g13, false),
            ("G7sus4", g13, false),
            // The tritone substitute has the same guide tones.
            ("Db7", g13, true),
            ("Db7", altered, true),
            ("G7b9", altered, true),
            ("G7alt", altered, true),
            ("G13", altered, false),
            ("G9", altered, false),
            ("Dm7", [53, 57, 60, 64], true),
            ("Fmaj7", [53, 57, 60, 64], true),
            ("F", [53, 57, 60, 64], true),
            ("F6", [53, 57, 60, 64], false),
            ("Dm7b5", [53, 57, 60, 64], false),
            ("D7", [53, 57, 60, 64], true),
            ("D7", [53, 57, 60, 66], true),
            ("Dmaj7", [53, 57, 60, 64], false),
        ] {
            let chord = symbol::parse(word).unwrap();
            assert_eq!(holds(&chord, &notes(&keys)), holds_it, "{word} {keys:?}");
        }
    }
}
