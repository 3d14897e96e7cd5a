//! The annotated corpus in `tests/data/harmony`, and its tunes in other keys. The test
//! and the benchmark of the analysis of harmony use it; the head of `training.txt`
//! describes the format.

use guidehand_theory::chart::{self, Change, Chart};
use guidehand_theory::chord::Chord;
use guidehand_theory::degree::{Degree, DegreeSet};
use guidehand_theory::key::Key;
use guidehand_theory::pitch::NoteName;
use guidehand_theory::symbol::{Sign, Symbol};
use std::fmt;

/// A key as the corpus writes it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyName {
    /// The tonic.
    pub tonic: NoteName,
    /// `major`, `minor` or `blues`.
    pub mode: String,
}

impl KeyName {
    fn read(text: &str) -> KeyName {
        let (tonic, mode) = text.split_once(' ').unwrap_or((text, ""));
        let read = NoteName::read(tonic).filter(|(_, rest)| rest.is_empty());
        assert!(
            read.is_some() && ["major", "minor", "blues"].contains(&mode),
            "no key: {text}"
        );
        KeyName {
            tonic: read.unwrap().0,
            mode: mode.to_owned(),
        }
    }

    fn moved(&self, fifths: i8) -> KeyName {
        KeyName {
            tonic: everyday(self.tonic.along_fifths(fifths)),
            mode: self.mode.clone(),
        }
    }

    /// The program's key.
    pub fn of(key: Key) -> KeyName {
        KeyName::read(&key.to_string())
    }

    /// Whether it is this key, whichever way its tonic is spelled.
    pub fn is(&self, key: Key) -> bool {
        self.is_named(&key.to_string())
    }

    /// Whether it is the key of this name, whichever way the tonic is spelled.
    pub fn is_named(&self, key: &str) -> bool {
        let key = KeyName::read(key);
        key.tonic.class() == self.tonic.class() && key.mode == self.mode
    }
}

impl fmt::Display for KeyName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.tonic, self.mode)
    }
}

/// What a chord may be: its function in a key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hearing {
    /// The function, in the words of the corpus.
    pub function: String,
    /// The key that it counts from.
    pub key: KeyName,
}

/// A chord of a chart, annotated.
#[derive(Clone, Debug)]
pub struct AnnotatedChord {
    /// The bar as written, from 1.
    pub bar: usize,
    /// The symbol as written.
    pub symbol: String,
    /// What it may be.
    pub hearings: Vec<Hearing>,
    /// The tensions that may come first.
    pub tensions: Vec<DegreeSet>,
    /// The scales that may come first.
    pub scales: Vec<String>,
}

/// Which part of the corpus a tune belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CorpusPart {
    /// Weights may be set by it.
    Training,
    /// No weight may be set by it.
    Judging,
    /// Written after the weights were first set, and blind then. Its misses have been
    /// mended since.
    Fresh,
    /// Written after that, and measured when nothing more was set.
    Blind,
}

/// A chart with a row for each of its chords.
#[derive(Clone, Debug)]
pub struct Tune {
    /// Which part it stands in.
    pub part: CorpusPart,
    /// What form it is.
    pub name: String,
    /// The text of the chart.
    pub text: String,
    /// The chords in the order of the text.
    pub rows: Vec<AnnotatedChord>,
}

/// The whole corpus.
pub fn tunes() -> Vec<Tune> {
    let training = include_str!("../data/harmony/training.txt");
    let judging = include_str!("../data/harmony/judging.txt");
    let fresh = include_str!("../data/harmony/fresh.txt");
    let blind = include_str!("../data/harmony/blind.txt");
    let mut tunes = read(training, CorpusPart::Training);
    tunes.extend(read(judging, CorpusPart::Judging));
    tunes.extend(read(fresh, CorpusPart::Fresh));
    tunes.extend(read(blind, CorpusPart::Blind));
    tunes
}

fn read(file: &str, part: CorpusPart) -> Vec<Tune> {
    let mut tunes: Vec<Tune> = Vec::new();
    let mut keys: Vec<KeyName> = Vec::new();
    for line in file
        .lines()
        .filter(|l| !l.is_empty() && !l.starts_with('#'))
    {
        if let Some(name) = line.strip_prefix("== ") {
            tunes.push(Tune {
                part,
                name: name.to_owned(),
                text: String::new(),
                rows: Vec::new(),
            });
            keys.clear();
            continue;
        }
        let tune = tunes.last_mut().expect("a name before the first chart");
        if let Some(key) = line.strip_prefix("key ") {
            keys = key.split(" | ").map(KeyName::read).collect();
        } else if keys.is_empty() {
            tune.text += line;
            tune.text.push('\n');
        } else {
            tune.rows.push(row(line, &keys));
        }
    }
    for tune in &tunes {
        tune.check();
    }
    tunes
}

fn row(line: &str, keys: &[KeyName]) -> AnnotatedChord {
    let mut columns = line.split("  ").map(str::trim).filter(|c| !c.is_empty());
    let mut next = || {
        columns
            .next()
            .unwrap_or_else(|| panic!("too short: {line}"))
    };
    let row = AnnotatedChord {
        bar: next().parse().expect("a bar"),
        symbol: next().to_owned(),
        hearings: next()
            .split(" | ")
            .flat_map(|t| hearings(t, keys))
            .collect(),
        tensions: next().split(" | ").map(degrees).collect(),
        scales: next().split(" | ").map(str::to_owned).collect(),
    };
    assert_eq!(columns.next(), None, "too long: {line}");
    row
}

fn hearings(text: &str, keys: &[KeyName]) -> Vec<Hearing> {
    let (function, keys) = match text.split_once(" in ") {
        Some((function, key)) => (function, vec![KeyName::read(key)]),
        None => (text, keys.to_vec()),
    };
    let hearing = |key| Hearing {
        function: function.to_owned(),
        key,
    };
    keys.into_iter().map(hearing).collect()
}

fn degrees(text: &str) -> DegreeSet {
    let names = text.split(' ').filter(|name| *name != "-");
    let degree = |name| Degree::from_name(name).unwrap_or_else(|| panic!("no degree: {name}"));
    names.map(degree).collect()
}

impl Tune {
    /// The chart.
    pub fn chart(&self) -> Chart {
        chart::parse(&self.text).unwrap_or_else(|e| panic!("{}: {e:?}", self.name))
    }

    /// The key of the first chord.
    pub fn key(&self) -> &KeyName {
        &self.rows[0].hearings[0].key
    }

    /// Whether it is a blues.
    pub fn is_blues(&self) -> bool {
        self.name.to_lowercase().contains("blues") || self.key().mode == "blues"
    }

    /// Where the text has its chords: starts in bytes, in the order of the text.
    fn places(chart: &Chart) -> Vec<usize> {
        let mut places: Vec<usize> = chart.changes.iter().map(|c| c.source.start).collect();
        places.sort_unstable();
        places.dedup();
        places
    }

    /// For each change of the chart, as played, the index of its row.
    pub fn rows_played(&self, chart: &Chart) -> Vec<usize> {
        let places = Tune::places(chart);
        assert_eq!(places.len(), self.rows.len(), "{}", self.name);
        let place = |change: &Change| places.binary_search(&change.source.start);
        let rows = chart.changes.iter().map(|change| place(change).unwrap());
        rows.collect()
    }

    /// Every chord of the text has its row, in its bar.
    fn check(&self) {
        let chart = self.chart();
        let mut seen = vec![false; self.rows.len()];
        for (change, index) in chart.changes.iter().zip(self.rows_played(&chart)) {
            let row = &self.rows[index];
            let at = format!("{}, bar {}: {}", self.name, row.bar, row.symbol);
            assert_eq!(self.text[change.source.clone()], row.symbol, "{at}");
            // A `%` strikes the chords of another bar again.
            if !seen[index] {
                assert_eq!(chart.bars[change.bar].written + 1, row.bar, "{at}");
            }
            seen[index] = true;
        }
    }

    /// The tune in all twelve keys, as written first, then rising by half steps. Roots
    /// are spelled as players write them.
    pub fn in_all_keys(&self) -> Vec<Tune> {
        (0..12).map(|up| self.moved(fifths_up(up))).collect()
    }

    fn moved(&self, fifths: i8) -> Tune {
        if fifths == 0 {
            return self.clone();
        }
        // The nearer way round the circle, so that the tonic has an everyday name.
        let tonic = self.key().tonic.fifths();
        let minor = if self.key().mode == "minor" { 3 } else { 0 };
        let fifths = match tonic + fifths - minor {
            signature if signature > 6 => fifths - 12,
            signature if signature < -6 => fifths + 12,
            _ => fifths,
        };
        let chart = self.chart();
        let mut sources: Vec<_> = chart
            .changes
            .iter()
            .map(|c| (c.source.clone(), c.chord))
            .collect();
        sources.sort_by_key(|(source, _)| source.start);
        sources.dedup();
        let mut tune = self.clone();
        for ((source, chord), row) in sources.iter().zip(&mut tune.rows).rev() {
            let chord = spelled(chord.expect("no silence in the corpus"), fifths);
            row.symbol = Symbol(&chord, Sign::Ascii).to_string();
            tune.text.replace_range(source.clone(), &row.symbol);
            for hearing in &mut row.hearings {
                hearing.key = hearing.key.moved(fifths);
            }
        }
        tune.check();
        tune
    }
}

/// Fifths for so many half steps up, -5 to 6.
fn fifths_up(half_steps: i8) -> i8 {
    (half_steps * 7 + 5).rem_euclid(12) - 5
}

/// The chord so many fifths along, without double flats or sharps.
fn spelled(chord: Chord, fifths: i8) -> Chord {
    let root = chord.root.along_fifths(fifths);
    let around = everyday(root).fifths() - root.fifths();
    chord.transposed(fifths + around)
}

/// From Fb to A#: no double flats and no double sharps.
fn everyday(name: NoteName) -> NoteName {
    match name.fifths() {
        fifths if fifths < -8 => NoteName::from_fifths(fifths + 12),
        fifths if fifths > 10 => NoteName::from_fifths(fifths - 12),
        _ => name,
    }
}
