//! Voice leading: the cheapest path through a whole chart, and the single step for live
//! playing. Imports `candidates`, `cost` and what is above them.

use crate::candidates::{self, Register};
use crate::chord::Chord;
use crate::cost::{self, Pose, Weights};
use crate::own_shape::Own;
use crate::shape::{Leeway, Texture};
use crate::tension::{Choices, Tensions};
use crate::voicing::Voicing;

/// More than any path costs.
const NEVER: u32 = u32::MAX / 2;

/// A voicing and the tensions it was chosen with.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Voiced {
    /// The notes.
    pub voicing: Voicing,
    /// The tensions, with the reason for them.
    pub tensions: Tensions,
}

/// Whether a chart ends after its last chord or begins again.
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

/// Where a voicing comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// A texture.
    Texture(Texture),
    /// The player's own shape at this place of the list.
    Own(u8),
}

/// A voicing that a plan may take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Offer {
    /// The voicing and its tensions.
    pub voiced: Voiced,
    /// What it costs by itself.
    pub alone: u32,
    /// Where it comes from: the texture that was asked for, of which the chord may get another one.
    pub origin: Origin,
    /// How far its notes lie beyond the register's edges.
    beyond_edges: u32,
}

/// A setting, and the player's own shapes. Where one of them serves a chord and has a place in the
/// register, it takes the place of the texture, or stands beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Planner<'a> {
    /// The setting.
    pub setting: Setting,
    /// The own shapes.
    pub own: Own<'a>,
}

impl Setting {
    /// This setting with the player's own shapes.
    #[must_use]
    pub const fn with_own(self, own: Own<'_>) -> Planner<'_> {
        Planner { setting: self, own }
    }

    pub(crate) const fn without_own(&self) -> Planner<'static> {
        self.with_own(Own::NONE)
    }

    fn offer(&self, voiced: Voiced, leeway: Leeway, origin: Origin) -> Offer {
        let (voicing, rank) = (&voiced.voicing, voiced.tensions.rank);
        let (register, weights) = (self.register, &self.weights);
        let beyond_edges = cost::beyond_edges(voicing, leeway, register);
        Offer {
            voiced,
            alone: cost::alone_with(voicing, rank, leeway, beyond_edges, register, weights),
            origin,
            beyond_edges,
        }
    }

    /// The voicings of the texture.
    fn offers(&self, chord: &Chord, choices: &Choices) -> impl Iterator<Item = Offer> + use<> {
        let (chord, setting, choices) = (*chord, *self, *choices);
        choices.into_iter().flat_map(move |tensions| {
            let (texture, register) = (setting.texture, setting.register);
            candidates::of(&chord, &tensions, texture, register).map(move |voicing| {
                let voiced = Voiced { voicing, tensions };
                setting.offer(voiced, texture.leeway(), Origin::Texture(texture))
            })
        })
    }

    /// Every voicing of a chord with its own price, in a fixed order.
    pub fn candidates(
        &self,
        chord: &Chord,
        choices: &Choices,
    ) -> impl Iterator<Item = (u32, Voiced)> + use<> {
        let offers = self.offers(chord, choices);
        offers.map(|offer| (offer.alone, offer.voiced))
    }

    /// What it costs to go from one voicing to the next.
    #[must_use]
    pub fn price_between(&self, from: &Voicing, to: &Voicing) -> u32 {
        cost::between(&Pose::of(from), &Pose::of(to), &self.weights)
    }

    /// The cheapest voicing after `before`, or the first one of equally cheap ones. It is empty
    /// if the register is too high for any voicing. Nothing allocates.
    #[must_use]
    pub fn step(&self, before: Option<&Voicing>, chord: &Chord, choices: &Choices) -> Voiced {
        self.without_own().step(before, chord, choices)
    }

    /// The voicing nearest to `planned` under this setting. Among the voicings with the best
    /// tensions, it moves the fewest semitones, with the price of notes beyond the register's
    /// edges added. Of equally near ones, the same position comes first, then the cheapest. It
    /// is empty if the register is too high for any voicing. Nothing allocates.
    #[must_use]
    pub fn nearest(&self, planned: &Voicing, chord: &Chord, choices: &Choices) -> Voiced {
        self.without_own().nearest(planned, chord, choices)
    }

    /// The cheapest path through all chords, found exactly by dynamic programming. The time
    /// that this takes grows with the number of chords.
    #[must_use]
    pub fn plan(&self, chords: &[(Chord, Choices)], ends: Ends) -> Vec<Voiced> {
        self.plan_around(chords, ends, &[])
    }

    /// As [`Setting::plan`], around voicings that the player has chosen. Each pin is the index
    /// of a chord and the voicing that is to sound there. Of several pins of one chord the first
    /// counts.
    #[must_use]
    pub fn plan_around(
        &self,
        chords: &[(Chord, Choices)],
        ends: Ends,
        pins: &[(usize, Voiced)],
    ) -> Vec<Voiced> {
        self.without_own().plan_around(chords, ends, pins)
    }

    /// What a path through a chart costs.
    #[must_use]
    pub fn price(&self, path: &[Voiced], ends: Ends) -> u32 {
        let alone = |v: &Voiced| {
            let (voicing, rank) = (&v.voicing, v.tensions.rank);
            cost::alone(voicing, rank, self.texture, self.register, &self.weights)
        };
        let pair = |a: &Voiced, b: &Voiced| self.price_between(&a.voicing, &b.voicing);
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

    /// The cheapest path, as the index of a voicing in each column. In a cycle every voicing of
    /// the first column is a start of its own, and the way back to it is paid for too. Of
    /// equally cheap paths the first one is taken, in the order of the starts.
    fn best_path(&self, columns: &[Column], ends: Ends) -> Vec<usize> {
        let Some((first, rest)) = columns.split_first() else {
            return Vec::new();
        };
        let mut costs = first.starts(ends);
        // For each further column, the voicing before, for every voicing and every start.
        let mut came_from: Vec<Vec<u16>> = Vec::with_capacity(rest.len());
        let mut before = first;
        let mut moves: Vec<u32> = Vec::new();
        for column in rest {
            let mut next = vec![Vec::with_capacity(column.poses.len()); costs.len()];
            let mut back = Vec::with_capacity(column.poses.len() * costs.len());
            for (to, alone) in column.poses.iter().zip(&column.alone) {
                moves.clear();
                moves.extend(
                    before
                        .poses
                        .iter()
                        .map(|from| cost::between(from, to, &self.weights)),
                );
                for (costs, next) in costs.iter().zip(&mut next) {
                    let sums = costs.iter().zip(&moves).map(|(cost, price)| cost + price);
                    let (cost, from) = sums.zip(0u16..).min().unwrap_or((NEVER, 0));
                    next.push((cost + alone).min(NEVER));
                    back.push(from);
                }
            }
            costs = next;
            came_from.push(back);
            before = column;
        }
        let (start, end) = self.cheapest_end(first, before, &costs, ends);
        trace_back(&came_from, costs.len(), start, end)
    }

    /// The start of the cheapest path, and the voicing of the last column that it ends with.
    /// `costs` holds the costs of the voicings of the last column for each start.
    fn cheapest_end(
        &self,
        first: &Column,
        last: &Column,
        costs: &[Vec<u32>],
        ends: Ends,
    ) -> (usize, usize) {
        let best_of_start = |(start, costs): (usize, &Vec<u32>)| {
            let home = first.poses.get(start).filter(|_| ends == Ends::Cyclic);
            let closed = costs.iter().zip(&last.poses).map(|(cost, last)| {
                let closing = home.map_or(0, |home| cost::between(last, home, &self.weights));
                cost + closing
            });
            let best = closed.zip(0..).min();
            best.map(|(cost, at): (u32, usize)| (cost, start, at))
        };
        let best = costs.iter().enumerate().filter_map(best_of_start).min();
        best.map_or((0, 0), |(_, start, at)| (start, at))
    }
}

impl Planner<'_> {
    /// Every voicing of a chord with its own price, in a fixed order: own shapes first.
    pub fn offers(&self, chord: &Chord, choices: &Choices) -> impl Iterator<Item = Offer> + '_ {
        let (chord, choices) = (*chord, *choices);
        let own = self.own_offers(chord, choices);
        let served = || self.own_offers(chord, choices).next().is_some();
        let instead = !self.own.beside && !self.own.shapes().is_empty() && served();
        let texture = (!instead).then(|| self.setting.offers(&chord, &choices));
        own.chain(texture.into_iter().flatten())
    }

    /// The voicings in own shapes.
    fn own_offers(&self, chord: Chord, choices: Choices) -> impl Iterator<Item = Offer> + '_ {
        choices.into_iter().flat_map(move |tensions| {
            let shapes = self.own.shapes().iter().zip(0..);
            shapes.flat_map(move |(shape, number)| {
                let voicings = candidates::of_own(shape, &chord, &tensions, self.setting.register);
                voicings.map(move |(voicing, leeway)| {
                    let voiced = Voiced { voicing, tensions };
                    self.setting.offer(voiced, leeway, Origin::Own(number))
                })
            })
        })
    }

    /// As [`Setting::step`]. Nothing allocates.
    #[must_use]
    pub fn step(&self, before: Option<&Voicing>, chord: &Chord, choices: &Choices) -> Voiced {
        let before = before.map(Pose::of);
        let price = |offer: &Offer| self.setting.price_of_step(before.as_ref(), offer);
        let cheapest = self.offers(chord, choices).min_by_key(price);
        cheapest.map(|offer| offer.voiced).unwrap_or_default()
    }

    /// As [`Setting::nearest`]. Nothing allocates.
    #[must_use]
    pub fn nearest(&self, planned: &Voicing, chord: &Chord, choices: &Choices) -> Voiced {
        let distance = |offer: &Offer| self.setting.distance(planned, offer);
        let nearest = self.offers(chord, choices).min_by_key(distance);
        nearest.map(|offer| offer.voiced).unwrap_or_default()
    }

    /// As [`Setting::plan_around`].
    #[must_use]
    pub fn plan_around(
        &self,
        chords: &[(Chord, Choices)],
        ends: Ends,
        pins: &[(usize, Voiced)],
    ) -> Vec<Voiced> {
        let columns = chords.iter().enumerate().map(|(i, (chord, choices))| {
            let pinned = pins.iter().find(|(at, _)| *at == i);
            match pinned {
                Some((_, voiced)) => Column::pinned(*voiced),
                None => Column::of(self.offers(chord, choices)),
            }
        });
        self.setting.cheapest(columns.collect(), ends)
    }
}

impl Setting {
    /// What a step to an offered voicing costs.
    pub(crate) fn price_of_step(&self, before: Option<&Pose>, offer: &Offer) -> u32 {
        let between = before.map_or(0, |before| {
            cost::between(before, &Pose::of(&offer.voiced.voicing), &self.weights)
        });
        offer.alone + between + self.weights.edge_in_step * offer.beyond_edges
    }

    /// How far an offered voicing lies from a planned one, see [`Setting::nearest`].
    pub(crate) fn distance(&self, planned: &Voicing, offer: &Offer) -> (u8, u32, u32, u32) {
        let voicing = &offer.voiced.voicing;
        let position = u32::from(voicing.position != planned.position);
        let edges = self.weights.edge * offer.beyond_edges;
        let moved = self.weights.motion * planned.motion(voicing) + edges;
        (offer.voiced.tensions.rank, moved, position, offer.alone)
    }

    /// The cheapest path through columns of voicings, one for each chord.
    pub(crate) fn cheapest(&self, mut columns: Vec<Column>, ends: Ends) -> Vec<Voiced> {
        // In a cycle there is one search for each voicing of the first chord, so the path
        // starts at the chord with the fewest voicings.
        let smallest = columns.iter().map(|c| c.poses.len()).enumerate();
        let start = match ends {
            Ends::Open => 0,
            Ends::Cyclic => smallest.min_by_key(|(_, len)| *len).map_or(0, |(i, _)| i),
        };
        columns.rotate_left(start);
        let mut path = self.best_path(&columns, ends);
        path.rotate_right(start);
        columns.rotate_right(start);
        let path = path.into_iter().zip(&columns);
        path.map(|(i, column)| column.voiced.get(i).copied().unwrap_or_default())
            .collect()
    }
}

/// The path from a start to the voicing `end` of the last column. `came_from` holds, for each
/// column after the first, the voicing before for every voicing and every start.
fn trace_back(came_from: &[Vec<u16>], starts: usize, start: usize, end: usize) -> Vec<usize> {
    let mut at = end;
    let mut path = vec![at];
    for back in came_from.iter().rev() {
        let from = back.get(at * starts + start);
        at = from.copied().map_or(0, usize::from);
        path.push(at);
    }
    path.reverse();
    path
}

/// The voicings of one chord, as the search compares them.
pub(crate) struct Column {
    alone: Vec<u32>,
    poses: Vec<Pose>,
    voiced: Vec<Voiced>,
}

impl Column {
    /// The one voicing of a chord that is pinned.
    pub(crate) fn pinned(voiced: Voiced) -> Column {
        Column::new(std::iter::once((0, voiced)))
    }

    /// The voicings that are offered for a chord.
    pub(crate) fn of(offers: impl IntoIterator<Item = Offer>) -> Column {
        let offers = offers.into_iter();
        Column::new(offers.map(|offer| (offer.alone, offer.voiced)))
    }

    /// A column from the voicings of a chord. It is never empty: if no voicing fits, it holds
    /// an empty one.
    fn new(candidates: impl Iterator<Item = (u32, Voiced)>) -> Column {
        let (mut alone, mut voiced): (Vec<u32>, Vec<Voiced>) = candidates.unzip();
        if voiced.is_empty() {
            alone.push(0);
            voiced.push(Voiced::default());
        }
        Column {
            alone,
            poses: voiced.iter().map(|v| Pose::of(&v.voicing)).collect(),
            voiced,
        }
    }

    /// The costs of the voicings of the first column, once for each start.
    fn starts(&self, ends: Ends) -> Vec<Vec<u32>> {
        let only = |start: usize| {
            let alone = self.alone.iter().enumerate();
            let costs = alone.map(|(i, cost)| if i == start { *cost } else { NEVER });
            costs.collect()
        };
        match ends {
            Ends::Open => vec![self.alone.clone()],
            Ends::Cyclic => (0..self.alone.len()).map(only).collect(),
        }
    }
}
