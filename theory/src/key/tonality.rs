//! A key without the spelling of its tonic: which chords belong to it, and the numerals of chords
//! in it. Common practice, no published source. Imports `roles` and `rooted`.

use super::Mode;
use super::roles::{Case, Numeral};
use super::rooted::RootedChord;
use crate::pcset::PcSet;
use crate::pitch::PitchClass;
use crate::quality::ChordFamily;

const MAJOR_SCALE: [i8; 7] = [0, 2, 4, 5, 7, 9, 11];
const NATURAL_MINOR: [i8; 7] = [0, 2, 3, 5, 7, 8, 10];
const HARMONIC_MINOR: [i8; 7] = [0, 2, 3, 5, 7, 8, 11];
const MELODIC_MINOR: [i8; 7] = [0, 2, 3, 5, 7, 9, 11];
const DORIAN: [i8; 7] = [0, 2, 3, 5, 7, 9, 10];
const PHRYGIAN: [i8; 7] = [0, 1, 3, 5, 7, 8, 10];

/// A key without the spelling of its tonic.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Tonality {
    pub(super) tonic: PitchClass,
    pub(super) mode: Mode,
}

impl Tonality {
    pub(super) fn above(self, part: RootedChord) -> u8 {
        part.above(self.tonic)
    }

    pub(super) fn on(self, part: RootedChord, above: u8) -> bool {
        self.above(part) == above
    }

    pub(super) fn is_tonic(self, part: RootedChord) -> bool {
        self.on(part, 0)
            && (self.mode.tonic_families().contains(&part.family)
                || self.mode == Mode::Minor && part.is_bare())
    }

    /// Whether one of the scales contains the chord.
    fn holds(self, part: RootedChord, scales: &[[i8; 7]]) -> bool {
        let tones: PcSet = part.tones().collect();
        scales.iter().any(|scale| {
            let scale: PcSet = scale.iter().map(|up| self.tonic.up(*up)).collect();
            scale.holds(tones)
        })
    }

    pub(super) fn is_diatonic(self, part: RootedChord) -> bool {
        match self.mode {
            Mode::Major | Mode::Blues => self.holds(part, &[MAJOR_SCALE]),
            // A minor chord on bVI is a stranger, since its third is the raised seventh.
            Mode::Minor if self.on(part, 8) && part.is(ChordFamily::Minor) => false,
            Mode::Minor => self.holds(
                part,
                &[NATURAL_MINOR, HARMONIC_MINOR, MELODIC_MINOR, DORIAN],
            ),
        }
    }

    /// Whether the chord comes from the parallel key or from Phrygian. The chords of the
    /// parallel key include a major seventh on bVII.
    pub(super) fn is_borrowed(self, part: RootedChord) -> bool {
        let parallel = match self.mode {
            Mode::Major | Mode::Blues => self.holds(
                part,
                &[NATURAL_MINOR, HARMONIC_MINOR, MELODIC_MINOR, DORIAN],
            ),
            Mode::Minor => {
                let neapolitan = self.on(part, 1) && part.is(ChordFamily::Major);
                self.holds(part, &[MAJOR_SCALE]) || !neapolitan && self.holds(part, &[PHRYGIAN])
            }
        };
        parallel || self.on(part, 10) && part.is(ChordFamily::Major)
    }

    /// The case of the key's own chord on a degree.
    const fn own_case(self, above: u8) -> Case {
        match (self.mode, above) {
            (Mode::Minor, 0 | 2 | 5) | (Mode::Major | Mode::Blues, 2 | 4 | 9 | 11) => Case::Lower,
            _ => Case::Upper,
        }
    }

    /// The numeral of a chord that is aimed at.
    pub(super) fn aim(self, above: u8, there: Option<RootedChord>) -> Numeral {
        // A half-diminished chord in the place of V is the ii of something else.
        let is_goal = |part: &RootedChord| above != 7 || !part.is(ChordFamily::HalfDiminished);
        let there = there.filter(|part| self.above(*part) == above && is_goal(part));
        let case = match there.map(RootedChord::case) {
            Some(Case::Upper) => Case::Upper,
            Some(_) => Case::Lower,
            None => self.own_case(above),
        };
        Numeral { above, case }
    }

    /// The numeral of the chord itself.
    pub(super) fn numeral(self, part: RootedChord, next: Option<RootedChord>) -> Numeral {
        let rises = next.is_some_and(|next| {
            next.class.above(part.class) == 1 || next.bass.above(part.class) == 1
        });
        let case = match part.case() {
            Case::Diminished if rises || matches!(self.above(part), 1 | 6) => {
                Case::RaisedDiminished
            }
            Case::Upper if part.is_bare() => self.own_case(self.above(part)),
            case => case,
        };
        Numeral {
            above: self.above(part),
            case,
        }
    }
}
