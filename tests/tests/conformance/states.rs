//! The state through streams of any behaviour. The `plugin_state` modules test the contents of a
//! state, and states of older versions.

use super::{OutputCheck, instance, on_chart, on_roots, set, started};
use guidehand_tests::raw::events::{on, value};
use guidehand_tests::raw::params::{self, values};
use guidehand_tests::raw::stream::{self, Manner};
use guidehand_tests::raw::{Events, Instance};

fn saved(instance: &Instance) -> Vec<u8> {
    stream::save(instance, Manner::WHOLE).expect("a state")
}

/// An instance with every parameter off its default, and a chart.
fn settled() -> Instance {
    let instance = on_chart("| Ebmaj7 | Ab7 |");
    let moved = params::all(&instance).into_iter().map(|param| {
        let far = param.default - param.min < param.max - param.default;
        value(0, param.id, if far { param.max } else { param.min })
    });
    params::flush(&instance, &Events::new(moved.collect()));
    instance
}

#[test]
fn saving_twice_saves_the_same() {
    let instance = settled();
    let first = saved(&instance);
    assert_eq!(saved(&instance), first);
    let _processor = started(&instance, 64);
    assert_eq!(saved(&instance), first);
}

#[test]
fn a_state_passes_through_streams_of_any_size() {
    let instance = settled();
    let expected = saved(&instance);
    let all = values(&instance);
    for most_bytes in [1, 2, 3, 7, 8, 9, 23, 1_000] {
        let manner = Manner::at_most(most_bytes);
        assert_eq!(stream::save(&instance, manner).as_ref(), Some(&expected));
        let other = self::instance();
        assert!(stream::load(&other, &expected, manner), "{manner:?}");
        assert_eq!(values(&other), all, "{manner:?}");
        assert_eq!(saved(&other), expected, "{manner:?}");
    }
}

/// Bytes after a state in its stream belong to the host.
#[test]
fn nothing_is_read_beyond_the_state() {
    let instance = settled();
    let expected = saved(&instance);
    let followed = [expected.as_slice(), &[0xa5; 100]].concat();
    let other = self::instance();
    assert!(stream::load(&other, &followed, Manner::WHOLE));
    assert_eq!(saved(&other), expected);
    // The stream breaks right after the state, and is not read again.
    let other = self::instance();
    assert!(stream::load(
        &other,
        &followed,
        Manner::breaking(expected.len(), -1)
    ));
    assert_eq!(saved(&other), expected);
}

/// States that are cut at every byte: by the end of the stream, by an error, and by both in small
/// reads. None is accepted, and nothing changes.
#[test]
fn a_state_cut_at_every_byte_changes_nothing() {
    let instance = settled();
    let full = saved(&instance);
    let other = on_roots();
    set(&other, "Texture", c"Drop 2");
    let before = saved(&other);
    assert_ne!(before, full);
    for cut in 0..full.len() {
        let manners = [
            Manner::breaking(cut, 0),
            Manner::breaking(cut, -1),
            Manner {
                most_bytes: 5,
                ..Manner::breaking(cut, -1)
            },
        ];
        for manner in manners {
            assert!(!stream::load(&other, &full, manner), "{manner:?}");
        }
        assert!(!stream::load(&other, &full[..cut], Manner::WHOLE), "{cut}");
        assert_eq!(saved(&other), before, "cut at {cut}");
    }
    assert!(stream::load(&other, &full, Manner::WHOLE));
    assert_eq!(saved(&other), full);
}

#[test]
fn a_save_into_a_stream_that_breaks_fails_and_changes_nothing() {
    let instance = settled();
    let full = saved(&instance);
    for breaks_at in 0..full.len() {
        for answer in [0, -1] {
            let manner = Manner::breaking(breaks_at, answer);
            assert_eq!(stream::save(&instance, manner), None, "{manner:?}");
        }
    }
    assert_eq!(saved(&instance), full);
    let manner = Manner::breaking(full.len(), -1);
    assert_eq!(
        stream::save(&instance, manner),
        Some(full),
        "everything was written"
    );
}

#[test]
fn two_instances_exchange_their_states() {
    let (first, second) = (settled(), on_chart("| Cm7 | F7 | Bbmaj7 |"));
    let states = (saved(&first), saved(&second));
    assert_ne!(states.0, states.1);
    for _ in 0..2 {
        assert!(stream::load(&first, &states.1, Manner::WHOLE));
        assert!(stream::load(&second, &states.0, Manner::WHOLE));
        assert_eq!(
            (saved(&first), saved(&second)),
            (states.1.clone(), states.0.clone())
        );
        assert!(stream::load(&first, &states.0, Manner::WHOLE));
        assert!(stream::load(&second, &states.1, Manner::WHOLE));
    }
    assert_eq!((saved(&first), saved(&second)), states);
}

/// The host is told to read the values again, on its main thread. It is not told for a state that
/// was refused.
#[test]
fn a_loaded_state_is_announced() {
    let state = saved(&settled());
    let instance = on_roots();
    instance.idle();
    for active in [false, true] {
        let _processor = active.then(|| started(&instance, 64));
        let before = instance.calls().rescans();
        assert!(!stream::load(&instance, &state[..20], Manner::WHOLE));
        instance.idle();
        assert_eq!(instance.calls().rescans(), before);
        assert!(stream::load(&instance, &state, Manner::WHOLE));
        instance.idle();
        assert!(instance.calls().rescans() > before);
    }
    assert_eq!(instance.calls().wrong_thread(), 0);
}

/// The plugin ends the notes that sound, whichever state is loaded.
#[test]
fn a_state_between_blocks_leaves_no_note_hanging() {
    let states = [
        saved(&settled()),
        saved(&on_roots()),
        saved(&on_chart("| C6 |")),
    ];
    let instance = on_roots();
    let mut processor = started(&instance, 64);
    let mut ear = OutputCheck::default();
    for state in states.iter().chain(&states) {
        let keys = Events::new(vec![on(1, 50), on(2, 72)]);
        ear.hear(&processor.process(64, &keys, None), 64);
        assert!(stream::load(&instance, state, Manner::WHOLE));
        ear.hear(&processor.process(64, &Events::default(), None), 64);
        ear.hear(&processor.process(64, &super::all_up(), None), 64);
    }
    let bypass = params::named(&instance, "Bypass").id;
    processor.flush(&Events::new(vec![value(0, bypass, 1.0)]));
    ear.hear(&processor.process(64, &super::all_up(), None), 64);
    assert!(ear.note_ons > 8);
    ear.expect_silence();
}
