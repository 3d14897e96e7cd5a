//! How far the hand moves through the corpus: the planner beside the greedy step and the
//! unconstrained optimum, and what was recorded of another state of the project.

use super::corpus::Tune;
use guidehand_theory::candidates::Register;
use guidehand_theory::chart::Chart;
use guidehand_theory::cost::Weights;
use guidehand_theory::pipeline::{self, ChordInKey, Taste};
use guidehand_theory::pitch::MidiNote;
use guidehand_theory::plan::{Ends, Setting};
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{self, TensionRequests};
use guidehand_theory::voicing::Voicing;
use std::fmt::Write;

/// A change that moves more semitones than this, all voices together, is a leap.
pub const LEAP: u32 = 10;

/// What leads from chord to chord. All have four notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum VoiceLeading {
    /// The planned chart, as it sounds when it repeats.
    Planner,
    /// Chord by chord, the cheapest next voicing.
    Greedy,
    /// The fewest semitones that the same shapes and tensions allow anywhere between C1
    /// and C8: nothing but motion has a price.
    Unconstrained,
}

/// A tune's motion in one key.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Motion {
    /// Semitones over all changes, all voices together.
    pub semitones: u32,
    /// Changes that are leaps.
    pub leaps: u32,
}

/// A tune's motion in twelve keys, as written first and then rising by half steps.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The tune.
    pub name: String,
    /// Changes in it, as played, and the one back to the start.
    pub changes: u32,
    /// One for each key.
    pub keys: Vec<Motion>,
}

/// The motion of every tune in every key.
pub fn lines(tunes: &[Tune], way: VoiceLeading) -> Vec<Line> {
    let line = |tune: &Tune| {
        let in_keys: Vec<Vec<u32>> = tune
            .in_all_keys()
            .iter()
            .map(|moved| moves(&moved.chart(), way))
            .collect();
        Line {
            name: tune.name.clone(),
            changes: count(in_keys[0].len()),
            keys: in_keys.iter().map(|moves| Motion::of(moves)).collect(),
        }
    };
    tunes.iter().map(line).collect()
}

fn count(length: usize) -> u32 {
    u32::try_from(length).expect("few")
}

impl Motion {
    fn of(moves: &[u32]) -> Motion {
        Motion {
            semitones: moves.iter().sum(),
            leaps: count(moves.iter().filter(|m| **m > LEAP).count()),
        }
    }
}

/// The semitones of each change, the last one back to the first chord of the repeat.
fn moves(chart: &Chart, way: VoiceLeading) -> Vec<u32> {
    let placed = pipeline::place(chart, None);
    let voicings: Vec<Voicing> = match way {
        VoiceLeading::Planner => {
            pipeline::plan(&placed, Texture::FourNotes, Register::DEFAULT, Ends::Cyclic)
                .into_iter()
                .flatten()
                .map(|voiced| voiced.voicing)
                .collect()
        }
        VoiceLeading::Greedy => greedy(&placed),
        VoiceLeading::Unconstrained => unconstrained(&placed),
    };
    let next = voicings.iter().cycle().skip(1);
    let moves = voicings.iter().zip(next).map(|(from, to)| from.motion(to));
    // A chart of one chord repeats it without a change.
    moves.skip(usize::from(voicings.len() == 1)).collect()
}

fn greedy(placed: &[Option<ChordInKey>]) -> Vec<Voicing> {
    let mut voicings: Vec<Voicing> = Vec::new();
    for placed in placed.iter().flatten() {
        let voiced = pipeline::step(voicings.last(), placed, &Taste::default());
        voicings.push(voiced.voicing);
    }
    voicings
}

fn unconstrained(placed: &[Option<ChordInKey>]) -> Vec<Voicing> {
    let (lowest, highest) = (MidiNote::clamp(24), MidiNote::clamp(108));
    let mut register = Register::new(lowest, highest);
    register.room = highest.number() - lowest.number();
    let setting = Setting {
        texture: Texture::FourNotes,
        register,
        weights: Weights::MOTION_ONLY,
    };
    let choices =
        |p: &ChordInKey| tension::resolve(&p.chord, &p.function, TensionRequests::default());
    let placed = placed.iter().flatten();
    let chords: Vec<_> = placed.map(|p| (p.chord, choices(p))).collect();
    let path = setting.plan(&chords, Ends::Cyclic);
    path.into_iter().map(|voiced| voiced.voicing).collect()
}

/// The totals of the lines.
#[derive(Clone, Debug, PartialEq)]
pub struct Figures {
    /// Changes, over all tunes and keys.
    pub changes: u32,
    /// Mean semitones a change.
    pub mean: f64,
    /// The share of leaps, in percent.
    pub leaps: f64,
    /// For each tune the worst key's motion over the best key's, the largest first.
    pub ratios: Vec<(f64, String)>,
}

impl Figures {
    /// Adds the lines up.
    pub fn of(lines: &[Line]) -> Figures {
        let keys = |line: &Line| count(line.keys.len());
        let changes: u32 = lines.iter().map(|line| line.changes * keys(line)).sum();
        let motions = || lines.iter().flat_map(|line| &line.keys);
        let per_change = |sum: u32| f64::from(sum) / f64::from(changes);
        let mut ratios: Vec<(f64, String)> = lines.iter().map(Line::ratio).collect();
        ratios.sort_by(|a, b| b.0.total_cmp(&a.0));
        Figures {
            changes,
            mean: per_change(motions().map(|m| m.semitones).sum()),
            leaps: 100.0 * per_change(motions().map(|m| m.leaps).sum()),
            ratios,
        }
    }

    /// Tunes whose worst key moves more than so many times their best one.
    pub fn uneven(&self, most: f64) -> usize {
        self.ratios.iter().filter(|(r, _)| *r > most).count()
    }
}

impl Line {
    /// The worst key's motion over the best key's; 1 where nothing moves in any key.
    fn ratio(&self) -> (f64, String) {
        let sums = || self.keys.iter().map(|m| m.semitones);
        let (best, worst) = (sums().min().unwrap_or(0), sums().max().unwrap_or(0));
        let ratio = if worst == best {
            1.0
        } else {
            f64::from(worst) / f64::from(best)
        };
        (ratio, self.name.clone())
    }

    /// The line as a row of a record.
    fn row(&self) -> String {
        let mut row = format!("{} | {}", self.name, self.changes);
        for motion in &self.keys {
            write!(row, " | {} {}", motion.semitones, motion.leaps).expect("a string");
        }
        row
    }
}

/// A record of lines, as text.
pub fn record(lines: &[Line]) -> String {
    lines.iter().map(|line| line.row() + "\n").collect()
}

/// Reads a record, and holds it against the tunes of today: a record of other charts
/// compares with nothing.
///
/// # Errors
/// Says which tune differs.
pub fn recorded(text: &str, today: &[Line]) -> Result<Vec<Line>, String> {
    let rows = text
        .lines()
        .filter(|l| !l.is_empty() && !l.starts_with('#'));
    let lines: Vec<Line> = rows
        .map(|row| {
            let mut columns = row.split(" | ");
            let mut next = || columns.next().unwrap_or_default().to_owned();
            let (name, changes) = (next(), next().parse().unwrap_or(0));
            let motion = |column: &str| {
                let (semitones, leaps) = column.split_once(' ').unwrap_or_default();
                Motion {
                    semitones: semitones.parse().expect("semitones"),
                    leaps: leaps.parse().expect("leaps"),
                }
            };
            let keys = columns.map(motion).collect();
            Line {
                name,
                changes,
                keys,
            }
        })
        .collect();
    let of = |line: &Line| (line.name.clone(), line.changes, line.keys.len());
    for (old, new) in lines.iter().zip(today) {
        if of(old) != of(new) {
            return Err(format!(
                "the record has {:?}, the corpus {:?}",
                of(old),
                of(new)
            ));
        }
    }
    if lines.len() != today.len() {
        return Err(format!("the record has {} tunes", lines.len()));
    }
    Ok(lines)
}
