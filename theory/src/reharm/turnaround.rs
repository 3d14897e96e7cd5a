//! Turnarounds: four chords in the place of a tonic that leads back to itself. Only `proposals`
//! imports this.

use super::interval::{is_tonic, step};
use super::name::{Name, Turnaround};
use super::proposal::Proposal;
use super::reason::Reason;
use super::run::Run;
use super::substitution::Substitution;
use crate::quality::Quality::{
    self, DiminishedSeventh, Dominant, HalfDiminished, MajorSeventh, MinorSeventh,
};

/// A turnaround by its name and its four chords.
type TurnaroundRow = (Turnaround, [(i8, Quality); 4]);

const I: (i8, Quality) = (step::I, MajorSeventh);
const I_MINOR: (i8, Quality) = (step::I, MinorSeventh);
const II: (i8, Quality) = (step::II, MinorSeventh);
const II_MINOR: (i8, Quality) = (step::II, HalfDiminished);
const III: (i8, Quality) = (step::III, MinorSeventh);
const VI: (i8, Quality) = (step::VI, MinorSeventh);
const V7: (i8, Quality) = (step::V, Dominant);
const VI7: (i8, Quality) = (step::VI, Dominant);
const FLAT_II7: (i8, Quality) = (step::FLAT_II, Dominant);
const FLAT_III_DIM: (i8, Quality) = (step::FLAT_III, DiminishedSeventh);
const FLAT_III7: (i8, Quality) = (step::FLAT_III, Dominant);
const FLAT_VI7: (i8, Quality) = (step::FLAT_VI, Dominant);

/// Common practice, no published source.
static IN_MAJOR: [TurnaroundRow; 11] = [
    (Turnaround::Plain, [I, VI, II, V7]),
    (Turnaround::WithSecondary, [I, VI7, II, V7]),
    (Turnaround::FromThree, [III, VI7, II, V7]),
    (
        Turnaround::RaisedOne,
        [I, (step::SHARP_I, DiminishedSeventh), II, V7],
    ),
    (Turnaround::DiminishedThree, [I, FLAT_III_DIM, II, V7]),
    (Turnaround::FromThreeDiminished, [III, FLAT_III_DIM, II, V7]),
    (Turnaround::Dominants, [I, VI7, (step::II, Dominant), V7]),
    (
        Turnaround::DominantsFromThree,
        [(step::III, Dominant), VI7, (step::II, Dominant), V7],
    ),
    (Turnaround::Substitute, [I, VI, II, FLAT_II7]),
    (Turnaround::Substitutes, [I, FLAT_III7, FLAT_VI7, FLAT_II7]),
    (
        Turnaround::MajorSevenths,
        [
            I,
            (step::FLAT_III, MajorSeventh),
            (step::FLAT_VI, MajorSeventh),
            (step::FLAT_II, MajorSeventh),
        ],
    ),
];
static IN_MINOR: [TurnaroundRow; 4] = [
    (
        Turnaround::PlainInMinor,
        [I_MINOR, (step::VI, HalfDiminished), II_MINOR, V7],
    ),
    (
        Turnaround::FlatSixInMinor,
        [I_MINOR, (step::FLAT_VI, MajorSeventh), II_MINOR, V7],
    ),
    (
        Turnaround::MajorSeventhsInMinor,
        [
            I_MINOR,
            (step::FLAT_III, MajorSeventh),
            (step::FLAT_VI, MajorSeventh),
            (step::FLAT_II, MajorSeventh),
        ],
    ),
    (
        Turnaround::DominantsInMinor,
        [I_MINOR, FLAT_III7, FLAT_VI7, V7],
    ),
];

/// A turnaround lasts from one bar to four.
const FEWEST_BEATS: u32 = 4;
const MOST_BEATS: u32 = 16;

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let (Some(first), true) = (run.chords.first(), run.one_key && run.leads_home()) else {
        return;
    };
    let length = (FEWEST_BEATS..=MOST_BEATS).contains(&run.beats());
    if !length || run.chords.len() > 4 || !is_tonic(first, run.key) {
        return;
    }
    let rows: &[TurnaroundRow] = run.by_mode(&IN_MAJOR, &IN_MINOR);
    for (turnaround, chords) in rows {
        let mut chords = run.of_the_key(chords);
        if let Some(tonic) = chords.first_mut().filter(|c| is_tonic(c, run.key)) {
            // The tonic stays as it was written.
            *tonic = *first;
        }
        let reason = Reason::LeadBack { next: *run.next };
        let parts = match run.chords.len() {
            4 => run.in_place(&chords),
            // Of three bars the last two turn round.
            _ if run.bars_if_whole() == Some(3) => run.divided(&[3, 1, 1, 1], &chords),
            _ => run.divided(&[1, 1, 1, 1], &chords),
        };
        run.offer(
            out,
            Substitution::Turnaround,
            Name::Turnaround(*turnaround),
            parts,
            reason,
        );
    }
}
