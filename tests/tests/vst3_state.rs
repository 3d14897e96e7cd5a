//! The saved state of the VST3 build: it restores everything from any stream that a host may have,
//! and a damaged state changes nothing.

use crate::plugin;
use crate::vst3::{as_clap, as_vst3, load_chart, mute, untouched};
use guidehand_tests::vst3::{Instance, Stream, render};
use guidehand_tests::{Session, TimedEvent};
use vst3::Steinberg::Vst::{IComponent, IComponentTrait};
use vst3::Steinberg::kResultOk;

const CHART: &str = "3/4 | Ebmaj7 | Ab7 |\n| N.C. | Db6/9 |\n";

/// Sets every parameter to a random value other than its default, and a chart.
fn scrambled(seed: u64) -> Instance {
    let mut instance = untouched();
    let mut rng = fastrand::Rng::with_seed(seed);
    let own: Vec<_> = instance.own_params().cloned().collect();
    for param in own {
        let value = loop {
            let steps = param.step_count;
            let value = if steps > 0 {
                f64::from(rng.i32(0..=steps)) / f64::from(steps)
            } else {
                rng.f64()
            };
            if (value - param.default).abs() > 1e-5 {
                break value;
            }
        };
        instance.set_param(param.id, value).unwrap();
    }
    load_chart(&mut instance, CHART);
    instance
}

fn values(instance: &Instance) -> Vec<(String, f64)> {
    instance
        .own_params()
        .map(|param| (param.name.clone(), instance.param_value(param.id)))
        .collect()
}

#[test]
fn everything_comes_back_at_any_time() {
    for seed in 0..8 {
        let saved = scrambled(seed).save_state().unwrap();
        let expected = values(&scrambled(seed));
        for stage in ["new", "set up", "active", "processing"] {
            let mut other = untouched();
            assert_ne!(values(&other), expected);
            if stage != "new" {
                other.set_up(48_000.0, 64).unwrap();
            }
            if ["active", "processing"].contains(&stage) {
                other.set_active(true).unwrap();
            }
            if stage == "processing" {
                other.set_processing(true).unwrap();
                other.process(64, &[], None).unwrap();
            }
            other.load_state(&saved).unwrap();
            assert_eq!(values(&other), expected, "seed {seed}, {stage}");
            assert_eq!(other.save_state().unwrap(), saved, "seed {seed}, {stage}");
        }
    }
}

#[test]
fn a_song_of_the_one_format_opens_in_the_other() {
    let mut instance = scrambled(20);
    let saved = instance.save_state().unwrap();
    let mut host = plugin::untouched();
    host.load_state(&as_clap(&saved)).unwrap();
    let theirs = host.save_state().unwrap();
    assert_eq!(as_vst3(&theirs), saved);

    load_chart(&mut instance, "| C6 |");
    assert_ne!(instance.save_state().unwrap(), saved);
    instance.load_state(as_vst3(&theirs)).unwrap();
    assert_eq!(instance.save_state().unwrap(), saved);
}

#[test]
fn a_host_may_keep_a_header_in_front() {
    let saved = scrambled(3).save_state().unwrap();
    for header in [1, 8, 1_000] {
        let bytes = [vec![0xff; header], saved.clone()].concat();
        let mut other = untouched();
        other.load_stream(&Stream::holding(&bytes, header)).unwrap();
        assert_eq!(other.save_state().unwrap(), saved, "{header} bytes");
    }
}

/// Offers a stream to an instance with a state of its own. Returns whether it was accepted. A
/// refusal leaves everything unchanged.
fn taken(stream: &vst3::ComWrapper<Stream>, what: &str) -> bool {
    let mut instance = mute();
    load_chart(&mut instance, "| Ebmaj7 | Ab7 |");
    let before = instance.save_state().unwrap();
    let is_taken = instance.load_stream(stream).is_ok();
    let after = instance.save_state().unwrap();
    assert!(is_taken || after == before, "{what}: refused and changed");
    // It keeps playing in any case.
    let mut session = Session::new(48_000.0, 2_880.0, 4_000);
    session.note(0, 2_000, 48);
    render(&mut instance, &session).unwrap();
    is_taken
}

#[test]
fn a_damaged_state_is_refused_whole() {
    let saved = scrambled(4).save_state().unwrap();
    assert!(taken(&Stream::holding(&saved, 0), "a sound one"));
    for length in (0..saved.len()).step_by(37).chain([saved.len() - 1]) {
        let cut = Stream::holding(&saved[..length], 0);
        assert!(!taken(&cut, "cut short"), "the first {length} bytes");
    }
    for garbage in [
        &b"{}"[..],
        b"null",
        b"\0\0\0\0",
        &[0xff; 4_096],
        b"{\"version\":1}",
    ] {
        let stream = Stream::holding(garbage, 0);
        assert!(!taken(&stream, "garbage"), "{garbage:?}");
    }
    let at_the_end = Stream::holding(&saved, saved.len());
    assert!(!taken(&at_the_end, "nothing left"));
    let past_the_end = Stream::holding(&saved, saved.len() + 9);
    assert!(!taken(&past_the_end, "read past the end"));
    assert!(!taken(
        &Stream::unseekable(&saved),
        "a stream that does not report its position"
    ));
}

#[test]
fn a_changed_byte_is_survived() {
    let saved = scrambled(5).save_state().unwrap();
    let mut rng = fastrand::Rng::with_seed(6);
    let mut refused = 0;
    for round in 0..60 {
        let mut bytes = saved.clone();
        let place = rng.usize(..bytes.len());
        bytes[place] ^= 1 << rng.u8(..8);
        let stream = Stream::holding(&bytes, 0);
        refused += u32::from(!taken(&stream, &format!("round {round}, byte {place}")));
    }
    assert!(refused > 0, "no changed byte ever mattered");
}

/// The framework asks for the whole state in one call. A stream that gives less at a time is
/// refused, and none of its state is used.
#[test]
fn a_stream_of_small_pieces_is_taken_whole_or_not_at_all() {
    let saved = scrambled(7).save_state().unwrap();
    for piece in [1, 7, saved.len() - 1, saved.len()] {
        let mut instance = untouched();
        let before = instance.save_state().unwrap();
        let loaded = instance.load_stream(&Stream::in_pieces(&saved, piece));
        let after = instance.save_state().unwrap();
        let expected = if loaded.is_ok() { &saved } else { &before };
        assert_eq!(&after, expected, "pieces of {piece}");
        assert!(loaded.is_ok() || piece < saved.len());
    }
}

#[test]
fn no_stream_is_refused() {
    let instance = untouched();
    let component: vst3::ComPtr<IComponent> = instance.cast().unwrap();
    // SAFETY: the test is about a null stream, and the interface defines the answer.
    let results = unsafe {
        let nothing = std::ptr::null_mut();
        [component.setState(nothing), component.getState(nothing)]
    };
    assert!(results.iter().all(|result| *result != kResultOk));
}

#[test]
fn a_state_in_mid_song_plays_from_there_on() {
    let mut instance = mute();
    let mut loaded = untouched();
    load_chart(&mut loaded, "| Ebmaj7 | Ab7 |");
    let saved = loaded.save_state().unwrap();
    instance.start(48_000.0, 64).unwrap();
    let transport = Session::new(48_000.0, 120.0, 0).timeline();
    let mut struck: Vec<TimedEvent> = Vec::new();
    for block in 0..100 {
        if block == 50 {
            assert!(
                struck.is_empty(),
                "chords come from roots, and none is played"
            );
            instance.load_state(&saved).unwrap();
        }
        let at = transport.at(block * 64);
        struck.extend(instance.process(64, &[], Some(at)).unwrap().events);
    }
    assert!(struck.len() > 1, "{struck:?}");
}
