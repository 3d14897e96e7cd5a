//! What a voicing costs. Each rule has one named field. Prices are integers, so that every
//! platform agrees. Imports `voicing`, `shape` and `candidates`.

use crate::candidates::Register;
use crate::degree::DegreeSet;
use crate::pitch::PitchClass;
use crate::shape::{Leeway, Texture};
use crate::voicing::{MOST_NOTES, Position, Voicing};

/// The price of each rule. A semitone of motion costs ten.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weights {
    /// For each semitone that a voice moves.
    pub motion: u32,
    /// For each semitone of the top voice's leap beyond a whole step.
    pub top_leap: u32,
    /// For a change that moves more than ten semitones.
    pub leap: u32,
    /// For each semitone between the middle of the voicing and the centre of the register.
    pub off_centre: u32,
    /// For the first semitone that a note lies beyond an edge of the register. The second
    /// semitone adds twice as much, the third three times as much.
    pub edge: u32,
    /// The additional price of the same in a single step. A step does not look ahead, and the
    /// next chords follow where one chord lies.
    pub edge_in_step: u32,
    /// For each interval that lies too low to sound clear.
    pub low_interval: u32,
    /// For the same notes over another chord.
    pub unchanged: u32,
    /// For each note that the voicing has more or fewer than the one before.
    pub density: u32,
    /// For the same position twice in a row. Fourths and notes as a player placed them have none
    /// to repeat.
    pub same_position: u32,
    /// For the same position twice when the root falls a fifth. Cadences alternate positions,
    /// and a leap of the whole hand is better placed elsewhere.
    pub same_position_at_cadence: u32,
    /// For a #9 that lies a half step below the third.
    pub sharp_nine_inside: u32,
    /// For each semitone that a hand spans beyond what it takes at ease.
    pub wide_hand: u32,
    /// For the second choice of tensions. The third adds twice as much, the fourth three times
    /// as much.
    pub rank: u32,
    /// The same in textures whose tensions stand out, fourths and two hands. There it matters
    /// more which tensions they are.
    pub rank_of_colour: u32,
}

impl Weights {
    /// The weights that ship.
    pub const DEFAULT: Weights = Weights {
        motion: 10,
        top_leap: 2,
        leap: 20,
        off_centre: 1,
        edge: 6,
        edge_in_step: 40,
        low_interval: 50,
        unchanged: 15,
        density: 10,
        same_position: 5,
        same_position_at_cadence: 15,
        sharp_nine_inside: 8,
        wide_hand: 5,
        rank: 12,
        rank_of_colour: 36,
    };

    /// A price for moved semitones and for nothing else.
    pub const MOTION_ONLY: Weights = Weights {
        motion: 1,
        top_leap: 0,
        leap: 0,
        off_centre: 0,
        edge: 0,
        edge_in_step: 0,
        low_interval: 0,
        unchanged: 0,
        density: 0,
        same_position: 0,
        same_position_at_cadence: 0,
        sharp_nine_inside: 0,
        wide_hand: 0,
        rank: 0,
        rank_of_colour: 0,
    };
}

/// The sum of 1 for the first step, 2 for the second, 3 for the third, and so on.
const fn growing(steps: u32) -> u32 {
    steps * (steps + 1) / 2
}

/// How far notes lie beyond the register's edges, and how far the lowest note lies above its
/// room. The unit is the price of the first semitone beyond an edge.
#[must_use]
pub(crate) fn beyond_edges(voicing: &Voicing, leeway: Leeway, register: Register) -> u32 {
    let (lowest, highest_start, highest) = register.edges_with(leeway);
    let steps = |semitones: i32| growing(u32::try_from(semitones).unwrap_or(0));
    let notes = voicing.notes().map(|note| {
        let note = note.semitones();
        steps(lowest - note) + steps(note - highest)
    });
    let start = voicing
        .lowest()
        .map_or(0, |l| l.semitones() - highest_start);
    notes.sum::<u32>() + steps(start)
}

/// What a voicing costs by itself.
#[must_use]
pub fn alone(
    voicing: &Voicing,
    rank: u8,
    texture: Texture,
    register: Register,
    weights: &Weights,
) -> u32 {
    let leeway = texture.leeway();
    let beyond = beyond_edges(voicing, leeway, register);
    alone_with(voicing, rank, leeway, beyond, register, weights)
}

/// As [`alone`], for a voicing that may leave the register so far, and is so far beyond its edges,
/// see [`beyond_edges`].
#[must_use]
pub(crate) fn alone_with(
    voicing: &Voicing,
    rank: u8,
    leeway: Leeway,
    beyond: u32,
    register: Register,
    weights: &Weights,
) -> u32 {
    let (lowest, _, highest) = register.edges_with(leeway);
    let centre = lowest + highest;
    let middle = match (voicing.lowest(), voicing.highest()) {
        (Some(low), Some(high)) => low.semitones() + high.semitones(),
        _ => centre,
    };
    let off_centre = (middle - centre).unsigned_abs() / 2;
    let price_of_rank = if leeway.stands_out {
        weights.rank_of_colour
    } else {
        weights.rank
    };
    let wide = |span: u8| u32::from(span.saturating_sub(register.hand.at_ease));
    weights.off_centre * off_centre
        + weights.edge * beyond
        + weights.low_interval * voicing.low_intervals()
        + weights.sharp_nine_inside * u32::from(voicing.sharp_nine_inside())
        + weights.wide_hand * (wide(voicing.left_span()) + wide(voicing.right_span()))
        + price_of_rank * growing(u32::from(rank))
}

/// The parts of a voicing that are compared with its neighbours, laid out for quick comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Pose {
    notes: [u8; MOST_NOTES],
    count: u8,
    position: Position,
    degrees: DegreeSet,
    root: Option<PitchClass>,
}

impl Pose {
    /// The pose of a voicing.
    #[must_use]
    pub(crate) fn of(voicing: &Voicing) -> Pose {
        let mut notes = [0; MOST_NOTES];
        let mut count = 0;
        for (place, note) in notes.iter_mut().zip(voicing.notes()) {
            *place = note.number();
            count += 1;
        }
        Pose {
            notes,
            count,
            position: voicing.position,
            degrees: voicing.degrees(),
            root: voicing.root(),
        }
    }

    fn notes(&self) -> &[u8] {
        self.notes.get(..usize::from(self.count)).unwrap_or(&[])
    }

    /// As [`Voicing::motion`].
    fn motion(&self, next: &Pose) -> u32 {
        if self.count == next.count {
            // Places without a note are equal.
            let pairs = self.notes.iter().zip(&next.notes);
            return pairs.map(|(a, b)| u32::from(a.abs_diff(*b))).sum();
        }
        let (small, large) = if self.count < next.count {
            (self, next)
        } else {
            (next, self)
        };
        let nearest = |a: &u8| small.notes().iter().map(|b| a.abs_diff(*b)).min();
        let moved = large.notes().iter().map(nearest);
        moved.map(|m| u32::from(m.unwrap_or(0))).sum()
    }
}

/// What it costs to go from one voicing to the next.
#[must_use]
pub(crate) fn between(from: &Pose, to: &Pose, weights: &Weights) -> u32 {
    let leap = match (from.notes().last(), to.notes().last()) {
        (Some(a), Some(b)) => u32::from(a.abs_diff(*b)).saturating_sub(2),
        _ => 0,
    };
    let unchanged = from.notes == to.notes && from.degrees != to.degrees;
    let repeats = !matches!(from.position, Position::Fourths | Position::AsPlayed);
    let same_position = repeats && from.position == to.position;
    let cadence = match (from.root, to.root) {
        (Some(a), Some(b)) => b.above(a) == 5,
        _ => false,
    };
    let motion = from.motion(to);
    weights.motion * motion
        + weights.leap * u32::from(motion > 10)
        + weights.top_leap * leap
        + weights.unchanged * u32::from(unchanged)
        + weights.density * u32::from(from.count.abs_diff(to.count))
        + weights.same_position * u32::from(same_position)
        + weights.same_position_at_cadence * u32::from(same_position && cadence)
}
