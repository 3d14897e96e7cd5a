//! Voicings that are pinned to single chords: they come out of the plugin note for note, whatever is
//! automated, and a saved state brings them back.

use crate::plugin::{
    RATE_HZ, TEXTURES, chord_keys, guidehand, id, keys, play, set, value, with_chart,
};
use guidehand_tests::{Host, Player, Session, TransportChange, state};
use guidehand_theory::candidates::{Hand, Register};
use guidehand_theory::chart;
use guidehand_theory::pin;
use guidehand_theory::pipeline;
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::Ends;
use guidehand_theory::shape::Texture;
use serde_json::{Value, json};

/// A session that plays so many beats, at a thousand samples a beat, and then stops.
fn once(beats: u64) -> Session {
    let mut session = Session::new(RATE_HZ, 2_880.0, beats * 1_000 + 1_000);
    session.change(beats * 1_000, TransportChange::Stop);
    session
}

/// An instance with a chart and its pins, as a state by hand says them.
fn with_pins(text: &str, pins: &Value) -> Host {
    let mut host = with_chart(text);
    let saved = host.save_state().unwrap();
    let chart = json!({ "text": text, "pins": pins });
    host.load_state(&state::with_field(&saved, "chart", &chart))
        .unwrap();
    host
}

/// The keys of a chart in a texture around pinned voicings: the change and its notes.
fn planned_around(text: &str, texture: Texture, pins: &[(usize, &str)]) -> Vec<Vec<i16>> {
    let placed = pipeline::place(&chart::parse(text).unwrap(), None);
    let pinned = |(at, names): &(usize, &str)| {
        let notes = keys(names).into_iter();
        let notes: Vec<MidiNote> = notes.map(|key| MidiNote::clamp(key.into())).collect();
        let chord = placed[*at].unwrap().chord;
        (*at, pin::by_degree(&notes, &chord, Hand::DEFAULT).unwrap())
    };
    let pins: Vec<_> = pins.iter().map(pinned).collect();
    let plan = pipeline::plan_around(&placed, texture, Register::DEFAULT, Ends::Cyclic, &pins);
    let notes = plan.into_iter().flatten();
    notes
        .map(|voiced| voiced.voicing.notes().map(|n| n.number().into()).collect())
        .collect()
}

const TEXT: &str = "| Dm7 | G7 | Cmaj7 | A7 |";

/// G13, an octave below where it is planned.
const LOW: &str = "F2 A2 B2 E3";

#[test]
fn a_state_with_pins_plays_them_and_plays_the_same_when_it_has_been_saved() {
    let pins = json!([{"chord": 1, "symbol": "G7", "notes": keys(LOW)}]);
    for (name, texture) in TEXTURES {
        let mut host = with_pins(TEXT, &pins);
        set(&mut host, "Texture", name);
        let saved = host.save_state().unwrap();
        let played = play(&mut host, &once(16));
        let expected = planned_around(TEXT, texture, &[(1, LOW)]);
        assert_eq!(chord_keys(&played.events), expected, "{name}");
        assert_eq!(expected[1], keys(LOW));

        let mut other = guidehand();
        other.load_state(&saved).unwrap();
        assert_eq!(other.save_state().unwrap(), saved, "byte for byte");
        assert_eq!(play(&mut other, &once(16)).events, played.events, "{name}");
    }
}

#[test]
fn a_pin_holds_every_time_or_one_time_only() {
    let text = "|: Dm7 | G7 :|";
    let high = "B3 E4 A4 D5";
    let pins = json!([
        {"chord": 1, "symbol": "G7", "notes": keys(LOW)},
        {"chord": 1, "symbol": "G7", "pass": 2, "notes": keys(high)},
    ]);
    let played = chord_keys(&play(&mut with_pins(text, &pins), &once(16)).events);
    let around = [(1, LOW), (3, high)];
    assert_eq!(played, planned_around(text, Texture::FourNotes, &around));
    assert_eq!((&played[1], &played[3]), (&keys(LOW), &keys(high)));
}

/// Tensions, texture and register are automated while the chart plays.
#[test]
fn automation_goes_round_a_pin() {
    let text = "| G7 | G7 | G7 | G7 |";
    let pins = json!([{"chord": 1, "symbol": "G7", "notes": keys(LOW)}]);
    for (name, words) in [
        ("Ninth", "b9"),
        ("Texture", "Three notes"),
        ("Register from", "A3"),
    ] {
        let [mut host, mut free] = [with_pins(text, &pins), with_chart(text)];
        for host in [&mut host, &mut free] {
            // A soft edge need not be heard.
            set(host, "Hard register edges", "On");
        }
        let (id, to) = (id(&host, name), value(&mut host, name, words));
        let mut session = once(16);
        session.param(2_000, id, to);
        let played = chord_keys(&play(&mut host, &session).events);
        let free = chord_keys(&play(&mut free, &session).events);
        assert!(played.contains(&keys(LOW)), "{name}: {played:?}");
        let lowest = played.iter().filter(|chord| **chord == keys(LOW));
        assert_eq!(lowest.count(), 1, "{name}: {played:?}");
        assert_ne!(free.first(), free.last(), "{name} is heard elsewhere");
    }
}

/// A state that comes while the song plays takes effect at once, with its pins.
#[test]
fn pins_that_are_loaded_while_playing_sound_at_once() {
    let mut host = with_chart(TEXT);
    let session = once(8);
    let pins = json!([{"chord": 0, "symbol": "Dm7", "notes": keys("F2 C3")}]);
    let mut other = with_pins(TEXT, &pins);
    let saved = other.save_state().unwrap();
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(2_048).unwrap();
    player.host().load_state(&saved).unwrap();
    let played = chord_keys(&player.finish().unwrap().events);
    assert_eq!(played[1], keys("F2 C3"));
}

/// What is no pin, or is one for a chord that is not there, plays nothing and is saved again.
#[test]
fn pins_that_fit_nothing_are_kept_and_do_no_harm() {
    let pins = json!([
        {"chord": 1, "symbol": "Gm7", "notes": [40, 50]},
        {"chord": 99, "symbol": "G7", "notes": [40, 50]},
        {"chord": 1, "symbol": "G7", "notes": []},
        {"chord": 1, "symbol": "G7", "notes": [300]},
        "no pin",
    ]);
    let mut host = with_pins(TEXT, &pins);
    let saved = host.save_state().unwrap();
    let json: Value = serde_json::from_slice(state::json_of(&saved)).unwrap();
    let chart: Value = serde_json::from_str(json["fields"]["chart"].as_str().unwrap()).unwrap();
    assert_eq!(chart["pins"], pins);
    let played = chord_keys(&play(&mut host, &once(16)).events);
    assert_eq!(played, planned_around(TEXT, Texture::FourNotes, &[]));
}
