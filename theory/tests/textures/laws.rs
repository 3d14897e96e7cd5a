//! Rules that no voicing breaks, whatever the chord, tensions, root, texture, register
//! and hand.

use super::{choices, chords, names, register};
use guidehand_theory::candidates::{self, Edges, Hand, Register};
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree::{
    self, Eleven, Flat5, Flat9, Nine, Root, Sharp5, Thirteen, Three,
};
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::quality::Extent;
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::Tensions;
use guidehand_theory::voicing::{Position, Voicing};

/// How much a symbol wants a degree: 0 for a written alteration, 1 for a written
/// natural, 2 for what it leaves open.
fn wanted(chord: &Chord, degree: Degree) -> u8 {
    let by_extent = match chord.extent {
        Extent::Plain => None,
        Extent::Ninth => Some(Nine),
        Extent::Eleventh => Some(Eleven),
        Extent::Thirteenth => Some(Thirteen),
    };
    let fifths = DegreeSet::of(&[Flat5, Sharp5]).intersection(chord.degrees());
    let altered = fifths.union(chord.written);
    if altered.contains(degree) && degree.is_altered() {
        0
    } else if chord.written.contains(degree) || by_extent == Some(degree) {
        1
    } else {
        2
    }
}

/// The registers of the laws: the usual one, soft and hard, and the ends of what
/// the parameters reach, for several hands.
fn registers() -> Vec<Register> {
    let (usual, narrow, wide) = (Hand::DEFAULT, Hand::new(12, 12), Hand::new(17, 17));
    [
        (50, 69, Edges::Soft, usual),
        (50, 69, Edges::Hard, narrow),
        (50, 69, Edges::Soft, wide),
        (36, 60, Edges::Soft, narrow),
        (36, 96, Edges::Hard, usual),
        (60, 79, Edges::Soft, usual),
    ]
    .into_iter()
    .map(|(low, high, edges, hand)| Register {
        edges,
        hand,
        ..register(low, high)
    })
    .collect()
}

/// What a voicing breaks, in words.
fn broken(v: &Voicing, chord: &Chord, tensions: &Tensions, register: Register) -> Option<String> {
    let degrees = v.degrees();
    let notes: Vec<i32> = v.notes().map(MidiNote::semitones).collect();
    let gaps = notes.windows(2).map(|w| w[1] - w[0]);
    let span = |hand: &[i32]| hand.last().map_or(0, |top| top - hand[0]);
    let (left, right) = notes.split_at(usize::from(v.left_hand));
    let widest = i32::from(register.hand.at_most);
    if left.is_empty() || span(left) > widest || span(right) > widest {
        return Some(format!("hands span {} and {}", span(left), span(right)));
    }
    if !notes.is_sorted_by(|a, b| a < b) {
        return Some("not ascending".into());
    }
    if degrees.contains(Root) && degrees.contains(Flat9) {
        return Some("a root against a b9".into());
    }
    if degrees.contains(Three) && degrees.contains(Eleven) {
        return Some("a third against an 11".into());
    }
    if v.position == Position::Fourths && gaps.clone().any(|gap| gap != 5 && gap != 6) {
        return Some("no fourths".into());
    }
    if let Some(name) = v
        .voices()
        .iter()
        .find(|voice| voice.degree.class(chord.root) != voice.note.class())
    {
        return Some(format!("{name:?} is not what it is called"));
    }
    // A written 11 takes the place of a major third.
    let yields = tensions.third == Some(Three) && degrees.contains(Eleven);
    let third = if yields { Some(Eleven) } else { tensions.third };
    let guides: DegreeSet = [third, tensions.seventh].into_iter().flatten().collect();
    if !guides.minus(degrees).is_empty() {
        return Some("a guide tone is missing".into());
    }
    let missing = tensions.others.iter().filter(|d| !degrees.contains(**d));
    let missing = missing.map(|d| wanted(chord, *d)).min().unwrap_or(2);
    let present = degrees.minus(guides).iter().map(|d| wanted(chord, d));
    if missing < 2 && present.max().is_some_and(|worst| worst > missing) {
        return Some("something unwritten before something written".into());
    }
    None
}

/// No chord, choice of tensions, texture, root, register and hand gives a voicing
/// that breaks a rule, and each gives at least one. Common practice, no published
/// source.
#[test]
fn no_voicing_breaks_a_law() {
    let mut count = 0u32;
    for (text, chord) in chords() {
        for tensions in choices(&chord) {
            for fifths in -6..=5 {
                let chord = chord.transposed(fifths);
                for register in registers() {
                    for texture in Texture::ALL {
                        let mut any = false;
                        for v in candidates::of(&chord, &tensions, texture, register) {
                            any = true;
                            count += 1;
                            if let Some(law) = broken(&v, &chord, &tensions, register) {
                                panic!(
                                    "{text} {fifths} {texture:?} {register:?} {:?}: {} {law}",
                                    tensions.others,
                                    names(&v)
                                );
                            }
                        }
                        assert!(any, "{text} {fifths} {texture:?} {register:?} has none");
                    }
                }
            }
        }
    }
    println!("{count} voicings");
}
