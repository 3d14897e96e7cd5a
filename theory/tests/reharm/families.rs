//! Families that replace single chords.
//!
//! Where no source is named: common practice, no published source.

use crate::common::{
    KEYS, all, bars, beats, chart, find, in_key, motions, named, qualities, root, roots, spelled,
    stated, tones,
};
use guidehand_theory::degree::Degree;
use guidehand_theory::quality::Quality;
use guidehand_theory::reharm::{self, Part, Reason, Substitution};

/// Mark Levine, The Jazz Theory Book (1995), on reharmonization, and Barrie
/// Nettles, Richard Graf, The Chord Scale Theory and Jazz Harmony (1997), on
/// substitute dominants (both from memory): Db7 for G7 in C.
#[test]
fn the_tritone_substitute_keeps_the_guide_tones() {
    for (text, key) in [("Dm7:4 G7:4 Cmaj7:8", "C"), ("Dm7b5:4 G7b9:4 Cm6:8", "Cm")] {
        for fifths in KEYS {
            let spans = in_key(text, key, fifths);
            let five = spans[1].chord.unwrap();
            let new = named(&spans, 1..2, "tritone substitute").chords[0].chord;
            assert_eq!((root(&new) + 6) % 12, root(&five));
            assert_eq!((root(&new) + 11) % 12, root(&spans[2].chord.unwrap()));
            let guides = |c| {
                let mut keys = [Degree::Three, Degree::Flat7].map(|d| d.class(c).number());
                keys.sort_unstable();
                keys
            };
            assert_eq!(guides(new.root), guides(five.root));
            assert_eq!(new.quality, Quality::Dominant);
            // Down to Gb7 in F the root takes the letter above the tonic; then it is B7 in
            // Bb, not Cb7.
            let hard = fifths < -1;
            if !hard {
                assert_eq!(new.root.fifths(), fifths - 5, "{new:?}");
            }
        }
    }
    let spans = in_key("Dm7:4 G7:4 Cmaj7:8", "C", 0);
    let new = named(&spans, 1..2, "tritone substitute");
    assert_eq!(spelled(&new), "Db7");
    let back = in_key("Dm7:4 Db7:4 Cmaj7:8", "C", 0);
    let back = named(&back, 1..2, "dominant for its tritone substitute");
    assert_eq!(spelled(&back), "G7");
}

/// A chord that states too little is not exchanged.
#[test]
fn relatives_share_at_least_two_notes() {
    let bare = in_key("C5:4 Am7:4 Dm7:4 G7:4", "C", 0);
    assert_eq!(find(&bare, 0..1, "iii for I"), None, "only the fifth");
    let triad = in_key("C:4 Am7:4 Dm7:4 G7:4", "C", 0);
    let new = named(&triad, 0..1, "iii for I");
    assert_eq!(new.reason.to_string(), "Em7 shares two notes with C");
    let seventh = in_key("Cmaj7:4 Am7:4 Dm7:4 G7:4", "C", 0);
    let new = named(&seventh, 0..1, "iii for I");
    assert_eq!(new.reason.to_string(), "Em7 shares three notes with Cmaj7");
}

/// bVI7 for the iiø of a minor key: the tritone substitute of the dominant on its root.
#[test]
fn the_flat_sixth_stands_for_the_half_diminished_two() {
    let name = "substitute dominant for the chord";
    for fifths in KEYS {
        let spans = in_key("Cm7:8 Dm7b5:4 G7:4 Cm7:8", "Cm", fifths);
        let new = named(&spans, 1..2, name);
        assert_eq!(motions(&new, root(&spans[2].chord.unwrap())), [11]);
        let two = root(&spans[1].chord.unwrap());
        assert_eq!((roots(&new)[0] + 6) % 12, two);
        assert_eq!(new.rank.part, Part::Usual);
        let written = in_key("Cm7:8 Ab7:4 G7:4 Cm7:8", "Cm", fifths);
        let back = named(&written, 1..2, "iiø for bVI");
        assert_eq!(roots(&back), [two]);
        assert_eq!(qualities(&back), [Quality::HalfDiminished]);
    }
    let major = in_key("Dm7:4 G7:4 Cmaj7:8", "C", 0);
    assert_eq!(named(&major, 0..1, name).rank.part, Part::Colourful);
    let tonic = in_key("Cmaj7:4 Fmaj7:4", "C", 0);
    assert_eq!(find(&tonic, 0..1, name), None, "a tonic stays");
    let elsewhere = in_key("Ab7:4 Dbmaj7:4 Cm7:4", "Cm", 0);
    assert_eq!(find(&elsewhere, 0..1, "iiø for bVI"), None);
}

#[test]
fn a_dominant_that_falls_nowhere_has_no_substitute() {
    let spans = in_key("G7:4 Fmaj7:4", "C", 0);
    assert!(
        all(&spans, 0..1)
            .iter()
            .all(|p| p.substitution != Substitution::TritoneSubstitute)
    );
}

/// Nettles, Graf (1997), on related II chords (from memory).
#[test]
fn the_related_two_falls_a_fifth_to_its_dominant() {
    for fifths in KEYS {
        for (text, key, quality) in [
            ("Cmaj7:4 G7:4 Cmaj7:4", "C", Quality::MinorSeventh),
            ("Cm7:4 G7:4 Cm7:4", "Cm", Quality::HalfDiminished),
        ] {
            let spans = in_key(text, key, fifths);
            let new = named(&spans, 1..2, "ii before its V");
            let tonic = root(&spans[2].chord.unwrap());
            assert_eq!(motions(&new, tonic), [5, 5]);
            assert_eq!(qualities(&new), [quality, Quality::Dominant]);
            assert_eq!(beats(&new), [2, 2]);
            assert_eq!(new.chords[1].chord, spans[1].chord.unwrap());
            let away = named(&spans, 1..2, "ii-V of the tritone substitute");
            assert_eq!(motions(&away, tonic), [5, 11]);
        }
    }
    let spans = in_key("Dm7:4 G7:4 Cmaj7:4", "C", 0);
    assert_eq!(find(&spans, 1..2, "ii before its V"), None, "it is there");
    let spans = in_key("Cmaj7:3 G7:1 Cmaj7:4", "C", 0);
    assert_eq!(find(&spans, 1..2, "ii before its V"), None, "no room");
    let pair = in_key("Dm7:2 G7:2 Cmaj7:4", "C", 0);
    let away = named(&pair, 0..2, "ii-V of the tritone substitute");
    assert_eq!(spelled(&away), "Abm7 Db7");
    // Gbm7 Cb7 would be hard to read.
    let flats = in_key("Dm7:2 G7:2 Cmaj7:4", "C", -2);
    let away = named(&flats, 0..2, "ii-V of the tritone substitute");
    assert_eq!(spelled(&away), "F#m7 B7");
}

#[test]
fn a_secondary_dominant_stands_a_fifth_above_its_target() {
    for fifths in KEYS {
        let spans = in_key("Cmaj7:4 Am7:4 Dm7:2 G7:2", "C", fifths);
        for at in 0..2 {
            let target = root(&spans[at + 1].chord.unwrap());
            let at = at..at + 1;
            let new = named(
                &spans,
                at.clone(),
                "secondary dominant before the next chord",
            );
            assert_eq!(motions(&new, target)[1], 5);
            assert_eq!(new.chords[0].chord, spans[at.start].chord.unwrap());
            assert_eq!(qualities(&new)[1], Quality::Dominant);
            assert_eq!(beats(&new), [2, 2]);
            let pair = named(&spans, at.clone(), "ii-V before the next chord");
            assert_eq!(motions(&pair, target)[1..], [5, 5]);
            assert_eq!(beats(&pair), [2, 1, 1]);
            let above = named(&spans, at, "substitute dominant before the next chord");
            assert_eq!(motions(&above, target)[1], 11);
        }
    }
    let spans = in_key("Cmaj7:4 Am7:4 Dm7:2 G7:2", "C", 0);
    let names = |at, name| spelled(&named(&spans, at, name));
    assert_eq!(names(1..2, "dominant on the same root"), "A7");
    assert_eq!(names(0..1, "ii-V before the next chord"), "Cmaj7 Bm7b5 E7");
}

#[test]
fn the_backdoor_steps_up_to_the_tonic() {
    for fifths in KEYS {
        let spans = in_key("Dm7:2 G7:2 Cmaj7:4", "C", fifths);
        let tonic = root(&spans[2].chord.unwrap());
        let alone = named(&spans, 1..2, "backdoor dominant");
        assert_eq!(motions(&alone, tonic), [2]);
        for at in [0..2, 1..2] {
            let pair = named(&spans, at, "backdoor ii-V");
            assert_eq!(motions(&pair, tonic), [5, 2]);
            assert_eq!(qualities(&pair), [Quality::MinorSeventh, Quality::Dominant]);
        }
    }
    let minor = in_key("Dm7b5:2 G7:2 Cm7:4", "Cm", 0);
    assert!(
        all(&minor, 0..2)
            .iter()
            .all(|p| p.substitution != Substitution::Backdoor)
    );
}

#[test]
fn passing_diminished_chords_move_by_half_steps() {
    for fifths in KEYS {
        for (text, name, step) in [
            ("Cmaj7:4 Dm7:4", "passing diminished, upwards", 1),
            ("Fmaj7:4 G7:4", "passing diminished, upwards", 1),
            ("Em7:4 Dm7:4", "passing diminished, downwards", 11),
        ] {
            let spans = in_key(text, "C", fifths);
            let new = named(&spans, 0..1, name);
            assert_eq!(motions(&new, root(&spans[1].chord.unwrap())), [step; 2]);
            assert_eq!(qualities(&new)[1], Quality::DiminishedSeventh);
        }
    }
    let spans = in_key("Cmaj7:4 Dm7:4", "C", 0);
    let names = |name| spelled(&named(&spans, 0..1, name));
    assert_eq!(names("passing diminished, upwards"), "Cmaj7 C#dim7");
    assert_eq!(names("diminished above ii"), "Cmaj7 Ebdim7");
}

#[test]
fn other_diminished_chords_share_what_they_should() {
    for fifths in KEYS {
        let spans = in_key("Dm7:4 G7:4 Cmaj7:4", "C", fifths);
        let new = named(&spans, 1..2, "leading-tone diminished").chords[0].chord;
        let five = spans[1].chord.unwrap().with(&[Degree::Flat9]);
        let mut rootless: Vec<u8> = five
            .degrees()
            .iter()
            .filter(|d| *d != Degree::Root)
            .map(|d| d.class(five.root).number())
            .collect();
        rootless.sort_unstable();
        assert_eq!(tones(&new), rootless);
        let tonic = root(&spans[2].chord.unwrap());
        let delayed = named(&spans, 2..3, "common-tone diminished, delaying the chord");
        assert_eq!(roots(&delayed), [tonic; 2]);
        assert_eq!(qualities(&delayed)[0], Quality::DiminishedSeventh);
        let out = named(&spans, 2..3, "common-tone diminished, out and back");
        assert_eq!(roots(&out), [tonic; 3]);
        assert_eq!(beats(&out), [2, 1, 1]);
    }
}

/// Scales by semitones above the tonic, as the reasons name them.
const LENDERS: [(&str, [u8; 7]); 4] = [
    ("the parallel minor", [0, 2, 3, 5, 7, 8, 10]),
    ("the parallel major", [0, 2, 4, 5, 7, 9, 11]),
    ("Dorian", [0, 2, 3, 5, 7, 9, 10]),
    ("Phrygian", [0, 1, 3, 5, 7, 8, 10]),
];

/// Nettles, Graf (1997), on modal interchange (from memory): what is lent stands
/// in the mode that lends it.
#[test]
fn what_is_lent_belongs_to_its_lender() {
    let mut seen = Vec::new();
    for fifths in KEYS {
        for (text, key) in [
            ("Cmaj7:4 Am7:4 Dm7:4 G7:4 Em7:4 Fmaj7:4", "C"),
            ("Cm7:4 Fm7:4 Dm7b5:4 G7:4", "Cm"),
        ] {
            let spans = in_key(text, key, fifths);
            let tonic = root(&spans[0].chord.unwrap());
            let lent = all(&spans, 0..spans.len());
            for new in lent
                .iter()
                .filter(|p| p.substitution == Substitution::Interchange)
            {
                let reason = new.reason.to_string();
                let (_, by) = reason.split_once(" comes from ").unwrap();
                let scale = LENDERS.iter().find(|(name, _)| *name == by).unwrap().1;
                for tone in tones(&new.chords.last().unwrap().chord) {
                    assert!(scale.contains(&((tone + 12 - tonic) % 12)), "{new:?}");
                }
                if !seen.contains(&new.name) {
                    seen.push(new.name);
                }
            }
        }
    }
    // Nine in major, four in minor, and bII for ii in both.
    assert_eq!(seen.len(), 12, "{seen:?}");
}

#[test]
fn the_minor_plagal_falls_to_the_fifth_of_the_tonic() {
    for fifths in KEYS {
        let spans = in_key("Fmaj7:4 Cmaj7:4", "C", fifths);
        let tonic = spans[1].chord.unwrap();
        let halves = named(&spans, 0..1, "IV turns minor");
        let whole = named(&spans, 0..1, "minor plagal");
        assert_eq!(whole.chords[0].chord, halves.chords[1].chord);
        let four = whole.chords[0].chord;
        let third = Degree::Flat3.class(four.root);
        assert_eq!(third.above(Degree::Five.class(tonic.root)), 1);
    }
    let elsewhere = in_key("Fmaj7:4 Em7:4", "C", 0);
    assert_eq!(find(&elsewhere, 0..1, "minor plagal"), None);
}

/// Relatives have the most notes in common that two chords of the key a third apart can have:
/// three with a seventh chord, two with a triad, four where only the bass differs.
#[test]
fn relatives_share_as_many_notes_as_they_say() {
    let mut seen = Vec::new();
    for fifths in KEYS {
        for (text, key) in [
            (
                "Cmaj7:4 G7:4 Am7:4 G7:4 Dm7:4 G7:4 Em7:4 G7:4 Fmaj7:4 G7:4",
                "C",
            ),
            ("C:4 G7:4 Am:4 G7:4 Dm6:4 G9:4 C6:4 G13:4 Fmaj9:4 G7:4", "C"),
            (
                "Cm7:4 G7:4 Fm7:4 G7:4 Dm7b5:4 G7:4 Abmaj7:4 G7:4 Ebmaj7:4 G7:4",
                "Cm",
            ),
            ("Cm:4 G7:4 Fm6:4 G7:4", "Cm"),
        ] {
            let spans = in_key(text, key, fifths);
            for new in all(&spans, 0..spans.len()) {
                let Reason::SharesNotes { old, count, .. } = new.reason else {
                    continue;
                };
                let written = spans[new.span.start].chord.unwrap();
                assert_eq!(old, written);
                let theirs = stated(&written);
                let own = stated(&new.chords[0].chord);
                let shared = own.iter().filter(|t| theirs.contains(t)).count();
                assert_eq!(shared, usize::from(count), "{new:?}");
                assert!(shared >= 2, "{new:?}");
                if theirs.len() == 4 && written.quality == Quality::MajorSeventh {
                    assert_eq!(shared, 3);
                }
                if !seen.contains(&new.name) {
                    seen.push(new.name);
                }
            }
        }
    }
    // Nine in major, seven in minor.
    assert_eq!(seen.len(), 16, "{seen:?}");
}

/// Nettles, Graf (1997), on deceptive resolution (from memory).
#[test]
fn a_deceptive_chord_comes_where_the_tonic_was_due() {
    for fifths in KEYS {
        let spans = in_key("Dm7:4 G7:4 Cmaj7:4", "C", fifths);
        let tonic = root(&spans[2].chord.unwrap());
        let offers = all(&spans, 2..3);
        let mut found: Vec<u8> = offers
            .iter()
            .filter(|p| p.substitution == Substitution::Deceptive && p.chords.len() == 1)
            .map(|p| (roots(p)[0] + 12 - tonic) % 12)
            .collect();
        found.sort_unstable();
        assert_eq!(found, [3, 6, 8, 9]);
        let late = named(&spans, 2..3, "delayed by bVI and bVII");
        assert_eq!(motions(&late, tonic), [2, 2, 0]);
        assert_eq!(beats(&late), [1, 1, 2]);
    }
    let calm = in_key("Fmaj7:4 Cmaj7:4", "C", 0);
    assert!(
        all(&calm, 1..2)
            .iter()
            .all(|p| p.substitution != Substitution::Deceptive)
    );
}

#[test]
fn altered_dominants_stay_on_their_root() {
    for fifths in KEYS {
        for (text, key, count) in [
            ("Dm7:4 G7:4 Cmaj7:4", "C", 4),
            ("Dm7b5:4 G7:4 Cm7:4", "Cm", 3),
            ("Dm7:4 Db7:4 Cmaj7:4", "C", 1),
        ] {
            let spans = in_key(text, key, fifths);
            let mut offers = all(&spans, 1..2);
            offers.retain(|p| p.substitution == Substitution::AlteredDominant);
            assert_eq!(offers.len(), count, "{text}");
            let old = spans[1].chord.unwrap();
            assert!(offers.iter().all(|p| p.chords[0].chord.root == old.root));
        }
    }
    let written = in_key("Dm7:4 G7b9:4 Cmaj7:4", "C", 0);
    assert_eq!(find(&written, 1..2, "b9 and b13"), None);
}

#[test]
fn silence_and_chords_without_function_stay() {
    let bare = chart("Dm7:4 G7:4 Cmaj7:4", 0);
    assert!(all(&bare, 0..3).is_empty());
    let spans = in_key("Dm7:4 -:4 G7:4 Cmaj7:4", "C", 0);
    assert!(all(&spans, 1..2).is_empty());
    assert!(all(&spans, 0..4).iter().all(|p| !p.span.contains(&1)));
    let nothing = reharm::proposals(&spans, 7..9, &bars(), &[]);
    assert!(nothing.fits.is_empty());
}
