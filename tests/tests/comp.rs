//! The results of `comp`: the built plugin's notes in every rhythm, and the files that they are
//! written to.

use guidehand_exchange::midi;
use guidehand_exchange::musicxml::{self, Page};
use guidehand_exchange::own_voicings;
use guidehand_exchange::{import, score::Score};
use guidehand_report::request::{PlayedBy, Request, Rhythm, Root};
use guidehand_report::tensions::TENSIONS;
use guidehand_tests::comp::{Comp, CompError, comp};
use guidehand_tests::paths;
use guidehand_theory::comping::Yielding;
use guidehand_theory::key::Key;
use guidehand_theory::melody;
use guidehand_theory::shape::Texture;
use guidehand_theory::under::Style;
use midly::{MetaMessage, MidiMessage, Smf, TrackEventKind};

const CHART: &str = "3/4 | Dm7 | G7 | 4/4 Cmaj7 A7 | N.C. | Dm7 G7 | C6 |";

fn request(rhythm: Rhythm) -> Request {
    Request {
        tempo_bpm: 140.0,
        rhythm,
        ..Request::new(CHART)
    }
}

fn made(request: &Request) -> Comp {
    comp(&paths::plugin_path(), request).unwrap_or_else(|error| panic!("{request:?}: {error}"))
}

/// The notes of a file's track: start, end, key, velocity.
fn notes_of(file: &[u8], track: usize) -> Vec<(u32, u32, u8, u8)> {
    let smf = Smf::parse(file).unwrap();
    let (mut at, mut open, mut notes) = (0, Vec::new(), Vec::new());
    for event in &smf.tracks[track] {
        at += event.delta.as_int();
        match event.kind {
            TrackEventKind::Midi {
                message: MidiMessage::NoteOn { key, vel },
                ..
            } => open.push((key.as_int(), at, vel.as_int())),
            TrackEventKind::Midi {
                message: MidiMessage::NoteOff { key, .. },
                ..
            } => {
                let index = open.iter().position(|(k, ..)| *k == key).unwrap();
                let (key, from, velocity) = open.remove(index);
                notes.push((from, at, key, velocity));
            }
            _ => {}
        }
    }
    assert_eq!(open, [], "every note ends");
    notes.sort_unstable();
    notes
}

/// The notes of a channel among the events of the report, in the same form.
fn events_of(made: &Comp, channel: i16) -> Vec<(u32, u32, u8, u8)> {
    let (mut open, mut notes) = (Vec::new(), Vec::new());
    let events = made.report.events.iter();
    for event in events.filter(|event| event.channel == channel) {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "whole ticks, keys and steps"
        )]
        let (at, key, velocity) = (
            (event.beat * 960.0).round() as u32,
            event.midi as u8,
            (event.velocity * 127.0).round() as u8,
        );
        if event.kind == "on" {
            open.push((key, at, velocity));
        } else {
            let index = open.iter().position(|(k, ..)| *k == key).unwrap();
            let (key, from, velocity) = open.remove(index);
            notes.push((from, at, key, velocity));
        }
    }
    notes.sort_unstable();
    notes
}

fn plain(score: &Score) -> Vec<(u32, u32, u8, u8)> {
    let of = |n: &guidehand_exchange::score::Note| {
        (n.start_ticks, n.end_ticks(), n.note.number(), n.velocity)
    };
    let mut notes: Vec<_> = score.comping.iter().map(of).collect();
    notes.sort_unstable();
    notes
}

#[test]
fn files_hold_what_the_plugin_played_in_every_rhythm() {
    let mut counts = Vec::new();
    for rhythm in Rhythm::ALL {
        let made = made(&request(rhythm));
        let ons = made.report.events.iter().filter(|e| e.kind == "on").count();
        let file = midi::write(&made.score);
        let notes = notes_of(&file, 1);
        assert_eq!(notes, plain(&made.score), "{rhythm:?}");
        let bass = notes_of(&file, 2);
        assert_eq!(notes.len() + bass.len(), ons, "{rhythm:?}");
        assert_eq!(notes, events_of(&made, 1), "{rhythm:?}");
        assert_eq!(bass, events_of(&made, 2), "{rhythm:?}");
        let starts: std::collections::BTreeSet<u32> = notes.iter().map(|n| n.0).collect();
        counts.push((rhythm, starts.len()));
    }
    let strikes = |rhythm| counts.iter().find(|(r, _)| *r == rhythm).unwrap().1;
    assert_eq!(strikes(Rhythm::Hold), 7, "{counts:?}");
    assert!(strikes(Rhythm::Charleston) > 7, "{counts:?}");
}

/// Charts with a pickup, a repeat, a jump, basses that are no roots, a polychord, short chords and
/// changes of meter.
const FORMS: [&str; 4] = [
    "Pickup G7 |: C6 | Am7 :| Dm7 G7/B | Cmaj9 |",
    "| Dm7/G | D/C7 Fine | N.C. / Bb7 / | Fmaj7/A D.C. al Fine |",
    "5/4 | Ebm7 Bbm7 | 7/8 Am7b5 D7(b9) | 12/8 Gm(maj7) C7 | 2/2 F6 |",
    "| C6 F6 G6 A6 | even B7 Em7 A7 | Am Am/G# | Am/G F#m7b5 |",
];

/// The events of the report and both tracks of the MIDI file are the same notes.
#[test]
fn events_and_files_hold_the_same_notes_of_every_form() {
    for chart in FORMS {
        for rhythm in Rhythm::ALL {
            let made = made(&Request {
                chart: chart.to_owned(),
                tone: false,
                ..request(rhythm)
            });
            let file = midi::write(&made.score);
            let [chords, bass] = [1, 2].map(|track| notes_of(&file, track));
            assert!(!chords.is_empty() && !bass.is_empty(), "{chart} {rhythm:?}");
            assert_eq!(chords, events_of(&made, 1), "{chart} {rhythm:?}");
            assert_eq!(bass, events_of(&made, 2), "{chart} {rhythm:?}");
        }
    }
}

/// The bass is struck with every chord, in the lowest octaves of a double bass and as hard as the
/// chord (common practice, no published source), and the tone of both stays far from clipping.
#[test]
fn the_bass_sounds_with_every_chord_and_nothing_clips() {
    for rhythm in [Rhythm::Hold, Rhythm::Charleston, Rhythm::Bossa] {
        let made = made(&request(rhythm));
        let strikes = |notes: &[guidehand_exchange::score::Note]| {
            let strikes = notes.iter().map(|note| (note.start_ticks, note.velocity));
            strikes.collect::<std::collections::BTreeSet<(u32, u8)>>()
        };
        assert_eq!(
            strikes(&made.score.bass),
            strikes(&made.score.comping),
            "{rhythm:?}"
        );
        for note in &made.score.bass {
            assert!((28..=52).contains(&note.note.number()), "{note:?}");
            assert!((40..=105).contains(&note.velocity), "{note:?}");
        }
        let sound = made.performance.left.iter().chain(&made.performance.right);
        let peak = sound.fold(0.0_f32, |peak, sample| peak.max(sample.abs()));
        assert!((0.01..0.5).contains(&peak), "{rhythm:?}: {peak}");
    }
}

/// The file begins with tempo and meters, and has a track for the bass.
#[test]
fn a_midi_file_tells_tempo_meters_symbols_and_the_bass() {
    let file = midi::write(&made(&request(Rhythm::Charleston)).score);
    let smf = Smf::parse(&file).unwrap();
    let (mut meters, mut markers, mut tempi) = (Vec::new(), Vec::new(), Vec::new());
    let mut at = 0;
    for event in &smf.tracks[0] {
        at += event.delta.as_int();
        match event.kind {
            TrackEventKind::Meta(MetaMessage::TimeSignature(beats, power, ..)) => {
                meters.push((at, beats, 1 << power));
            }
            TrackEventKind::Meta(MetaMessage::Marker(text)) => {
                markers.push((at, String::from_utf8_lossy(text).into_owned()));
            }
            TrackEventKind::Meta(MetaMessage::Tempo(micros)) => tempi.push(micros.as_int()),
            _ => {}
        }
    }
    assert_eq!(meters, [(0, 3, 4), (5_760, 4, 4)]);
    assert_eq!(tempi, [428_571]);
    let words: Vec<&str> = markers.iter().map(|(_, text)| text.as_str()).collect();
    assert_eq!(
        words,
        ["Dm7", "G7", "Cmaj7", "A7", "N.C.", "Dm7", "G7", "C6"]
    );
    let mut bass: Vec<u8> = notes_of(&file, 2).iter().map(|n| n.2).collect();
    // It is struck with each chord.
    bass.dedup();
    assert_eq!(bass, [38, 31, 36, 33, 38, 31, 36]);
}

/// The player's own voicings, over the chart and over roots. The plugin is compared with the theory by
/// `comp`; the notes are common practice, no published source.
#[test]
fn own_voicings_are_played() {
    let file = r#"{"format":"guidehand voicings","version":1,"voicings":[
        {"name":"Spread","family":"m7","degrees":["b3","b7","9"]}]}"#;
    let request = Request {
        own: Some(own_voicings::read(file.as_bytes()).unwrap()),
        tone: false,
        roots: vec![Root { key: 50, beats: 4 }],
        chart: "| Dm7 | G7 | Cmaj7 | % |".to_owned(),
        ..request(Rhythm::TwoAndFour)
    };
    let report = made(&request).report;
    let names = |chord: usize| -> Vec<String> {
        let notes = report.chords[chord].notes.iter();
        notes.map(|note| note.name.clone()).collect()
    };
    assert_eq!(names(0), ["F3", "C4", "E4"]);
    assert_eq!(names(1).len(), 4);
    // The root D leads on from Cmaj7.
    assert_eq!(names(report.chords.len() - 1), ["F3", "C4", "E4"]);
    assert_eq!(report.chords[0].form.as_deref(), Some("A"));
}

/// A repeat stands where both passes sound alike. Off-beats bring the chord that follows, which is
/// another one after the last pass, so these pages write the passes out. The text in the head of the
/// page brings the repeat back.
#[test]
fn a_page_of_a_rhythm_comes_back_as_its_chart() {
    let chart = "|: Dm7 | G7 :|";
    for texture in [Texture::FourNotes, Texture::TwoHands] {
        for (rhythm, tempo_bpm, expected) in [
            (Rhythm::Hold, 140.0, chart),
            (Rhythm::TwoAndFour, 140.0, chart),
            // A tempo at which no beat falls on a sample.
            (Rhythm::TwoAndFour, 133.7, chart),
            (Rhythm::OffBeats, 140.0, "| Dm7 | G7 | Dm7 | G7 |"),
        ] {
            let request = Request {
                chart: chart.to_owned(),
                tempo_bpm,
                texture,
                ..request(rhythm)
            };
            let mut score = made(&request).score;
            let read = |score: &Score| {
                let page = musicxml::write(score, Page::default());
                let back = import::import(page.as_bytes()).unwrap();
                assert_eq!(back.missed, []);
                back.text
            };
            assert_eq!(read(&score), chart, "{rhythm:?} at {tempo_bpm}");
            score.kept = None;
            assert_eq!(read(&score), expected, "{rhythm:?} at {tempo_bpm}");
        }
    }
}

/// The tone and the size of the blocks have no say in what the plugin plays: a request is played
/// silently in large blocks, and with its sound in small ones.
#[test]
fn a_request_is_played_alike_with_the_tone_and_without() {
    for rhythm in [Rhythm::Hold, Rhythm::Charleston, Rhythm::Push] {
        let silent = Request {
            tone: false,
            roots: vec![Root { key: 38, beats: 4 }, Root { key: 43, beats: 3 }],
            ..request(rhythm)
        };
        let sounding = Request {
            tone: true,
            ..silent.clone()
        };
        let (silent, sounding) = (made(&silent), made(&sounding));
        assert!(silent.performance.left.is_empty());
        assert!(
            sounding
                .performance
                .left
                .iter()
                .any(|sample| *sample != 0.0)
        );
        assert!(silent.performance.events.len() > 20, "{rhythm:?}");
        assert_eq!(silent.performance.events, sounding.performance.events);
    }
}

/// What the plugin swings stands on the page as even eighths under the mark (W3C MusicXML 4.0,
/// `swing`), the bass too. Where no off-beat sounds there is no mark.
#[test]
fn a_page_of_a_swung_rhythm_has_even_eighths() {
    for (rhythm, swings) in [
        (Rhythm::Charleston, true),
        (Rhythm::LateCharleston, true),
        (Rhythm::OffBeats, true),
        (Rhythm::Hold, false),
    ] {
        for tempo_bpm in [100.0, 140.0, 220.0] {
            let made = made(&Request {
                chart: "| Dm7 G7 | Cmaj7 | 3/4 Fm7 | Bb7 |".to_owned(),
                tempo_bpm,
                tone: false,
                ..request(rhythm)
            });
            let page = Page {
                bass: true,
                ..Page::default()
            };
            let page = musicxml::write(&made.score, page);
            assert_eq!(
                page.contains("<swing>"),
                swings,
                "{rhythm:?} at {tempo_bpm}"
            );
            assert!(
                !page.contains("<time-modification>"),
                "{rhythm:?} at {tempo_bpm}\n{page}"
            );
        }
    }
}

/// `comp` compares what the plugin plays with the theory in the same key.
#[test]
fn a_chart_can_be_held_in_the_key_of_a_blues() {
    for tonic in ["C", "Bb", "F#"] {
        let key = Key::parse(&format!("{tonic} blues"));
        assert!(key.is_some(), "{tonic}");
        let chart = "| C7 | F7 | C7 | G7 |".to_owned();
        let made = made(&Request {
            chart,
            key,
            ..request(Rhythm::Hold)
        });
        assert_eq!(Some(made.score.key), key);
        assert_eq!(made.report.chords.len(), 4);
    }
}

/// What the panel can do, a script can: swing, touch, variation, seed and tensions. `comp` compares
/// every chord with the theory, whenever it is struck.
#[test]
fn a_hand_and_tensions_can_be_asked_for() {
    let hand = PlayedBy {
        swing: Some(58),
        touch_ms: 20,
        touch_velocity: 10,
        variation: 100,
        seed: Some(3),
    };
    let free = |seed| {
        let hand = PlayedBy {
            seed: Some(seed),
            ..hand
        };
        made(&Request {
            hand,
            roots: vec![Root { key: 38, beats: 4 }],
            ..request(Rhythm::Charleston)
        })
    };
    let (one, two) = (free(3), free(4));
    assert_ne!(one.report.events, two.report.events);
    assert_eq!(one.report.events, free(3).report.events);
    let mut asked = Request::new("| Dm7 | G7 | C |");
    for (name, word) in [
        ("ninth", "b9"),
        ("thirteenth", "b13"),
        ("major-tonic", "maj7"),
    ] {
        let option = TENSIONS.into_iter().find(|option| option.name == name);
        asked.ask(&option.unwrap(), word).unwrap();
    }
    let sounding: Vec<String> = made(&asked)
        .report
        .chords
        .iter()
        .map(|row| row.sounding.clone())
        .collect();
    assert_eq!(sounding[1], "G7(b9,b13)");
    assert_eq!(sounding[2], "Cmaj9");
    assert!(asked.ask(&TENSIONS[0], "b14").is_err());
}

/// An off-beat falls where the swing that is asked for has it.
#[test]
fn swing_can_be_asked_for() {
    for (swing, off_beat) in [(50, 1.5), (60, 1.6), (75, 1.75)] {
        let made = made(&Request {
            hand: PlayedBy {
                swing: Some(swing),
                ..PlayedBy::default()
            },
            chart: "| C6 | % |".to_owned(),
            ..request(Rhythm::Charleston)
        });
        let second = made.score.comping.iter().find(|note| note.start_ticks > 0);
        let beats = f64::from(second.unwrap().start_ticks) / 960.0;
        assert!((beats - off_beat).abs() < 0.002, "{swing}: {beats}");
    }
}

#[test]
fn roots_follow_the_chart() {
    let request = Request {
        roots: vec![Root { key: 38, beats: 4 }, Root { key: 43, beats: 4 }],
        ..request(Rhythm::Bossa)
    };
    let made = made(&request);
    let last: Vec<&str> = made.report.chords[8..]
        .iter()
        .map(|row| row.symbol.as_str())
        .collect();
    assert_eq!(last, ["D", "G"]);
}

#[test]
fn a_chart_that_cannot_be_read_is_told_with_its_place() {
    let request = Request {
        chart: "| Dm7 | what |".to_owned(),
        ..request(Rhythm::Hold)
    };
    let error = comp(&paths::plugin_path(), &request).unwrap_err();
    let CompError::Chart(chart) = error else {
        panic!("{error}")
    };
    let errors = chart.errors.iter();
    let places: Vec<&str> = errors.map(|e| &chart.text[e.source.clone()]).collect();
    assert_eq!(places, ["what"]);
}

/// Pins come out of the built plugin note for note, in every form of the performance: the events,
/// the MIDI file and the page. The page brings chart, pins and scales back, and what comes back plays
/// the same.
#[test]
fn pins_and_scales_go_out_and_come_back() {
    let mut asked = Request {
        tone: false,
        ..Request::new("|: Dm7   | G7 A7 :| Cmaj7 |")
    };
    let kept = serde_json::json!({
        "pins": [
            {"chord": 0, "symbol": "Dm7", "notes": [50, 53, 60, 64]},
            {"chord": 1, "symbol": "G7", "pass": 2, "notes": [41, 45, 47, 52]},
        ],
        "scales": [{"chord": 3, "symbol": "Cmaj7", "scale": "Lydian"}],
    });
    asked.pins = serde_json::from_value(kept["pins"].clone()).unwrap();
    asked.scales = serde_json::from_value(kept["scales"].clone()).unwrap();
    let first = made(&asked);
    let struck = |made: &Comp, key: i16| {
        let ons = made.report.events.iter().filter(|event| event.kind == "on");
        ons.filter(|event| event.channel == 1 && event.midi == key)
            .count()
    };
    assert_eq!([41, 45].map(|key| struck(&first, key)), [1, 1]);
    assert!(struck(&first, 50) >= 2);
    let notes = notes_of(&midi::write(&first.score), 1);
    assert_eq!(notes, plain(&first.score));
    assert!(notes.iter().any(|note| note.2 == 41));
    let page = musicxml::write(&first.score, Page::default());
    assert!(page.contains("<words>C Lydian</words>"), "{page}");
    let imported = import::import(page.as_bytes()).unwrap();
    assert_eq!(imported.missed, []);
    let mut again = Request {
        tone: false,
        ..Request::new("")
    };
    again.pick(imported.kept.unwrap());
    assert_eq!(again.kept(), asked.kept());
    let second = made(&again);
    assert_eq!(second.report, first.report);
    assert_eq!(second.score, first.score);
}

/// Under a melody the built plugin plays the voicings that yield to it. The files hold the melody and
/// the block chords, and bring the melody back.
#[test]
fn a_melody_is_comped_under_and_goes_out_and_comes_back() {
    let chart = "|: Dm7 | G7(b9) | [1 Cmaj7 :| [2 Cmaj7 |";
    let plain = Request {
        tone: false,
        ..Request::new(chart)
    };
    let text = "| F5/2 E5/4 D5 | A5/2 G5 | C5/1 | F5/2 E5/4 D5 | B5/2 G5 | E5/1 |";
    let melody = melody::parse(text, &plain.read().unwrap()).unwrap();
    let asked = Request {
        melody: Some(melody.clone()),
        blocks: Some(Style::DropTwo),
        ..plain.clone()
    };
    let without = made(&plain);
    let off = made(&Request {
        yielding: Yielding::Off,
        ..asked.clone()
    });
    assert_eq!(off.score.comping, without.score.comping);
    let under = made(&asked);
    assert_ne!(under.score.comping, without.score.comping);
    let told = |row: usize| -> Vec<&str> {
        let yields = under.report.chords[row].yields.iter();
        yields.map(|told| told.words.as_str()).collect()
    };
    // Common practice, no published source: a written b9 is left out under a natural 9, and the
    // major seventh yields to the sixth under the root.
    assert_eq!(
        told(1),
        ["b9, as written, is left out and 1 fills its place: A in the melody"]
    );
    assert_eq!(told(2), ["7 yields to 6: C in the melody"]);
    assert_eq!(told(5), Vec::<&str>::new());
    let row = &under.report.chords[1];
    assert!(
        row.notes
            .iter()
            .all(|note| note.degree != "b9" && note.midi < 79)
    );
    assert!(!row.pinned, "what yields is not pinned");
    assert_eq!(row.melody, ["A5", "G5"]);
    assert_eq!(under.report.melody.len(), melody.notes().len());
    for block in &under.report.blocks {
        let top = block.notes.last().unwrap();
        assert!(
            under.report.melody.iter().any(|note| note.name == top.name),
            "{block:?}"
        );
    }
    let table = under.report.to_string();
    assert!(table.contains("7 yields to 6: C in the melody"), "{table}");
    assert!(table.contains("block chord"), "{table}");
    let file = midi::write(&under.score);
    assert_eq!(notes_of(&file, 3), plain_notes(&under.score.comping));
    let wish = import::Wish {
        part: None,
        melody: import::Wanted::Found,
    };
    let page = musicxml::write(&under.score, Page::default());
    for bytes in [file.as_slice(), page.as_bytes()] {
        let back = import::read(bytes, wish).unwrap();
        let chart = guidehand_theory::chart::parse(&back.text).unwrap();
        assert_eq!(back.melody.unwrap().melody.text(&chart), text);
    }
}

fn plain_notes(notes: &[guidehand_exchange::score::Note]) -> Vec<(u32, u32, u8, u8)> {
    let notes = notes.iter().map(|note| {
        let key = note.note.number();
        (note.start_ticks, note.end_ticks(), key, note.velocity)
    });
    let mut notes: Vec<_> = notes.collect();
    notes.sort_unstable();
    notes
}
