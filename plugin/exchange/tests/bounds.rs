//! Files that are made to take a long time. Each is read quickly, with an error or a chart as the
//! result. The work is counted in allocations, which grow no faster than the file. Unlike time they
//! do not depend on how busy the machine is. A loop that does not allocate shows in the time alone,
//! and only when it takes far too long.

use allocation_counter::measure;
use guidehand_exchange::import::{self, ImportError, LARGEST_FILE};
use guidehand_exchange::midi::performance::{self, PerformanceError};
use guidehand_theory::chart;
use std::time::{Duration, Instant};

/// Much more time than any of these files takes on a slow machine without optimisation.
const LONGEST: Duration = Duration::from_secs(20);
/// The most allocations for each byte of a file. Twice what any of these files takes.
const MOST_CALLS: u64 = 5;
/// The most bytes that are allocated, one after the other, for each byte of a file. Twice what any
/// of these files takes.
const MOST_BYTES: u64 = 450;

fn soon(name: &str, bytes: &[u8]) -> Result<String, ImportError> {
    let result = measured(name, bytes, import::import);
    let text = result.map(|imported| imported.text);
    if let Ok(text) = &text {
        assert!(chart::parse(text).is_ok());
    }
    text
}

/// The result of reading a file, which must not take too much.
fn measured<T>(name: &str, bytes: &[u8], read: fn(&[u8]) -> T) -> T {
    let mut result = None;
    let start = Instant::now();
    let taken = measure(|| result = Some(read(bytes)));
    let time = start.elapsed();
    println!("{name}: {} bytes, {taken:?}, {time:?}", bytes.len());
    assert!(time < LONGEST, "{name} took {time:?}");
    let length = bytes.len() as u64;
    assert!(
        taken.count_total <= MOST_CALLS * length,
        "{name}: {taken:?}"
    );
    assert!(
        taken.bytes_total <= MOST_BYTES * length,
        "{name}: {taken:?}"
    );
    result.unwrap()
}

fn score(measures: &str) -> String {
    format!("<score-partwise><part>{measures}</part></score-partwise>")
}

const HARMONY: &str = "<harmony><root><root-step>C</root-step></root><kind>major</kind></harmony>";

#[test]
fn documents_of_every_size_end_soon() {
    let too_large = Err(ImportError::TooLarge);
    assert_eq!(soon("bytes", &vec![b' '; LARGEST_FILE + 1]), too_large);
    let deep = format!("{}{}", "<part>".repeat(100_000), "</part>".repeat(100_000));
    assert_eq!(soon("deep", deep.as_bytes()), too_large);
    let skipped = format!("<score-partwise>{}", "<x>".repeat(300_000));
    assert!(matches!(
        soon("deep, skipped", skipped.as_bytes()),
        Err(ImportError::Xml { .. })
    ));
    let wide = score(&format!("<measure>{}</measure>", HARMONY.repeat(100_001)));
    assert_eq!(soon("wide", wide.as_bytes()), too_large);
    let crowded = score(&format!("<measure>{}</measure>", HARMONY.repeat(5_000)));
    assert_eq!(soon("crowded", crowded.as_bytes()).as_deref(), Ok("| C |"));
    let bars = score(&"<measure/>".repeat(100_000));
    assert_eq!(
        soon("bars without chords", bars.as_bytes()),
        Err(ImportError::NoChords)
    );
    let bars = score(&format!("<measure>{HARMONY}</measure>").repeat(20_001));
    assert_eq!(soon("bars", bars.as_bytes()), too_large);
    let bars = score(&format!("<measure>{HARMONY}</measure>").repeat(19_000));
    assert!(soon("as many bars as there may be", bars.as_bytes()).is_ok());
    let names = (0..200_000).map(|n| format!(" a{n}=\"\""));
    let names = format!("<score-partwise{}/>", names.collect::<String>());
    assert_eq!(
        soon("attributes", names.as_bytes()),
        Err(ImportError::NoChords)
    );
}

/// Parts that all have one name, and a few words about all of them.
#[test]
fn scores_of_many_parts_end_soon() {
    let many = |count: usize, measure: &str| {
        let list = (0..count)
            .map(|n| format!("<score-part id=\"{n}\"><part-name>Horn</part-name></score-part>"));
        let parts = (0..count).map(|n| format!("<part id=\"{n}\">{measure}</part>"));
        let (list, parts): (String, String) = (list.collect(), parts.collect());
        format!("<score-partwise><part-list>{list}</part-list>{parts}</score-partwise>")
    };
    let silent = many(100_000, "");
    assert_eq!(soon("parts", silent.as_bytes()), Err(ImportError::NoChords));
    let file = many(40_000, &format!("<measure>{HARMONY}</measure>"));
    assert_eq!(
        soon("parts with chords", file.as_bytes()).as_deref(),
        Ok("| C |")
    );
    let back = import::import(file.as_bytes()).unwrap();
    assert!(back.remarks[0].contains("\"Horn (25)\" and 39975 more have chords too"));
    let error = import::part(file.as_bytes(), Some("Flute")).unwrap_err();
    assert!(
        error.to_string().ends_with("\"Horn (24)\" and 39976 more"),
        "{error}"
    );
}

#[test]
fn repeats_that_multiply_end_soon() {
    let close = |times: u32| {
        format!(
            "<measure>{HARMONY}<barline><repeat direction=\"backward\" times=\"{times}\"/>\
             </barline></measure>"
        )
    };
    let many = score(&close(250).repeat(1_000));
    assert_eq!(soon("times", many.as_bytes()), Err(ImportError::TooLarge));
    let ending = format!(
        "<measure>{HARMONY}</measure><measure><barline><ending type=\"start\" number=\"1-9\"/>\
         </barline>{HARMONY}</measure>"
    );
    let _whatever = soon("endings", score(&ending.repeat(1_000)).as_bytes());
    let lol: String = (1..20)
        .map(|n| format!("<!ENTITY a{n} \"&a{};&a{};\">", n - 1, n - 1))
        .collect();
    let lol =
        format!("<!DOCTYPE x [<!ENTITY a0 \"lol\">{lol}]><score-partwise>&a19;</score-partwise>");
    assert!(soon("entities", lol.as_bytes()).is_err());
}

/// A MIDI file with these events in a single track.
fn midi(events: &[u8]) -> Vec<u8> {
    let mut bytes = b"MThd\0\0\0\x06\0\0\0\x01\x03\xc0MTrk".to_vec();
    bytes.extend(u32::try_from(events.len()).unwrap().to_be_bytes());
    bytes.extend(events);
    bytes
}

#[test]
fn midi_files_of_every_size_end_soon() {
    let notes = |count: u32, delta: u8| -> Vec<u8> {
        let keys = (0..count).map(|n| [delta, u8::try_from(36 + n * 7 % 60).unwrap(), 80]);
        [0, 0x90]
            .into_iter()
            .chain(keys.flatten().skip(1))
            .collect()
    };
    assert_eq!(
        soon("events", &midi(&notes(500_001, 1))),
        Err(ImportError::TooLarge)
    );
    let _whatever = soon("notes that never end", &midi(&notes(30_000, 100)));
    let _whatever = soon("notes at once", &midi(&notes(100_000, 0)));
    let late = [0xff, 0xff, 0xff, 0x7f, 0x90, 60, 80].repeat(40);
    assert_eq!(
        soon("the end of time", &midi(&late)),
        Err(ImportError::TooLarge)
    );
    let marker = [1, 0xff, 6, 3, b'D', b'm', b'7'].repeat(40_000);
    let _whatever = soon("markers", &midi(&marker));
    let meters = [96, 0xff, 0x58, 4, 5, 3, 24, 8].repeat(100_000);
    let _whatever = soon("meters", &midi(&meters));
}

#[test]
fn performances_of_every_size_are_read_soon() {
    let played = |name: &str, bytes: &[u8]| measured(name, bytes, performance::read);
    let too_large = Err(PerformanceError::TooLarge);
    assert_eq!(played("bytes", &vec![b'M'; LARGEST_FILE + 1]), too_large);
    let strikes = |count: usize| [[0, 0x90, 60, 80], [1, 0x80, 60, 0]].concat().repeat(count);
    assert_eq!(played("events", &midi(&strikes(250_001))), too_large);
    assert!(played("one key", &midi(&strikes(200_000))).is_ok());
    // A pedal that goes down and down again under notes that end.
    let pedals = [[0, 0x90, 60, 80], [1, 0xb0, 64, 127], [1, 0x80, 60, 0]];
    let pedalled = midi(&pedals.concat().repeat(100_000));
    assert!(played("a pedal that never rises", &pedalled).is_ok());
    let held: Vec<u8> = (0..128).flat_map(|key| [1, 0x90, key, 80]).collect();
    assert!(played("notes without an end", &midi(&held.repeat(1_000))).is_ok());
    let off = [[0, 0x90, 60, 80], [0, 0xb0, 123, 0]];
    assert!(played("all off", &midi(&off.concat().repeat(100_000))).is_ok());
    let tempi = [1, 0xff, 0x51, 3, 0, 0, 1].repeat(200_000);
    let tempi = [&tempi[..], &[0, 0x90, 60, 80]].concat();
    assert!(played("tempi", &midi(&tempi)).is_ok());
    let meters = [96, 0xff, 0x58, 4, 5, 3, 24, 8].repeat(100_000);
    assert_eq!(
        played("meters", &midi(&meters)),
        Err(PerformanceError::NoNotes)
    );
    let late = [0xff, 0xff, 0xff, 0x7f, 0x90, 60, 80].repeat(40);
    assert_eq!(played("the end of time", &midi(&late)), too_large);
}
