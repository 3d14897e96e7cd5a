//! Bass lines and charts from seeds, on which the ear and the root decider are measured. Common
//! practice, no published source.

use fastrand::Rng;

/// How a bar is filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feel {
    /// A note on every beat.
    Walking,
    /// Two notes a bar, now and then with a pickup.
    Two,
}

/// What charts are made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Material {
    /// Chords of a major key.
    Own,
    /// Chords of a major key with dominants and minor chords from outside it.
    Borrowed,
}

/// One bar's chord, as pitch classes.
#[derive(Clone, Copy, Debug)]
pub struct BassBar {
    /// The root's pitch class, 0 to 11.
    pub root: u8,
    /// Semitones from the root to the third, the fifth and the seventh.
    pub tones: [u8; 3],
}

/// One note of a line.
#[derive(Clone, Copy, Debug)]
pub struct BassNote {
    /// MIDI number.
    pub number: u8,
    /// Where it starts, in beats from the first bar.
    pub start_beats: f64,
    /// Where it is released, in beats.
    pub end_beats: f64,
    /// MIDI velocity.
    pub velocity: u8,
}

/// A line and the chart under it, four beats a bar.
#[derive(Clone, Debug)]
pub struct BassLine {
    /// The chords, one a bar.
    pub chart: Vec<BassBar>,
    /// The notes in order.
    pub notes: Vec<BassNote>,
    /// The key's pitch class; the key is major.
    pub key: u8,
    /// Quarter notes a minute.
    pub tempo_bpm: f64,
}

/// The lowest and the highest note of a line.
#[derive(Clone, Copy, Debug)]
pub struct Compass {
    /// MIDI number.
    pub lowest: u8,
    /// MIDI number.
    pub highest: u8,
}

/// A four-string bass in its working range.
pub const FOUR_STRINGS: Compass = Compass {
    lowest: 28,
    highest: 52,
};
/// A five-string bass, with a lower string.
pub const FIVE_STRINGS: Compass = Compass {
    lowest: 23,
    highest: 45,
};
/// The high end of the ear's range.
pub const HIGH: Compass = Compass {
    lowest: 40,
    highest: 67,
};

const MAJOR: [u8; 3] = [4, 7, 11];
const MINOR: [u8; 3] = [3, 7, 10];
const DOMINANT: [u8; 3] = [4, 7, 10];
const HALF_DIMINISHED: [u8; 3] = [3, 6, 10];

/// Progressions, a bar for each degree of a major key.
const RUNS: [&[(u8, [u8; 3])]; 6] = [
    &[(2, MINOR), (7, DOMINANT), (0, MAJOR), (0, MAJOR)],
    &[(0, MAJOR), (9, DOMINANT), (2, MINOR), (7, DOMINANT)],
    &[(4, MINOR), (9, DOMINANT), (2, MINOR), (7, DOMINANT)],
    &[(11, HALF_DIMINISHED), (4, DOMINANT), (9, MINOR), (9, MINOR)],
    &[(5, MAJOR), (5, MINOR), (4, MINOR), (9, DOMINANT)],
    &[(0, MAJOR), (5, DOMINANT), (0, MAJOR), (7, DOMINANT)],
];

/// Progressions of the key's own chords.
const OWN_RUNS: [&[(u8, [u8; 3])]; 5] = [
    &[(2, MINOR), (7, DOMINANT), (0, MAJOR), (0, MAJOR)],
    &[(0, MAJOR), (9, MINOR), (2, MINOR), (7, DOMINANT)],
    &[(4, MINOR), (9, MINOR), (2, MINOR), (7, DOMINANT)],
    &[(0, MAJOR), (5, MAJOR), (4, MINOR), (9, MINOR)],
    &[(5, MAJOR), (11, HALF_DIMINISHED), (4, MINOR), (9, MINOR)],
];

impl BassLine {
    /// The line of a seed; its chords may be borrowed.
    pub fn new(seed: u64, feel: Feel, compass: Compass, tempo_bpm: f64, bars: usize) -> BassLine {
        BassLine::of(seed, Material::Borrowed, feel, compass, tempo_bpm, bars)
    }

    /// The line of a seed.
    pub fn of(
        seed: u64,
        material: Material,
        feel: Feel,
        compass: Compass,
        tempo_bpm: f64,
        bars: usize,
    ) -> BassLine {
        let runs: &[&[(u8, [u8; 3])]] = match material {
            Material::Own => &OWN_RUNS,
            Material::Borrowed => &RUNS,
        };
        let mut rng = Rng::with_seed(seed);
        let key = rng.u8(0..12);
        let mut chart = Vec::new();
        while chart.len() < bars {
            let run = runs[rng.usize(..runs.len())];
            chart.extend(run.iter().map(|(degree, tones)| BassBar {
                root: (key + degree) % 12,
                tones: *tones,
            }));
        }
        chart.truncate(bars);
        let mut line = BassLine {
            chart,
            notes: Vec::new(),
            key,
            tempo_bpm,
        };
        let mut writer = Writer {
            rng,
            compass,
            last: (compass.lowest + compass.highest) / 2,
        };
        for bar in 0..bars {
            let here = line.chart[bar];
            let next = line.chart[(bar + 1) % bars];
            match feel {
                Feel::Walking => writer.walk(bar, here, next, &mut line.notes),
                Feel::Two => writer.two(bar, here, next, &mut line.notes),
            }
        }
        line
    }

    /// The length of a beat in seconds.
    pub fn beat_seconds(&self) -> f64 {
        60.0 / self.tempo_bpm
    }

    /// The time of `beats` in seconds, after a second of rest before the line.
    pub fn seconds(&self, beats: f64) -> f64 {
        1.0 + beats * self.beat_seconds()
    }
}

struct Writer {
    rng: Rng,
    compass: Compass,
    last: u8,
}

impl Writer {
    /// A note of a class: mostly the nearest to the last note, sometimes a leap.
    fn near(&mut self, class: u8) -> u8 {
        let fits = |n: &u8| n % 12 == class % 12;
        let mut all: Vec<u8> = (self.compass.lowest..=self.compass.highest)
            .filter(fits)
            .collect();
        all.sort_by_key(|n| n.abs_diff(self.last));
        let leap = all.len() > 1 && self.rng.f64() < 0.15;
        all[usize::from(leap)]
    }

    /// A note that leads to the next root: a semitone or a tone away on either side, or its fifth.
    fn approach(&mut self, next: BassBar) -> u8 {
        let step = [11, 1, 11, 2, 10, 7][self.rng.usize(..6)];
        (next.root + step) % 12
    }

    /// A tone of the chord other than the root, or a step between two of them.
    fn inner(&mut self, bar: BassBar) -> u8 {
        let passing = self.rng.f64() < 0.3;
        let interval = if passing {
            [2, 9, 5][self.rng.usize(..3)]
        } else {
            bar.tones[self.rng.usize(..3)]
        };
        (bar.root + interval) % 12
    }

    fn play(&mut self, class: u8, start_beats: f64, length_beats: f64, notes: &mut Vec<BassNote>) {
        let mut number = self.near(class);
        if number == self.last && self.rng.f64() < 0.7 {
            let other = if number >= self.compass.lowest + 12 {
                number - 12
            } else {
                number + 12
            };
            number = other;
        }
        self.last = number;
        let held = 0.86 + 0.13 * self.rng.f64();
        notes.push(BassNote {
            number,
            start_beats,
            end_beats: start_beats + length_beats * held,
            velocity: self.rng.u8(70..=112),
        });
    }

    fn walk(&mut self, bar: usize, here: BassBar, next: BassBar, notes: &mut Vec<BassNote>) {
        let start = start_of(bar);
        let first = if self.rng.f64() < 0.9 {
            here.root
        } else {
            (here.root + here.tones[self.rng.usize(..2)]) % 12
        };
        let second = self.inner(here);
        let third = if self.rng.f64() < 0.6 {
            (here.root + here.tones[self.rng.usize(..3)]) % 12
        } else {
            self.inner(here)
        };
        let fourth = self.approach(next);
        for (beat, class) in [first, second, third, fourth].into_iter().enumerate() {
            let beat = f64::from(u8::try_from(beat).expect("four beats"));
            self.play(class, start + beat, 1.0, notes);
        }
    }

    fn two(&mut self, bar: usize, here: BassBar, next: BassBar, notes: &mut Vec<BassNote>) {
        let start = start_of(bar);
        let fifth = (here.root + here.tones[1]) % 12;
        let pickup = self.rng.f64() < 0.25;
        self.play(here.root, start, 2.0, notes);
        self.play(fifth, start + 2.0, if pickup { 1.0 } else { 2.0 }, notes);
        if pickup {
            let class = self.approach(next);
            self.play(class, start + 3.0, 1.0, notes);
        }
    }
}

fn start_of(bar: usize) -> f64 {
    4.0 * f64::from(u32::try_from(bar).expect("a short chart"))
}
