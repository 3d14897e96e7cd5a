//! What is asked to be heard, as notes and lengths.

use super::*;
use crate::engine::settings::PlanFor;
use crate::engine::trial::MOST_STEPS;
use guidehand_theory::chart;
use guidehand_theory::line;
use guidehand_theory::scale::suggest;

fn planned(text: &str) -> PlannedChart {
    PlannedChart::plan(&chart::parse(text).unwrap(), PlanFor::default(), 0)
}

/// The chord of a chart at an index, with its notes.
fn at(chart: &PlannedChart, index: usize) -> (ChordInKey, Voicing) {
    let (placed, voiced) = chart.voiced(index, &Taste::default()).unwrap();
    (placed, voiced.voicing)
}

fn keys(set: u128) -> Vec<u8> {
    (0..128).filter(|key| set & 1 << key != 0).collect()
}

/// Notes and eighths of each step.
fn steps(request: &Request) -> Vec<(Vec<u8>, u32)> {
    let steps = request.steps().iter();
    steps
        .map(|step| (keys(step.keys()), step.eighths()))
        .collect()
}

const DM9: [u8; 4] = [53, 57, 60, 64];
const G13: [u8; 4] = [53, 57, 59, 64];
const CMAJ9: [u8; 4] = [52, 55, 59, 62];

#[test]
fn a_chord_lasts_for_a_second_whatever_the_tempo() {
    let chart = planned("| Dm7 | G7 | Cmaj7 | % |");
    let (placed, voicing) = at(&chart, 1);
    let request = chord(&HeardChord::new(&placed, voicing));
    assert_eq!(steps(&request), [(G13.to_vec(), 4)]);
    assert_eq!(request.pace(), Pace::Free);
    assert_eq!(request.steps()[0].bass(), MidiNote::new(31), "G1");
    assert!(!request.sounds_while_playing());
}

/// The notes are those of the A form (common practice, no published source).
#[test]
fn a_chord_is_heard_between_its_neighbours() {
    let chart = planned("| Dm7 | G7 | Cmaj7 | % |");
    let context = |index, repeats| {
        let request = in_context(&chart, index, &Taste::default(), repeats, None).unwrap();
        assert_eq!(request.pace(), Pace::Even);
        steps(&request)
            .into_iter()
            .map(|(keys, eighths)| {
                assert_eq!(eighths, 4);
                keys
            })
            .collect::<Vec<_>>()
    };
    assert_eq!(context(1, false), [DM9, G13, CMAJ9]);
    assert_eq!(context(0, false), [DM9, G13]);
    assert_eq!(context(2, false), [G13, CMAJ9]);
    assert_eq!(
        context(0, true),
        [CMAJ9, DM9, G13],
        "the chart starts again"
    );
    assert_eq!(context(2, true), [G13, CMAJ9, DM9]);
    let alone = planned("| Dm7 |");
    let request = in_context(&alone, 0, &Taste::default(), true, None).unwrap();
    assert_eq!(request.steps().len(), 1, "its only neighbour is itself");
    assert!(in_context(&chart, 3, &Taste::default(), true, None).is_none());
    assert!(in_context(&chart, usize::MAX, &Taste::default(), true, None).is_none());
}

#[test]
fn another_chord_is_heard_in_the_place_of_the_planned_one() {
    let chart = planned("| Dm7 | G7 | Cmaj7 | % |");
    let (placed, _) = at(&chart, 1);
    let mut flat_9 = Voicing::empty(guidehand_theory::voicing::Position::Seventh);
    let degrees = [
        Degree::Flat7,
        Degree::Flat9,
        Degree::Three,
        Degree::Thirteen,
    ];
    for (key, degree) in [53, 56, 59, 64].into_iter().zip(degrees) {
        assert!(flat_9.push(MidiNote::new(key).unwrap(), degree));
    }
    let heard = HeardChord::new(&placed, flat_9);
    let request = in_context(&chart, 1, &Taste::default(), false, Some(heard)).unwrap();
    let notes: Vec<_> = steps(&request).into_iter().map(|(keys, _)| keys).collect();
    assert_eq!(notes, [DM9.to_vec(), vec![53, 56, 59, 64], CMAJ9.to_vec()]);
}

#[test]
fn what_is_silent_is_left_out_and_a_pickup_does_not_come_again() {
    let silent = planned("| N.C. | G7 | Cmaj7 |");
    let request = in_context(&silent, 1, &Taste::default(), true, None).unwrap();
    assert_eq!(request.steps().len(), 2);
    assert!(in_context(&silent, 0, &Taste::default(), true, None).is_none());

    let pickup = planned("| Pickup G7 | Cmaj7 | Fmaj7 |");
    assert!(pickup.pickup_ticks > 0);
    let count = |index| {
        let request = in_context(&pickup, index, &Taste::default(), true, None).unwrap();
        steps(&request)
            .into_iter()
            .map(|(keys, _)| keys)
            .collect::<Vec<_>>()
    };
    let of = |index| {
        keys(
            HeardChord::new(&at(&pickup, index).0, at(&pickup, index).1)
                .step()
                .keys(),
        )
    };
    assert_eq!(count(0), [of(0), of(1)], "nothing comes before a pickup");
    assert_eq!(count(1), [of(0), of(1), of(2)]);
    assert_eq!(
        count(2),
        [of(1), of(2), of(1)],
        "the chart starts again after it"
    );
}

#[test]
fn an_inner_line_moves_in_the_middle_of_its_chord() {
    let chart = planned("| Dm7 | G7 | Cmaj7 | % |");
    let (placed, voicing) = at(&chart, 1);
    let then = line::inner(&placed.chord, &placed.function, &voicing);
    assert!(then.is_some());
    let heard = HeardChord::new(&placed, voicing).with_line(then);
    let request = chord(&heard);
    let moved = keys(HeardChord::new(&placed, then.unwrap()).step().keys());
    assert_eq!(steps(&request), [(G13.to_vec(), 2), (moved, 2)]);
    assert!(!request.steps()[0].is_tied());
    assert!(request.steps()[1].is_tied(), "the other voices go on");
    let request = in_context(&chart, 1, &Taste::default(), false, Some(heard)).unwrap();
    let lengths: Vec<_> = steps(&request)
        .iter()
        .map(|(_, eighths)| *eighths)
        .collect();
    assert_eq!(lengths, [4, 2, 2, 4]);
}

/// The scale over a chord of a chart.
fn over(text: &str, index: usize, nth: usize, on: StartsOn) -> (Request, Suggestion, Voicing) {
    let chart = planned(text);
    let (placed, voicing) = at(&chart, index);
    let all = suggest(&placed.chord, voicing.degrees(), &placed.function);
    let request = scale(&all[nth], &placed, &voicing, on).unwrap();
    (request, all[nth], voicing)
}

/// G Mixolydian over G13, F A B E (common practice, no published source).
#[test]
fn a_scale_goes_an_octave_up_and_down_in_swung_eighths_over_its_chord() {
    let text = "| Dm7 | G7 | Cmaj7 | % |";
    for (on, expected) in [
        (StartsOn::Third, [71, 72, 74, 76, 77, 79, 81, 83]),
        (StartsOn::Seventh, [65, 67, 69, 71, 72, 74, 76, 77]),
        (StartsOn::Root, [67, 69, 71, 72, 74, 76, 77, 79]),
    ] {
        let (request, suggestion, _) = over(text, 1, 0, on);
        assert_eq!(suggestion.scale.name, "Mixolydian");
        assert_eq!(request.pace(), Pace::Swung);
        let down = expected.into_iter().rev().skip(1);
        let all: Vec<_> = expected.into_iter().chain(down).collect();
        let steps = steps(&request);
        let notes: Vec<_> = steps.iter().flat_map(|(keys, _)| keys.clone()).collect();
        assert_eq!(notes, all);
        let lengths: Vec<_> = steps.iter().map(|(_, eighths)| *eighths).collect();
        assert_eq!(lengths[..14], [1; 14]);
        assert_eq!(lengths[14], 2, "two bars in all");
        let beneath = request.beneath().unwrap();
        assert_eq!(keys(beneath.keys()), G13);
        assert!(beneath.velocity() < request.steps()[0].velocity());
    }
}

/// A pentatonic scale leaves notes out, and has another root.
#[test]
fn a_scale_without_the_note_to_start_from_starts_on_its_own_root() {
    let text = "| C7 | F7 | C7 | C7 | F7 | F7 | C7 | C7 | G7 | F7 | C7 | G7 |";
    let chart = planned(text);
    let (placed, voicing) = at(&chart, 0);
    let all = suggest(&placed.chord, voicing.degrees(), &placed.function);
    let blues = all.iter().find(|s| s.scale.name.contains("blues")).unwrap();
    assert!(!blues.scale.set().contains(Degree::Three));
    let request = scale(blues, &placed, &voicing, StartsOn::Third).unwrap();
    let first = keys(request.steps()[0].keys())[0];
    assert_eq!(MidiNote::new(first).unwrap().class(), blues.root.class());
}

#[test]
fn every_scale_of_every_chord_fits_and_lies_above_the_left_hand() {
    let text = "| Cmaj7 | Cm7 | C7 | C7alt | C7b9 | C7sus4 | C6 | Cm6 | Cm7b5 | Cdim7 | C+ | C5 \
                | Cmaj7#11 | C7#5 | CmMaj7 | C7#11 | Csus2 | C |";
    let chart = planned(text);
    let mut heard = 0;
    for index in 0..chart.changes.len() {
        let (placed, voicing) = at(&chart, index);
        let left = usize::from(voicing.left_hand).max(1) - 1;
        let highest = voicing.voices()[left].note.number();
        for suggestion in suggest(&placed.chord, voicing.degrees(), &placed.function) {
            for on in [StartsOn::Third, StartsOn::Seventh, StartsOn::Root] {
                let request = scale(&suggestion, &placed, &voicing, on).unwrap();
                let count = suggestion.scale.degrees.len();
                assert_eq!(request.steps().len(), 2 * count + 1);
                assert!(request.steps().len() < MOST_STEPS);
                let notes: Vec<_> = steps(&request)
                    .into_iter()
                    .flat_map(|(keys, _)| keys)
                    .collect();
                let classes: Vec<_> = suggestion.notes().map(|n| n.class()).collect();
                let class = |note: &u8| MidiNote::new(*note).unwrap().class();
                assert!(notes.iter().all(|note| classes.contains(&class(note))));
                assert!(notes[..=count].is_sorted());
                assert!(notes[count..].is_sorted_by(|a, b| a > b));
                assert_eq!(notes[count], notes[0] + 12);
                assert!(notes[0] > highest && notes[0] <= highest + 12);
                heard += 1;
            }
        }
    }
    assert!(heard > 100);
}
