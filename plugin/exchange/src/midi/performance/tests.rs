//! What is read of small files. Only `performance` imports it.

use super::*;
use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, Smf, Timing, TrackEvent};

/// An event at its tick.
type At = (u32, TrackEventKind<'static>);

fn on(channel: u8, key: u8) -> TrackEventKind<'static> {
    struck(channel, key, 80)
}

/// A note-on without velocity, which is a note-off.
fn off(channel: u8, key: u8) -> TrackEventKind<'static> {
    struck(channel, key, 0)
}

fn struck(channel: u8, key: u8, velocity: u8) -> TrackEventKind<'static> {
    TrackEventKind::Midi {
        channel: u4::new(channel),
        message: MidiMessage::NoteOn {
            key: u7::new(key),
            vel: u7::new(velocity),
        },
    }
}

fn control(controller: u8, value: u8) -> TrackEventKind<'static> {
    TrackEventKind::Midi {
        channel: u4::new(0),
        message: MidiMessage::Controller {
            controller: u7::new(controller),
            value: u7::new(value),
        },
    }
}

const fn tempo(us: u32) -> TrackEventKind<'static> {
    TrackEventKind::Meta(MetaMessage::Tempo(u24::new(us)))
}

fn bytes(format: Format, quarter: u16, tracks: &[&[At]]) -> Vec<u8> {
    let mut smf = Smf::new(Header::new(format, Timing::Metrical(u15::new(quarter))));
    for events in tracks {
        let mut now = 0;
        let timed = events.iter().map(|(at, kind)| {
            let delta = u28::new(at - now);
            now = *at;
            TrackEvent { delta, kind: *kind }
        });
        let end = TrackEvent {
            delta: u28::new(0),
            kind: TrackEventKind::Meta(MetaMessage::EndOfTrack),
        };
        smf.tracks.push(timed.chain([end]).collect());
    }
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes).unwrap();
    bytes
}

fn played(quarter: u16, events: &[At]) -> Performance {
    read(&bytes(Format::SingleTrack, quarter, &[events])).unwrap()
}

/// Keys with the ticks at which they are struck and released, and cease to sound.
fn times(performance: &Performance) -> Vec<(u8, u32, u32, u32)> {
    let notes = performance.notes.iter();
    let times = notes.map(|n| {
        (
            n.note.number(),
            n.start_ticks,
            n.released_ticks,
            n.end_ticks,
        )
    });
    times.collect()
}

#[test]
fn ticks_of_every_division_come_to_the_same_grid() {
    for quarter in [1, 96, 480, 960, 10_000] {
        let at = |quarters: u32| quarters * u32::from(quarter);
        let read = played(quarter, &[(at(1), on(0, 60)), (at(3), off(0, 60))]);
        assert_eq!(times(&read), [(60, 960, 2880, 2880)], "{quarter}");
    }
}

/// Standard MIDI Files 1.0: half a second a quarter note, until a tempo is set.
#[test]
fn seconds_follow_the_tempi_of_all_tracks() {
    let tempi: &[At] = &[(960, tempo(1_000_000)), (1920, tempo(250_000))];
    let notes: Vec<At> = (0..4)
        .flat_map(|n| [(n * 960, on(0, 60)), (n * 960 + 10, off(0, 60))])
        .collect();
    let file = bytes(Format::Parallel, 960, &[tempi, &notes]);
    let seconds: Vec<f64> = read(&file)
        .unwrap()
        .notes
        .iter()
        .map(|n| n.start_s)
        .collect();
    assert_eq!(seconds, [0.0, 0.5, 1.5, 1.75]);
}

#[test]
fn the_pedal_holds_what_is_released() {
    let read = played(
        960,
        &[
            (0, on(0, 60)),
            (10, control(64, 64)),
            (100, off(0, 60)),
            (150, on(0, 64)),
            (150, on(1, 67)),
            (200, on(0, 60)),
            (300, off(0, 60)),
            (400, off(1, 67)),
            (400, control(64, 63)),
            (500, off(0, 64)),
            (600, on(0, 65)),
            (600, control(64, 127)),
            (700, off(0, 65)),
            (900, on(0, 72)),
            (990, off(0, 72)),
        ],
    );
    let expected = [
        (60, 0, 100, 200),
        (64, 150, 500, 500),
        (67, 150, 400, 400),
        (60, 200, 300, 400),
        (65, 600, 700, 990),
        (72, 900, 990, 990),
    ];
    assert_eq!(times(&read), expected);
}

#[test]
fn notes_end_where_their_key_is_struck_again_or_their_track_ends() {
    let read = played(
        960,
        &[
            (0, on(0, 60)),
            (0, on(0, 60)),
            (50, on(0, 60)),
            (90, off(0, 60)),
            (95, off(0, 60)),
            (100, on(0, 64)),
            (100, off(0, 64)),
            (120, on(0, 67)),
            (200, on(0, 69)),
            (300, control(123, 0)),
            (400, on(0, 71)),
            (500, on(9, 36)),
        ],
    );
    let expected = [
        (60, 0, 50, 50),
        (60, 50, 90, 90),
        (64, 100, 100, 100),
        (67, 120, 300, 300),
        (69, 200, 300, 300),
        (71, 400, 500, 500),
    ];
    assert_eq!(times(&read), expected);
    assert!(
        read.remarks[0].starts_with("notes without an end last as long as their tracks: 1"),
        "{read:?}"
    );
}

#[test]
fn parts_are_tracks_or_the_channels_of_the_only_one() {
    let (left, right): (&[At], &[At]) = (
        &[
            (0, on(0, 48)),
            (9, off(0, 48)),
            (9, on(3, 50)),
            (20, off(3, 50)),
        ],
        &[(0, on(0, 72)), (9, off(0, 72))],
    );
    let parts = |file: &[u8]| -> Vec<(Option<u8>, usize)> {
        let read = read(file).unwrap();
        read.parts.iter().map(|p| (p.channel, p.notes)).collect()
    };
    let one = bytes(Format::SingleTrack, 960, &[left]);
    assert_eq!(parts(&one), [(Some(1), 1), (Some(4), 1)]);
    let two = bytes(Format::Parallel, 960, &[&[], left, right]);
    assert_eq!(parts(&two), [(None, 2), (None, 1)]);
    let of_notes: Vec<usize> = read(&two).unwrap().notes.iter().map(|n| n.part).collect();
    assert_eq!(of_notes, [0, 1, 0]);
}

#[test]
fn bars_follow_the_time_signatures() {
    let meter =
        |beats, power| TrackEventKind::Meta(MetaMessage::TimeSignature(beats, power, 24, 8));
    let note = [(0, on(0, 60)), (9, off(0, 60))];
    let waltz = Meter::new(3, 4).unwrap();
    let plain = played(960, &note);
    let starts = |read: &Performance| [1, 2, 3, 4].map(|n| read.bar_start(n, waltz));
    assert_eq!(
        starts(&plain),
        [Some(0), Some(2880), Some(5760), Some(8640)]
    );
    let signed: Vec<At> = [(0, meter(4, 2))]
        .into_iter()
        .chain(note)
        // Within a bar, which it cuts short.
        .chain([(5760, meter(6, 3))])
        .collect();
    let signed = played(960, &signed);
    assert_eq!(
        starts(&signed),
        [Some(0), Some(3840), Some(5760), Some(8640)]
    );
    assert_eq!(signed.bar_start(0, waltz), None);
    assert_eq!(signed.bar_start(usize::MAX, waltz), None);
}

#[test]
fn what_cannot_be_read_says_why() {
    let note: &[At] = &[(0, on(0, 60)), (9, off(0, 60))];
    let whole = bytes(Format::SingleTrack, 960, &[note]);
    let says = |bytes: &[u8]| read(bytes).unwrap_err().to_string();
    assert!(says(b"RIFX").contains("expected a MIDI file"));
    assert!(says(b"MThd").contains("cannot be read"));
    assert!(says(&vec![0; LARGEST_FILE + 1]).contains("at most 16 MiB"));
    let mut in_seconds = whole.clone();
    in_seconds[12..14].copy_from_slice(&[0xe8, 0x28]);
    assert!(says(&in_seconds).contains("counts in seconds"));
    let drums: &[At] = &[(0, on(9, 36)), (9, off(9, 36))];
    let drums = bytes(Format::SingleTrack, 960, &[drums]);
    assert!(says(&drums).contains("nothing is played"));
    let far: Vec<At> = (0..20)
        .map(|n| (n * 250_000_000, on(0, 60)))
        .take(17)
        .collect();
    let far = bytes(Format::SingleTrack, 1, &[&far]);
    assert!(says(&far).contains("larger than"));
}

#[test]
fn a_broken_track_and_pieces_of_their_own_are_told() {
    let note: &[At] = &[
        (0, on(0, 60)),
        (9, off(0, 60)),
        (10, on(0, 62)),
        (20, off(0, 62)),
    ];
    let mut broken = bytes(Format::Sequential, 960, &[note]);
    let length = broken.len();
    // The status of the last event but one becomes one that no file may have.
    let at = broken.iter().rposition(|byte| *byte == 62).unwrap();
    broken[at] = 0xf1;
    assert_eq!(broken.len(), length);
    let read = read(&broken).unwrap();
    assert_eq!(read.notes.len(), 2);
    let told = read.remarks.join("; ");
    assert!(
        told.contains("pieces of their own") && told.contains("track 1 breaks off"),
        "{told}"
    );
}
