//! Deceptive endings: the dominant promises the tonic, and another chord comes in its place or
//! before it. Only `proposals` imports this.

use super::interval::{FALLS_A_FIFTH, FALLS_A_HALF_STEP, is_tonic, numeral, rise, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::key::Case;
use crate::quality::{ChordFamily, Quality};

/// An ending: its name, its chords, and their shares of the time. With `home` the tonic takes
/// the last share.
struct EndingRow {
    name: Name,
    chords: &'static [(i8, Quality)],
    weights: &'static [u32],
    home: bool,
}

const fn instead(case: Case, chords: &'static [(i8, Quality); 1]) -> EndingRow {
    let [(step, _)] = chords;
    EndingRow {
        name: Name::Deceptive(numeral(*step, case)),
        chords,
        weights: &[1],
        home: false,
    }
}

/// Common practice, no published source.
static IN_MAJOR: [EndingRow; 6] = [
    instead(Case::Lower, &[(step::VI, Quality::MinorSeventh)]),
    instead(Case::Upper, &[(step::FLAT_VI, Quality::MajorSeventh)]),
    instead(Case::Upper, &[(step::FLAT_III, Quality::MajorSeventh)]),
    instead(
        Case::HalfDiminished,
        &[(step::SHARP_IV, Quality::HalfDiminished)],
    ),
    EndingRow {
        name: Name::DelayedBy(numeral(step::FLAT_II, Case::Upper)),
        chords: &[(step::FLAT_II, Quality::MajorSeventh)],
        weights: &[1, 1],
        home: true,
    },
    EndingRow {
        name: Name::DelayedByTwo(
            numeral(step::FLAT_VI, Case::Upper),
            numeral(step::FLAT_VII, Case::Upper),
        ),
        chords: &[
            (step::FLAT_VI, Quality::MajorSeventh),
            (step::FLAT_VII, Quality::MajorSeventh),
        ],
        weights: &[1, 1, 2],
        home: true,
    },
];
static IN_MINOR: [EndingRow; 4] = [
    instead(Case::Upper, &[(step::FLAT_VI, Quality::MajorSeventh)]),
    instead(Case::HalfDiminished, &[(step::VI, Quality::HalfDiminished)]),
    EndingRow {
        name: Name::MajorEnding,
        chords: &[(step::I, Quality::MajorSeventh)],
        weights: &[1],
        home: false,
    },
    EndingRow {
        name: Name::DelayedBy(numeral(step::FLAT_II, Case::Upper)),
        chords: &[(step::FLAT_II, Quality::MajorSeventh)],
        weights: &[1, 1],
        home: true,
    },
];

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let (Some(tonic), Some(before)) = (run.one(), run.before) else {
        return;
    };
    let arrives = matches!(rise(before, tonic), FALLS_A_FIFTH | FALLS_A_HALF_STEP)
        && matches!(
            before.quality.family(),
            ChordFamily::Dominant | ChordFamily::Suspended
        );
    if !arrives || !is_tonic(tonic, run.key) {
        return;
    }
    let rows: &[EndingRow] = run.by_mode(&IN_MAJOR, &IN_MINOR);
    for row in rows {
        let mut chords = run.of_the_key(row.chords);
        let tonic = *tonic;
        let reason = match chords.first() {
            Some(first) if row.home => Reason::TonicComesLate {
                first: *first,
                tonic,
            },
            _ => Reason::PromisesTonic {
                before: *before,
                tonic,
            },
        };
        if row.home {
            chords.push(tonic);
        }
        let parts = run.divided(row.weights, &chords);
        run.offer(out, Substitution::Deceptive, row.name, parts, reason);
    }
}
