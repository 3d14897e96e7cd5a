//! Modal interchange: chords of the parallel key, the minor plagal first. Only `proposals`
//! imports this.

use super::interval::{instead_of, step};
use super::name::Name;
use super::proposal::Proposal;
use super::reason::{Lender, Reason};
use super::run::Run;
use super::substitution::Substitution;
use crate::chord::Chord;
use crate::key::{Case, Mode};
use crate::quality::ChordFamily::{self, Dominant, HalfDiminished, Major, Minor};
use crate::quality::Quality::{self, MajorSeventh, MinorSeventh, MinorSixth};

/// The chord for which a chord of the key may be exchanged.
struct InterchangeRow {
    from: (i8, ChordFamily),
    to: (i8, Quality),
    /// The mode that lends the chord.
    lender: Lender,
    /// Whether it is used only on the way to the tonic.
    plagal: bool,
    name: Name,
}

const fn row(
    from: (i8, ChordFamily),
    to: (i8, Quality),
    lender: Lender,
    name: Name,
) -> InterchangeRow {
    InterchangeRow {
        from,
        to,
        lender,
        plagal: false,
        name,
    }
}

/// Common practice, no published source.
static IN_MAJOR: [InterchangeRow; 8] = [
    InterchangeRow {
        from: (step::IV, Major),
        to: (step::IV, MinorSixth),
        lender: Lender::Minor,
        plagal: true,
        name: Name::MinorPlagal,
    },
    row(
        (step::II, Minor),
        (step::II, Quality::HalfDiminished),
        Lender::Minor,
        instead_of((step::II, Case::HalfDiminished), (step::II, Case::Lower)),
    ),
    row(
        (step::II, Minor),
        (step::FLAT_II, MajorSeventh),
        Lender::Phrygian,
        instead_of((step::FLAT_II, Case::Upper), (step::II, Case::Lower)),
    ),
    row(
        (step::II, Minor),
        (step::FLAT_VI, MajorSeventh),
        Lender::Minor,
        instead_of((step::FLAT_VI, Case::Upper), (step::II, Case::Lower)),
    ),
    row(
        (step::IV, Major),
        (step::IV, MinorSeventh),
        Lender::Minor,
        instead_of((step::IV, Case::Lower), (step::IV, Case::Upper)),
    ),
    row(
        (step::VI, Minor),
        (step::FLAT_VI, MajorSeventh),
        Lender::Minor,
        instead_of((step::FLAT_VI, Case::Upper), (step::VI, Case::Lower)),
    ),
    row(
        (step::III, Minor),
        (step::FLAT_III, MajorSeventh),
        Lender::Minor,
        instead_of((step::FLAT_III, Case::Upper), (step::III, Case::Lower)),
    ),
    row(
        (step::V, Dominant),
        (step::V, MinorSeventh),
        Lender::Minor,
        instead_of((step::V, Case::Lower), (step::V, Case::Upper)),
    ),
];
static IN_MINOR: [InterchangeRow; 4] = [
    row(
        (step::IV, Minor),
        (step::IV, Quality::Dominant),
        Lender::Dorian,
        Name::FourSeven,
    ),
    row(
        (step::II, HalfDiminished),
        (step::II, MinorSeventh),
        Lender::Major,
        instead_of((step::II, Case::Lower), (step::II, Case::HalfDiminished)),
    ),
    row(
        (step::II, HalfDiminished),
        (step::FLAT_II, MajorSeventh),
        Lender::Phrygian,
        instead_of((step::FLAT_II, Case::Upper), (step::II, Case::Lower)),
    ),
    row(
        (step::I, Minor),
        (step::I, Quality::Sixth),
        Lender::Major,
        instead_of((step::I, Case::Upper), (step::I, Case::Lower)),
    ),
];

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    let rows: &[InterchangeRow] = run.by_mode(&IN_MAJOR, &IN_MINOR);
    for row in rows {
        let (step, sort) = row.from;
        if run.is(chord, step, sort) && (!row.plagal || run.leads_home()) {
            let new = Chord::new(run.degree(row.to.0), row.to.1);
            let parts = run.in_place(&[new]);
            let reason = Reason::ComesFrom {
                new,
                lender: row.lender,
            };
            run.offer(out, Substitution::Interchange, row.name, parts, reason);
        }
    }
    if run.key.mode == Mode::Major && run.is(chord, step::IV, Major) {
        let new = Chord::new(chord.root, MinorSixth);
        let parts = run.divided(&[1, 1], &[*chord, new]);
        let reason = Reason::ThirdFalls { new };
        run.offer(
            out,
            Substitution::Interchange,
            Name::FourTurnsMinor,
            parts,
            reason,
        );
    }
}
