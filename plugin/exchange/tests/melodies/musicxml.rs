//! Lines in other programs' scores: which one is the melody, its notes as they are played, and what is left
//! out of it. The elements are those of W3C MusicXML 4.0; each check names its own.

use crate::documents::score;
use crate::{chart_of, read, sung};
use guidehand_exchange::import::{self, ImportError, Wanted, Wish};

/// A quarter note has 12 units in these files.
const DIVISIONS: &str = "<divisions>12</divisions>";

fn note(pitch: &str, duration: u32, more: &str) -> String {
    let (step, rest) = pitch.split_at(1);
    let (sign, octave) = rest.split_at(rest.len() - 1);
    let alter = match sign {
        "#" => "<alter>1</alter>",
        "b" => "<alter>-1</alter>",
        _ => "",
    };
    format!(
        "<note>{}<pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch>\
         <duration>{duration}</duration>{}</note>",
        if more.contains("<chord/>") {
            "<chord/>"
        } else {
            ""
        },
        more.replace("<chord/>", "")
    )
}

fn rest(duration: u32) -> String {
    format!("<note><rest/><duration>{duration}</duration></note>")
}

fn harmony(root: &str, kind: &str) -> String {
    format!("<harmony><root><root-step>{root}</root-step></root><kind>{kind}</kind></harmony>")
}

/// A part of bars with their numbers, the first with these attributes too.
fn part(attributes: &str, bars: &[String]) -> String {
    let bars = bars.iter().zip(1..).map(|(bar, number)| {
        let first = format!("<attributes>{DIVISIONS}{attributes}</attributes>");
        let first = if number == 1 { first } else { String::new() };
        format!("<measure number=\"{number}\">{first}{bar}</measure>")
    });
    bars.collect()
}

fn lead(bars: &[String]) -> String {
    score("", &[("Flute", part("", bars))])
}

const TIE: &str = "<tie type=\"start\"/>";

const TIED: &str = "<tie type=\"stop\"/>";

/// `note`, `duration`, `tie`, `rest`, `time-modification`.
#[test]
fn notes_ties_rests_and_triplets_come_in() {
    let file = lead(&[
        format!(
            "{}{}{}{}{}",
            harmony("C", "major"),
            note("E5", 4, ""),
            note("Eb5", 4, ""),
            note("D5", 4, ""),
            rest(12) + &note("G4", 24, TIE),
        ),
        format!("{}{}", note("G4", 6, TIED), note("G4", 42, "")),
    ]);
    let (text, melody, told) = sung(&file, None);
    assert_eq!(text, "| C | % |");
    assert_eq!(melody, "| E5/8t Eb5 D5 r/4 G4/2~ | G4/8 G4/2.. |");
    assert_eq!(told, Vec::<String>::new());
}

/// `grace`, `cue`, `chord`, `unpitched`: what is no note of the line is left out and told.
#[test]
fn what_is_left_out_of_a_line_is_told() {
    let grace = "<note><grace/><pitch><step>D</step><octave>5</octave></pitch></note>";
    let cue = note("A5", 12, "<cue/>");
    let struck = "<note><unpitched/><duration>12</duration></note>";
    let file = lead(&[
        format!(
            "{}{grace}{}{cue}{struck}",
            harmony("C", "major"),
            note("C5", 24, "")
        ),
        format!("{}{}", note("E4", 48, ""), note("C5", 48, "<chord/>")),
    ]);
    let (_, melody, told) = sung(&file, None);
    assert_eq!(melody, "| C5/2 r | C5/1 |");
    assert_eq!(
        told,
        [
            "bar 1, note: 1 grace note is left out of the melody",
            "bar 1, note: 1 cue note is left out of the melody",
            "bar 1, note: 1 note without a pitch that a key has is left out of the melody",
            "bar 2, note: 1 lower note of a chord is left out of the melody",
        ]
    );
    let places = read(file.as_bytes(), None).missed;
    let at = places[0].at.unwrap();
    assert!(
        file[at..].starts_with("<note><grace/>"),
        "{}",
        &file[at..at + 20]
    );
}

/// `voice`, `backup`: the voice with the highest notes is the line, and a lower one counts where it
/// has neither note nor rest.
#[test]
fn the_highest_voice_is_the_line() {
    let voice = |number: &str| format!("<voice>{number}</voice>");
    let back = "<backup><duration>48</duration></backup>";
    let upper = format!(
        "{}{}",
        note("G5", 24, &voice("1")),
        "<note><rest/><duration>12</duration><voice>1</voice></note>\
         <forward><duration>12</duration></forward>"
    );
    let lower: Vec<String> = ["C4", "D4", "E4", "F4"]
        .iter()
        .map(|pitch| note(pitch, 12, &voice("2")))
        .collect();
    let bar = format!("{}{upper}{back}{}", harmony("C", "major"), lower.concat());
    let (_, melody, told) = sung(&lead(&[bar]), None);
    assert_eq!(melody, "| G5/2 r/4 F4 |");
    assert_eq!(
        told,
        ["bar 1, note: 3 notes of lower voices are left out of the melody"]
    );
}

fn line(location: &str, inner: &str) -> String {
    format!("<barline location=\"{location}\">{inner}</barline>")
}

/// `repeat`, `ending`, `dacapo`: each time that a bar is played its melody sounds again, and a tie
/// goes into the bar that follows.
#[test]
fn a_melody_is_read_as_it_is_played() {
    let ending = |number: u8, kind: &str| format!("<ending number=\"{number}\" type=\"{kind}\"/>");
    let file = lead(&[
        format!("{}{}", harmony("C", "major"), note("C5", 48, TIE)),
        format!(
            "{}{}{}{}",
            line("left", &ending(1, "start")),
            harmony("F", "major"),
            note("C5", 48, TIED),
            line(
                "right",
                &format!("{}<repeat direction=\"backward\"/>", ending(1, "stop"))
            )
        ),
        format!(
            "{}{}{}{}",
            line("left", &ending(2, "start")),
            harmony("G", "major"),
            note("C5", 24, TIED),
            note("D5", 24, "") + &line("right", &ending(2, "stop"))
        ),
    ]);
    let (text, melody, told) = sung(&file, None);
    assert_eq!(text, "|: C | [1 F :| [2 G |");
    assert_eq!(melody, "| C5/1~ | C5 | C5~ | C5/2 D5 |");
    assert_eq!(told, Vec::<String>::new());
    let sign = "<direction><direction-type><words>D.C. al Fine</words></direction-type>\
                <sound dacapo=\"yes\"/></direction>";
    let fine = "<direction><direction-type><words>Fine</words></direction-type>\
                <sound fine=\"yes\"/></direction>";
    let file = lead(&[
        format!("{}{}{fine}", harmony("C", "major"), note("E5", 48, "")),
        format!("{}{}{sign}", harmony("G", "major"), note("D5", 48, "")),
    ]);
    let (_, melody, _) = sung(&file, None);
    assert_eq!(melody, "| E5/1 | D5 | E5 |");
}

/// `measure-repeat`: the notes of a bar that is repeated by a sign sound again.
#[test]
fn a_sign_repeats_the_notes_of_a_bar() {
    let sign = "<attributes><measure-style><measure-repeat type=\"start\">1</measure-repeat>\
                </measure-style></attributes>";
    let file = lead(&[
        format!(
            "{}{}{}",
            harmony("C", "major"),
            note("C5", 24, ""),
            note("E5", 24, "")
        ),
        format!("{sign}{}", "<forward><duration>48</duration></forward>"),
    ]);
    let (_, melody, _) = sung(&file, None);
    assert_eq!(melody, "| C5/2 E5 | C5 E5 |");
}

/// `implicit`: a pickup in which only the melody sounds stays where the melody is read, and is left
/// out of the chart alone.
#[test]
fn a_pickup_of_the_melody_stays() {
    let file = lead(&[
        note("G4", 12, TIE),
        format!(
            "{}{}{}",
            note("G4", 12, TIED),
            harmony("C", "major"),
            note("C5", 36, "")
        ),
        format!("{}{}", harmony("F", "major"), note("A4", 48, "")),
    ]);
    let (text, melody, _) = sung(&file, None);
    let (_, rest) = text.split_once('|').unwrap();
    assert!(rest.contains("Pickup N.C. |"), "{text}");
    assert!(melody.starts_with("| G4~ | G4 C5/2. |"), "{melody}");
    let chart = import::import(file.as_bytes()).unwrap();
    assert!(!chart.text.contains("Pickup"), "{}", chart.text);
}

/// Two bars that together fill one are one that a line divides, and each keeps its length. A repeat
/// that goes back to the beginning plays the pickup again.
#[test]
fn a_bar_that_a_line_divides_keeps_its_two_lengths() {
    let file = lead(&[
        note("G4", 12, ""),
        format!("{}{}", harmony("C", "major"), note("C5", 48, "")),
        format!(
            "{}{}",
            note("D5", 36, ""),
            line("right", "<repeat direction=\"backward\"/>")
        ),
        note("E5", 12, ""),
        format!("{}{}", harmony("F", "major"), note("F5", 48, "")),
    ]);
    let (text, melody, told) = sung(&file, None);
    assert_eq!(
        text,
        "|: 1/4 N.C. | 4/4 C | 3/4 / / / :| 1/4 / |\n| 4/4 F |"
    );
    assert_eq!(
        melody,
        "| G4 | C5/1 | D5/2. | G4/4 | C5/1 | D5/2. | E5/4 | F5/1 |"
    );
    assert!(told.is_empty(), "{told:?}");
}

/// A repeat that goes back to a pickup plays it again, with its melody and with its chords, and the bar
/// before it is as much shorter. One that has a start does not.
#[test]
fn a_repeat_goes_back_to_the_pickup() {
    let file = |starts: &str, chord: &str| {
        let last = line("right", "<repeat direction=\"backward\"/>");
        lead(&[
            format!("{chord}{}", note("G4", 12, "")),
            format!("{starts}{}{}", harmony("C", "major"), note("C5", 48, "")),
            format!("{}{last}", note("D5", 36, "")),
            format!("{}{}", harmony("F", "major"), note("F5", 48, "")),
        ])
    };
    let (text, melody, told) = sung(&file("", ""), None);
    assert_eq!(text, "|: 1/4 N.C. | 4/4 C | 3/4 / / / :| 4/4 F |");
    assert_eq!(melody, "| G4 | C5/1 | D5/2. | G4/4 | C5/1 | D5/2. | F5/1 |");
    assert!(told.is_empty(), "{told:?}");
    let seventh = harmony("G", "dominant");
    let chart = import::import(file("", &seventh).as_bytes()).unwrap();
    assert_eq!(chart.text, "|: 1/4 G7 | 4/4 C | 3/4 / / / :| 4/4 F |");
    let starts = line("left", "<repeat direction=\"forward\"/>");
    let chart = import::import(file(&starts, &seventh).as_bytes()).unwrap();
    assert_eq!(chart.text, "| Pickup G7 |: C | % :| F |");
}

/// `transpose`: an alto instrument sounds a major sixth lower than it reads.
#[test]
fn a_line_sounds_as_its_instrument_does() {
    let alto = "<key><fifths>3</fifths></key><transpose><diatonic>-5</diatonic>\
                <chromatic>-9</chromatic></transpose>";
    let piano = part("", &[harmony("C", "major-seventh") + &rest(48)]);
    let horn = part(alto, &[note("C#5", 24, "") + &note("A#4", 24, "")]);
    let file = score("", &[("Alto", horn), ("Piano", piano)]);
    let (text, melody, _) = sung(&file, None);
    assert_eq!(
        (text.as_str(), melody.as_str()),
        ("| Cmaj7 |", "| E4/2 C#4 |")
    );
}

/// `part-name`, `staff`: the line is found by what it is called, by its symbols and by its height,
/// or chosen by name.
#[test]
fn the_line_is_found_or_chosen_by_name() {
    let symbols = harmony("C", "major");
    let high = note("C6", 48, "");
    let low = note("C4", 48, "");
    let two_staves = format!(
        "{symbols}{}<backup><duration>48</duration></backup>{}",
        note("G5", 48, "<staff>1</staff>"),
        note("C3", 48, "<staff>2</staff>")
    );
    let file = |names: [&str; 3]| {
        score(
            "",
            &[
                (names[0], part("", std::slice::from_ref(&high))),
                (names[1], part("", std::slice::from_ref(&low))),
                (names[2], part("", std::slice::from_ref(&two_staves))),
            ],
        )
    };
    let plain = file(["Flute", "Horn", "Piano"]);
    let (_, melody, told) = sung(&plain, None);
    assert_eq!(melody, "| G5/1 |", "the part with the symbols");
    assert!(
        told[0].starts_with(
            "The melody is that of \"Piano\"; \"Flute\", \"Horn\", \"Piano, staff 2\" have"
        ),
        "{told:?}"
    );
    assert_eq!(sung(&plain, Some("horn")).1, "| C4/1 |");
    assert_eq!(sung(&plain, Some("Piano, staff 2")).1, "| C3/1 |");
    assert_eq!(
        sung(&file(["Flute", "Lead vocal", "Piano"]), None).1,
        "| C4/1 |"
    );
    let wish = Wish {
        part: None,
        melody: Wanted::Named("Tuba"),
    };
    let error = import::read(plain.as_bytes(), wish)
        .unwrap_err()
        .to_string();
    assert_eq!(
        error,
        "nothing that is named \"Tuba\" has notes; expected \"Flute\", \"Horn\", \"Piano\", \
         \"Piano, staff 2\""
    );
}

/// A melody alone goes over a chart that is known, bar by bar from the first full one.
#[test]
fn a_melody_goes_over_a_chart_that_is_known() {
    let over = |file: &str, chart: &str| {
        let chart = chart_of(chart);
        let imported = import::melody(file.as_bytes(), None, &chart).unwrap();
        let missed = imported.missed.iter().map(ToString::to_string);
        let told: Vec<String> = imported.remarks.into_iter().chain(missed).collect();
        (imported.melody.unwrap().melody.text(&chart), told)
    };
    let file = lead(&[note("G4", 12, ""), note("C5", 48, ""), note("D5", 48, "")]);
    let (melody, told) = over(&file, "| C6 | G7 |");
    assert_eq!(melody, "| C5/1 | D5 |");
    assert_eq!(told, ["melody: notes outside of the chart are left out: 1"]);
    let (melody, told) = over(&file, "Pickup G7 | C6 | G7 |");
    assert_eq!((melody.as_str(), told.len()), ("| G4 | C5/1 | D5 |", 0));
    assert_eq!(over("| C5/2 E5 |", "| C6 |").0, "| C5/2 E5 |");
    let error = import::melody(b"| H5/2 |", None, &chart_of("| C6 |")).unwrap_err();
    assert!(matches!(error, ImportError::Melody(_)), "{error}");
    let silent = lead(&[rest(48)]);
    let error = import::melody(silent.as_bytes(), None, &chart_of("| C6 |")).unwrap_err();
    assert_eq!(error, ImportError::NoMelody);
}
