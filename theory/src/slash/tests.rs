//! Slash chords against what musicians call them.

use super::*;
use crate::pcset::PcSet;
use crate::quality::TABLE as QUALITIES;
use crate::symbol::{self, Sign, Symbol};

fn is(text: &str) -> String {
    let chord = meant(&symbol::parse(text).unwrap());
    Symbol(&chord, Sign::Ascii).to_string()
}

/// Common practice, no published source.
#[test]
fn slash_chords_have_their_names() {
    for (written, name) in [
        // Suspended dominants.
        ("F/G", "G9sus4"),
        ("Bb/C", "C9sus4"),
        ("C/D", "D9sus4"),
        ("Dm/G", "G9sus4"),
        ("Dm7/G", "G9sus4"),
        ("Dm9/G", "G13sus4"),
        ("Dm11/G", "G13sus4"),
        ("F6/G", "G9sus4"),
        ("Fmaj7/G", "G13sus4"),
        ("Fmaj9/G", "G13sus4"),
        ("Cadd9/D", "D9sus4"),
        ("Fm/G", "G7sus4(b9)"),
        ("Fm6/G", "G7sus4(b9)"),
        ("Fm7/G", "G7sus4(b9,b13)"),
        ("Dm7b5/G", "G7sus4(b9)"),
        // A line under a triad.
        ("Am/G#", "Am(maj7)/G#"),
        ("Am/G", "Am7/G"),
        ("Am/F#", "Am6/F#"),
        ("C/B", "Cmaj7/B"),
        ("C/Bb", "C7/Bb"),
        ("Cadd9/Bb", "C9/Bb"),
        ("Bdim/A", "Bm7b5/A"),
        ("Bdim/G#", "Bdim7/G#"),
        // Rootless upper parts of everyday chords.
        ("C/A", "Am7"),
        ("Cmaj7/A", "Am9"),
        ("Em/C", "Cmaj7"),
        ("Em7/C", "Cmaj9"),
        ("G/C", "Cmaj9(no3)"),
        ("G6/C", "Cmaj9"),
        ("Bm/C", "Cmaj9(#11)"),
        ("E/C", "Cmaj7(#5)"),
        ("Edim/C", "C7"),
        ("Em7b5/C", "C9"),
        ("Bbm7b5/C", "C7(b9,b13)"),
        ("C#dim7/A", "A7(b9)"),
        ("Cm6/F", "F9"),
        // Triads over a dominant's root.
        ("A/C", "C7(b9,13)"),
        ("Gb/C", "C7(b9,#11)"),
        ("F#m/C", "C7(b9,#11,13)"),
        ("Caug/D", "D9(#11)"),
        ("Caug/A", "Am(maj7)"),
        // Chords over tones of their own, and dominants over a pedal.
        ("G7/B", "G7/B"),
        ("C/E", "C/E"),
        ("C6/A", "C6/A"),
        ("Am7/G", "Am7/G"),
        ("Cmaj7/B", "Cmaj7/B"),
        ("G7/C", "G7/C"),
        ("Bdim7/C", "Bdim7/C"),
        ("Fsus4/G", "Fsus4/G"),
        ("Dm7", "Dm7"),
        ("D/C7", "D/C7"),
    ] {
        assert_eq!(is(written), name, "{written}");
    }
}

/// Over every bass a chord keeps its notes, names them all, and keeps its bass; one
/// step is enough.
#[test]
fn no_note_is_lost_or_gained() {
    let (mut own, mut other, mut kept) = (0, 0, 0);
    for row in &QUALITIES {
        for bass in -6..6 {
            let written = Chord {
                bass: Some(NoteName::from_fifths(bass)),
                ..Chord::new(NoteName::from_fifths(0), row.quality)
            };
            let chord = meant(&written);
            assert_eq!(chord.bass, written.bass);
            assert_eq!(meant(&chord), chord);
            let keys = |c: &Chord| PcSet::of_degrees(c.root.class(), c.degrees());
            assert!(keys(&chord).holds(keys(&written)), "{written:?}");
            let holds_bass = keys(&written).contains(NoteName::from_fifths(bass).class());
            match (chord == written, holds_bass) {
                (true, true) => own += 1,
                (true, false) => kept += 1,
                (false, false) => {
                    other += 1;
                    let triad = Triad::new(written.root, triad(row.quality).unwrap());
                    assert_eq!(chord.upper, triad);
                }
                (false, true) => panic!("{written:?} is a chord over its own tone"),
            }
        }
    }
    // 17 qualities over 12 basses, 59 of them over a tone of their own.
    let tones: usize = QUALITIES.iter().map(|row| row.degrees.len()).sum();
    assert_eq!((own, own + other + kept), (tones, 17 * 12));
    assert!(other > 50, "{other}");
}

#[test]
fn a_slash_chord_moves_with_its_key() {
    for row in &QUALITIES {
        for bass in -6..6 {
            let written = Chord {
                bass: Some(NoteName::from_fifths(bass)),
                ..Chord::new(NoteName::from_fifths(0), row.quality)
            };
            for fifths in -6..6 {
                let moved = meant(&written.transposed(fifths));
                assert_eq!(moved, meant(&written).transposed(fifths));
            }
        }
    }
}

/// Common practice, no published source.
#[test]
fn the_head_of_a_line_takes_no_sixth() {
    let names = |texts: &[&str]| -> Vec<String> {
        let written: Vec<_> = texts.iter().map(|t| symbol::parse(t).ok()).collect();
        let meant = all_meant(&written);
        let chords = meant.iter().flatten();
        chords.map(|c| Symbol(c, Sign::Ascii).to_string()).collect()
    };
    assert_eq!(
        names(&["Am", "Am/G#", "Am/G", "Am/F#"]),
        ["Am(add9)", "Am(maj7)/G#", "Am7/G", "Am6/F#"]
    );
    assert_eq!(
        names(&["Am", "Am", "Am7/G"]),
        ["Am(add9)", "Am(add9)", "Am7/G"]
    );
    assert_eq!(names(&["Am", "Am(maj7)", "Am7"])[0], "Am(add9)");
    assert_eq!(names(&["Am", "Am/C", "Dm"])[0], "Am");
    assert_eq!(names(&["Am", "E7", "Am/G"])[0], "Am");
}
