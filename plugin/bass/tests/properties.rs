//! What holds for any sound: results are finite and bounded, there is no note without a bass,
//! blocks of any size give the same, and nothing allocates.

#[path = "common/mod.rs"]
mod common;

use common::lines::{self, BassLine, Feel};
use common::pluck;
use guidehand_bass::{Event, HIGHEST, LOWEST, Tracker};

const RATE_HZ: f32 = 48_000.0;

fn events(sound: &[f32], rate_hz: f32, mut size: impl FnMut() -> usize) -> Vec<Event> {
    let mut tracker = Tracker::new(rate_hz);
    let mut told = Vec::new();
    let mut rest = sound;
    while !rest.is_empty() {
        let (block, after) = rest.split_at(size().min(rest.len()));
        tracker.push(block, &mut |event| told.push(event));
        let state = tracker.state();
        assert!(state.level_db.is_finite() && state.cents.is_finite());
        assert!((0.0..=1.0).contains(&state.confidence));
        rest = after;
    }
    for event in &told {
        if let Event::On {
            heard,
            at_samples,
            struck_samples,
        } = event
        {
            assert!((LOWEST..=HIGHEST).contains(&heard.note));
            assert!(heard.cents.abs() <= 70.0, "{heard:?}");
            assert!((0.0..=1.0).contains(&heard.confidence));
            assert!(heard.level_db.is_finite());
            assert!(struck_samples <= at_samples);
        }
    }
    told
}

fn bass() -> Vec<f32> {
    let line = BassLine::new(9, Feel::Walking, lines::FOUR_STRINGS, 200.0, 3);
    pluck::play(&line, pluck::FINGERED, f64::from(RATE_HZ), 440.0)
}

fn scaled(sound: &[f32], gain: f32) -> Vec<f32> {
    sound.iter().map(|s| s * gain).collect()
}

#[test]
fn without_a_bass_nothing_is_heard() {
    let seconds = 4 * 48_000;
    let silent: [(&str, Vec<f32>); 6] = [
        ("silence", vec![0.0; seconds]),
        ("a constant", vec![0.7; seconds]),
        ("denormals", vec![1e-40; seconds]),
        ("nothing but NaN", vec![f32::NAN; seconds]),
        ("nothing but infinity", vec![f32::INFINITY; seconds]),
        ("a bass below the gate", scaled(&bass(), 1e-4)),
    ];
    for (name, sound) in silent {
        let told = events(&sound, RATE_HZ, || 512);
        assert!(told.is_empty(), "{name}: {told:?}");
    }
}

#[test]
fn noise_is_no_bass() {
    for seed in 0..12 {
        for gain in [0.01, 0.1, 0.5, 1.0] {
            let sound = scaled(&pluck::noise(seed, 3 * 48_000), gain);
            let told = events(&sound, RATE_HZ, || 512);
            assert!(told.is_empty(), "seed {seed} at {gain}: {told:?}");
        }
    }
}

#[test]
fn a_bass_is_heard_in_any_blocks_alike() {
    let sound = bass();
    let whole = events(&sound, RATE_HZ, || usize::MAX);
    assert!(whole.len() >= 12, "{whole:?}");
    for seed in 0..4 {
        let mut rng = fastrand::Rng::with_seed(seed);
        assert_eq!(events(&sound, RATE_HZ, || rng.usize(1..1500)), whole);
    }
    assert_eq!(events(&sound, RATE_HZ, || 1), whole);
}

#[test]
fn broken_samples_and_clipping_are_survived() {
    let mut sound = bass();
    let mut rng = fastrand::Rng::with_seed(1);
    for _ in 0..200 {
        let at = rng.usize(..sound.len());
        sound[at] = [f32::NAN, f32::INFINITY, f32::NEG_INFINITY, 1e30][rng.usize(..4)];
    }
    events(&sound, RATE_HZ, || 64);
    // Hard clipping keeps the pitch, and all of its notes.
    let clipped: Vec<f32> = bass().iter().map(|s| (8.0 * s).clamp(-1.0, 1.0)).collect();
    let told = events(&clipped, RATE_HZ, || 64);
    assert!(told.len() >= 10, "{told:?}");
}

#[test]
fn after_a_reset_it_is_as_new() {
    let sound = bass();
    let fresh = events(&sound, RATE_HZ, || 512);
    let mut tracker = Tracker::new(RATE_HZ);
    tracker.push(&sound[..30_001], &mut |_| {});
    tracker.reset();
    let mut told = Vec::new();
    tracker.push(&sound, &mut |event| told.push(event));
    assert_eq!(told, fresh);
}

#[test]
fn odd_rates_are_survived() {
    for rate_hz in [
        0.0,
        f32::NAN,
        1.0,
        8_000.0,
        11_025.0,
        22_050.0,
        384_000.0,
        f32::INFINITY,
    ] {
        events(&pluck::noise(1, 20_000), rate_hz, || 512);
    }
}

#[test]
fn listening_allocates_nothing() {
    let sound = bass();
    let mut tracker = Tracker::new(RATE_HZ);
    let mut count = 0;
    let spent = allocation_counter::measure(|| {
        for block in sound.chunks(333) {
            tracker.push(block, &mut |_| count += 1);
        }
        tracker.reset();
    });
    assert!(count >= 12);
    assert_eq!(spent.count_total, 0);
    // The counter itself must count.
    assert_eq!(
        allocation_counter::measure(|| drop(std::hint::black_box(Box::new(1_u64)))).count_total,
        1
    );
}
