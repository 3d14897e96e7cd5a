//! Deceptive endings: the dominant promises the tonic, and another chord comes,
//! for good or for a while.

use super::run::{FALLS_A_FIFTH, FALLS_A_HALF_STEP, Run, Sort, is_tonic, rise, step, text};
use super::{Kind, Proposal};
use crate::key::Mode;
use crate::quality::Quality;

/// An ending by its name, its chords, and their shares of the time. With
/// `home` the tonic takes the rest, with a last share.
struct Row {
    name: &'static str,
    chords: &'static [(i8, Quality)],
    weights: &'static [u32],
    home: bool,
}

const fn instead(name: &'static str, chords: &'static [(i8, Quality)]) -> Row {
    Row {
        name,
        chords,
        weights: &[1],
        home: false,
    }
}

/// Common practice, no published source.
static IN_MAJOR: [Row; 6] = [
    instead("deceptive: vi", &[(step::VI, Quality::MinorSeventh)]),
    instead("deceptive: bVI", &[(step::FLAT_VI, Quality::MajorSeventh)]),
    instead(
        "deceptive: bIII",
        &[(step::FLAT_III, Quality::MajorSeventh)],
    ),
    instead(
        "deceptive: #ivø",
        &[(step::SHARP_IV, Quality::HalfDiminished)],
    ),
    Row {
        name: "delayed by bII",
        chords: &[(step::FLAT_II, Quality::MajorSeventh)],
        weights: &[1, 1],
        home: true,
    },
    Row {
        name: "delayed by bVI and bVII",
        chords: &[
            (step::FLAT_VI, Quality::MajorSeventh),
            (step::FLAT_VII, Quality::MajorSeventh),
        ],
        weights: &[1, 1, 2],
        home: true,
    },
];
static IN_MINOR: [Row; 4] = [
    instead("deceptive: bVI", &[(step::FLAT_VI, Quality::MajorSeventh)]),
    instead("deceptive: viø", &[(step::VI, Quality::HalfDiminished)]),
    instead("major ending in minor", &[(step::I, Quality::MajorSeventh)]),
    Row {
        name: "delayed by bII",
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
        && matches!(Sort::of(before), Sort::Dominant | Sort::Suspended);
    if !arrives || !is_tonic(tonic, run.key) {
        return;
    }
    let rows: &[Row] = match run.key.mode {
        Mode::Major | Mode::Blues => &IN_MAJOR,
        Mode::Minor => &IN_MINOR,
    };
    for row in rows {
        let mut chords = run.of_the_key(row.chords);
        let first = chords.first().map(text).unwrap_or_default();
        let mut reason = format!("{} leads one to wait for {}", text(before), text(tonic));
        if row.home {
            chords.push(*tonic);
            reason = format!("{first} comes first; {} comes late", text(tonic));
        }
        let parts = run.divided(row.weights, &chords);
        run.offer(out, Kind::Deceptive, row.name, parts, reason);
    }
}
