//! Families that replace several chords, or that put many in the place of one.
//!
//! Where no source is named: common practice, no published source.

use crate::common::{
    KEYS, all, beats, find, in_key, motions, named, qualities, root, roots, spelled, tones,
};
use guidehand_theory::quality::Quality;
use guidehand_theory::reharm::Substitution;
use guidehand_theory::symbol;

/// Nettles, Graf (1997), on extended dominants (from memory).
#[test]
fn chains_fall_to_their_target() {
    for fifths in KEYS {
        let spans = in_key("Cmaj7:4 Am7:4 Dm7:4 G7:4", "C", fifths);
        let target = root(&spans[1].chord.unwrap());
        for (name, count, fall) in [
            ("two dominants by fifths", 2, 5),
            ("three dominants by fifths", 3, 5),
            ("two dominants by half steps", 2, 11),
            ("three dominants by half steps", 3, 11),
        ] {
            let new = named(&spans, 0..1, name);
            assert_eq!(motions(&new, target)[1..], vec![fall; count]);
            assert_eq!(qualities(&new)[1..], vec![Quality::Dominant; count]);
            assert_eq!(new.chords[0].chord, spans[0].chord.unwrap());
        }
        let home = root(&spans[0].chord.unwrap());
        for (name, fall) in [("dominants by fifths", 5), ("dominants by half steps", 11)] {
            let new = named(&spans, 1..4, name);
            assert_eq!(motions(&new, home), [fall; 3]);
            assert_eq!(qualities(&new), [Quality::Dominant; 3]);
            assert_eq!(beats(&new), [4, 4, 4]);
        }
    }
    let spans = in_key("Em7:2 Am7:2 Dm7:2 G7:2 Cmaj7:8", "C", 0);
    let names = |name| spelled(&named(&spans, 0..4, name));
    assert_eq!(names("dominants by fifths"), "E7 A7 D7 G7");
    assert_eq!(names("dominants by half steps"), "E7 Eb7 D7 Db7");
}

#[test]
fn a_side_slip_lies_a_half_step_off_and_comes_back() {
    for fifths in KEYS {
        let spans = in_key("Dm7:4 G7:4 Cmaj7:8", "C", fifths);
        let (two, five) = (spans[0].chord.unwrap(), spans[1].chord.unwrap());
        let own = [root(&two), root(&five)];
        for (from, away, by) in [
            ("side-slip from above", "side-slip above and back", 1),
            ("side-slip from below", "side-slip below and back", 11),
        ] {
            let off = own.map(|r| (r + by) % 12);
            let new = named(&spans, 0..2, from);
            assert_eq!(roots(&new), [off, own].concat());
            assert_eq!(beats(&new), [2; 4]);
            assert_eq!(qualities(&new)[..2], qualities(&new)[2..]);
            let new = named(&spans, 0..2, away);
            assert_eq!(roots(&new), [own, off, own].concat());
            assert_eq!(beats(&new), [2, 2, 1, 1, 1, 1]);
        }
        let still = named(&spans, 0..1, "side-slip on a minor chord");
        assert_eq!(motions(&still, own[1]), [1, 11, 5]);
    }
    let spans = in_key("Dm7:2 G7:2 Cmaj7:4", "C", 0);
    let names = |name| spelled(&named(&spans, 0..2, name));
    assert_eq!(names("side-slip from above"), "Ebm7 Ab7 Dm7 G7");
    assert_eq!(names("side-slip from below"), "Dbm7 Gb7 Dm7 G7");
    assert_eq!(find(&spans, 0..2, "side-slip above and back"), None);
}

/// Turnarounds in C, written out.
const TURNAROUNDS: [(&str, &str); 11] = [
    ("I-vi-ii-V", "Cmaj7 Am7 Dm7 G7"),
    ("I-VI7-ii-V", "Cmaj7 A7 Dm7 G7"),
    ("iii-VI7-ii-V", "Em7 A7 Dm7 G7"),
    ("I-#idim-ii-V", "Cmaj7 C#dim7 Dm7 G7"),
    ("I-biiidim-ii-V", "Cmaj7 Ebdim7 Dm7 G7"),
    ("iii-biiidim-ii-V", "Em7 Ebdim7 Dm7 G7"),
    ("I-VI7-II7-V7", "Cmaj7 A7 D7 G7"),
    ("III7-VI7-II7-V7", "E7 A7 D7 G7"),
    ("I-vi-ii-bII7", "Cmaj7 Am7 Dm7 Db7"),
    ("I-bIII7-bVI7-bII7", "Cmaj7 Eb7 Ab7 Db7"),
    (
        "I-bIII-bVI-bII, major sevenths",
        "Cmaj7 Ebmaj7 Abmaj7 Dbmaj7",
    ),
];
const IN_MINOR: [(&str, &str); 4] = [
    ("i-viø-iiø-V in minor", "Cm7 Am7b5 Dm7b5 G7"),
    ("i-bVI-iiø-V in minor", "Cm7 Abmaj7 Dm7b5 G7"),
    ("i-bIII-bVI-bII in minor", "Cm7 Ebmaj7 Abmaj7 Dbmaj7"),
    ("i-bIII7-bVI7-V7 in minor", "Cm7 Eb7 Ab7 G7"),
];

/// Levine, The Jazz Theory Book (1995), shows I-VI-II-V and its substitutions
/// (from memory); the rest is common practice.
#[test]
fn turnarounds_are_what_they_are_called() {
    for (text, key, rows) in [
        ("Fmaj7:8 Cmaj7:8 Cmaj7:4", "C", &TURNAROUNDS[..]),
        ("Fm7:8 Cm7:8 Cm7:4", "Cm", &IN_MINOR),
    ] {
        for fifths in KEYS {
            let spans = in_key(text, key, fifths);
            for (name, chords) in rows {
                let new = named(&spans, 1..2, name);
                let expected: Vec<_> = chords
                    .split(' ')
                    .map(|c| symbol::parse(c).unwrap().transposed(fifths))
                    .map(|c| (root(&c), c.quality))
                    .collect();
                let found = new.chords.iter().map(|p| &p.chord);
                let found: Vec<_> = found.map(|c| (root(c), c.quality)).collect();
                assert_eq!(found, expected, "{name}");
                assert_eq!(beats(&new), [2; 4]);
                if fifths == 0 {
                    assert_eq!(spelled(&new), *chords);
                }
            }
        }
    }
    let five = in_key("Cmaj7:2 Fmaj7:2 Em7:2 Dm7:1 G7:1 Cmaj7:8", "C", 0);
    assert_eq!(
        find(&five, 0..5, "I-vi-ii-V"),
        None,
        "more chords than four"
    );
    let away = in_key("Cmaj7:8 Fmaj7:8", "C", 0);
    assert!(
        all(&away, 0..1)
            .iter()
            .all(|p| p.substitution != Substitution::Turnaround)
    );
}

/// Levine (1995) writes the cycle over a ii-V-I in C as Dm7 Eb7 Abmaj7 B7 Emaj7
/// G7 Cmaj7 (from memory).
#[test]
fn the_thirds_cycle_divides_the_octave() {
    for (text, at, name, count, dominants) in [
        ("Dm7:4 G7:4 Cmaj7:8", 0..3, "thirds cycle for ii-V-I", 3, 3),
        ("Dm7:4 G7:8 Cmaj7:8", 1..3, "thirds cycle for V-I", 3, 4),
        ("Cmaj7:8 Cmaj7:8", 0..1, "thirds cycle from I to I", 2, 3),
    ] {
        for fifths in KEYS {
            let spans = in_key(text, "C", fifths);
            let new = named(&spans, at.clone(), name);
            let tonic = root(&spans[at.end - 1].chord.unwrap());
            let chords: Vec<_> = new.chords.iter().map(|p| p.chord).collect();
            let mut tonics = Vec::new();
            for pair in chords.windows(2) {
                if pair[1].quality == Quality::MajorSeventh {
                    assert_eq!(pair[0].quality, Quality::Dominant);
                    assert_eq!((root(&pair[1]) + 7) % 12, root(&pair[0]));
                    tonics.push(root(&pair[1]));
                }
            }
            let round = [8, 4, 0].map(|up| (tonic + up) % 12);
            assert_eq!(tonics, round[..count], "{name}");
            assert_eq!(
                chords
                    .iter()
                    .filter(|c| c.quality == Quality::Dominant)
                    .count(),
                dominants
            );
        }
    }
    let spans = in_key("Dm7:4 G7:4 Cmaj7:8", "C", 0);
    let new = named(&spans, 0..3, "thirds cycle for ii-V-I");
    assert_eq!(spelled(&new), "Dm7 Eb7 Abmaj7 B7 Emaj7 G7 Cmaj7");
    assert_eq!(beats(&new), [2, 2, 2, 2, 2, 2, 4]);
    // The tonic keeps its place if only V and I are given.
    let spans = in_key("Dm7:4 G7:8 Cmaj7:8", "C", 0);
    let new = named(&spans, 1..3, "thirds cycle for V-I");
    assert_eq!(spelled(&new), "G7 Eb7 Abmaj7 B7 Emaj7 G7 Cmaj7");
    assert_eq!(beats(&new), [3, 1, 1, 1, 1, 1, 8]);
}

#[test]
fn sus_chords_hold_the_ii_over_the_root_of_v() {
    for fifths in KEYS {
        for (text, key) in [("Dm7:2 G7:2 Cmaj7:4", "C"), ("Dm7b5:2 G7:2 Cm7:4", "Cm")] {
            let spans = in_key(text, key, fifths);
            let (two, five) = (spans[0].chord.unwrap(), spans[1].chord.unwrap());
            let slash = named(&spans, 0..2, "ii over the root of V").chords[0].chord;
            assert_eq!((slash.root, slash.bass), (two.root, Some(five.root)));
            let sus = named(&spans, 0..2, "sus for ii-V").chords[0].chord;
            assert_eq!(
                (sus.root, sus.quality),
                (five.root, Quality::DominantSuspended)
            );
            // 1, 4, 5, b7 and the ninth that the key holds.
            let ninth = if key == "C" { 2 } else { 1 };
            let held = [0, 5, 7, 10, ninth].map(|up| (root(&five) + up) % 12);
            assert!(tones(&two).iter().all(|t| held.contains(t)));
            let falls = named(&spans, 1..2, "sus before its V");
            assert_eq!(
                qualities(&falls),
                [Quality::DominantSuspended, Quality::Dominant]
            );
            assert_eq!(beats(&falls), [1, 1]);
        }
    }
    let minor = in_key("Dm7b5:2 G7:2 Cm7:4", "Cm", 0);
    assert_eq!(spelled(&named(&minor, 0..2, "sus for ii-V")), "G7sus4(b9)");
}

#[test]
fn a_pedal_changes_the_bass_and_nothing_else() {
    for fifths in KEYS {
        let spans = in_key("Cmaj7:4 Fmaj7:4 Dm7:2 G7:2 Cmaj7:4", "C", fifths);
        let tonic = root(&spans[0].chord.unwrap());
        for (name, up) in [("dominant pedal", 7), ("tonic pedal", 0)] {
            let new = named(&spans, 0..4, name);
            for (part, span) in new.chords.iter().zip(&spans) {
                let bass = part.chord.bass.unwrap_or(part.chord.root);
                assert_eq!(bass.class().number(), (tonic + up) % 12);
                let upper = guidehand_theory::chord::Chord {
                    bass: None,
                    ..part.chord
                };
                assert_eq!(Some(upper), span.chord);
                assert_eq!(part.length_ticks, span.length_ticks);
            }
        }
        assert!(
            all(&spans, 0..5)
                .iter()
                .all(|p| p.substitution != Substitution::Pedal || p.span == (0..5))
        );
    }
}
