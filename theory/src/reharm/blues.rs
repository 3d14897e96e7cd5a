//! The stock of the blues in major: the quick change, VI7 or two ii-Vs before the ii, ii-V or a
//! half step from above for V-IV. Other families add to it: the ii before I7 on its way to IV7, the
//! diminished chord on #iv, turnarounds. Only `proposals` imports this.
//!
//! Common practice, no published source.

use super::interval::step;
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::key::Mode;
use crate::quality::ChordFamily;
use crate::quality::Quality::{self, Dominant, HalfDiminished, MinorSeventh};

const ONE: (i8, Quality) = (step::I, Dominant);
const TWO: (i8, Quality) = (step::II, MinorSeventh);
const FOUR: (i8, Quality) = (step::IV, Dominant);
const FIVE: (i8, Quality) = (step::V, Dominant);
const SIX: (i8, Quality) = (step::VI, Dominant);

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    if run.key.mode != Mode::Blues {
        return;
    }
    let is = |chord: &Chord, step: i8| run.is(chord, step, ChordFamily::Dominant);
    let to_two = run.is(run.next, step::II, ChordFamily::Minor);
    match run.chords.as_slice() {
        [one] if is(one, step::I) => {
            quick_change(run, out);
            if to_two {
                before_two(run, out);
            }
        }
        [five, four] if is(five, step::V) && is(four, step::IV) => {
            let slide = [(step::FLAT_VI, Dominant), FIVE];
            road_home(run, Name::TwoFiveForFiveFour, [TWO, FIVE], out);
            road_home(run, Name::FlatSixFiveForFiveFour, slide, out);
        }
        [two, five] if run.is(two, step::II, ChordFamily::Minor) && is(five, step::V) => {
            road_home(run, Name::FiveFourForTwoFive, [FIVE, FOUR], out);
        }
        _ => {}
    }
    if to_two && run.bars_if_whole() == Some(2) && run.chords.iter().all(|c| is(c, step::I)) {
        two_fives_down(run, out);
    }
}

/// Two other chords that lead to I7.
fn road_home(run: &Run, name: Name, pair: [(i8, Quality); 2], out: &mut Vec<Proposal>) {
    if run.leads_home() {
        let parts = run.in_place(&run.of_the_key(&pair));
        let reason = Reason::RoadHome { next: *run.next };
        run.offer(out, Substitution::Blues, name, parts, reason);
    }
}

/// Two ii-Vs over the two bars before the ii: the one that leads to it, and one a half step below.
fn two_fives_down(run: &Run, out: &mut Vec<Proposal>) {
    let pairs = [
        (step::III, MinorSeventh),
        SIX,
        (step::FLAT_III, MinorSeventh),
        (step::FLAT_VI, Dominant),
    ];
    let parts = run.divided(&[1, 1, 1, 1], &run.of_the_key(&pairs));
    let reason = Reason::TwoFivesDown { next: *run.next };
    let name = Name::TwoFivesDown;
    run.offer(out, Substitution::Blues, name, parts, reason);
}

/// IV7 in the second of the bars in which I7 begins the form.
fn quick_change(run: &Run, out: &mut Vec<Proposal>) {
    let to_one = run.next_is_on(step::I);
    let parts = match (run.held_bars(), run.bars_if_whole()) {
        // The second bar is written by itself.
        (Some(1), Some(1)) if to_one && !run.is_last() => run.in_place(&run.of_the_key(&[FOUR])),
        (Some(0), Some(2)) if to_one && !run.is_last() => {
            run.divided(&[1, 1], &run.of_the_key(&[ONE, FOUR]))
        }
        (Some(0), Some(4)) if run.next_is_on(step::IV) => {
            run.divided(&[1, 1, 2], &run.of_the_key(&[ONE, FOUR, ONE]))
        }
        _ => return,
    };
    let [four] = run.of_the_key(&[FOUR])[..] else {
        return;
    };
    let reason = Reason::OutAndBackHome { new: four };
    run.offer(out, Substitution::Blues, Name::QuickChange, parts, reason);
}

/// VI7 on the way from I7 to the ii.
fn before_two(run: &Run, out: &mut Vec<Proposal>) {
    let [three, six] = run.of_the_key(&[(step::III, HalfDiminished), SIX])[..] else {
        return;
    };
    let next = *run.next;
    let reason = Reason::LeadsTo { new: six, next };
    let parts = run.in_place(&[six]);
    run.offer(out, Substitution::Blues, Name::SixSeven, parts, reason);
    let parts = run.divided(&[1, 1], &[three, six]);
    let reason = Reason::TwoFiveLeads {
        two: three,
        five: six,
        next,
    };
    run.offer(out, Substitution::Blues, Name::TwoFiveOfTwo, parts, reason);
    let slide = [ONE, (step::VII, Dominant), (step::FLAT_VII, Dominant), SIX];
    let parts = run.divided(&[1, 1, 1, 1], &run.of_the_key(&slide));
    let reason = Reason::SlidesTo { six, next };
    run.offer(out, Substitution::Blues, Name::DownToSix, parts, reason);
}
