//! Note values, and lengths expressed as note values. Imports the theory's meters.

use guidehand_theory::chart::{Meter, TICKS_PER_QUARTER};

/// A note value, perhaps dotted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Value {
    /// The standard's name: `quarter`.
    pub name: &'static str,
    /// Whether it is dotted.
    pub dotted: bool,
    /// Its length with its dot, in ticks.
    pub ticks: u32,
}

/// A half note, in ticks.
const HALF: u32 = 2 * TICKS_PER_QUARTER;

/// The values without dots, longest first.
const PLAIN: [(&str, u32); 10] = [
    ("breve", 8 * TICKS_PER_QUARTER),
    ("whole", 4 * TICKS_PER_QUARTER),
    ("half", 2 * TICKS_PER_QUARTER),
    ("quarter", TICKS_PER_QUARTER),
    ("eighth", TICKS_PER_QUARTER / 2),
    ("16th", TICKS_PER_QUARTER / 4),
    ("32nd", TICKS_PER_QUARTER / 8),
    ("64th", TICKS_PER_QUARTER / 16),
    ("128th", TICKS_PER_QUARTER / 32),
    ("256th", SHORTEST),
];

/// The shortest value, in ticks. Lengths are multiples of it.
pub const SHORTEST: u32 = TICKS_PER_QUARTER / 64;

/// The longest plain value that divides a length.
pub fn divisor(length: u32) -> Option<u32> {
    PLAIN
        .into_iter()
        .map(|(_, ticks)| ticks)
        .find(|ticks| length.is_multiple_of(*ticks))
}

/// Cuts a length in a bar into note values in the way that readers expect: the middle of the
/// bar and the beats stay visible. Places and lengths are multiples of [`SHORTEST`]. A shorter
/// rest is dropped.
pub fn cut(mut from: u32, to: u32, meter: Meter) -> Vec<Value> {
    let mut values = Vec::new();
    while let Some(value) = longest(from, to, meter) {
        values.push(value);
        from += value.ticks;
    }
    values
}

fn longest(from: u32, to: u32, meter: Meter) -> Option<Value> {
    let room = to.checked_sub(from)?;
    let values = PLAIN.into_iter().flat_map(|(name, ticks)| {
        [(true, ticks / 2 * 3), (false, ticks)].map(|(dotted, ticks)| Value {
            name,
            dotted,
            ticks,
        })
    });
    // The shortest value has no dot, because half of it is no whole tick.
    let mut values = values.filter(|v| v.ticks <= room && (!v.dotted || v.ticks % SHORTEST == 0));
    values.find(|value| stands(from, *value, meter))
}

fn stands(at: u32, value: Value, meter: Meter) -> bool {
    let ticks = value.ticks;
    let plain = if value.dotted { ticks / 3 * 2 } else { ticks };
    let within = |unit: u32| at / unit == (at + ticks - 1) / unit;
    let on_half = at.is_multiple_of((plain / 2).max(SHORTEST));
    if meter.is_compound() {
        let beat = meter.beat_ticks() * 3;
        let whole_beats = at.is_multiple_of(beat) && ticks.is_multiple_of(beat);
        return whole_beats || (within(beat) && on_half);
    }
    if at.is_multiple_of(plain) && !value.dotted {
        return true;
    }
    let splits = meter.bar_ticks().is_multiple_of(4 * TICKS_PER_QUARTER);
    on_half
        && match ticks {
            // Within a beat, or within half a bar if the bar has halves.
            0..TICKS_PER_QUARTER => {
                within(TICKS_PER_QUARTER) || at.is_multiple_of(TICKS_PER_QUARTER)
            }
            TICKS_PER_QUARTER..HALF => !splits || within(HALF),
            _ => at.is_multiple_of(TICKS_PER_QUARTER) && (!splits || at.is_multiple_of(HALF)),
        }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(from: u32, to: u32, meter: (u8, u8)) -> String {
        let meter = Meter::new(meter.0, meter.1).unwrap();
        let values = cut(from, to, meter);
        assert_eq!(values.iter().map(|v| v.ticks).sum::<u32>(), to - from);
        let names = values
            .iter()
            .map(|v| format!("{}{}", v.name, if v.dotted { "." } else { "" }));
        names.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn values_are_what_readers_expect() {
        assert_eq!(names(0, 3840, (4, 4)), "whole");
        assert_eq!(names(0, 2880, (4, 4)), "half.");
        assert_eq!(names(960, 3840, (4, 4)), "quarter half");
        assert_eq!(names(480, 1440, (4, 4)), "quarter");
        assert_eq!(names(1440, 2400, (4, 4)), "eighth eighth");
        assert_eq!(names(480, 1920, (4, 4)), "quarter.");
        assert_eq!(names(1440, 3840, (4, 4)), "eighth half");
        assert_eq!(names(0, 2880, (3, 4)), "half.");
        assert_eq!(names(960, 2880, (3, 4)), "half");
        assert_eq!(names(0, 2880, (6, 8)), "half.");
        assert_eq!(names(1440, 2880, (6, 8)), "quarter.");
        assert_eq!(names(480, 2880, (6, 8)), "quarter quarter.");
        assert_eq!(names(0, 4800, (5, 4)), "whole quarter");
        assert_eq!(names(0, 15 * 7, (4, 4)), "64th. 256th");
    }

    #[test]
    fn every_stretch_is_cut_without_rest() {
        for (beats, unit) in [
            (4, 4),
            (3, 4),
            (5, 4),
            (7, 8),
            (6, 8),
            (12, 8),
            (2, 2),
            (13, 16),
            (16, 2),
        ] {
            let meter = Meter::new(beats, unit).unwrap();
            let steps = meter.bar_ticks() / 60;
            for from in 0..steps {
                for to in from + 1..=steps {
                    let values = cut(from * 60, to * 60, meter);
                    let sum: u32 = values.iter().map(|v| v.ticks).sum();
                    assert_eq!(sum, (to - from) * 60, "{meter} {from} {to}");
                    assert!(values.len() <= 16, "{meter} {from} {to}");
                }
            }
        }
    }
}
