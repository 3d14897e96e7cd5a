//! Scores with several parts, transposing instruments, stacked harmonies and jumps in words: what
//! is read, from which part, and what is told. The elements are those of W3C MusicXML 4.0; each
//! check names its own.

mod documents;

use documents::score;
use guidehand_exchange::import::{self, ImportError, Imported};

fn read(file: &str) -> Imported {
    import::import(file.as_bytes()).unwrap_or_else(|error| panic!("{error}\n{file}"))
}

fn harmony(root: &str, kind: &str) -> String {
    let (step, alter) = root.split_at(1);
    let alter = match alter {
        "b" => "<root-alter>-1</root-alter>",
        "#" => "<root-alter>1</root-alter>",
        _ => "",
    };
    format!(
        "<harmony><root><root-step>{step}</root-step>{alter}</root><kind>{kind}</kind></harmony>"
    )
}

fn measure(number: &str, inner: &str) -> String {
    let rest = "<note><rest/><duration>4</duration></note>";
    format!("<measure number=\"{number}\">{inner}{rest}</measure>")
}

/// A ii-V-I, with attributes before its first chord.
fn cadence(attributes: &str, chords: [(&str, &str); 3]) -> String {
    let bars = chords.iter().zip(1..).map(|((root, kind), number)| {
        let before = if number == 1 { attributes } else { "" };
        let attributes = format!("<attributes>{before}</attributes>");
        let inner = format!("{attributes}{}", harmony(root, kind));
        measure(&number.to_string(), &inner)
    });
    bars.collect()
}

const IN_C: [(&str, &str); 3] = [
    ("D", "minor-seventh"),
    ("G", "dominant"),
    ("C", "major-seventh"),
];
const IN_D: [(&str, &str); 3] = [
    ("E", "minor-seventh"),
    ("A", "dominant"),
    ("D", "major-seventh"),
];
const IN_A: [(&str, &str); 3] = [
    ("B", "minor-seventh"),
    ("E", "dominant"),
    ("A", "major-seventh"),
];

/// A B-flat instrument: a whole step, one letter, down (`transpose`).
const B_FLAT: &str = "<key><fifths>2</fifths></key>\
    <transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>";
/// An E-flat baritone: a major thirteenth down.
const E_FLAT: &str = "<key><fifths>3</fifths></key>\
    <transpose><diatonic>-5</diatonic><chromatic>-9</chromatic>\
    <octave-change>-1</octave-change></transpose>";

/// W3C MusicXML 4.0, `transpose`: "what must be added to a written pitch to get a correct sounding
/// pitch".
#[test]
fn chords_of_transposing_instruments_come_in_as_they_sound() {
    for (attributes, chords) in [(B_FLAT, IN_D), (E_FLAT, IN_A), ("", IN_C)] {
        let back = read(&score("", &[("Horn", cadence(attributes, chords))]));
        assert_eq!(back.text, "| Dm7 | G7 | Cmaj7 |", "{attributes}");
    }
}

/// The element `diatonic` may be missing. Then the interval has its everyday name.
#[test]
fn a_transposition_in_half_steps_alone_has_its_everyday_interval() {
    let attributes = "<transpose><chromatic>-2</chromatic></transpose>";
    let back = read(&score("", &[("Horn", cadence(attributes, IN_D))]));
    assert_eq!(back.text, "| Dm7 | G7 | Cmaj7 |");
}

/// B major on a B-flat instrument is often written in D flat: five flats where C sharp would have
/// seven sharps. What sounds is not in C flat then.
#[test]
fn what_sounds_stays_in_a_key_that_is_easy_to_read() {
    let attributes = B_FLAT.replace("<fifths>2", "<fifths>-5");
    let chords = [
        ("Eb", "minor-seventh"),
        ("Ab", "dominant"),
        ("Db", "major-seventh"),
    ];
    let back = read(&score("", &[("Horn", cadence(&attributes, chords))]));
    assert_eq!(back.text, "| C#m7 | F#7 | Bmaj7 |");
}

/// W3C MusicXML 4.0, `concert-score`: the score is displayed in concert pitch, and `transpose`
/// elements must not count for it.
#[test]
fn a_score_at_concert_pitch_is_not_transposed() {
    let head = "<defaults><concert-score/></defaults>";
    let back = read(&score(head, &[("Horn", cadence(B_FLAT, IN_C))]));
    assert_eq!(back.text, "| Dm7 | G7 | Cmaj7 |");
}

/// An instrument that is changed for another in the course of a part.
#[test]
fn a_transposition_counts_from_where_it_stands() {
    let back_to_c =
        "<transpose><diatonic>0</diatonic><chromatic>0</chromatic></transpose>".to_owned();
    let bars = cadence(B_FLAT, IN_D)
        + &measure(
            "4",
            &format!(
                "<attributes>{back_to_c}</attributes>{}",
                harmony("F", "major-sixth")
            ),
        );
    assert_eq!(
        read(&score("", &[("Reed", bars)])).text,
        "| Dm7 | G7 | Cmaj7 | F6 |"
    );
}

/// W3C MusicXML 4.0, `harmony`: chords that are stacked in one element. The type
/// `harmony-arrangement` says that the second stands below the first.
#[test]
fn stacked_harmonies_are_polychords() {
    let stacked = "<harmony arrangement=\"vertical\">\
        <root><root-step>D</root-step></root><kind>major</kind>\
        <root><root-step>C</root-step></root><kind>dominant</kind></harmony>";
    let back = read(&score("", &[("Piano", measure("1", stacked))]));
    assert_eq!(
        (back.text.as_str(), &back.missed[..]),
        ("| D/C7 |", &[][..])
    );
    // Two elements at one place, as programs write them that know no stack.
    let two = harmony("D", "major") + &harmony("C", "dominant");
    let back = read(&score("", &[("Piano", measure("1", &two))]));
    assert_eq!(
        (back.text.as_str(), &back.missed[..]),
        ("| D/C7 |", &[][..])
    );
    // A triad over a triad has no symbol of its own, so the bass of the lower one stands for it.
    let triads = stacked.replace("dominant", "major");
    let back = read(&score("", &[("Piano", measure("1", &triads))]));
    assert_eq!(back.text, "| D/C |");
    assert_eq!(back.missed.len(), 1, "{:?}", back.missed);
    // What cannot be stacked keeps its lower chord, and the rest is told.
    let crowded = stacked.replace("<kind>major<", "<kind>major-ninth<");
    let back = read(&score("", &[("Piano", measure("7", &crowded))]));
    assert_eq!(back.text, "| C7 |");
    assert_eq!(back.missed.len(), 1, "{:?}", back.missed);
    assert!(
        back.missed[0].to_string().contains("Dmaj9"),
        "{}",
        back.missed[0]
    );
}

/// W3C MusicXML 4.0, `inversion`: "a number indicating which inversion is used".
#[test]
fn an_inversion_says_what_the_bass_is() {
    for (inversion, expected) in [("0", "| G7 |"), ("1", "| G7/B |"), ("3", "| G7/F |")] {
        let chord = harmony("G", "dominant").replace(
            "</harmony>",
            &format!("<inversion>{inversion}</inversion></harmony>"),
        );
        let back = read(&score("", &[("Piano", measure("1", &chord))]));
        assert_eq!(back.text, expected);
    }
}

/// W3C MusicXML 4.0, `harmony`, attribute `type`: an alternate harmony stands beside another one.
#[test]
fn an_alternate_harmony_is_left_out_and_told() {
    let alternate = harmony("Db", "dominant").replace("<harmony>", "<harmony type=\"alternate\">");
    let two = harmony("G", "dominant") + &alternate;
    let back = read(&score("", &[("Piano", measure("1", &two))]));
    assert_eq!(back.text, "| G7 |");
    assert_eq!(back.missed.len(), 1, "{:?}", back.missed);
    assert!(
        back.missed[0].words.contains("alternate"),
        "{:?}",
        back.missed
    );
}

fn spoken(words: &[&str]) -> String {
    let kinds = words
        .iter()
        .map(|words| format!("<direction-type><words>{words}</words></direction-type>"));
    let kinds: String = kinds.collect();
    format!("<direction>{kinds}</direction>")
}

/// Words that stand alone, without a `sound`, as people type them (common practice, no published
/// source; the signs are those of SMuFL's range of repeats).
#[test]
fn jumps_in_words_alone_are_read() {
    let fine = "| C | F Fine | G | A D.C. al Fine |";
    let coda = "| C | F To Coda | G | A D.C. al Coda |\n| Coda D |";
    let end = |words: &str| format!("{words}</measure>");
    let bars = |way: &[&str], jump: &[&str], at_coda: &[&str]| {
        let bar = |number: &str, root: &str| measure(number, &harmony(root, "major"));
        let with = |bar: String, words: &[&str]| bar.replace("</measure>", &end(&spoken(words)));
        let mut bars = bar("1", "C") + &with(bar("2", "F"), way) + &bar("3", "G");
        bars += &with(bar("4", "A"), jump);
        if !at_coda.is_empty() {
            bars += &measure("5", &(spoken(at_coda) + &harmony("D", "major")));
        }
        score("", &[("Lead", bars)])
    };
    for (way, jump, at_coda, expected) in [
        (&["Fine"][..], &["D.C. al Fine"][..], &[][..], fine),
        (&["(fine)"], &["(D.C. al Fine)"], &[], fine),
        (&["FINE"], &["D.C.", "al Fine"], &[], fine),
        (&["Fine."], &["D. C. al Fine."], &[], fine),
        (&["Fine"], &["Da Capo  al\u{a0}Fine"], &[], fine),
        (&["To Coda"], &["D.C. al Coda"], &["Coda"], coda),
        (&["to \u{e048}"], &["D.C. al \u{e048}"], &["\u{e048}"], coda),
        (&["To \u{2295}"], &["D.C. al \u{2295}"], &["\u{2295}"], coda),
        (&["to", "Coda"], &["da capo al Coda"], &["CODA"], coda),
    ] {
        let back = read(&bars(way, jump, at_coda));
        assert_eq!(back.text, expected, "{way:?} {jump:?} {at_coda:?}");
        assert_eq!(back.missed, [], "{way:?} {jump:?}");
    }
    // A condition is not kept, and that is told.
    let back = read(&bars(&["Fine"], &["2nd time D.C. al Fine"], &[]));
    assert_eq!(back.text, fine);
    assert_eq!(back.missed.len(), 1, "{:?}", back.missed);
    assert!(
        back.missed[0].words.contains("2nd time"),
        "{:?}",
        back.missed
    );
    // Words about the form that no chart holds.
    let back = read(&bars(&["Fine"], &["Repeat and fade", "ad lib."], &[]));
    assert_eq!(back.missed.len(), 1, "{:?}", back.missed);
}

/// The number of a bar is its `number`, as printed, and not its place in the file.
#[test]
fn bars_are_told_by_their_printed_numbers() {
    let strange = harmony("C", "quartal");
    let bars = measure("17", &harmony("C", "major")) + &measure("18a", &strange);
    let back = read(&score("", &[("Lead", bars)]));
    assert!(
        back.missed[0].to_string().starts_with("bar 18a, "),
        "{}",
        back.missed[0]
    );
}

/// By itself the part is read that is written as it sounds; any other one by its name.
#[test]
fn the_part_is_chosen_by_its_pitch_or_by_its_name() {
    let horn = || {
        cadence(
            B_FLAT,
            [("F#", "minor-seventh"), ("B", "dominant"), ("E", "major")],
        )
    };
    let parts = [
        ("Horn", horn()),
        ("Guitar", cadence("", IN_C)),
        ("horn", horn()),
    ];
    let file = score("", &parts);
    let back = read(&file);
    assert_eq!(back.text, "| Dm7 | G7 | Cmaj7 |");
    let told: Vec<(&str, usize, i8, bool)> = back
        .parts
        .iter()
        .map(|part| (part.name.as_str(), part.chords, part.sounds, part.is_taken))
        .collect();
    let expected = [
        ("Horn", 3, -2, false),
        ("Guitar", 3, 0, true),
        ("horn (2)", 3, -2, false),
    ];
    assert_eq!(told, expected);
    let remark = &back.remarks[0];
    assert!(remark.contains("\"Guitar\" is read; \"Horn\""), "{remark}");
    for name in ["Horn", " HORN (2) "] {
        let back = import::part(file.as_bytes(), Some(name)).unwrap();
        assert_eq!(back.text, "| Em7 | A7 | D |", "{name}");
        let remark = &back.remarks[0];
        assert!(remark.contains("a whole step lower"), "{remark}");
    }
    let error = import::part(file.as_bytes(), Some("Flute")).unwrap_err();
    assert!(matches!(error, ImportError::NoPart { .. }));
    assert!(
        error.to_string().contains("expected \"Horn\", \"Guitar\""),
        "{error}"
    );
    let error = import::part(b"| C6 |", Some("Flute")).unwrap_err();
    assert!(error.to_string().contains("no parts"), "{error}");
}

/// A name that is given twice, and one that looks like a second: each part has a name of its own.
#[test]
fn no_two_parts_have_the_same_name() {
    let parts = ["Horn", "Horn", "Horn (2)", "horn", " Horn "];
    let bars = || measure("1", &harmony("C", "major"));
    let parts = parts.map(|name| (name, bars()));
    let names: Vec<String> = read(&score("", &parts))
        .parts
        .into_iter()
        .map(|part| part.name)
        .collect();
    let expected = ["Horn", "Horn (2)", "Horn (2) (2)", "horn (3)", "Horn (4)"];
    assert_eq!(names, expected);
}

/// A part with fewer chords than another one is told, because it may not be what is meant.
#[test]
fn a_part_with_more_chords_is_told() {
    let parts = [
        ("Bass", measure("1", &harmony("C", "major"))),
        ("Horn", cadence(B_FLAT, IN_D)),
    ];
    let back = read(&score("", &parts));
    assert_eq!(back.text, "| C |");
    assert_eq!(back.missed.len(), 1, "{:?}", back.missed);
    assert!(
        back.missed[0].to_string().contains("part \"Horn\""),
        "{}",
        back.missed[0]
    );
}

/// W3C MusicXML 4.0, `measure-repeat`: a sign for one or more bars that are played again.
#[test]
fn bars_that_a_sign_repeats_hold_their_chords() {
    let sign = |kind: &str, bars: &str| {
        format!(
            "<attributes><measure-style><measure-repeat type=\"{kind}\">{bars}</measure-repeat>\
             </measure-style></attributes>"
        )
    };
    let half = "<note><rest/><duration>2</duration></note>";
    let two = harmony("C", "major") + half + &harmony("F", "major");
    let first = format!("<measure number=\"1\">{two}{half}</measure>");
    let bars = first + &measure("2", &sign("start", "1")) + &measure("3", &sign("stop", ""));
    assert_eq!(
        read(&score("", &[("Lead", bars)])).text,
        "| C F | C F | / / / / |"
    );
    let pair = measure("1", &harmony("C", "major")) + &measure("2", &harmony("F", "major"));
    let bars = pair + &measure("3", &sign("start", "2")) + &measure("4", "");
    assert_eq!(
        read(&score("", &[("Lead", bars)])).text,
        "| C | F | C | F |"
    );
}

/// What a chart does not hold is named, so that nobody looks for it.
#[test]
fn what_a_chart_does_not_hold_is_told() {
    let note = "<note><pitch><step>E</step><octave>4</octave></pitch><duration>4</duration>\
        <lyric><text>low</text></lyric></note>";
    let frame = "<kind>major</kind><frame><frame-strings>6</frame-strings></frame>";
    let shown = harmony("C", "major").replace("<kind>major</kind>", frame);
    let beats = "<beat-unit>quarter</beat-unit><per-minute>90</per-minute>";
    let loud = "<direction-type><dynamics><f/></dynamics></direction-type>";
    let tempo = format!("<direction-type><metronome>{beats}</metronome></direction-type>");
    let figures = "<figured-bass><figure><figure-number>6</figure-number></figure></figured-bass>";
    let bar = format!(
        "{}<direction>{tempo}{loud}<sound><swing><straight/></swing></sound></direction>\
         {shown}{figures}{note}",
        spoken(&["Slowly"])
    );
    let author = "<identification><creator type=\"composer\">Nobody</creator></identification>";
    let file = score(
        author,
        &[("Lead", format!("<measure number=\"1\">{bar}</measure>"))],
    );
    let back = read(&file);
    assert_eq!(back.missed, []);
    let expected = "authors, chord diagrams, dynamics, figured bass, lyrics, notes, other words, \
                    swing, the tempo.";
    assert!(back.remarks[0].ends_with(expected), "{:?}", back.remarks);
    let strange = "<barline location=\"left\"><ending number=\"last\" type=\"start\"/></barline>";
    let bars = measure("1", &harmony("C", "major"))
        + &measure("2", &(strange.to_owned() + &harmony("F", "major")));
    let back = read(&score("", &[("Lead", bars)]));
    assert!(
        back.missed.iter().any(|m| m.what == "ending"),
        "{:?}",
        back.missed
    );
}
