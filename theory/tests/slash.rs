//! Slash chords as they sound: their function, their voicings and the bass.

use guidehand_theory::candidates::{self, Register};
use guidehand_theory::chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::key::{self, Key, Mode};
use guidehand_theory::pcset::PcSet;
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::{MidiNote, NoteName, PitchClass};
use guidehand_theory::plan::Ends;
use guidehand_theory::quality::Quality;
use guidehand_theory::shape::Texture;
use guidehand_theory::slash;
use guidehand_theory::symbol::{self, Sign, Symbol};
use guidehand_theory::tension::{self, TensionRequests};

const TRIADS: [Quality; 4] = [
    Quality::Major,
    Quality::Minor,
    Quality::Diminished,
    Quality::Augmented,
];

/// The textures that have room for two guide tones and a triad.
const ROOMY: [Texture; 4] = [
    Texture::FourNotes,
    Texture::AnyRotation,
    Texture::Open,
    Texture::TwoHands,
];

fn placed(written: Chord, mode: Mode) -> ChordInKey {
    let key = Key::usual(PitchClass::wrapping(0), mode);
    ChordInKey::new(written, key::live(&slash::meant(&written), key))
}

/// Every triad on every root over every bass.
fn everything() -> impl Iterator<Item = Chord> {
    TRIADS.into_iter().flat_map(|quality| {
        (-5..=6).flat_map(move |root| {
            (-5..=6).map(move |bass| Chord {
                bass: Some(NoteName::from_fifths(bass)),
                ..Chord::new(NoteName::from_fifths(root), quality)
            })
        })
    })
}

fn keys(chord: &Chord) -> PcSet {
    PcSet::of_degrees(chord.root.class(), chord.degrees())
}

/// Over a foreign bass the written triad sounds whole, but for a root a half step
/// above the bass (Am over G#), which the bass would rub against.
#[test]
fn a_triad_over_a_foreign_bass_sounds_whole() {
    let mut checked = 0;
    for written in everything() {
        let bass = written.bass.unwrap().class();
        if keys(&written).contains(bass) {
            continue;
        }
        let mut triad = keys(&written);
        if written.root.class().above(bass) == 1 {
            let root: PcSet = [written.root.class()].into_iter().collect();
            triad = triad.minus(root);
        }
        for mode in [Mode::Major, Mode::Minor] {
            let placed = placed(written, mode);
            for tensions in
                tension::resolve(&placed.chord, &placed.function, TensionRequests::default())
            {
                for texture in ROOMY {
                    let all = candidates::of(&placed.chord, &tensions, texture, Register::DEFAULT);
                    for voicing in all {
                        let sounds: PcSet = voicing.notes().map(MidiNote::class).collect();
                        let symbol = Symbol(&written, Sign::Ascii);
                        assert!(sounds.holds(triad), "{symbol} {texture:?}: {voicing:?}");
                        checked += 1;
                    }
                }
            }
        }
    }
    assert!(checked > 5_000, "{checked}");
}

/// No voice lies a half step from the bass but one that the symbol writes, and the
/// root that is under it.
#[test]
fn no_voice_speaks_against_the_bass() {
    let mut rubs = 0;
    for written in everything() {
        let bass = written.bass.unwrap().class();
        for mode in [Mode::Major, Mode::Minor] {
            let placed = placed(written, mode);
            if placed.chord.root.class() == bass {
                continue;
            }
            for tensions in
                tension::resolve(&placed.chord, &placed.function, TensionRequests::default())
            {
                for texture in ROOMY {
                    let all = candidates::of(&placed.chord, &tensions, texture, Register::DEFAULT);
                    for class in
                        all.flat_map(|v| v.notes().map(MidiNote::class).collect::<Vec<_>>())
                    {
                        let near = matches!(class.above(bass), 1 | 11);
                        let symbol = Symbol(&written, Sign::Ascii);
                        assert!(
                            !near || keys(&written).contains(class),
                            "{symbol}: {class:?}"
                        );
                        rubs += u32::from(near);
                    }
                }
            }
        }
    }
    assert!(rubs > 0, "diminished triads over a bass of no chord rub");
}

fn plan(text: &str, texture: Texture) -> Vec<(ChordInKey, String, Vec<String>)> {
    let chart = chart::parse(text).unwrap();
    let placed = pipeline::place(&chart, None);
    let voiced = pipeline::plan(&placed, texture, Register::DEFAULT, Ends::Open);
    let pairs = placed.into_iter().zip(voiced);
    pairs
        .map(|(placed, voiced)| {
            let (placed, voiced) = (placed.unwrap(), voiced.unwrap());
            let sounding = placed.sounding(&voiced.voicing);
            let root = placed.chord.root;
            let notes = voiced.voicing.voices().iter();
            let mut notes: Vec<_> = notes.map(|v| v.degree.over(root).to_string()).collect();
            notes.sort_unstable();
            (placed, Symbol(&sounding, Sign::Ascii).to_string(), notes)
        })
        .collect()
}

/// Am, Am/G#, Am/G, Am/F#: C and E stay, and nothing but the line moves; F# sounds
/// over the last bass alone. Common practice, no published source.
#[test]
fn a_minor_triad_stays_over_a_descending_bass() {
    for texture in ROOMY {
        let chords = plan("| Am | Am/G# | Am/G | Am/F# |", texture);
        let lowest = MidiNote::clamp(36);
        let basses: Vec<_> = chords.iter().map(|c| c.0.bass(lowest).unwrap()).collect();
        let basses: Vec<_> = basses.iter().map(|n| n.number() % 12).collect();
        assert_eq!(basses, [9, 8, 7, 6]);
        let lines: [(&[&str], &[&str]); 4] = [
            (&["A", "C", "E"], &["F#", "G", "G#"]),
            (&["C", "E", "G#"], &["F#", "G", "A"]),
            (&["A", "C", "E", "G"], &["F#", "G#"]),
            (&["A", "C", "E", "F#"], &["G", "G#"]),
        ];
        for ((placed, _, notes), (with, without)) in chords.iter().zip(lines) {
            assert_eq!(placed.chord.root.to_string(), "A");
            let has = |name: &&&str| notes.iter().any(|note| note == **name);
            assert_eq!(with.iter().find(|n| !has(n)), None, "{notes:?} {texture:?}");
            assert_eq!(without.iter().find(has), None, "{notes:?} {texture:?}");
        }
    }
}

/// Common practice, no published source.
#[test]
fn slash_chords_are_analysed_as_what_they_are() {
    for (text, at, root, function, sounding) in [
        ("| F/G | C6 | F/G | C6 |", 0, "G", "V in C major", "G13sus4"),
        (
            "| Dm7/G | C6 | Dm7/G | C6 |",
            0,
            "G",
            "V in C major",
            "G9sus4",
        ),
        (
            "| Fm7 | Ab/Bb | Ebmaj7 | % |",
            1,
            "Bb",
            "V in Eb major",
            "Bb13sus4",
        ),
        ("| C | C/Bb | F/A | F |", 1, "C", "V in F major", "C7/Bb"),
        ("| C/E | F6 | G13/B | C6 |", 2, "G", "V in C major", "G13/B"),
    ] {
        let (placed, sounds, _) = &plan(text, Texture::FourNotes)[at];
        assert_eq!(placed.chord.root.to_string(), root, "{text}");
        assert_eq!(placed.function.to_string(), function, "{text}");
        assert_eq!(sounds, sounding, "{text}");
    }
}

/// The symbol stays as written, whatever it means.
#[test]
fn what_is_written_is_kept() {
    for text in ["F/G", "Dm7/G", "C/Bb", "Am/G#", "G7/B", "Am7"] {
        let written = symbol::parse(text).unwrap();
        let placed = placed(written, Mode::Major);
        assert_eq!(Symbol(&placed.written, Sign::Ascii).to_string(), text);
        let taste = Taste::default();
        let voiced = pipeline::step(None, &placed, &taste);
        assert!(!placed.scales(&voiced.voicing).is_empty());
    }
}
