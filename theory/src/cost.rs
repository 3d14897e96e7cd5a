//! What a voicing costs: integers, one named field for each rule, so that every
//! platform agrees. Imports `voicing` and `candidates`.

use crate::candidates::Register;
use crate::degree::Degree;
use crate::pitch::MidiNote;
use crate::voicing::{Form, Voicing};

/// The price of each rule. A semitone of motion costs ten.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weights {
    /// For each semitone that a voice moves.
    pub motion: u32,
    /// For each semitone of the top voice's leap beyond a whole step.
    pub top_leap: u32,
    /// For each semitone that the middle of the voicing lies off the register's
    /// centre.
    pub off_centre: u32,
    /// For each interval that lies too low to sound clear.
    pub low_interval: u32,
    /// For the same notes over another chord.
    pub unchanged: u32,
    /// For the same form twice in a row.
    pub same_form: u32,
    /// For the same form twice where the root falls a fifth: cadences alternate
    /// forms, and a leap of the whole hand belongs elsewhere.
    pub same_form_at_cadence: u32,
    /// For a #9 in the ninth slot below the third, a half step apart.
    pub sharp_nine_inside: u32,
    /// For each semitone that one hand spans beyond a ninth.
    pub wide_hand: u32,
    /// For each step down the list of tension choices.
    pub rank: u32,
}

impl Weights {
    /// The weights that ship.
    pub const DEFAULT: Weights = Weights {
        motion: 10,
        top_leap: 2,
        off_centre: 1,
        low_interval: 50,
        unchanged: 15,
        same_form: 5,
        same_form_at_cadence: 40,
        sharp_nine_inside: 8,
        wide_hand: 5,
        rank: 30,
    };

    /// Nothing but semitones moved.
    pub const MOTION_ONLY: Weights = Weights {
        motion: 1,
        top_leap: 0,
        off_centre: 0,
        low_interval: 0,
        unchanged: 0,
        same_form: 0,
        same_form_at_cadence: 0,
        sharp_nine_inside: 0,
        wide_hand: 0,
        rank: 0,
    };
}

/// Low interval limits: the lowest note on which an interval of so many
/// semitones (1 to 4) still sounds clear (arrangers' tables, from memory).
const LOW_LIMITS: [(u8, u8); 4] = [(1, 52), (2, 51), (3, 48), (4, 46)];

/// The widest comfortable hand, a ninth, in semitones.
const COMFORTABLE_HAND: u8 = 14;

/// How many neighbouring notes lie too low for their interval.
#[must_use]
pub fn low_intervals(voicing: &Voicing) -> u32 {
    let notes = voicing.notes();
    notes
        .zip(voicing.notes().skip(1))
        .map(|(low, high): (MidiNote, MidiNote)| {
            let gap = high.number() - low.number();
            let muddy = |(interval, lowest)| gap == interval && low.number() < lowest;
            u32::from(LOW_LIMITS.into_iter().any(muddy))
        })
        .sum()
}

/// What a voicing costs by itself.
#[must_use]
pub fn alone(voicing: &Voicing, rank: u8, register: Register, weights: &Weights) -> u32 {
    let middle = match (voicing.lowest(), voicing.highest()) {
        (Some(low), Some(high)) => low.semitones() + high.semitones(),
        _ => register.centre_doubled(),
    };
    let off_centre = (middle - register.centre_doubled()).unsigned_abs() / 2;
    let inside = voicing.form == Form::B && voicing.degrees().has(Degree::Sharp9);
    let wide = voicing.left_span().saturating_sub(COMFORTABLE_HAND);
    weights.off_centre * off_centre
        + weights.low_interval * low_intervals(voicing)
        + weights.sharp_nine_inside * u32::from(inside)
        + weights.wide_hand * u32::from(wide)
        + weights.rank * u32::from(rank)
}

/// What it costs to go from one voicing to the next.
#[must_use]
pub fn between(from: &Voicing, to: &Voicing, weights: &Weights) -> u32 {
    let leap = match (from.highest(), to.highest()) {
        (Some(a), Some(b)) => u32::from(a.number().abs_diff(b.number())).saturating_sub(2),
        _ => 0,
    };
    let unchanged = from.notes().eq(to.notes()) && from.degrees() != to.degrees();
    let same_form = from.form == to.form && from.form != Form::Fourths;
    let cadence = match (from.root(), to.root()) {
        (Some(a), Some(b)) => b.above(a) == 5,
        _ => false,
    };
    weights.motion * from.motion(to)
        + weights.top_leap * leap
        + weights.unchanged * u32::from(unchanged)
        + weights.same_form * u32::from(same_form)
        + weights.same_form_at_cadence * u32::from(same_form && cadence)
}
