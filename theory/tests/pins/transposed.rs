//! Pinned notes in other keys, against plain arithmetic.

use super::{moved, notes};
use guidehand_theory::candidates::Register;
use guidehand_theory::pin;
use guidehand_theory::pitch::MidiNote;
use proptest::collection::btree_set;
use proptest::prelude::*;

const REGISTER: Register = Register::DEFAULT;

/// The notes in another key, or none.
fn to(names: &str, half_steps: i8) -> Option<Vec<MidiNote>> {
    pin::transposed(&notes(names), half_steps, &REGISTER)
}

/// The register is D3 to A4.
#[test]
fn notes_stay_in_the_register_in_every_key() {
    for (half_steps, expected) in [
        (0, "F3 A3 B3 E4"),
        (1, "Gb3 Bb3 C4 F4"),
        (2, "G3 B3 C#4 F#4"),
        (3, "Ab3 C4 D4 G4"),
        (4, "A3 C#4 D#4 G#4"),
        (5, "Bb3 D4 E4 A4"),
        // A half step above the register, and an octave lower three below it.
        (6, "B3 D#4 F4 A#4"),
        // As far above as an octave lower would lie below: as asked for.
        (7, "C4 E4 F#4 B4"),
        // From here on the lower octave lies nearer.
        (8, "C#3 F3 G3 C4"),
        (9, "D3 F#3 G#3 C#4"),
        (10, "Eb3 G3 A3 D4"),
        (11, "E3 G#3 A#3 D#4"),
        (12, "F3 A3 B3 E4"),
        (-3, "D3 F#3 G#3 C#4"),
        (-4, "C#3 F3 G3 C4"),
        (-5, "C3 E3 F#3 B3"),
        (-6, "B3 D#4 F4 A#4"),
        (-12, "F3 A3 B3 E4"),
    ] {
        assert_eq!(
            to("F3 A3 B3 E4", half_steps),
            Some(notes(expected)),
            "{half_steps}"
        );
    }
}

/// A voicing that the player has put outside of the register stays there.
#[test]
fn what_lies_outside_moves_by_the_half_steps_alone() {
    for (names, half_steps, expected) in [
        ("F2 A2 B2 E3", -1, "E2 G#2 A#2 D#3"),
        ("F2 A2 B2 E3", 6, "B2 D#3 F3 A#3"),
        ("F3 B3 E4 A4 D5", 1, "Gb3 C4 F4 Bb4 Eb5"),
    ] {
        assert_eq!(to(names, half_steps), Some(notes(expected)), "{names}");
    }
}

/// MIDI has the notes 0 to 127.
#[test]
fn the_range_of_midi_is_not_left() {
    let keys =
        |keys: &[i32]| -> Vec<MidiNote> { keys.iter().map(|k| MidiNote::clamp(*k)).collect() };
    for (before, half_steps, after) in [
        (
            &[117, 121, 123, 127][..],
            1,
            Some(&[106, 110, 112, 116][..]),
        ),
        (&[0, 4], -1, Some(&[11, 15])),
        (&[0, 127], 0, Some(&[0, 127])),
        // From the lowest key to the highest one there is no other place.
        (&[0, 127], 1, None),
        (&[3, 127], 6, None),
        (&[], 1, None),
    ] {
        let moved = pin::transposed(&keys(before), half_steps, &REGISTER);
        assert_eq!(moved, after.map(keys), "{before:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Every octave is tried by hand: none within MIDI leaves less outside of the register, and of
    /// those that leave as little none lies nearer to what was asked for.
    #[test]
    fn no_octave_is_better(
        keys in btree_set(0..=127_i32, 1..=8),
        half_steps in -11..=11_i8,
        lowest in 36..=60_i32,
        width in 19..=48_i32,
    ) {
        let register = Register::new(MidiNote::clamp(lowest), MidiNote::clamp(lowest + width));
        let notes: Vec<MidiNote> = keys.iter().map(|key| MidiNote::clamp(*key)).collect();
        let (low, high) = (*keys.first().unwrap(), *keys.last().unwrap());
        let (from, top) = (register.lowest.semitones(), register.highest.semitones());
        let outside = |by: i32| (from - low - by).max(0) + (high + by - top).max(0);
        let fits = |by: i32| low + by >= 0 && high + by <= 127;
        let by = i32::from(half_steps);
        let found = pin::transposed(&notes, half_steps, &register);
        let octaves = (-11..=11).map(|octave| by + 12 * octave).filter(|by| fits(*by));
        let Some(found) = found else {
            prop_assert_eq!(octaves.count(), 0);
            return Ok(());
        };
        let took = found[0].semitones() - low;
        prop_assert_eq!((took - by) % 12, 0);
        prop_assert_eq!(&found, &moved(&notes, took));
        for other in octaves {
            let nearer = (other - by).abs() < (took - by).abs();
            if outside(0) > 0 {
                prop_assert!(!nearer);
            } else {
                prop_assert!(outside(took) <= outside(other));
                prop_assert!(!nearer || outside(other) > outside(took));
            }
        }
    }
}
