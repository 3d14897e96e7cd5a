//! The audition tone: sounding notes are audible and never too loud, and there is silence when no
//! note sounds.

use crate::plugin::{CEILING, RATE_HZ, TEXTURES, guidehand, play, set, sounding, with_chart};
use guidehand_tests::{Event, Host, Performance, Session, TransportChange};
use realfft::RealFftPlanner;
use std::f64::consts::TAU;

/// Two thirds of a second: lines of the spectrum are 1.5 Hz apart, and the lowest
/// half step of a voicing 10 Hz.
const WINDOW: usize = 32_768;

/// The time in which a released note decays to silence.
const SILENT_AFTER: usize = 48_000;

/// The amplitude of every line of the spectrum of the samples from a place on, under a Hann window.
pub fn spectrum(samples: &[f32], from: usize) -> Vec<f64> {
    let fft = RealFftPlanner::<f64>::new().plan_fft_forward(WINDOW);
    let mut input = fft.make_input_vec();
    let length = f64::from(u32::try_from(WINDOW).unwrap());
    for (index, (value, sample)) in (0_u32..).zip(input.iter_mut().zip(&samples[from..])) {
        let window = 0.5 - 0.5 * (TAU * f64::from(index) / length).cos();
        *value = f64::from(*sample) * window;
    }
    let mut output = fft.make_output_vec();
    fft.process(&mut input, &mut output).unwrap();
    output
        .iter()
        .map(|line| 4.0 * line.norm() / length)
        .collect()
}

fn key_hz(key: f64) -> f64 {
    440.0 * ((key - 69.0) / 12.0).exp2()
}

/// The line of the spectrum nearest to a frequency.
fn line_of(hz: f64) -> usize {
    let line = (hz * f64::from(u32::try_from(WINDOW).unwrap()) / RATE_HZ).round();
    (0..WINDOW)
        .find(|index| f64::from(u32::try_from(*index).unwrap()) >= line)
        .unwrap()
}

/// The highest line within a tenth of a half step of a key's fundamental, or at
/// least one line to each side.
pub fn height(spectrum: &[f64], key: f64) -> f64 {
    let (low, high) = (line_of(key_hz(key - 0.1)), line_of(key_hz(key + 0.1)));
    let middle = line_of(key_hz(key));
    let lines = low.min(middle - 1)..=high.max(middle + 1);
    spectrum[lines].iter().copied().fold(0.0, f64::max)
}

/// Whether a key's fundamental is stronger than the lines a quarter tone to either side.
fn is_peak(spectrum: &[f64], key: i16) -> bool {
    let key = f64::from(key);
    let beside = [key - 0.5, key + 0.5].map(|beside| spectrum[line_of(key_hz(beside))]);
    beside.iter().all(|side| height(spectrum, key) > 2.0 * side)
}

/// Every sounding key is a peak; keys that neither sound nor are a partial of a sounding key are
/// much weaker.
fn expect_heard(performance: &Performance, from: usize, what: &str) {
    let keys = sounding(&performance.events, from as u64);
    let end = sounding(&performance.events, (from + WINDOW) as u64);
    assert_eq!(keys, end, "{what}: the window holds one chord");
    assert!(!keys.is_empty(), "{what}: nothing sounds");
    for channel in [&performance.left, &performance.right] {
        let spectrum = spectrum(channel, from);
        for key in &keys {
            assert!(is_peak(&spectrum, *key), "{what}: {key} of {keys:?}");
        }
        let weakest = keys
            .iter()
            .map(|key| height(&spectrum, f64::from(*key)))
            .fold(f64::MAX, f64::min);
        let lowest = *keys.iter().min().unwrap();
        // There is no partial up to an octave above the lowest key.
        for key in (lowest - 12..lowest + 11).filter(|key| !keys.contains(key)) {
            let stray = height(&spectrum, f64::from(key));
            assert!(stray < 0.2 * weakest, "{what}: {key} beside {keys:?}");
        }
    }
}

fn held_root(host: &mut Host, root: i16) -> Performance {
    let mut session = Session::new(RATE_HZ, 120.0, 45_000);
    session.note(1_000, 40_000, root);
    play(host, &session)
}

#[test]
fn every_note_of_a_chord_is_heard() {
    let mut host = guidehand();
    for (words, _) in TEXTURES {
        set(&mut host, "Texture", words);
        for root in [50, 55, 48] {
            let performance = held_root(&mut host, root);
            expect_heard(&performance, 6_000, &format!("{words} on {root}"));
        }
    }
}

#[test]
fn melody_and_bass_are_heard_as_well() {
    let mut host = guidehand();
    set(&mut host, "Bass note", "On");
    let mut session = Session::new(RATE_HZ, 120.0, 45_000);
    session.note(0, 40_000, 50).note(0, 40_000, 74);
    let performance = play(&mut host, &session);
    let keys = sounding(&performance.events, 10_000);
    assert_eq!(keys.len(), 6, "{keys:?}");
    let spectrum = spectrum(&performance.left, 6_000);
    for key in keys {
        assert!(is_peak(&spectrum, key), "{key}");
    }
}

#[test]
fn the_chart_is_heard() {
    let mut host = with_chart("| Dm7 | G7 |");
    set(&mut host, "Audition tone", "On");
    let mut session = Session::new(RATE_HZ, 240.0, 96_000);
    session.change(95_000, TransportChange::Stop);
    let performance = play(&mut host, &session);
    for from in [2_000, 50_000] {
        expect_heard(&performance, from, &format!("at {from}"));
    }
}

#[test]
fn a_harder_strike_is_louder() {
    let peak = |velocity| {
        let mut session = Session::new(RATE_HZ, 120.0, 10_000);
        session.event(0, Event::note_on(0, 50, velocity));
        let performance = play(&mut guidehand(), &session);
        performance
            .left
            .iter()
            .fold(0.0_f32, |peak, x| peak.max(x.abs()))
    };
    let (soft, medium, hard) = (peak(0.2), peak(0.5), peak(0.9));
    assert!(soft > 0.001 && soft < medium && medium < hard);
}

#[test]
fn the_level_parameter_sets_the_level() {
    let peak = |words: &str| {
        let mut host = guidehand();
        set(&mut host, "Audition level", words);
        let mut session = Session::new(RATE_HZ, 120.0, 10_000);
        session.event(0, Event::note_on(0, 50, 0.25));
        let performance = play(&mut host, &session);
        performance
            .left
            .iter()
            .fold(0.0_f32, |peak, x| peak.max(x.abs()))
    };
    let (loud, soft) = (peak("-12 dB"), peak("-32 dB"));
    assert!((loud / soft - 10.0).abs() < 0.1, "{loud}, {soft}");
}

/// Twenty keys fortissimo in every register, at full level, struck together.
#[test]
fn the_ceiling_holds_under_twenty_keys_fortissimo() {
    for (lowest, step) in [(60, 1), (60, 3), (24, 1), (0, 2)] {
        let mut host = guidehand();
        set(&mut host, "Audition level", "0 dB");
        set(&mut host, "Split", "C-1");
        let mut session = Session::new(RATE_HZ, 120.0, 24_000);
        for number in 0..20 {
            session.event(
                100,
                Event::note_on(number % 16, lowest + number * step, 1.0),
            );
        }
        // `play` checks the ceiling.
        let performance = play(&mut host, &session);
        let peak = performance
            .left
            .iter()
            .fold(0.0_f32, |peak, x| peak.max(x.abs()));
        assert!(peak > 0.6 * CEILING, "{peak} puts nothing to the test");
    }
}

fn is_silent(samples: &[f32]) -> bool {
    samples.iter().all(|sample| *sample == 0.0)
}

#[test]
fn silence_is_exact_before_the_first_note_and_after_the_last() {
    let mut session = Session::new(RATE_HZ, 120.0, 120_000);
    session.note(10_000, 30_000, 50).note(12_000, 31_000, 90);
    let performance = play(&mut guidehand(), &session);
    for channel in [&performance.left, &performance.right] {
        assert!(is_silent(&channel[..10_000]));
        assert!(!is_silent(&channel[10_000..10_100]));
        assert!(!is_silent(&channel[29_000..30_000]));
        assert!(is_silent(&channel[31_000 + SILENT_AFTER..]));
    }
}

#[test]
fn silence_is_exact_without_the_tone_and_in_bypass() {
    for (name, words) in [("Audition tone", "Off"), ("Bypass", "On")] {
        let mut host = guidehand();
        set(&mut host, name, words);
        let mut session = Session::new(RATE_HZ, 120.0, 20_000);
        session.note(0, 15_000, 50).note(1_000, 15_000, 72);
        let performance = play(&mut host, &session);
        assert!(performance.events.len() >= 4, "{name}: notes go on");
        assert!(is_silent(&performance.left), "{name}");
        assert!(is_silent(&performance.right), "{name}");
    }
}

#[test]
fn the_tone_fades_without_a_click_when_it_is_switched_off() {
    for (name, value) in [("Audition tone", 0.0), ("Bypass", 1.0)] {
        let mut host = guidehand();
        let id = host.param_by_name(name).unwrap().id;
        let mut session = Session::new(RATE_HZ, 120.0, 20_000);
        session.note(0, 19_000, 50).param(10_000, id, value);
        let performance = play(&mut host, &session);
        let left = &performance.left;
        let step = |range: std::ops::Range<usize>| {
            let steps = left[range].windows(2).map(|pair| (pair[1] - pair[0]).abs());
            steps.fold(0.0, f32::max)
        };
        assert!(!is_silent(&left[9_900..10_100]), "{name}");
        assert!(step(9_990..10_600) <= 1.5 * step(8_000..9_990), "{name}");
        // The tone fades for ten milliseconds, and then there is silence.
        assert!(is_silent(&left[10_600..]), "{name}");
    }
}

#[test]
fn a_reset_silences_at_once() {
    let mut session = Session::new(RATE_HZ, 120.0, 10_240);
    session.event(0, Event::note_on(0, 50, 1.0));
    let mut host = guidehand();
    let mut player = guidehand_tests::Player::start(&mut host, &session).unwrap();
    player.run_until(5_120).unwrap();
    player.host().reset().unwrap();
    let performance = player.finish().unwrap();
    assert!(!is_silent(&performance.left[5_000..5_120]));
    assert!(is_silent(&performance.left[5_120..]));
}

#[test]
fn all_notes_off_silences_its_own_channel_only() {
    for (channel, ends) in [(0, true), (5, false)] {
        let panic = Event::Controller {
            channel,
            number: 123,
            value: 0,
        };
        let mut session = Session::new(RATE_HZ, 120.0, 70_000);
        session.note(0, 69_000, 50).event(10_000, panic);
        let performance = play(&mut guidehand(), &session);
        let after = &performance.left[10_000 + SILENT_AFTER..68_000];
        assert_eq!(is_silent(after), ends, "channel {channel}");
    }
}
