//! Single voices, and the state inside them.

use super::*;

const HZ: f32 = 48_000.0;

fn struck(key: u8, velocity: f32) -> Voice {
    let mut voice = Voice::IDLE;
    let note = Note {
        channel: 0,
        key,
        velocity,
    };
    voice.strike(note, &Pace::new(HZ));
    voice
}

fn run_for_one_second(voice: &mut Voice) {
    let (mut left, mut right) = ([0.0; 1_000], [0.0; 1_000]);
    for _ in 0..48 {
        voice.add_to(&mut left, &mut right, &Pace::new(HZ));
    }
}

/// The voice's next samples on the left.
fn next<const SAMPLES: usize>(voice: &mut Voice) -> [f32; SAMPLES] {
    let (mut left, mut right) = ([0.0; SAMPLES], [0.0; SAMPLES]);
    voice.add_to(&mut left, &mut right, &Pace::new(HZ));
    left
}

fn peak(samples: &[f32]) -> f32 {
    samples.iter().fold(0.0, |peak, x| peak.max(x.abs()))
}

#[test]
fn no_state_becomes_subnormal_in_a_whole_decay() {
    let mut voice = struck(60, 1.0);
    let (mut left, mut right) = ([0.0; 100], [0.0; 100]);
    let mut blocks = 0;
    while !voice.is_idle() {
        voice.add_to(&mut left, &mut right, &Pace::new(HZ));
        let state = voice.partials.cosine.iter().chain(&voice.partials.sine);
        assert!(state.clone().all(|value| !value.is_subnormal()));
        assert!(state.clone().all(|value| value.is_finite()));
        blocks += 1;
        assert!(blocks < 20 * 480, "still sounding after 20 s");
    }
    assert!(blocks > 4 * 480, "gone within 4 s");
}

#[test]
fn attack_is_soft_and_short() {
    let samples: [f32; 480] = next(&mut struck(96, 1.0));
    let (first, by_4_ms, all) = (peak(&samples[..14]), peak(&samples[..192]), peak(&samples));
    assert!(first > 0.0 && first < 0.05 * all, "{first} of {all}");
    assert!(by_4_ms > 0.9 * all, "{by_4_ms} of {all}");
}

#[test]
fn takeover_does_not_click() {
    let mut ringing = struck(28, 1.0);
    run_for_one_second(&mut ringing);
    for moment in 0..40 {
        let [.., mut last] = next::<37>(&mut ringing);
        let mut voice = ringing;
        let note = Note {
            channel: 0,
            key: 29,
            velocity: 0.5,
        };
        voice.strike(note, &Pace::new(HZ));
        for sample in next::<960>(&mut voice) {
            assert!((sample - last).abs() < 0.005, "moment {moment}");
            last = sample;
        }
        assert!(voice.note.is(0, 29) && voice.waiting.is_none());
    }
}

#[test]
fn bell_dies_before_the_fundamental_and_low_keys_ring_longest() {
    let mut last = f32::MAX;
    for key in [28, 48, 72, 96] {
        let mut voice = struck(key, 1.0);
        let start = voice.partials.cosine;
        run_for_one_second(&mut voice);
        let size = |i: usize| voice.partials.cosine[i].hypot(voice.partials.sine[i]) / start[i];
        assert!(size(0) > 0.1 && size(0) < last, "key {key}: {}", size(0));
        assert!(size(5) < 0.1 * size(0), "key {key}: {}", size(5));
        last = size(0);
    }
}

#[test]
fn harder_strikes_are_louder_and_brighter() {
    let mut last = (0.0, 0.0);
    for velocity in [0.1, 0.4, 0.7, 1.0] {
        let [fundamental, overtones @ ..] = struck(60, velocity).partials.cosine;
        let brightness = overtones.iter().sum::<f32>() / fundamental;
        assert!(fundamental > last.0 && brightness > last.1);
        last = (fundamental, brightness);
    }
}

#[test]
fn partials_keep_clear_of_half_the_sample_rate() {
    for hz in [8_000.0, 44_100.0, 192_000.0] {
        let pace = Pace::new(hz);
        assert!(pace.room_for(0.46 * hz).abs() < f32::EPSILON);
        assert!(pace.room_for(19_000.0).abs() < f32::EPSILON);
        assert!(pace.room_for(2_800.0) >= 1.0);
    }
}
