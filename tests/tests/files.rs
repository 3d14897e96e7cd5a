//! Audio and MIDI files, read back by the libraries' own readers, and the MIDI
//! form of events.

use guidehand_tests::event::NoteExpressionType;
use guidehand_tests::smf::{MidiFile, MidiFileError};
use guidehand_tests::{Event, Session, Signature, smf, wav};
use midly::num::{u4, u7};
use midly::{Format, MetaMessage, MidiMessage, Smf, Timing, TrackEventKind};
use std::path::PathBuf;

fn file(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name)
}

fn score(events: Vec<(f64, Event)>) -> MidiFile {
    MidiFile {
        tempo_bpm: 100.0,
        signature: Signature {
            numerator: 3,
            denominator: 4,
        },
        length_beats: 6.0,
        markers: vec![(3.0, "Second bar".to_owned())],
        events,
    }
}

#[test]
fn audio_is_written_bit_by_bit() {
    let left = [0.0, 1.5, -0.1, f32::MIN_POSITIVE];
    let right = [0.25];
    let bytes = wav::bytes(44_100, &left, &right).unwrap();
    let mut reader = hound::WavReader::new(bytes.as_slice()).unwrap();
    assert_eq!(reader.spec().sample_rate, 44_100);
    assert_eq!(reader.spec().channels, 2);
    let samples: Vec<f32> = reader.samples().map(Result::unwrap).collect();
    assert_eq!(
        samples,
        [0.0, 0.25, 1.5, 0.0, -0.1, 0.0, f32::MIN_POSITIVE, 0.0]
    );
}

#[test]
fn a_score_is_written_by_channel() {
    let events = vec![
        (1.0, Event::note_off(9, 40)),
        (0.0, Event::note_on(9, 40, 1.0)),
        (0.5, Event::note_on(0, 60, 0.001)),
        (5.5, Event::note_off(0, 60)),
        (
            0.0,
            Event::Program {
                channel: 0,
                program: 4,
            },
        ),
    ];
    let path = file("score.mid");
    smf::write(&path, &score(events)).unwrap();
    let bytes = std::fs::read(&path).unwrap();
    let smf = Smf::parse(&bytes).unwrap();
    assert_eq!(smf.header.format, Format::Parallel);
    assert_eq!(smf.header.timing, Timing::Metrical(960.into()));

    let tracks: Vec<Vec<(u32, TrackEventKind<'_>)>> = smf
        .tracks
        .iter()
        .map(|track| track.iter().map(|e| (e.delta.as_int(), e.kind)).collect())
        .collect();
    let meta = TrackEventKind::Meta;
    let midi = |channel: u8, message| TrackEventKind::Midi {
        channel: u4::new(channel),
        message,
    };
    let on = |key, vel| MidiMessage::NoteOn {
        key: u7::new(key),
        vel: u7::new(vel),
    };
    let off = |key| MidiMessage::NoteOff {
        key: u7::new(key),
        vel: u7::new(0),
    };
    let program = MidiMessage::ProgramChange {
        program: u7::new(4),
    };
    assert_eq!(
        tracks,
        [
            vec![
                (0, meta(MetaMessage::Tempo(600_000.into()))),
                (0, meta(MetaMessage::TimeSignature(3, 2, 24, 8))),
                (2880, meta(MetaMessage::Marker(b"Second bar"))),
                (2880, meta(MetaMessage::EndOfTrack)),
            ],
            vec![
                (0, midi(0, program)),
                (480, midi(0, on(60, 1))),
                (4800, midi(0, off(60))),
                (480, meta(MetaMessage::EndOfTrack)),
            ],
            vec![
                (0, midi(9, on(40, 127))),
                (960, midi(9, off(40))),
                (4800, meta(MetaMessage::EndOfTrack)),
            ],
        ]
    );
}

#[test]
fn a_session_becomes_a_score_on_its_beats() {
    let mut session = Session::new(48_000.0, 120.0, 96_000);
    session.note(24_000, 36_000, 60);
    let score = MidiFile::of(&session, &session.events);
    let beats: Vec<f64> = score.events.iter().map(|(beats, _)| *beats).collect();
    assert_eq!(beats, [1.0, 1.5]);
    assert_eq!(score.length_beats, 4.0);
}

#[test]
fn what_a_file_cannot_hold_is_an_error() {
    let choke = Event::Choke {
        channel: 0,
        key: 60,
        note_id: -1,
    };
    for event in [
        choke,
        Event::Midi([0xf8, 0, 0]),
        Event::note_on(-1, 60, 1.0),
    ] {
        let error = smf::bytes(&score(vec![(0.0, event)])).unwrap_err();
        assert!(
            matches!(error, MidiFileError::NoMidi(e) if e == event),
            "{error}"
        );
    }
    for beats in [-1.0, f64::NAN, 1e12] {
        let error = smf::bytes(&score(vec![(beats, Event::note_off(0, 60))])).unwrap_err();
        assert!(matches!(error, MidiFileError::Position(_)), "{error}");
    }
    for bpm in [0.0, -1.0, 3.0, f64::NAN] {
        let mut score = score(Vec::new());
        score.tempo_bpm = bpm;
        let error = smf::bytes(&score).unwrap_err();
        assert!(matches!(error, MidiFileError::Tempo(_)), "{error}");
    }
    for (numerator, denominator) in [(0, 4), (4, 3), (4, 0), (300, 4)] {
        let mut score = score(Vec::new());
        score.signature = Signature {
            numerator,
            denominator,
        };
        let error = smf::bytes(&score).unwrap_err();
        assert!(matches!(error, MidiFileError::Signature(_)), "{error}");
    }
}

#[test]
fn channel_messages_survive_their_names() {
    for status in 0x80..0xf0 {
        for first in 0..128 {
            for second in 0..128 {
                let bytes = [status, first, second];
                let expected = match status >> 4 {
                    // A silent note-on is a note-off, and short messages have
                    // no third byte.
                    0x9 if second == 0 => [status & 0x8f, first, 0],
                    0xc | 0xd => [status, first, 0],
                    _ => bytes,
                };
                assert_eq!(Event::from_midi(bytes).to_midi(), Some(expected));
            }
        }
    }
}

#[test]
fn no_midi_is_made_of_numbers_out_of_range() {
    let pressure = |value| Event::Expression {
        kind: NoteExpressionType::Pressure,
        channel: 0,
        key: 60,
        note_id: -1,
        value,
    };
    assert!(pressure(1.0).to_midi().is_some());
    for event in [
        Event::note_on(16, 60, 0.5),
        Event::note_on(0, 128, 0.5),
        Event::note_on(0, 60, 1.01),
        Event::note_on(0, 60, f64::NAN),
        pressure(-0.1),
        Event::PitchBend {
            channel: 0,
            value: 1 << 14,
        },
        Event::Controller {
            channel: 0,
            number: 128,
            value: 0,
        },
    ] {
        assert_eq!(event.to_midi(), None, "{event:?}");
    }
    let system = [0xf8, 0, 0];
    assert_eq!(Event::from_midi(system), Event::Midi(system));
    let odd = [0x90, 60, 200];
    assert_eq!(Event::from_midi(odd), Event::Midi(odd));
}
