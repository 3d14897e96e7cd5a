//! Modal interchange: chords of the parallel key, the minor plagal first.

use super::run::Sort::{self, Dominant, HalfDiminished, Major, Minor};
use super::run::{Run, step, text};
use super::{Kind, Proposal};
use crate::chord::Chord;
use crate::key::Mode;
use crate::quality::Quality::{self, MajorSeventh, MinorSeventh, MinorSixth};

/// What a chord of the key may be exchanged for.
struct Row {
    from: (i8, Sort),
    to: (i8, Quality),
    /// The mode that lends the chord.
    lent_by: &'static str,
    /// Only on the way to the tonic.
    plagal: bool,
    name: &'static str,
}

const fn row(
    from: (i8, Sort),
    to: (i8, Quality),
    lent_by: &'static str,
    name: &'static str,
) -> Row {
    Row {
        from,
        to,
        lent_by,
        plagal: false,
        name,
    }
}

pub(super) const MINOR_PLAGAL: &str = "minor plagal";
pub(super) const FOUR_TO_MINOR: &str = "IV turns minor";

const MAJOR: &str = "the parallel major";
const MINOR: &str = "the parallel minor";
const DORIAN: &str = "Dorian";
const PHRYGIAN: &str = "Phrygian";

/// Common practice, no published source.
static IN_MAJOR: [Row; 8] = [
    Row {
        from: (step::IV, Major),
        to: (step::IV, MinorSixth),
        lent_by: MINOR,
        plagal: true,
        name: MINOR_PLAGAL,
    },
    row(
        (step::II, Minor),
        (step::II, Quality::HalfDiminished),
        MINOR,
        "iiø for ii",
    ),
    row(
        (step::II, Minor),
        (step::FLAT_II, MajorSeventh),
        PHRYGIAN,
        "bII for ii",
    ),
    row(
        (step::II, Minor),
        (step::FLAT_VI, MajorSeventh),
        MINOR,
        "bVI for ii",
    ),
    row(
        (step::IV, Major),
        (step::IV, MinorSeventh),
        MINOR,
        "iv for IV",
    ),
    row(
        (step::VI, Minor),
        (step::FLAT_VI, MajorSeventh),
        MINOR,
        "bVI for vi",
    ),
    row(
        (step::III, Minor),
        (step::FLAT_III, MajorSeventh),
        MINOR,
        "bIII for iii",
    ),
    row(
        (step::V, Dominant),
        (step::V, MinorSeventh),
        MINOR,
        "v for V",
    ),
];
static IN_MINOR: [Row; 4] = [
    row(
        (step::IV, Minor),
        (step::IV, Quality::Dominant),
        DORIAN,
        "IV7 for iv",
    ),
    row(
        (step::II, HalfDiminished),
        (step::II, MinorSeventh),
        MAJOR,
        "ii for iiø",
    ),
    row(
        (step::II, HalfDiminished),
        (step::FLAT_II, MajorSeventh),
        PHRYGIAN,
        "bII for ii",
    ),
    row(
        (step::I, Minor),
        (step::I, Quality::Sixth),
        MAJOR,
        "I for i",
    ),
];

pub(super) fn offer(run: &Run, out: &mut Vec<Proposal>) {
    let Some(chord) = run.one() else {
        return;
    };
    let rows: &[Row] = match run.key.mode {
        Mode::Major | Mode::Blues => &IN_MAJOR,
        Mode::Minor => &IN_MINOR,
    };
    let lent = |new: &Chord, by: &str| format!("{} comes from {by}", text(new));
    for row in rows {
        let (step, sort) = row.from;
        if run.is(chord, step, sort) && (!row.plagal || run.leads_home()) {
            let new = Chord::new(run.degree(row.to.0), row.to.1);
            let parts = run.in_place(&[new]);
            run.offer(
                out,
                Kind::Interchange,
                row.name,
                parts,
                lent(&new, row.lent_by),
            );
        }
    }
    if run.key.mode == Mode::Major && run.is(chord, step::IV, Major) {
        let new = Chord::new(chord.root, MinorSixth);
        let parts = run.divided(&[1, 1], &[*chord, new]);
        let reason = format!("the third falls on its way; {}", lent(&new, MINOR));
        run.offer(out, Kind::Interchange, FOUR_TO_MINOR, parts, reason);
    }
}
