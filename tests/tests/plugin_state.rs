//! The saved state restores everything. A damaged state changes nothing, and a valid one takes
//! effect at once.

use crate::plugin::{
    RATE_HZ, chord_keys, guidehand, id, load_chart, notes, planned, planned_in, play, random_value,
    set, set_key, sounding, with_chart,
};
use guidehand_tests::{Event, Host, HostError, Performance, Player, Session};
use guidehand_theory::key::Mode;
use guidehand_theory::shape::Texture;
use serde_json::Value;

/// One beat is a thousand samples.
const TEMPO_BPM: f64 = 2_880.0;

fn session(beats: u64) -> Session {
    Session::new(RATE_HZ, TEMPO_BPM, beats * 1_000)
}

/// The framework puts the length of its JSON into the first eight bytes.
const LENGTH_BYTES: usize = 8;

fn json(state: &[u8]) -> Value {
    serde_json::from_slice(&state[LENGTH_BYTES..]).unwrap()
}

fn bytes(json: &[u8]) -> Vec<u8> {
    let length = (json.len() as u64).to_le_bytes();
    [length.as_slice(), json].concat()
}

fn state(json: &Value) -> Vec<u8> {
    bytes(json.to_string().as_bytes())
}

/// The saved chart.
fn chart(host: &mut Host) -> Value {
    let state = json(&host.save_state().unwrap());
    serde_json::from_str(state["fields"]["chart"].as_str().unwrap()).unwrap()
}

/// Sets every parameter to another value than its default, at random.
fn scramble(host: &mut Host, seed: u64) {
    let mut rng = fastrand::Rng::with_seed(seed);
    for param in host.params().to_vec() {
        let value = loop {
            let value = random_value(&param, &mut rng);
            if (value - param.default).abs() > 1e-3 {
                break value;
            }
        };
        host.set_param(param.id, value).unwrap();
    }
}

fn values(host: &mut Host) -> Vec<(String, f64)> {
    let params = host.params().to_vec();
    params
        .iter()
        .map(|param| (param.name.clone(), host.param_value(param.id).unwrap()))
        .collect()
}

#[test]
fn everything_comes_back() {
    let charts = [
        "| C6 | F6 |",
        "3/4 | Ebmaj7 | Ab7 |\n| N.C. | Db6/9 |\n",
        "| Cm7b5 | \"ø\" \\ \u{1d11e} |",
        "",
    ];
    for (seed, text) in (0..).zip(charts) {
        let mut host = guidehand();
        scramble(&mut host, seed);
        load_chart(&mut host, text);
        let saved = host.save_state().unwrap();
        let expected = values(&mut host);
        assert_eq!(chart(&mut host)["text"], text);

        for active in [false, true] {
            let mut other = guidehand();
            if active {
                other.activate(RATE_HZ, 64).unwrap();
                other.start_processing().unwrap();
            }
            assert_ne!(values(&mut other), expected);
            other.load_state(&saved).unwrap();
            assert_eq!(values(&mut other), expected, "seed {seed}");
            assert_eq!(other.save_state().unwrap(), saved, "seed {seed}");
        }
    }
}

#[test]
fn a_loaded_instance_sounds_like_the_one_that_was_saved() {
    for text in ["| C6 | F6 |", "3/4 | Ebmaj7 | Ab7 |"] {
        let mut host = with_chart(text);
        set(&mut host, "Register from", "F3");
        set(&mut host, "Texture", "Drop 2");
        set(&mut host, "Key", "Eb");
        set(&mut host, "Lock chart to key", "On");
        let saved = host.save_state().unwrap();
        let mut other = guidehand();
        other.load_state(&saved).unwrap();
        let sound = |host: &mut Host| play(host, &session(12));
        assert_eq!(sound(&mut host).events, sound(&mut other).events, "{text}");
    }
}

/// An instance with its own settings, its saved state, and its performance.
fn settled() -> (Host, Vec<u8>, Performance) {
    let mut host = with_chart("| Ebmaj7 | Ab7 |");
    set(&mut host, "Texture", "Three notes");
    set(&mut host, "Chart velocity", "50 %");
    let saved = host.save_state().unwrap();
    let mut twin = guidehand();
    twin.load_state(&saved).unwrap();
    let sound = play(&mut twin, &session(8));
    assert!(sound.events.len() > 6);
    (host, saved, sound)
}

/// Loads bytes that are no state, and expects that nothing changes.
fn expect_refused(host: &mut Host, saved: &[u8], damaged: &[u8], what: &str) {
    let error = host.load_state(damaged).expect_err(what);
    assert!(matches!(error, HostError::Refused(_)), "{what}: {error}");
    assert_eq!(host.save_state().unwrap(), saved, "{what}");
}

#[test]
fn an_empty_or_truncated_state_changes_nothing() {
    let (mut host, saved, sound) = settled();
    let mut other = guidehand();
    scramble(&mut other, 5);
    let full = other.save_state().unwrap();
    let cuts = (0..12)
        .chain((12..full.len()).step_by(37))
        .chain([full.len() - 1]);
    for cut in cuts {
        expect_refused(&mut host, &saved, &full[..cut], &format!("cut at {cut}"));
        // The same with the right length.
        let body = full.get(LENGTH_BYTES..cut).unwrap_or_default();
        expect_refused(&mut host, &saved, &bytes(body), &format!("short at {cut}"));
    }
    assert_eq!(play(&mut host, &session(8)), sound);
}

#[test]
fn a_corrupt_state_changes_nothing() {
    let (mut host, saved, sound) = settled();
    let mut other = guidehand();
    scramble(&mut other, 6);
    let full = other.save_state().unwrap();
    for (what, damaged) in [
        ("noise", vec![0xa5; 500]),
        ("a huge length", [&[0xff; 8], &full[8..]].concat()),
        ("no JSON", bytes(b"not a state")),
        ("no text", bytes(&[0xff, 0xfe, 0x00, 0x80])),
        ("other JSON", bytes(b"{\"version\":\"0.1.0\"}")),
        ("a list", bytes(b"[1, 2, 3]")),
        ("no fields", bytes(b"{\"version\":\"0.1.0\",\"params\":{}}")),
        ("deep nesting", bytes("[".repeat(100_000).as_bytes())),
    ] {
        expect_refused(&mut host, &saved, &damaged, what);
    }
    assert_eq!(play(&mut host, &session(8)), sound);
}

/// Bytes that have changed may still make a state. In any case parameters stay in range and the
/// plugin keeps playing.
#[test]
fn a_state_with_changed_bytes_does_no_harm() {
    let mut host = with_chart("| Dm7 | G7 |");
    let full = host.save_state().unwrap();
    let mut rng = fastrand::Rng::with_seed(20_260);
    let (mut taken, mut refused) = (0, 0);
    for round in 0..400 {
        let mut damaged = full.clone();
        for _ in 0..rng.usize(1..4) {
            let at = rng.usize(LENGTH_BYTES..damaged.len());
            damaged[at] = [rng.u8(..), rng.u8(b'0'..=b'9'), rng.u8(b' '..=b'~')][rng.usize(0..3)];
        }
        match host.load_state(&damaged) {
            Ok(()) => taken += 1,
            Err(_) => refused += 1,
        }
        for param in host.params().to_vec() {
            let value = host.param_value(param.id).unwrap();
            let range = param.min..=param.max;
            assert!(
                range.contains(&value),
                "round {round}: {value} of {param:?}"
            );
        }
        host.save_state().unwrap();
        if round % 20 == 0 {
            notes_of(&mut host);
        }
    }
    assert!(
        taken > 20 && refused > 20,
        "{taken} taken, {refused} refused"
    );
}

/// Plays both sources for a while, and releases everything.
fn notes_of(host: &mut Host) -> usize {
    let mut session = session(10);
    session
        .note(100, 2_000, 50)
        .change(8_000, guidehand_tests::TransportChange::Stop);
    notes(&play(host, &session).events).len()
}

#[test]
fn odd_values_in_a_state_stay_in_range() {
    let mut host = guidehand();
    let whole = json(&host.save_state().unwrap());
    for (name, kind, odd) in [
        ("lowest", "i32", Value::from(-5_000)),
        ("highest", "i32", Value::from(i32::MAX)),
        ("split", "i32", Value::from(128)),
        ("bass_ch", "i32", Value::from(0)),
        ("velocity", "f32", Value::from(1e30)),
        ("velocity", "f32", Value::from(-1.0)),
        ("tone_lvl", "f32", Value::from(1e38)),
        ("revision", "i32", Value::from(-1)),
        ("texture", "string", Value::from("none such")),
        ("texture", "i32", Value::from(99)),
        ("source", "bool", Value::from(true)),
        ("none such", "bool", Value::from(true)),
    ] {
        let mut odd_one = whole.clone();
        odd_one["params"][name] = serde_json::json!({ kind: odd });
        host.load_state(&state(&odd_one)).unwrap();
        host.save_state().unwrap();
        for param in host.params().to_vec() {
            let value = host.param_value(param.id).unwrap();
            let range = param.min..=param.max;
            assert!(
                range.contains(&value),
                "{name}, {odd}: {value} of {param:?}"
            );
        }
        assert!(notes_of(&mut host) > 0, "{name}, {odd}");
    }
}

#[test]
fn a_state_without_a_chart_leaves_the_chart() {
    let (mut host, saved, sound) = settled();
    for field in [
        Value::Null,
        Value::from("no JSON"),
        Value::from("{\"words\":1}"),
    ] {
        let mut without = json(&saved);
        let fields = without["fields"].as_object_mut().unwrap();
        fields.remove("chart");
        if field.is_string() {
            fields.insert("chart".to_owned(), field);
        }
        host.load_state(&state(&without)).unwrap();
        assert_eq!(host.save_state().unwrap(), saved);
    }
    assert_eq!(play(&mut host, &session(8)), sound);
}

#[test]
fn a_state_that_is_loaded_while_playing_takes_effect_at_once() {
    let (first, second) = ("| Dm7 | G7 |", "| Ebmaj7 | Ab7 |");
    let mut host = with_chart(first);
    let session = session(8);
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(2_048).unwrap();
    load_chart(player.host(), second);
    let performance = player.finish().unwrap();
    let expected = [
        &planned(first)[0].keys,
        &planned(second)[0].keys,
        &planned(second)[1].keys,
    ];
    assert_eq!(
        chord_keys(&performance.events).iter().collect::<Vec<_>>(),
        expected
    );
    let ends = performance.events.iter().filter(|e| e.at_samples == 2_048);
    assert_eq!(ends.count(), 8, "one chord ends and the other starts");
}

#[test]
fn the_same_state_loaded_while_playing_is_not_heard() {
    let mut host = with_chart("| Dm7 | G7 |");
    set(&mut host, "Register from", "E3");
    let saved = host.save_state().unwrap();
    let session = session(7);
    let undisturbed = play(&mut host, &session);
    let mut twin = guidehand();
    twin.load_state(&saved).unwrap();
    let mut player = Player::start(&mut twin, &session).unwrap();
    for at_samples in [512, 1_024, 1_025, 5_000] {
        player.run_until(at_samples).unwrap();
        player.host().load_state(&saved).unwrap();
    }
    assert_eq!(player.finish().unwrap().events, undisturbed.events);
}

#[test]
fn parameters_in_a_loaded_state_take_effect_while_playing() {
    let mut host = with_chart("| Dm7 | G7 |");
    let session = session(6);
    let mut other = with_chart("| Dm7 | G7 |");
    set(&mut other, "Bypass", "On");
    let saved = other.save_state().unwrap();
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(1_024).unwrap();
    player.host().load_state(&saved).unwrap();
    let events = player.finish().unwrap().events;
    assert_eq!(sounding(&events, 1_023).len(), 4);
    assert!(sounding(&events, 1_024).is_empty());
    assert_eq!(events.len(), 8);
}

#[test]
fn a_chart_with_an_error_is_kept_and_the_last_good_one_sounds() {
    let (good, bad) = ("| Dm7 | G7 |", "| Dm7 | H7 | G7 |");
    let mut host = with_chart(good);
    let session = session(7);
    let sound = play(&mut with_chart(good), &session).events;

    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(2_000).unwrap();
    load_chart(player.host(), bad);
    assert_eq!(player.finish().unwrap().events, sound, "it is not heard");
    assert_eq!(chart(&mut host)["text"], bad);

    // After saving and loading the text is still there, and the last good chart still sounds.
    let saved = host.save_state().unwrap();
    let mut other = guidehand();
    other.load_state(&saved).unwrap();
    assert_eq!(chart(&mut other)["text"], bad);
    assert_eq!(play(&mut other, &session).events, sound);
    assert_eq!(other.save_state().unwrap(), saved);

    // A second error does not replace the good chart.
    load_chart(&mut other, "| nothing |");
    assert_eq!(play_again(&mut other, &session), sound);

    // A good chart replaces both.
    load_chart(&mut other, "| Cmaj7 |");
    let expected = vec![planned("| Cmaj7 |")[0].keys.clone(); 2];
    let events = play(&mut other, &session).events;
    assert_eq!(chord_keys(&events), expected);
    assert_eq!(
        chart(&mut other),
        serde_json::json!({ "text": "| Cmaj7 |" })
    );
}

/// Plays a session without the note-offs that the session before has left.
fn play_again(host: &mut Host, session: &Session) -> Vec<guidehand_tests::TimedEvent> {
    let mut events = play(host, session).events;
    let strike = events
        .iter()
        .position(|timed| matches!(timed.event, Event::NoteOn { .. }));
    events.drain(..strike.unwrap_or(0));
    events
}

#[test]
fn a_parameter_from_outside_is_saved_as_it_was_set() {
    let mut host = guidehand();
    let split = id(&host, "Split");
    host.activate(RATE_HZ, 64).unwrap();
    host.start_processing().unwrap();
    host.set_param(split, 48.0).unwrap();
    host.process(64, &[], None).unwrap();
    let saved = json(&host.save_state().unwrap());
    assert_eq!(saved["params"]["split"], serde_json::json!({ "i32": 48 }));
    assert_eq!(saved["version"], env!("CARGO_PKG_VERSION"));
}

/// The panel is closed: a thread of the plugin plans anew.
#[test]
fn a_pinned_key_is_planned_for_while_the_chart_plays() {
    let text = "| G7 | Fmaj7 | G7 | Fmaj7 |";
    let mut host = with_chart(text);
    let mut pinned = with_chart(text);
    let key = set_key(&mut pinned, 0, Mode::Minor);
    set(&mut pinned, "Lock chart to key", "On");
    let in_minor = planned_in(text, Texture::FourNotes, Some(key));
    assert_ne!(in_minor[2].keys, planned(text)[2].keys);

    let mut session = session(11);
    let (mode, pin) = (id(&host, "Mode"), id(&host, "Lock chart to key"));
    session.param(1_000, mode, 1.0).param(1_000, pin, 1.0);
    let mut player = Player::start(&mut host, &session).unwrap();
    player.run_until(2_048).unwrap();
    // The session runs faster than time; the planner looks ten times a second.
    std::thread::sleep(std::time::Duration::from_millis(600));
    let performance = player.finish().unwrap();
    let last = chord_keys(&performance.events).pop();
    assert_eq!(last.as_ref(), Some(&in_minor[2].keys));
}
