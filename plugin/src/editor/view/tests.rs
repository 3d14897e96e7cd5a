//! The words of the panel.

use super::notes::added;
use super::now::why;
use super::signs::degree_name;
use super::*;
use crate::engine::settings::{Settings, Source};
use crate::engine::snapshot::{Snapshot, Sounding};
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::{self, TICKS_PER_QUARTER};
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::{MidiNote, NoteName, PitchClass};
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol;
use guidehand_theory::tension::{NinthRequest, PlainNinthRequest};

fn settings() -> Settings {
    Settings::plain(Source::Roots)
}

/// The first chord of a chart as it sounds.
fn first_of(text: &str, taste: &Taste) -> Sounding {
    let chart = chart::parse(text).unwrap();
    let placed = pipeline::place(&chart, None);
    let plan = pipeline::plan(&placed, taste.texture, taste.register, Ends::Open);
    let (placed, planned): (ChordInKey, _) = (placed[0].unwrap(), plan[0].unwrap());
    Sounding {
        placed,
        voiced: pipeline::adapt(&planned, &placed, taste),
        bass: None,
        read: None,
    }
}

fn showing(sounding: Sounding) -> Snapshot {
    Snapshot {
        sounding: Some(sounding),
        last: Some(sounding),
        ..Snapshot::default()
    }
}

#[test]
fn notes_and_degrees_get_signs_and_words_keep_their_letters() {
    for (plain, signed) in [
        ("Bb", "B♭"),
        ("F#4", "F♯4"),
        ("Ebb", "E♭♭"),
        ("b9", "♭9"),
        ("bb7", "♭♭7"),
        ("b9 #11", "♭9 ♯11"),
        ("bVII, backdoor in Bb major", "♭VII, backdoor in B♭ major"),
        ("#iv°, passing in F# minor", "♯iv°, passing in F♯ minor"),
        ("bvi° to big, bivouac", "♭vi° to big, bivouac"),
        ("#ivø in C major", "♯ivø in C major"),
        ("V of bII in Ab major", "V of ♭II in A♭ major"),
        ("bebop dominant", "bebop dominant"),
        ("Mixolydian b13", "Mixolydian ♭13"),
        ("Phrygian dominant with #9", "Phrygian dominant with ♯9"),
        ("altered, by voice leading", "altered, by voice leading"),
        ("Above", "Above"),
        ("a 7(b9) b", "a 7(♭9) b"),
        ("größer", "größer"),
        ("", ""),
    ] {
        assert_eq!(with_signs(plain), signed, "{plain}");
    }
}

#[test]
fn no_name_of_the_theory_keeps_an_ascii_sign() {
    for degree in Degree::ALL {
        let name = degree_name(degree);
        assert!(!name.contains(['b', '#']), "{name}");
    }
    for fifths in -15..=15 {
        let name = note_name(NoteName::from_fifths(fifths));
        assert!(!name.contains(['b', '#']), "{name}");
    }
    for class in (0..12).map(PitchClass::wrapping) {
        for mode in [Mode::Major, Mode::Minor, Mode::Blues] {
            let key = words(&Key::usual(class, mode));
            let signs = key.trim_end_matches(" blues");
            assert!(!signs.contains(['b', '#']), "{key}");
        }
    }
}

#[test]
fn a_symbol_comes_apart_and_together() {
    for text in [
        "C",
        "Bb",
        "F#m7b5",
        "Ebmaj7",
        "Abmaj9#11/Eb",
        "Dbm(maj7)",
        "G7(b9,b13)",
        "C6/9",
        "Bdim7/D",
        "F#7sus4(b9)/C#",
        "A7alt",
        "Dadd9",
        "Caug",
        "D/C7",
        "F#m/Eb7(#9)",
    ] {
        let chord = symbol::parse(text).unwrap();
        let parts = letters(&chord);
        let brackets = parts.brackets.replace(' ', ",");
        let joined = [
            &parts.root,
            &parts.accidental,
            &parts.quality,
            &brackets,
            &parts.bass,
        ]
        .map(String::as_str)
        .concat();
        assert_eq!(joined, symbol(&chord), "{text}");
        assert_eq!(parts.root.len(), 1, "{text}");
        assert_eq!(parts.bass.is_empty(), chord.bass.is_none(), "{text}");
    }
}

#[test]
fn the_notes_of_a_dominant_are_told_apart() {
    let sounding = first_of("| G7b9 | Cmaj7 |", &Taste::default());
    let marks = marks(&sounding);
    let kinds: Vec<(&str, NoteKind)> = marks.iter().map(|m| (m.label.as_str(), m.kind)).collect();
    assert_eq!(
        kinds,
        [
            ("♭7", NoteKind::Guide),
            ("♭9", NoteKind::Altered),
            ("3", NoteKind::Guide),
            ("13", NoteKind::Natural),
        ]
    );
    let notes: Vec<u8> = marks.iter().map(|m| m.note).collect();
    assert_eq!(notes, [53, 56, 59, 64]);
}

#[test]
fn the_fifth_of_a_half_diminished_chord_is_a_chord_tone() {
    let sounding = first_of("| Bm7b5 | E7 | Am6 |", &Taste::default());
    let marks = marks(&sounding);
    let fifth = marks.iter().find(|m| m.label == "♭5").unwrap();
    assert_eq!(fifth.kind, NoteKind::ChordTone);
    assert!(added(&sounding).is_empty());
}

#[test]
fn the_bass_is_marked_by_its_name() {
    let mut sounding = first_of("| C7/Bb | F6 |", &Taste::default());
    sounding.bass = Some(MidiNote::clamp(34));
    let marks = marks(&sounding);
    assert_eq!((marks[0].note, marks[0].label.as_str()), (34, "B♭"));
    assert_eq!(marks[0].kind, NoteKind::Bass);
}

#[test]
fn each_tension_has_its_own_reason() {
    let by_context = Taste::default();
    let mut asked = by_context;
    asked.requests.ninth = NinthRequest::Flat9;
    let mut plain = by_context;
    plain.requests.plain_ninth = PlainNinthRequest::Nine;
    for (text, taste, wanted) in [
        (
            "| G7 | Cm6 |",
            &by_context,
            "♭9 ♭13: falls a fifth to a minor chord",
        ),
        (
            "| G7 | Cmaj7 |",
            &by_context,
            "9 13: falls a fifth to a major chord",
        ),
        (
            "| G7 | Cmaj7 |",
            &asked,
            "♭9: as asked, 13: falls a fifth to a major chord",
        ),
        (
            "| G7b9 | Cmaj7 |",
            &asked,
            "♭9: as written, 13: falls a fifth to a major chord",
        ),
        ("| G13 | Cmaj7 |", &asked, "9 13: as written"),
        ("| Cmaj7 |", &asked, "9: usual on this kind of chord"),
        ("| Cm9 |", &asked, "9: as written"),
        ("| C |", &asked, "9: a major triad dressed as 6/9"),
        ("| Bdim7 |", &asked, ""),
        ("| Cmaj7 |", &plain, "9: as asked"),
        ("| Dm7 |", &plain, "9: as asked"),
        ("| Cm9 |", &plain, "9: as written"),
        (
            "| G7 | Cmaj7 |",
            &plain,
            "9 13: falls a fifth to a major chord",
        ),
    ] {
        let why = why(
            &first_of(text, taste),
            &taste.requests,
            DegreeSet::default(),
        );
        assert_eq!(why, wanted, "{text}");
    }
}

#[test]
fn the_chord_on_show_says_what_it_is() {
    let sounding = first_of("| G7 | Cm6 |", &Taste::default());
    let now = now(&showing(sounding), &settings()).unwrap();
    assert_eq!(now.written.as_deref(), Some("G7"));
    assert_eq!(now.letters.brackets, "(♭9,♭13)");
    assert_eq!(now.function, "V in C minor");
    assert!(
        now.notes
            .starts_with("form A, seventh lowest:  F3  A♭3  B3  E♭4"),
        "{}",
        now.notes
    );
    assert!(!now.past);

    let as_written = first_of("| Dm9 |", &Taste::default());
    let now = super::now(&showing(as_written), &settings()).unwrap();
    assert_eq!(now.written, None);
}

#[test]
fn a_released_chord_stays_on_show() {
    let sounding = first_of("| Dm7 |", &Taste::default());
    let snapshot = Snapshot {
        last: Some(sounding),
        ..Snapshot::default()
    };
    assert!(now(&snapshot, &settings()).unwrap().past);
    assert_eq!(now(&Snapshot::default(), &settings()), None);
}

#[test]
fn hints_say_what_to_do() {
    let nothing = Snapshot::default();
    let playing = Snapshot {
        playing: true,
        ..nothing
    };
    let roots = settings();
    let chart = Settings {
        source: Source::Chart,
        ..roots
    };
    let mut gated = chart;
    gated.chart.gate = true;
    let bypassed = Settings {
        bypass: true,
        ..roots
    };
    let sounds = showing(first_of("| Dm7 |", &Taste::default()));
    for (snapshot, settings, wanted) in [
        (&nothing, &roots, Some("Play a root below C4")),
        (&nothing, &chart, Some("Start the host")),
        (&playing, &chart, None),
        (&nothing, &gated, Some("Start the host")),
        (&playing, &gated, Some("Hold a key below C4")),
        (&sounds, &bypassed, Some("Bypassed")),
        (&sounds, &roots, None),
        (&sounds, &chart, None),
    ] {
        let hint = hint(snapshot, settings, false);
        match wanted {
            None => assert_eq!(hint, None),
            Some(start) => assert!(
                hint.as_ref().is_some_and(|h| h.starts_with(start)),
                "{hint:?}"
            ),
        }
    }
}

#[test]
fn without_a_host_the_panel_is_what_starts() {
    let settings = Settings::plain(Source::Chart);
    let alone = hint(&Snapshot::default(), &settings, true).unwrap();
    assert!(alone.starts_with("Press play"), "{alone}");
    let playing = Snapshot {
        playing: true,
        ..Snapshot::default()
    };
    assert_eq!(hint(&playing, &settings, true), None);
}

#[test]
fn the_keyboard_holds_the_register_and_all_marks() {
    for lowest in 36..=60 {
        for highest in 60..=96 {
            for texture in Texture::ALL {
                for bass_channel in [None, Some(1)] {
                    let register = Register::new(MidiNote::clamp(lowest), MidiNote::clamp(highest));
                    let settings = Settings {
                        taste: Taste {
                            texture,
                            register,
                            ..Taste::default()
                        },
                        bass_channel,
                        ..settings()
                    };
                    let keys = keyboard(&settings, &[]);
                    assert!(*keys.start() + 4 < register.lowest.number(), "{keys:?}");
                    assert!(*keys.end() > register.highest.number() + texture.headroom());
                    assert!(!is_black(*keys.start()) && !is_black(*keys.end()));
                    assert!(bass_channel.is_none() || *keys.start() <= 28);
                }
            }
        }
    }
    let keys = keyboard(&settings(), &[1, 126]);
    assert_eq!(keys, 0..=127);
}

#[test]
fn a_beat_has_its_bar() {
    let chart = chart::parse("3/4 | C6 | F6 |").unwrap();
    assert_eq!(place(&chart, 0), "bar 1, beat 1");
    assert_eq!(place(&chart, 5 * TICKS_PER_QUARTER), "bar 2, beat 3");
    assert_eq!(extent(&chart), "2 bars of 3/4");
    let chart = chart::parse("3/4 |: C6 | 4/4 F6 :|").unwrap();
    assert_eq!(place(&chart, 6 * TICKS_PER_QUARTER), "bar 2, beat 4");
    assert_eq!(place(&chart, 6720), "bar 3, beat 1");
    assert_eq!(extent(&chart), "4 bars of 3/4 and other meters");
}
