//! Rhythms, the settings around them, and the hits of one bar. Imported by
//! `expected` only.

use guidehand_report::request::Rhythm;
use guidehand_theory::chart::{Chart, Meter, TICKS_PER_QUARTER};

pub(super) const QUARTER: u32 = TICKS_PER_QUARTER;
pub(super) const EIGHTH: u32 = TICKS_PER_QUARTER / 2;

/// The settings that decide what is struck, and when.
#[derive(Clone, Debug, PartialEq)]
pub struct RhythmSettings {
    /// The rhythm.
    pub rhythm: Rhythm,
    /// The place of the off-beat eighth in its beat, 0.5 to 0.75.
    pub swing: f64,
    /// Whether the swing becomes more even as the tempo rises.
    pub swing_follows_tempo: bool,
    /// How long strikes are, 0.25 to 2 of their pattern's length.
    pub length: f64,
    /// How much accents count, 0 to 1.
    pub accents: f64,
    /// The velocity without an accent, 0 to 1.
    pub velocity: f64,
    /// Whether off-beats play the coming chord.
    pub anticipation: bool,
    /// Whether dominants have their inner lines.
    pub inner_lines: bool,
    /// Whether the chart begins again after its end.
    pub repeats: bool,
    /// The bar of the song at which the chart starts, from 1.
    pub from_bar: u32,
    /// Two drawn bars of sixteen eighths each, as they are saved.
    pub drawn: String,
}

/// The saved pattern if nothing has been drawn: the Charleston.
pub const FIRST_DRAWN: &str = "l--s----------------------------";

impl RhythmSettings {
    /// The plugin's defaults in another rhythm.
    #[must_use]
    pub fn new(rhythm: Rhythm) -> Self {
        RhythmSettings {
            rhythm,
            swing: f64::from(2.0_f32 / 3.0),
            swing_follows_tempo: true,
            length: 1.0,
            accents: 0.5,
            velocity: f64::from(0.7_f32),
            anticipation: true,
            inner_lines: false,
            repeats: true,
            from_bar: 1,
            drawn: FIRST_DRAWN.to_owned(),
        }
    }

    /// The off-beat's place at a tempo. Some styles are straight (common practice,
    /// no published source).
    pub(crate) fn ratio(&self, tempo_bpm: f64) -> f64 {
        let straight = [
            Rhythm::Bossa,
            Rhythm::Samba,
            Rhythm::Bolero,
            Rhythm::SixEight,
        ];
        if straight.contains(&self.rhythm) {
            return 0.5;
        }
        let follows = if self.swing_follows_tempo {
            ((340.0 - tempo_bpm) / 120.0).clamp(0.0, 1.0)
        } else {
            1.0
        };
        0.5 + (self.swing - 0.5) * follows
    }

    pub(super) fn velocity_of(&self, accent: i8) -> f64 {
        let accented = self.velocity * (1.0 + 0.12 * f64::from(accent) * self.accents);
        accented.clamp(1.0 / 127.0, 1.0)
    }
}

/// A bar of the performance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct PatternBar {
    /// The number of the bar, from 0, through all repeats.
    pub(super) number: u32,
    pub(super) start: u32,
    pub(super) length: u32,
    pub(super) meter: Meter,
}

impl PatternBar {
    pub(super) fn end(&self) -> u32 {
        self.start + self.length
    }

    /// Where its second half begins, in ticks of the performance, if its beats come in halves.
    pub(super) fn middle(&self) -> Option<u32> {
        let (beats, unit) = (self.meter.beats, self.meter.unit);
        let eighths = match (beats, unit) {
            (4, 4) | (2, 2) => 4,
            (6, 8) => 3,
            // Five beats are three and two.
            (5, 4) | (12, 8) => 6,
            _ => return None,
        };
        Some(self.start + eighths * EIGHTH)
    }

    /// Where a nominal place of this bar sounds with swing.
    pub(super) fn swung(&self, place: f64, ratio: f64) -> f64 {
        let quarter = f64::from(QUARTER);
        let in_beat = (place - f64::from(self.start)).rem_euclid(quarter);
        #[expect(
            clippy::float_cmp,
            reason = "places on the grid of eighths are exact, and only they swing"
        )]
        let off_beat = in_beat == f64::from(EIGHTH);
        if matches!(self.meter.unit, 2 | 4) && off_beat {
            place - in_beat + ratio * quarter
        } else {
            place
        }
    }
}

impl PatternBar {
    /// Where an end that is counted from this bar falls with swing: the halves of each beat are
    /// stretched to meet at the off-beat.
    pub(super) fn stretched(&self, end: f64, ratio: f64) -> f64 {
        if !matches!(self.meter.unit, 2 | 4) {
            return end;
        }
        let quarter = f64::from(QUARTER);
        let beats = (end - f64::from(self.start)) / quarter;
        let (whole, half) = (beats.floor(), beats.fract() * 2.0);
        let moved = if half < 1.0 {
            half * ratio
        } else {
            ratio + (half - 1.0) * (1.0 - ratio)
        };
        f64::from(self.start) + (whole + moved) * quarter
    }
}

/// The bars of a chart, once through.
pub(super) fn bars_of(chart: &Chart) -> Vec<PatternBar> {
    (0..)
        .zip(&chart.bars)
        .map(|(number, bar)| PatternBar {
            number,
            start: bar.start_ticks,
            length: bar.meter.bar_ticks(),
            meter: bar.meter,
        })
        .collect()
}

/// A place in the pattern of a bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct PatternHit {
    pub(super) place: u32,
    /// The part before the chord's own time, in ticks.
    pub(super) ahead: u32,
    /// In ticks after that, before the length setting.
    pub(super) length: u32,
    pub(super) accent: i8,
}

/// The pattern's hits in a bar: eighth, length in eighths, accent.
pub(super) fn hits_of(comping: &RhythmSettings, bar: &PatternBar) -> Vec<PatternHit> {
    let even = bar.number.is_multiple_of(2);
    let pattern: Vec<(u32, u32, i8)> = match comping.rhythm {
        Rhythm::Hold | Rhythm::Push => Vec::new(),
        Rhythm::Charleston => vec![(0, 3, 0), (3, 1, 1)],
        Rhythm::LateCharleston => vec![(1, 2, 1), (4, 3, 0)],
        Rhythm::OffBeats => vec![(3, 1, 1), (7, 1, 1)],
        Rhythm::TwoAndFour => vec![(2, 2, 0), (6, 2, 1)],
        Rhythm::Bossa if even => vec![(0, 2, 0), (3, 2, 1), (6, 1, 0)],
        Rhythm::Bossa => vec![(1, 2, 1), (4, 2, 0), (7, 2, 1)],
        Rhythm::JazzWaltz => vec![(0, 2, 0), (3, 2, 1)],
        Rhythm::ReverseCharleston => vec![(0, 1, 0), (1, 3, 1)],
        Rhythm::FourToTheBar => (0..8)
            .map(|beat| (2 * beat, 2, [0, 1][beat as usize % 2]))
            .collect(),
        Rhythm::Ballad if even => vec![(0, 4, 0), (4, 4, 1)],
        Rhythm::Ballad => vec![(0, 6, 0), (6, 2, -1)],
        Rhythm::TwoBeat => vec![(0, 3, 1), (4, 3, 0)],
        Rhythm::Samba if even => vec![(0, 1, 0), (2, 1, 0), (5, 2, 1), (7, 1, 1)],
        Rhythm::Samba => vec![(1, 1, 1), (3, 1, 1), (6, 2, 0)],
        Rhythm::Bolero => vec![(0, 2, 0), (3, 1, 1), (4, 2, 0), (6, 2, 1)],
        Rhythm::SixEight => [0, 6]
            .into_iter()
            .flat_map(|half| [(half, 2, 0), (half + 2, 1, 0), (half + 3, 3, 1)])
            .collect(),
        Rhythm::FiveFour => vec![(0, 3, 0), (3, 3, 1), (6, 2, 0), (8, 2, 1)],
        Rhythm::GospelWaltz => vec![(0, 2, 0), (2, 2, 1), (4, 1, 0), (5, 1, 1)],
        Rhythm::Drawn => drawn_hits(&comping.drawn, even, bar),
    };
    pattern
        .into_iter()
        .map(|(eighth, length, accent)| PatternHit {
            place: bar.start + eighth * EIGHTH,
            ahead: 0,
            length: length * EIGHTH,
            accent,
        })
        .filter(|hit| hit.place < bar.end())
        .collect()
}

/// The hits of one of the two drawn bars. A long hit lasts until the next cell that is not empty,
/// but at most four eighths.
fn drawn_hits(drawn: &str, even: bool, bar: &PatternBar) -> Vec<(u32, u32, i8)> {
    let cells: Vec<char> = drawn.chars().collect();
    let (first, second) = cells.split_at(16);
    let empty = second.iter().all(|cell| *cell == '-');
    let cells = if even || empty { first } else { second };
    let beat = if matches!(bar.meter.unit, 8 | 16) {
        3
    } else {
        2
    };
    let mut hits = Vec::new();
    for (eighth, cell) in (0..).zip(cells) {
        let later = cells.iter().skip(eighth as usize + 1);
        let gap = (1..).zip(later).find(|(_, cell)| **cell != '-');
        let length = match cell {
            's' => 1,
            'l' => gap.map_or(4, |(eighths, _)| eighths).min(4),
            _ => continue,
        };
        hits.push((eighth, length, i8::from(eighth % beat != 0)));
    }
    hits
}
