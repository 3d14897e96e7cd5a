//! Families that pass: diminished sevenths on the raised fourth, inner lines, approaches by step.
//!
//! Where no source is named: common practice, no published source.

use crate::common::{KEYS, beats, find, in_key, motions, named, root, roots, spelled, tones};
use guidehand_theory::degree::Degree;
use guidehand_theory::quality::Quality;

#[test]
fn the_raised_fourth_rises_to_the_fifth_of_the_tonic() {
    for fifths in KEYS {
        for (text, key) in [
            ("Cmaj7:4 Fmaj7:4 Cmaj7:4", "C"),
            ("C7:4 F7:4 C7:4 C7:4", "C blues"),
        ] {
            let spans = in_key(text, key, fifths);
            let tonic = spans[2].chord.unwrap();
            let new = named(&spans, 1..2, "#ivdim between IV and I");
            assert_eq!(new.chords[0].chord, spans[1].chord.unwrap());
            assert_eq!(beats(&new), [2, 2]);
            let passing = new.chords[1].chord;
            assert_eq!(passing.quality, Quality::DiminishedSeventh);
            let fifth = Degree::Five.class(tonic.root);
            assert_eq!(fifth.above(passing.root.class()), 1);
            assert_eq!((root(&passing) + 12 - root(&tonic)) % 12, 6);
            assert_eq!(find(&spans, 1..2, "#ivdim for IV"), None, "IV has to sound");
        }
        let spans = in_key("C7:4 F7:4 F7:4 C7:4", "C blues", fifths);
        let whole = named(&spans, 2..3, "#ivdim for IV");
        assert_eq!(beats(&whole), [4]);
        let fifth = Degree::Five.class(spans[3].chord.unwrap().root);
        assert_eq!(fifth.above(whole.chords[0].chord.root.class()), 1);
    }
    let elsewhere = in_key("Fmaj7:4 Em7:4", "C", 0);
    assert_eq!(find(&elsewhere, 0..1, "#ivdim between IV and I"), None);
    let minor = in_key("Fm7:4 Cm7:4", "Cm", 0);
    assert_eq!(find(&minor, 0..1, "#ivdim between IV and I"), None);
}

/// From vi the diminished chord on the flat sixth leads down to V, as from iii to ii.
#[test]
fn a_passing_chord_leads_down_to_five() {
    for fifths in KEYS {
        let spans = in_key("Am7:4 G7:4 Cmaj7:8", "C", fifths);
        let five = root(&spans[1].chord.unwrap());
        let new = named(&spans, 0..1, "passing diminished, downwards");
        assert_eq!(new.chords[0].chord, spans[0].chord.unwrap());
        assert_eq!(new.chords[1].chord.quality, Quality::DiminishedSeventh);
        assert_eq!(motions(&new, five), [11, 11]);
        assert_eq!(beats(&new), [2, 2]);
        if fifths == 0 {
            assert_eq!(spelled(&new), "Am7 Abdim7");
        }
    }
    let blues = in_key("G7:4 F7:4 C7:4", "C blues", 0);
    assert_eq!(find(&blues, 0..1, "passing diminished, downwards"), None);
}

/// The keys that a row of chords on one root has besides its root, third and fifth.
fn inner_line(proposal: &guidehand_theory::reharm::Proposal) -> Vec<Vec<u8>> {
    let over_root = |part: &guidehand_theory::reharm::TimedChord| {
        let chord = part.chord;
        let up = tones(&chord)
            .into_iter()
            .map(|t| (t + 12 - root(&chord)) % 12);
        let mut up: Vec<u8> = up.collect();
        up.sort_unstable();
        up
    };
    proposal.chords.iter().map(over_root).collect()
}

/// Root, major seventh, minor seventh, sixth over a minor triad that stays.
#[test]
fn the_line_in_minor_falls_by_half_steps() {
    for fifths in KEYS {
        for (text, key, length) in [
            ("Cm7:4 Fm7:4", "Cm", 1),
            ("Cm6:8 Cm6:4", "Cm", 2),
            ("Dm7:4 G7:4 Cmaj7:4", "C", 1),
        ] {
            let spans = in_key(text, key, fifths);
            let new = named(&spans, 0..1, "line cliche, 1 7 b7 6");
            assert_eq!(roots(&new), [root(&spans[0].chord.unwrap()); 4]);
            assert_eq!(beats(&new), [length; 4]);
            let line: Vec<u8> = inner_line(&new)
                .iter()
                .map(|tones| {
                    assert_eq!(tones[..3], [0, 3, 7], "the triad stays");
                    tones.get(3).copied().unwrap_or(12)
                })
                .collect();
            assert_eq!(line, [12, 11, 10, 9]);
        }
    }
    for (text, expected) in [
        ("Am7:4 Dm7:4", "Am Am/G# Am/G Am/F#"),
        ("F#m7:4 Bm7:4", "F#m F#m/E# F#m/E F#m/D#"),
        ("G#m7:4 C#m7:4", "G#m G#m/G G#m/F# G#m/E#"),
        ("Ebm7:4 Abm7:4", "Ebm Ebm/D Ebm/Db Ebm/C"),
    ] {
        let key = text.split('7').next().unwrap();
        let spans = in_key(text, key, 0);
        let bass = named(&spans, 0..1, "line cliche in the bass");
        assert_eq!(spelled(&bass), expected);
    }
    let short = in_key("Cm7:2 Fm7:4", "Cm", 0);
    assert_eq!(find(&short, 0..1, "line cliche, 1 7 b7 6"), None);
    let long = in_key("Cm7:20 Fm7:4", "Cm", 0);
    assert_eq!(find(&long, 0..1, "line cliche, 1 7 b7 6"), None);
}

/// 5 #5 6, then b7 on the way to IV or #5 on the way back.
#[test]
fn the_line_in_major_rises_by_half_steps() {
    for fifths in KEYS {
        for (text, expected) in [
            ("Cmaj7:4 Fmaj7:4", [7, 8, 9, 10]),
            ("C6:4 C6:4", [7, 8, 9, 8]),
        ] {
            let spans = in_key(text, "C", fifths);
            let new = named(&spans, 0..1, "line cliche, 5 #5 6");
            assert_eq!(roots(&new), [root(&spans[0].chord.unwrap()); 4]);
            assert_eq!(beats(&new), [1; 4]);
            let line: Vec<u8> = inner_line(&new)
                .iter()
                .map(|tones| {
                    assert_eq!(tones[..2], [0, 4], "root and third stay");
                    *tones.last().unwrap()
                })
                .collect();
            assert_eq!(line, expected);
        }
    }
    let four = in_key("Fmaj7:4 Bbmaj7:4", "C", 0);
    assert_eq!(find(&four, 0..1, "line cliche, 5 #5 6"), None, "no tonic");
}

#[test]
fn an_approach_is_the_next_chord_a_half_step_off() {
    for fifths in KEYS {
        for text in ["Em7:4 Dm7:4", "Cmaj7:4 Fmaj7:4", "Am7:4 Dm7:4"] {
            let spans = in_key(text, "C", fifths);
            let next = spans[1].chord.unwrap();
            for (name, step) in [
                ("approach from a half step above", 11),
                ("approach from a half step below", 1),
            ] {
                let new = named(&spans, 0..1, name);
                assert_eq!(new.chords[0].chord, spans[0].chord.unwrap());
                let approach = new.chords[1].chord;
                assert_eq!(motions(&new, root(&next))[1], step);
                assert_eq!(approach.quality, next.quality);
                assert_eq!(beats(&new), [2, 2]);
            }
        }
    }
    let there = in_key("Ebm7:4 Dm7:4", "C", 0);
    assert_eq!(find(&there, 0..1, "approach from a half step above"), None);
}

#[test]
fn a_walk_goes_through_the_key_by_steps() {
    for fifths in KEYS {
        for (text, key, name, walk) in [
            (
                "Cmaj7:4 Fmaj7:4",
                "C",
                "walk up to the next chord",
                "Cmaj7 Dm7 Em7",
            ),
            (
                "Fmaj7:4 Cmaj7:4",
                "C",
                "walk down to the next chord",
                "Fmaj7 Em7 Dm7",
            ),
            (
                "Cmaj7:4 Em7:4",
                "C",
                "walk up to the next chord",
                "Cmaj7 Dm7",
            ),
            (
                "Cm7:4 Fm7:4",
                "Cm",
                "walk up to the next chord",
                "Cm7 Dm7b5 Ebmaj7",
            ),
        ] {
            let spans = in_key(text, key, fifths);
            let new = named(&spans, 0..1, name);
            if fifths == 0 {
                assert_eq!(spelled(&new), walk);
            }
            let next = root(&spans[1].chord.unwrap());
            let by_step = |up: &u8| [1, 2, 10, 11].contains(up);
            assert!(motions(&new, next).iter().all(by_step), "{new:?}");
            let scale: Vec<u8> = match key {
                "C" => vec![0, 2, 4, 5, 7, 9, 11],
                _ => vec![0, 2, 3, 5, 7, 8, 10],
            };
            let tonic = i16::from(fifths) * 7;
            for part in &new.chords {
                for tone in tones(&part.chord) {
                    let up = (i16::from(tone) - tonic).rem_euclid(12);
                    assert!(scale.contains(&u8::try_from(up).unwrap()), "{new:?}");
                }
            }
        }
    }
    let near = in_key("Cmaj7:4 Dm7:4", "C", 0);
    assert_eq!(find(&near, 0..1, "walk up to the next chord"), None);
}
