//! The ear on the project's own strings. The limits are the goals with a margin.

#[path = "common/mod.rs"]
mod common;

use common::lines::{self, BassLine, Compass, Feel};
use common::pluck::{self, Voice};
use common::score::ListenerScore;
use common::{listen, listen_with, mix};
use guidehand_bass::{Event, Reference, Tracker};

const RATE_HZ: f32 = 44_100.0;
const TEMPOS: [f64; 5] = [80.0, 120.0, 160.0, 200.0, 240.0];
const VOICES: [Voice; 3] = [pluck::ACOUSTIC, pluck::FINGERED, pluck::FRETLESS];

fn line(seed: u64, tempo_bpm: f64) -> BassLine {
    let feel = if seed.is_multiple_of(3) {
        Feel::Two
    } else {
        Feel::Walking
    };
    BassLine::new(seed, feel, lines::FOUR_STRINGS, tempo_bpm, 8)
}

/// Lines of all voices and tempos, with a background sound added to them.
fn heard(air: impl Fn(&BassLine, &[f32]) -> Vec<f32>) -> ListenerScore {
    let mut score = ListenerScore::default();
    let mut seed = 0;
    for voice in VOICES {
        for tempo_bpm in TEMPOS {
            seed += 1;
            let line = line(seed, tempo_bpm);
            let sound = pluck::play(&line, voice, f64::from(RATE_HZ), 440.0);
            let mut one = ListenerScore::default();
            one.add(&line, &listen(&air(&line, &sound), RATE_HZ));
            score.join(&one);
        }
    }
    println!(
        "{} notes: {:.1} right, {:.1} octaves, {:.1} spurious, {:.0} / {:.0} ms",
        score.notes,
        score.right_percent(),
        score.octave_percent(),
        score.spurious_percent(),
        score.delay_ms(0.5),
        score.delay_ms(0.95)
    );
    score.wrong.iter().take(12).for_each(|w| println!("  {w}"));
    score
}

fn hold(score: &ListenerScore, right: f64, spurious: f64) {
    assert!(
        score.right_percent() >= right,
        "{:.1}",
        score.right_percent()
    );
    assert!(
        score.octave_percent() <= 0.5,
        "{:.1}",
        score.octave_percent()
    );
    assert!(
        score.spurious_percent() <= spurious,
        "{:.1}",
        score.spurious_percent()
    );
    let (half_ms, most_ms) = (score.delay_ms(0.5), score.delay_ms(0.95));
    assert!(half_ms <= 36.0 && most_ms <= 54.0, "{half_ms} / {most_ms}");
}

#[test]
fn a_clean_bass_is_heard_quickly_and_right() {
    let score = heard(|_, sound| sound.to_vec());
    hold(&score, 99.5, 2.0);
}

#[test]
fn noise_does_not_disturb() {
    let score = heard(|_, sound| mix(sound, &pluck::noise(3, sound.len()), -30.0));
    hold(&score, 99.5, 2.5);
}

#[test]
fn hum_does_not_disturb() {
    let score = heard(|_, sound| mix(sound, &pluck::hum(sound.len(), f64::from(RATE_HZ)), -36.0));
    hold(&score, 99.5, 2.5);
}

#[test]
fn drums_that_bleed_do_not_disturb() {
    for (level_db, right) in [(-24.0, 99.5), (-18.0, 99.5), (-12.0, 99.0)] {
        let rate_hz = f64::from(RATE_HZ);
        let score =
            heard(|line, sound| mix(sound, &pluck::drums(line, sound.len(), rate_hz), level_db));
        hold(&score, right, 2.5);
    }
}

#[test]
fn every_note_of_the_range_is_heard_at_every_rate() {
    for rate_hz in [
        44_100.0_f32,
        48_000.0,
        88_200.0,
        96_000.0,
        176_400.0,
        192_000.0,
    ] {
        for number in [23, 28, 33, 40, 52, 67] {
            let compass = Compass {
                lowest: number,
                highest: number,
            };
            let mut line = BassLine::new(1, Feel::Two, compass_of_octave(compass), 120.0, 1);
            line.notes.truncate(1);
            line.notes[0].number = number;
            let sound = pluck::play(&line, pluck::FINGERED, f64::from(rate_hz), 440.0);
            let mut score = ListenerScore::default();
            score.add(&line, &listen(&sound, rate_hz));
            let told = (score.right, score.octaves, score.spurious);
            assert_eq!(told, (1, 0, 0), "{number} at {rate_hz}: {:?}", score.wrong);
        }
    }
}

fn compass_of_octave(compass: Compass) -> Compass {
    Compass {
        lowest: compass.lowest,
        highest: compass.highest + 12,
    }
}

#[test]
fn a_tuning_is_followed_by_hand_and_by_measure() {
    let line = BassLine::new(5, Feel::Walking, lines::FOUR_STRINGS, 120.0, 8);
    for a4_hz in [430.0_f32, 435.0, 445.0, 450.0] {
        let sound = pluck::play(&line, pluck::FINGERED, f64::from(RATE_HZ), f64::from(a4_hz));
        for reference in [Reference::Hand(a4_hz), Reference::Measured] {
            let mut tracker = Tracker::new(RATE_HZ);
            tracker.set_reference(reference);
            let mut score = ListenerScore::default();
            score.add(&line, &listen_with(&mut tracker, &sound, RATE_HZ));
            let found = tracker.state().a4_hz;
            println!(
                "{reference:?} of {a4_hz}: {:.1} right, {found:.1} Hz",
                score.right_percent()
            );
            assert!(score.right_percent() >= 96.0, "{a4_hz}: {:?}", score.wrong);
            assert!((found - a4_hz).abs() < 1.5, "{a4_hz}: {found}");
        }
    }
}

#[test]
fn a_note_that_is_struck_again_is_told_again() {
    let mut line = BassLine::new(5, Feel::Walking, lines::FOUR_STRINGS, 120.0, 4);
    line.notes.iter_mut().for_each(|n| n.number = 36);
    let sound = pluck::play(&line, pluck::FINGERED, f64::from(RATE_HZ), 440.0);
    let mut tracker = Tracker::new(RATE_HZ);
    let mut struck = 0;
    tracker.push(&sound, &mut |event| {
        struck += usize::from(matches!(event, Event::On { heard, .. } if heard.note == 36));
    });
    let played = line.notes.len();
    assert!(
        struck + 1 >= played && struck <= played,
        "{struck} of {played}"
    );
}
