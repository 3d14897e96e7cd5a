//! What the layout of the notes says in favour of a chord: rootless voicings, chords on
//! their root, triads. Imports `notes` and `palette`.

use super::notes::SoundingNotes;
use super::palette::Palette;
use crate::degree::{Degree, DegreeSet};
use crate::pitch::{MidiNote, PitchClass};
use crate::quality::Quality;

/// A lowest note below C3 is a bass, since rootless voicings sound muddy there.
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
/// `has_root` tells that the player's choice over this chord holds the root. `bare` tells that
/// nothing is known of what is around the notes.
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
        return bass + triad(heard, palette, lowest, bare);
    };
    let third = palette.third;
    // A minor seventh that is chosen with its root in the place of the ninth lies as a
    // rootless chord.
    let keeps_root = palette.keeps_root
        || has_root && palette.quality == Quality::MinorSeventh && heard.count > 3;
    let guide_low = lowest == third || lowest == Some(seventh);
    let chord = SeventhChord {
        heard,
        palette,
        degrees,
        root_low,
        lowest,
        second,
        guides: third.is_some_and(|d| degrees.contains(d)) && degrees.contains(seventh),
        guide_low,
        on_guides: guide_low && (second == third || second == Some(seventh)),
        ninth: degrees.intersects(NINTHS) || keeps_root && degrees.contains(Degree::Root),
        rootless: !degrees.contains(Degree::Root) || keeps_root,
    };
    // C Eb A over C is more likely a sixth chord than a diminished chord without its
    // fifth.
    let fifthless = palette.keeps_root && root_low && !degrees.contains(Degree::Flat5);
    bass + chord.points() - if fifthless { 14 } else { 0 }
}

/// Points for a chord without a seventh. A triad is more likely where nothing is known around
/// the notes.
fn triad(heard: &SoundingNotes, palette: &Palette, lowest: Option<Degree>, bare: bool) -> i32 {
    let lies = match lowest {
        Some(Degree::Root) => 30,
        Some(degree) if Some(degree) == palette.third => 10,
        _ => 6,
    };
    let augmented = palette.quality == Quality::Augmented;
    let full = heard.count != 3;
    lies - if augmented { 16 } else { 0 } - if full { 8 } else { 0 } + if bare { 26 } else { 0 }
}

/// How the notes of a chord with a seventh lie.
struct SeventhChord<'a> {
    heard: &'a SoundingNotes,
    palette: &'a Palette,
    degrees: DegreeSet,
    root_low: bool,
    lowest: Option<Degree>,
    second: Option<Degree>,
    /// Both guide tones sound.
    guides: bool,
    /// A guide tone is lowest.
    guide_low: bool,
    /// Both guide tones are lowest.
    on_guides: bool,
    /// A ninth sounds, or the root in its place.
    ninth: bool,
    rootless: bool,
}

impl SeventhChord<'_> {
    fn points(&self) -> i32 {
        let count = self.heard.count;
        if self.heard.in_fourths && self.guides && self.palette.stacks_on(self.lowest) {
            match self.palette.quality {
                // The stack brings the eleventh with it.
                Quality::MinorSeventh => 22,
                _ => 18,
            }
        } else if self.on_guides
            && count > 4
            && (self.rootless || fills_with_its_root(self.palette))
        {
            // Two hands: the guide tones in the left one.
            if self.rootless { 18 } else { 12 }
        } else if self.rootless && !(self.root_low && count != 4) {
            self.rootless_points()
        } else if self.root_low {
            self.points_on_root()
        } else if count <= 4 {
            -14
        } else {
            -4
        }
    }

    fn rootless_points(&self) -> i32 {
        let slots = self.guides && self.ninth && self.degrees.intersects(FIFTHS);
        let quality = self.palette.quality;
        match self.heard.count {
            ..=3 if !self.guides => -12,
            // A sixth chord without root and ninth is hard to recognise.
            ..=3 if quality == Quality::Sixth && !self.ninth => 6,
            ..=3 if self.on_guides => 12,
            ..=3 => -4,
            // A dominant more often has its thirteenth.
            4 if slots && quality == Quality::Dominant && self.degrees.contains(Degree::Five) => {
                if self.degrees.contains(Degree::Nine) {
                    7
                } else {
                    0
                }
            }
            4 if slots && self.root_low => 16,
            4 if slots && self.guide_low => 18,
            4 if slots => 14,
            4 => 4,
            _ => 6,
        }
    }

    fn points_on_root(&self) -> i32 {
        match self.heard.count {
            ..=3 if self.guides => 16,
            // More likely a triad than a seventh chord without its seventh.
            ..=3 if self.degrees.contains(Degree::Five) => -30,
            ..=3 => 2,
            // A chord on its root seldom has tensions too.
            4 if self.degrees.iter().any(|d| d.family().is_some()) => 6,
            4 => 10,
            _ if self.second.is_some_and(|d| FIFTHS.contains(d)) => 4,
            _ => 14,
        }
    }
}

/// Whether five notes of this chord include its root, since it has too few other notes.
const fn fills_with_its_root(palette: &Palette) -> bool {
    matches!(
        palette.quality,
        Quality::Dominant | Quality::DominantSuspended | Quality::Sixth
    )
}
