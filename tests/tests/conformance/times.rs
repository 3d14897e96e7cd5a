//! The time at which changes take effect: at their sample, at any rate, and in blocks of any length
//! up to the agreed length.

use super::{OutputCheck, all_up, notes_of, on_roots, started};
use clap_sys::events::{CLAP_EVENT_NOTE_OFF, CLAP_EVENT_NOTE_ON};
use fastrand::Rng;
use guidehand_tests::raw::events::{off, on, value};
use guidehand_tests::raw::{Events, params};

/// At every sample of a block: bypass ends the chord at that sample. When bypass ends, the next key
/// makes the chord sound again.
#[test]
fn a_parameter_acts_at_its_sample() {
    let instance = on_roots();
    let bypass = params::named(&instance, "Bypass").id;
    let mut processor = started(&instance, 128);
    let mut ear = OutputCheck::default();
    for sample in 0..128 {
        ear.hear(
            &processor.process(128, &Events::new(vec![on(0, 50)]), None),
            128,
        );
        assert_eq!(ear.sounding(), 4);
        let change = Events::new(vec![value(sample, bypass, 1.0)]);
        let played = processor.process(128, &change, None);
        ear.hear(&played, 128);
        let ends = notes_of(&played, CLAP_EVENT_NOTE_OFF);
        assert_eq!(ends.len(), 4, "at {sample}");
        assert!(
            ends.iter().all(|(time, _)| *time == sample),
            "at {sample}: {ends:?}"
        );
        let back = Events::new(vec![off(0, 50), value(1, bypass, 0.0)]);
        ear.hear(&processor.process(128, &back, None), 128);
        ear.expect_silence();
    }
}

/// A key between two changes of a parameter sounds with the first value.
#[test]
fn keys_and_values_at_near_samples_keep_their_order() {
    let instance = on_roots();
    let texture = params::named(&instance, "Texture").id;
    let mut processor = started(&instance, 64);
    let mut ear = OutputCheck::default();
    // Guide tones, four notes, three notes.
    let steps = [(0.0, 2), (2.0, 4), (1.0, 3)];
    for gap in [1, 2, 5] {
        let mut events = Vec::new();
        for ((step, _), at) in steps.iter().zip([0, 10, 20]) {
            events.push(value(at, texture, *step));
            events.push(on(at + gap, 50));
            events.push(off(at + 2 * gap, 50));
        }
        let played = processor.process(64, &Events::new(events), None);
        ear.hear(&played, 64);
        let struck = notes_of(&played, CLAP_EVENT_NOTE_ON);
        for ((_, notes), at) in steps.iter().zip([0, 10, 20]) {
            let here = struck.iter().filter(|(time, _)| *time == at + gap);
            assert_eq!(here.count(), *notes, "at {at} and {gap}: {struck:?}");
        }
    }
}

/// The same keys and values at the same samples, in any blocks.
#[test]
fn blocks_of_any_length_give_the_same() {
    const LENGTH: u32 = 3_000;
    let cuts: [fn(&mut Rng) -> u32; 5] = [
        |_| LENGTH,
        |_| 1,
        |_| 37,
        |rng| rng.u32(1..=64),
        |rng| rng.u32(1..=1_500),
    ];
    let mut first = None;
    for (seed, cut) in (0..).zip(cuts) {
        let instance = on_roots();
        let texture = params::named(&instance, "Texture").id;
        let level = params::named(&instance, "Audition level").id;
        let mut events = Vec::new();
        for (step, at) in (0_u8..).zip((0..LENGTH - 200).step_by(170)) {
            events.push(value(at, texture, f64::from(step % 6)));
            events.push(value(at + 60, level, f64::from(step % 3) / 3.0));
            events.push(on(at + 31, 45 + i16::from(step % 7)));
            events.push(off(at + 140, 45 + i16::from(step % 7)));
        }
        let events = Events::new(events);
        let mut rng = Rng::with_seed(seed);
        let mut processor = started(&instance, LENGTH);
        let mut ear = OutputCheck::default();
        let (mut notes, mut audio, mut at) = (Vec::new(), Vec::new(), 0);
        while at < LENGTH {
            let frames = cut(&mut rng).min(LENGTH - at);
            let played = processor.process(frames, &events.within(at, frames), None);
            ear.hear(&played, frames);
            for kind in [CLAP_EVENT_NOTE_ON, CLAP_EVENT_NOTE_OFF] {
                let found = notes_of(&played, kind).into_iter();
                notes.extend(found.map(|(time, key)| (at + time, kind, key)));
            }
            audio.extend(played.left);
            at += frames;
        }
        notes.sort_unstable();
        assert!(ear.note_ons > 40 && ear.loudest > 0.01);
        let found = (notes, audio);
        let first = first.get_or_insert_with(|| found.clone());
        assert_eq!(first.0, found.0, "cut {seed}");
        assert!(first.1 == found.1, "audio of cut {seed}");
    }
}

/// A chord sounds at any rate, and in the same register: its pitch in samples grows with the rate,
/// which the zero crossings of a second show.
#[test]
fn any_rate_will_do() {
    for rate_hz in [
        8_000.0, 11_025.0, 22_050.0, 44_100.0, 48_000.0, 88_200.0, 96_000.0, 176_400.0, 192_000.0,
        384_000.0,
    ] {
        let instance = on_roots();
        let mut processor = instance.activate(rate_hz, (1, 4_096)).unwrap();
        assert!(processor.start());
        let mut ear = OutputCheck::default();
        ear.hear(
            &processor.process(4_096, &Events::new(vec![on(0, 50)]), None),
            4_096,
        );
        assert_eq!(ear.sounding(), 4, "{rate_hz} Hz");
        let mut crossings = 0.0;
        let (mut seconds, mut before) = (0.0, 0.0);
        while seconds < 0.5 {
            let played = processor.process(4_096, &Events::default(), None);
            ear.hear(&played, 4_096);
            for sample in &played.left {
                crossings += f64::from(u8::from((*sample >= 0.0) != (before >= 0.0)));
                before = *sample;
            }
            seconds += 4_096.0 / rate_hz;
        }
        assert!(ear.loudest > 0.01, "silent at {rate_hz} Hz");
        let hz = crossings / 2.0 / seconds;
        assert!(
            (100.0..700.0).contains(&hz),
            "{hz} Hz at a rate of {rate_hz}"
        );
        ear.hear(&processor.process(64, &all_up(), None), 64);
        ear.expect_silence();
    }
}

/// The smallest and the largest agreed number of frames, and a number that never varies.
#[test]
fn any_agreement_on_frames_is_kept() {
    for (least, most) in [
        (1, 1),
        (1, 2),
        (32, 32),
        (16, 64),
        (1, 65_536),
        (65_536, 65_536),
    ] {
        let instance = on_roots();
        let mut processor = instance.activate(48_000.0, (least, most)).unwrap();
        assert!(processor.start());
        let mut ear = OutputCheck::default();
        let keys = Events::new(vec![on(0, 50)]);
        ear.hear(&processor.process(least, &keys, None), least);
        ear.hear(&processor.process(most, &Events::default(), None), most);
        let last = Events::new(vec![off(most - 1, 50)]);
        let played = processor.process(most, &last, None);
        ear.hear(&played, most);
        let ends = notes_of(&played, CLAP_EVENT_NOTE_OFF);
        assert!(
            ends.len() == 4 && ends.iter().all(|(time, _)| *time == most - 1),
            "{ends:?}"
        );
    }
}
