//! How far the voices move through stock forms in all keys.

use guidehand_theory::candidates::Register;
use guidehand_theory::chart;
use guidehand_theory::chord::Chord;
use guidehand_theory::key;
use guidehand_theory::pipeline::{self, Placed};
use guidehand_theory::plan::{Ends, Voiced};
use guidehand_theory::shape::Texture;

fn forms() -> Vec<(&'static str, Vec<Chord>)> {
    let lines = include_str!("data/forms-in-motion.txt").lines();
    lines
        .filter(|line| !line.starts_with('#'))
        .map(|line| {
            let (name, bars) = line.split_once(':').unwrap();
            let chart = chart::parse(bars).unwrap();
            let chords = chart.changes.iter().filter_map(|c| c.chord).collect();
            (name, chords)
        })
        .collect()
}

fn placed(chords: &[Chord], fifths: i8) -> Vec<Option<Placed>> {
    let chords: Vec<Option<Chord>> = (chords.iter())
        .map(|c| Some(c.transposed(fifths)))
        .collect();
    let functions = key::analyse(&chords, None);
    chords
        .iter()
        .zip(functions)
        .map(|(chord, function)| {
            Some(Placed {
                chord: (*chord)?,
                function: function?,
            })
        })
        .collect()
}

/// Semitones moved at each change, around the form.
fn moves(path: &[Voiced]) -> Vec<u32> {
    let next = path.iter().cycle().skip(1);
    path.iter()
        .zip(next)
        .map(|(a, b)| a.voicing.motion(&b.voicing))
        .collect()
}

#[test]
#[ignore]
fn report() {
    for texture in Texture::ALL {
        report_texture(texture, texture == Texture::FourNotes);
    }
}

fn report_texture(texture: Texture, rows: bool) {
    let (mut all, mut worst_ratio) = (Vec::new(), 0f64);
    let (mut low, mut high, mut count, mut outside) = (127, 0, 0usize, 0usize);
    let mut run = 0usize;
    for (name, chords) in forms() {
        let mut means = Vec::new();
        for fifths in -6..=5 {
            let placed = placed(&chords, fifths);
            let plan = pipeline::plan(&placed, texture, Register::DEFAULT, Ends::Cyclic);
            let plan: Vec<Voiced> = plan.into_iter().flatten().collect();
            let moved = moves(&plan);
            let mut here = 0usize;
            for v in &plan {
                let (l, h) = (
                    v.voicing.lowest().unwrap().number(),
                    v.voicing.highest().unwrap().number(),
                );
                low = low.min(l);
                high = high.max(h);
                count += 1;
                let out = l < 50 || h > 69 + texture.headroom();
                outside += usize::from(out);
                here = if out { here + 1 } else { 0 };
                run = run.max(here);
            }
            means.push(f64::from(moved.iter().sum::<u32>()) / moved.len() as f64);
            all.extend(moved);
        }
        let best = means.iter().copied().fold(f64::MAX, f64::min);
        let worst = means.iter().copied().fold(0., f64::max);
        worst_ratio = worst_ratio.max(worst / best);
        if rows {
            let mean = means.iter().sum::<f64>() / means.len() as f64;
            println!(
                "{name:24} {mean:5.2} best {best:5.2} worst {worst:5.2} ratio {:4.2}",
                worst / best
            );
        }
    }
    let leaps = all.iter().filter(|m| **m > 10).count();
    println!(
        "{:16} mean {:.3} leaps {:.1} % worst ratio {worst_ratio:.2} notes {low}..{high} outside {:.1} % longest run {run}",
        texture.name(),
        f64::from(all.iter().sum::<u32>()) / all.len() as f64,
        100. * leaps as f64 / all.len() as f64,
        100. * outside as f64 / count as f64,
    );
}
