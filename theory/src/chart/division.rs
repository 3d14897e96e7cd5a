//! How chords without marks share their bar. Imports `meter`.
//!
//! Common practice, no published source: chords begin on beats. If the beats cannot be shared
//! evenly, the first chords are longer.

use super::Meter;

impl Meter {
    /// Whether its beats group in threes, as in 6/8, 9/8 and 12/8.
    #[must_use]
    pub const fn is_compound(self) -> bool {
        self.unit >= 8 && self.beats > 3 && self.beats.is_multiple_of(3)
    }

    /// The number of beats on which chords without marks may begin. In compound meters these
    /// are dotted beats.
    const fn felt_beats(self) -> u32 {
        if self.is_compound() {
            self.beats as u32 / 3
        } else {
            self.beats as u32
        }
    }

    /// The places where a number of chords without marks begin, in ticks from the start of the
    /// bar.
    ///
    /// Each chord has whole beats, dotted ones in compound meters, and the first chords take
    /// the beats that are left over: 2 + 1 + 1 in 4/4, 2 + 1 in 3/4, 3 + 2 in 5/4, halves in
    /// 6/8 and 12/8. In 2/2 and other meters of halves, more chords than beats take quarters.
    /// If there are more chords than that, they share the bar evenly, rounded down to ticks.
    pub fn shares(self, count: u32) -> impl Iterator<Item = u32> {
        let beats = self.felt_beats();
        let beats = if self.unit == 2 && count > beats {
            beats * 2
        } else {
            beats
        };
        let bar = self.bar_ticks();
        let (whole, over) = (beats / count.max(1), beats % count.max(1));
        (0..count).map(move |nth| {
            if whole == 0 {
                bar * nth / count
            } else {
                bar / beats * (nth * whole + nth.min(over))
            }
        })
    }

    /// The places where a number of chords begin that share a bar evenly, in ticks from the
    /// start of the bar, rounded down.
    pub fn even_shares(self, count: u32) -> impl Iterator<Item = u32> {
        let bar = self.bar_ticks();
        (0..count).map(move |nth| bar * nth / count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The lengths of the shares in a note value: 4 for quarters, 8 for eighths.
    fn lengths(meter: (u8, u8), value: u32, count: u32) -> Vec<u32> {
        let meter = Meter::new(meter.0, meter.1).unwrap();
        let ends = meter.shares(count).skip(1).chain([meter.bar_ticks()]);
        let lengths = meter.shares(count).zip(ends).map(|(from, to)| to - from);
        let ticks = 3840 / value;
        lengths
            .map(|length| {
                assert_eq!(length % ticks, 0, "{meter} {count}");
                length / ticks
            })
            .collect()
    }

    /// Common practice, no published source.
    #[test]
    fn chords_share_a_bar_by_its_beats() {
        for (meter, value, shares) in [
            ((4, 4), 4, &[2, 2][..]),
            ((4, 4), 4, &[2, 1, 1]),
            ((4, 4), 4, &[1, 1, 1, 1]),
            ((3, 4), 4, &[2, 1]),
            ((3, 4), 4, &[1, 1, 1]),
            ((5, 4), 4, &[3, 2]),
            ((5, 4), 4, &[2, 2, 1]),
            ((5, 4), 4, &[2, 1, 1, 1]),
            ((7, 4), 4, &[4, 3]),
            ((6, 4), 4, &[3, 3]),
            ((2, 4), 4, &[1, 1]),
            ((2, 2), 4, &[2, 2]),
            ((2, 2), 4, &[2, 1, 1]),
            ((3, 2), 2, &[2, 1]),
            ((6, 8), 8, &[3, 3]),
            ((6, 8), 8, &[2, 2, 2]),
            ((9, 8), 8, &[6, 3]),
            ((9, 8), 8, &[3, 3, 3]),
            ((12, 8), 8, &[6, 6]),
            ((12, 8), 8, &[6, 3, 3]),
            ((12, 8), 8, &[3, 3, 3, 3]),
            ((3, 8), 8, &[2, 1]),
            ((7, 8), 8, &[4, 3]),
            ((6, 16), 16, &[3, 3]),
        ] {
            let count = u32::try_from(shares.len()).unwrap();
            assert_eq!(lengths(meter, value, count), shares, "{meter:?}");
        }
    }

    /// In every meter and for every number of chords: in order, within the bar, no
    /// share more than a beat longer than another, and none longer than the one
    /// before.
    #[test]
    fn shares_fill_the_bar_the_longer_ones_first() {
        for unit in [2, 4, 8, 16] {
            for beats in 1..=16 {
                let meter = Meter::new(beats, unit).unwrap();
                for count in 1..=16 {
                    let starts: Vec<u32> = meter.shares(count).collect();
                    assert_eq!(starts[0], 0);
                    let ends = starts.iter().skip(1).copied().chain([meter.bar_ticks()]);
                    let lengths: Vec<u32> = starts
                        .iter()
                        .zip(ends)
                        .map(|(from, to)| to - from)
                        .collect();
                    let (most, least) = (lengths[0], lengths.iter().min().unwrap());
                    assert!(*least > 0, "{meter} {count}");
                    let beat = meter.beat_ticks() * if meter.is_compound() { 3 } else { 1 };
                    assert!(most - least <= beat, "{meter} {count}: {lengths:?}");
                    let rounded = lengths.windows(2).all(|pair| pair[1] <= pair[0] + 1);
                    assert!(rounded, "{meter} {count}: {lengths:?}");
                }
            }
        }
    }
}
