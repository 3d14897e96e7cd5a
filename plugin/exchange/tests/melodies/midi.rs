//! Tracks of MIDI files: which one is the melody, and the grid that played notes go to.

use crate::sung;

/// Notes of a track: when each begins, when it ends, and its key.
type Played<'a> = &'a [(u32, u32, u8)];

/// The tracks of a MIDI file: for each its name and its notes (start, end, key) in ticks of 480.
fn tracks(markers: &[(u32, &str)], tracks: &[(&str, Played)]) -> Vec<u8> {
    use midly::{Format, Header, MetaMessage, MidiMessage, Timing, TrackEvent, TrackEventKind};
    let track = |mut events: Vec<(u32, TrackEventKind<'static>)>| -> Vec<TrackEvent<'static>> {
        events.sort_by_key(|(at, _)| *at);
        let mut before = 0;
        let events = events.into_iter().map(|(at, kind)| {
            let delta = (at - std::mem::replace(&mut before, at)).into();
            TrackEvent { delta, kind }
        });
        let end = TrackEvent {
            delta: 0.into(),
            kind: TrackEventKind::Meta(MetaMessage::EndOfTrack),
        };
        events.chain([end]).collect()
    };
    let mut all = Vec::new();
    let text = |text: &str| -> &'static [u8] { text.to_owned().leak().as_bytes() };
    let markers = markers
        .iter()
        .map(|(at, words)| (*at, TrackEventKind::Meta(MetaMessage::Marker(text(words)))));
    all.push(track(markers.collect()));
    for (name, notes) in tracks {
        let name = (0, TrackEventKind::Meta(MetaMessage::TrackName(text(name))));
        let mut events = vec![name];
        for (start, end, key) in *notes {
            let midi = |message| TrackEventKind::Midi {
                channel: 0.into(),
                message,
            };
            let (key, vel) = ((*key).into(), 80.into());
            events.push((*start, midi(MidiMessage::NoteOn { key, vel })));
            events.push((*end, midi(MidiMessage::NoteOff { key, vel })));
        }
        all.push(track(events));
    }
    let header = Header::new(Format::Parallel, Timing::Metrical(480.into()));
    let mut bytes = Vec::new();
    midly::write_std(&header, all.iter(), &mut bytes).unwrap();
    bytes
}

#[test]
fn the_track_of_a_midi_file_is_found_or_chosen_by_name() {
    let high: &[_] = &[(0, 960, 84), (960, 1920, 79)];
    let low: &[_] = &[(0, 1920, 60)];
    let chords: &[_] = &[(0, 1920, 88), (0, 1920, 91), (0, 1920, 96)];
    let file = |name| {
        tracks(
            &[(0, "Cmaj7")],
            &[("Piano", chords), ("Flute", high), (name, low)],
        )
    };
    let (text, melody, told) = sung(&file("Horn"), None);
    assert_eq!(
        (text.as_str(), melody.as_str()),
        ("| Cmaj7 |", "| C6/2 G5 |")
    );
    assert!(
        told[0].contains("that of \"Flute\"; \"Piano\", \"Horn\" have"),
        "{told:?}"
    );
    assert_eq!(sung(&file("Melody"), None).1, "| C4/1 |");
    let (_, melody, told) = sung(&file("Horn"), Some("piano"));
    assert_eq!(melody, "| C7/1 |");
    assert!(told.contains(&"melody: notes below the highest line are left out: 2".to_owned()));
}

/// The chords are read from the other tracks, and a file with one track has no melody.
#[test]
fn chords_are_heard_beside_the_melody() {
    let melody: &[_] = &[(0, 960, 74), (960, 1920, 77)];
    let chords: &[_] = &[(0, 1920, 52), (0, 1920, 55), (0, 1920, 60), (0, 1920, 48)];
    let file = tracks(&[], &[("Lead", melody), ("Piano", chords)]);
    let (text, line, _) = sung(&file, None);
    assert_eq!((text.as_str(), line.as_str()), ("| C |", "| D5/2 F5 |"));
    let file = tracks(&[], &[("Piano", chords)]);
    let (_, line, told) = sung(&file, None);
    assert_eq!(line, "");
    let words = "melody: the chords are read from its notes; expected a track of its own";
    assert!(told.contains(&words.to_owned()), "{told:?}");
}

/// A melody that was played goes to the nearest sixteenths and triplets. One that was written keeps
/// what stands between them.
#[test]
fn a_played_melody_goes_to_the_grid_and_a_written_one_stays() {
    let played: &[_] = &[
        (7, 230, 72),
        (251, 470, 74),
        (491, 610, 76),
        (648, 790, 77),
        (811, 950, 79),
        (967, 1905, 81),
    ];
    let file = tracks(&[(0, "C6")], &[("Lead", played)]);
    let (_, melody, told) = sung(&file, None);
    assert_eq!(melody, "| C5/8 D5 E5/8t F5 G5 A5/2 |");
    let moved = "The melody was played freely: its notes are moved to the nearest sixteenth or \
                 triplet, by 22 of 960 ticks of a quarter note at most.";
    assert!(told.contains(&moved.to_owned()), "{told:?}");
    let written: &[_] = &[
        (0, 480, 72),
        (487, 960, 74),
        (960, 1440, 76),
        (1440, 1920, 77),
    ];
    let file = tracks(&[(0, "C6")], &[("Lead", written)]);
    let (_, melody, told) = sung(&file, None);
    assert_eq!(melody, "| C5 r:14 D5:946 E5/4 F5 |");
    let kept = "Notes of the melody that stand between the note values keep their ticks: 1.";
    assert!(told.contains(&kept.to_owned()), "{told:?}");
}
