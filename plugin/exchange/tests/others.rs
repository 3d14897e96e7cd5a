//! Files as other programs write them, one habit at a time.

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
    // In our notation a letter would end the repeat.
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
fn repeats_of_three_times_are_written_out() {
    let times = line("right", "<repeat direction=\"backward\" times=\"3\"/>");
    assert_eq!(
        text(&[bar("C", ""), bar("F", &times), bar("G", "")]),
        "|: C | F :| C | F |\n| G |"
    );
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

/// What cannot be read is told with its bar and its place in the file; the rest
/// comes in.
#[test]
fn what_is_missed_has_its_place() {
    let pedal = chord("C", "<kind>pedal</kind>");
    let function = "<harmony><function>V</function><kind>dominant</kind></harmony>";
    let strange = chord("C", "<kind>quartal</kind>");
    let spoken = chord("C", "<kind text=\"7alt\">other</kind>");
    let segno =
        "<direction><direction-type><segno/></direction-type><sound dacapo=\"yes\"/></direction>";
    let word =
        "<direction><direction-type><rehearsal>Verse</rehearsal></direction-type></direction>";
    let file = score(&[
        bar("C", ""),
        format!("<measure>{pedal}</measure>"),
        format!("<measure>{function}{strange}</measure>"),
        format!("<measure>{spoken}</measure>"),
        bar("G", segno),
        bar("A", word),
    ]);
    let back = read(&file);
    assert_eq!(back.text, "| C | % | % | C7alt |\n| G | A |");
    let told: Vec<(usize, &str)> = back
        .missed
        .iter()
        .map(|m| (m.bar, m.what.as_str()))
        .collect();
    let expected = [
        (2, "harmony"),
        (3, "harmony"),
        (3, "harmony"),
        (5, "segno"),
        (5, "dacapo"),
        (6, "rehearsal"),
    ];
    assert_eq!(told, expected);
    for missed in &back.missed {
        let place = &file[missed.at.unwrap()..];
        let element = if missed.what == "dacapo" {
            "sound"
        } else {
            &missed.what
        };
        assert!(
            place.starts_with(&format!("<{element}")),
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

/// A MIDI file of 4/4 at 480 ticks to the quarter, with these events of one track.
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
    // A tick before a bar line is meant for it.
    assert_eq!(back.text, "[A] | 3/4 Cm7 F7 / | 4/4 Bbmaj7 | N.C. |");
    let told: Vec<(usize, &str)> = back
        .missed
        .iter()
        .map(|m| (m.bar, m.what.as_str()))
        .collect();
    assert_eq!(told, [(2, "lyric")], "{:?}", back.missed);
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
