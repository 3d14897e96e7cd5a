//! How far the voices move through stock forms in all twelve keys, and how long they
//! stay beyond the register's edges.

use guidehand_theory::candidates::{Edges, Register};
use guidehand_theory::chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::cost::Weights;
use guidehand_theory::key;
use guidehand_theory::plan::{Ends, Setting, Voiced};
use guidehand_theory::shape::Texture;
use guidehand_theory::tension::{self, Choices, TensionRequests};
use std::fmt;

/// A form in one key.
type Song = Vec<(Chord, Choices)>;

/// The forms by name, each in twelve keys.
fn forms() -> Vec<(&'static str, Vec<Song>)> {
    let lines = include_str!("data/forms-in-motion.txt").lines();
    lines
        .filter(|line| !line.starts_with('#'))
        .map(|line| {
            let (name, bars) = line.split_once(':').unwrap();
            let chart = chart::parse(bars).unwrap();
            let chords: Vec<Chord> = chart.changes.iter().filter_map(|c| c.chord).collect();
            (name, (-6..=5).map(|f| in_key(&chords, f)).collect())
        })
        .collect()
}

fn in_key(chords: &[Chord], fifths: i8) -> Song {
    let chords: Vec<Option<Chord>> = (chords.iter())
        .map(|c| Some(c.transposed(fifths)))
        .collect();
    let functions = key::analyse(&chords, None);
    let pairs = chords.iter().flatten().zip(functions.iter().flatten());
    pairs
        .map(|(c, f)| (*c, tension::resolve(c, f, TensionRequests::default())))
        .collect()
}

/// What is measured over all forms and keys.
#[derive(Default)]
struct Figures {
    /// Semitones moved, change by change around the form.
    moves: Vec<u32>,
    /// The mean motion of the worst key divided by that of the best one, in the form
    /// where the ratio is largest.
    worst_by_best: f64,
    /// Voicings with a note beyond an edge, or their lowest one above its room.
    outside: usize,
    /// The most of them in a row.
    longest: usize,
}

fn share(part: usize, whole: usize) -> f64 {
    let count = |n| f64::from(u32::try_from(n).unwrap());
    count(part) / count(whole)
}

fn mean(moves: &[u32]) -> f64 {
    let sum: u32 = moves.iter().sum();
    f64::from(sum) / f64::from(u32::try_from(moves.len()).unwrap())
}

impl Figures {
    fn mean(&self) -> f64 {
        mean(&self.moves)
    }

    fn leaps(&self) -> f64 {
        let leaps = self.moves.iter().filter(|m| **m > 10).count();
        share(leaps, self.moves.len())
    }

    fn outside(&self) -> f64 {
        share(self.outside, self.moves.len())
    }
}

impl fmt::Display for Figures {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{:.3} semitones a change, {:.1} % over ten, worst key by best {:.2}, outside {:.1} %, \
             at most {} in a row",
            self.mean(),
            100. * self.leaps(),
            self.worst_by_best,
            100. * self.outside(),
            self.longest
        )
    }
}

fn measure(setting: &Setting, way: fn(&Setting, &Song) -> Vec<Voiced>) -> Figures {
    let mut figures = Figures::default();
    let register = setting.register;
    let (bottom, highest_start, top) = register.edges_for(setting.texture);
    for (_, songs) in forms() {
        let mut means = Vec::new();
        for song in songs {
            let path = way(setting, &song);
            let next = path.iter().cycle().skip(1);
            let moves = path.iter().zip(next);
            let moves: Vec<u32> = moves.map(|(a, b)| a.voicing.motion(&b.voicing)).collect();
            means.push(mean(&moves));
            figures.moves.extend(moves);
            let mut row = 0;
            for v in path {
                let lowest = v.voicing.lowest().unwrap().semitones();
                let low = !(bottom..=highest_start).contains(&lowest);
                let out = low || v.voicing.highest().unwrap().semitones() > top;
                row = if out { row + 1 } else { 0 };
                figures.outside += usize::from(out);
                figures.longest = figures.longest.max(row);
            }
        }
        let best = means.iter().copied().fold(f64::MAX, f64::min);
        let worst = means.iter().copied().fold(0., f64::max);
        figures.worst_by_best = figures.worst_by_best.max(worst / best);
    }
    figures
}

fn planned(setting: &Setting, song: &Song) -> Vec<Voiced> {
    setting.plan(song, Ends::Cyclic)
}

/// Chord by chord, as played live; the second time through.
fn stepped(setting: &Setting, song: &Song) -> Vec<Voiced> {
    let mut steps: Vec<Voiced> = Vec::new();
    for (chord, choices) in song.iter().cycle().take(2 * song.len()) {
        let before = steps.last().map(|v| v.voicing);
        steps.push(setting.step(before.as_ref(), chord, choices));
    }
    steps.split_off(song.len())
}

fn setting(texture: Texture) -> Setting {
    Setting {
        texture,
        register: Register::DEFAULT,
        weights: Weights::DEFAULT,
    }
}

/// Few changes leap, no key of a form is much worse than another, and motion is little
/// more than the least possible, which has no edges, forms or preferences.
#[test]
fn voices_move_little_in_every_key() {
    let soft = setting(Texture::FourNotes);
    let hard = Setting {
        register: Register {
            edges: Edges::Hard,
            ..soft.register
        },
        ..soft
    };
    let least = Setting {
        weights: Weights::MOTION_ONLY,
        ..soft
    };
    let (soft, hard) = (measure(&soft, planned), measure(&hard, planned));
    let (live, least) = (
        measure(&setting(Texture::FourNotes), stepped),
        measure(&least, planned),
    );
    println!("planned:     {soft}\nhard edges:  {hard}\nlive:        {live}\nleast:       {least}");
    assert!(soft.leaps() < 0.08, "{soft}");
    assert!(soft.worst_by_best < 1.3, "{soft}");
    assert!(soft.mean() < 1.03 * least.mean(), "{soft}, least {least}");
    assert!(soft.mean() < 0.95 * hard.mean(), "{soft}, hard {hard}");
    assert!(live.mean() < 1.1 * soft.mean(), "{live}");
}

/// The edges have an effect: few voicings lie beyond them, and not for long.
#[test]
fn voices_return_into_the_register() {
    for texture in Texture::ALL {
        let figures = measure(&setting(texture), planned);
        println!("{:16} {figures}", texture.name());
        assert!(figures.outside() < 0.15, "{texture:?} {figures}");
        assert!(figures.longest <= 8, "{texture:?} {figures}");
    }
    let four = measure(&setting(Texture::FourNotes), planned);
    assert!(four.outside() < 0.1 && four.longest <= 6, "{four}");
}
