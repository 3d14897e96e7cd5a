//! The life of an instance in any order that CLAP allows.

use super::{OutputCheck, all_up, instance, on_chart, on_roots, started};
use guidehand_tests::raw::events::on;
use guidehand_tests::raw::stream::{self, Manner};
use guidehand_tests::raw::{Events, Instance, Processor};

/// Strikes a chord, lets go of every key, and expects nothing to sound.
fn play(processor: &mut Processor<'_>, ear: &mut OutputCheck) {
    let notes = ear.note_ons;
    ear.hear(
        &processor.process(64, &Events::new(vec![on(5, 50)]), None),
        64,
    );
    assert_eq!(ear.note_ons, notes + 4);
    ear.hear(&processor.process(64, &all_up(), None), 64);
    ear.expect_silence();
}

#[test]
fn nothing_needs_to_happen() {
    drop(instance());
    let instance = instance();
    instance.idle();
    drop(instance.activate(48_000.0, (1, 64)).unwrap());
    drop(started(&instance, 64));
    let mut processor = started(&instance, 64);
    processor.stop();
    assert!(processor.start());
    processor.reset();
}

#[test]
fn it_starts_and_stops_again_and_again() {
    let instance = on_roots();
    for rate_hz in [44_100.0, 96_000.0, 8_000.0, 48_000.0] {
        let mut processor = instance.activate(rate_hz, (1, 64)).unwrap();
        for _ in 0..3 {
            assert!(processor.start());
            play(&mut processor, &mut OutputCheck::default());
            processor.stop();
        }
    }
}

/// The ear is told of every note that ends, so that it knows what hangs.
fn interrupted(interrupt: impl Fn(&Instance, Processor<'_>, &mut OutputCheck)) {
    let instance = on_roots();
    let mut ear = OutputCheck::default();
    for _ in 0..3 {
        let mut processor = started(&instance, 64);
        // What the last round left is let go of at the first chance.
        ear.hear(&processor.process(64, &Events::default(), None), 64);
        ear.expect_silence();
        ear.hear(
            &processor.process(64, &Events::new(vec![on(5, 50)]), None),
            64,
        );
        assert_eq!(ear.sounding(), 4);
        interrupt(&instance, processor, &mut ear);
    }
    let mut processor = started(&instance, 64);
    ear.hear(&processor.process(64, &Events::default(), None), 64);
    ear.expect_silence();
}

#[test]
fn a_stop_while_a_chord_sounds_leaves_nothing_hanging() {
    interrupted(|_, mut processor, _| processor.stop());
}

#[test]
fn a_deactivation_while_a_chord_sounds_leaves_nothing_hanging() {
    interrupted(|_, processor, _| drop(processor));
}

#[test]
fn a_reset_while_a_chord_sounds_leaves_nothing_hanging() {
    interrupted(|_, mut processor, ear| {
        processor.reset();
        ear.hear(&processor.process(64, &Events::default(), None), 64);
        ear.expect_silence();
    });
}

#[test]
fn resets_one_after_the_other_are_one() {
    interrupted(|_, mut processor, ear| {
        for _ in 0..5 {
            processor.reset();
        }
        play_after(&mut processor, ear);
        processor.stop();
        // Not processing, and still active.
        processor.reset();
        assert!(processor.start());
        play_after(&mut processor, ear);
    });
}

fn play_after(processor: &mut Processor<'_>, ear: &mut OutputCheck) {
    ear.hear(&processor.process(64, &Events::default(), None), 64);
    ear.expect_silence();
    play(processor, ear);
}

#[test]
fn another_rate_while_a_chord_sounds_leaves_nothing_hanging() {
    interrupted(|instance, processor, ear| {
        drop(processor);
        let mut processor = instance.activate(192_000.0, (1, 64)).unwrap();
        assert!(processor.start());
        play_after(&mut processor, ear);
    });
}

/// A reset begins anew: the same input gives the same output, to the sample.
#[test]
fn after_a_reset_it_plays_as_when_it_was_new() {
    let instance = on_roots();
    let mut processor = started(&instance, 512);
    let strike = Events::new(vec![on(5, 50)]);
    let first = processor.process(512, &strike, None);
    for _ in 0..20 {
        processor.process(512, &Events::new(vec![on(0, 45), on(9, 40)]), None);
    }
    processor.process(512, &all_up(), None);
    processor.reset();
    processor.process(512, &Events::default(), None);
    processor.reset();
    let again = processor.process(512, &strike, None);
    assert!(first.left == again.left && first.right == again.right);
    assert_eq!(format!("{:?}", first.events), format!("{:?}", again.events));
}

/// States and callbacks at every stage; the host calls back when it is asked to.
#[test]
fn a_state_fits_any_stage() {
    let state = stream::save(&on_chart("| Dm7 | G7 |"), Manner::WHOLE).unwrap();
    let instance = on_roots();
    let load = || {
        assert!(stream::load(&instance, &state, Manner::WHOLE));
        instance.idle();
        assert_eq!(
            stream::save(&instance, Manner::WHOLE).as_ref(),
            Some(&state)
        );
    };
    load();
    {
        let mut processor = instance.activate(48_000.0, (1, 64)).unwrap();
        load();
        assert!(processor.start());
        load();
        processor.process(64, &Events::default(), None);
        load();
        processor.stop();
        load();
    }
    load();
    assert_eq!(instance.calls().wrong_thread(), 0);
}
