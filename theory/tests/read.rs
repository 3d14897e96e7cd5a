//! The reader, tested with everything that the generator makes, and with sets that need
//! their context.

#[path = "reading/mod.rs"]
mod reading;

use guidehand_theory::candidates::{self, Register};
use guidehand_theory::chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::key::Key;
use guidehand_theory::pipeline::{self, ChordInKey};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::read::{Context, Reading, Readings, read};
use guidehand_theory::shape::Texture;
use guidehand_theory::symbol::{self, Sign, Symbol};
use guidehand_theory::tension::{self, TensionRequests};
use guidehand_theory::voicing::{Position, Voicing};
use reading::{Family, Known};

fn notes(numbers: &[i32]) -> Vec<MidiNote> {
    numbers.iter().map(|n| MidiNote::clamp(*n)).collect()
}

fn chord(text: &str) -> Option<Chord> {
    Some(symbol::parse(text).unwrap())
}

fn says(reading: &Reading) -> String {
    Symbol(&reading.chord, Sign::Ascii).to_string()
}

fn all(readings: &Readings) -> Vec<String> {
    readings.iter().map(says).collect()
}

/// Common practice, no published source.
#[test]
fn rootless_voicings_are_read_in_context() {
    let g13 = notes(&[53, 57, 59, 64]);
    let context = Context {
        key: Some(Key::C_MAJOR),
        before: chord("Dm7"),
        ..Context::default()
    };
    let readings = read(&g13, &context);
    assert_eq!(says(&readings[0]), "G13");
    assert_eq!(readings[0].position, Some(Position::Seventh));

    let c7 = notes(&[52, 56, 58, 61]);
    let context = Context {
        after: chord("F"),
        ..Context::default()
    };
    let readings = read(&c7, &context);
    assert_eq!(says(&readings[0]), "C7(b9,b13)");
    assert_eq!(readings[0].position, Some(Position::Third));
    assert!(
        all(&readings).contains(&"Gb9".to_owned()),
        "{:?}",
        all(&readings)
    );

    let dm9 = notes(&[53, 57, 60, 64]);
    let context = Context {
        key: Some(Key::C_MAJOR),
        after: chord("G7"),
        ..Context::default()
    };
    assert_eq!(says(&read(&dm9, &context)[0]), "Dm9");
    let alone = all(&read(&dm9, &Context::default()));
    for meaning in ["Dm9", "Fmaj7", "G13sus4"] {
        assert!(alone.contains(&meaning.to_owned()), "{alone:?}");
    }
}

#[test]
fn a_bass_note_settles_it() {
    let set = notes(&[53, 57, 60, 64]);
    for (bass, symbol) in [(2, "Dm9"), (5, "Fmaj7"), (7, "G13sus4")] {
        let context = Context {
            bass: Some(guidehand_theory::pitch::PitchClass::wrapping(bass)),
            ..Context::default()
        };
        assert_eq!(says(&read(&set, &context)[0]), symbol);
    }
}

#[test]
fn nothing_is_read_into_nothing() {
    assert!(read(&[], &Context::default()).is_empty());
    assert!(read(&notes(&[60, 72]), &Context::default()).is_empty());
    let cluster: Vec<_> = (60..72).collect();
    assert!(read(&notes(&cluster), &Context::default()).is_empty());
}

/// A voicing of a chart, with what is around it.
struct Case {
    placed: ChordInKey,
    voicing: Voicing,
    before: Chord,
    after: Chord,
}

fn cases() -> Vec<Case> {
    let text = include_str!("data/charts.txt");
    let mut cases = Vec::new();
    let lines: Vec<_> = text.lines().filter(|l| l.starts_with('|')).collect();
    assert_eq!(lines.len(), 50);
    for line in lines {
        let chart = chart::parse(line).unwrap_or_else(|e| panic!("{line}: {e:?}"));
        let placed: Vec<ChordInKey> = pipeline::place(&chart, None)
            .into_iter()
            .flatten()
            .collect();
        for (i, p) in placed.iter().enumerate() {
            let before = placed[(i + placed.len() - 1) % placed.len()].chord;
            let after = placed[(i + 1) % placed.len()].chord;
            for tensions in tension::resolve(&p.chord, &p.function, TensionRequests::default()) {
                for texture in Texture::ALL {
                    for voicing in candidates::of(&p.chord, &tensions, texture, Register::DEFAULT) {
                        cases.push(Case {
                            placed: *p,
                            voicing,
                            before,
                            after,
                        });
                    }
                }
            }
        }
    }
    cases
}

/// The right reading: the root, every note by its name, and the quality where
/// its guide tones sound.
fn is_right(reading: &Reading, case: &Case) -> bool {
    let chord = &reading.chord;
    let sounding = case.placed.sounding(&case.voicing);
    let guided = chord
        .third()
        .is_some_and(|d| case.voicing.degrees().contains(d))
        && chord
            .seventh()
            .is_some_and(|d| case.voicing.degrees().contains(d));
    chord.root.class() == sounding.root.class()
        && reading.degrees == case.voicing.degrees()
        && (!guided || chord.quality == sounding.quality)
}

fn share(cases: &[Case], first: usize, context: impl Fn(&Case) -> Context) -> (usize, Vec<String>) {
    let mut right = 0;
    let mut wrong = Vec::new();
    for case in cases {
        let notes: Vec<_> = case.voicing.notes().collect();
        let readings = read(&notes, &context(case));
        if readings.iter().take(first).any(|r| is_right(r, case)) {
            right += 1;
        } else {
            let meant = Symbol(&case.placed.chord, Sign::Ascii).to_string();
            wrong.push(format!(
                "{meant} {} as {:?}",
                case.voicing.degrees(),
                all(&readings)
            ));
        }
    }
    (right, wrong)
}

fn is_root(case: &Case) -> Option<guidehand_theory::pitch::PitchClass> {
    Some(case.placed.chord.root.class())
}

#[test]
fn what_the_generator_makes_is_read_back() {
    let cases = cases();
    let percent =
        |right: usize| f64::from(u32::try_from(right * 10_000 / cases.len()).unwrap()) / 100.0;
    let (charted, wrong) = share(&cases, 1, |case| Context {
        key: Some(case.placed.function.key),
        before: Some(case.before),
        after: Some(case.after),
        charted: Some(case.placed.chord),
        bass: None,
    });
    let (bass, _) = share(&cases, 1, |case| Context {
        key: Some(case.placed.function.key),
        before: Some(case.before),
        after: Some(case.after),
        charted: None,
        bass: is_root(case),
    });
    let (around, _) = share(&cases, 1, |case| Context {
        key: Some(case.placed.function.key),
        before: Some(case.before),
        after: Some(case.after),
        ..Context::default()
    });
    let (alone, _) = share(&cases, 3, |_| Context::default());
    println!(
        "{} voicings; first reading right with the chart {} %, with its root in the bass {} %, \
         with key and neighbours {} %; among the first three with no context {} %",
        cases.len(),
        percent(charted),
        percent(bass),
        percent(around),
        percent(alone)
    );
    assert!(percent(charted) >= 99.0, "{wrong:#?}");
    assert!(percent(bass) >= 97.0);
    // Some sets are two chords of one key at once: F A C E is Dm9 and G13sus4.
    assert!(percent(around) >= 80.0);
    assert!(percent(alone) >= 90.0);
}

/// Rootless sets with one chord around them, beside what general libraries say
/// of the notes: none of them names a single one as it is meant.
#[test]
fn sets_that_finders_miss_are_read_in_context() {
    use guidehand_theory::key::Mode;
    use guidehand_theory::pitch::SpelledPitch;
    let table = include_str!("data/sets-in-finders.txt");
    let mut sets = 0;
    for row in table.lines().filter(|l| !l.starts_with('#')) {
        let cells: Vec<&str> = row.split(" | ").collect();
        let [set, meant, around, finders @ ..] = cells.as_slice() else {
            panic!("{row}")
        };
        assert_eq!(finders.len(), 3, "{row}");
        for names in finders {
            let names: Vec<&str> = names.split(", ").collect();
            assert!(!names.contains(meant), "{row}");
        }
        let set: Vec<MidiNote> = set
            .split(' ')
            .map(|n| SpelledPitch::parse(n).and_then(SpelledPitch::midi).unwrap())
            .collect();
        let (before, after) = match around.split_at(1) {
            ("<", text) => (chord(text), None),
            (">", text) => (None, chord(text)),
            _ => panic!("{row}"),
        };
        // The key of C, major or minor as the chords around say.
        let minor = after.or(before).is_some_and(|c| c.quality.is_minor());
        let key = Key::usual(
            guidehand_theory::pitch::PitchClass::wrapping(0),
            if minor { Mode::Minor } else { Mode::Major },
        );
        let context = Context {
            key: Some(key),
            before,
            after,
            ..Context::default()
        };
        let readings = all(&read(&set, &context));
        assert_eq!(
            readings.first().map(String::as_str),
            Some(*meant),
            "{row}: {readings:?}"
        );
        sets += 1;
    }
    assert_eq!(sets, 23);
}

/// The goal is 95 % with the chords around and 88 % with the key alone on the judging
/// set, where more context never reads a family worse. The third group, which the
/// points were not set for, is harder: there the goals are not reached yet, and minor
/// sevenths and tonics lose a little by their context.
#[test]
fn stock_progressions_are_read() {
    let report = reading::measure_on(&[0, 6]);
    println!("{report}");
    for set in [&report.training, &report.judging] {
        for family in Family::ALL {
            let [key, all] = [Known::Key, Known::Everything].map(|k| set.family(family, k));
            assert!(key.of >= 20, "{family:?}: {} voicings", key.of);
            assert!(all.right >= key.right, "{family:?} falls:\n{report}");
        }
    }
    let judging = |known| report.judging.all(known).percent();
    assert!(judging(Known::Key) >= 89.0, "{report}");
    assert!(judging(Known::Everything) >= 95.0, "{report}");
    let fresh = |known| report.fresh.all(known).percent();
    assert!(fresh(Known::Key) >= 86.0, "{report}");
    assert!(fresh(Known::Everything) >= 91.0, "{report}");
}

fn first(set: &[i32], key: &str, before: &str, after: &str) -> String {
    let named = |text: &str| (!text.is_empty()).then(|| chord(text).unwrap());
    let context = Context {
        key: Key::parse(key),
        before: named(before),
        after: named(after),
        ..Context::default()
    };
    says(&read(&notes(set), &context)[0])
}

/// Common practice, no published source.
#[test]
fn context_reads_as_a_musician_would() {
    // A line over a minor tonic.
    assert_eq!(first(&[54, 59, 60, 64], "Am", "Am", "Am6"), "Am6/9");
    assert_eq!(first(&[54, 59, 60, 64], "C", "Dm7", "G7"), "D13");
    // A minor ninth after its own ii, and before its V.
    let dm9 = [53, 57, 60, 64];
    assert_eq!(first(&dm9, "C", "Dm7", ""), "Dm9");
    assert_eq!(first(&dm9, "C", "Cmaj7", "G7"), "Dm9");
    assert_eq!(first(&dm9, "C", "A7", "G7"), "Dm9");
    assert_eq!(first(&dm9, "C", "Dm7", "Cmaj7"), "G13sus4");
    // Diminished chords between neighbours a step apart.
    let diminished = [52, 55, 58, 61];
    assert_eq!(first(&diminished, "C", "Dm7", "Cmaj7"), "Dbdim7");
    assert_eq!(first(&diminished, "C", "Cmaj7", "Dm7"), "C#dim7");
    assert_eq!(first(&diminished, "Cm", "Cm6", "Fm6"), "Edim7");
    // A plain triad is read as a triad, with a key and without.
    for key in ["", "C", "F", "G"] {
        assert_eq!(first(&[48, 52, 55], key, "", ""), "C", "{key}");
    }
}

/// Three notes that are a major or minor triad are called by its name, however they lie, in every
/// key and among other triads. Chords with sevenths around them, a chart or another bass ask for
/// more than that (common practice, no published source).
#[test]
fn a_plain_triad_is_called_by_its_name() {
    use guidehand_theory::pitch::PitchClass;
    let lies: [&[i32]; 6] = [
        &[0, 4, 7],
        &[4, 7, 12],
        &[7, 12, 16],
        &[0, 7, 16],
        &[4, 12, 19],
        &[0, 7, 12, 16],
    ];
    let keys = ["", "C", "G", "F", "D", "Bb", "Am", "Em", "Dm", "Cm"];
    let around = ["", "C", "Am", "F", "G", "Dm", "Em"];
    for root in 0..12_i32 {
        for (third, kind) in [(4, ""), (3, "m")] {
            for lie in lies {
                let major = |n: &i32| 48 + root + if n % 12 == 4 { n - 4 + third } else { *n };
                let set: Vec<i32> = lie.iter().map(major).collect();
                let name = |class: i32| {
                    let class = PitchClass::wrapping(class);
                    symbol::parse(&format!(
                        "{}{kind}",
                        Key::usual(class, guidehand_theory::key::Mode::Major).tonic
                    ))
                    .unwrap()
                };
                let expected = name(root);
                for key in keys {
                    for (before, after) in around.iter().zip(around.iter().cycle().skip(2)) {
                        let named = |text: &str| (!text.is_empty()).then(|| chord(text).unwrap());
                        let context = Context {
                            key: Key::parse(key),
                            before: named(before),
                            after: named(after),
                            ..Context::default()
                        };
                        let best = read(&notes(&set), &context)[0].chord;
                        let found = (best.root.class(), best.quality, best.seventh());
                        let meant = (expected.root.class(), expected.quality, None);
                        assert_eq!(
                            found, meant,
                            "{set:?} in {key:?} after {before:?} before {after:?}"
                        );
                    }
                }
            }
        }
    }
    // With a key alone, C E G and E G C are the triad. G C E can as well be the rootless Am7 that
    // players of three notes take, and stays with it.
    assert_eq!(first(&[60, 64, 67], "C", "", ""), "C");
    assert_eq!(first(&[64, 67, 72], "C", "", ""), "C");
    assert_eq!(first(&[55, 60, 64], "C", "", ""), "Am7");
    assert_eq!(first(&[55, 60, 64], "", "", ""), "C");
    // A player of sevenths means the ninth above the root that somebody else plays.
    assert_eq!(first(&[62, 67, 71], "C", "Fmaj7", "A7"), "Em7");
    let context = |bass| Context {
        key: Some(Key::C_MAJOR),
        bass: Some(PitchClass::wrapping(bass)),
        ..Context::default()
    };
    let eg = notes(&[60, 64, 67]);
    assert_eq!(says(&read(&eg, &context(9))[0]), "Am7");
    assert_eq!(says(&read(&eg, &context(4))[0]), "C");
    let charted = Context {
        charted: chord("Am7"),
        ..Context::default()
    };
    assert_eq!(says(&read(&eg, &charted)[0]), "Am7");
}

/// A chord that is struck again keeps its reading.
#[test]
fn a_chord_struck_again_is_read_again() {
    for set in [
        &[53, 57, 60, 64][..],
        &[53, 57, 59, 64],
        &[52, 55, 59, 62],
        &[51, 55, 57, 62],
        &[48, 52, 55],
    ] {
        let mut context = Context {
            key: Some(Key::C_MAJOR),
            ..Context::default()
        };
        let once = read(&notes(set), &context)[0].chord;
        context.before = Some(once);
        assert_eq!(
            says(&read(&notes(set), &context)[0]),
            Symbol(&once, Sign::Ascii).to_string()
        );
    }
}
