//! Practice sheets: what every row of them must be, for charts of every kind. Common practice, no
//! published source, but for what a test names.

#[path = "../../../theory/tests/harmony/corpus.rs"]
#[allow(dead_code, reason = "only the texts are read here")]
mod corpus;
mod random;

use guidehand_exchange::practice::{Order, practice};
use guidehand_theory::chart::{self, Chart};
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::Degree;
use guidehand_theory::key::{self, Key, Mode};
use guidehand_theory::pitch::{NoteName, PitchClass};
use guidehand_theory::slash;
use guidehand_theory::symbol::{Sign, Symbol};

const SEED: u64 = 20_261_128;

fn read(text: &str) -> Chart {
    chart::parse(text).unwrap_or_else(|errors| panic!("{text}: {errors:?}"))
}

type Row = Vec<Option<Chord>>;

fn chords(text: &str) -> Row {
    read(text).changes.iter().map(|c| c.chord).collect()
}

/// The chords of each row, rising by half steps from the chart as it is written.
fn rows(text: &str) -> Vec<Row> {
    let sheet = practice(text, Order::HalfSteps).unwrap_or_else(|e| panic!("{text}: {e:?}"));
    let count = chords(text).len();
    let all = chords(&sheet);
    assert_eq!(all.len(), 12 * count, "{text}\n{sheet}");
    all.chunks(count).map(<[_]>::to_vec).collect()
}

/// The chord without its names: classes above C, and what stands on the root.
fn pitches(
    chord: &Chord,
    down: usize,
) -> (PitchClass, Option<PitchClass>, Option<PitchClass>, Chord) {
    let down = 12 - i8::try_from(down).unwrap();
    let class = |name: NoteName| name.class().up(down);
    let plain = Chord {
        root: Key::C_MAJOR.tonic,
        bass: None,
        upper: None,
        ..*chord
    };
    let upper = chord.upper.map(|triad| class(triad.root()));
    (class(chord.root), chord.bass.map(class), upper, plain)
}

/// Whether a major chord with its seventh or sixth stands on a root that gives it two sharps on one
/// note: no player reads D sharp major seventh, so such a chord may give its key seven flats.
fn has_double_sharps(chord: &Chord) -> bool {
    let seventh = chord.seventh();
    let major = matches!(seventh, Some(Degree::Seven | Degree::Six)) && chord.is_major();
    let names = [Degree::Three, Degree::Seven].map(|degree| degree.over(chord.root));
    major && names.iter().any(|name| name.accidental > 1)
}

/// Everything that must hold for the rows of a chart.
fn check(text: &str) {
    let written = chords(text);
    for (up, row) in rows(text).into_iter().enumerate() {
        if up == 0 {
            assert_eq!(row, written, "the written key of {text}");
            continue;
        }
        for (was, is) in written.iter().zip(&row) {
            let said = format!("{text}: {was:?} is {is:?}, {up} half steps up");
            let (Some(was), Some(is)) = (was, is) else {
                assert_eq!(was, is, "{said}");
                continue;
            };
            assert_eq!(pitches(was, 0), pitches(is, up), "{said}");
            let roots = [Some(is.root), is.upper.map(|triad| triad.root())];
            for root in roots.iter().flatten().map(ToString::to_string) {
                assert!(!["E#", "B#", "Fb", "Cb"].contains(&root.as_str()), "{said}");
            }
            let names = [Some(is.root), is.bass, is.upper.map(|triad| triad.root())];
            let signs = names.iter().flatten().map(|name| name.accidental.abs());
            assert!(signs.max() <= Some(1), "{said}");
        }
    }
}

/// The keys that are heard in each row have at most six signs.
fn check_keys(text: &str) {
    let chart = read(text);
    let lengths = || chart.changes.iter().map(|change| change.length_ticks);
    for row in rows(text).iter().skip(1) {
        let timed: Vec<_> = slash::all_meant(row).into_iter().zip(lengths()).collect();
        let functions = key::analyse_in_time(&timed, None);
        for key in functions.iter().flatten().map(|function| function.key) {
            let heard = row.iter().zip(&functions);
            let here = heard.filter(|(_, function)| function.is_some_and(|f| f.key == key));
            let mut here = here.filter_map(|(chord, _)| *chord);
            let few = key.signature().abs() <= 6
                || here.any(|chord| has_double_sharps(&chord.transposed(12)));
            assert!(few, "{text}: {key} in {}", printed(row));
        }
    }
}

#[test]
fn every_row_of_the_corpus_is_the_chart_in_a_key_that_is_read() {
    let tunes = corpus::tunes();
    assert!(tunes.len() > 100);
    for tune in tunes {
        check(&tune.text);
        check_keys(&tune.text);
    }
}

/// Such chords make no keys, so no keys are looked for.
#[test]
fn every_row_of_random_chords_is_the_chart() {
    let mut random = fastrand::Rng::with_seed(SEED);
    for _ in 0..400 {
        check(&random::chart(&mut random));
    }
}

/// Cadences in one key after the other, as charts that modulate have them.
#[test]
fn every_row_of_charts_that_modulate_is_read_key_by_key() {
    let mut random = fastrand::Rng::with_seed(SEED);
    for _ in 0..1_000 {
        let mut text = String::new();
        for _ in 0..random.usize(2..6) {
            text.push_str(&cadence(&mut random));
        }
        check(&text);
        check_keys(&text);
    }
}

/// A cadence, each chord spelled by its degree. The tonic is one that charts are written in.
fn cadence(random: &mut fastrand::Rng) -> String {
    const CADENCES: [(Mode, &[(i8, &str)]); 8] = [
        (Mode::Major, &[(2, "m7"), (1, "7"), (0, "maj7"), (0, "6")]),
        (Mode::Major, &[(0, "6"), (3, "7"), (2, "m7"), (1, "7")]),
        (
            Mode::Major,
            &[(2, "m7"), (-5, "7"), (0, "maj7"), (-1, "maj7")],
        ),
        (
            Mode::Major,
            &[(-1, "maj7"), (-1, "m6"), (0, "6"), (-2, "7")],
        ),
        (
            Mode::Major,
            &[(4, "m7"), (3, "7(b9)"), (2, "m7"), (1, "13")],
        ),
        (
            Mode::Minor,
            &[(2, "m7b5"), (1, "7(b9)"), (0, "m6"), (0, "m7")],
        ),
        (
            Mode::Minor,
            &[(0, "m7"), (-4, "maj7"), (-4, "7"), (1, "7alt")],
        ),
        (
            Mode::Minor,
            &[(-1, "m7"), (-2, "7"), (-3, "maj7"), (-4, "maj7")],
        ),
    ];
    let (mode, degrees) = CADENCES[random.usize(..CADENCES.len())];
    let tonic = Key::usual(PitchClass::wrapping(random.i32(0..12)), mode).tonic;
    let bars = degrees.iter().map(|(fifths, symbol)| {
        let root = tonic.along_fifths(*fifths);
        format!("| {root}{symbol} ")
    });
    bars.collect::<String>() + "|\n"
}

fn printed(row: &[Option<Chord>]) -> String {
    let name = |chord: &Option<Chord>| match chord {
        Some(chord) => Symbol(chord, Sign::Ascii).to_string(),
        None => "N.C.".to_owned(),
    };
    row.iter().map(name).collect::<Vec<_>>().join(" ")
}

fn row(text: &str, up: usize) -> String {
    printed(&rows(text)[up])
}

#[test]
fn a_modulation_is_spelled_for_itself() {
    let text = "| Bm7 | E7 | Amaj7 | Cm7 | F7 | Bbmaj7 | Am7 D7 | Gmaj7 |";
    assert_eq!(row(text, 4), "Ebm7 Ab7 Dbmaj7 Em7 A7 Dmaj7 C#m7 F#7 Bmaj7");
    // Major thirds apart: B, G and E flat, here a half step lower and a whole step higher.
    let thirds = "| Bmaj7 D7 | Gmaj7 Bb7 | Ebmaj7 | Am7 D7 | Gmaj7 Bb7 | Ebmaj7 F#7 | Bmaj7 |";
    let lower = row(thirds, 11);
    assert!(lower.starts_with("Bbmaj7 Db7 Gbmaj7 A7 Dmaj7"), "{lower}");
    let higher = row(thirds, 2);
    assert!(higher.starts_with("Dbmaj7 E7 Amaj7 C7 Fmaj7"), "{higher}");
}

#[test]
fn both_chords_of_a_cadence_have_names_of_one_side() {
    // The related ii of a substitute, and the substitute.
    let text = "| Dm7 | Abm7 Db7 | Cmaj7 |";
    assert_eq!(row(text, 10), "Cm7 F#m7 B7 Bbmaj7");
    assert_eq!(row(text, 3), "Fm7 Bm7 E7 Ebmaj7");
    // The IV of six flats is named by six sharps.
    assert_eq!(row("| C6 | F6 | C6 | G7 |", 6), "F#6 B6 F#6 C#7");
    assert_eq!(row("| C6 | Am7 | Dm7 | G7 |", 6), "Gb6 Ebm7 Abm7 Db7");
}

#[test]
fn a_bass_keeps_its_degree() {
    for (text, up, moved) in [
        ("| Em6 | B7/D# | Em6 |", 2, "F#m6 C#7/E# F#m6"),
        ("| Ab6 | Bb7/D | Eb6 |", 3, "B6 C#7/E# F#6"),
        ("| Cm6/Eb | G7 | Cm6 |", 6, "F#m6/A C#7 F#m6"),
        (
            "| C6 | Fmaj7 | Fm6/Ab | C6/G |",
            1,
            "Db6 Gbmaj7 F#m6/A Db6/Ab",
        ),
        ("| Am | Am/G# | Am/G | Am/F# |", 1, "Bbm Bbm/A Bbm/Ab Bbm/G"),
        // Written by ear, read by its degree.
        ("| F#m6 | C#7/F | F#m6 |", 10, "Em6 B7/D# Em6"),
    ] {
        assert_eq!(row(text, up), moved, "{text}");
    }
}

/// A root that has its other name because the usual one cannot be read, such as E7 for Fb7 in
/// E flat, has its usual name wherever that can be read.
#[test]
fn a_root_that_was_renamed_has_its_usual_name_in_other_keys() {
    let substitute = "| Ebmaj7 | Gm7 | Gb7#11 | Fm7 | E7#11 | Eb6 |";
    let moved = [
        (4, "Gmaj7 Bm7 Bb7(#11) Am7 Ab7(#11) G6"),
        (6, "Amaj7 C#m7 C7(#11) Bm7 Bb7(#11) A6"),
        (11, "Dmaj7 F#m7 F7(#11) Em7 Eb7(#11) D6"),
    ];
    for (up, moved) in moved {
        assert_eq!(row(substitute, up), moved);
    }
    let parallel = "| Gbmaj7 | F#m7 B7 | Gbmaj7 | Abm7 Db7 | Gbmaj7 |";
    assert_eq!(row(parallel, 4), "Bbmaj7 Bbm7 Eb7 Bbmaj7 Cm7 F7 Bbmaj7");
    // Chords that go round the circle keep the names by which it is seen.
    let round = "| C6 | C#7 F#7 | B7 E7 | A7 D7 | G7 | C6 |";
    assert_eq!(row(round, 10), "Bb6 B7 E7 A7 D7 G7 C7 F7 Bb6");
    assert_eq!(row(round, 2), "D6 D#7 G#7 C#7 F#7 B7 E7 A7 D6");
}

#[test]
fn a_cadence_keeps_together_behind_a_tonic() {
    let backdoor = "| Ebmaj7 | Abm7 Db7 | Ebmaj7 | Fm7 Bb7 | Ebmaj7 |";
    assert_eq!(row(backdoor, 10), "Dbmaj7 F#m7 B7 Dbmaj7 Ebm7 Ab7 Dbmaj7");
    // A slash chord goes where the chord goes that it sounds as.
    let suspended = "| F/G | Cmaj7 | Bb/C | Fmaj7 | Eb/F | Bbmaj7/D | Gm7/C | F6 |";
    let moved = "Db/Eb Abmaj7 Gb/Ab Dbmaj7 B/C# F#maj7/A# Ebm7/Ab Db6";
    assert_eq!(row(suspended, 8), moved);
}

#[test]
fn the_triad_over_a_chord_has_a_name_that_is_read() {
    let polychords = "| Eb/C7 | F#m/C7 | Fmaj7 | Ab/Bb7 | Ebmaj7 |";
    assert_eq!(row(polychords, 1), "E/Db7 Gm/Db7 Gbmaj7 A/B7 Emaj7");
    assert_eq!(row(polychords, 6), "A/F#7 Cm/F#7 Bmaj7 D/E7 Amaj7");
}

#[test]
fn minor_chords_a_half_step_apart_have_flats_where_sharps_would_be_far() {
    let modal = "| Dm7 | % | Ebm7 | % | Dm7 | % | Bbm7 Eb7 | Am7 D7 |";
    assert_eq!(row(modal, 1), "Ebm7 Em7 Ebm7 Bm7 E7 Bbm7 Eb7");
}

/// A bridge of dominants, in six flats rather than with A sharp and D sharp.
#[test]
fn far_dominants_have_flats() {
    let bridge = "| C6 A7 | Dm7 G7 | E7 | A7 | D7 | G7 | C6 |";
    assert_eq!(row(bridge, 6), "Gb6 Eb7 Abm7 Db7 Bb7 Eb7 Ab7 Db7 Gb6");
    let form = "| C6 A7 | Dm7 G7 | Gm7 C7 | F7 F#dim7 | C6 G7 | C6 | E7 | A7 | D7 | G7 |";
    let moved = "Gb6 Eb7 Abm7 Db7 C#m7 F#7 B7 Cdim7 Gb6 Db7 Gb6 Bb7 Eb7 Ab7 Db7";
    assert_eq!(row(form, 6), moved);
    // A blues has its fourth degree more often.
    let blues = "| C7 | F7 | C7 | Gm7 C7 | F7 | F#dim7 | C7 | A7 | Dm7 | G7 | C7 A7 | Dm7 G7 |";
    assert!(row(blues, 6).starts_with("F#7 B7 F#7 C#m7 F#7 B7 Cdim7 F#7 D#7 G#m7"));
}

#[test]
fn a_row_of_major_sevenths_has_flats_where_c_sharp_would_have_seven_sharps() {
    let text = "| Cmaj7 | Ebmaj7 | Abmaj7 | Dbmaj7 | Cmaj7 |";
    assert_eq!(row(text, 10), "Bbmaj7 Dbmaj7 Gbmaj7 Bmaj7 Bbmaj7");
}

#[test]
fn no_suspended_chord_stands_on_a_white_key_with_a_sign() {
    let text = "| C7sus4 | Eb7sus4 | Db7sus4 | Bb/C | A/B | Ab/Bb | G/A | F/G |";
    assert!(row(text, 3).ends_with(" C/D B/C# Bb/C Ab/Bb"));
    assert!(row(text, 8).ends_with(" F/G E/F# Eb/F Db/Eb"));
}

/// Tritone substitutes between the chords of a line, written with flats in every key.
#[test]
fn a_substitute_falls_from_one_letter_to_the_next() {
    let line = "| Am7b5 | D7b9 | Gm7 | Cm7 F7 | Bbmaj7 | Am7b5 D7b9 | Gm7 Gb7 | Fm7 |";
    for (up, end) in [(2, "Am7 Ab7 Gm7"), (6, "C#m7 C7 Bm7"), (7, "Dm7 Db7 Cm7")] {
        let moved = row(line, up);
        assert!(moved.ends_with(end), "{moved}");
    }
}
