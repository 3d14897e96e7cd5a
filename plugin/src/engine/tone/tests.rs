//! What the audition voice sounds like, measured at its output.

use super::*;
use std::f64::consts::TAU;

const HZ: usize = 48_000;
const CEILING: f32 = 0.501_187_2;
const CHORD: [u8; 4] = [53, 57, 60, 64];

/// A small generator, so that a failing seed can be named.
struct Dice(u64);

impl Dice {
    fn below(&mut self, limit: u8) -> u8 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005);
        self.0 = self.0.wrapping_add(1_442_695_040_888_963_407);
        let [.., high, _] = self.0.to_le_bytes();
        high % limit
    }
}

fn run(tone: &mut Tone, samples: usize, gain: f32) -> (Vec<f32>, Vec<f32>) {
    let (mut left, mut right) = (vec![9.0; samples], vec![9.0; samples]);
    tone.render(&mut left, &mut right, gain);
    (left, right)
}

fn strike(tone: &mut Tone, keys: impl IntoIterator<Item = u8>, velocity: f32) {
    for key in keys {
        tone.note_on(0, key, velocity);
    }
}

fn peak(samples: &[f32]) -> f32 {
    samples.iter().fold(0.0, |peak, x| peak.max(x.abs()))
}

fn largest_step(samples: &[f32]) -> f32 {
    let steps = samples.windows(2).map(|pair| (pair[1] - pair[0]).abs());
    steps.fold(0.0, f32::max)
}

fn key_hz(key: f64) -> f64 {
    440.0 * ((key - 69.0) / 12.0).exp2()
}

/// Amplitude at one frequency, through a Hann window.
fn amplitude_at(samples: &[f32], hz: f64, sample_rate_hz: f64) -> f64 {
    let length = f64::from(u32::try_from(samples.len()).unwrap());
    let (mut cosine, mut sine) = (0.0, 0.0);
    for (index, sample) in (0_u32..).zip(samples) {
        let index = f64::from(index);
        let window = 1.0 - (TAU * index / length).cos();
        let (s, c) = (TAU * hz * index / sample_rate_hz).sin_cos();
        cosine += f64::from(*sample) * window * c;
        sine += f64::from(*sample) * window * s;
    }
    2.0 * cosine.hypot(sine) / length
}

#[test]
fn ceiling_holds_under_24_keys_at_full_velocity() {
    for seed in 1..=4 {
        let mut dice = Dice(seed);
        let mut tone = Tone::new();
        for round in 0..10 {
            let keys = if seed == 1 { 12 } else { 128 };
            for _ in 0..24 {
                tone.note_on(dice.below(16), dice.below(keys), 1.0);
            }
            let (left, right) = run(&mut tone, HZ / 10, 1.0);
            let peak = peak(&left).max(peak(&right));
            assert!(peak <= CEILING, "seed {seed}, round {round}: {peak}");
            assert!(peak > 0.3, "seed {seed}, round {round}: {peak} is no test");
            assert!(left.iter().chain(&right).all(|x| x.is_finite()));
        }
    }
}

/// What is left of `b` in `a` apart from a change of level, over `a`.
fn distortion(a: &[f32], b: &[f32]) -> f64 {
    let product = |a: &[f32], b: &[f32]| -> f64 {
        let pairs = a.iter().zip(b);
        pairs.map(|(a, b)| f64::from(*a) * f64::from(*b)).sum()
    };
    let fit = product(a, b) / product(b, b);
    let rest: Vec<f64> = (a.iter().zip(b))
        .map(|(a, b)| f64::from(*a) - fit * f64::from(*b))
        .collect();
    (rest.iter().map(|x| x * x).sum::<f64>() / product(a, a)).sqrt()
}

#[test]
fn limiter_leaves_a_four_note_chord_clean() {
    let play = |velocity, gain| {
        let mut tone = Tone::new();
        strike(&mut tone, CHORD, velocity);
        run(&mut tone, HZ, gain).0
    };
    // At a hundredth of the gain nothing reaches the limiter. The hardest
    // strike does at full gain, and has 50 ms to turn the level down.
    for (velocity, start) in [(0.8, 0), (1.0, HZ / 20)] {
        let (full, quiet) = (play(velocity, 1.0), play(velocity, 0.01));
        let windows = full[start..]
            .chunks(2_400)
            .zip(quiet[start..].chunks(2_400));
        for (place, (full, quiet)) in windows.enumerate() {
            let part = distortion(full, quiet);
            assert!(part < 0.01, "velocity {velocity}, window {place}: {part}");
        }
    }
}

#[test]
fn output_does_not_depend_on_the_split() {
    let play = |seed: Option<u64>| {
        let mut dice = seed.map(Dice);
        let mut tone = Tone::new();
        let mut out = Vec::new();
        for event in 0_u8..60 {
            tone.note_on(event % 3, 30 + event, 0.9);
            tone.note_off(event % 2, 27 + event);
            if event == 40 {
                tone.all_off();
            }
            let gain = if event < 30 { 1.0 } else { 0.2 };
            let mut to_go = 700;
            while to_go > 0 {
                let length = dice.as_mut().map_or(to_go, |dice| dice.below(90).into());
                let (left, right) = run(&mut tone, length.min(to_go), gain);
                out.extend(left.into_iter().zip(right));
                to_go -= length.min(to_go);
            }
        }
        out
    };
    let whole = play(None);
    for seed in 1..=3 {
        let split = play(Some(seed));
        assert_eq!(whole.len(), split.len());
        let differs = |a: f32, b: f32| a.to_bits() != b.to_bits();
        let first =
            (whole.iter().zip(&split)).position(|(a, b)| differs(a.0, b.0) || differs(a.1, b.1));
        assert_eq!(first, None, "seed {seed}");
    }
}

#[test]
fn released_notes_are_silent_within_a_second() {
    for key in [0, 28, 60, 96, 127] {
        let mut tone = Tone::new();
        assert!(tone.is_silent());
        tone.note_on(3, key, 1.0);
        tone.note_off(4, key);
        run(&mut tone, HZ / 4, 1.0);
        tone.note_off(3, key);
        let tail = run(&mut tone, HZ / 10, 1.0).0;
        assert!(key != 60 || peak(&tail[HZ / 20..]) > 0.001, "no release");
        run(&mut tone, HZ * 9 / 10, 1.0);
        assert!(tone.is_silent(), "key {key}");
        assert!(peak(&run(&mut tone, 64, 1.0).0) <= 0.0);
    }
}

#[test]
fn held_notes_decay_and_end() {
    let mut tone = Tone::new();
    tone.note_on(0, 84, 0.8);
    let mut before = f32::MAX;
    for _ in 0..4 {
        let now = peak(&run(&mut tone, HZ, 1.0).0);
        assert!(now > 1.0e-4 && now < 0.8 * before, "{before} to {now}");
        before = now;
    }
    run(&mut tone, 4 * HZ, 1.0);
    assert!(tone.is_silent());
}

#[test]
fn every_note_of_a_chord_is_a_spectral_peak() {
    for lowest in [28, 35, 42, 53, 64, 75, 85] {
        let keys = CHORD.map(|key| key - 53 + lowest);
        let mut tone = Tone::new();
        strike(&mut tone, keys, 0.8);
        let (left, _) = run(&mut tone, 2 * HZ, 1.0);
        for key in keys.map(f64::from) {
            let at = |key| amplitude_at(&left, key_hz(key), 48_000.0);
            let note = at(key);
            for beside in [-1.0, -0.7, 0.7, 1.0] {
                let other = at(key + beside);
                assert!(note > 4.0 * other, "key {key}: {note}, {other}");
            }
        }
    }
}

#[test]
fn the_fundamental_is_the_strongest_partial_of_every_key() {
    for key in 28..=96 {
        let mut tone = Tone::new();
        tone.note_on(0, key, 1.0);
        let (left, _) = run(&mut tone, HZ / 4, 1.0);
        let at = |ratio| amplitude_at(&left, ratio * key_hz(f64::from(key)), 48_000.0);
        for ratio in [2.0, 3.0, 4.0, 5.0, 6.267, 7.0] {
            assert!(at(1.0) > 3.0 * at(ratio), "key {key}, ratio {ratio}");
        }
    }
}

#[test]
fn all_off_fades_without_a_click() {
    for moment in [4_800, 4_867, 4_931, 5_010] {
        let mut tone = Tone::new();
        strike(&mut tone, [40, 45, 50], 1.0);
        let (before, _) = run(&mut tone, moment, 1.0);
        tone.all_off();
        let (after, _) = run(&mut tone, HZ / 100, 1.0);
        let joint: Vec<f32> = before.last().into_iter().chain(&after).copied().collect();
        assert!(tone.is_silent());
        assert!(largest_step(&joint) < 1.2 * largest_step(&before[3_600..]));
    }
}

#[test]
fn a_further_note_takes_the_quietest_voice() {
    let mut tone = Tone::new();
    tone.note_on(0, 80, 0.5);
    run(&mut tone, HZ / 2, 1.0);
    strike(&mut tone, 30..53, 0.5);
    run(&mut tone, HZ / 10, 1.0);
    tone.note_on(0, 54, 0.5);
    let (after, _) = run(&mut tone, HZ, 1.0);
    let at = |key| amplitude_at(&after[HZ / 10..], key_hz(key), 48_000.0);
    assert!(at(54.0) > 100.0 * at(80.0), "{} {}", at(54.0), at(80.0));
    for key in 30..53 {
        assert!(at(f64::from(key)) > 0.2 * at(54.0), "key {key} was lost");
    }
}

#[test]
fn stolen_and_doubled_notes_do_not_hang() {
    for seed in 1..=3 {
        let mut dice = Dice(seed);
        let mut tone = Tone::new();
        let mut struck = Vec::new();
        for _ in 0..300 {
            let (channel, key) = (dice.below(16), dice.below(128));
            tone.note_on(channel, key, 1.0);
            struck.push((channel, key));
            run(&mut tone, usize::from(dice.below(60)), 1.0);
        }
        for (channel, key) in struck {
            tone.note_off(channel, key);
        }
        run(&mut tone, HZ, 1.0);
        assert!(tone.is_silent(), "seed {seed}");
    }
}

#[test]
fn pitch_and_level_hold_at_every_sample_rate() {
    let mut levels = Vec::new();
    for hz in [44_100_u32, 48_000, 96_000, 192_000] {
        let mut tone = Tone::new();
        tone.set_sample_rate(f32::from(u16::try_from(hz / 4).unwrap()) * 4.0);
        tone.note_on(0, 69, 0.8);
        let (left, right) = run(&mut tone, usize::try_from(hz).unwrap() / 2, 1.0);
        assert!(peak(&left).max(peak(&right)) <= CEILING);
        let at = |at_hz| amplitude_at(&left, at_hz, f64::from(hz));
        assert!(at(440.0) > at(439.0) && at(440.0) > at(441.0), "{hz} Hz");
        levels.push(at(440.0));
    }
    for level in &levels {
        assert!((level / levels[0] - 1.0).abs() < 0.005, "{levels:?}");
    }
}

#[test]
fn nonsense_is_harmless() {
    for hz in [f32::NAN, f32::INFINITY, -1.0, 0.0, f32::MAX] {
        let mut tone = Tone::new();
        tone.set_sample_rate(hz);
        for key in 0..=255 {
            tone.note_on(key, key, 1.0);
        }
        for gain in [1.0, f32::NAN, 1.0e30, f32::NEG_INFINITY] {
            let (left, right) = run(&mut tone, 2_000, gain);
            assert!(peak(&left).max(peak(&right)) <= CEILING);
            assert!(left.iter().chain(&right).all(|x| x.is_finite()));
        }
        tone.reset();
        assert!(tone.is_silent());
    }
    let mut tone = Tone::new();
    for velocity in [f32::NAN, f32::INFINITY, -0.5, 0.0] {
        tone.note_on(0, 60, velocity);
        assert!(tone.is_silent(), "velocity {velocity}");
    }
}

#[test]
fn gain_glides() {
    let mut tone = Tone::new();
    strike(&mut tone, [40], 1.0);
    let (before, _) = run(&mut tone, HZ / 5, 1.0);
    let (after, _) = run(&mut tone, HZ / 5, f32::NAN);
    let joint: Vec<f32> = before.last().into_iter().chain(&after).copied().collect();
    assert!(largest_step(&joint) < 1.2 * largest_step(&before[4_800..]));
    assert!(peak(&after[HZ / 10..]) <= 0.0);
    assert!(!tone.is_silent());
}
#[test]
fn silence_forgets_the_gain_and_the_peaks() {
    let mut used = Tone::new();
    strike(&mut used, 30..50, 1.0);
    run(&mut used, HZ / 10, 1.0);
    used.all_off();
    run(&mut used, HZ / 10, 1.0);
    let mut fresh = Tone::new();
    let first_note = |tone: &mut Tone| {
        tone.note_on(0, 60, 0.8);
        run(tone, HZ / 10, 0.5)
    };
    assert_eq!(first_note(&mut used), first_note(&mut fresh));
}

/// Clicks on these samples, in segments of this length.
fn clicked(at: &[usize], segment: usize, gain: f32) -> Vec<f32> {
    let mut tone = Tone::new();
    let mut all = Vec::new();
    while all.len() < 30_000 {
        if at.contains(&all.len()) {
            tone.click(all.is_empty());
        }
        let next = at.iter().filter(|at| **at > all.len()).min();
        let room = next.map_or(30_000, |next| *next) - all.len();
        let (left, right) = run(&mut tone, segment.min(room), gain);
        assert_eq!(left, right, "in the middle");
        all.extend(left);
    }
    all.truncate(30_000);
    all
}

#[test]
fn a_click_is_short_soft_and_louder_on_the_first_beat() {
    let clicks = clicked(&[0, 12_000], 512, 1.0);
    let (first, second) = (peak(&clicks[..12_000]), peak(&clicks[12_000..]));
    let chord = {
        let mut tone = Tone::new();
        strike(&mut tone, CHORD, 0.75);
        peak(&run(&mut tone, 12_000, 1.0).0)
    };
    assert!(second > 0.03 && first > 1.3 * second);
    assert!(first < 0.5 * chord, "{first} beside a chord of {chord}");
    // Half as loud after five milliseconds or so, and gone after a tenth of a second.
    assert!(peak(&clicks[960..12_000]) < 0.15 * first);
    assert!(clicks[4_800..12_000].iter().all(|sample| *sample == 0.0));
    assert!(largest_step(&clicks) < 0.35 * first, "it begins at zero");
    let half = clicked(&[0, 12_000], 512, 0.5);
    assert!(
        (peak(&half) - 0.5 * first).abs() < 1.0e-4,
        "the gain counts"
    );
}

#[test]
fn clicks_do_not_depend_on_segments_and_keep_the_ceiling() {
    let whole = clicked(&[0, 500, 12_000, 12_001], 30_000, 1.0);
    for segment in [1, 7, 64, 441] {
        assert_eq!(whole, clicked(&[0, 500, 12_000, 12_001], segment, 1.0));
    }
    let mut tone = Tone::new();
    for key in 30..54 {
        tone.note_on(0, key, 1.0);
    }
    for _ in 0..50 {
        tone.click(true);
        let (left, right) = run(&mut tone, 300, 1.0);
        assert!(peak(&left) <= CEILING && peak(&right) <= CEILING);
    }
}

#[test]
fn a_click_that_is_broken_off_fades_without_a_step() {
    let mut tone = Tone::new();
    tone.click(true);
    let (before, _) = run(&mut tone, 100, 1.0);
    tone.all_off();
    let (after, _) = run(&mut tone, 960, 1.0);
    let all = [before, after].concat();
    assert!(largest_step(&all) < 0.35 * peak(&all));
    assert!(tone.is_silent());
    tone.click(false);
    tone.reset();
    assert!(tone.is_silent());
}
