//! Many instances at once, and two threads in one of them.

use super::{ID, OutputCheck, all_up, instance, library, on_chart, set, started};
use fastrand::Rng;
use guidehand_tests::raw::events::{off, on, value};
use guidehand_tests::raw::stream::{self, Manner};
use guidehand_tests::raw::{Events, Instance, Knows, params};
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::thread;
use std::time::{Duration, Instant};

#[test]
fn a_hundred_instances_live_at_once_and_go_in_any_order() {
    let library = library();
    let textures = [c"Guide tones", c"Three notes", c"Four notes"];
    let mut rng = Rng::with_seed(100);
    let mut instances: Vec<(usize, Instance)> = (0..100)
        .map(|index| {
            let instance = Instance::new(&library, ID, Knows::All).unwrap();
            set(&instance, "Chords from", c"Roots");
            set(&instance, "Texture", textures[index % 3]);
            (index, instance)
        })
        .collect();
    // The instances take turns block by block, and each follows its own settings.
    let mut processors: Vec<_> = instances
        .iter()
        .map(|(index, instance)| (*index, started(instance, 32), OutputCheck::default()))
        .collect();
    for round in 0..4_u32 {
        rng.shuffle(&mut processors);
        for (index, processor, ear) in &mut processors {
            let events = if round % 2 == 0 {
                vec![on(1, 50)]
            } else {
                vec![off(1, 50)]
            };
            ear.hear(&processor.process(32, &Events::new(events), None), 32);
            let notes = if round % 2 == 0 { *index % 3 + 2 } else { 0 };
            assert_eq!(ear.sounding(), notes, "instance {index}, round {round}");
        }
    }
    drop(processors);
    rng.shuffle(&mut instances);
    while let Some((index, instance)) = instances.pop() {
        let texture = params::named(&instance, "Texture");
        let found = params::value(&instance, texture.id).unwrap();
        let words = params::words(&instance, texture.id, found, 64).unwrap();
        assert_eq!(words, textures[index % 3].to_bytes());
        drop(instance);
        if index % 10 == 0 {
            // One instance is made while others end.
            drop(Instance::new(&library, ID, Knows::All).unwrap());
        }
    }
}

/// Hosts with a process for each plugin, or with one for all, make instances on
/// more than one thread.
#[test]
fn instances_are_made_and_played_on_many_threads() {
    thread::scope(|scope| {
        for seed in 0..8 {
            scope.spawn(move || {
                let mut rng = Rng::with_seed(seed);
                for _ in 0..4 {
                    let instance = super::on_roots();
                    let mut processor = started(&instance, 64);
                    let mut ear = OutputCheck::default();
                    for _ in 0..20 {
                        let key = rng.i16(36..60);
                        let keys = Events::new(vec![on(1, key), off(60, key)]);
                        ear.hear(&processor.process(64, &keys, None), 64);
                    }
                    ear.hear(&processor.process(64, &all_up(), None), 64);
                    ear.expect_silence();
                    assert!(ear.note_ons > 40);
                }
            });
        }
    });
}

/// The work of a busy host's main thread while its audio thread processes.
fn main_thread(instance: &Instance, states: &[Vec<u8>], rng: &mut Rng) {
    let params = params::all(instance);
    for param in &params {
        let value = params::value(instance, param.id).unwrap();
        assert!(
            (param.min..=param.max).contains(&value),
            "{value} of {param:?}"
        );
        let words = params::words(instance, param.id, value, 64).unwrap();
        assert!(!words.is_empty());
    }
    let state = stream::save(instance, Manner::at_most(100)).expect("a state");
    match rng.u8(0..3) {
        0 => assert!(stream::load(
            instance,
            &states[rng.usize(0..states.len())],
            Manner::WHOLE
        )),
        1 => assert!(stream::load(instance, &state, Manner::WHOLE)),
        _ => assert!(!stream::load(
            instance,
            &state[..state.len() / 2],
            Manner::WHOLE
        )),
    }
    assert_eq!(instance.latency_samples(), 0);
    let _ = instance.tail_samples();
    instance.track_changed();
    instance.idle();
}

/// A host whose main thread is busy calls the plugin back late. The framework has room for 4,096
/// notices of turned parameters and then logs that it drops one, which allocates where debug assertions
/// are compiled.
#[test]
fn a_block_plays_on_while_the_main_thread_is_busy() {
    const TURNS: u32 = 100;
    let instance = super::on_roots();
    let velocity = params::named(&instance, "Chart velocity").id;
    let mut processor = started(&instance, 128);
    let mut ear = OutputCheck::default();
    for block in 0..50_u32 {
        let turn = |turn: u32| {
            let share = f64::from((block * TURNS + turn) % 97) / 100.0;
            value(turn, velocity, share + 0.01)
        };
        let mut events: Vec<_> = (0..TURNS).map(turn).collect();
        events.extend([on(120, 50), off(127, 50)]);
        ear.hear(&processor.process(128, &Events::new(events), None), 128);
    }
    ear.expect_silence();
    assert!(ear.note_ons >= 50, "{}", ear.note_ons);
    instance.idle();
}

/// The main thread reads, saves and loads while the audio thread plays, turns
/// parameters and is reset, until both have done much.
#[test]
fn the_main_thread_works_while_the_audio_thread_plays() {
    const BLOCKS: u32 = 20_000;
    const ROUNDS: u32 = 1_000;
    /// Far more than that takes on a busy machine.
    const LONGEST: Duration = Duration::from_secs(120);
    let states = ["| Dm7 | G7 |", "| C6 Db6 D6 Eb6 | N.C. |", "3/4 | Fmaj7 |"].map(|text| {
        let state = stream::save(&on_chart(text), Manner::WHOLE);
        state.expect("a state")
    });
    let instance = instance();
    let ids: Vec<(u32, f64)> = params::all(&instance)
        .into_iter()
        .map(|param| (param.id, param.max))
        .collect();
    let bypass = params::named(&instance, "Bypass").id;
    let mut processor = started(&instance, 128);
    let done = AtomicBool::new(false);
    let blocks = AtomicU32::new(0);
    let mut ear = thread::scope(|scope| {
        let processor = &mut processor;
        let (done, blocks, ids) = (&done, &blocks, &ids);
        let audio = scope.spawn(move || {
            let mut rng = Rng::with_seed(3);
            let mut ear = OutputCheck::default();
            while !done.load(Ordering::SeqCst) {
                let (id, max) = ids[rng.usize(0..ids.len())];
                let turned = value(rng.u32(0..128), id, rng.f64() * max);
                let key = rng.i16(36..84);
                let events = Events::new(vec![turned, on(9, key), off(99, key)]);
                ear.hear(&processor.process(128, &events, None), 128);
                if rng.u8(0..50) == 0 {
                    processor.reset();
                }
                blocks.fetch_add(1, Ordering::SeqCst);
            }
            ear
        });
        let mut rng = Rng::with_seed(4);
        let (start, mut rounds) = (Instant::now(), 0);
        while rounds < ROUNDS || blocks.load(Ordering::SeqCst) < BLOCKS {
            // A panic here would leave the audio thread playing for ever.
            if audio.is_finished() || start.elapsed() > LONGEST {
                break;
            }
            main_thread(&instance, &states, &mut rng);
            rounds += 1;
        }
        done.store(true, Ordering::SeqCst);
        let ear = audio.join().unwrap();
        let blocks = blocks.load(Ordering::SeqCst);
        println!("{blocks} blocks, {rounds} rounds, {:?}", start.elapsed());
        assert!(
            blocks >= BLOCKS && rounds >= ROUNDS,
            "only {blocks} blocks and {rounds} rounds in {LONGEST:?}"
        );
        ear
    });
    processor.flush(&Events::new(vec![value(0, bypass, 1.0)]));
    for _ in 0..2 {
        ear.hear(&processor.process(128, &all_up(), None), 128);
    }
    ear.expect_silence();
    assert!(ear.note_ons > 100);
    assert_eq!(instance.calls().wrong_thread(), 0);
}
