//! What the layout of the notes says in favour of a chord: rootless voicings, chords on
//! their root, triads. Imports `notes` and `palette`.

use super::notes::SoundingNotes;
use super::palette::Palette;
use crate::degree::{Degree, DegreeSet};
use crate::pitch::{MidiNote, PitchClass};
use crate::quality::Quality;

/// What lies below C3 is a bass: rootless voicings turn to mud there.
const BASS_BELOW: MidiNote = MidiNote::clamp(48);

const NINTHS: DegreeSet = DegreeSet::of(&[Degree::Flat9, Degree::Nine, Degree::Sharp9]);
const FIFTHS: DegreeSet = DegreeSet::of(&[
    Degree::Five,
    Degree::Flat5,
    Degree::Sharp5,
    Degree::Eleven,
    Degree::Sharp11,
    Degree::Flat13,
    Degree::Thirteen,
]);

/// Points for the way in which the notes lie (common practice, no published source).
/// Three notes with nothing known around them are more likely a triad. A minor seventh
/// that is chosen with its root in the place of the ninth lies as a rootless chord.
pub(super) fn points(
    heard: &SoundingNotes,
    palette: &Palette,
    degrees: DegreeSet,
    root: PitchClass,
    has_root: bool,
    bare: bool,
) -> i32 {
    let root_low = heard.lowest == root;
    let bass = match (heard.bottom < BASS_BELOW, root_low) {
        (false, _) => 0,
        (true, true) => 16,
        (true, false) => -12,
    };
    let named = |class: PitchClass| palette.degree(class.above(root));
    let (lowest, second) = (named(heard.lowest), named(heard.second));
    let Some(seventh) = palette.seventh else {
        let lies = match lowest {
            Some(Degree::Root) => 30,
            Some(degree) if Some(degree) == palette.third => 10,
            _ => 6,
        };
        let lies = if palette.quality == Quality::Augmented {
            lies - 16
        } else {
            lies
        };
        let plain = if heard.count == 3 { lies } else { lies - 8 };
        return bass + plain + if bare { 26 } else { 0 };
    };
    let third = palette.third;
    let guides = third.is_some_and(|d| degrees.contains(d)) && degrees.contains(seventh);
    let guide_low = lowest == third || lowest == Some(seventh);
    let on_guides = guide_low && (second == third || second == Some(seventh));
    let on_a_fifth = second.is_some_and(|d| FIFTHS.contains(d));
    let keeps_root = palette.keeps_root
        || has_root && palette.quality == Quality::MinorSeventh && heard.count > 3;
    let ninth = degrees.intersects(NINTHS) || keeps_root && degrees.contains(Degree::Root);
    let slots = guides && ninth && degrees.intersects(FIFTHS);
    let rootless = !degrees.contains(Degree::Root) || keeps_root;
    let lies = if heard.in_fourths && guides && palette.stacks_on(lowest) {
        match palette.quality {
            // The stack brings the eleventh with it.
            Quality::MinorSeventh => 22,
            _ => 18,
        }
    } else if on_guides && heard.count > 4 && (rootless || fills_with_its_root(palette)) {
        // Two hands: the guide tones in the left one.
        if rootless { 18 } else { 12 }
    } else if rootless && !(root_low && heard.count != 4) {
        match heard.count {
            ..=3 if !guides => -12,
            // A sixth chord without root and ninth hardly says what it is.
            ..=3 if palette.quality == Quality::Sixth && !ninth => 6,
            ..=3 if on_guides => 12,
            ..=3 => -4,
            // A dominant more often has its thirteenth.
            4 if slots
                && palette.quality == Quality::Dominant
                && degrees.contains(Degree::Five) =>
            {
                if degrees.contains(Degree::Nine) {
                    7
                } else {
                    0
                }
            }
            4 if slots && root_low => 16,
            4 if slots && guide_low => 18,
            4 if slots => 14,
            4 => 4,
            _ => 6,
        }
    } else if root_low {
        match heard.count {
            ..=3 if guides => 16,
            // A triad, and no seventh chord without its seventh.
            ..=3 if degrees.contains(Degree::Five) => -30,
            ..=3 => 2,
            // A chord on its root seldom has tensions too.
            4 if degrees.iter().any(|d| d.family().is_some()) => 6,
            4 => 10,
            _ if on_a_fifth => 4,
            _ => 14,
        }
    } else {
        match heard.count {
            ..=4 => -14,
            _ => -4,
        }
    };
    // C Eb A over C is more likely a sixth chord than a diminished chord without its
    // fifth.
    let fifthless = palette.keeps_root && root_low && !degrees.contains(Degree::Flat5);
    bass + lies - if fifthless { 14 } else { 0 }
}

/// Whether five notes of this kind have its root among them, for want of others.
const fn fills_with_its_root(palette: &Palette) -> bool {
    matches!(
        palette.quality,
        Quality::Dominant | Quality::DominantSuspended | Quality::Sixth
    )
}
