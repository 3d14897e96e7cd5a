//! Where new chords begin: on beats that the meter favours, in every meter, on random charts.
//! Common practice, no published source.

use crate::common::{in_key, root};
use guidehand_theory::chart::{Meter, TICKS_PER_QUARTER};
use guidehand_theory::chord::Chord;
use guidehand_theory::key::{Key, Mode};
use guidehand_theory::quality::ChordFamily;
use guidehand_theory::reharm::{self, Bars, Grid, Name, Proposal, Span};
use guidehand_theory::symbol;

/// Meters, the quarters and eighths of their beats, and how much they favour each beat: 3 for
/// the bar line, 2 for what divides the bar, 1 for the rest.
const METERS: [((u8, u8), u32, &[u8]); 8] = [
    ((2, 4), 2, &[3, 1]),
    ((3, 4), 2, &[3, 1, 2]),
    ((4, 4), 2, &[3, 1, 2, 1]),
    ((5, 4), 2, &[3, 1, 1, 2, 1]),
    ((6, 4), 2, &[3, 1, 1, 2, 1, 1]),
    ((6, 8), 3, &[3, 1]),
    ((9, 8), 3, &[3, 1, 2]),
    ((12, 8), 3, &[3, 1, 2, 1]),
];

const PIECES: [&str; 10] = [
    "Dm7 G7 Cmaj7",
    "Dm7 G7 Cmaj7 Cmaj7",
    "Cmaj7 Am7 Dm7 G7",
    "Em7 A7 Dm7 G7",
    "Fmaj7 Fm6 Cmaj7 Am7",
    "Dm7b5 G7 Cm7 Cm7",
    "Cm7 Fm7 Abmaj7 G7",
    "C7 F7 C7 C7",
    "F7 F7 C7 A7",
    "Cmaj7 Fmaj7 Em7 Dm7",
];

/// Bars of one meter, the first of them perhaps after a pickup.
struct RandomBars {
    meter: Meter,
    beat_ticks: u32,
    weights: &'static [u8],
    pickup_ticks: u32,
}

impl RandomBars {
    fn weight(&self, tick: u32) -> u8 {
        let bar = self.beat_ticks * u32::try_from(self.weights.len()).unwrap();
        let within = (tick + bar - self.pickup_ticks % bar) % bar;
        if within.is_multiple_of(self.beat_ticks) {
            self.weights[usize::try_from(within / self.beat_ticks).unwrap()]
        } else {
            0
        }
    }

    /// Chords of a whole bar, of two, of half a bar or of any number of beats.
    fn spans(&self, random: &mut fastrand::Rng, key: &str) -> Vec<Span> {
        let beats = u32::try_from(self.weights.len()).unwrap();
        let words = (0..random.usize(1..=3)).map(|_| PIECES[random.usize(..PIECES.len())]);
        let words: Vec<&str> = words.flat_map(|piece| piece.split(' ')).collect();
        let mut start_ticks = 0;
        let whole_bars = random.bool();
        let mut spans = Vec::new();
        let mut half = false;
        for word in words {
            let count = match random.u32(0..6) {
                _ if half => beats / 2,
                0 if !whole_bars => random.u32(1..=2 * beats),
                1 => 2 * beats,
                2 => beats.div_ceil(2),
                _ => beats,
            };
            half = !half && count == beats.div_ceil(2) && beats > 1;
            let length_ticks = count * self.beat_ticks;
            spans.push(Span {
                chord: Some(symbol::parse(word).unwrap()),
                start_ticks,
                length_ticks,
                function: None,
            });
            start_ticks += length_ticks;
        }
        reharm::analyse(&mut spans, Key::parse(key));
        spans
    }
}

/// Semitones of the root up from one chord to the next.
fn rise(from: &Chord, to: &Chord) -> u8 {
    (root(to) + 12 - root(from)) % 12
}

/// Everything that is offered in random charts of every meter.
fn each_offer(mut look: impl FnMut(&RandomBars, &[Span], &Proposal)) {
    let mut random = fastrand::Rng::with_seed(1959);
    for ((beats, unit), eighths, weights) in METERS {
        for i in 0..90 {
            let beat_ticks = TICKS_PER_QUARTER / 2 * eighths;
            let bars = RandomBars {
                meter: Meter::new(beats, unit).unwrap(),
                beat_ticks,
                weights,
                pickup_ticks: beat_ticks * u32::from(i % 4 == 3),
            };
            let key = ["C", "Cm", "C blues"][i % 3];
            let spans = bars.spans(&mut random, key);
            let grid = Grid::new(bars.meter, bars.pickup_ticks).into();
            for proposal in reharm::proposals(&spans, 0..spans.len(), &grid, &[]).fits {
                look(&bars, &spans, &proposal);
            }
        }
    }
}

/// The new chords with the ticks at which they begin and end.
fn timed(spans: &[Span], proposal: &Proposal) -> Vec<(Chord, u32, u32)> {
    let mut begin = spans[proposal.span.start].start_ticks;
    let parts = proposal.chords.iter().map(|part| {
        let from = begin;
        begin += part.length_ticks;
        (part.chord, from, begin)
    });
    parts.collect()
}

fn is_written(spans: &[Span], proposal: &Proposal, tick: u32) -> bool {
    let old = &spans[proposal.span.clone()];
    old.iter().any(|span| span.start_ticks == tick)
}

/// A new chord begins on a beat, and is not held over a beat that the meter favours more than
/// its own.
#[test]
fn new_chords_begin_on_favoured_beats() {
    let mut placed = 0;
    each_offer(|bars, spans, proposal| {
        for (chord, begin, end) in timed(spans, proposal) {
            if is_written(spans, proposal, begin) {
                continue;
            }
            let here = bars.weight(begin);
            assert!(here > 0, "{}: {chord:?} in {proposal:?}", bars.meter);
            let mut tick = begin + bars.beat_ticks;
            while tick < end {
                let there = bars.weight(tick);
                assert!(there <= here, "{}: {chord:?} in {proposal:?}", bars.meter);
                tick += bars.beat_ticks;
            }
            placed += 1;
        }
    });
    assert!(placed > 20_000, "{placed}");
}

/// A new dominant resolves on the bar line or on what divides the bar, never on a weaker beat
/// than its own. A ii does not lean on its V over a bar line.
#[test]
fn cadences_resolve_on_strong_beats() {
    let (mut resolved, mut prepared) = (0, 0);
    each_offer(|bars, spans, proposal| {
        for pair in timed(spans, proposal).windows(2) {
            let [(first, from, _), (second, to, _)] = pair else {
                unreachable!()
            };
            if is_written(spans, proposal, *to) {
                continue;
            }
            let (was, here) = (bars.weight(*from), bars.weight(*to));
            let falls = rise(first, second);
            let to_dominant = second.quality.is_dominant();
            if first.quality.is_dominant() && !to_dominant && [5, 11].contains(&falls) {
                assert!(here >= was, "{}: {proposal:?}", bars.meter);
                assert!(here >= 2, "{}: {proposal:?}", bars.meter);
                resolved += 1;
            }
            let is_two = matches!(
                first.quality.family(),
                ChordFamily::Minor | ChordFamily::HalfDiminished
            );
            if is_two && second.quality.family() == ChordFamily::Dominant && falls == 5 {
                assert!(here < 3 || was == 3, "{}: {proposal:?}", bars.meter);
                prepared += 1;
            }
        }
    });
    assert!(resolved > 250, "{resolved}");
    assert!(prepared > 2_000, "{prepared}");
}

/// The chord that a cadence leads to keeps its place. Only the cycle of a whole ii-V-I brings it
/// later, on a bar line.
#[test]
fn goals_keep_their_place() {
    let mut kept = 0;
    each_offer(|bars, spans, proposal| {
        let old = &spans[proposal.span.clone()];
        let [.., five, goal] = old else { return };
        let (five, was) = (five.chord.unwrap(), goal.chord.unwrap());
        let new = timed(spans, proposal);
        let (last, begin, _) = *new.last().unwrap();
        if !five.quality.is_dominant()
            || rise(&five, &was) != 5
            || root(&last) != root(&was)
            || last.quality.family() != was.quality.family()
        {
            return;
        }
        if proposal.name == Name::CycleForTwoFiveOne {
            assert_eq!(bars.weight(begin), 3, "{}: {proposal:?}", bars.meter);
        } else {
            assert_eq!(begin, goal.start_ticks, "{}: {proposal:?}", bars.meter);
        }
        kept += 1;
    });
    assert!(kept > 100, "{kept}");
}

/// No chord is struck twice in a row where the written chords do not change.
#[test]
fn no_new_chord_repeats_the_one_before() {
    let mut pairs = 0;
    each_offer(|bars, spans, proposal| {
        for pair in timed(spans, proposal).windows(2) {
            let [(first, ..), (second, to, _)] = pair else {
                unreachable!()
            };
            if !is_written(spans, proposal, *to) {
                assert_ne!(first, second, "{}: {proposal:?}", bars.meter);
                pairs += 1;
            }
        }
    });
    assert!(pairs > 10_000, "{pairs}");
}

/// The tonic that a dominant leads to may be delayed, coloured or followed, but a dominant does
/// not take its whole time.
#[test]
fn no_dominant_stands_for_a_resolution() {
    let (mut goals, mut replaced) = (0, 0);
    each_offer(|bars, spans, proposal| {
        for i in proposal.span.clone().filter(|i| *i > 0) {
            let (before, span) = (spans[i - 1].chord.unwrap(), spans[i]);
            let (goal, key) = (span.chord.unwrap(), span.function.unwrap().key);
            let mode = goal.quality.is_minor() == (key.mode == Mode::Minor);
            let home = root(&goal) == key.tonic.class().number() && mode;
            let resolves = before.quality.is_dominant() && rise(&before, &goal) == 5;
            if !home || !resolves || goal.quality.is_dominant() {
                continue;
            }
            let (from, to) = (span.start_ticks, span.start_ticks + span.length_ticks);
            for (chord, begin, end) in timed(spans, proposal) {
                if begin <= from && end >= to {
                    let dominant = chord.quality.is_dominant();
                    assert!(!dominant, "{}: {proposal:?}", bars.meter);
                    replaced += u32::from(chord != goal);
                }
            }
            goals += 1;
        }
    });
    assert!(goals > 2_000, "{goals}");
    assert!(replaced > 300, "{replaced}");
}

/// After a pickup and after a change of meter the bars count that are in force there.
#[test]
fn new_chords_follow_the_meter_in_force() {
    const FOUR: [u8; 4] = [3, 1, 2, 1];
    const THREE: [u8; 3] = [3, 1, 2];
    let beat = TICKS_PER_QUARTER;
    let chords = "G7:1 Cmaj7:4 Am7:4 Dm7:4 G7:4 Cmaj7:3 A7:3 Dm7:3 G7:3 Cmaj7:6";
    let spans = in_key(chords, "C", 0);
    let weight = |at: u32| match at {
        0 => 3,
        1..17 => FOUR[usize::try_from((at - 1) % 4).unwrap()],
        _ => THREE[usize::try_from((at - 17) % 3).unwrap()],
    };
    let starts = [0, 1, 5, 9, 13, 17, 20, 23, 26, 29, 32];
    let meter = |start| match start {
        0 => 1,
        1..17 => 4,
        _ => 3,
    };
    let bars = starts.map(|start| (start * beat, Meter::new(meter(start), 4).unwrap()));
    let bars = Bars::new(bars).unwrap();
    let mut placed = [0; 2];
    for proposal in reharm::proposals(&spans, 0..spans.len(), &bars, &[]).fits {
        for (_, begin, end) in timed(&spans, &proposal) {
            if is_written(&spans, &proposal, begin) {
                continue;
            }
            let (from, to) = (begin / beat, end / beat);
            assert_eq!(from * beat, begin);
            assert!(
                (from + 1..to).all(|at| weight(at) <= weight(from)),
                "{proposal:?}"
            );
            placed[usize::from(from >= 17)] += 1;
        }
    }
    assert!(placed.iter().all(|count| *count > 50), "{placed:?}");
}
