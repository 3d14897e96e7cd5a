//! Files as other programs write them, one peculiarity at a time.

use guidehand_exchange::import::{self, ImportError, Imported};
use midly::num::{u15, u28};
use midly::{Format, Header, MetaMessage, Timing, TrackEvent, TrackEventKind};

fn chord(root: &str, rest: &str) -> String {
    format!("<harmony><root><root-step>{root}</root-step></root>{rest}</harmony>")
}

fn major(root: &str) -> String {
    chord(root, "<kind>major</kind>")
}

/// A bar of 4/4 that starts with a chord; `more` stands before its notes.
fn bar(root: &str, more: &str) -> String {
    let notes = "<note><rest/><duration>8</duration></note>";
    format!("<measure>{more}{}{notes}</measure>", major(root))
}

const DIVISIONS: &str = "<attributes><divisions>2</divisions></attributes>";

fn score(bars: &[String]) -> String {
    let bars = bars.concat();
    format!(
        "<?xml version=\"1.0\"?>\n<score-partwise><part id=\"P1\">{bars}</part></score-partwise>"
    )
}

fn read(file: &str) -> Imported {
    import::import(file.as_bytes()).unwrap_or_else(|error| panic!("{error}\n{file}"))
}

fn text(bars: &[String]) -> String {
    let back = read(&score(bars));
    assert_eq!(back.missed, []);
    back.text
}

fn line(location: &str, inner: &str) -> String {
    format!("<barline location=\"{location}\">{inner}</barline>")
}

fn backward(more: &str) -> String {
    line("right", &format!("{more}<repeat direction=\"backward\"/>"))
}

fn ending(number: &str, kind: &str) -> String {
    format!("<ending number=\"{number}\" type=\"{kind}\"/>")
}

#[test]
fn repeats_without_a_start_go_back_past_letters() {
    let letter = "<direction><direction-type><rehearsal>B</rehearsal></direction-type></direction>";
    let bars = [
        bar("C", ""),
        bar("F", letter),
        bar("G", &backward("")),
        bar("A", ""),
    ];
    let back = read(&score(&bars));
    // In our notation a letter ends the repeat.
    assert_eq!(back.text, "|: C | F | G :| A |");
    assert_eq!(back.missed.len(), 1, "{:?}", back.missed);
    assert_eq!(back.missed[0].what, "letters");
}

#[test]
fn endings_of_several_numbers_are_written_for_each() {
    let start = |number: &str| line("left", &ending(number, "start"));
    let bars = [
        bar("C", ""),
        bar("F", &(start("1, 2") + &backward(&ending("1, 2", "stop")))),
        bar(
            "G",
            &(start("3") + &line("right", &ending("3", "discontinue"))),
        ),
        bar("A", ""),
    ];
    assert_eq!(text(&bars), "|: C | [1 F :| [2 F :| [3 G |\n| A |");
}

#[test]
fn repeats_are_played_as_often_as_they_say() {
    let times = |n: &str| {
        let repeat = format!("<repeat direction=\"backward\" times=\"{n}\"/>");
        [
            bar("C", ""),
            bar("F", &line("right", &repeat)),
            bar("G", ""),
        ]
    };
    assert_eq!(text(&times("3")), "|: C | F :| x3 | G |");
    assert_eq!(text(&times("2")), "|: C | F :| G |");
    assert_eq!(text(&times("1")), "| C | F | G |");
    let back = read(&score(&times("120")));
    assert_eq!(back.text, "|: C | F :| x99 | G |");
    assert_eq!(back.missed[0].what, "repeat");
}

/// A direction with what it shows and its `sound`.
fn direction(shows: &str, sounds: &str) -> String {
    let sound = if sounds.is_empty() {
        String::new()
    } else {
        format!("<sound {sounds}/>")
    };
    format!("<direction><direction-type>{shows}</direction-type>{sound}</direction>")
}

fn words(words: &str) -> String {
    format!("<words>{words}</words>")
}

/// A bar of 4/4 with something after its notes.
fn bar_with_end(root: &str, more: &str) -> String {
    bar(root, "").replace("</measure>", &format!("{more}</measure>"))
}

#[test]
fn jumps_are_known_by_their_sounds_their_signs_and_their_words() {
    let expected = "| C | Segno F | G To Coda | A D.S. al Coda |\n| Coda D |";
    let by_coda = "| C | Segno F | G To Coda | A D.S. |\n| Coda D |";
    for (segno, to_coda, jump, coda, text_of) in [
        // As notation programs write them, with and without `sound`.
        (
            direction("<segno/>", "segno=\"s1\""),
            direction(&words("To Coda"), "tocoda=\"c1\""),
            direction(&words("D.S. al Coda"), "dalsegno=\"s1\""),
            direction("<coda/>", "coda=\"c1\""),
            expected,
        ),
        (
            direction("<segno/>", ""),
            direction(&words("to coda"), ""),
            direction(&words("D.S. al Coda (no repeats)"), ""),
            direction("<coda/>", ""),
            expected,
        ),
        // The coda sign stands at both ends.
        (
            direction("<segno/>", ""),
            direction("<coda/>", ""),
            direction("<words>D.S. al</words><coda/>", ""),
            direction("<coda/>", ""),
            expected,
        ),
        // A `sound` alone does not say how far the jump goes.
        (
            "<sound segno=\"1\"/>".to_owned(),
            "<sound tocoda=\"1\"/>".to_owned(),
            "<sound dalsegno=\"1\"/>".to_owned(),
            "<sound coda=\"1\"/>".to_owned(),
            by_coda,
        ),
        (
            line("left", "<segno/>"),
            line("right", "<coda/>"),
            direction(&words("Dal Segno al Coda"), ""),
            line("left", "<coda/>"),
            expected,
        ),
    ] {
        let bars = [
            bar("C", ""),
            bar("F", &segno),
            bar_with_end("G", &to_coda),
            bar_with_end("A", &jump),
            bar("D", &coda),
        ];
        assert_eq!(text(&bars), text_of, "{bars:?}");
    }
    let bars = [
        bar("C", ""),
        bar_with_end("F", &direction(&words("Fine"), "fine=\"yes\"")),
        bar("G", ""),
        bar_with_end("A", &direction(&words("D.C. al Fine"), "dacapo=\"yes\"")),
    ];
    assert_eq!(text(&bars), "| C | F Fine | G | A D.C. al Fine |");
}

#[test]
fn the_sign_of_the_coda_at_the_start_of_bars_is_the_way_there_first() {
    let coda = direction("<coda/>", "");
    let bars = [
        bar("C", ""),
        bar("F", ""),
        bar("G", &coda),
        bar_with_end("A", &direction(&words("D.C. al Coda"), "")),
        bar("D", &coda),
    ];
    assert_eq!(
        text(&bars),
        "| C | F To Coda | G | A D.C. al Coda |\n| Coda D |"
    );
}

#[test]
fn jumps_that_lead_nowhere_are_left_out_and_told() {
    let bars = [
        bar("C", ""),
        bar_with_end("F", &direction(&words("D.S. al Coda"), "")),
    ];
    let back = read(&score(&bars));
    assert_eq!(back.text, "| C | F |");
    assert_eq!(back.missed[0].what, "jumps");
}

#[test]
fn pickups_with_chords_stand_before_the_first_bar() {
    let rest = |length: u8| format!("<note><rest/><duration>{length}</duration></note>");
    let first = |more: &str, length: u8| {
        format!(
            "<measure number=\"0\" implicit=\"yes\">{DIVISIONS}{more}{}</measure>",
            rest(length)
        )
    };
    let bars = |pickup: String| [pickup, bar("C", ""), bar("F", "")];
    assert_eq!(text(&bars(first(&major("G"), 4))), "| Pickup G / | C | F |");
    let late = rest(2) + &major("G");
    assert_eq!(text(&bars(first(&late, 2))), "| Pickup N.C. G | C | F |");
    // An eighth of 4/4 is counted in 8/8.
    assert_eq!(
        text(&bars(first(&major("G"), 1))),
        "| 8/8 Pickup G | 4/4 C | F |"
    );
}

#[test]
fn titles_of_works_and_movements_stand_above_the_bars() {
    let file = score(&[bar("C", ""), bar("F", "")]);
    for title in [
        "<work><work-title>Low Tide</work-title></work>",
        "<movement-title> Low  Tide\n</movement-title>",
    ] {
        let file = file.replace("<part id", &format!("{title}<part id"));
        assert_eq!(read(&file).text, "Low Tide\n| C | F |");
    }
}

#[test]
fn places_come_from_notes_offsets_and_backups() {
    let note = |length: u8| format!("<note><rest/><duration>{length}</duration></note>");
    let offset =
        |root: &str, by: i8| chord(root, &format!("<kind>minor</kind><offset>{by}</offset>"));
    let grace = "<note><grace/></note>";
    let joined = "<note><chord/><duration>2</duration></note>";
    let back = "<backup><duration>8</duration></backup>";
    let forward = "<forward><duration>4</duration></forward>";
    let beats = [
        major("C"),
        note(2),
        joined.to_owned(),
        grace.to_owned(),
        major("D"),
        note(6),
    ]
    .concat();
    let late = [note(8), offset("E", -2)].concat();
    let behind = [
        note(8),
        back.to_owned(),
        forward.to_owned(),
        offset("F", 0),
        note(4),
    ]
    .concat();
    let bars = [
        format!("<measure>{DIVISIONS}{beats}</measure>"),
        format!("<measure>{late}</measure>"),
        format!("<measure>{behind}</measure>"),
    ];
    assert_eq!(text(&bars), "| C D / / | / / / Em | / / Fm / |");
}

#[test]
fn pickups_stay_outside_and_short_bars_keep_their_length() {
    let rest = |length: u8| format!("<note><rest/><duration>{length}</duration></note>");
    let pickup = format!(
        "<measure number=\"0\" implicit=\"yes\">{DIVISIONS}{}</measure>",
        rest(2)
    );
    let short = format!(
        "<measure implicit=\"yes\">{}{}</measure>",
        major("F"),
        rest(6)
    );
    let back = read(&score(&[pickup, bar("C", ""), short, bar("G", "")]));
    assert_eq!(back.text, "| C | 3/4 F | 4/4 G |");
    assert_eq!(back.missed.len(), 1);
    assert!(back.missed[0].words.contains("pickup"), "{:?}", back.missed);
}

#[test]
fn meters_of_several_numbers_are_added_up() {
    let time = |beats: &str, unit: u8| {
        format!(
            "<attributes><time><beats>{beats}</beats><beat-type>{unit}</beat-type></time></attributes>"
        )
    };
    let bars = [
        bar("C", &time("3+2", 8)),
        bar("F", &time("6", 8)),
        bar("G", ""),
    ];
    assert_eq!(text(&bars), "| 5/8 C | 6/8 F | G |");
    let back = read(&score(&[bar("C", &time("24", 16))]));
    assert_eq!(back.missed[0].what, "time");
}

/// What cannot be read is reported with its bar and its place in the file. The rest is read.
#[test]
fn what_is_missed_has_its_place() {
    let pedal = chord("C", "<kind>pedal</kind>");
    let function = "<harmony><function>V</function><kind>dominant</kind></harmony>";
    let strange = chord("C", "<kind>quartal</kind>");
    let spoken = chord("C", "<kind text=\"7alt\">other</kind>");
    let two = "<sound dacapo=\"yes\"/><sound dalsegno=\"1\"/>";
    let word =
        "<direction><direction-type><rehearsal>Slowly</rehearsal></direction-type></direction>";
    let file = score(&[
        bar("C", ""),
        format!("<measure>{pedal}</measure>"),
        format!("<measure>{function}{strange}</measure>"),
        format!("<measure>{spoken}</measure>"),
        bar("G", two),
        bar("A", word),
    ]);
    let back = read(&file);
    assert_eq!(back.text, "| C | % | % | C7alt |\n| G D.C. | A |");
    let told: Vec<(&str, &str)> = back
        .missed
        .iter()
        .map(|m| (m.bar.as_str(), m.what.as_str()))
        .collect();
    let expected = [
        ("2", "harmony"),
        ("3", "harmony"),
        ("3", "harmony"),
        ("5", "sound"),
        ("6", "rehearsal"),
    ];
    assert_eq!(told, expected);
    for missed in &back.missed {
        let place = &file[missed.at.unwrap()..];
        assert!(
            place.starts_with(&format!("<{}", missed.what)),
            "{missed}: {place}"
        );
    }
}

#[test]
fn the_first_part_with_chords_is_read_in_either_order() {
    let partwise = format!(
        "<score-partwise><part id=\"a\"><measure/></part><part id=\"b\">{}{}</part></score-partwise>",
        bar("C", ""),
        bar("F", "")
    );
    assert_eq!(read(&partwise).text, "| C | F |");
    let part = |id: &str, inner: &str| format!("<part id=\"{id}\">{inner}</part>");
    let measure = |root: &str| {
        format!(
            "<measure>{}{}</measure>",
            part("a", ""),
            part("b", &major(root))
        )
    };
    let timewise = format!(
        "<score-timewise>{}{}</score-timewise>",
        measure("C"),
        measure("F")
    );
    assert_eq!(read(&timewise).text, "| C | F |");
    let wide: Vec<u8> = [0xfeff]
        .into_iter()
        .chain(timewise.encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    assert_eq!(import::import(&wide).unwrap().text, "| C | F |");
}

#[test]
fn repeats_that_make_no_sense_are_played_once() {
    let first = line("left", &ending("1", "start"));
    let bars = [bar("C", &first), bar("F", "")];
    let back = read(&score(&bars));
    assert_eq!(back.text, "| C | F |");
    assert_eq!(back.missed[0].what, "repeats");
}

/// A MIDI file in 4/4 at 480 ticks to the quarter, with these events in a single track.
fn midi(events: &[(u32, MetaMessage)]) -> Vec<u8> {
    let mut before = 0;
    let mut track: Vec<TrackEvent> = Vec::new();
    for (at, message) in events {
        let delta = u28::new(at - before);
        before = *at;
        let kind = TrackEventKind::Meta(*message);
        track.push(TrackEvent { delta, kind });
    }
    let kind = TrackEventKind::Meta(MetaMessage::EndOfTrack);
    let delta = u28::new(0);
    track.push(TrackEvent { delta, kind });
    let header = Header::new(Format::SingleTrack, Timing::Metrical(u15::new(480)));
    let mut bytes = Vec::new();
    midly::write_std(&header, [track.iter()], &mut bytes).unwrap();
    bytes
}

#[test]
fn symbols_are_taken_from_the_kind_of_event_that_holds_them() {
    use MetaMessage::{Lyric, Marker, TimeSignature};
    let events = [
        (0, Marker(b"[A]")),
        (0, Marker(b"Verse")),
        (0, TimeSignature(3, 2, 24, 8)),
        (0, Lyric(b"Cm7")),
        (480, Lyric(b"F7")),
        (1440, Lyric(b"la")),
        (1440, TimeSignature(4, 2, 24, 8)),
        (1440, Lyric(b"Bbmaj7")),
        (3359, Lyric(b"N.C.")),
    ];
    let back = import::import(&midi(&events)).unwrap();
    // A symbol a tick before a bar line belongs to the bar line.
    assert_eq!(back.text, "[A] | 3/4 Cm7 F7 / | 4/4 Bbmaj7 | N.C. |");
    let told: Vec<(&str, &str)> = back
        .missed
        .iter()
        .map(|m| (m.bar.as_str(), m.what.as_str()))
        .collect();
    assert_eq!(told, [("2", "lyric")], "{:?}", back.missed);
}

/// Standard MIDI Files 1.0: every track ends with FF 2F.
#[test]
fn a_track_that_breaks_off_is_told() {
    let events = [
        (0, MetaMessage::Marker(b"Cm7")),
        (1920, MetaMessage::Marker(b"F7")),
        (3840, MetaMessage::Marker(b"Bbmaj7")),
    ];
    let whole = midi(&events);
    assert!(import::import(&whole).unwrap().missed.is_empty());
    // Before the last marker, and by a byte in its place that no file may have.
    let mut broken = whole.clone();
    let last = whole
        .windows(2)
        .rposition(|pair| pair == [0xff, 6])
        .unwrap();
    broken[last] = 0xf1;
    for file in [&whole[..last], &broken] {
        let back = import::import(file).unwrap();
        assert_eq!(back.text, "| Cm7 | F7 |");
        let told: Vec<String> = back.missed.iter().map(ToString::to_string).collect();
        assert!(
            told[0].contains("track 1: the track breaks off"),
            "{told:?}"
        );
    }
}

#[test]
fn bare_letters_are_sections_and_no_chords() {
    let events = [
        (0, MetaMessage::Marker(b"A")),
        (1920, MetaMessage::Marker(b"B")),
    ];
    assert_eq!(import::import(&midi(&events)), Err(ImportError::NoChords));
    let mut frames = midi(&[(0, MetaMessage::Marker(b"Cm7"))]);
    frames[12..14].copy_from_slice(&[0xe7, 40]);
    assert!(matches!(import::import(&frames), Err(ImportError::Midi(_))));
}
