//! Diminished sevenths: passing between two roots a whole step apart, on the
//! common tone of the chord that they delay, and on the third of a dominant.

use super::run::{
    FALLS_A_FIFTH, HALF_STEP_DOWN, LOWERED, RAISED, Run, Sort, is_tonic, rise, step, text,
};
use super::{Kind, Proposal};
use crate::chord::Chord;
use crate::pitch::NoteName;
use crate::quality::Quality;

pub(super) const PASSING_UP: &str = "passing diminished, upwards";
pub(super) const PASSING_DOWN: &str = "passing diminished, downwards";

fn diminished(root: NoteName) -> Chord {
    Chord::new(root, Quality::DiminishedSeventh)
}

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    if Sort::of(chord) == Sort::Diminished {
        return;
    }
    if Sort::of(run.next) != Sort::Diminished {
        passing(run, chord, out);
    }
    if Sort::of(chord) == Sort::Major {
        common_tone(run, chord, out);
    }
    if Sort::of(chord) == Sort::Dominant && rise(chord, run.next) == FALLS_A_FIFTH {
        let new = diminished(run.along(run.next.root, HALF_STEP_DOWN));
        let name = "leading-tone diminished";
        let reason = format!(
            "{} is {} with b9, without its root",
            text(&new),
            text(chord)
        );
        run.offer(out, Kind::Diminished, name, run.in_place(&[new]), reason);
    }
}

fn passing(run: &Run, chord: &Chord, out: &mut Vec<Proposal>) {
    let minor = run.leads_to_minor();
    let (name, root) = match rise(chord, run.next) {
        2 => (PASSING_UP, run.along(chord.root, RAISED)),
        10 if minor => (PASSING_DOWN, run.along(chord.root, LOWERED)),
        _ => return,
    };
    let new = diminished(root);
    let parts = run.divided(&[1, 1], &[*chord, new]);
    let reason = format!("the bass moves by half steps to {}", text(run.next));
    run.offer(out, Kind::Diminished, name, parts, reason);
    if is_tonic(chord, run.key) && minor && name == PASSING_UP {
        let new = diminished(run.degree(step::FLAT_III));
        let name = "diminished above ii";
        let parts = run.divided(&[1, 1], &[*chord, new]);
        let reason = format!("{} falls a half step to {}", text(&new), text(run.next));
        run.offer(out, Kind::Diminished, name, parts, reason);
    }
}

fn common_tone(run: &Run, chord: &Chord, out: &mut Vec<Proposal>) {
    let new = diminished(chord.root);
    let reason = format!("{} shares its root with {}", text(&new), text(chord));
    let name = "common-tone diminished, delaying the chord";
    let parts = run.divided(&[1, 1], &[new, *chord]);
    run.offer(out, Kind::Diminished, name, parts, reason.clone());
    let name = "common-tone diminished, out and back";
    let parts = run.divided(&[2, 1, 1], &[*chord, new, *chord]);
    run.offer(out, Kind::Diminished, name, parts, reason);
}
