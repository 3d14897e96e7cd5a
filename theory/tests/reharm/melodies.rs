//! The melody decides which proposals are possible.

use crate::common::{BEAT, KEYS, bars, in_key, tones};
use guidehand_theory::chart;
use guidehand_theory::melody;
use guidehand_theory::pitch::PitchClass;
use guidehand_theory::reharm::{self, Note};

/// What a melody may hold over a new chord, in semitones above its root, written
/// out by hand. Common practice, no published source.
const BORNE: [(&str, &str, usize, &str, &[u8]); 11] = [
    // 9 #11 13 over a dominant that falls a half step, or the backdoor.
    (
        "Dm7:4 G7:4 Cmaj7:4",
        "C",
        1,
        "tritone substitute",
        &[0, 2, 4, 6, 7, 9, 10],
    ),
    (
        "Dm7:4 G7:4 Cmaj7:4",
        "C",
        1,
        "backdoor dominant",
        &[0, 2, 4, 6, 7, 9, 10],
    ),
    // The half-whole scale.
    (
        "Dm7:4 G7:4 Cmaj7:4",
        "C",
        1,
        "b9 and 13",
        &[0, 1, 3, 4, 6, 7, 9, 10],
    ),
    // The altered scale, and the five of the symbol.
    (
        "Dm7b5:4 G7:4 Cm7:4",
        "Cm",
        1,
        "b9 and b13",
        &[0, 1, 3, 4, 6, 7, 8, 10],
    ),
    // The altered scale alone.
    (
        "Dm7b5:4 G7:4 Cm7:4",
        "Cm",
        1,
        "altered",
        &[0, 1, 3, 4, 6, 8, 10],
    ),
    // Levine, The Jazz Piano Book (1989), has the third over the fourth (from memory).
    (
        "Dm7:4 G7:4 Cmaj7:4",
        "C",
        1,
        "sus for V",
        &[0, 2, 4, 5, 7, 9, 10],
    ),
    // A diminished chord allows whole steps above its tones.
    (
        "Dm7:4 G7:4 Cmaj7:4",
        "C",
        1,
        "leading-tone diminished",
        &[0, 2, 3, 5, 6, 8, 9, 11],
    ),
    // Minor sevenths on vi and iii: 11, no b13; the key holds the 9 of vi, not of iii.
    (
        "Dm7:4 Am7:4 Cmaj7:4",
        "C",
        2,
        "vi for I",
        &[0, 2, 3, 5, 7, 10],
    ),
    (
        "Dm7:4 Am7:4 Cmaj7:4",
        "C",
        2,
        "iii for I",
        &[0, 3, 5, 7, 10],
    ),
    // IV is Lydian; I has no eleventh.
    (
        "Dm7:4 G7:4 Cmaj7:4",
        "C",
        0,
        "IV for ii",
        &[0, 2, 4, 6, 7, 9, 11],
    ),
    ("Am7:4 Dm7:4 G7:4", "C", 0, "I for vi", &[0, 2, 4, 7, 9, 11]),
];

#[test]
fn a_melody_keeps_what_bears_it_and_no_more() {
    for (text, key, at, name, borne) in BORNE {
        for fifths in KEYS {
            let spans = in_key(text, key, fifths);
            for class in (0..12).map(PitchClass::wrapping) {
                let note = Note {
                    class,
                    start_ticks: spans[at].start_ticks,
                    length_ticks: spans[at].length_ticks,
                };
                let offers = reharm::proposals(&spans, at..at + 1, &bars(), &[note]);
                let fit = offers.fits.iter().find(|p| p.name.to_string() == name);
                let clash = offers
                    .clashes
                    .iter()
                    .find(|c| c.proposal.name.to_string() == name);
                let proposal = fit.or(clash.map(|c| &c.proposal));
                let root = proposal.unwrap().chords[0].chord.root.class();
                assert_eq!(
                    fit.is_some(),
                    borne.contains(&class.above(root)),
                    "{name} {class:?}"
                );
                assert_ne!(fit.is_some(), clash.is_some());
            }
        }
    }
}

/// The simple rule behind it: a chord allows its own tones and its bass. Only a dominant
/// allows a note a half step above one of them, but no 11 over its third and no 7.
#[test]
fn chord_tones_fit_and_half_steps_above_them_rub() {
    let spans = in_key("Cmaj7:4 Am7:4 Dm7:4 G7:4 Em7:4 Fmaj7:4", "C", 0);
    let (mut own, mut rubs) = (0, 0);
    for class in (0..12).map(PitchClass::wrapping) {
        let melody = [Note {
            class,
            start_ticks: 0,
            length_ticks: 24 * BEAT,
        }];
        let offers = reharm::proposals(&spans, 0..6, &bars(), &melody);
        for p in &offers.fits {
            for chord in p.chords.iter().map(|p| &p.chord) {
                let tones = tones(chord);
                let dominant = chord.quality.is_dominant();
                let above = class.above(chord.root.class());
                let below = (class.number() + 11) % 12;
                let is_bass = chord.bass.is_some_and(|bass| bass.class() == class);
                let bears = is_bass || tones.contains(&class.number());
                let rub = tones.contains(&below) && !bears;
                assert!(
                    !rub || dominant && ![5, 11].contains(&above),
                    "{class:?} in {p:?}"
                );
                rubs += 1;
            }
        }
        for clash in &offers.clashes {
            assert!(!clash.notes.is_empty());
            let holds = |p: &reharm::TimedChord| tones(&p.chord).contains(&class.number());
            assert!(!clash.proposal.chords.iter().all(holds), "{clash:?}");
            own += 1;
        }
    }
    assert!(own > 100 && rubs > 100, "{own} {rubs}");
}

#[test]
fn a_clash_is_told_in_words() {
    // Ab through the last half of the bar of Cmaj7.
    let spans = in_key("Cmaj7:4 Dm7:4 G7:4", "C", 0);
    let melody = [Note {
        class: PitchClass::wrapping(8),
        start_ticks: 2 * BEAT,
        length_ticks: 2 * BEAT,
    }];
    let offers = reharm::proposals(&spans, 0..1, &bars(), &melody);
    let name = "secondary dominant before the next chord";
    let clash = offers
        .clashes
        .iter()
        .find(|c| c.proposal.name.to_string() == name);
    let notes = clash.unwrap().notes.iter().map(ToString::to_string);
    assert!(notes.eq(["Ab over A7: a half step above its b7"]));
    // Before the note, and after it, anything may stand.
    let early = [Note {
        start_ticks: 0,
        length_ticks: 0,
        ..melody[0]
    }];
    let free = reharm::proposals(&spans, 0..1, &bars(), &early);
    let bare = reharm::proposals(&spans, 0..1, &bars(), &[]);
    let after = [Note {
        start_ticks: 4 * BEAT,
        ..melody[0]
    }];
    assert_eq!(free, bare);
    assert_eq!(reharm::proposals(&spans, 0..1, &bars(), &after), bare);
}

/// Notes that pass are left out, and the others stand where they sound.
#[test]
fn a_written_melody_counts_without_its_passing_notes() {
    let chart = chart::parse("| Dm7 | G7 |").unwrap();
    let melody = melody::parse("| A4/2 F5/8 E5 D5/4~ | D5/1 |", &chart).unwrap();
    let notes = Note::all_of(&melody, &chart);
    let found: Vec<(u8, u32, u32)> = notes
        .iter()
        .map(|n| (n.class.number(), n.start_ticks, n.length_ticks))
        .collect();
    assert_eq!(found, [(9, 0, 1920), (5, 1920, 480), (2, 2880, 4800)]);
}
