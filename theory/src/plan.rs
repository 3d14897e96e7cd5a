//! Voice leading: the cheapest way through a whole chart, and the single step
//! for live playing. Imports `candidates`, `cost` and what is above them.

use crate::candidates::{self, Register};
use crate::chord::Chord;
use crate::cost::{self, Weights};
use crate::shape::Texture;
use crate::tension::{Choices, Tensions};
use crate::voicing::Voicing;

/// A voicing and the tensions it was chosen with.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Voiced {
    /// The notes.
    pub voicing: Voicing,
    /// The tensions, with the reason for them.
    pub tensions: Tensions,
}

/// Whether a chart ends or begins again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ends {
    /// The last chord leads nowhere.
    Open,
    /// The last chord leads to the first.
    Cyclic,
}

/// Where and how voicings lie, and what they cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Setting {
    /// The texture.
    pub texture: Texture,
    /// The register.
    pub register: Register,
    /// The prices.
    pub weights: Weights,
}

impl Setting {
    /// Every voicing of a chord with its own price, in a fixed order.
    pub fn candidates(
        &self,
        chord: &Chord,
        choices: &Choices,
    ) -> impl Iterator<Item = (u32, Voiced)> {
        let (chord, setting) = (*chord, *self);
        choices.iter().copied().flat_map(move |tensions| {
            candidates::of(&chord, &tensions, setting.texture, setting.register).map(
                move |voicing| {
                    let rank = tensions.rank;
                    let cost = cost::alone(&voicing, rank, setting.register, &setting.weights);
                    (cost, Voiced { voicing, tensions })
                },
            )
        })
    }

    /// The cheapest voicing after `before`; of equals, the first; an empty one if
    /// the register is too high for any. No allocation.
    #[must_use]
    pub fn step(&self, before: Option<&Voicing>, chord: &Chord, choices: &Choices) -> Voiced {
        let price = |(alone, voiced): &(u32, Voiced)| {
            let between = before.map_or(0, |b| cost::between(b, &voiced.voicing, &self.weights));
            alone + between
        };
        self.candidates(chord, choices)
            .min_by_key(price)
            .map(|(_, voiced)| voiced)
            .unwrap_or_default()
    }

    /// The voicing nearest to `planned` under this setting: fewest semitones
    /// moved, then the cheapest; an empty one if the register is too high for any.
    /// No allocation.
    #[must_use]
    pub fn nearest(&self, planned: &Voicing, chord: &Chord, choices: &Choices) -> Voiced {
        self.candidates(chord, choices)
            .min_by_key(|(alone, v)| {
                let rank = u32::from(v.tensions.rank);
                let form = u32::from(v.voicing.form != planned.form);
                (rank, planned.motion(&v.voicing), form, *alone)
            })
            .map(|(_, voiced)| voiced)
            .unwrap_or_default()
    }

    /// The cheapest way through all chords (dynamic programming, exact; linear
    /// in the number of chords).
    #[must_use]
    pub fn plan(&self, chords: &[(Chord, Choices)], ends: Ends) -> Vec<Voiced> {
        self.plan_around(chords, ends, &[])
    }

    /// As [`Setting::plan`], around voicings that the player has chosen: each
    /// pin is the index of a chord and what is to sound there.
    #[must_use]
    pub fn plan_around(
        &self,
        chords: &[(Chord, Choices)],
        ends: Ends,
        pins: &[(usize, Voiced)],
    ) -> Vec<Voiced> {
        let columns: Vec<Vec<(u32, Voiced)>> = chords
            .iter()
            .enumerate()
            .map(|(i, (chord, choices))| {
                let pinned = pins.iter().find(|(at, _)| *at == i);
                match pinned {
                    Some((_, voiced)) => vec![(0, *voiced)],
                    None => self.candidates(chord, choices).collect(),
                }
            })
            .collect();
        let Some(first) = columns.first() else {
            return Vec::new();
        };
        let best = match ends {
            Ends::Open => self.best_path(&columns, None),
            Ends::Cyclic => (0..first.len())
                .map(|start| self.best_path(&columns, Some(start)))
                .min_by_key(|(cost, _)| *cost)
                .unwrap_or_default(),
        };
        let path = best.1.into_iter().zip(&columns);
        path.filter_map(|(i, column)| column.get(i).map(|(_, v)| *v))
            .collect()
    }

    /// What a way through a chart costs.
    #[must_use]
    pub fn price(&self, path: &[Voiced], ends: Ends) -> u32 {
        let alone =
            |v: &Voiced| cost::alone(&v.voicing, v.tensions.rank, self.register, &self.weights);
        let pair = |a: &Voiced, b: &Voiced| cost::between(&a.voicing, &b.voicing, &self.weights);
        let inner: u32 = path
            .windows(2)
            .map(|w| match w {
                [a, b] => pair(a, b),
                _ => 0,
            })
            .sum();
        let closing = match (ends, path.last(), path.first()) {
            (Ends::Cyclic, Some(last), Some(first)) => pair(last, first),
            _ => 0,
        };
        path.iter().map(alone).sum::<u32>() + inner + closing
    }

    /// The cheapest path of candidates; with a fixed start it also pays for the
    /// way back to it.
    fn best_path(&self, columns: &[Vec<(u32, Voiced)>], start: Option<usize>) -> (u32, Vec<usize>) {
        let Some((first, rest)) = columns.split_first() else {
            return (0, Vec::new());
        };
        const NEVER: u32 = u32::MAX / 2;
        let allowed = |i: usize| start.is_none_or(|s| s == i);
        let mut costs: Vec<u32> = (first.iter().enumerate())
            .map(|(i, (alone, _))| if allowed(i) { *alone } else { NEVER })
            .collect();
        let mut came_from: Vec<Vec<usize>> = Vec::with_capacity(rest.len());
        let mut before = first;
        for column in rest {
            let best = column.iter().map(|(alone, to)| {
                let ways = costs.iter().zip(before).enumerate();
                let way = ways.map(|(i, (cost, (_, from)))| {
                    (
                        cost + cost::between(&from.voicing, &to.voicing, &self.weights),
                        i,
                    )
                });
                let (cost, from) = way.min().unwrap_or((NEVER, 0));
                (cost + alone, from)
            });
            let (next, back): (Vec<u32>, Vec<usize>) = best.unzip();
            costs = next;
            came_from.push(back);
            before = column;
        }
        if let Some((_, home)) = start.and_then(|s| first.get(s)) {
            for (cost, (_, last)) in costs.iter_mut().zip(before) {
                *cost += cost::between(&last.voicing, &home.voicing, &self.weights);
            }
        }
        let ends = costs.iter().enumerate().map(|(i, cost)| (*cost, i));
        let (cost, mut at) = ends.min().unwrap_or((NEVER, 0));
        let mut path = vec![at];
        for back in came_from.iter().rev() {
            at = back.get(at).copied().unwrap_or(0);
            path.push(at);
        }
        path.reverse();
        (cost, path)
    }
}
