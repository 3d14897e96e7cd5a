//! Roots from notes: without a chart, with one, and after the place was lost.

#[path = "common/mod.rs"]
mod common;

use common::lines::{BassBar, BassLine, FOUR_STRINGS, Feel, Material};
use guidehand_bass::roots::{Change, Decider, Follower, Form, Standing};
use guidehand_theory::pitch::PitchClass;

const BARS: usize = 32;

fn line(seed: u64, feel: Feel) -> BassLine {
    BassLine::new(seed, feel, FOUR_STRINGS, 160.0, BARS)
}

fn class(number: u8) -> PitchClass {
    PitchClass::wrapping(i32::from(number))
}

/// The bar of a beat.
fn bar(at_beats: f64) -> usize {
    (0..BARS)
        .rfind(|b| 4.0 * f64::from(u32::try_from(*b).unwrap()) <= at_beats + 0.01)
        .unwrap()
}

/// The number of strong beats over many seeds, and of those on which the decided root is the
/// chart's.
fn without_a_chart(feel: Feel, material: Material) -> (u32, u32) {
    let (mut all, mut right) = (0, 0);
    for seed in 0..60 {
        let line = BassLine::of(seed, material, feel, FOUR_STRINGS, 160.0, BARS);
        let mut decider = Decider::new(4.0);
        for note in &line.notes {
            let decision = decider.hear(class(note.number), note.start_beats);
            assert!((0.0..=1.0).contains(&decision.confidence));
            if note.start_beats.rem_euclid(2.0) < 0.01 {
                all += 1;
                let root = class(line.chart[bar(note.start_beats)].root);
                right += u32::from(decision.root == Some(root));
            }
        }
    }
    println!("{feel:?}, {material:?}: {right} of {all}");
    (right, all)
}

#[test]
fn roots_are_right_on_95_of_100_strong_beats_in_the_key() {
    for feel in [Feel::Walking, Feel::Two] {
        let (right, all) = without_a_chart(feel, Material::Own);
        assert!(right * 100 >= all * 95, "{feel:?}: {right} of {all}");
    }
}

#[test]
fn borrowed_chords_cost_little() {
    // One downbeat in ten is a third or a fifth, which does not settle a borrowed chord.
    for feel in [Feel::Walking, Feel::Two] {
        let (right, all) = without_a_chart(feel, Material::Borrowed);
        assert!(right * 100 >= all * 95, "{feel:?}: {right} of {all}");
    }
}

#[test]
fn a_confidence_is_honest() {
    // Of the decisions with a confidence of at least 0.9, nine in ten are right.
    let (mut sure, mut right) = (0, 0);
    for seed in 100..160 {
        let line = line(seed, Feel::Walking);
        let mut decider = Decider::new(4.0);
        for note in &line.notes {
            let decision = decider.hear(class(note.number), note.start_beats);
            if decision.confidence >= 0.9 {
                sure += 1;
                let root = class(line.chart[bar(note.start_beats)].root);
                right += u32::from(decision.root == Some(root));
            }
        }
    }
    println!("sure {sure}, right {right}");
    assert!(sure > 1000 && right * 10 >= sure * 9, "{right} of {sure}");
}

fn changes(chart: &[BassBar]) -> Vec<Change> {
    let change = |(n, bar): (u32, &BassBar)| {
        let root = class(bar.root);
        let tones = bar.tones.iter().map(|t| class(bar.root + t));
        Change {
            at_beats: 4.0 * f64::from(n),
            root: Some(root),
            tones: tones.chain([root]).collect(),
        }
    };
    (0..).zip(chart).map(change).collect()
}

fn form(changes: &[Change]) -> Form<'_> {
    Form {
        changes,
        length_beats: 128.0,
    }
}

#[test]
fn a_chart_is_confirmed_and_never_lost_by_passing_notes() {
    let (mut all, mut right) = (0, 0);
    for seed in 0..60 {
        let line = line(seed, Feel::Walking);
        let chart = changes(&line.chart);
        let mut follower = Follower::new(4.0);
        for note in &line.notes {
            let at = note.start_beats;
            let place = follower
                .hear(&form(&chart), class(note.number), at)
                .unwrap();
            assert_eq!(place.shift_bars, 0, "seed {seed} at {at}");
            all += 1;
            right += u32::from(place.change == bar(at) && place.standing == Standing::OnTime);
        }
    }
    println!("confirmed {right} of {all}");
    assert!(right * 100 >= all * 98, "{right} of {all}");
}

#[test]
fn early_and_late_roots_move_the_chord() {
    let line = line(1, Feel::Two);
    let chart = changes(&line.chart);
    let two = (1..BARS).find(|b| line.chart[*b].root != line.chart[b - 1].root);
    let two = two.expect("a chart that moves");
    let (old, new) = (class(line.chart[two - 1].root), class(line.chart[two].root));
    let start = chart[two].at_beats;
    let mut follower = Follower::new(4.0);
    let early = follower.hear(&form(&chart), new, start - 0.5).unwrap();
    assert_eq!((early.change, early.standing), (two, Standing::Early));
    if !chart[two].tones.contains(old) {
        let late = follower.hear(&form(&chart), old, start).unwrap();
        assert_eq!((late.change, late.standing), (two - 1, Standing::Late));
    }
    let arrived = follower.hear(&form(&chart), new, start + 1.0).unwrap();
    assert_eq!((arrived.change, arrived.standing), (two, Standing::OnTime));
}

#[test]
fn a_lost_place_is_told_and_found() {
    let (mut found, mut told) = (0, 0);
    let seeds = 40;
    for seed in 0..seeds {
        let line = line(seed, Feel::Walking);
        let chart = changes(&line.chart);
        // The player is seven bars ahead of the host.
        let ahead = 7;
        let mut follower = Follower::new(4.0);
        let mut last = None;
        let mut lost = false;
        for note in &line.notes {
            let at = note.start_beats - 4.0 * 7.0;
            last = follower.hear(&form(&chart), class(note.number), at);
            lost |= last.is_some_and(|p| p.standing == Standing::Lost || p.shift_bars > 0);
        }
        told += u32::from(lost);
        found += u32::from(last.unwrap().shift_bars == ahead);
    }
    println!("reported {told}, found {found} of {seeds}");
    assert!(
        told >= 38 && found >= 38,
        "reported {told}, found {found} of {seeds}"
    );
}

#[test]
fn nonsense_is_survived() {
    let mut decider = Decider::new(0.0);
    let mut follower = Follower::new(f64::NAN);
    for at in [f64::NAN, f64::INFINITY, -1e300, 1e300, 0.0] {
        let decision = decider.hear(class(1), at);
        assert!(decision.confidence.is_finite());
        let empty = Form {
            changes: &[],
            length_beats: at,
        };
        assert_eq!(follower.hear(&empty, class(1), at), None);
    }
}
