//! The player's own voicings in the texture *My voicings*: they come out of the plugin in every key,
//! for the chart and for played roots, and a saved state brings them back.

use crate::plugin::{
    RATE_HZ, chord_keys, guidehand, id, keys, load_chart, low, mute, notes, play, set, set_key,
    transposed, twelve_keys, twelve_tonics, value,
};
use guidehand_exchange::own_voicings::{self, OwnVoicings};
use guidehand_tests::{BlockSizes, Host, Player, Session, TransportChange, state};
use guidehand_theory::candidates::{Edges, Register};
use guidehand_theory::chart;
use guidehand_theory::key::Mode;
use guidehand_theory::own_shape::Own;
use guidehand_theory::pipeline;
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use serde_json::{Value, json};

const TEXT: &str = "| Dm7 | G7 | Cmaj7 | % |";

/// The third, the seventh and the ninth of a minor seventh chord, spread over an octave.
const SPREAD: &str = r#"{
  "format": "guidehand voicings",
  "version": 1,
  "voicings": [{"name":"Spread","family":"m7","degrees":["b3","b7","9"]}]
}"#;

/// That shape over ii in twelve keys, from six flats to five sharps, each where it lies within D3
/// and A4 or a third above (common practice, no published source).
const OVER_TWO: [&str; 12] = [
    "B3 F#4 A#4",
    "Gb3 Db4 F4",
    "Db4 Ab4 C5",
    "Ab3 Eb4 G4",
    "Eb3 Bb3 D4",
    "Bb3 F4 A4",
    "F3 C4 E4",
    "C4 G4 B4",
    "G3 D4 F#4",
    "D3 A3 C#4",
    "A3 E4 G#4",
    "E3 B3 D#4",
];

fn spread() -> OwnVoicings {
    own_voicings::read(SPREAD.as_bytes()).unwrap()
}

/// A mute instance with a chart and own voicings, within hard edges, where each shape has one place.
fn with_own(text: &str, texture: &str) -> Host {
    let mut host = mute();
    set(&mut host, "Chords from", "Chart");
    set(&mut host, "Texture", texture);
    set(&mut host, "Hard register edges", "On");
    let saved = host.save_state().unwrap();
    let state = state::with_own_voicings(&saved, text, &spread());
    host.load_state(&state).unwrap();
    host
}

/// A session that plays so many beats, at a thousand samples a beat, and then stops.
fn once(beats: u64) -> Session {
    let mut session = Session::new(RATE_HZ, 2_880.0, beats * 1_000 + 1_000);
    session.change(beats * 1_000, TransportChange::Stop);
    session
}

/// What the theory plans for a chart with these voicings.
fn planned(text: &str, own: &OwnVoicings) -> Vec<Vec<i16>> {
    let placed = pipeline::place(&chart::parse(text).unwrap(), None);
    let register = Register {
        edges: Edges::Hard,
        ..Register::DEFAULT
    };
    let shapes = own.shapes();
    let own = Own::instead(&shapes);
    let texture = Texture::FourNotes;
    let plan = pipeline::plan_with(&placed, texture, register, Ends::Cyclic, &[], own);
    let notes = plan.into_iter().flatten();
    notes
        .map(|voiced| voiced.voicing.notes().map(|n| n.number().into()).collect())
        .collect()
}

#[test]
fn the_own_shape_sounds_in_twelve_keys() {
    for (fifths, over_two) in twelve_keys().zip(OVER_TWO) {
        let text = transposed(TEXT, fifths);
        let mut host = with_own(&text, "My voicings");
        let played = chord_keys(&play(&mut host, &once(12)).events);
        assert_eq!(played[0], keys(over_two), "{text}");
        assert_eq!(played, planned(&text, &spread())[..3], "{text}");
        assert_eq!(played[1].len(), 4, "the others have four notes");
    }
}

#[test]
fn the_own_shape_sounds_over_roots_in_twelve_keys() {
    let mut host = with_own(TEXT, "My voicings");
    set(&mut host, "Chords from", "Roots");
    for tonic in twelve_tonics() {
        set_key(&mut host, tonic, Mode::Major);
        // Each tonic is so many fifths above that of six flats.
        let place = usize::from((tonic + 6) * 7 % 12);
        let two = low(tonic + 2);
        let mut session = Session::new(RATE_HZ, 2_880.0, 4_000);
        session.change(0, TransportChange::Stop);
        session.note(1_000, 3_000, two);
        let played = chord_keys(&play(&mut host, &session).events);
        assert_eq!(played, [keys(OVER_TWO[place])], "tonic {tonic}");
    }
}

#[test]
fn a_saved_state_plays_the_same() {
    let mut host = with_own(TEXT, "My voicings");
    let saved = host.save_state().unwrap();
    let played = play(&mut host, &once(16)).events;
    let mut other = guidehand();
    other.load_state(&saved).unwrap();
    assert_eq!(other.save_state().unwrap(), saved, "byte for byte");
    assert_eq!(play(&mut other, &once(16)).events, played);
    // Without its own voicings the same chart has the texture of four notes.
    load_chart(&mut other, TEXT);
    let four = chord_keys(&play(&mut other, &once(16)).events);
    assert_eq!(four, planned(TEXT, &OwnVoicings::default()));
    assert_ne!(four[0], keys("F3 C4 E4"));
}

/// The texture is automated to My voicings and back, between chords and within them.
#[test]
fn automation_to_own_voicings_and_back_leaves_nothing_behind() {
    let text = "| Dm7 | Dm7 | Dm7 | Dm7 |";
    for at_once in ["Off", "On"] {
        for sizes in [BlockSizes::Fixed(64), BlockSizes::Fixed(4_096)] {
            let mut host = with_own(text, "Four notes");
            set(&mut host, "Apply immediately", at_once);
            let texture = id(&host, "Texture");
            let [mine, four] =
                ["My voicings", "Four notes"].map(|words| value(&mut host, "Texture", words));
            let mut session = once(16);
            session.blocks = sizes;
            session
                .param(2_500, texture, mine)
                .param(9_000, texture, four);
            let events = play(&mut host, &session).events;
            // Panics if a note hangs.
            assert!(
                notes(&events)
                    .iter()
                    .all(|note| note.start_samples < note.end_samples)
            );
            let played = chord_keys(&events);
            let own = |chord: &Vec<i16>| *chord == keys("F3 C4 E4");
            let heard = played.iter().filter(|chord| own(chord)).count();
            assert!(heard > 0, "{at_once}: {played:?}");
            assert!(
                !own(&played[0]) && !own(played.last().unwrap()),
                "{played:?}"
            );
        }
    }
}

/// A state that comes while the song plays takes effect at once, with its own voicings.
#[test]
fn own_voicings_that_are_loaded_while_playing_sound_at_once() {
    let mut host = with_own(TEXT, "My voicings");
    let with = host.save_state().unwrap();
    load_chart(&mut host, TEXT);
    let session = once(8);
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(2_048).unwrap();
    player.host().load_state(&with).unwrap();
    let played = chord_keys(&player.finish().unwrap().events);
    assert_eq!(played[1], keys("F3 C4 E4"));
}

/// What a later version has saved, and what is no voicing, plays nothing and is saved again.
#[test]
fn voicings_that_cannot_be_read_are_kept_and_do_no_harm() {
    let mut host = with_own(TEXT, "My voicings");
    let own = json!({
        "version": 3,
        "voicings": [
            {"name": "Spread", "family": "m7", "degrees": ["b3", "b7", "9"], "finger": 2},
            {"name": "Nine", "family": "m7", "degrees": ["1", "b3", "5", "b7", "9", "11", "13", "1", "b3"]},
            {"name": "Odd", "family": "m9", "degrees": ["b3", "b7"]},
            "no voicing",
        ],
    });
    let saved = host.save_state().unwrap();
    let chart = json!({ "text": TEXT, "own_voicings": own });
    host.load_state(&state::with_field(&saved, "chart", &chart))
        .unwrap();
    let saved = host.save_state().unwrap();
    let json: Value = serde_json::from_slice(state::json_of(&saved)).unwrap();
    let chart: Value = serde_json::from_str(json["fields"]["chart"].as_str().unwrap()).unwrap();
    assert_eq!(chart["own_voicings"], own);
    let played = chord_keys(&play(&mut host, &once(16)).events);
    assert_eq!(played[0], keys("F3 C4 E4"));
}
