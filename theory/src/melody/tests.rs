//! The text of melodies, read and printed, and which notes matter.

use super::*;
use crate::chart::{self, Chart, TICKS_PER_QUARTER};
use crate::pitch::NoteNames;
use crate::pitch::{MidiNote, NoteName};
use proptest::prelude::*;

const EIGHTH: u32 = TICKS_PER_QUARTER / 2;

fn chart(text: &str) -> Chart {
    chart::parse(text).unwrap()
}

fn common(bars: usize) -> Chart {
    chart(&"| C ".repeat(bars))
}

/// Each note with its start and length in eighths.
fn eighths(melody: &Melody) -> Vec<(String, u32, u32)> {
    let notes = melody.notes().iter();
    let note = |n: &MelodyNote| {
        assert_eq!(n.start_ticks % EIGHTH + n.length_ticks % EIGHTH, 0);
        let (start, length) = (n.start_ticks / EIGHTH, n.length_ticks / EIGHTH);
        (n.spelled().to_string(), start, length)
    };
    notes.map(note).collect()
}

fn note(name: &str, start: u32, length: u32) -> (String, u32, u32) {
    (name.to_owned(), start, length)
}

#[test]
fn a_melody_reads_as_its_documentation_says() {
    let read = |text| eighths(&parse(text, &common(2)).unwrap());
    assert_eq!(
        read("| E5/2 D5/4 C5 |"),
        [note("E5", 0, 4), note("D5", 4, 2), note("C5", 6, 2)]
    );
    let run = ["G4", "A4", "B4", "C5", "D5"];
    let run: Vec<_> = (3..).zip(run).map(|(at, n)| note(n, at, 1)).collect();
    assert_eq!(read("| r/4. G4/8 A4 B4 C5 D5 |"), run);
    assert_eq!(read("| G4/1~ | G4/2 r |"), [note("G4", 0, 12)]);
    assert_eq!(read("| | A4 |"), [note("A4", 8, 2)]);
    assert_eq!(read("bb4/2 eb5 ||"), [note("Bb4", 0, 4), note("Eb5", 4, 4)]);
    assert_eq!(read("C5/1~ | C5/4~ C5/2. |]"), [note("C5", 0, 16)]);
}

/// Rows of a melody begin and end with bar lines, as those of a chart do.
#[test]
fn a_bar_line_may_end_a_row_and_begin_the_next() {
    let read = |text| eighths(&parse(text, &common(4)).unwrap());
    let four = ["C5", "D5", "E5", "F5"];
    let four: Vec<_> = (0..).zip(four).map(|(at, n)| note(n, at * 8, 8)).collect();
    for text in [
        "C5/1 | D5 | E5 | F5",
        "| C5/1 | D5 |\n| E5 | F5 |",
        "\n | C5/1 | D5 || \r\n\n || E5 | F5 |\n",
        "| C5/1 | D5\n| E5 | F5 |]",
        "| C5/1 | D5 |\nE5 | F5 |",
    ] {
        assert_eq!(read(text), four, "{text:?}");
    }
    for text in [
        "| C5/1 |\n| |\n| D5 |",
        "| C5/1 | |\n| D5 |",
        "| C5/1 |\n| | D5 |",
    ] {
        assert_eq!(
            read(text),
            [note("C5", 0, 8), note("D5", 16, 8)],
            "{text:?}"
        );
    }
}

#[test]
fn triplets_and_ticks() {
    let melody = parse("| C5/8t D5 Eb5 F5/2. |", &common(1)).unwrap();
    let starts: Vec<u32> = melody.notes().iter().map(|n| n.start_ticks).collect();
    assert_eq!(starts, [0, 320, 640, 960]);
    let melody = parse("| C5:137 r:3703 |", &common(1)).unwrap();
    assert_eq!(melody.notes()[0].length_ticks, 137);
}

#[test]
fn meters_and_a_pickup_are_those_of_the_chart() {
    let waltz = chart("| Pickup G7 | 3/4 C | 4/4 F |");
    let melody = parse("G4 | C5/2. | A4/1 |", &waltz).unwrap();
    assert_eq!(
        eighths(&melody),
        [note("G4", 0, 2), note("C5", 2, 6), note("A4", 8, 8)]
    );
    let told = parse("G4/2 | C5/2. | A4/1 |", &waltz).unwrap_err();
    assert_eq!(told[0].bar, 0);
    assert_eq!(
        told[0].to_string(),
        "pickup: notes and rests of 2 beats in 1/4; expected 1"
    );
    let german = chart::parse_with("| Hm7 | B7 |", crate::pitch::NoteNames::German).unwrap();
    let melody = parse("| H4/1 | B4/2 Es5 |", &german).unwrap();
    let names: Vec<_> = melody
        .notes()
        .iter()
        .map(|n| n.spelled().to_string())
        .collect();
    assert_eq!(names, ["B4", "Bb4", "Eb5"]);
    assert_eq!(melody.text(&german), "| H4/1 | B4/2 Es5 |");
}

/// Every kind of trouble, with its place, its bar and what was expected.
#[test]
fn what_cannot_be_read_is_told_with_its_place() {
    let chart = common(2);
    for (text, at, words) in [
        ("| C5/2 H4 |", 7..9, "bar 1: \"H4\" is no note"),
        ("| C5/2 rest |", 7..11, "bar 1: \"rest\" is no note"),
        ("| C5/2 D |", 7..8, "bar 1: \"D\" is no key"),
        ("| C5/2 G#9 |", 7..10, "bar 1: \"G#9\" is no key"),
        ("| C5/3 |", 2..6, "bar 1: \"/3\" is no length"),
        ("| C5/4... |", 2..9, "bar 1: \"/4...\" is no length"),
        ("| C5:0 |", 2..6, "bar 1: \":0\" is no length"),
        (
            "| C5/2. D5/8 | E5/1 |",
            2..12,
            "bar 1: notes and rests of 3.5 beats in 4/4; expected 4",
        ),
        (
            "| C5/1 | E5/1 F5/4 |",
            9..18,
            "bar 2: notes and rests of 5 beats in 4/4; expected 4",
        ),
        ("| C5/1~ | D5/1 |", 6..14, "bar 2: \"~\" ties two notes"),
        ("| C5/1~ | r/1 |", 6..7, "bar 2: \"~\" ties two notes"),
        ("| C5/1~ |", 6..7, "bar 1: \"~\" ties two notes"),
        ("| ~ C5/1 |", 2..3, "bar 1: \"~\" ties two notes"),
        // A tie after a word that cannot be read is no second error.
        ("| X5/2~ C5 |", 2..6, "bar 1: \"X5/2\" is no note"),
        ("| C5/1 | | E5/1 |", 11..15, "bar 3: the chart has 2 bars"),
    ] {
        let errors = parse(text, &chart).unwrap_err();
        assert_eq!(errors.len(), 1, "{text}: {errors:?}");
        assert_eq!(errors[0].source, at, "{text}");
        let told = errors[0].to_string();
        assert!(told.starts_with(words), "{told}");
        assert!(told.contains("expected"), "{told}");
    }
    let long = " ".repeat(LONGEST_TEXT + 1);
    let told = parse(&long, &chart).unwrap_err();
    assert_eq!(told[0].problem, MelodyProblem::TooLong);
    // Several at once, in the order of the text.
    let told = parse("| X5 Y5 | C5/8 |", &chart).unwrap_err();
    assert_eq!(told.len(), 2);
}

#[test]
fn more_notes_than_a_melody_holds_are_told() {
    let meter = "| 16/4 C ".to_owned() + &"| C ".repeat(80);
    let bar = format!("| C5/64{} ", " C5".repeat(255));
    let text = bar.repeat(80);
    assert!(text.len() < LONGEST_TEXT);
    let told = parse(&text, &chart(&meter)).unwrap_err();
    assert_eq!(told[0].problem, MelodyProblem::TooMany);
}

#[test]
fn a_line_has_one_note_at_a_time() {
    let sounding = |note: i32, start_ticks, length_ticks| MelodyNote {
        note: MidiNote::clamp(note),
        name: None,
        start_ticks,
        length_ticks,
    };
    let melody = Melody::new([
        sounding(72, 960, 960),
        sounding(60, 0, 2000),
        sounding(64, 960, 5000),
        sounding(50, 3000, 0),
    ]);
    let expected = [sounding(60, 0, 960), sounding(72, 960, 960)];
    assert_eq!(melody.notes(), expected);
    assert_eq!(melody.at(959).map(|n| n.note.number()), Some(60));
    assert_eq!(melody.at(1920), None);
    assert_eq!(melody.within(&(960..961)), &expected[1..]);
    assert_eq!(melody.within(&(1920..9000)), &[]);
    let wrong = MelodyNote {
        name: Some(NoteName::from_fifths(1)),
        ..sounding(60, 0, 1)
    };
    assert_eq!(Melody::new([wrong]).notes()[0].name, None);
    assert_eq!(Melody::new([wrong]).transposed(120, 0), None);
}

/// Common practice, no published source.
#[test]
fn notes_that_are_long_strong_or_struck_matter() {
    let over = |chart_text: &str, text: &str, change: usize| {
        let chart = chart(chart_text);
        let melody = parse(text, &chart).unwrap();
        let change = &chart.changes[change];
        let ticks = change.start_ticks..change.start_ticks + change.length_ticks;
        let found = melody.that_matter(&chart, ticks);
        let names: Vec<String> = found.map(|n| n.spelled().to_string()).collect();
        names.join(" ")
    };
    // Struck with the chord; on the third beat; a quarter on a weak beat.
    assert_eq!(over("| C |", "C5/8 D5 E5 F5 G5 A5 B5/4", 0), "C5 G5 B5");
    // Held into the chord, and a note before it.
    assert_eq!(
        over("| C | F |", "r/2 D5/4 r/8 A5~ | A5/8 G5 F5 E5", 1),
        "A5"
    );
    // A note that is long in all, but short over this chord, off its strike.
    assert_eq!(over("| C | F |", "C5/2 r/4. A4/8~ | A4/1", 0), "C5");
    // In a waltz only the first beat is strong; quarters are long enough.
    assert_eq!(over("| 3/4 C |", "C5/8 D5 E5 F5 G5 A5", 0), "C5");
    assert_eq!(over("| 3/4 C |", "C5/8 D5 E5/4 G5/8 A5", 0), "C5 E5");
    // In 6/8 a beat is a dotted quarter.
    assert_eq!(over("| 6/8 C |", "C5/8 D5 E5 F5/4 A5/8", 0), "C5");
    assert_eq!(
        over("| 12/8 C |", "C5/8 D5 E5 F5 G5 A5 B5 C6 D6 E6 F6 G6", 0),
        "C5 B5"
    );
    // 5/4 is three and two.
    assert_eq!(
        over("| 5/4 C |", "C5/8 D5 E5 F5 G5 A5 B5 C6 D6 E6", 0),
        "C5 B5"
    );
    let chart = chart("| C F |");
    let melody = parse("C5/1", &chart).unwrap();
    assert_eq!(melody.without_passing(&chart), melody);
}

fn any_chart() -> impl Strategy<Value = Chart> {
    let meters = prop::sample::select(vec!["4/4", "3/4", "5/4", "6/8", "2/2", "7/8"]);
    let bars = prop::collection::vec(meters, 1..6);
    (bars, any::<bool>()).prop_map(|(meters, pickup)| {
        let first = if pickup { "| Pickup G7 " } else { "" };
        let bars: String = meters.iter().map(|meter| format!("| {meter} C ")).collect();
        chart(&format!("{first}{bars}"))
    })
}

fn any_melody() -> impl Strategy<Value = Melody> {
    let grid = prop::sample::select(vec![1, 40, 60, 80, 240, 320, 480]);
    let fifths = -14_i8..=19;
    let note = (
        0..=127_i32,
        fifths,
        any::<bool>(),
        0..40_u32,
        1..40_u32,
        grid,
    );
    prop::collection::vec(note, 0..20).prop_map(|notes| {
        let mut now = 0;
        let notes = notes
            .into_iter()
            .map(|(octave, fifths, tight, gap, length, grid)| {
                let name = NoteName::from_fifths(fifths);
                let low = MidiNote::clamp(octave.min(115));
                let start_ticks = now + if tight { 0 } else { gap * grid };
                now = start_ticks + length * grid;
                MelodyNote {
                    note: low.next_of(name.class()).unwrap(),
                    name: Some(name),
                    start_ticks,
                    length_ticks: length * grid,
                }
            });
        let notes: Vec<MelodyNote> = notes.collect();
        Melody::new(notes)
    })
}

/// What lies within the chart.
fn cut(melody: &Melody, chart: &Chart) -> Melody {
    let end = chart.length_ticks();
    let notes = melody.notes().iter().filter(|n| n.start_ticks < end);
    Melody::new(notes.map(|n| MelodyNote {
        length_ticks: n.end_ticks().min(end) - n.start_ticks,
        ..*n
    }))
}

proptest! {
    #[test]
    fn what_is_printed_reads_back(chart in any_chart(), melody in any_melody()) {
        let text = melody.text(&chart);
        let read = parse(&text, &chart);
        prop_assert_eq!(read.as_ref(), Ok(&cut(&melody, &chart)), "{}", text);
        // There is one form.
        prop_assert_eq!(read.unwrap().text(&chart), text);
    }

    /// Notes without a name get one, and sound as before.
    #[test]
    fn without_names_the_same_keys_come_back(chart in any_chart(), melody in any_melody()) {
        let bare = Melody::new(melody.notes().iter().map(|n| MelodyNote { name: None, ..*n }));
        let read = parse(&bare.text(&chart), &chart).unwrap();
        let without = read.notes().iter().map(|n| MelodyNote { name: None, ..*n });
        prop_assert_eq!(Melody::new(without), cut(&bare, &chart));
    }

    #[test]
    fn no_text_breaks_the_reader(text in "[A-Ha-hr#b0-9/:.t~| \\-\\]♭é]{0,40}") {
        let chart = chart("| Pickup G7 | 3/4 C | 4/4 F |");
        match parse(&text, &chart) {
            Ok(melody) => prop_assert_eq!(parse(&melody.text(&chart), &chart), Ok(melody)),
            Err(errors) => for error in errors {
                prop_assert!(text.get(error.source.clone()).is_some(), "{:?}", error);
            }
        }
    }
}

/// Everything but the notes stays as it was typed.
#[test]
fn a_text_is_transposed_as_it_was_typed() {
    let text = "|  c5/8t Eb5~ | Eb5/4. r x H ||\n F#4:130 |]";
    let up = transposed(text, NoteNames::English, 1, -5).unwrap();
    assert_eq!(up, "|  Db5/8t Fb5~ | Fb5/4. r x H ||\n G4:130 |]");
    let german = transposed("| H4 B4 |", NoteNames::German, -1, 5).unwrap();
    assert_eq!(german, "| Ais4 A4 |");
    assert_eq!(transposed("| G9 |", NoteNames::English, 1, -5), None);
}
