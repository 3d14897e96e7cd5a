//! Mistakes that are planted in time, over every family, dressing, root and position: each is told by its
//! name, and no right answer is called wrong. What is wrong with notes alone is planted more widely in the
//! tests of the theory.

use super::*;
use crate::engine::practising::When;
use guidehand_practice::{AskedPosition, stock_dressings};
use guidehand_theory::degree::DegreeSet;
use guidehand_theory::judge::Finding;

/// A beat at 120 beats a minute, in samples.
const BEAT: u64 = 24_000;

/// When the chord falls: after a bar of clicks.
const FALLS: u64 = 4 * BEAT;

/// When a chord is played, beside its beat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Time {
    On,
    /// A tenth of a second off, within a quarter of a beat.
    Nearly,
    /// By half a beat, and held over the beat.
    Early,
    /// By a beat.
    Late,
    /// From the lowest finger up, with a tenth of a second between two.
    Rolled,
}

/// What is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Notes {
    Right,
    /// This finger is a half step off.
    Off(usize, i8),
    /// The highest finger is an octave too high.
    OctaveUp,
    /// Without this finger.
    Without(usize),
    /// With the root.
    WithRoot,
}

impl Notes {
    /// The keys, from the lowest; none where that is no mistake, or two mistakes in one: a finger on a
    /// key whose note is asked for elsewhere, or on the root.
    fn keys(self, right: &[u8], root: u8) -> Option<Vec<u8>> {
        let mut keys = right.to_vec();
        let is_asked = |key: u8| right.iter().any(|right| right % 12 == key % 12);
        match self {
            Notes::Right => {}
            Notes::Off(finger, by) => {
                let key = right[finger].checked_add_signed(by)?;
                if is_asked(key) || key % 12 == root {
                    return None;
                }
                keys[finger] = key;
            }
            Notes::OctaveUp => *keys.last_mut()? += 12,
            Notes::Without(finger) => {
                keys.remove(finger);
            }
            Notes::WithRoot => {
                let inside = right[0] + 1..right[right.len() - 1];
                let key = inside.into_iter().find(|key| key % 12 == root)?;
                if is_asked(key) {
                    return None;
                }
                keys.push(key);
            }
        }
        keys.sort_unstable();
        Some(keys)
    }

    fn is_told(self, right: &[u8], root: u8, findings: &[Finding]) -> bool {
        let wrong: Vec<&Finding> = findings.iter().filter(|one| !one.is_right()).collect();
        match (self, wrong[..].first()) {
            (Notes::Right, None) => true,
            (Notes::Off(finger, by), Some(Finding::Off { asked, played })) => {
                let apart = i32::from(played.note.number()) - i32::from(asked.note.number());
                wrong.len() == 1 && asked.note.number() == right[finger] && apart == i32::from(by)
            }
            (Notes::OctaveUp, Some(Finding::OtherOctave { asked, played })) => {
                let top = right[right.len() - 1];
                wrong.len() == 1 && asked.note.number() == top && played.number() == top + 12
            }
            (Notes::Without(finger), Some(Finding::Missing(asked))) => {
                wrong.len() == 1 && asked.note.number() == right[finger]
            }
            (Notes::WithRoot, Some(Finding::RootPlayed(key))) => {
                wrong.len() == 1 && key.number() % 12 == root
            }
            _ => false,
        }
    }
}

/// One chord, note for note, at a tempo of its own.
fn one_chord(
    family: ShapeFamily,
    dressing: Option<DegreeSet>,
    root: u8,
    position: AskedPosition,
) -> Exercise {
    Exercise {
        families: vec![family],
        dressings: dressing.into_iter().collect(),
        keys: vec![PitchClass::wrapping(root.into())],
        position,
        ..in_time(120.0)
    }
}

/// Plays an answer, and holds what is told of it against what was planted.
fn play(exercise: &Exercise, time: Time, notes: Notes) -> bool {
    let mut rig = Rig::begun(lesson(exercise, 1));
    let right = rig.keys_of(0);
    let root = rig.lesson.questions[0]
        .question
        .placed
        .chord
        .root
        .class()
        .number();
    let Some(keys) = notes.keys(&right, root) else {
        return false;
    };
    let (at, step) = match time {
        Time::On => (FALLS, 0),
        Time::Nearly => (FALLS + ms(100), 0),
        Time::Early => (FALLS - BEAT / 2, 0),
        Time::Late => (FALLS + BEAT, 0),
        Time::Rolled => (FALLS, ms(100)),
    };
    let mut last = at;
    for (nth, key) in (0_u64..).zip(&keys) {
        last = at + nth * step;
        rig.down(last, *key);
        rig.up(FALLS + BEAT + ms(500), *key);
    }
    let until = last.max(FALLS + BEAT / 4) + ms(80) + 1;
    rig.run(until, &[4096]);
    let asking = rig.asking();
    let what = || {
        format!(
            "{:?} {time:?} {notes:?} {keys:?}: {asking:?}",
            rig.lesson.questions[0]
        )
    };
    let judgement = asking.judgement.unwrap_or_else(|| panic!("{}", what()));
    assert_eq!(judgement.is_right(), notes == Notes::Right, "{}", what());
    assert!(
        notes.is_told(&right, root, judgement.findings()),
        "{}",
        what()
    );
    let by = |beats: f32, expected: f32| (beats - expected).abs() < 0.01;
    let in_time = match (time, asking.when) {
        (Time::On | Time::Nearly | Time::Rolled, When::OnTime) => true,
        (Time::Early, When::Early(beats)) => by(beats, 0.5),
        (Time::Late, When::Late(beats)) => by(beats, 1.0),
        _ => false,
    };
    assert!(in_time, "{}", what());
    // A roll is no mistake, and is told of what is right.
    let rolled = (time == Time::Rolled && notes == Notes::Right).then_some(());
    assert_eq!(asking.rolled_ms.map(|_| ()), rolled, "{}", what());
    true
}

#[test]
fn every_mistake_in_time_is_told_by_its_name() {
    let families = ShapeFamily::ALL.into_iter().map(|family| (family, None));
    let dressed = stock_dressings().map(|one| (one.family(), Some(one.degrees())));
    let (mut answers, mut left_out) = (0, 0);
    for (family, dressing) in families.chain(dressed) {
        for root in 0..12 {
            for position in [AskedPosition::Third, AskedPosition::Seventh] {
                let exercise = one_chord(family, dressing, root, position);
                let finger = usize::from(root) % 4;
                let notes = [
                    Notes::Right,
                    Notes::Off(finger, 1),
                    Notes::Off(finger, -1),
                    Notes::OctaveUp,
                    Notes::Without(finger),
                    Notes::WithRoot,
                ];
                let times = [
                    Time::On,
                    Time::Nearly,
                    Time::Early,
                    Time::Late,
                    Time::Rolled,
                ];
                for (notes, time) in notes.iter().flat_map(|n| times.map(|time| (*n, time))) {
                    if play(&exercise, time, notes) {
                        answers += 1;
                    } else {
                        left_out += 1;
                    }
                }
            }
        }
    }
    println!("{answers} answers in time; {left_out} left out, for they hold two mistakes in one");
    assert!(answers > 15_000, "{answers}");
}
