//! Diminished sevenths: passing between two roots a whole step apart, on the common tone of the
//! chord that they delay, or on the third of a dominant. Only `proposals` imports this.

use super::interval::{FALLS_A_FIFTH, HALF_STEP_DOWN, LOWERED, RAISED, is_tonic, rise, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::degree::Degree;
use crate::key::Mode;
use crate::pitch::NoteName;
use crate::quality::{ChordFamily, Quality};

fn diminished(root: NoteName) -> Chord {
    Chord::new(root, Quality::DiminishedSeventh)
}

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    if chord.quality.family() == ChordFamily::Diminished {
        return;
    }
    if run.next.quality.family() != ChordFamily::Diminished {
        passing(run, chord, out);
        raised_four(run, chord, out);
    }
    if chord.quality.family() == ChordFamily::Major {
        common_tone(run, chord, out);
    }
    if chord.quality.family() == ChordFamily::Dominant && rise(chord, run.next) == FALLS_A_FIFTH {
        let new = diminished(run.along(run.next.root, HALF_STEP_DOWN));
        let name = Name::LeadingTone;
        let five = Chord::new(chord.root, Quality::Dominant).with(&[Degree::Flat9]);
        let reason = Reason::WithoutRoot { new, five };
        run.offer(
            out,
            Substitution::Diminished,
            name,
            run.in_place(&[new]),
            reason,
        );
    }
}

fn passing(run: &Run, chord: &Chord, out: &mut Vec<Proposal>) {
    let minor = run.leads_to_minor();
    let to_five = chord.quality.family() == ChordFamily::Minor
        && matches!(
            run.next.quality.family(),
            ChordFamily::Dominant | ChordFamily::Suspended
        );
    let (name, root) = match rise(chord, run.next) {
        2 => (Name::PassingUp, run.along(chord.root, RAISED)),
        10 if minor || to_five => (Name::PassingDown, run.along(chord.root, LOWERED)),
        _ => return,
    };
    let new = diminished(root);
    let parts = run.divided(&[1, 1], &[*chord, new]);
    let next = *run.next;
    // Over another bass nothing would pass.
    if chord.bass.is_none() && next.bass.is_none() {
        let reason = Reason::BassByHalfSteps { next };
        run.offer(out, Substitution::Diminished, name, parts, reason);
    }
    if is_tonic(chord, run.key) && minor && name == Name::PassingUp {
        let new = diminished(run.degree(step::FLAT_III));
        let name = Name::AboveTwo;
        let parts = run.divided(&[1, 1], &[*chord, new]);
        let reason = Reason::FallsHalfStep { new, next };
        run.offer(out, Substitution::Diminished, name, parts, reason);
    }
}

/// #iv° between IV and the tonic, whose fifth lies a half step above its root.
fn raised_four(run: &Run, chord: &Chord, out: &mut Vec<Proposal>) {
    let on_four = run.is(chord, step::IV, ChordFamily::Major)
        || run.is(chord, step::IV, ChordFamily::Dominant);
    if !on_four || !run.leads_home() || run.key.mode == Mode::Minor {
        return;
    }
    let new = diminished(run.along(chord.root, RAISED));
    let reason = Reason::RisesToFifth {
        new,
        next: *run.next,
    };
    if run.held_bars().is_some_and(|bars| bars > 0) {
        let name = Name::RaisedFourForFour;
        let parts = run.in_place(&[new]);
        run.offer(out, Substitution::Diminished, name, parts, reason);
    }
    let name = Name::RaisedFour;
    let parts = run.divided(&[1, 1], &[*chord, new]);
    run.offer(out, Substitution::Diminished, name, parts, reason);
}

fn common_tone(run: &Run, chord: &Chord, out: &mut Vec<Proposal>) {
    let new = diminished(chord.root);
    let reason = Reason::SharesRoot { new, old: *chord };
    let name = Name::CommonToneDelay;
    let parts = run.divided(&[1, 1], &[new, *chord]);
    run.offer(out, Substitution::Diminished, name, parts, reason);
    let name = Name::CommonToneOutAndBack;
    let parts = run.divided(&[2, 1, 1], &[*chord, new, *chord]);
    run.offer(out, Substitution::Diminished, name, parts, reason);
}
