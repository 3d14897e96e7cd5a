//! Turnarounds: four chords in the place of a tonic that leads back to itself.

use super::run::{Run, is_tonic, step, text};
use super::{Kind, Proposal};
use crate::key::Mode;
use crate::quality::Quality::{
    self, DiminishedSeventh, Dominant, HalfDiminished, MajorSeventh, MinorSeventh,
};

/// A turnaround by its name and its four chords.
type Row = (&'static str, [(i8, Quality); 4]);

pub(super) const PLAIN: &str = "I-vi-ii-V";
pub(super) const WITH_SECONDARY: &str = "I-VI7-ii-V";
pub(super) const IN_MINOR_PLAIN: &str = "i-viø-iiø-V in minor";

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
static IN_MAJOR: [Row; 11] = [
    (PLAIN, [I, VI, II, V7]),
    (WITH_SECONDARY, [I, VI7, II, V7]),
    ("iii-VI7-ii-V", [III, VI7, II, V7]),
    (
        "I-#idim-ii-V",
        [I, (step::SHARP_I, DiminishedSeventh), II, V7],
    ),
    ("I-biiidim-ii-V", [I, FLAT_III_DIM, II, V7]),
    ("iii-biiidim-ii-V", [III, FLAT_III_DIM, II, V7]),
    ("I-VI7-II7-V7", [I, VI7, (step::II, Dominant), V7]),
    (
        "III7-VI7-II7-V7",
        [(step::III, Dominant), VI7, (step::II, Dominant), V7],
    ),
    ("I-vi-ii-bII7", [I, VI, II, FLAT_II7]),
    ("I-bIII7-bVI7-bII7", [I, FLAT_III7, FLAT_VI7, FLAT_II7]),
    (
        "I-bIII-bVI-bII, major sevenths",
        [
            I,
            (step::FLAT_III, MajorSeventh),
            (step::FLAT_VI, MajorSeventh),
            (step::FLAT_II, MajorSeventh),
        ],
    ),
];
static IN_MINOR: [Row; 4] = [
    (
        IN_MINOR_PLAIN,
        [I_MINOR, (step::VI, HalfDiminished), II_MINOR, V7],
    ),
    (
        "i-bVI-iiø-V in minor",
        [I_MINOR, (step::FLAT_VI, MajorSeventh), II_MINOR, V7],
    ),
    (
        "i-bIII-bVI-bII in minor",
        [
            I_MINOR,
            (step::FLAT_III, MajorSeventh),
            (step::FLAT_VI, MajorSeventh),
            (step::FLAT_II, MajorSeventh),
        ],
    ),
    (
        "i-bIII7-bVI7-V7 in minor",
        [I_MINOR, FLAT_III7, FLAT_VI7, V7],
    ),
];

/// A turnaround lasts from a bar to four.
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
    let rows: &[Row] = match run.key.mode {
        Mode::Major | Mode::Blues => &IN_MAJOR,
        Mode::Minor => &IN_MINOR,
    };
    for (name, chords) in rows {
        let mut chords = run.of_the_key(chords);
        if let Some(tonic) = chords.first_mut().filter(|c| is_tonic(c, run.key)) {
            // The tonic stays as it was written.
            *tonic = *first;
        }
        let reason = format!("four chords lead back to {}", text(run.next));
        let parts = match run.chords.len() {
            4 => run.in_place(&chords),
            _ => run.divided(&[1, 1, 1, 1], &chords),
        };
        run.offer(out, Kind::Turnaround, name, parts, reason);
    }
}
